"""What comes in through an inlet: spheres by hand, spray by angle, a drain where water gets in."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.checks.inlet_exposure import inlet_exposure
from afterpart.model.feature import Opening
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from afterpart.model.wishes import AddedHole, InletWish, ServiceFacts
from tests.checks.screw_cases import bolted, ending, only, rectangle, screwed, with_inlet

STONES = ServiceFacts(exposed=("stones",))


def spray(facing: float | None) -> ServiceFacts:
    return ServiceFacts(exposed=("spray",), inlet_facing_deg=facing)


def test_nothing_to_say_without_a_filtered_inlet() -> None:
    assert inlet_exposure(bolted()) == inlet_exposure(screwed()) == inlet_exposure(with_inlet(40, 30, seat=False)) == ()


def test_untold_surroundings_are_asked_for_and_harmless_ones_say_nothing() -> None:
    assert only(inlet_exposure(with_inlet(40, 30))).missing == ("service.exposed",)
    assert inlet_exposure(with_inlet(40, 30, service=ServiceFacts(exposed=("oil",)))) == ()


@pytest.mark.parametrize(("height", "verdict"), [(12.4, ATTENTION), (12.6, FAILS)])
def test_the_largest_stone_is_the_circle_in_the_opening(height: float, verdict: str) -> None:
    finding = only(inlet_exposure(with_inlet(60.0, height, service=STONES)))
    assert finding.value == pytest.approx(height, abs=0.03) and finding.verdict == verdict and finding.from_memory


def test_an_enlarged_inlet_is_held_against_the_old_one_and_a_grid_mends_it() -> None:
    """Old 30 x 20: 600 mm2, a sphere of 20; new 76 x 42: 3192 mm2; the round bolt hole is no old inlet."""
    finding = only(inlet_exposure(with_inlet(76.0, 42.0, old=(30.0, 20.0), service=STONES)))
    assert finding.verdict == FAILS and finding.value == pytest.approx(42.0, abs=0.03)
    assert next(i.value for i in finding.inputs if i.name == "old opening") == pytest.approx(600.0)
    assert next(i.value for i in finding.inputs if i.name == "old sphere") == pytest.approx(20.0, abs=0.03)
    change = finding.suggestions[0]
    assert change.key == "inlet.grid"
    assert only(inlet_exposure(with_inlet(76.0, 42.0, service=STONES, inlet=InletWish(grid=change.to)))).verdict == ATTENTION


def test_the_inlet_is_the_largest_opening() -> None:
    case = with_inlet(60.0, 12.0, service=STONES)
    cover = case.build.pieces[0]
    slot = Opening("slot", rectangle(20.0, 2.0), 0.0, 3.0)
    for features in ((slot, *cover.features), (*cover.features, slot)):
        both = replace(case, build=replace(case.build, pieces=(replace(cover, features=features),)))
        assert only(inlet_exposure(both)).value == pytest.approx(12.0, abs=0.03)


def test_spray_asks_which_way_the_inlet_looks() -> None:
    finding = only(inlet_exposure(with_inlet(40, 30, service=spray(None))))
    assert (finding.verdict, finding.missing) == (NOT_JUDGED, ("service.inlet_facing_deg",))
    assert "pressure washer" in finding.advice


def test_an_inlet_that_looks_down_is_dry_and_needs_no_drain() -> None:
    for facing in (0.0, 30.0):
        assert only(inlet_exposure(with_inlet(40, 30, service=spray(facing)))).verdict == ATTENTION


def test_a_sideways_inlet_needs_a_hood_and_a_drain() -> None:
    """Diagonal 50 mm, spray to 60 degrees: 50 tan 60 = 87 mm."""
    found = inlet_exposure(with_inlet(40.0, 30.0, service=spray(90.0)))
    wet, drain = ending(found, "spray"), ending(found, "drain")
    assert wet.verdict == FAILS and wet.limit.high == 30.0 and f"{50 * math.tan(math.radians(60)):.0f} mm" in wet.advice
    assert "pressure washer" in wet.advice and drain.verdict == FAILS
    drained = with_inlet(40.0, 30.0, service=spray(90.0), holes=(AddedHole("d", (0.0, -18.0), 3.0, "Drain"),))
    assert ending(inlet_exposure(drained), "drain").verdict == ATTENTION


def test_no_hood_helps_an_inlet_that_looks_up() -> None:
    assert "no hood" in ending(inlet_exposure(with_inlet(40, 30, service=spray(180.0))), "spray").advice


@given(st.floats(5.0, 80.0), st.floats(5.0, 80.0))
@settings(max_examples=15, deadline=None)
def test_a_stone_never_exceeds_the_smaller_side(width: float, height: float) -> None:
    finding = only(inlet_exposure(with_inlet(width, height, service=STONES)))
    assert finding.value == pytest.approx(min(width, height), abs=0.03) and finding.value <= min(width, height) + 1e-9
