"""Balloons on views with targets anywhere: none on another, none on what is taken, leaders uncrossed (targets by seed)."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools

import numpy as np
import pytest
from shapely.geometry import LineString, box

from afterpart.release.balloons import AIR, RADIUS, Balloon, Label, boxes_meet, leader, place_balloons
from afterpart.release.leaders import ACROSS, CROSSING, pair, runs_through

VIEW = (60.0, 60.0, 200.0, 150.0)
AREA = (0.0, 0.0, 260.0, 210.0)


def widths(text: str, size: float) -> float:
    return 0.5 * size * len(text)


def labels(count: int, seed: int) -> tuple[Label, ...]:
    dice = np.random.default_rng(seed)
    points = dice.uniform(VIEW[:2], VIEW[2:], (count, 2))
    return tuple(Label(str(k), "Ø6.6 ±0.1", (float(x), float(y)), "clears M6") for k, (x, y) in enumerate(points))


def turns(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def cross(one: Balloon, other: Balloon) -> bool:
    (a, b), (c, d) = (tuple(np.array(p) for p in (x.center, x.label.target)) for x in (one, other))
    return turns(a, b, c) * turns(a, b, d) < 0 and turns(c, d, a) * turns(c, d, b) < 0


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("count", [1, 7, 22])
def test_balloons_keep_apart_inside_the_area_and_off_what_is_taken(count: int, seed: int) -> None:
    taken = ((120.0, 40.0, 140.0, 58.0), (202.0, 90.0, 230.0, 110.0))
    placed = place_balloons(labels(count, seed), VIEW, AREA, widths, taken)
    assert placed is not None and [b.label.number for b in placed] == [str(k) for k in range(count)]
    for i, one in enumerate(placed):
        assert one.box[0] >= AREA[0] and one.box[1] >= AREA[1] and one.box[2] <= AREA[2] and one.box[3] <= AREA[3]
        assert not any(boxes_meet(one.box, box, 0.99 * AIR) for box in taken)
        assert not boxes_meet(one.box, VIEW)
        for other in placed[:i]:
            assert not boxes_meet(one.box, other.box, 0.99 * AIR)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("count", [7, 12, 22])
def test_leaders_do_not_cross(count: int, seed: int) -> None:
    """Beside a text that stands in the way, too."""
    placed = place_balloons(labels(count, seed), VIEW, AREA, widths, ((120.0, 40.0, 140.0, 58.0), (202.0, 90.0, 230.0, 110.0)))
    assert placed is not None
    crossed = [(a.label.number, b.label.number) for i, a in enumerate(placed) for b in placed[:i] if cross(a, b)]
    assert not crossed


def test_more_labels_than_slots_are_not_squeezed_in() -> None:
    assert place_balloons(labels(200, 1), VIEW, AREA, widths) is None
    assert place_balloons((), VIEW, AREA, widths) == ()


def test_a_leader_ends_on_the_edge_of_its_hole() -> None:
    (placed,) = place_balloons((Label("1", "", (100.0, 100.0), reach=3.3),), VIEW, AREA, widths) or ()
    start, end = leader(placed)
    assert np.hypot(end[0] - 100.0, end[1] - 100.0) == pytest.approx(3.3)
    assert np.hypot(start[0] - placed.center[0], start[1] - placed.center[1]) == pytest.approx(RADIUS)


@pytest.mark.parametrize("edge_deg", [0.0, 90.0, 37.0])
def test_a_leader_does_not_run_along_the_edge_it_means(edge_deg: float) -> None:
    """Nearest along the edge itself, the balloon takes a place from which the leader meets the edge at 15 degrees or more."""
    (placed,) = place_balloons((Label("1", "20", (130.0, 105.0), edge_deg=edge_deg),), VIEW, AREA, widths) or ()
    start, end = leader(placed)
    away_deg = np.degrees(np.arctan2(end[1] - start[1], end[0] - start[0])) - edge_deg
    assert abs(np.sin(np.radians(away_deg))) >= np.sin(np.radians(15.0))


def test_leaders_that_cross_change_places() -> None:
    """Two targets, two slots straight above them; the cheaper pairing crosses, and is left."""
    targets, places = np.array([(0.0, 0.0), (10.0, 0.0)]), np.array([(0.0, 10.0), (10.0, 10.0)])
    boxes, nothing = np.hstack([places - 1.0, places + 1.0]), np.zeros((0, 4))
    assert pair(targets, places, boxes, nothing, np.zeros((2, 2))) == (0, 1)
    dear = np.array([[30.0, 0.0], [0.0, 30.0]])
    assert pair(targets, places, boxes, nothing, dear) == (0, 1), "a crossing costs more"
    assert pair(targets, places, boxes, nothing, 10.0 * dear) == (1, 0), "leaders through their own texts cost more than one"


@pytest.mark.parametrize("seed", range(8))
def test_no_exchange_of_two_slots_makes_the_pairing_cheaper(seed: int) -> None:
    """The price reckoned anew here: lengths, crossings by shapely, leaders through boxes by shapely."""
    dice = np.random.default_rng(seed)
    targets = dice.uniform((20.0, 20.0), (80.0, 60.0), (9, 2))
    places = np.array([(x, y) for y in (0.0, 80.0) for x in range(0, 101, 20)])
    boxes = np.hstack([places - (9.0, 3.0), places + (9.0, 3.0)])

    def price(chosen: tuple[int, ...]) -> float:
        lines = [LineString((targets[k], places[slot])) for k, slot in enumerate(chosen)]
        told = sum(line.length for line in lines)
        told += CROSSING * sum(one.crosses(other) for one, other in itertools.combinations(lines, 2))
        return told + ACROSS * sum(line.intersects(box(*boxes[slot]).buffer(-1e-6)) for k, line in enumerate(lines)
                                   for other, slot in enumerate(chosen) if other != k)

    chosen = pair(targets, places, boxes, np.zeros((0, 4)), np.zeros((9, 12)))
    least = price(chosen)
    free = [slot for slot in range(12) if slot not in chosen]
    for one, other in itertools.combinations(range(9), 2):
        swapped = list(chosen)
        swapped[one], swapped[other] = chosen[other], chosen[one]
        assert price(tuple(swapped)) >= least - 1e-2
    for one, slot in itertools.product(range(9), free):
        assert price((*chosen[:one], slot, *chosen[one + 1:])) >= least - 1e-2


def test_a_text_in_the_way_is_gone_round() -> None:
    """Three targets in a row below a text; the middle one's straight way up is barred."""
    targets = np.array([(10.0, 0.0), (20.0, 0.0), (30.0, 0.0)])
    places = np.array([(10.0, 20.0), (20.0, 20.0), (30.0, 20.0), (40.0, 20.0), (0.0, 20.0)])
    boxes, barred = np.hstack([places - 1.0, places + 1.0]), np.array([(16.0, 12.0, 24.0, 16.0)])
    chosen = pair(targets, places, boxes, barred, np.zeros((3, 5)))
    assert len(set(chosen)) == 3
    for k, slot in enumerate(chosen):
        assert not runs_through(targets[k], places[slot], barred).any()


@pytest.mark.parametrize("seed", range(20))
def test_a_line_through_a_box_is_seen_as_by_its_points(seed: int) -> None:
    dice = np.random.default_rng(seed)
    start, end = dice.uniform(0.0, 10.0, (2, 2))
    low = dice.uniform(0.0, 9.0, (40, 2))
    boxes = np.hstack([low, low + dice.uniform(0.1, 4.0, (40, 2))])
    points = start + (end - start) * np.linspace(0.0, 1.0, 40001)[:, None]
    inside = ((points[:, None] > boxes[None, :, :2]) & (points[:, None] < boxes[None, :, 2:])).all(axis=2).any(axis=0)
    assert (runs_through(start, end, boxes) == inside).all()
