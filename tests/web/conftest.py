"""What tests of the server borrow from the journeys: the example's photograph at 3 megapixels, measured to the same design;
and the example's job by itself, not measured."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.journey.browser import small_photo

__all__ = ["small_photo"]


@pytest.fixture
def folder(tmp_path: Path, cover: Path) -> Path:
    """The example's job file and photograph in a folder of their own."""
    place = tmp_path / "cover"
    place.mkdir()
    for name in ("job.toml", "inlet_cover.jpg"):
        shutil.copyfile(cover / name, place / name)
    return place
