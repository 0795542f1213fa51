"""The seven shared photographs, with nothing said but what their README lets a maker say, held against their true drawings.

Pictures, truth and comparison lie beside the checkout (../shared/photos, score.py); where they are absent these tests skip.
Words as in shared_photos.py.  Limits, pooled over the photographs: with sheet or rule, error median 0.03 mm, 95th percentile
0.12 mm, hits 0.90; with two points or a calliper alone 0.10 and 0.35 mm.  Every hole found, no circle invented.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from tests.truth.shared_photos import CALLIPER, SHEET_OR_RULE, WAYS, is_here, result

pytestmark = pytest.mark.skipif(not is_here(), reason="../shared/photos is not here")


@pytest.mark.parametrize("way", WAYS)
def test_every_hole_is_found_and_no_circle_invented(way: str) -> None:
    score = result(way)
    assert score.found == score.holes > 0
    assert score.invented == 0


def test_dimensions_by_sheet_or_rule() -> None:
    errors = np.abs(np.concatenate([result(way).errors for way in SHEET_OR_RULE]))
    assert len(errors) > 100
    assert np.median(errors) <= 0.03
    assert np.quantile(errors, 0.95) <= 0.12


@pytest.mark.parametrize("way", CALLIPER)
def test_dimensions_by_a_calliper_alone(way: str) -> None:
    errors = np.abs(result(way).errors)
    assert len(errors) > 15
    assert np.median(errors) <= 0.10
    assert np.quantile(errors, 0.95) <= 0.35


def test_design_dimensions_are_the_drawings_own() -> None:
    assert sum(result(way).hits for way in SHEET_OR_RULE) >= 0.90 * sum(result(way).asked for way in SHEET_OR_RULE)
