"""Printed seals: sections by closed form, volumes by Pappus, sheets by areas, and what is refused."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Point as PlanePoint
from shapely.ops import unary_union

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, chain_length, chain_polygon, contains, distance_to_chain
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import region_area
from afterpart.model.codec import from_plain, to_plain
from afterpart.model.feature import Groove, PrintedSeal
from afterpart.model.outline import Arc, Circle, Outline
from afterpart.model.piece import Add, Piece, Prism
from afterpart.model.wishes import PrinterWish, SealWish, Wishes
from afterpart.parts.gasket import make_gasket
from afterpart.parts.gasket_section import (
    FIT_PLAY,
    GREATEST_FILL,
    LEAST_HOLLOW,
    LEAST_RING,
    WALL,
    RingSection,
    ring_section,
    strip_section,
)
from afterpart.parts.gasket_sheet import BOLT_PLAY, EAR, lay_sheet
from afterpart.parts.groove import lay_groove
from afterpart.parts.groove_path import rim_of
from afterpart.solid.overhang import overhangs
from afterpart.solid.worker import Workshop
from tests.parts.drawings import hole, outline_of, rounded_rectangle
from tests.parts.lids import bolts_of, inlet_cover, plain_lid, pump_lid

CHORD = 0.003
"""Of the meshes here: a crown of one or two millimetres needs finer chords than a plate."""


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def wishes(layer: float = 0.2, **seal: object) -> Wishes:
    return Wishes(seal=SealWish(**seal), printer=PrinterWish(layer=layer))  # type: ignore[arg-type]


def ring_of(lid: Outline, **seal: object) -> tuple[Groove, Piece, PrintedSeal]:
    asked = wishes(kind="ring", **seal)
    groove, _ = lay_groove(lid, asked, (), 6.0)
    assert groove is not None
    piece = make_gasket(groove, asked, "lid", "A")
    (seal_,) = piece.features
    assert isinstance(seal_, PrintedSeal)
    return groove, piece, seal_


def sheet_of(lid: Outline, screw: float = 5.5, **seal: object) -> Piece:
    return make_gasket(lid, wishes(kind="flat", **seal), "lid", "A", bolts_of(lid, "M5", screw))


def prisms(piece: Piece) -> list[Prism]:
    return [p for step in piece.steps if isinstance(step, Add) for p in step.prisms if isinstance(p, Prism)]


def area_by_strips(section: RingSection, count: int = 200_000) -> float:
    """The section's area summed over level strips: a second way to the closed form."""
    z = (np.arange(count) + 0.5) * section.height / count
    up = np.maximum(z - (section.height - section.crown), 0.0)
    low = np.maximum(section.foot_bevel - z, 0.0)
    width = section.width - 2 * (section.crown - np.sqrt(section.crown**2 - up**2)) - 2 * low
    roof = np.maximum(z - (section.cavity_height - section.roof_bevel), 0.0)
    hollow = np.where(z < section.cavity_height, section.cavity - 2 * roof, 0.0)
    return float((width - hollow).sum() * section.height / count)


@pytest.mark.parametrize("kind", ["bead", "hollow"])
@pytest.mark.parametrize(("width", "depth"), [(3.6, 2.0), (4.0, 1.6), (6.0, 3.2)])
@pytest.mark.parametrize("squeeze", [0.08, 0.15, 0.3])
def test_a_ring_keeps_to_its_channel_in_every_way(kind: str, width: float, depth: float, squeeze: float) -> None:
    made = ring_section(kind, width, depth, squeeze, 0.45, 0.2)
    assert made.width <= width - 2 * FIT_PLAY + 1e-12 and made.fill(width, depth) <= GREATEST_FILL + 1e-9
    assert made.squeeze(depth) >= squeeze - 1e-9, "at least as much as wanted"
    assert made.height - 0.2 < depth / (1 - squeeze) + 1e-9, "and not a whole layer more"
    assert made.height / 0.2 == pytest.approx(round(made.height / 0.2), abs=1e-6)
    assert made.width - 2 * made.crown >= 0.45 - 1e-9 and made.crown <= made.height - 0.6 + 1e-9
    assert made.area == pytest.approx(area_by_strips(made), rel=1e-6)


@pytest.mark.parametrize(("width", "depth"), [(3.6, 2.0), (4.0, 2.2), (6.0, 3.2)])
def test_no_wall_of_a_hollow_ring_is_thinner_than_two_lines(width: float, depth: float) -> None:
    """Distance from every point of the hollow's outline to the ring's outer outline, sampled."""
    made = ring_section("hollow", width, depth, 0.2, 0.45, 0.2)
    half, top = made.width / 2, made.height
    turn = np.linspace(0, math.pi / 2, 400)
    rounded = np.column_stack([half - made.crown + made.crown * np.cos(turn), top - made.crown + made.crown * np.sin(turn)])
    outer = np.vstack([rounded,
                       np.column_stack([np.full(400, half), np.linspace(made.foot_bevel, top - made.crown, 400)]),
                       np.column_stack([np.linspace(0, half - made.crown, 400), np.full(400, top)])])
    shoulder = made.cavity_height - made.roof_bevel
    hollow = np.vstack([np.column_stack([np.full(200, made.cavity / 2), np.linspace(made.foot_bevel, shoulder, 200)]),
                        np.column_stack([np.linspace(made.cavity / 2 - made.roof_bevel, made.cavity / 2, 200)[::-1],
                                         np.linspace(shoulder, made.cavity_height, 200)])])
    apart = np.hypot(*(hollow[:, None, :] - outer[None]).transpose(2, 0, 1)).min(axis=1)
    assert apart.min() >= WALL - 0.01


def test_a_bead_asks_for_more_squeeze_against_liquid_and_a_hollow_ring_for_more_than_a_bead() -> None:
    shares = {(section, duty): ring_of(pump_lid(), section=section, duty=duty)[2].squeeze
              for section in ("bead", "hollow") for duty in ("dust", "liquid")}
    assert shares["bead", "dust"] <= shares["bead", "liquid"] and shares["bead", "dust"] < shares["hollow", "dust"]
    assert all(0.1 < share < 0.3 for share in shares.values())


@pytest.mark.parametrize("section", ["bead", "hollow"])
def test_the_rings_volume_is_its_section_times_its_centre_line(workshop: Workshop, cover: Path, section: str) -> None:
    """Pappus, within 0.2 % asked, on the demo's own channel with its corners both ways."""
    groove, piece, seal = ring_of(inlet_cover(cover), section=section)
    body = workshop.build(piece, CHORD)
    assert body.volume == pytest.approx(seal.area * chain_length(groove.centre), rel=1e-6)
    assert body.is_valid and body.solids == 1 and body.genus == piece.through_holes == 1 and body.remarks == ()
    assert body.low[2] == pytest.approx(0.0, abs=1e-6) and body.high[2] == pytest.approx(piece.thickness, abs=1e-5)
    hanging = overhangs(body.mesh, 45.0)
    assert {patch.kind for patch in hanging} <= {"bridge"} and len(hanging) == (1 if section == "hollow" else 0)
    assert all(patch.span < PrinterWish().bridge for patch in hanging)


@pytest.mark.parametrize("section", ["bead", "hollow"])
def test_the_rings_section_is_measured_on_the_solid(workshop: Workshop, section: str) -> None:
    groove, piece, seal = ring_of(pump_lid(), section=section, duty="liquid")
    body = workshop.build(piece, CHORD)
    cut = workshop.profile(body.step, (0.0, 31.1), 90.0)
    near = [loop for loop in cut.loops if all(abs(s.start[0]) < 10 for s in loop if not isinstance(s, Circle))]
    assert len(near) == 1 and cut.area == pytest.approx(2 * seal.area, rel=1e-6), "two strips are cut"
    across = [s.start[0] for s in near[0]]
    assert max(across) - min(across) == pytest.approx(seal.width, abs=1e-6)
    assert max(s.start[1] for s in near[0]) == pytest.approx(seal.height, abs=1e-6)
    crowns = [s.radius for s in near[0] if isinstance(s, Arc)]
    assert crowns == pytest.approx([(seal.width - seal.contact) / 2] * 2, abs=1e-6)
    assert max(across) <= groove.width / 2 - FIT_PLAY + 1e-6


def test_a_ring_lies_free_in_its_groove_everywhere() -> None:
    groove, piece, seal = ring_of(pump_lid(), duty="liquid")
    (ring,) = prisms(piece)
    assert contains(groove.outer, ring.outer) and contains(ring.openings[0], groove.inner)
    play = (groove.width - seal.width) / 2
    for edge, wall in ((ring.outer, groove.outer), (ring.openings[0], groove.inner)):
        starts = np.array([s.start for s in edge if not isinstance(s, Circle)])
        assert np.allclose(distance_to_chain(starts, wall), play, atol=1e-6)
    assert seal.height > groove.depth and seal.squeeze == pytest.approx((seal.height - groove.depth) / seal.height)


def test_a_gasket_survives_its_json() -> None:
    for piece in (ring_of(pump_lid())[1], sheet_of(pump_lid(), path="outline", section="beaded")):
        assert from_plain(Piece, to_plain(piece)) == piece


def test_a_flat_seal_covers_the_whole_face_less_every_hole(workshop: Workshop) -> None:
    window = rounded_rectangle(-20, -15, 20, 15, 5, "opening", 40)
    lid = outline_of((*plain_lid(holes=((-60.0, -40.0), (60.0, 40.0))).design, window))
    piece = sheet_of(lid, path="outline", section="flat", thickness=1.6)
    body = workshop.build(piece, CHORD)
    face = 140 * 100 - (4 - math.pi) * 20**2 - (40 * 30 - (4 - math.pi) * 5**2) - 2 * math.pi * ((5.5 + BOLT_PLAY) / 2) ** 2
    assert body.volume == pytest.approx(1.6 * face, rel=1e-9)
    assert body.genus == piece.through_holes == 3 and body.is_valid and body.solids == 1


def test_a_job_that_only_wants_a_gasket_takes_the_openings_as_they_are() -> None:
    """No channel, no bolts told: seal.path keeps its default and the whole face seals."""
    lid = plain_lid(holes=((-60.0, -40.0), (60.0, 40.0)))
    piece = make_gasket(lid, wishes(kind="flat", section="flat"), "lid", "A")
    (sheet,) = prisms(piece)
    assert sheet.outer == rim_of(lid).segments and piece.thickness == 2.0 and piece.through_holes == 2
    assert sorted(o[0].radius for o in sheet.openings if isinstance(o[0], Circle)) == [2.75, 2.75]


def test_what_goes_through_a_flat_seal_is_cut_out_of_it() -> None:
    pocket = rounded_rectangle(-40, -25, 40, 25, 6, "outer", 50).segments
    plain = make_gasket(plain_lid(), wishes(kind="flat", path="outline"), "lid", "A")
    pierced = make_gasket(plain_lid(), wishes(kind="flat", path="outline"), "lid", "A", (), (pocket,))
    assert plain.through_holes == 0 and pierced.through_holes == 1
    assert abs(chain_area(prisms(pierced)[0].openings[0])) == pytest.approx(chain_area(pocket), rel=1e-12)


def test_a_loop_along_the_edge_has_its_width_and_its_ears() -> None:
    lid = plain_lid(holes=((-60.0, -40.0), (60.0, 40.0), (0.0, 40.0)))
    width, bolts = 6.0, bolts_of(lid, "M5", 5.5)
    sheet = lay_sheet(lid, wishes(), SealWish(kind="flat", path="outline", width=width), bolts)
    assert len(sheet.region.openings) == 4, "three bolt holes and the middle"
    ears = [(Circle("", b.center, (b.diameter + BOLT_PLAY) / 2 + EAR),) for b in bolts]
    inner = max(sheet.region.openings, key=lambda o: abs(chain_area(o)))
    for bolt, ear in zip(bolts, ears, strict=True):
        away = distance_to_chain(np.array([bolt.center]), inner)[0]
        assert away >= ear[0].radius - 1e-9, "an ear's width is left inside the hole"
    assert sheet.region.outer == rim_of(lid).segments, "no ear stands out over the edge"
    band = chain_area(rim_of(lid).segments) - ((140 - 12) * (100 - 12) - (4 - math.pi) * 14**2)
    assert band == pytest.approx(width * chain_length(sheet.centre), rel=1e-9)
    rim, core = chain_polygon(rim_of(lid).segments, 1e-4), chain_polygon(offset_chain(rim_of(lid).segments, -width)[0], 1e-4)
    by_shapely = rim.difference(core).union(unary_union([chain_polygon(ear, 1e-4) for ear in ears]).intersection(rim))
    holes = unary_union([PlanePoint(b.center).buffer(3.0, 2000) for b in bolts])
    assert region_area(sheet.region) == pytest.approx(by_shapely.difference(holes).area, rel=1e-5)


def test_a_loop_round_an_opening_is_as_wide_as_told(workshop: Workshop) -> None:
    window = rounded_rectangle(-20, -12, 20, 12, 4, "opening", 30)
    lid = outline_of((rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1), window))
    piece = make_gasket(lid, wishes(kind="flat", section="flat", path="s33", width=5.0), "lid", "A")
    (seal,) = piece.features
    assert isinstance(seal, PrintedSeal)
    band = 5.0 * (2 * (32 + 16) + math.tau * 6.5)
    assert workshop.build(piece, CHORD).volume == pytest.approx(2.0 * band, rel=1e-9)
    assert seal.area == pytest.approx(10.0) and seal.area * seal.length == pytest.approx(2.0 * band, rel=1e-9)


def test_a_loop_in_place_of_a_channel_reaches_its_bolts_with_ears(workshop: Workshop, cover: Path) -> None:
    lid = inlet_cover(cover)
    bolts = bolts_of(lid, "M6", 6.6)
    piece = make_gasket(lid, wishes(kind="flat", section="beaded", path="channel", width=6.0), "cover", "A", bolts)
    body = workshop.build(piece, CHORD)
    assert body.is_valid and body.solids == 1 and body.genus == piece.through_holes == 7
    sheet = prisms(piece)[0]
    holes = [o[0] for o in sheet.openings if isinstance(o[0], Circle)]
    assert {(round(h.center[0], 6), round(h.center[1], 6)) for h in holes} == {b.center for b in bolts}
    assert all(h.radius == pytest.approx((6.6 + BOLT_PLAY) / 2) for h in holes)
    assert contains(rim_of(lid).segments, sheet.outer)


def test_a_rib_stands_proud_inside_every_bolt(workshop: Workshop) -> None:
    lid = pump_lid()
    bolts = bolts_of(lid, "M5", 5.5)
    piece = make_gasket(lid, wishes(kind="flat", section="beaded", path="outline", squeeze=0.3), "lid", "A", bolts)
    sheet, rib = prisms(piece)
    (seal,) = piece.features
    assert isinstance(seal, PrintedSeal)
    assert rib.top == pytest.approx(2.0) and sheet.top == pytest.approx(1.4) and seal.squeeze == pytest.approx(0.3)
    for bolt in bolts:
        assert distance_to_chain(np.array([bolt.center]), rib.outer)[0] >= (5.5 + BOLT_PLAY) / 2 + 0.8 - 1e-9
        assert not contains(rib.outer, (Circle("", bolt.center, 0.1),))
    body = workshop.build(piece, CHORD)
    area = seal.contact + 2 * rib.top_round
    above = area * 0.6 - 2 * (1 - math.pi / 4) * rib.top_round**2
    face = chain_area(sheet.outer) - sum(abs(chain_area(o)) for o in sheet.openings)
    assert body.volume == pytest.approx(1.4 * face + above * chain_length(seal.centre), rel=1e-6)


def test_first_layer_and_handling_are_told() -> None:
    ring, flat = ring_of(pump_lid())[1], sheet_of(pump_lid(), path="outline")
    assert {"gasket_first_layer", "gasket_print"} <= {note.code for note in ring.notes}
    assert "No first-layer chamfer" in next(n.text for n in flat.notes if n.code == "gasket_first_layer")
    assert ring.material == "TPU" and ring.kind == "gasket" and ring.print_time.minutes > 0


@pytest.mark.parametrize(("width", "depth", "kind", "message"), [
    (LEAST_RING + 2 * FIT_PLAY - 0.1, 2.0, "bead", r"seal\.section: a bead ring needs a channel at least 2\.0 mm wide"),
    (LEAST_HOLLOW + 2 * FIT_PLAY - 0.1, 2.0, "hollow", r'seal\.section: a hollow ring .* set seal\.section = "bead"'),
    (3.6, 0.4, "bead", r"seal\.section: .* deep; found 3\.60 by 0\.40")])
def test_a_channel_too_small_for_its_ring_is_refused(width: float, depth: float, kind: str, message: str) -> None:
    with pytest.raises(JobError, match=message):
        ring_section(kind, width, depth, 0.12, 0.45, 0.2)


@pytest.mark.parametrize(("kind", "width", "depth"), [("bead", 2.2, 2.6), ("hollow", 4.0, 1.2)])
def test_a_squeeze_that_leaves_no_room_to_give_way_is_refused(kind: str, width: float, depth: float) -> None:
    with pytest.raises(JobError, match=r"seal\.squeeze: flattened by 30% the ring would need more room than the channel has"):
        ring_section(kind, width, depth, 0.3, 0.45, 0.2)


@pytest.mark.parametrize(("thickness", "squeeze", "message"), [
    (0.0, None, r"seal\.thickness, seal\.squeeze: found 0 mm"), (-1.0, 0.2, "found -1 mm"), (2.0, 0.7, "found 2 mm and 0.7"),
    (0.6, None, r"seal\.thickness: 0\.6 mm leaves 0\.20 mm beside a rib of 0\.40 mm")])
def test_a_flat_section_that_cannot_work_is_refused(thickness: float, squeeze: float | None, message: str) -> None:
    with pytest.raises(JobError, match=message):
        strip_section("beaded", thickness, squeeze, 0.2)


def test_what_does_not_match_is_refused() -> None:
    lid = pump_lid()
    groove, _ = lay_groove(lid, wishes(kind="cord", duty="liquid"), (), 6.0)
    assert groove is not None
    for seat, kind, message in ((groove, "ring", "with a groove for a cord of 2.65 mm"), (lid, "ring", "a ring needs a groove"),
                                (lid, "cord", 'found "cord"'), (lid, "none", 'found "none"')):
        with pytest.raises(JobError, match=message):
            make_gasket(seat, wishes(kind=kind), "lid", "A")
    with pytest.raises(JobError, match="licensed practice"):
        make_gasket(lid, wishes(kind="flat", duty="pressure"), "lid", "A")


def test_a_hole_that_cuts_the_loop_or_leaves_no_web_is_refused_with_its_place() -> None:
    lid = plain_lid(holes=((0.0, 46.0),))
    with pytest.raises(JobError, match=r"seal\.width: the flat seal is only 1\.00 mm wide at \(0\.0, 4"):
        sheet_of(lid, path="outline", width=6.0, section="flat")
    crossed = outline_of((rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1), hole("c1", 55, 0, 12), hole("c2", -55, 0, 12)))
    with pytest.raises(JobError, match=r"seal\.width: .*falls apart into 2 pieces"):
        make_gasket(crossed, wishes(kind="flat", path="outline", width=4.0), "lid", "A")


def test_a_rib_with_no_room_is_refused_with_its_place() -> None:
    lid = outline_of((rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1), rounded_rectangle(-50, -30, 50, 30, 4, "opening", 30),
                      hole("c1", 0, 35, 5.5)))
    with pytest.raises(JobError, match=r'seal\.section = "beaded": the rib .* (at|near) \('):
        make_gasket(lid, wishes(kind="flat", path="outline", section="beaded"), "lid", "A", bolts_of(lid, "M5", 5.5))
