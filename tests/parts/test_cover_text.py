"""Texts on the outside: only where there is room, mirrored for the eye below, and no torque but the window's."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from shapely.geometry import Point, Polygon, box

from afterpart.formulas.bolted import TorqueWindow, torque_window
from afterpart.geometry.chain import chain_polygon, polygon_chain
from afterpart.model.feature import Chain, Groove
from afterpart.model.piece import Cut, Deboss, Prism
from afterpart.model.wishes import BoltWish, PrinterWish, SealWish, ServiceFacts, Wishes
from afterpart.parts.bolt_holes import Bolts, place_bolts
from afterpart.parts.bolt_torque import CoverTorque, cover_torque, service_temperature_c, torque_line
from afterpart.parts.cover_text import ARROW, TEXT_DEPTH, OutsideText, free_outside, sink_text
from afterpart.parts.face_room import Surroundings, circle_chain
from afterpart.parts.roles import assign_roles
from afterpart.parts.text_places import text_box
from afterpart.standards.fasteners import bolt, property_class
from afterpart.standards.materials import material
from afterpart.standards.service_places import PLACES
from tests.parts import drawings

EDGE: Chain = drawings.rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1).segments
WINDOW: Chain = drawings.rounded_rectangle(-20, -10, 20, 10, 4, "outer", 20).segments
HEADS = (circle_chain((-50.0, -30.0), 11.6),)
AROUND = Surroundings(EDGE, (("hole c1", circle_chain((-50.0, -30.0), 6.6)),), entry=WINDOW)


def sunk(lines: tuple[str, ...], height: float = 4.0, around: Surroundings = AROUND) -> OutsideText:
    return sink_text(lines, height, free_outside(around, HEADS, 0.4), around.edge, around.entry)


def arrow_of(text: OutsideText) -> Polygon:
    prism = next(p for s in text.steps if isinstance(s, Cut) for p in s.prisms)
    assert isinstance(prism, Prism) and prism.bottom < 0 and prism.top == TEXT_DEPTH
    return chain_polygon(prism.outer)


def test_texts_and_arrow_lie_on_plain_face_and_clear_of_each_other() -> None:
    text = sunk(("P-77 REV B", "M6 1.2-2.4 Nm"))
    face = chain_polygon(EDGE).difference(chain_polygon(WINDOW)).difference(Point(-50, -30).buffer(11.6 / 2))
    shapes = [text_box(t) for t in text.texts] + [arrow_of(text)]
    assert len(shapes) == 3 and not text.notes
    for i, shape in enumerate(shapes):
        assert face.buffer(-1.0).contains(shape)
        assert all(shape.distance(other) > 0.5 for other in shapes[:i])


def test_letters_are_sunk_from_below() -> None:
    step = next(s for s in sunk(("A",)).steps if isinstance(s, Deboss))
    assert (step.top, step.depth, step.from_below) == (0.0, TEXT_DEPTH, True)


def test_the_arrow_points_at_the_inlet_on_its_middle_line() -> None:
    arrow = arrow_of(sunk(()))
    tip = min(arrow.exterior.coords, key=lambda p: chain_polygon(WINDOW).distance(Point(p)))
    tail = max(arrow.exterior.coords, key=lambda p: chain_polygon(WINDOW).distance(Point(p)))
    run = (tip[0] - tail[0], tip[1] - tail[1])
    ahead = Point(tip[0] + 0.6 * run[0], tip[1] + 0.6 * run[1])
    assert chain_polygon(WINDOW).contains(ahead), "going on from tail over tip leads into the opening"
    assert min(abs(tip[0]), abs(tip[1])) < 2.0
    assert arrow.area == pytest.approx(Polygon(ARROW).area)


def test_what_finds_no_room_is_left_out_and_said() -> None:
    narrow = Surroundings(polygon_chain([(-25, -15), (25, -15), (25, 15), (-25, 15)]), entry=WINDOW)
    text = sunk(("A VERY LONG PART NUMBER",), around=narrow)
    assert text.texts == () and text.steps == ()
    assert [n.code for n in text.notes] == ["no_room_for_arrow", "no_room_for_text"]


def test_text_is_made_smaller_before_it_is_left_out() -> None:
    plate = Surroundings(polygon_chain([(0, 0), (40, 0), (40, 7), (0, 7)]))
    text = sink_text(("PN 12345",), 5.0, free_outside(plate, (), 0.4), plate.edge, None)
    assert len(text.texts) == 1 and text.texts[0].height < 5.0 and box(0, 0, 40, 7).contains(text_box(text.texts[0]))


def wishes(**more: object) -> Wishes:
    return Wishes(**{"bolts": BoltWish(thread="M6", washer="ISO 7093"), "printer": PrinterWish(material="PETG"),
                     "service": ServiceFacts(temperature_c=23.0), **more})


def torque(groove: Groove | None = None, **more: object) -> CoverTorque:
    wished, lid = wishes(**more), drawings.gauge_lid()
    bolts = place_bolts(lid, wished, assign_roles(lid, wished), 9.0) if wished.bolts else Bolts()
    return cover_torque(bolts, wished, groove)


def ring(height: float) -> Groove:
    centre = drawings.rounded_rectangle(-44, -24, 44, 24, 6, "outer", 60).segments
    return Groove(centre, centre, centre, 3.6, 2.0, 0.0, 9.0, 0.0, height, 6.0, (0, 0), 5.0, 5.0, "dust", "test")


def test_the_window_is_the_formulas_and_nothing_else() -> None:
    """The widest hole leaves the least area to press on."""
    found = torque()
    hole = 6.6
    assert found.window == torque_window(bolt("M6"), property_class("8.8"), 17.57, hole, material("PETG"), 23.0, 0.0)
    assert found.window is not None and [n.code for n in found.notes] == ["torque_window"]


def test_a_torque_of_the_machines_book_is_never_written() -> None:
    found = torque(bolts=BoltWish(thread="M6", washer="ISO 7093", torque_n_m=25.0))
    assert found.window == torque().window and "25 N m" in found.notes[0].text and "not written" in found.notes[0].text


def test_the_seal_raises_the_low_end() -> None:
    found = torque(ring(2.2), seal=SealWish(kind="ring", shore_a=60))
    assert found.window is not None and torque().window is not None
    assert found.window.low_n_m > torque().window.low_n_m == 0.0
    assert found.window.high_n_m == torque().window.high_n_m


@pytest.mark.parametrize(("groove", "more", "words"), [
    (None, {"service": ServiceFacts()}, "service.temperature_c"),
    (None, {"printer": PrinterWish(material="oak")}, "printer.material"),
    (None, {"bolts": BoltWish(thread="M6", property_class="99")}, "bolts.property_class"),
    (ring(3.4), {"seal": SealWish(kind="ring", shore_a=95)}, "none works")])
def test_no_window_no_text_and_a_note_saying_why(groove: Groove | None, more: dict[str, object], words: str) -> None:
    found = torque(groove, **more)
    assert found.window is None and [n.code for n in found.notes] == ["no_torque_text"] and words in found.notes[0].text


def test_no_bolts_nothing_to_say() -> None:
    assert torque(bolts=None) == CoverTorque(None)


def test_a_place_stands_in_for_an_unmeasured_temperature() -> None:
    for place, range_c in PLACES.items():
        assert service_temperature_c(ServiceFacts(place=place)) == range_c.high > range_c.low
        assert service_temperature_c(ServiceFacts(temperature_c=31.0, place=place)) == 31.0
    assert service_temperature_c(ServiceFacts(place="on the moon")) is None


@pytest.mark.parametrize(("low", "high", "line"), [(0.0, 2.49, "M6 max 2.4 Nm"), (1.11, 2.49, "M6 1.2-2.4 Nm"),
                                                   (1.22, 1.38, "M6 1.22-1.38 Nm"), (1.2, 2.4, "M6 1.2-2.4 Nm")])
def test_the_line_is_rounded_into_the_window(low: float, high: float, line: str) -> None:
    assert torque_line(TorqueWindow(low, high, "", False), "M6") == line
