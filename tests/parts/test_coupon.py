"""The hole coupon and the four pilot sizes: holes measured on the built body, the ladder, the marks, what is refused."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from afterpart.errors import JobError
from afterpart.model.feature import Boss, Hole
from afterpart.model.piece import Cut, Deboss, Piece
from afterpart.model.wishes import CouponWish, Trial
from afterpart.parts.clamp_frame import make_frame
from afterpart.parts.coupon import BASE, VARIANTS, ladder, make_coupon, pilot_variants
from afterpart.parts.screw_boss import plan_boss
from afterpart.parts.text_places import text_box
from afterpart.solid.body import Body, Mesh
from afterpart.solid.worker import Workshop
from tests.parts.filter_jobs import ELEMENT, genus, job, seat, steep_area


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


@pytest.fixture(scope="module")
def pilots(workshop: Workshop) -> tuple[Piece, Body]:
    piece = make_coupon(job())
    return piece, workshop.build(piece)


def hole_diameter(mesh: Mesh, center: tuple[float, float], low: float, high: float, within: float) -> float:
    """Largest distance from the axis of the vertices of a hole's wall between two heights, doubled."""
    off = np.hypot(*(mesh.vertices[:, :2] - center).T)
    z = mesh.vertices[:, 2]
    return 2 * float(off[(z >= low - 1e-6) & (z <= high + 1e-6) & (off < within)].max())


def test_the_ladder_starts_below_the_rule_and_climbs_by_the_step() -> None:
    """PETG: rule 0.80 d = 2.40; the ladder begins 0.1 below."""
    assert ladder(job()) == (2.30, 2.35, 2.40, 2.45, 2.50, 2.55)
    given = CouponWish(start=2.2, step=0.1, count=4)
    assert ladder(job(coupon=given)) == (2.2, 2.3, 2.4, 2.5)
    assert ladder(job(coupon=CouponWish(hole="clearance", count=3))) == (3.30, 3.35, 3.40)


def test_the_ladder_does_not_move_with_the_trials() -> None:
    """A second coupon must be comparable with the first."""
    assert ladder(job(trials=(Trial("pilot", 2.5, "drove"),))) == ladder(job())


def test_holes_are_as_wide_and_deep_as_in_the_frame(pilots: tuple[Piece, Body]) -> None:
    piece, body = pilots
    plan = plan_boss(job(), 3.0, 13.0)
    bosses = [f for f in piece.features if isinstance(f, Boss)]
    assert [b.pilot for b in bosses] == list(ladder(job()))
    assert {(b.diameter, b.pilot_depth) for b in bosses} == {(plan.diameter, plan.depth)}
    for b in bosses:
        floor = b.top - plan.depth
        assert hole_diameter(body.mesh, b.center, floor, floor, 3.0) == pytest.approx(b.pilot, abs=1e-5)
        assert hole_diameter(body.mesh, b.center, b.top, b.top, 3.0) == pytest.approx(plan.relief, abs=1e-5)
        assert hole_diameter(body.mesh, b.center, b.top, b.top, 5.0) == pytest.approx(plan.diameter, abs=1e-5)


def test_the_coupon_is_one_valid_lump_without_ways_through(pilots: tuple[Piece, Body]) -> None:
    piece, body = pilots
    assert body.is_valid and body.solids == 1 and genus(body.mesh) == piece.through_holes == 0
    assert body.high[2] == pytest.approx(piece.thickness) and body.low[2] == pytest.approx(0.0, abs=1e-6)
    assert steep_area(body.mesh, 46.5) == 0.0


def test_each_hole_is_labelled_with_its_drawn_diameter_and_no_marks_meet(pilots: tuple[Piece, Body]) -> None:
    piece, _ = pilots
    texts = next(s for s in piece.steps if isinstance(s, Deboss)).texts
    assert [t.text for t in texts] == ["2.30", "2.35", "2.40", "2.45", "2.50", "2.55", "PILOT PETG A"]
    boxes = [text_box(t) for t in texts]
    assert all(a.distance(b) > 0.8 for i, a in enumerate(boxes) for b in boxes[:i])
    for label, text, boss in zip(piece.labels, texts, piece.features, strict=False):
        assert isinstance(boss, Boss) and label.center == boss.center and label.at == text.at
        assert math.dist(label.at, boss.center) < boss.diameter


def test_clearance_holes_go_through(workshop: Workshop) -> None:
    piece = make_coupon(job(coupon=CouponWish(hole="clearance", count=3)))
    body = workshop.build(piece)
    holes = [f for f in piece.features if isinstance(f, Hole)]
    assert body.is_valid and body.solids == 1 and genus(body.mesh) == piece.through_holes == len(holes) == 3
    for h in holes:
        assert h.through and hole_diameter(body.mesh, h.center, h.top, h.top, 3.0) == pytest.approx(h.diameter, abs=1e-5)


def test_a_job_with_bolts_and_no_screws_tries_its_bolts() -> None:
    """M6: ISO 273 medium 6.6 mm, fine 6.4 mm; the posts are as high as the plate is thick."""
    wanted = job(screws=None, coupon=CouponWish(hole="clearance", count=4), cover__thickness=5.0)
    assert ladder(wanted) == (6.5, 6.55, 6.6, 6.65)
    piece = make_coupon(wanted)
    assert piece.thickness == 5.0 and {h.screw for h in piece.features if isinstance(h, Hole)} == {"M6 bolt"}
    assert "M6 bolt" in piece.notes[1].text
    assert ladder(job(screws=None, bolts__series="fine", coupon=CouponWish(hole="clearance", count=2))) == (6.3, 6.35)


@pytest.mark.parametrize(("count", "bed"), [(6, (220.0, 220.0)), (8, (60.0, 220.0)), (11, (50.0, 100.0)), (2, (120.0, 120.0))])
def test_rows_break_at_the_bed(count: int, bed: tuple[float, float]) -> None:
    wanted = job(coupon=CouponWish(count=count, step=0.02), printer__bed=bed)
    bosses = [f for f in make_coupon(wanted).features if isinstance(f, Boss)]
    assert len(bosses) == count
    for b in bosses:
        assert all(b.diameter / 2 <= v <= limit - b.diameter / 2 for v, limit in zip(b.center, bed, strict=True))
    apart = [math.dist(a.center, b.center) for i, a in enumerate(bosses) for b in bosses[:i]]
    assert min(apart) >= bosses[0].diameter + 2.0 - 1e-9


def test_the_coupon_says_how_to_use_it(pilots: tuple[Piece, Body]) -> None:
    piece, _ = pilots
    text = {n.code: n.text for n in piece.notes}
    assert "h3 2.40" in text["coupon_table"] and "[[trial]]" in text["coupon_use"] and "eye protection" in text["coupon_use"]
    assert piece.material == "PETG" and "bosses up" in piece.orientation and piece.thickness > BASE


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"step": 0.0}, r"coupon\.step, coupon\.count: 0 mm and 6 found"),
        ({"count": 1}, r"coupon\.count: 0\.05 mm and 1 found"),
        ({"start": 2.9}, r"coupon\.start, .*from 2\.9 to 3\.15 mm found"),
        ({"start": 1.0}, r"coupon\.start, .*from 1 to"),
        ({"hole": "clearance", "start": 2.9}, r"coupon\.start: clearance holes from 2\.9 mm"),
    ],
)
def test_ladders_that_cannot_work_name_their_key(given: dict[str, Any], message: str) -> None:
    with pytest.raises(JobError, match=message):
        make_coupon(job(coupon=CouponWish(**given)))


def test_a_coupon_larger_than_the_bed_is_refused() -> None:
    with pytest.raises(JobError, match=r"coupon\.count: 20 holes .* larger than printer\.bed"):
        make_coupon(job(coupon=CouponWish(count=20, step=0.02), printer__bed=(50.0, 60.0)))


def test_four_pilot_sizes_differ_in_nothing_but_their_pilots(workshop: Workshop) -> None:
    """Volumes of the built frames differ by the rings between their pilots, pi/4 (d1^2 - d0^2) below the relief."""
    frame = make_frame(seat(), ELEMENT, job())
    four = pilot_variants(frame)
    assert [p.file_stem for p in four] == [f"clamp_frame_pilot_{2.4 + d:.2f}".replace(".", "-") for d in VARIANTS]
    assert four[1].steps == frame.steps and len({p.name for p in four}) == 4
    narrow, wide = workshop.build(four[0]), workshop.build(four[3])
    length = 10.0 - 0.75
    assert narrow.volume - wide.volume == pytest.approx(4 * math.pi / 4 * (2.5**2 - 2.35**2) * length, rel=1e-6)
    for piece, delta in zip(four, VARIANTS, strict=True):
        assert {f.pilot for f in piece.features if isinstance(f, Boss)} == {round(2.4 + delta, 3)}
        assert [s for s in piece.steps if not isinstance(s, Cut)] == [s for s in frame.steps if not isinstance(s, Cut)]


def test_a_piece_without_pilot_holes_has_no_variants() -> None:
    piece = make_coupon(job(coupon=CouponWish(hole="clearance")))
    assert pilot_variants(piece) == (piece,)
