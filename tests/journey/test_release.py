"""From a job folder to a released one by the command line: exit statuses, nothing overwritten, every difference named.

The bracket's outline is the one the measuring stages left (tests/parts/outlines), put in place by hand: nothing is measured here.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import shutil
import zipfile
from pathlib import Path

import pytest

from afterpart.errors import FolderError
from afterpart.files import write_new_folder
from afterpart.lock import LOCK_FILE
from tests.journey.command import afterpart, assert_empty, assert_refused

NAME = "bracket_A"


@pytest.fixture(scope="module")
def job(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("release") / "bracket"
    folder.mkdir()
    text = (root / "examples" / "bracket" / "job.toml").read_text()
    (folder / "job.toml").write_text(re.sub(r"(?s)\[coupon\].*?(?=\n\[|\Z)", "", text))
    shutil.copy(root / "tests" / "parts" / "outlines" / "bracket.json", folder / "outline.json")
    result = afterpart("release", folder)
    assert result.returncode == 0, (result.stdout, result.stderr)
    (folder / "said.txt").write_text(result.stdout)
    return folder


@pytest.fixture()
def copy(job: Path, tmp_path: Path) -> Path:
    """A copy that may be spoilt."""
    return Path(shutil.copytree(job / "release" / NAME, tmp_path / NAME))


def test_a_release_is_one_folder_and_its_zip_and_says_where_to_look(job: Path) -> None:
    assert {path.name for path in (job / "release").iterdir() if path.name != LOCK_FILE} == {NAME, f"{NAME}.zip"}
    said = " ".join((job / "said.txt").read_text().split())
    for wanted in ("README.md", "guide.pdf", "findings.pdf", "afterpart verify"):
        assert wanted in said
    folder = job / "release" / NAME
    files = {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    with zipfile.ZipFile(job / "release" / f"{NAME}.zip") as opened:
        assert {name: opened.read(name) for name in opened.namelist()} == {f"{NAME}/{k}": v for k, v in files.items()}
    assert folder.stat().st_mode & 0o777 == 0o755


def test_an_existing_release_is_refused_and_left_as_it_is(job: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in (job / "release").rglob("*")}
    assert_refused(afterpart("release", job), 3, NAME, "never overwritten", "revision")
    assert {path: path.stat().st_mtime_ns for path in (job / "release").rglob("*")} == before


def test_a_folder_that_is_as_released_passes(copy: Path) -> None:
    result = afterpart("verify", copy)
    assert result.returncode == 0, (result.stdout, result.stderr)
    assert "as released" in result.stdout and re.search(r"\b[0-9a-f]{64}\b", result.stdout)


def test_verify_names_the_changed_the_missing_and_the_extra_file(copy: Path) -> None:
    changed, missing, extra = copy / "pieces" / "bracket_mm.stl", copy / "guide.pdf", copy / "plate" / "mine.txt"
    data = bytearray(changed.read_bytes())
    data[100] ^= 1
    changed.write_bytes(bytes(data))
    missing.unlink()
    extra.write_text("mine")
    result = afterpart("verify", copy)
    assert result.returncode == 4, (result.stdout, result.stderr)
    lines = {line.partition(":")[0]: line for line in result.stdout.splitlines()}
    assert "changed" in lines["pieces/bracket_mm.stl"] and "missing" in lines["guide.pdf"]
    assert "not listed" in lines["plate/mine.txt"]
    assert "3 differences" in result.stdout


def test_a_link_in_place_of_a_file_is_a_change(copy: Path, tmp_path: Path) -> None:
    (tmp_path / "outside").write_bytes((copy / "guide.pdf").read_bytes())
    (copy / "guide.pdf").unlink()
    (copy / "guide.pdf").symlink_to(tmp_path / "outside")
    result = afterpart("verify", copy)
    assert result.returncode == 4 and "guide.pdf: changed" in result.stdout


def test_verify_without_a_folder_or_a_manifest_is_refused(copy: Path, tmp_path: Path) -> None:
    assert_refused(afterpart("verify", tmp_path / "nowhere"), 3, "no such folder")
    (copy / "manifest.json").unlink()
    assert_refused(afterpart("verify", copy), 3, "manifest.json")


def test_a_job_that_cannot_be_built_releases_nothing(job: Path, tmp_path: Path) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    text = (job / "job.toml").read_text().replace("thickness = 5.0", "thickness = -1.0")
    (folder / "job.toml").write_text(text)
    shutil.copy(job / "outline.json", folder)
    assert_refused(afterpart("release", folder, "--out", tmp_path / "out"), 3, "thickness")
    assert_empty(tmp_path / "out")


def test_a_folder_that_cannot_be_written_whole_is_not_there_at_all(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")
    monkeypatch.setattr("os.replace", full)
    with pytest.raises(FolderError, match="No space left"):
        write_new_folder(tmp_path / "out" / "x_A", {"a/b.txt": b"1", "c.txt": b"2"}, b"zip")
    assert_empty(tmp_path / "out")
