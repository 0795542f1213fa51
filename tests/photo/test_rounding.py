"""What pictures say of a rounding: weighed one by one on a disc drawn by calculation, and added up against a closed form.

References: the disc's own rounding; the product of normal distributions (precision-weighted mean).  The disc is seen from
straight above in even light, shaded from face to wall with the normal, blurred by a Gaussian, with noise.
Limits: one rim, no sharpening; whole sets of photographs are in tests/truth/heights_study.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.edges import EdgeMap, Reference, Rim
from afterpart.photo.profile import Spread
from afterpart.photo.rounding import weighed_look
from afterpart.photo.shape import (
    ROUNDING_SPREAD,
    USUAL_ROUNDING,
    WEIGHED_FLOOR,
    Evidence,
    RimLook,
    agreed_looks,
    settle_look,
)
from tests.photo.test_rimmisfit import HEIGHT, PX, SHAPE, camera, circle, picture

DRAFTS, SIZES = np.linspace(0.0, 2.0, 11), np.linspace(np.log(0.02), np.log(6.0), 401)


def said(rounding: float, u: float, slope: float = 0.0) -> Evidence:
    """A picture that says so much of the logarithm of the rounding, and that there is no draft."""
    log = -0.5 * ((SIZES - np.log(rounding)) / u) ** 2 - 1e3 * DRAFTS[:, None]
    return Evidence(log, np.zeros((11, 401, 1)), DRAFTS, SIZES, (0,), 1, slope)


def look(settled: Evidence, weighed: Evidence | None) -> RimLook:
    return RimLook(SHAPE, Spread(), False, np.zeros((1, 1)), np.zeros((1, 2)), settled, weighed=weighed)


def combined(told: list[tuple[float, float]]) -> tuple[float, float]:
    """Rounding and standard uncertainty of its logarithm from several such words and what is usual."""
    words = [*told, (USUAL_ROUNDING, ROUNDING_SPREAD)]
    weight = np.array([1 / u**2 for _, u in words])
    return float(np.exp(weight @ np.log([r for r, _ in words]) / weight.sum())), float(weight.sum() ** -0.5)


def test_pictures_add_up_what_they_weighed() -> None:
    surely_wrong = said(0.8, 0.05)
    looks = agreed_looks([look(surely_wrong, said(0.2, 0.3)), look(surely_wrong, said(0.3, 0.4))])
    rounding, u = combined([(0.2, 0.3), (0.3, 0.4)])
    for one in looks:
        assert one.shape.rounding == pytest.approx(rounding, rel=1e-3)
        assert one.rounding_u == pytest.approx(np.hypot(u, WEIGHED_FLOOR), rel=1e-3)
        assert one.shape.draft == pytest.approx(0.0, abs=1e-6)


def test_a_picture_that_does_not_tell_the_rounding_leaves_it_to_the_others() -> None:
    silent = said(1.0, 1e3)
    both = agreed_looks([look(silent, silent), look(silent, said(0.2, 0.2))])
    assert both[0].shape.rounding == pytest.approx(combined([(0.2, 0.2)])[0], rel=1e-3)


def test_without_all_words_weighed_the_settled_ones_count() -> None:
    looks = agreed_looks([look(said(0.5, 0.2), said(0.1, 0.1)), look(said(0.5, 0.2), None)])
    assert looks[0].shape.rounding == pytest.approx(combined([(0.5, 0.2), (0.5, 0.2)])[0], rel=1e-3)


def test_a_rounding_that_was_told_stays() -> None:
    told = replace(look(said(0.8, 0.1), said(0.2, 0.1)), rounding_told=True)
    assert agreed_looks([told, told])[0].shape.rounding == SHAPE.rounding


@pytest.mark.parametrize("rounding", [0.2, 0.4, 0.8])
@pytest.mark.parametrize("blur_px", [0.75, 1.3])
def test_a_roundings_weighed_word_holds(rounding: float, blur_px: float) -> None:
    light = picture(rounding, blur_px)
    settled = settle_look(light, camera(), [circle()], SHAPE, PX, False)
    rim = Rim("outer", 1, circle(), np.full(len(circle()), 0.01))
    edges = EdgeMap("mm", (rim,), Reference("sheet", 1 / PX, 1e-4), camera(), HEIGHT, settled.shape.rounding)
    agreed, = agreed_looks([weighed_look(light, edges, settled)])
    assert abs(np.log(agreed.shape.rounding / rounding)) < 2.0 * agreed.rounding_u < 1.2
