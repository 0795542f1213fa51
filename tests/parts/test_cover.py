"""The cover as data and as a solid: volumes by hand, ways through counted, and every clash one clear error.

Closed forms: prisms and cones; the bellmouth by turning its profile about the opening's axis (Pappus and Guldin).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import pytest
from scipy.integrate import quad
from shapely import Point

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, contains, gap
from afterpart.model.feature import BearingFace, Groove, Hole, Lip, Opening, Seat
from afterpart.model.job import Height, Job, Shot
from afterpart.model.outline import Circle, Loop, Outline
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Deboss, Piece
from afterpart.model.wishes import AddedHole, BoltWish, Change, CoverWish, InletWish, LipWish, RoleChoice, SealWish, Wishes
from afterpart.parts.bolt_holes import place_bolts
from afterpart.parts.cover import design_volume, make_cover
from afterpart.parts.cover_plan import plan_cover
from afterpart.parts.cover_text import TEXT_DEPTH
from afterpart.parts.filter_element import chosen_row, cut_table
from afterpart.parts.groove import lay_groove
from afterpart.parts.one_way_key import LUG_SHARE
from afterpart.parts.roles import assign_roles, kept_outline
from afterpart.parts.seat import air_opening, lay_seat
from afterpart.parts.text_places import CLEAR, text_box
from afterpart.solid.body import Body
from afterpart.solid.overhang import overhangs
from afterpart.solid.worker import Workshop
from tests.parts import drawings
from tests.parts.examples import example

PLAIN = CoverWish(thickness=6.0, first_layer_chamfer=0.0, one_way=False)
LID_AREA = 120 * 80 - (4 - math.pi) * 64 - math.pi * 144 / 2
"""120 x 80 with R 8 corners, less a half disc of R 12."""
WINDOW_AREA = 28 * 12 + math.pi * 36


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def job(**wishes: object) -> Job:
    return Job("lid", (Shot("none.jpg"),), wishes=Wishes(**{"cover": PLAIN, **wishes}))


def sound(workshop: Workshop, piece: Piece) -> Body:
    """Built, and what holds for every piece."""
    body = workshop.build(piece)
    assert body.is_valid and body.solids == 1 and body.genus == piece.through_holes and not body.remarks
    assert body.low[2] == pytest.approx(0.0, abs=1e-5) and body.high[2] == pytest.approx(piece.thickness, abs=1e-5)
    return body


def demo(name: str = "compressor_cover") -> tuple[Outline, Job, Groove | None, Seat | None]:
    """An example with its groove and seat as the whole build lays them."""
    outline, told = example(name)
    wishes, thickness = told.wishes, told.wishes.cover.thickness
    roles = assign_roles(outline, wishes)
    kept = kept_outline(outline, roles)
    depth = next((s.channel_depth for s in told.shots if s.channel_depth), None)
    groove, _ = lay_groove(kept, wishes, place_bolts(outline, wishes, roles, thickness).holes, thickness, depth)
    if wishes.filter is None:
        return outline, told, groove, None
    seat = lay_seat(kept, told, groove)
    corners = chosen_row(cut_table(seat, wishes.filter)).corners
    return outline, told, groove, replace(seat, opening=air_opening(seat, corners, seat.rim))


def test_a_plain_cover_is_the_outline_with_its_holes_as_thick_as_told(workshop: Workshop) -> None:
    piece = make_cover(drawings.gauge_lid(), job(bolts=BoltWish(thread="M6")))
    holes = math.pi / 4 * (2 * 6.4**2 + 2 * 6.6**2)
    assert sound(workshop, piece).volume == pytest.approx(6.0 * (LID_AREA - WINDOW_AREA - holes), rel=1e-9)
    assert piece.through_holes == 5
    kinds = [(f.id, f.purpose) for f in piece.features if isinstance(f, Hole)]
    assert kinds == [(f"c{i}", "bolt") for i in range(1, 5)]


def test_a_pocket_and_a_pad_of_the_old_part_are_not_made_and_that_is_said() -> None:
    lid = drawings.gauge_lid()
    circles = [Loop("channel", 1, (Circle(id, (x, 0.0), 4.0),), wall, depth)
               for id, x, wall, depth in (("c90", -20.0, "pocket", 1.5), ("c91", 20.0, "pad", None))]
    told = job(bolts=BoltWish(thread="M6"))
    plain, stepped = (plan_cover(drawing, told, None, None, 1)
                      for drawing in (lid, replace(lid, design=(*lid.design, *circles))))
    assert [note.code for note in plain.notes if note.code == "level_left_out"] == []
    note, = (note for note in stepped.notes if note.code == "level_left_out")
    assert "c90, c91" in note.text
    assert make_cover(replace(lid, design=(*lid.design, *circles)), told).steps == make_cover(lid, told).steps


def test_dropped_and_added_and_widened(workshop: Workshop) -> None:
    lid = drawings.gauge_lid()
    window = lid.design[5].segments[0].id
    wishes = {"bolts": BoltWish(thread="M6"), "holes": (AddedHole("drain", (0.0, -30.0), 4.0, "water"),),
              "changes": (Change(window, "drop", ""), Change("c2", "drop", "torn"))}
    piece = make_cover(lid, job(**wishes))
    holes = math.pi / 4 * (6.4**2 + 6.4**2 + 6.6**2 + 4.0**2)
    assert sound(workshop, piece).volume == pytest.approx(6.0 * (LID_AREA - holes), rel=1e-9)
    assert [f.id for f in piece.features if isinstance(f, Hole)] == ["c1", "c3", "c4", "drain"]
    wider = make_cover(lid, job(roles=(RoleChoice(window, "clears", 1.0),)))
    grown = next(f for f in wider.features if isinstance(f, Opening))
    assert abs(chain_area(grown.chain)) == pytest.approx(28 * 14 + math.pi * 49)


@pytest.mark.parametrize("seat", ["counterbore", "countersink"])
def test_seats_take_their_cones_off_and_add_no_way_through(workshop: Workshop, seat: str) -> None:
    wished = job(cover=replace(PLAIN, thickness=14.0), bolts=BoltWish(thread="M6", head="ISO 7380-1", seat=seat))
    piece = make_cover(drawings.gauge_lid(), wished)
    body = sound(workshop, piece)
    designed = design_volume(plan_cover(drawings.gauge_lid(), wished, None, None, 1), None, None)
    assert body.volume == pytest.approx(designed, rel=1e-7)
    plain = make_cover(drawings.gauge_lid(), replace(wished, wishes=replace(wished.wishes, bolts=BoltWish(thread="M6"))))
    head = {"counterbore": (10.5 / 2 + 0.5, 3.3 + 0.2 - 0.5), "countersink": (13.44 / 2 + 0.2, 0.0)}[seat]
    by_hand = 0.0
    for hole in (6.4, 6.6, 6.4, 6.6):
        wide, deep = head
        r = hole / 2
        cone = math.pi / 3 * (wide - r) * (wide**2 + wide * r + r * r)
        by_hand += math.pi * wide**2 * deep + cone - math.pi * r * r * (deep + wide - r)
    assert workshop.build(plain).volume - body.volume == pytest.approx(by_hand, rel=1e-6)


def test_blind_pockets_of_inserts_lead_nowhere_through(workshop: Workshop) -> None:
    wished = job(cover=replace(PLAIN, thickness=12.0), bolts=BoltWish(thread="M4", holes=("c1", "c3"), insert=True))
    piece = make_cover(drawings.gauge_lid(), wished)
    body = sound(workshop, piece)
    assert piece.through_holes == 3, "the window and the two holes that no insert uses"
    others = math.pi / 4 * 2 * 6.6**2
    pockets = math.pi / 4 * 5.6**2 * (8.1 + 1.0) * 2
    assert body.volume == pytest.approx(12.0 * (LID_AREA - WINDOW_AREA - others) - pockets, rel=1e-9)


@pytest.mark.parametrize("radius", [1.0, 2.0, 4.0])
def test_a_bellmouth_takes_off_what_its_profile_sweeps(workshop: Workshop, radius: float) -> None:
    """Round opening of R 25: V = integral over z of pi ((25 + d(z))^2 - 25^2), d the 45 degree tangent, then the circle."""
    wished = job(inlet=InletWish(opening="keep", of="c2", bellmouth=radius))
    body = sound(workshop, make_cover(drawings.ring_flange(), wished))
    plain = workshop.build(make_cover(drawings.ring_flange(), job()))
    bevel, touch = (2 - math.sqrt(2)) * radius, (1 - math.sqrt(0.5)) * radius

    def swept(z: float) -> float:
        out = bevel - z if z < touch else radius - math.sqrt(radius**2 - (radius - z) ** 2)
        return math.pi * ((25 + out) ** 2 - 25**2)
    by_hand = quad(swept, 0, radius, points=[touch])[0]
    assert plain.volume - body.volume == pytest.approx(by_hand, rel=1e-6)


def test_a_bellmouth_and_coned_counterbores_hang_nowhere_past_45_degrees(workshop: Workshop) -> None:
    bolted = BoltWish(thread="M8", head="ISO 4762", washer="ISO 7089", seat="counterbore")
    wished = job(cover=replace(PLAIN, thickness=18.0, first_layer_chamfer=0.4), bolts=bolted,
                 inlet=InletWish(opening="keep", of="c2", bellmouth=4.0))
    assert overhangs(sound(workshop, make_cover(drawings.ring_flange(), wished)).mesh) == ()


def test_a_hanging_lip_stands_on_a_wider_cover(workshop: Workshop) -> None:
    wished = job(lip=LipWish(height=1.5, thickness=2.0, clearance=0.25), bolts=BoltWish(thread="M6"))
    piece = make_cover(drawings.gauge_lid(), wished)
    lip = next(f for f in piece.features if isinstance(f, Lip))
    body = sound(workshop, piece)
    assert body.high[0] - body.low[0] == pytest.approx(120 + 2 * 2.25, abs=1e-6) and piece.thickness == 7.5
    holes = math.pi / 4 * 4 * 6.6**2
    by_hand = 6.0 * (chain_area(lip.outer) - WINDOW_AREA - holes) + 1.5 * (chain_area(lip.outer) - chain_area(lip.inner))
    assert body.volume == pytest.approx(by_hand, rel=1e-7)


def test_a_lip_in_an_opening_narrows_the_covers_own(workshop: Workshop) -> None:
    lid = drawings.gauge_lid()
    window = lid.design[5].segments[0].id
    piece = make_cover(lid, job(lip=LipWish(of=window, height=2.0, thickness=1.2, clearance=0.3)))
    lip, opening = (next(f for f in piece.features if isinstance(f, kind)) for kind in (Lip, Opening))
    assert opening.chain == lip.inner or gap(opening.chain, lip.inner).distance == 0
    body = sound(workshop, piece)
    holes = math.pi / 4 * 4 * 6.6**2
    ring = chain_area(lip.outer) - chain_area(lip.inner)
    assert body.volume == pytest.approx(6.0 * (LID_AREA - holes - chain_area(lip.inner)) + 2.0 * ring, rel=1e-7)


def test_the_compressor_cover_builds_whole(workshop: Workshop) -> None:
    outline, told, groove, seat = demo()
    piece = make_cover(outline, told, groove, seat)
    body = sound(workshop, piece)
    assert piece.through_holes == 6 + 4 + 1, "six bolts, four frame screws, the air's opening"
    # Left out of the sum: chamfers 0.4, the entry, and letters 0.4 deep: bounded by their sections times their lengths.
    designed = design_volume(plan_cover(outline, told, groove, seat, 1), groove, seat)
    air = next(f for f in piece.features if isinstance(f, Opening))
    assert 0.0 < designed - body.volume < 0.5 * 460 * 0.16 + 1.3 * 260 + 60 + 11 * 20 * 0.16
    assert air.bellmouth == told.wishes.inlet.bellmouth and contains(seat.pocket, air.chain)
    assert sum(isinstance(f, BearingFace) for f in piece.features) == 10
    assert {type(f) for f in piece.features} >= {Groove, Seat, Opening, Hole, BearingFace}
    hanging = overhangs(body.mesh)
    assert {h.kind for h in hanging} == {"bridge"}, "over the sunk letters and the arrow, and nothing else"
    assert all(h.height == pytest.approx(TEXT_DEPTH, abs=1e-6) for h in hanging)
    assert max(h.span for h in hanging) < told.wishes.printer.bridge


def test_the_compressor_covers_volume_by_hand_with_nothing_rounded(workshop: Workshop) -> None:
    """Areas from the chains: body, less window through the floor, pocket above it, groove, bolt and screw holes."""
    outline, told, groove, seat = demo()
    groove = replace(groove, bottom_radius=0.0)
    wishes = replace(told.wishes, cover=replace(told.wishes.cover, first_layer_chamfer=0.0, number="", arrow=False),
                     inlet=InletWish(), service=replace(told.wishes.service, temperature_c=None, place=""))
    piece = make_cover(outline, replace(told, wishes=wishes), groove, seat)
    screws = [f for f in piece.features if isinstance(f, Hole) and f.purpose == "screw"]
    area = abs(chain_area(outline.design[0].segments))
    bolts = sum(math.pi / 4 * f.diameter**2 for f in piece.features if isinstance(f, Hole) and f.purpose == "bolt")
    thick, floor = told.wishes.cover.thickness, told.wishes.cover.floor
    floor_ways = abs(chain_area(seat.opening)) + sum(math.pi / 4 * s.diameter**2 for s in screws)
    by_hand = (thick * (area - bolts) - (thick - floor) * abs(chain_area(seat.pocket)) - floor * floor_ways
               - groove.depth * (abs(chain_area(groove.outer)) - abs(chain_area(groove.inner))))
    assert sound(workshop, piece).volume == pytest.approx(by_hand, rel=1e-7)


@pytest.mark.parametrize("name", ["pump_lid", "bracket"])
def test_the_other_examples_build_whole(workshop: Workshop, name: str) -> None:
    outline, told, groove, seat = demo(name)
    piece = make_cover(outline, told, groove, seat)
    sound(workshop, piece)
    assert piece.through_holes == sum(loop.role == "opening" for loop in outline.design)
    assert any(isinstance(s, ChamferFirstLayer) for s in piece.steps)


def with_channel(depth: float | None) -> Outline:
    lid = drawings.gauge_lid()
    walls = [replace(drawings.rounded_rectangle(-x, -y, x, 27.0, 4, "opening", first), role="channel", wall=wall, depth=depth)
             for x, y, first, wall in ((44, 26, 80, "outer"), (41, 23, 90, "inner"))]
    walls[1] = replace(drawings.rounded_rectangle(-41, -23, 41, 24, 2, "opening", 90), role="channel", wall="inner", depth=depth)
    return replace(lid, design=(*lid.design, *walls))


def test_an_old_channel_without_a_seal_stays_as_it_was_or_is_said_to_be_left_out(workshop: Workshop) -> None:
    kept = make_cover(with_channel(2.0), job())
    ring = (88 * 53 - (4 - math.pi) * 16) - (82 * 47 - (4 - math.pi) * 4)
    plain = workshop.build(make_cover(drawings.gauge_lid(), job()))
    assert plain.volume - sound(workshop, kept).volume == pytest.approx(2.0 * ring, rel=1e-7)
    by_card = replace(job(), heights=(Height("channel floor", 2.0),))
    assert make_cover(with_channel(None), by_card).steps == kept.steps
    assert "channel_left_out" in [n.code for n in make_cover(with_channel(None), job()).notes]
    dropped = make_cover(with_channel(2.0), job(changes=(Change("channel", "drop", ""),)))
    assert workshop.build(dropped).volume == pytest.approx(plain.volume)
    with pytest.raises(JobError, match="channel floor.*5.5 mm deep in a cover 6 mm"):
        make_cover(with_channel(5.5), job())


def symmetric() -> Outline:
    holes = tuple(drawings.hole(f"c{i}", x, y, 6.6) for i, (x, y) in enumerate(((-50, -30), (50, -30), (50, 30), (-50, 30)), 1))
    return drawings.outline_of((drawings.rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1), *holes,
                                drawings.rounded_rectangle(-30, -20, 10, 10, 4, "opening", 20)))


def test_a_cover_that_fits_wrongly_is_marked_and_its_lip_gets_a_lug(workshop: Workshop) -> None:
    cover = replace(PLAIN, one_way=True)
    marked = make_cover(symmetric(), job(cover=cover, bolts=BoltWish(thread="M6")))
    words = [t.text for s in marked.steps if isinstance(s, Deboss) for t in s.texts]
    assert set(words) == {"OUTSIDE", "TOP"}
    (top,) = (t for s in marked.steps if isinstance(s, Deboss) for t in s.texts if t.text == "TOP")
    assert top.at[1] < -30 and abs(top.at[0]) < 3, "uppermost where the outside reads upright"
    note = next(n for n in marked.notes if n.code == "fits_wrongly")
    assert "turned by 180 degrees" in note.text and "turned over" in note.text
    unasked = make_cover(symmetric(), job(bolts=BoltWish(thread="M6")))
    assert not [s for s in unasked.steps if isinstance(s, Deboss)]
    lipped = make_cover(symmetric(), job(cover=cover, bolts=BoltWish(thread="M6"), lip=LipWish(thickness=2.0)))
    lug = next(p for s in lipped.steps if isinstance(s, Add) for p in s.prisms if isinstance(p, Cone))
    lip = next(f for f in lipped.features if isinstance(f, Lip))
    assert lug.center == (pytest.approx(0.0), pytest.approx(-40 - 0.2 - 2.0)) and lug.bottom_radius == LUG_SHARE * 2.0
    assert contains(lip.outer, lip.inner) and lug.center[1] + lug.bottom_radius < -40 - lip.clearance
    assert sound(workshop, lipped).low[1] == pytest.approx(-42.2 - LUG_SHARE * 2.0, abs=1e-6)


def test_letters_keep_off_the_mouths_of_counterbores() -> None:
    wished = job(cover=replace(PLAIN, thickness=14.0, number="A LONG NUMBER 12345", one_way=True),
                 bolts=BoltWish(thread="M6", seat="counterbore"))
    piece = make_cover(symmetric(), wished)
    boxes = [text_box(t) for s in piece.steps if isinstance(s, Deboss) for t in s.texts]
    mouths = [p for s in piece.steps if isinstance(s, Cut) for p in s.prisms if isinstance(p, Cone) and p.bottom < 0]
    assert len(boxes) == 3 and len(mouths) == 4
    assert all(Point(m.center).buffer(m.bottom_radius).distance(box) >= CLEAR - 0.01 for m in mouths for box in boxes)


def test_a_plain_bracket_that_looks_the_same_every_way_needs_no_mark() -> None:
    plain = drawings.outline_of((*symmetric().design[:5], drawings.slot((0, 0), 30, 10, 0, 20)))
    piece = make_cover(plain, job(cover=replace(PLAIN, one_way=True), bolts=BoltWish(thread="M6")))
    assert "fits_wrongly" not in [n.code for n in piece.notes]


def test_an_unknown_size_is_refused() -> None:
    with pytest.raises(JobError, match="size of the part is unknown"):
        make_cover(replace(drawings.gauge_lid(), unit="px"), job())


def test_a_seal_kind_none_leaves_the_face_plain() -> None:
    piece = make_cover(drawings.gauge_lid(), job(seal=SealWish(kind="none")))
    assert not [s for s in piece.steps if isinstance(s, Cut)]
