"""Two small jobs on the example's outline, built and judged once by the command line: what stations 3 to 5 are shown on.

The numbers in them are invented; the lid's torque is one written for metal, far above what its plastic bears, so that a finding
fails that one key mends.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.journey.browser import wait_for_script
from tests.journey.command import afterpart
from tests.once import made_once

PHOTO_TABLE = """
[[photo]]
file = "inlet_cover.jpg"
sheet = "A4"
rule = "mm"
reference_height = 0.8
face_height = 9.0
channel_depth = 2.0
"""
COVER = f"""name = "cover"         # with a foam element
make = ["cover", "filter_element"]
{PHOTO_TABLE}
[cover]
thickness = 14.4       # no thinner: it bows
floor = 3.0

[bolts]
thread = "M6"
torque_n_m = 0.5

[inlet]
opening = "seat"

[filter]
thickness = 10.0
"""
LID = f"""name = "lid"           # a plain lid on the old outline
make = ["cover"]
{PHOTO_TABLE}
[cover]
thickness = 6.0

[bolts]
thread = "M6"
washer = "ISO 7089"
torque_n_m = 5.0       # as written for metal

[machine]
kind = "pump"
"""
LONG_MS = 600_000
"""Building and judging on a busy machine."""


def made(measured: Path, folder: Path, text: str, command: str) -> Path:
    """The measured folder as another job, taken as far as `command`."""
    shutil.copytree(measured, folder)
    (folder / "job.toml").write_text(text)
    result = afterpart(command, folder)
    assert result.returncode in (0, 4), result.stderr
    return folder


@pytest.fixture(scope="session")
def built_once(measured_small_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The cover with its element, built."""
    return made_once(tmp_path_factory, "built_cover", lambda folder: made(measured_small_once, folder, COVER, "build"))


@pytest.fixture
def built(built_once: Path, tmp_path: Path) -> Path:
    """A copy of the built cover of the test's own."""
    return Path(shutil.copytree(built_once, tmp_path / "cover"))


@pytest.fixture(scope="session")
def judged_once(measured_small_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The lid, judged."""
    return made_once(tmp_path_factory, "judged_lid", lambda folder: made(measured_small_once, folder, LID, "check"))


@pytest.fixture
def judged(judged_once: Path, tmp_path: Path) -> Path:
    """A copy of the judged lid of the test's own."""
    return Path(shutil.copytree(judged_once, tmp_path / "lid"))


def wait_until_idle(page: Page, station: str) -> None:
    """Until the station's long work has begun and ended."""
    page.locator(f"#{station} .progress .runs").wait_for(timeout=LONG_MS)
    wait_for_script(page, "(station) => !document.querySelector(`#${station} .progress .runs`)", station, LONG_MS)
