"""The test of bolts against working loose, as its figures are printed.

Source: a lock washer maker's page on the transverse vibration test (DIN 65151, DIN 25201-4, ISO 16130): passed from 80 % of the
preload on, 12 verification tests.  That slip across the bolt is what turns it loose: G. H. Junker, SAE paper 690055 (1969), from
memory.  Tolerance: none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.loosening import least_load_against_slip, slip_load
from afterpart.standards.loosening import (
    FACE_FRICTION,
    FACE_SOURCE,
    JUNKER_SOURCE,
    PASSED_SHARE,
    SLIP_RESERVE,
    SLIP_SOURCE,
    TEST_SOURCE,
    VERIFICATION_TESTS,
)


def test_figures_as_printed() -> None:
    assert (PASSED_SHARE, VERIFICATION_TESTS) == (0.80, 12) and not TEST_SOURCE.from_memory


def test_what_is_from_memory_says_so() -> None:
    assert JUNKER_SOURCE.from_memory and SLIP_SOURCE.from_memory and FACE_SOURCE.from_memory


@pytest.mark.parametrize("kept", [PASSED_SHARE, 0.4])
def test_a_joint_that_keeps_the_tests_share_holds_in_proportion(kept: float) -> None:
    """Coulomb: without a seal the load across goes with what is left of the clamp load."""
    fresh, left = (slip_load(4, 2000.0, share, 0.0, FACE_FRICTION.low) for share in (1.0, kept))
    assert left == pytest.approx(kept * fresh)
    assert least_load_against_slip(left / SLIP_RESERVE, SLIP_RESERVE, 4, kept, 0.0, FACE_FRICTION.low) == pytest.approx(2000.0)
