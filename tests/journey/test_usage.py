"""What can be judged from the command line alone ends with status 2 and touches nothing."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from afterpart import __version__
from tests.journey.command import afterpart, assert_empty, assert_refused, fresh_afterpart


@pytest.mark.parametrize(("options", "words"), [
    (["--sheet", "A9"], ["sheet", "A9", "A4"]),
    (["--sheet", "0x297"], ["sheet"]),
    (["--rule", "cm"], ["rule", "mm"]),
    (["--span", "1,2,3,4"], ["span", "five numbers"]),
    (["--span", "5,5,5,5,10"], ["span", "far apart"]),
    (["--span", "1,1,500,1,0"], ["span", "more than 0"]),
    (["--reading", "d7"], ["reading", "ID=VALUE"]),
    (["--reading", "d7=-3"], ["reading"]),
    (["--face-height", "-1"], ["face_height"]),
    (["--face-height", "nine"], ["face-height"]),
    (["--scan", "600", "--calliper", "20"], ["scan"]),
    (["--part", "0"], ["part"]),
    (["--colour", "red"], ["no such option"]),
])
def test_usage_mistakes(tmp_path: Path, options: list[str], words: list[str]) -> None:
    result = afterpart("measure", tmp_path / "absent.jpg", "--out", tmp_path / "out", *options)
    assert_refused(result, 2, *words)
    assert_empty(tmp_path)


def test_a_photo_without_a_place_for_the_results(tmp_path: Path) -> None:
    assert_refused(afterpart("measure", tmp_path / "absent.jpg"), 2, "--out")


def test_options_about_the_photo_do_not_go_with_a_job_folder(tmp_path: Path) -> None:
    assert_refused(afterpart("measure", tmp_path, "--sheet", "A4"), 2, "job.toml")


@pytest.mark.parametrize(("options", "word"), [(["--bed", "220"], "bed"), (["--thickness", "9"], "thickness")])
def test_plate_usage(tmp_path: Path, options: list[str], word: str) -> None:
    assert_refused(afterpart("plate", tmp_path, *options), 2, word)
    assert_empty(tmp_path)


def test_help_and_version() -> None:
    for arguments in (["--help"], ["measure", "--help"], ["new", "--help"], ["target", "--help"], ["plate", "--help"]):
        result = fresh_afterpart(*arguments)
        assert result.returncode == 0 and "Usage: afterpart" in result.stdout
    assert fresh_afterpart("--version").stdout == f"afterpart {__version__}\n"
    options = afterpart("measure", "--help").stdout
    for option in ("--out", "--sheet", "--rule", "--target", "--calliper", "--span", "--reference-height", "--focal-35mm",
                   "--scan", "--face-height", "--edge-radius", "--part", "--reading"):
        assert option in options


def test_a_bug_ends_with_status_1_and_says_so(tmp_path: Path) -> None:
    """A bug put in on purpose: the broad handler names it one and shows where it is."""
    (tmp_path / "run.py").write_text(
        "import sys\nfrom afterpart import cli\nfrom afterpart.job import template\n"
        "def broken(*_):\n    raise RuntimeError('put in on purpose')\n"
        "template.write_job_template = broken\nsys.argv = ['afterpart', 'new', 'x', '--photo', 'y']\ncli.main()\n")
    result = subprocess.run([sys.executable, tmp_path / "run.py"], capture_output=True, text=True, check=False)
    assert result.returncode == 1
    assert "put in on purpose" in result.stderr and "this is a bug in afterpart" in result.stderr


@pytest.mark.parametrize(("arguments", "words"), [
    (["one"], ["compare", "two or more"]),
    (["one", "./one"], ["compare", "different"]),
    (["one", "two", "--weight", "fit_share"], ["weight", "FIGURE=W"]),
    (["one", "two", "--weight", "fit_share=-1"], ["weight", "0 or more"]),
])
def test_variants_that_cannot_be_compared(tmp_path: Path, arguments: list[str], words: list[str]) -> None:
    assert_refused(afterpart("compare", *arguments, cwd=tmp_path), 2, *words)
    assert_empty(tmp_path)
