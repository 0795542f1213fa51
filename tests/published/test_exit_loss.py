"""Loss of air that leaves into a room, against the library fluids; squeezed foam against the values worked from Ergun's form.

Reference library: fluids 1.3.1 (MIT): fittings.exit_normal.  Squeezed foam: S. Ergun (1952) scaling, porosity 0.97 squeezed to
half: permeability times 0.2275, inertia times 2.198 (computed by hand from eps^3 / (1 - eps)^2 and (1 - eps) / eps^3).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from fluids.fittings import exit_normal

from afterpart.formulas.air_path import EXIT_LOSS, squeezed_resistance


def test_exit_as_the_library() -> None:
    assert pytest.approx(exit_normal()) == EXIT_LOSS


def test_foam_squeezed_to_half() -> None:
    viscous, inertial = squeezed_resistance(0.97, 0.5)
    assert 1.0 / viscous == pytest.approx(0.2275, abs=0.00005)
    assert inertial == pytest.approx(2.198, abs=0.0005)
