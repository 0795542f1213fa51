"""Files are written whole or not at all."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from afterpart.errors import FolderError
from afterpart.release.package import check_folder, write_files

FILES = {"a.json": b"1", "b.pdf": b"22", "plate/c.stl": b"333"}


def contents(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_all_files_are_written_and_nothing_else(tmp_path: Path) -> None:
    write_files(tmp_path / "new" / "folder", FILES)
    assert contents(tmp_path / "new" / "folder") == FILES
    assert (tmp_path / "new/folder/a.json").stat().st_mode & 0o777 == 0o644


def test_earlier_files_are_replaced_and_strangers_left_alone(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_bytes(b"old")
    (tmp_path / "mine.txt").write_bytes(b"mine")
    write_files(tmp_path, FILES)
    assert contents(tmp_path) == FILES | {"mine.txt": b"mine"}


@pytest.mark.parametrize("call", ["write", "fsync"])
@pytest.mark.parametrize("failing", range(1, 4))
def test_a_failure_while_writing_leaves_the_folder_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, failing: int
) -> None:
    """Each write in turn meets a full disk."""
    (tmp_path / "a.json").write_bytes(b"old")
    count = 0

    def full(*_: object) -> None:
        nonlocal count
        count += 1
        if count == failing:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if call == "fsync":
        monkeypatch.setattr(os, "fsync", full)
    else:
        fdopen = os.fdopen

        def opened(*args: object) -> object:
            stream = fdopen(*args)  # type: ignore[call-overload]
            try:
                full()
            except OSError:
                stream.close()
                raise
            return stream

        monkeypatch.setattr(os, "fdopen", opened)
    with pytest.raises(FolderError, match="No space left"):
        write_files(tmp_path, FILES)
    monkeypatch.undo()
    assert contents(tmp_path) == {"a.json": b"old"}


def test_places_that_cannot_be_written_are_named_before_any_work(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"")
    for folder in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(FolderError, match="expected a folder"):
            check_folder(folder)
    check_folder(tmp_path / "not" / "there" / "yet")
    assert not (tmp_path / "not").exists()
    (tmp_path / "a.json").mkdir()
    with pytest.raises(FolderError, match="found a folder"):
        write_files(tmp_path, FILES)
