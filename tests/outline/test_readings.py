"""Readings: they sharpen, they settle an unknown size, a contradicting one is named."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.errors import UsageError
from afterpart.model.edges import EdgeMap, Reference
from afterpart.model.job import DatumChoice, Reading
from afterpart.model.outline import Line, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from tests.outline.invented import circle, polygon, rims_of

DRAWING = [
    polygon([(0, 0), (90, 0), (90, 50), (0, 50)], 6.0),
    circle(10, 10, 5.5),
    circle(80, 10, 5.5),
    circle(10, 40, 5.5),
    circle(80, 40, 5.5),
    circle(45, 25, 22),
]


def edges(scale: float = 1.0, relative_u: float = 0.002) -> EdgeMap:
    made = rims_of(
        DRAWING, np.random.default_rng(5), rms=0.012, scale_u=0.0, relative_u=relative_u, angle_rad=0.3, shift=(12.0, -7.0)
    )
    return replace(made, rims=tuple(replace(rim, points=rim.points * scale) for rim in made.rims))


def pick(outline: Outline, kind: str, near: float) -> str:
    return min((d for d in outline.dimensions if d.kind == kind), key=lambda d: abs(d.measured - near)).id


def test_reading_pulls_the_scale_of_all() -> None:
    """Scale 0.3 % off with 0.2 % stated: one outside reading of the width puts the other dimensions right and their u down."""
    first = recover_outline(edges(1.003), OutlineSettings())
    width, other = pick(first, "width", 90.0), pick(first, "distance", 70.0)
    second = recover_outline(edges(1.003), OutlineSettings(readings=(Reading(width, 90.01, 0.02),)))
    before, after = (next(d for d in o.dimensions if d.id == other) for o in (first, second))
    assert abs(before.measured - 70.0) > 0.15 and abs(after.measured - 70.0) < abs(before.measured - 70.0) / 5.0
    assert abs(after.measured - 70.0) < 2.0 * after.u
    assert after.u < 0.4 * before.u
    read = next(d for d in second.dimensions if d.id == width)
    assert read.origin == "reading" and read.measured == pytest.approx(90.01, abs=0.02)
    assert "readings" in second.reference.kind and second.reference.relative_u < 0.001
    assert [(d.id, d.kind, d.of) for d in first.dimensions] == [(d.id, d.kind, d.of) for d in second.dimensions]


def test_wrong_reading_is_named_and_left_out() -> None:
    first = recover_outline(edges(), OutlineSettings())
    wrong = pick(first, "diameter", 22.0)
    second = recover_outline(edges(), OutlineSettings(readings=(Reading(wrong, 24.0), Reading(pick(first, "width", 90.0), 90.0))))
    assert [note.code for note in second.notes].count("reading_conflict") == 1
    assert any(wrong in note.text for note in second.notes if note.code == "reading_conflict")
    bore = next(d for d in second.dimensions if d.id == wrong)
    assert bore.measured == pytest.approx(22.0, abs=0.05) and bore.origin != "reading"


def test_unknown_size_stays_in_pixels_and_asks() -> None:
    pixels = replace(edges(17.3), unit="px", reference=Reference("none", 1.0, 1.0))
    outline = recover_outline(pixels, OutlineSettings())
    assert outline.unit == "px" and {d.origin for d in outline.dimensions} == {"free"}
    assert outline.next_readings and any(note.code == "size_unknown" for note in outline.notes)
    bore = next(d for d in outline.dimensions if d.id == pick(outline, "diameter", 22.0 * 17.3))
    assert bore.measured == pytest.approx(22.0 * 17.3, rel=0.002) and bore.design == pytest.approx(bore.measured, rel=1e-3)


def test_one_reading_settles_an_unknown_size() -> None:
    pixels = replace(edges(17.3), unit="px", reference=Reference("none", 1.0, 1.0))
    width = pick(recover_outline(pixels, OutlineSettings()), "width", 90.0 * 17.3)
    outline = recover_outline(pixels, OutlineSettings(readings=(Reading(width, 90.0, 0.02),)))
    assert outline.unit == "mm" and outline.reference.kind == "readings"
    assert outline.reference.px_per_mm == pytest.approx(17.3, rel=0.002)
    sizes = sorted(d.design for d in outline.dimensions if d.kind == "diameter")
    assert sizes == pytest.approx([5.5, 5.5, 5.5, 5.5, 22.0], abs=0.006)


def test_next_readings_fall_in_worth() -> None:
    gains = [reading.gain_bits for reading in recover_outline(edges(), OutlineSettings()).next_readings]
    assert gains and gains == sorted(gains, reverse=True) and len(gains) <= 3


def test_unknown_reading_is_refused() -> None:
    with pytest.raises(UsageError, match="d999"):
        recover_outline(edges(), OutlineSettings(readings=(Reading("d999", 3.0),)))


def test_datum_as_told() -> None:
    auto = recover_outline(edges(), OutlineSettings())
    names = {
        tuple(np.round(s.center, 1)): s.id
        for loop in auto.design
        for s in loop.segments
        if hasattr(s, "radius") and len(loop.segments) == 1
    }
    first, second = names[(-35.0, -15.0)], names[(35.0, -15.0)]
    told = recover_outline(edges(), OutlineSettings(datum=DatumChoice("holes", (second, first))))
    at = {s.id: s.center for loop in told.design for s in loop.segments if hasattr(s, "radius")}
    assert at[second] == pytest.approx((0.0, 0.0), abs=1e-9) and at[first] == pytest.approx((70.0, 0.0), abs=1e-6)
    line = next(s.id for loop in auto.design for s in loop.segments if isinstance(s, Line))
    edge = recover_outline(edges(), OutlineSettings(datum=DatumChoice("edge", (line,))))
    own = next(s for loop in edge.design for s in loop.segments if s.id == line)
    assert own.start == pytest.approx((0.0, 0.0), abs=1e-9) and own.end[1] == pytest.approx(0.0, abs=1e-9) and own.end[0] > 0.0
    with pytest.raises(UsageError, match="c99"):
        recover_outline(edges(), OutlineSettings(datum=DatumChoice("holes", ("c99", first))))


def test_two_parts_share_one_drawing() -> None:
    one = edges()
    two = rims_of(
        [polygon([(0, 0), (40, 0), (40, 30), (0, 30)], 5.0), circle(20, 15, 9.0)],
        np.random.default_rng(8),
        rms=0.012,
        scale_u=0.0,
        relative_u=0.002,
        angle_rad=1.1,
        shift=(150.0, 30.0),
        part=2,
    )
    outline = recover_outline(replace(one, rims=one.rims + two.rims), OutlineSettings())
    assert {loop.part for loop in outline.design} == {1, 2} and len(outline.design) == 8
    ids = [s.id for loop in outline.design for s in loop.segments]
    assert len(ids) == len(set(ids))
    for measured, design in zip(outline.measured, outline.design, strict=True):
        a, b = measured.segments[0], design.segments[0]
        assert a.id == b.id
        assert np.hypot(*np.subtract(getattr(a, "center", None) or a.start, getattr(b, "center", None) or b.start)) < 0.15
