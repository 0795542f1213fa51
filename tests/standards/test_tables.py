"""Every table of standards/: every row has a known mark, every figure a source, every look-up a clear refusal."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import fields
from importlib import resources

import pytest

from afterpart.sources import Source
from afterpart.standards import (
    bolt_lengths,
    fasteners,
    fitting,
    friction,
    materials,
    moulding,
    orings,
    printing,
    service_places,
    thread_forming,
)
from afterpart.standards.clearance_holes import CLEARANCE_HOLES
from afterpart.standards.preferred import nearest_preferred
from afterpart.standards.table import MARKS, Figure, Range, marked, number, rows

FOLDER = resources.files("afterpart.standards")
FILES = sorted(item.name for item in FOLDER.iterdir() if item.name.endswith(".csv"))
OLDER = {"clearance_holes.csv", "threads.csv", "bolt_lengths.csv"}
"""Tables whose one source covers every row."""

WITHOUT_MARK = OLDER | {"it_grades.csv", "general_tolerances.csv", "moulding_tolerances.csv", "stainless_breaking_torque.csv"}
"""Tables whose source marks them as a whole."""

LOOKUPS = [fasteners.bolt, fasteners.property_class, fasteners.sleeve, fasteners.heat_set_insert, thread_forming.boss_rule,
           materials.material, moulding.moulding, friction.friction, printing.rule, service_places.service_place]


@pytest.mark.parametrize("name", FILES)
def test_every_row_is_complete_and_marked(name: str) -> None:
    table = rows(name)
    assert table
    for row in table:
        assert None not in row and None not in row.values(), row
        marks = [cell for heading, cell in row.items() if heading == "mark" or heading.endswith("_mark")]
        assert all(mark in MARKS for mark in marks)
        assert marks or name in WITHOUT_MARK


@pytest.mark.parametrize("name", FILES)
def test_no_row_stands_twice(name: str) -> None:
    kept = [tuple(row.items()) for row in rows(name)]
    assert len(set(kept)) == len(kept)


def test_a_row_from_memory_makes_its_source_one() -> None:
    source = Source("a book")
    assert marked(source, "memory").from_memory and not marked(source, "published").from_memory
    assert marked(Source("a book", from_memory=True), "published").from_memory
    with pytest.raises(ValueError, match="published, measured, memory"):
        marked(source, "guess")


def test_ranges_and_figures() -> None:
    span = Range(1.0, 2.0, "mm")
    assert span.holds(1.0) and span.holds(2.0) and not span.holds(2.0001) and str(span) == "1 to 2 mm"
    assert str(Range(0.0, 1.0)) == "0 to 1"
    assert Figure(1.0, 2.0, "mm", Source("a book")).middle == 1.5
    assert number(" ") is None and number("1.5") == 1.5


@pytest.mark.parametrize("look_up", LOOKUPS, ids=lambda f: f.__name__)
def test_every_look_up_lists_what_it_knows(look_up) -> None:
    with pytest.raises(KeyError, match="known are"):
        look_up("no such thing")


@pytest.mark.parametrize("look_up", [fasteners.head, fasteners.washer, fitting.drive])
def test_look_ups_of_two_words_too(look_up) -> None:
    with pytest.raises(KeyError, match="known are"):
        look_up("ISO 1", "M5")


def test_names_are_found_in_any_case() -> None:
    assert materials.material("petg") is materials.material("PETG") and thread_forming.boss_rule(" pa6-gf ").material == "PA6-GF"


def test_every_figure_of_a_material_is_a_band_with_a_unit() -> None:
    for item in materials.MATERIALS:
        for field in fields(item):
            value = getattr(item, field.name)
            if isinstance(value, Figure):
                assert value.low <= value.high and str(value.source), (item.name, field.name)
        assert {item.moisture, item.oil, item.fuel, item.uv} <= {"good", "fair", "poor"}
        assert item.kind in ("amorphous", "semicrystalline", "elastomer")


def test_every_printable_plastic_but_the_elastomer_has_a_boss_rule() -> None:
    for item in materials.MATERIALS:
        if item.kind != "elastomer":
            assert thread_forming.boss_rule(item.name).pilot < 1.0


def test_every_common_bolt_has_its_hole_head_washer_sleeve_insert_and_tool() -> None:
    holes = {hole.size for hole in CLEARANCE_HOLES}
    for size in ("M3", "M4", "M5", "M6"):
        assert size in holes and fasteners.sleeve(size) and fasteners.heat_set_insert(size)
        for standard in ("ISO 4762", "ISO 7380-1", "ISO 4017", "ISO 10642"):
            tool = fitting.drive(standard, size)
            assert tool.access > tool.tool_size and fasteners.head(standard, size).height > 0
            # a key's room never hides the head it turns
            assert tool.access >= 0.8 * fasteners.head(standard, size).bearing_diameter
        for standard in ("ISO 7089", "ISO 7093"):
            assert fasteners.washer(standard, size).outside > fasteners.head("ISO 4762", size).bearing_diameter


def test_inserts_leave_their_wall() -> None:
    for insert in fasteners.HEAT_SET_INSERTS:
        assert insert.pocket < insert.outside and insert.least_wall > 1.0
        assert insert.length >= 1.5 * float(insert.thread[1:])


def test_bolt_lengths() -> None:
    assert bolt_lengths.bolt_length(13.0) == 16.0 == bolt_lengths.bolt_length(16.0)
    assert bolt_lengths.bolt_length(101) is None and list(bolt_lengths.BOLT_LENGTHS) == sorted(bolt_lengths.BOLT_LENGTHS)


def test_printing_rules_and_places_are_ordered() -> None:
    assert all(figure.low <= figure.high for figure in printing.RULES.values())
    assert printing.rule("wall_least").low < printing.rule("wall_wanted").low < printing.rule("wall_structural").low
    assert all(figure.low < figure.high and figure.from_memory for figure in service_places.PLACES.values())


def test_cords_and_grooves_grow_together() -> None:
    by_cord = sorted(orings.GROOVES, key=lambda g: g.cord)
    for one, following in zip(by_cord, by_cord[1:], strict=False):
        assert one.depth < following.depth and one.width < following.width and one.radius <= following.radius
    assert all(g.depth < g.cord < g.width and 2 * g.radius < g.width for g in by_cord)


@pytest.mark.parametrize("value", [0.0, -1.0])
def test_preferred_numbers_are_positive(value: float) -> None:
    with pytest.raises(ValueError, match="more than 0"):
        nearest_preferred(value)
    with pytest.raises(KeyError):
        nearest_preferred(1.0, "R7")
