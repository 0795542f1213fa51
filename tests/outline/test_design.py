"""From noisy rims to the designer's numbers: right far more often than not, closed, tangent, nothing invented, free
where unknown.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import math
import time
from pathlib import Path

import numpy as np
import pytest

from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Outline
from afterpart.outline.nominals import as_the_part_counts
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.outline.invented import KINDS, circle, invented_part, polygon, rims_of, scaled, slot
from tests.outline.matching import design_score, worst_gap, worst_kink_deg

SHARED = Path(__file__).resolve().parents[2].parent / "shared" / "photos"


def made(loops: list, seed: int, **options: float) -> tuple[EdgeMap, float, tuple[float, float]]:
    rng = np.random.default_rng(seed)
    angle, shift = rng.uniform(0.0, 2.0 * math.pi), tuple(rng.uniform(-40.0, 40.0, 2))
    return rims_of(loops, rng, angle_rad=angle, shift=shift, **options), angle, shift


@pytest.mark.parametrize("kind", KINDS)
def test_nominals_of_invented_parts(kind: str) -> None:
    """Ten drawings a kind, 0.015 mm of correlated error, 0.1 % of scale: 97 of 100 sizes exactly right, none invented; the
    number of segments is right eight times in ten.  Drawings in tenths of a millimetre: 70 of 100; with the errors of place that
    photographs have, some show no lattice, and then their numbers stay free rather than guessed.
    """
    right = total = invented = counted = 0
    for seed in range(10):
        loops = invented_part(kind, np.random.default_rng(4000 + seed))
        drawn = loops if kind != "moulding" else invented_part("cover", np.random.default_rng(4000 + seed))
        edges, angle, shift = made(loops, seed, length=1.0)
        outline = recover_outline(edges, OutlineSettings())
        score = design_score(outline, drawn, angle, shift)
        right, total, invented = right + score.right, total + score.total, invented + score.invented
        counted += sum(len(loop.segments) for loop in outline.design) == sum(len(loop) for loop in loops)
        assert worst_gap(outline.design) < 1e-7 and worst_gap(outline.measured) < 1e-6
        assert worst_kink_deg(outline, outline.design) < 1e-4
        assert worst_kink_deg(outline, outline.measured) < 0.2
    assert right / total >= (0.97 if kind != "tenth" else 0.7)
    assert invented == 0 and counted >= 8


def test_bad_stretches_do_not_become_features() -> None:
    """Shadows of up to 0.3 mm over 1 to 4 mm, one in 150 mm of rim: 93 of 100 right, no circle invented."""
    right = total = invented = 0
    for seed in range(6):
        for kind in ("cover", "bracket", "inch"):
            loops = invented_part(kind, np.random.default_rng(4100 + seed))
            edges, angle, shift = made(loops, seed, bad_per_100=0.66)
            score = design_score(recover_outline(edges, OutlineSettings()), loops, angle, shift)
            right, total, invented = right + score.right, total + score.total, invented + score.invented
    assert right / total >= 0.93 and invented == 0


def test_a_part_without_a_lattice_stays_free() -> None:
    """Sizes drawn at random: no design number is claimed with confidence, and none leaves its measurement by 0.2 mm."""
    claimed = total = 0
    for seed in range(6):
        rng = np.random.default_rng(4200 + seed)
        loops = scaled(invented_part("cover", rng), 1.0 + rng.uniform(0.02, 0.09))
        loops = [
            loop
            if loop[0][0] != "circle"
            else circle(
                loop[0][1][0] + rng.uniform(-0.5, 0.5),
                loop[0][1][1] + rng.uniform(-0.5, 0.5),
                2.0 * loop[0][2] + rng.uniform(-0.3, 0.3),
            )
            for loop in loops
        ]
        edges, _, _ = made(loops, seed)
        for dimension in recover_outline(edges, OutlineSettings()).dimensions:
            if dimension.kind in ("diameter", "distance"):
                total += 1
                claimed += dimension.origin == "inferred" and dimension.probability > 0.9
                assert abs(dimension.design - dimension.measured) < 0.2
    assert claimed <= 0.05 * total


def test_stated_uncertainty_holds_the_truth() -> None:
    """Distances of measured hole centres lie within twice their u 88 to 100 times in 100, scale errors included."""
    inside = total = 0
    for seed in range(12):
        loops = invented_part("cover", np.random.default_rng(4300 + seed))
        edges, _, _ = made(loops, seed, length=0.7)
        true = sorted(math.dist(a[0][1], b[0][1]) for i, a in enumerate(loops[1:]) for b in loops[i + 2 :])
        for dimension in recover_outline(edges, OutlineSettings()).dimensions:
            if dimension.kind == "distance":
                off = min(abs(dimension.measured - value) for value in true)
                inside, total = inside + (off < 2.0 * dimension.u), total + 1
    assert total > 80 and inside / total >= 0.88


def outline_of(loops: list, seed: int = 1, **options: float) -> Outline:
    return recover_outline(made(loops, seed, **options)[0], OutlineSettings())


def test_pitch_circle_is_a_relation_with_exact_angles() -> None:
    at = [math.radians(60.0 * k + 12.0) for k in range(6)]
    loops = [circle(0, 0, 95), circle(0, 0, 30), *(circle(36 * math.cos(a), 36 * math.sin(a), 6.6) for a in at)]
    outline = outline_of(loops)
    relation = next(r for r in outline.relations if r.kind == "pitch_circle")
    rows = {s.id: s for loop in outline.design for s in loop.segments}
    centers = np.array([rows[name].center for name in relation.of[1:]])
    reach = np.hypot(*(centers - rows[relation.of[0]].center).T)
    assert len(centers) == 6 and reach == pytest.approx(np.full(6, 36.0), abs=1e-6)
    assert np.hypot(*(centers - np.roll(centers, 1, axis=0)).T) == pytest.approx(np.full(6, 36.0), abs=1e-6)


def test_slot_at_an_angle_and_a_concave_corner() -> None:
    loops = [
        polygon([(0, 0), (80, 0), (80, 30), (30, 30), (30, 70), (0, 70)], [4, 4, 4, 10, 4, 4]),
        slot(52, 15, 18, 6.5, 30.0),
        circle(15, 55, 9.0),
    ]
    outline = outline_of(loops, 3)
    radii = sorted(d.design for d in outline.dimensions if d.kind == "radius")
    assert radii == pytest.approx([3.25, 3.25, 4, 4, 4, 4, 4, 10], abs=0.006)


def test_sharp_corners_stay_sharp() -> None:
    outline = outline_of([polygon([(0, 0), (60, 0), (60, 40), (0, 40)], 0.0), circle(20, 20, 12)], 4)
    outer = next(loop for loop in outline.design if loop.role == "outer")
    assert [type(s).__name__ for s in outer.segments] == ["Line"] * 4
    assert sorted(round(d.design, 6) for d in outline.dimensions if d.kind == "width") == [40.0, 60.0]


def test_fillet_of_one_millimetre_is_an_arc() -> None:
    outline = outline_of([polygon([(0, 0), (60, 0), (60, 40), (0, 40)], 1.0), circle(20, 20, 12)], 5, rms=0.01)
    outer = next(loop for loop in outline.design if loop.role == "outer")
    assert len(outer.segments) == 8
    assert [d.design for d in outline.dimensions if d.kind == "radius"] == pytest.approx([1.0] * 4, abs=0.006)


def test_inch_part_is_told_from_a_metric_one() -> None:
    loops = scaled(
        [polygon([(0, 0), (48, 0), (48, 32), (0, 32)], 4.0), *(circle(x, y, 4) for x in (8, 40) for y in (8, 24))], 25.4 / 16.0
    )
    outline = outline_of(loops, 6)
    assert any("inch" in note.text for note in outline.notes if note.code == "lattice")
    assert [d.design for d in outline.dimensions if d.kind == "diameter"] == pytest.approx([6.35] * 4, abs=1e-6)


def test_whole_numbers_pull_the_scale_and_a_wrong_sheet_is_named() -> None:
    loops = invented_part("cover", np.random.default_rng(9))
    edges, angle, shift = made(scaled(loops, 1.008), 2, scale_u=0.0, relative_u=0.001)
    outline = recover_outline(edges, OutlineSettings())
    wrong = made(scaled(loops, 1.0 / 1.008), 2, scale_u=0.0, relative_u=0.001)[0]
    assert any(note.code == "scale_conflict" for note in recover_outline(wrong, OutlineSettings()).notes)
    assert design_score(outline, loops, angle, shift).invented == 0


def test_same_edges_same_bytes() -> None:
    edges, _, _ = made(invented_part("bracket", np.random.default_rng(1)), 1)
    assert recover_outline(edges, OutlineSettings()) == recover_outline(edges, OutlineSettings())


def test_ids_do_not_hang_on_the_part_s_pose() -> None:
    loops = invented_part("cover", np.random.default_rng(12))
    names = []
    for seed in range(3):
        rng = np.random.default_rng(seed)
        outline = recover_outline(rims_of(loops, rng, angle_rad=0.2 + 0.01 * seed, rms=0.005), OutlineSettings())
        names.append([(d.id, d.kind, d.of, round(d.design, 3)) for d in outline.dimensions])
    assert names[0] == names[1] == names[2]


def test_ten_holes_and_two_thousand_points_in_a_quarter_of_a_second() -> None:
    """Best of three; the limit is doubled for a busy machine."""
    loops = [
        polygon([(-60, -40), (60, -40), (60, 40), (-60, 40)], 8.0),
        *(circle(x, y, 6.6) for x in (-50, -25, 0, 25, 50) for y in (-30, 30)),
    ]
    edges, _, _ = made(loops, 1, step=0.3)
    assert sum(len(rim.points) for rim in edges.rims) >= 1900
    best = math.inf
    for _ in range(3):
        begin = time.process_time()
        recover_outline(edges, OutlineSettings())
        best = min(best, time.process_time() - begin)
    assert best < 0.5


@pytest.mark.skipif(not SHARED.is_dir(), reason="the photographs' true drawings are not beside this checkout")
def test_true_drawings_of_the_photographs() -> None:
    """Rims computed from the true drawings with 0.01 mm of error: 96 of 100 sizes right."""
    right = total = 0
    for path in sorted(SHARED.glob("dev_*.json")):
        text = json.loads(path.read_text())
        loops = [[tuple(tuple(v) if isinstance(v, list) else v for v in s) for s in loop] for loop in text["loops"]]
        edges, angle, shift = made(loops, 7, rms=0.01)
        score = design_score(recover_outline(edges, OutlineSettings()), loops, angle, shift)
        right, total = right + score.right, total + score.total
    assert right / total >= 0.96


def test_radii_speak_for_the_steps_they_are_counted_in() -> None:
    """One step of expectation and maximisation by hand: 14 lies on steps of 1 and 2, 15 on 1 and 5; prior worth 3 radii.

    Of 14 the step of 2 explains 0.12 * 2 / (0.8 * 1 + 0.12 * 2) = 0.2308, of 15 that of 5 0.6 / 1.4 = 0.4286; the shares
    0.8, 0.12 and 0.12 sum to 1.04."""
    lattices = [(1.0, 0.80, 0.0), (2.0, 0.12, 0.0), (5.0, 0.12, 0.0)]
    even = as_the_part_counts(lattices, {14.0})
    assert [share for _, share, _ in even] == pytest.approx([(3 * 0.8 + 1.04 * 0.7692) / 4, (0.36 + 1.04 * 0.2308) / 4, 0.09],
                                                            abs=1e-4)
    assert as_the_part_counts(lattices, {15.0})[2][1] == pytest.approx((0.36 + 1.04 * 0.4286) / 4, abs=1e-4)
    assert np.array(as_the_part_counts(lattices, set())) == pytest.approx(np.array(lattices))
    assert sum(share for _, share, _ in as_the_part_counts(lattices, {8.0, 14.0, 18.0})) == pytest.approx(1.04)


@pytest.mark.parametrize("seed", range(5))
def test_shallow_fillets_that_may_be_equal_are_one_radius(seed: int) -> None:
    """Four of 26 mm that turn 12 degrees each, known to about 0.5 mm: 25 or 27 by themselves, together none is given two."""
    lug = [(-60.0, -20.0), (0.0, -32.7), (60.0, -20.0), (60.0, 20.0), (0.0, 32.7), (-60.0, 20.0)]
    loops = [polygon(lug, [6.0, 26.0, 6.0, 6.0, 26.0, 6.0]), circle(-45, 0, 9), circle(45, 0, 9), circle(0, 0, 25)]
    outline = outline_of(loops, seed, rms=0.010, scale_u=3e-4)
    wide = [d for d in outline.dimensions if d.kind == "radius" and d.measured > 15.0]
    drawn = {round(d.design, 3) for d in wide if d.origin == "inferred"}
    assert len(wide) == 2 and len(drawn) <= 1
