"""Counts of what a maker needs, and the ways a cover can be put on, on lids whose answers can be counted by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest

from afterpart.checks.making_it import making_it
from afterpart.checks.one_way_fit import one_way_fit
from afterpart.model.assembly import Assembly, Item
from afterpart.model.case import Case
from afterpart.model.edges import Note
from afterpart.model.feature import Groove, Hole
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES
from afterpart.model.outline import Arc, Circle, Line, Loop
from afterpart.model.piece import Add, Piece, PrintTime, Prism
from tests.checks.joint_cases import cord_seal, lid, only, wished

IN, OUT = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def item(kind: str, name: str, length: float = 20.0, count: int = 4, head: float = 10.22) -> Item:
    return Item(kind, name, tuple((10.0 * i, 0.0, -9.6) for i in range(count)), IN, 6.4, length, head, 6.0, OUT, ("cover",), 8)


def with_items(*items: Item) -> Case:
    case = lid()
    return replace(case, build=replace(case.build, assembly=Assembly(items=items)))


def test_kinds_are_counted_by_name_and_pieces_by_place() -> None:
    case = with_items(item("bolt", "ISO 4762 M6 x 20 8.8"), item("washer", "ISO 7093 M6"), item("cord", "round cord", count=1))
    kinds = only(making_it(case), "kinds of fasteners")
    assert kinds.value == 2.0 and kinds.verdict == ATTENTION and "4 x ISO 4762 M6 x 20 8.8" in kinds.advice
    many = with_items(*(item("screw", f"screw {i}") for i in range(5)))
    assert only(making_it(many), "kinds of fasteners").verdict == FAILS
    assert only(making_it(many), "tools").value == 5.0


def test_special_hardware_is_what_no_table_knows() -> None:
    assert only(making_it(with_items(item("bolt", "a"), item("washer", "b"))), "special").verdict == PASSES
    odd = only(making_it(with_items(item("bolt", "ISO 4762 M6 x 21 8.8", 21.0))), "special")
    assert (odd.value, odd.verdict) == (1.0, FAILS) and [(s.key, s.to) for s in odd.suggestions] == [("bolts.length", 25.0)]
    assert only(making_it(with_items(item("sleeve", "tube 17 / 6.4", head=17.0))), "special").verdict == FAILS


def test_a_cover_without_hardware_needs_no_tools() -> None:
    assert making_it(lid()) == ()


def test_straight_and_curved_sides_of_the_foam() -> None:
    straight = tuple(Line("", a, b) for a, b in (((0, 0), (10, 0)), ((10, 0), (0, 10)), ((0, 10), (0, 0))))
    round_corner = Arc("", (10, 0), (0, 10), (0, 0), 10.0, True)

    def foam(sides: tuple) -> Case:
        piece = Piece("filter_element", "foam", "filter_element", "A", (Add((Prism(sides, (), 0.0, 10.0),)),), 10.0, (),
                      PrintTime(0, 0, ""))
        case = lid()
        return replace(case, build=replace(case.build, pieces=(*case.build.pieces, piece)))

    assert only(making_it(foam(straight)), "curved").verdict == PASSES
    assert only(making_it(foam(straight)), "tools").advice == "Tools: long sharp blade."
    curved = only(making_it(foam((straight[0], round_corner, straight[2]))), "curved")
    assert (curved.value, curved.verdict) == (1.0, FAILS)


def on(case: Case, places: tuple[tuple[float, float], ...], notes: tuple[Note, ...] = (), plain: bool = False) -> Case:
    """The lid with its bolts there, on a round outline."""
    cover = case.build.pieces[0]
    holes = tuple(Hole(f"c{i}", place, 6.6, 0.0, 8.0, "bolt", "M6") for i, place in enumerate(places))
    kept = tuple(f for f in cover.features if isinstance(f, Groove) and not plain)
    loop = Loop("outer", 1, (Circle("o", (0.0, 0.0), 60.0),))
    return replace(case, outline=replace(case.outline, design=(loop,)),
                   build=replace(case.build, pieces=(replace(cover, features=holes + kept, notes=notes),)))


ODD = ((50.0, 0.0), (0.0, 45.0), (-50.0, 7.0))
SQUARE = ((50.0, 0.0), (0.0, 50.0), (-50.0, 0.0), (0.0, -50.0))


def test_an_odd_pattern_goes_on_in_one_way_only() -> None:
    (found,) = one_way_fit(on(lid(cord_seal()), ODD))
    assert (found.verdict, found.value) == (PASSES, 0.0)


def test_a_square_of_bolts_on_a_groove_can_be_turned_over() -> None:
    """Round outline and groove: turns are harmless; turned over, the groove looks outwards: four axes, four wrong ways."""
    (found,) = one_way_fit(on(lid(cord_seal()), SQUARE))
    assert found.verdict == FAILS and found.value == 4.0 and "turned over" in found.advice


def test_marks_warn_but_do_not_block() -> None:
    (found,) = one_way_fit(on(lid(cord_seal()), SQUARE, (Note("fits_wrongly", "marked OUTSIDE"),)))
    assert found.verdict == ATTENTION and "do not block" in found.advice


def test_a_frame_that_no_key_keeps_right_gets_attention() -> None:
    cover, inner = one_way_fit(on(lid(cord_seal()), ODD, (Note("seat_fits_wrongly", "the frame turned by 180 degrees"),)))
    assert cover.verdict == PASSES and inner.verdict == ATTENTION and "by 180 degrees" in inner.advice


def test_a_plain_round_plate_has_no_wrong_way() -> None:
    (found,) = one_way_fit(on(lid(), SQUARE, plain=True))
    assert found.verdict == PASSES


def test_one_bolt_turns_freely() -> None:
    case = wished(on(lid(cord_seal()), SQUARE[:1]), cover={"one_way": False})
    (found,) = one_way_fit(case)
    assert found.verdict == FAILS and [(s.key, s.to) for s in found.suggestions] == [("cover.one_way", "true")]


@pytest.mark.parametrize("places", [(), SQUARE])
def test_what_cannot_be_turned_is_not_judged(places: tuple[tuple[float, float], ...]) -> None:
    case = on(lid(), places)
    found = one_way_fit(replace(case, outline=replace(case.outline, design=())))
    assert found == () if not places else found[0].verdict == NOT_JUDGED
