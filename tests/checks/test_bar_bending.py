"""Bars over the filter element under a clogged element, worked by hand.

One bar across the middle of 40 x 20: windows of 18.8 x 20, so a spacing of 18.8 + 2.4.  PETG (from memory): yield 35 at its low
end, so 23.33 N/mm2.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.bar_bending import bar_bending
from afterpart.geometry.chain import polygon_chain
from afterpart.model.case import Case
from afterpart.model.feature import Bar, Rib
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from afterpart.model.wishes import MachineFacts, PrinterWish
from tests.checks.loose_cases import case, lid, piece
from tests.checks.screw_cases import only

WAY = polygon_chain(((-20.0, -10.0), (20.0, -10.0), (20.0, 10.0), (-20.0, 10.0)))


def barred(drop_pa: float | None = 750.0, width: float = 2.4, height: float = 3.0, material: str = "PETG") -> Case:
    bar = Bar((0.0, -10.0), (0.0, 10.0), width, 0.0, height)
    frame = piece("clamp_frame", (bar, Rib(WAY, WAY, 0.0, 3.0, 0.5)), stem="holder")
    build = lid()[0]
    build = replace(build, pieces=(build.pieces[0], frame))
    return case(build, MachineFacts(restriction_limit_pa=drop_pa), printer=PrinterWish(material=material))


def test_a_bar_is_bent_as_by_hand() -> None:
    """M = 750e-6 x 21.2 x 20^2 / 8 = 0.795 N mm, W = 2.4 x 3^2 / 6 = 3.6 mm3: 0.2208 N/mm2."""
    found = only(bar_bending(barred()))
    assert found.value == pytest.approx(0.2208, rel=2e-3) and found.limit.high == pytest.approx(35.0 / 1.5)
    assert found.verdict == ATTENTION and found.from_memory and found.severity == 9
    assert [one.input for one in found.sensitivity] in (["length", "height"], ["height", "length"])


def test_bars_too_slim_fail_and_the_width_told_holds() -> None:
    slim = barred(drop_pa=40_000.0, height=1.2)
    found = only(bar_bending(slim))
    assert found.verdict == FAILS and found.suggestions[0].key == "holder.bar_width"
    assert only(bar_bending(barred(drop_pa=40_000.0, height=1.2, width=float(found.suggestions[0].to)))).verdict != FAILS


def test_what_is_not_told_is_named_and_a_cover_without_bars_is_not_asked() -> None:
    assert only(bar_bending(barred(None))).missing == ("machine.restriction_limit_pa",)
    for name in ("HIPS", "TPU"):
        found = only(bar_bending(barred(material=name)))
        assert found.verdict == NOT_JUDGED and found.missing == ("printer.material",)
    assert bar_bending(case(lid()[0])) == ()


@given(st.floats(100.0, 5000.0), st.floats(1.0, 3.0))
def test_more_suction_never_lowers_the_stress_and_a_higher_bar_never_raises_it(drop_pa: float, more: float) -> None:
    value = only(bar_bending(barred(drop_pa))).value
    assert value is not None
    assert only(bar_bending(barred(drop_pa * more))).value >= value >= only(bar_bending(barred(drop_pa, height=3.0 * more))).value
