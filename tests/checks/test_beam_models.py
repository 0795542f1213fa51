"""Three checks share one beam (pressure between bolts, leak gap, bow): each is held against a second model of it.

The second model: a finite element beam (cubic Hermite elements, springs integrated over each) over half a pitch, its section's
moment summed over thin slices; and, where the seal is soft, the clamped beam under an even load (1 / 384, every handbook).
Tolerance: 0.5 %, of elements and slices; the clamped beam 2 % for beta s below 0.9, where the springs' relief is below that.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.checks.cover_bow import cover_bow
from afterpart.checks.leak_gap import leak_gap
from afterpart.checks.pressure_between_bolts import pressure_between_bolts
from afterpart.formulas.gasket import SET_RESERVE, pressure_ratio
from afterpart.formulas.gasket import cover_bow as clamped_bow
from afterpart.formulas.sealed_joint import grooved_moment
from afterpart.model.finding import Finding
from tests.checks.joint_cases import cord_seal, lid
from tests.checks.screw_cases import only


def figure(finding: Finding, name: str) -> float:
    return next(given.value for given in finding.inputs if given.name == name)


def sliced_moment(width: float, height: float, groove_width: float, groove_depth: float, slices: int = 4000) -> float:
    """I about the middle of area of a strip with a groove open at its top face."""
    z = (np.arange(slices) + 0.5) * height / slices
    wide = np.where(z > height - groove_depth, width - groove_width, width)
    middle = (wide * z).sum() / wide.sum()
    return float((wide * (z - middle) ** 2).sum() * height / slices)


def ratio_by_elements(stiffness: float, modulus: float, moment: float, pitch: float, count: int = 60) -> float:
    """Deflection midway over that at the bolt: zero slope at both ends, 1 at the bolt."""
    step = 0.5 * pitch / count
    bend = modulus * moment / step**3 * np.array(
        [[12, 6 * step, -12, 6 * step], [6 * step, 4 * step**2, -6 * step, 2 * step**2],
         [-12, -6 * step, 12, -6 * step], [6 * step, 2 * step**2, -6 * step, 4 * step**2]])
    spring = stiffness * step / 420 * np.array(
        [[156, 22 * step, 54, -13 * step], [22 * step, 4 * step**2, 13 * step, -3 * step**2],
         [54, 13 * step, 156, -22 * step], [-13 * step, -3 * step**2, -22 * step, 4 * step**2]])
    whole = np.zeros((2 * count + 2, 2 * count + 2))
    for element in range(count):
        at = slice(2 * element, 2 * element + 4)
        whole[at, at] += bend + spring
    told = {1: 0.0, 2 * count: 1.0, 2 * count + 1: 0.0}  # slope midway; deflection and slope at the bolt
    free = [k for k in range(2 * count + 2) if k not in told]
    right = -sum(whole[free, k] * value for k, value in told.items())
    return float(np.linalg.solve(whole[np.ix_(free, free)], right)[0])


@pytest.mark.parametrize("beta_pitch", [0.3, 1.0, 2.0, 3.0, 4.0, 4.6])
def test_the_closed_form_is_the_beam_of_elements(beta_pitch: float) -> None:
    """EI 1, k 4: beta 1, so that the pitch is beta s."""
    assert pressure_ratio(beta_pitch) == pytest.approx(ratio_by_elements(4.0, 1.0, 1.0, beta_pitch), abs=1e-5)


@pytest.mark.parametrize(("width", "height", "groove", "depth"), [(12.0, 4.0, 3.6, 2.0), (20.0, 6.0, 0.0, 0.0),
                                                                  (9.0, 5.0, 5.0, 3.9)])
def test_the_strip_s_moment_is_the_sum_of_its_slices(width: float, height: float, groove: float, depth: float) -> None:
    assert grooved_moment(width, height, groove, depth) == pytest.approx(sliced_moment(width, height, groove, depth), rel=2e-3)


def test_all_three_findings_follow_from_the_beam_of_elements() -> None:
    case = lid(cord_seal())
    pressure, leak, bow = (only(check(case)) for check in (pressure_between_bolts, leak_gap, cover_bow))
    groove = next(f for piece in case.build.pieces for f in piece.features if hasattr(f, "bottom_radius"))
    moment = sliced_moment(figure(pressure, "flange width"), figure(pressure, "thickness"), groove.width, groove.depth)
    pitch, stiffness, modulus = (figure(pressure, name) for name in ("pitch", "stiffness", "modulus"))
    ratio = ratio_by_elements(stiffness, modulus, moment, pitch)
    assert 0.0 < ratio < 0.999 and pressure.value == pytest.approx(ratio, rel=5e-3)
    assert leak.value == pytest.approx(figure(leak, "closing") * ratio, rel=5e-3)
    crept = ratio_by_elements(stiffness / SET_RESERVE, modulus * figure(bow, "share that creep leaves"), moment, pitch)
    assert bow.value == pytest.approx(figure(bow, "closing") * (1.0 - crept), rel=5e-3)


@pytest.mark.parametrize("beta_pitch", [0.3, 0.6, 0.9])
def test_a_soft_seal_bows_the_cover_like_an_even_load_on_a_clamped_beam(beta_pitch: float) -> None:
    """k closing = 4 beta^4 E I closing over s^4 / 384 E I: a share of (beta s)^4 / 96 of the closing."""
    moduli, width, height, closing = 2000.0, 12.0, 4.0, 0.5
    beta = beta_pitch / 50.0
    even = 4.0 * beta**4 * moduli * width * height**3 / 12.0 * closing
    assert closing * (1.0 - pressure_ratio(beta_pitch)) == pytest.approx(
        clamped_bow(even, 50.0, moduli, width, height), rel=0.02)
