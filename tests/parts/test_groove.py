"""The groove: the table's section measured from the solid, the corners and lands that a cord needs, and every refusal.

Groove sizes: supplier's housing table for ISO 3601 sections, axial static seal (see standards/orings.py), written out again here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, chain_length, chain_points, contains, distance_to_chain
from afterpart.geometry.fit import fit_circle
from afterpart.model.codec import from_plain, to_plain
from afterpart.model.feature import Groove, Hole
from afterpart.model.outline import Arc, Circle, Line, Outline, Point, Segment
from afterpart.model.piece import Add, Piece, PrintTime, Prism
from afterpart.model.wishes import CoverWish, SealWish, Wishes
from afterpart.parts.groove import groove_cut, lay_groove
from afterpart.parts.groove_path import KEPT_LAND, bends, rim_of
from afterpart.solid.body import Section
from afterpart.solid.worker import Workshop
from tests.parts.drawings import hole, outline_of, rounded_rectangle
from tests.parts.lids import bolts_of, inlet_cover, plain_lid, pump_lid, with_channel

TABLE = {1.80: (1.30, 2.60, 0.3), 2.65: (2.00, 3.80, 0.3), 3.55: (2.70, 5.00, 0.6), 5.30: (4.30, 7.30, 0.6)}
"""Cord: depth, width, bottom radius."""


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def wishes(**seal: object) -> Wishes:
    return Wishes(cover=CoverWish(), seal=SealWish(**seal))  # type: ignore[arg-type]


def laid(outline: Outline, thickness: float = 8.0, holes: tuple[Hole, ...] = (), **seal: object) -> Groove:
    groove, _ = lay_groove(outline, wishes(**seal), holes, thickness)
    assert groove is not None
    return groove


def plate(outline: Outline, groove: Groove) -> Piece:
    body = Prism(rim_of(outline).segments, (), 0.0, groove.face)
    return Piece("cover", "lid", "lid", "A", (Add((body,)), groove_cut(groove)), groove.face, (), PrintTime(0.0, 0.0, ""))


def groove_section(cut: Section, face: float) -> tuple[float, float, tuple[float, float]]:
    """Depth, width and both bottom radii of the groove nearest to the section's own point, from its outline alone."""
    segments: list[Segment] = [s for s in cut.segments if isinstance(s, Line | Arc)]
    floors = [s for s in segments
              if isinstance(s, Line) and abs(s.start[1] - s.end[1]) < 1e-9 and 1e-6 < s.start[1] < face - 1e-6]
    floor = min(floors, key=lambda s: abs(s.start[0] + s.end[0]) / 2)
    middle, z = (floor.start[0] + floor.end[0]) / 2, floor.start[1]
    walls = sorted((s.start[0] for s in segments if isinstance(s, Line) and abs(s.start[0] - s.end[0]) < 1e-9
                    and abs(max(s.start[1], s.end[1]) - face) < 1e-6), key=lambda at: abs(at - middle))[:2]
    ends = {round(floor.start[0], 6), round(floor.end[0], 6)}
    radii = tuple(s.radius for s in segments if isinstance(s, Arc) and {round(s.start[0], 6), round(s.end[0], 6)} & ends
                  and abs(min(s.start[1], s.end[1]) - z) < 1e-6)
    assert len(radii) == 2, "a rounding on either side of the floor"
    return face - z, abs(walls[0] - walls[1]), (radii[0], radii[1])


@pytest.mark.parametrize("cord", TABLE)
def test_the_tables_groove_is_measured_on_the_solid_on_a_straight_and_in_a_corner(workshop: Workshop, cord: float) -> None:
    lid = plain_lid(corner=40.0)
    groove = laid(lid, cord=cord, path="outline", duty="liquid")
    body = workshop.build(plate(lid, groove), 0.003)
    straight = next(s for s in groove.centre if isinstance(s, Line))
    bend = next(s for s in groove.centre if isinstance(s, Arc))
    across = math.degrees(math.atan2(straight.end[1] - straight.start[1], straight.end[0] - straight.start[0])) + 90
    outwards = math.atan2(bend.center[1], bend.center[0])
    in_bend = (bend.center[0] + bend.radius * math.cos(outwards), bend.center[1] + bend.radius * math.sin(outwards))
    depth, width, radius = TABLE[cord]
    for at, direction_deg in ((_middle(straight), across), (in_bend, math.degrees(outwards))):
        found_depth, found_width, radii = groove_section(workshop.profile(body.step, at, direction_deg), groove.face)
        assert found_depth == pytest.approx(depth, abs=1e-6)
        assert found_width == pytest.approx(width, abs=1e-6)
        assert radii == pytest.approx((radius, radius), abs=1e-6)


def _middle(line: Line) -> Point:
    return ((line.start[0] + line.end[0]) / 2, (line.start[1] + line.end[1]) / 2)


def test_the_groove_takes_its_section_times_its_centre_line_out_of_the_cover(workshop: Workshop) -> None:
    """Pappus: the section's middle runs along the centre line."""
    lid = pump_lid()
    groove = laid(lid, cord=2.65, duty="liquid")
    body = workshop.build(plate(lid, groove), 0.003)
    section = 3.8 * 2.0 - 2 * (1 - math.pi / 4) * 0.3**2
    whole = chain_area(rim_of(lid).segments) * groove.face
    assert body.solids == 1 and body.is_valid and body.genus == 0
    assert whole - body.volume == pytest.approx(section * chain_length(groove.centre), rel=1e-9)


def test_a_channel_whose_corners_suit_its_cord_is_kept_as_recovered() -> None:
    lid = pump_lid()
    groove, notes = lay_groove(lid, wishes(kind="cord", duty="liquid"), bolts_of(lid, "M5", 5.5), 6.0)
    assert groove is not None
    assert (groove.cord, groove.width, groove.depth, groove.bottom_radius) == (2.65, 3.8, 2.0, 0.3)
    assert groove.corner == pytest.approx(10.2, abs=1e-3) and groove.corner >= 3 * 2.65
    assert groove.land_outside == pytest.approx(2.25, abs=1e-3)
    assert distance_to_chain(np.array([groove.land_outside_at]), groove.outer)[0] < 1e-9
    assert groove.face == 6.0 and groove.height == 2.65 and "ISO 3601" in groove.source
    assert {"seal_cord", "seal_floor"} == {note.code for note in notes}
    assert from_plain(Groove, to_plain(groove)) == groove


def test_the_length_of_cord_to_buy_is_the_centre_line_less_one_to_three_percent() -> None:
    lid = pump_lid()
    groove, notes = lay_groove(lid, wishes(kind="cord", duty="liquid"), (), 6.0)
    assert groove is not None
    length = 2 * (70 + 38) + math.tau * 12.1
    assert chain_length(groove.centre) == pytest.approx(length, abs=5e-3)
    assert f"{length / 1.03:.1f} to {length / 1.01:.1f} mm" in next(n.text for n in notes if n.code == "seal_cord")


def test_a_cord_in_a_channel_with_tight_corners_and_a_narrow_land_is_refused_once_with_everything(cover: Path) -> None:
    lid = inlet_cover(cover)
    with pytest.raises(JobError) as refused:
        lay_groove(lid, wishes(kind="cord"), bolts_of(lid, "M6", 6.6), 6.0, 2.0)
    text = str(refused.value)
    assert text.startswith("seal.cord: a round cord of 2.65 mm (groove 3.80 mm wide, 2.00 mm deep) cannot lie in the recovered "
                           "channel: ")
    assert "corners too tight: " in text and "with radius 0.00 mm where a cord of 2.65 mm needs 7.95 mm" in text
    assert any(f"corner at ({x}, {y})" in text for x, y in ((43.5, -30.4), (58.4, 23.4), (-58.4, 34.4), (-58.4, -30.4)))
    assert "land narrow: " in text and "beside bolt hole c3" in text and "2 mm needed" in text
    assert 'seal.kind = "ring"' in text and 'seal.path = "outline"' in text


def test_the_same_channel_takes_a_printed_ring_and_says_why_no_cord(cover: Path) -> None:
    lid = inlet_cover(cover)
    groove, notes = lay_groove(lid, wishes(kind="ring"), bolts_of(lid, "M6", 6.6), 6.0, 2.0)
    assert groove is not None
    assert (groove.cord, groove.width, groove.depth) == (0.0, 3.6, 2.0)
    assert groove.height > groove.depth and groove.corner == pytest.approx(1.0, abs=1e-5)
    said = {note.code: note.text for note in notes}
    assert "corners too tight" in said["seal_no_cord"] and "land narrow" in said["seal_no_cord"]
    assert "land_narrow" in said and "seal_corners_eased" in said and "groove_depth_chosen" not in said
    old = [loop.segments for loop in lid.design if loop.role == "channel"]
    straight = [p for wall in (groove.outer, groove.inner) for s in wall if isinstance(s, Line) for p in (_middle(s),)]
    apart = np.min([distance_to_chain(np.array(straight), wall) for wall in old], axis=0)
    assert apart.max() < 1e-3, "the straight runs stay where the old channel's walls were"


def test_the_land_beside_the_slanted_side_is_told_to_the_hundredth(cover: Path) -> None:
    """Bolt hole c3 at (58, -27), the outer wall 12 mm inside the slanted edge: distance by hand from the truth's own lines."""
    lid = inlet_cover(cover)
    groove, _ = lay_groove(lid, wishes(kind="ring"), bolts_of(lid, "M6", 6.6), 6.0, 2.0)
    assert groove is not None
    lines = [s for s in rim_of(lid).segments if isinstance(s, Line)]
    slanted = next(s for s in lines if s.start[1] < 0 and s.end[0] > 60 and s.start[0] < 60)
    (x0, y0), (x1, y1) = slanted.start, slanted.end
    inside = ((x1 - x0) * (-27 - y0) - (y1 - y0) * (58 - x0)) / math.hypot(x1 - x0, y1 - y0)
    assert groove.land_outside == pytest.approx(12 - inside - 3.3, abs=1e-3)


def test_without_a_known_depth_the_ring_gets_one_and_the_maker_is_told(cover: Path) -> None:
    lid = inlet_cover(cover)
    bare = replace(lid, design=tuple(replace(loop, depth=None) for loop in lid.design))
    groove, notes = lay_groove(bare, wishes(kind="ring"), (), 6.0)
    assert groove is not None and groove.depth == pytest.approx(1.8), "0.55 of 3.6 mm in whole layers of 0.2 mm"
    assert "groove_depth_chosen" in {note.code for note in notes}


def test_a_new_groove_inside_the_outer_edge_gets_corners_the_cord_can_follow(cover: Path) -> None:
    lid = inlet_cover(cover)
    bolts = bolts_of(lid, "M6", 6.6)
    groove = laid(lid, 6.0, bolts, kind="cord", path="outline", duty="liquid", cord=2.65)
    assert groove.corner == pytest.approx(3 * 2.65, abs=1e-4)
    assert min(bend.radius for bend in bends(groove.centre, groove.width)) >= 3 * 2.65
    assert groove.land_outside >= KEPT_LAND - 1e-9 and groove.land_inside >= KEPT_LAND
    assert contains(rim_of(lid).segments, groove.outer)
    for bolt in bolts:
        assert distance_to_chain(np.array([bolt.center]), groove.outer)[0] >= bolt.diameter / 2 + KEPT_LAND - 1e-9


@pytest.mark.parametrize(("kind", "corner"), [("cord", 7.95), ("ring", 1.0)])
def test_a_groove_goes_round_the_bolts_where_the_flange_is_wide_enough(kind: str, corner: float) -> None:
    places = tuple((x, y) for x in (-52.0, 52.0) for y in (-32.0, 0.0, 32.0))
    lid = plain_lid(corner=16.0, holes=places)
    bolts = bolts_of(lid, "M5", 5.5)
    groove = laid(lid, 8.0, bolts, kind=kind, path="outline", bolts="around", offset=17.5, duty="liquid",
                  cord=2.65 if kind == "cord" else None)
    for bolt in bolts:
        assert contains(groove.inner, (Circle("", bolt.center, bolt.diameter / 2 + KEPT_LAND - 1e-6),))
    assert groove.corner == pytest.approx(corner, abs=1e-4) and contains(rim_of(lid).segments, groove.outer)
    assert groove.land_inside == pytest.approx(KEPT_LAND, abs=0.06)


def test_a_slightly_tight_recovered_corner_is_eased_and_said() -> None:
    lid = outline_of((rounded_rectangle(-59, -43, 59, 43, 21.3, "outer", 1),))
    groove, notes = lay_groove(with_channel(lid, 10.0, 3.8, 2.0), wishes(kind="cord", duty="liquid"), (), 6.0)
    assert groove is not None and groove.corner == pytest.approx(7.95, abs=1e-4)
    assert "leaves the given path by 0.19 mm" in next(n.text for n in notes if n.code == "seal_corners_eased")


@pytest.mark.parametrize(("duty", "cord"), [("dust", 2.65), ("liquid", 3.55)])
def test_where_the_cord_is_ours_to_choose_the_duty_decides(duty: str, cord: float) -> None:
    """Against dust the thinnest that still seals in a printed groove; against liquid the thickest no deeper than half the lid."""
    assert laid(plain_lid(corner=30.0), 6.0, path="outline", duty=duty).cord == cord


def test_wanted_squeeze_and_fill_make_the_groove() -> None:
    groove = laid(pump_lid(), cord=2.5, squeeze=0.2, fill=0.8, duty="liquid")
    assert groove.depth == pytest.approx(2.0) and groove.width == pytest.approx(math.pi * 2.5**2 / (4 * 2.0 * 0.8))
    assert (2.5 - groove.depth) / 2.5 == pytest.approx(0.2)


def test_only_a_wanted_squeeze_keeps_the_tables_fill() -> None:
    groove = laid(pump_lid(), cord=2.65, squeeze=0.2, duty="liquid")
    assert groove.depth == pytest.approx(0.8 * 2.65)
    assert groove.width * groove.depth == pytest.approx(3.8 * 2.0)


@pytest.mark.parametrize("kind", ["none", "flat"])
def test_no_groove_is_cut_for_a_flat_seal_or_none(kind: str) -> None:
    assert lay_groove(pump_lid(), wishes(kind=kind), (), 6.0) == (None, ())
    assert lay_groove(pump_lid(), Wishes(), (), 6.0) == (None, ())


@pytest.mark.parametrize("kind", ["cord", "ring", "flat"])
def test_pressure_is_refused_and_licensed_practice_named(kind: str) -> None:
    with pytest.raises(JobError, match=r'seal\.duty = "pressure": refused.*licensed practice under the codes'):
        lay_groove(pump_lid(), wishes(kind=kind, duty="pressure"), (), 6.0)


@pytest.mark.parametrize(("seal", "message"), [
    ({"cord": -1.0}, r"seal\.cord: found -1 mm"), ({"cord": 0.0}, r"seal\.cord: found 0 mm"),
    ({"squeeze": 0.0}, r"seal\.squeeze: found 0, expected a share above 0 and below 0\.6"),
    ({"fill": 1.2}, r"seal\.fill: found 1\.2"), ({"width": -2.0}, r"seal\.width: found -2"),
    ({"offset": 0.0}, r"seal\.offset: found 0"),
    ({"cord": 2.5}, r"seal\.cord: no table groove for a cord of 2\.5 mm, known are 1\.8,"),
    ({"cord": 2.65, "fill": 0.98, "squeeze": 0.05}, r"seal\.squeeze = 0\.05, seal\.fill = 0\.98: the groove would be"),
    ({"duty": "steam"}, r'seal\.duty: found "steam"'),
    ({"kind": "ring", "squeeze": 0.55}, r"seal\.squeeze: found 0\.55; a printed ring")])
def test_sizes_that_cannot_work_are_refused_by_their_key(seal: dict[str, object], message: str) -> None:
    with pytest.raises(JobError, match=message):
        lay_groove(pump_lid(), wishes(**seal), (), 6.0)


def test_several_impossible_sizes_are_told_at_once() -> None:
    with pytest.raises(JobError) as refused:
        lay_groove(pump_lid(), wishes(cord=-1.0, squeeze=0.7, width=0.0), (), 6.0)
    assert len(str(refused.value).splitlines()) == 3


@pytest.mark.parametrize("kind", ["cord", "ring"])
def test_a_groove_through_the_cover_is_refused(kind: str) -> None:
    with pytest.raises(JobError, match=r"floor through: cover\.thickness is 2\.9 mm, a groove 2\.00 mm deep .* needs 3\.00 mm"):
        lay_groove(pump_lid(), wishes(kind=kind, duty="liquid"), (), 2.9)
    assert lay_groove(pump_lid(), wishes(kind=kind, duty="liquid"), (), 3.0)[0] is not None


def test_a_bolt_hole_through_the_groove_is_refused_with_its_place() -> None:
    hit = Hole("c9", (0.0, 31.0), 5.5, 0.0, 6.0, "bolt", "M5")
    with pytest.raises(JobError, match=r"it runs into bolt hole c9 near \("):
        lay_groove(pump_lid(), wishes(kind="ring"), (hit,), 6.0)


def test_a_groove_that_crosses_a_window_is_refused_with_its_place() -> None:
    lid = outline_of((rounded_rectangle(-60, -40, 60, 40, 20, "outer", 1), hole("c1", 45, 0, 30)))
    with pytest.raises(JobError, match=r"seal\.cord: .* inside the outer edge: it runs into opening c1 near \("):
        lay_groove(lid, wishes(kind="cord", path="outline", offset=10.0, cord=2.65), (), 6.0)


def test_a_groove_wider_than_its_land_is_refused_with_the_land_left() -> None:
    lid = plain_lid(corner=20.0, holes=((0.0, 43.0),))
    with pytest.raises(JobError, match=r"land narrow: 1\.85 mm beside bolt hole c1 at \(0\.0, 38\.4\), 2 mm needed"):
        lay_groove(lid, wishes(path="outline", offset=13.5, cord=2.65), bolts_of(lid, "M5", 5.5), 6.0)


def test_a_bend_told_by_its_fit_agrees_with_the_walls() -> None:
    """The corner radius of the feature against a circle fitted to points of the wall itself."""
    groove = laid(pump_lid(), cord=2.65, duty="liquid")
    points = chain_points(groove.inner)
    corner = points[(points[:, 0] > 36) & (points[:, 1] > 20)]
    fitted = fit_circle(corner)
    assert fitted.radius == pytest.approx(groove.corner, abs=0.02)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(half=st.tuples(st.floats(32, 85), st.floats(28, 65)), corner=st.floats(0.05, 0.9), kind=st.sampled_from(("cord", "ring")),
       bolts=st.sampled_from(("inside", "around")), offset=st.none() | st.floats(5, 18),
       places=st.lists(st.tuples(st.floats(0, 1), st.floats(6, 13)), max_size=5))
def test_whatever_is_laid_keeps_what_it_promises(half: tuple[float, float], corner: float, kind: str, bolts: str,
                                                 offset: float | None, places: list[tuple[float, float]]) -> None:
    """On any rounded rectangle: inside the lid, corners and lands kept, walls parallel; anything else is a JobError."""
    (x, y), radius = half, corner * (min(half) - 1)
    holes = [hole(f"c{k}", (2 * at - 1) * (x - 6), y - inset, 5.5) for k, (at, inset) in enumerate(places)]
    lid = outline_of((rounded_rectangle(-x, -y, x, y, max(radius, 0.5), "outer", 1), *holes))
    drilled = bolts_of(lid, "M5", 5.5)
    try:
        groove, _ = lay_groove(lid, wishes(kind=kind, path="outline", bolts=bolts, offset=offset, duty="liquid"), drilled, 7.0)
    except JobError as refused:
        event("refused")
        assert str(refused).startswith(("seal.", "cover."))
        return
    event("laid")
    assert groove is not None and contains(rim_of(lid).segments, groove.outer) and contains(groove.outer, groove.inner)
    assert groove.corner >= (3 * groove.cord or 1.0) - 1e-6 and groove.depth + 1 <= 7.0
    for wall in (groove.outer, groove.inner):
        assert np.allclose(distance_to_chain(chain_points(wall, 0.05), groove.centre), groove.width / 2, atol=1e-6)
        for bolt in drilled:
            land = distance_to_chain(np.array([bolt.center]), wall)[0] - bolt.diameter / 2
            assert land >= (KEPT_LAND if groove.cord else 0.8) - 1e-6
