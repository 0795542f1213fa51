"""Slip across the bolts: by hand, the torque that holds, what is missing, and what never helps.

Source of the rule: G. H. Junker, SAE 690055 (1969), from memory; test figures: a lock washer maker's page.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.checks.bolted_joint import Joint, joint_of
from afterpart.checks.relaxation import relaxation, share_kept
from afterpart.checks.self_loosening import self_loosening
from afterpart.formulas.bolted import preload_band
from afterpart.formulas.loosening import least_load_against_slip, slip_load
from afterpart.model.case import Case
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from afterpart.standards.loosening import PASSED_SHARE, TEST_SOURCE, VERIFICATION_TESTS
from tests.checks.joint_cases import cord_seal, figure, lid, only, wished


def shaken(across: float | None, torque: float | None = 2.0, case: Case | None = None) -> Case:
    return wished(case or lid(), bolts={"torque_n_m": torque, "transverse_load_n": across})


def test_four_bolts_by_hand() -> None:
    """mu 0.1, four bolts of 1000 N of which 0.6 is left, seal 400 N: 0.1 (2400 - 400) = 200 N; turned round again 1000 N."""
    assert slip_load(4, 1000.0, 0.6, 400.0, 0.1) == pytest.approx(200.0)
    assert least_load_against_slip(100.0, 2.0, 4, 0.6, 400.0, 0.1) == pytest.approx(1000.0)
    assert slip_load(4, 100.0, 0.6, 400.0, 0.1) == 0.0


def test_the_lid_holds_what_its_bolts_keep() -> None:
    case = shaken(10.0)
    joint = joint_of(case)
    assert isinstance(joint, Joint)
    finding = only(self_loosening(case))
    assert finding.value == pytest.approx(0.1 * 4 * preload_band(2.0, 6.0).least_n * share_kept(joint))
    assert finding.limit.low == pytest.approx(18.0)
    assert finding.verdict == ATTENTION and finding.from_memory, "friction and creep from memory: never a plain pass"


def test_the_seal_takes_its_share_off() -> None:
    bare, sealed = (only(self_loosening(shaken(10.0, 8.0, case))) for case in (lid(), lid(cord_seal())))
    assert sealed.value is not None and bare.value is not None and sealed.value < bare.value
    assert bare.value - sealed.value == pytest.approx(0.1 * figure(sealed, "seal force"))


def test_the_torque_told_holds_and_a_little_less_does_not() -> None:
    failing = only(self_loosening(shaken(2000.0, case=lid(cord_seal()))))
    assert failing.verdict == FAILS
    wish, = failing.suggestions
    assert wish.key == "bolts.torque_n_m" and isinstance(wish.to, float) and wish.to > 2.0
    assert only(self_loosening(shaken(2000.0, wish.to, lid(cord_seal())))).verdict != FAILS
    assert only(self_loosening(shaken(2000.0, wish.to - 0.02, lid(cord_seal())))).verdict == FAILS


def test_what_is_missing_is_named_and_so_is_what_keeps_a_bolt() -> None:
    untold = only(self_loosening(shaken(None)))
    assert (untold.verdict, untold.missing) == (NOT_JUDGED, ("bolts.transverse_load_n",))
    assert "hold about" in untold.advice and "prevailing-torque" in untold.advice and "never on plastic" in untold.advice
    no_torque = only(self_loosening(shaken(10.0, None)))
    assert no_torque.missing == ("bolts.torque_n_m",) and "wedge washers" in no_torque.advice
    hot = only(self_loosening(wished(shaken(10.0), service={"temperature_c": 70.0})))
    assert hot.verdict == NOT_JUDGED and hot.missing == (), "a range that was left: no answer would settle it"
    assert "Take a plastic that stands it" in hot.advice


def test_a_cover_without_bolts_is_not_asked() -> None:
    case = lid()
    from_frame = wished(case, bolts={"insert": True})
    assert self_loosening(from_frame) == () and relaxation(from_frame) == ()


def test_figures_of_the_test_as_printed() -> None:
    """The maker's page: at least 80 % of the preload left, twelve tests."""
    assert (PASSED_SHARE, VERIFICATION_TESTS) == (0.80, 12) and not TEST_SOURCE.from_memory


@settings(deadline=None, derandomize=True, max_examples=20)
@given(st.floats(0.1, 20.0), st.floats(0.1, 20.0))
def test_more_torque_never_slips_sooner(a: float, b: float) -> None:
    low, high = (only(self_loosening(shaken(10.0, torque))).value for torque in sorted((a, b)))
    assert low is not None and high is not None and low <= high
