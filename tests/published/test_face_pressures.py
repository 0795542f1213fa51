"""Limiting surface pressures of metals under a sleeve or a head.

Source: VDI 2230, as printed in a fastener handbook's list (page 678): S235 490, AW-6082 F31 260, GG-25 900 N/mm2.
Tolerance: none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.formulas.sealed_joint import FACE_PRESSURE
from afterpart.model.wishes import MachineFacts


@pytest.mark.parametrize(("material", "printed"), [("steel", 490), ("aluminium", 260), ("cast iron", 900)])
def test_face_pressures_are_as_printed(material: str, printed: float) -> None:
    assert FACE_PRESSURE[material] == printed


def test_the_jobs_own_default_face_is_in_the_list() -> None:
    assert MachineFacts().face_material in FACE_PRESSURE
