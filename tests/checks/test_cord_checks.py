"""Squeeze, fill, stretch and corners of a round cord, on a lid worked by hand.

Cord 2.65 +- 0.09 (tolerance from memory), groove 2.0 deep (+0.1 by the supplier's table) in layers of 0.2, 3.8 wide +- 0.2.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.checks.cord_corner import cord_corner
from afterpart.checks.cord_fill import cord_fill
from afterpart.checks.cord_squeeze import cord_squeeze
from afterpart.checks.cord_stretch import cord_stretch
from afterpart.checks.groove_limits import whole_layers
from afterpart.model.case import GrooveSection, PieceFacts
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from afterpart.model.outline import Arc, Dimension
from afterpart.parts.groove_size import cord_size
from tests.checks.joint_cases import LENGTH, cord_seal, figure, groove, lid, only, wished

ALL = (cord_squeeze, cord_fill, cord_stretch, cord_corner)


@pytest.mark.parametrize("check", ALL)
def test_a_lid_without_a_cord_is_not_spoken_of(check) -> None:
    assert check(lid()) == ()
    assert check(lid(cord_seal(kind="ring"), groove(cord=0.0, height=2.4))) == ()


def test_squeeze_takes_both_ends_of_every_tolerance() -> None:
    """(2.56 - 2.1) / 2.56 and (2.74 - 2.0) / 2.74, worked by hand."""
    findings = cord_squeeze(lid(cord_seal()))
    assert only(findings, "loose").value == pytest.approx(0.46 / 2.56)
    assert only(findings, "tight").value == pytest.approx(0.74 / 2.74)
    assert {f.verdict for f in findings} == {ATTENTION}, "cord tolerances are from memory"


def test_a_depth_between_layers_may_come_out_either_way() -> None:
    """2.70 in layers of 0.2: 2.6, or 2.8 and the table's 0.1; a hair off whole layers is still sliced into them."""
    assert whole_layers(2.70, 0.2, 0.1) == pytest.approx((2.6, 2.9))
    assert whole_layers(2.004, 0.2, 0.1) == pytest.approx((2.0, 2.1))


def test_what_was_measured_on_the_solid_counts_not_the_drawing() -> None:
    case = lid(cord_seal())
    sections = (GrooveSection((40.0, 0.0), 2.0, 3.8, 0.3), GrooveSection((0.0, 40.0), 2.4, 3.6, 0.3))
    case = replace(case, facts=(PieceFacts("cover", 1.0, (0, 0, 0), (1, 1, 1), 1.0, sections=sections),))
    findings = cord_squeeze(case)
    assert only(findings, "loose").value == pytest.approx((2.56 - 2.5) / 2.56)
    assert figure(only(cord_fill(case)), "width") == pytest.approx(3.4)


@pytest.mark.parametrize("depth", [1.6, 2.4])
def test_the_squeeze_suggested_passes_when_it_is_drawn(depth: float) -> None:
    findings = cord_squeeze(lid(cord_seal(), groove(depth=depth)))
    failing = only(findings, "tight" if depth < 2 else "loose")
    assert failing.verdict == FAILS and failing.suggestions[0].key == "seal.squeeze"
    drawn = cord_size(2.65, cord_seal(squeeze=failing.suggestions[0].to))
    again = cord_squeeze(lid(cord_seal(), groove(depth=drawn.depth, width=drawn.width)))
    assert {f.verdict for f in again} == {ATTENTION}


def test_fill_is_the_thickest_cord_in_the_tightest_groove() -> None:
    """pi 2.74^2 / (4 x 3.6 x 2.0), by hand."""
    assert only(cord_fill(lid(cord_seal()))).value == pytest.approx(math.pi * 2.74**2 / (4 * 3.6 * 2.0))


def test_the_fill_suggested_passes_when_it_is_drawn() -> None:
    found = only(cord_fill(lid(cord_seal(), groove(width=3.2))))
    assert found.verdict == FAILS
    drawn = cord_size(2.65, cord_seal(fill=found.suggestions[0].to))
    assert only(cord_fill(lid(cord_seal(), groove(depth=drawn.depth, width=drawn.width)))).verdict == ATTENTION


def test_a_cord_outside_the_table_is_not_judged_and_names_its_key() -> None:
    case = lid(cord_seal(cord=2.5), groove(cord=2.5))
    for finding in (*cord_squeeze(case), *cord_fill(case)):
        assert finding.verdict == NOT_JUDGED and finding.missing == ("seal.cord",) and "2.65" in finding.advice


@pytest.mark.parametrize(("ring", "verdict"), [(LENGTH / 1.02, "passes"), (LENGTH, ATTENTION), (LENGTH / 1.04, FAILS),
                                                (LENGTH * 1.01, FAILS)])
def test_stretch_runs_from_nothing_to_three_percent(ring: float, verdict: str) -> None:
    found = only(cord_stretch(lid(cord_seal(), ring_length=ring)))
    assert found.value == pytest.approx(LENGTH / ring - 1, abs=1e-9) and found.verdict == verdict
    assert found.u == pytest.approx(3e-4 * LENGTH / ring)


def test_the_ring_to_buy_is_told_by_its_inside_diameter() -> None:
    """Centre line 251.33 / 1.03 and / 1.01: 80 / 1.03 - 2.65 = 75.0 and 80 / 1.01 - 2.65 = 76.6 mm inside."""
    assert "75.0 to 76.6 mm" in only(cord_stretch(lid(cord_seal()))).advice


@pytest.mark.parametrize(("corner", "verdict"), [(7.9, FAILS), (7.96, ATTENTION), (12.0, ATTENTION), (16.0, "passes")])
def test_a_corner_wants_three_cords_and_prefers_six(corner: float, verdict: str) -> None:
    """3 x 2.65 = 7.95 mm, 6 x 2.65 = 15.9 mm."""
    found = only(cord_corner(lid(cord_seal(), replace(groove(), corner=corner))))
    assert found.limit.low == pytest.approx(7.95) and found.verdict == verdict


def test_a_corner_too_tight_gets_the_thickest_cord_that_suits() -> None:
    """R 7.0 suits cords up to 7 / 3 = 2.33 mm: 2.00 of the table."""
    found = only(cord_corner(lid(cord_seal(), replace(groove(), corner=7.0, corner_at=(3.0, 4.0)))))
    assert found.suggestions[0].to == 2.0 and "(3.0, 4.0)" in found.subject


def test_a_traced_corner_brings_its_own_uncertainty() -> None:
    case = lid(cord_seal(), replace(groove(), inner=(Arc("s9", (0, 0), (1, 1), (0, 1), 12.0, True),), corner=12.0))
    row = Dimension("d1", "radius", ("s9",), 12.0, 0.3, 12.0, 0.9, None, "inferred")
    assert only(cord_corner(replace(case, outline=replace(case.outline, dimensions=(row,))))).u == 0.3


def test_halving_the_layers_never_loosens_the_loose_end() -> None:
    values = [only(cord_squeeze(wished(lid(cord_seal(), groove(depth=2.1)), printer={"layer": layer})), "loose").value
              for layer in (0.4, 0.2, 0.1)]
    assert values == sorted(values)
