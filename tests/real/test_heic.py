"""A phone's own HEIC file: upright, whole, with its focal length.

Picture: shared/real/phone.heic (licence and origin in truth.json: 3024 x 4032 upright, EXIF 28 mm equivalent).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from afterpart.model.job import Shot
from afterpart.photo.load import load_picture

PHOTO = Path(__file__).parents[3] / "shared" / "real" / "phone.heic"

pytestmark = pytest.mark.skipif(not PHOTO.exists(), reason="the real photographs (../shared/real) are not here")


def test_decodes_upright_with_its_focal_length():
    picture = load_picture(PHOTO, Shot(file=str(PHOTO)))
    assert picture.grey.shape == (4032, 3024)
    assert picture.colour.shape == (4032, 3024, 3)
    assert picture.focal_35mm == 28
    assert picture.grey.std() > 10, "an even picture would mean that nothing was decoded"


def test_told_focal_length_wins_over_the_file():
    assert load_picture(PHOTO, Shot(file=str(PHOTO), focal_35mm=77.0)).focal_35mm == 77.0


def test_the_arrow_on_the_paper_points_up():
    """The drawn arrow is narrow at its tip and wide at its foot, and the paper's printed lines run across."""
    grey = load_picture(PHOTO, Shot(file=str(PHOTO))).grey
    ink = grey[200:-200, 100:-100] < 60
    rows = np.flatnonzero(ink.sum(1) > 20)
    part = (rows[-1] - rows[0]) // 12

    def width(band: np.ndarray) -> float:
        """Columns between which nine tenths of the ink lie: specks do not count."""
        return float(np.subtract(*np.quantile(np.nonzero(band)[1], [0.95, 0.05])))

    assert width(ink[rows[0]:rows[0] + part]) < 0.6 * width(ink[rows[-1] - part:rows[-1]])
    margin = grey[3200:3900, 400:2600]
    assert margin.mean(1).std() > 2 * (margin.mean(0) - np.convolve(margin.mean(0), np.ones(301) / 301, "same"))[200:-200].std()
