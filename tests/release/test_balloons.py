"""Balloons on views with targets anywhere: none on another, none on what is taken, leaders uncrossed (targets by seed)."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.release.balloons import AIR, RADIUS, Balloon, Label, _uncrossed, boxes_meet, leader, place_balloons

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
def test_leaders_do_not_cross(seed: int) -> None:
    """Of the shortest pairing no two straight leaders cross: exchanging their ends would shorten it."""
    placed = place_balloons(labels(12, seed), VIEW, AREA, widths)
    assert placed is not None
    crossed = [(a.label.number, b.label.number) for i, a in enumerate(placed) for b in placed[:i] if cross(a, b)]
    assert len(crossed) <= 1, crossed  # pricing a text out of the way may cost a crossing, rarely


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
    """Two targets, two slots, each target given the far slot: exchanged, unless one of the leaders would then cost what a text
    costs, or run through one."""
    targets, places = np.array([(0.0, 0.0), (10.0, 0.0)]), np.array([(10.0, 10.0), (0.0, 10.0)])
    cost = np.full((2, 2), 10.0)

    def uncrossed(columns: list[int], blocked: set[tuple[int, int]] = frozenset()) -> list[int]:
        return _uncrossed(columns, cost, targets, places, lambda i, c, chosen: (i, c) not in blocked)

    assert uncrossed([0, 1]) == [1, 0]
    assert uncrossed([1, 0]) == [1, 0]
    for through_a_text in ({(0, 1)}, {(1, 0)}):
        assert uncrossed([0, 1], through_a_text) == [0, 1]
    cost[0, 1] = 200.0
    assert uncrossed([0, 1]) == [0, 1]
