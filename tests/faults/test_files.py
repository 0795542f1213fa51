"""A set of files comes into a folder whole or not at all: every call to the system fails once, and ends the process once."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from afterpart.errors import FolderError
from afterpart.files import NOTE, check_folder, remove_file, replace_file, tidy, write_files, write_new_folder
from tests.faults.system import CHANGING, contents, every_failure, failing_at, hidden

FILES = {"a.json": b"1" * 50, "b.pdf": b"22", "plate/c.stl": b"333"}
BEFORE = {"a.json": b"old", "b.pdf": b"older", "gone.step": b"of a piece that is no more", "mine.txt": b"mine"}
FULL = {"x/a.txt": b"1", "b.txt": b"2"}

Change = Callable[[Path], None]


def set_over_another(folder: Path) -> None:
    write_files(folder, FILES, ("gone.step", "never.stl"))


def first_set(folder: Path) -> None:
    write_files(folder / "new" / "place", FILES)


def one_file(folder: Path) -> None:
    replace_file(folder / "a.json", b"new")


def set_of_one(folder: Path) -> None:
    write_files(folder, {"a.json": b"new"})


def new_folder(folder: Path) -> None:
    write_new_folder(folder / "x_A", FULL)


def new_folder_with_archive(folder: Path) -> None:
    write_new_folder(folder / "out" / "x_A", FULL, b"zip")


CHANGES = [set_over_another, first_set, one_file, set_of_one, new_folder, new_folder_with_archive]


def place(folder: Path, change: Change | None = None) -> Path:
    """A folder as it was before, and changed."""
    folder.mkdir()
    for name, data in BEFORE.items():
        (folder / name).write_bytes(data)
    if change is not None:
        change(folder)
    return folder


def test_all_files_are_written_and_nothing_else(tmp_path: Path) -> None:
    write_files(tmp_path / "new" / "folder", FILES)
    assert contents(tmp_path / "new" / "folder") == FILES and not hidden(tmp_path)
    assert (tmp_path / "new/folder/a.json").stat().st_mode & 0o777 == 0o644


def test_earlier_files_are_replaced_and_strangers_left_alone(tmp_path: Path) -> None:
    after = contents(place(tmp_path / "job", set_over_another))
    assert after == FILES | {"mine.txt": b"mine"}


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_every_call_that_fails_leaves_the_old_or_the_new_and_says_which(change: Change, code: int, tmp_path: Path) -> None:
    """However far it came: the folder holds what it held, or what was to come; no exception means the new."""
    old, new = contents(place(tmp_path / "old")), contents(place(tmp_path / "new", change))
    number, met = 0, set()
    for number, folder, said, call in every_failure(change, code, lambda n: place(tmp_path / str(n))):
        met.add(call)
        assert not said or os.strerror(code) in said
        assert contents(folder) == (old if "Nothing was changed there" in said else new), (number, call, said)
        assert said == "" or "Nothing was changed there" in said or "in place, but the disk does not confirm it" in said
        tidy(folder)
        change(folder) if "Nothing was changed there" in said else None
        assert contents(folder) == new and not hidden(folder), number
    assert {"open", "write", "fsync", "close"} <= met <= CHANGING and number > 8


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a copy of this process is ended")
@pytest.mark.parametrize("change", CHANGES, ids=lambda change: change.__name__)
def test_a_process_that_ends_at_any_call_leaves_the_old_or_the_new(change: Change, tmp_path: Path) -> None:
    """Killed without a word; the next run puts right what it finds and does its work."""
    old, new = contents(place(tmp_path / "old")), contents(place(tmp_path / "new", change))
    seen = []
    for number in range(1, 200):
        folder = place(tmp_path / str(number))
        child = os.fork()
        if child == 0:
            with failing_at(number, fatal=True):
                change(folder)
            os._exit(0)
        was_killed = os.WIFSIGNALED(os.waitpid(child, 0)[1])
        for one in (folder, folder / "out", folder / "new" / "place"):
            tidy(one)
        assert contents(folder) in (old, new), number
        seen.append(contents(folder) == new)
        if not was_killed:
            break
        if not seen[-1]:
            change(folder)
        assert contents(folder) == new, number
    assert seen[-1] and not seen[0] and seen == sorted(seen), "once the new set counts it stays"


def test_a_half_set_that_cannot_be_taken_back_is_told_and_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two faults at once: putting in place fails, and so does taking back; the next run does it."""
    folder = place(tmp_path / "job")
    old, replace = contents(folder), os.replace
    asked = []

    def stuck(source: Path, target: Path) -> None:
        asked.append(target)
        if len(asked) > 2:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        replace(source, target)
    monkeypatch.setattr(os, "replace", stuck)
    with pytest.raises(FolderError, match="put back by the next run"):
        set_over_another(folder)
    assert contents(folder) != old and (folder / NOTE).exists()
    with pytest.raises(FolderError, match="half in place"):
        check_folder(folder)
    monkeypatch.undo()
    check_folder(folder)
    assert contents(folder) == old and not hidden(folder)


def test_without_links_a_copy_is_set_aside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))
    monkeypatch.setattr(os, "link", none)
    folder = place(tmp_path / "job")
    old, age = contents(folder), (folder / "a.json").stat().st_mtime_ns
    replace, count = os.replace, []

    def third(source: Path, target: Path) -> None:
        count.append(target)
        if len(count) == 3:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        replace(source, target)
    monkeypatch.setattr(os, "replace", third)
    with pytest.raises(FolderError, match="Nothing was changed there"):
        set_over_another(folder)
    assert contents(folder) == old and (folder / "a.json").stat().st_mtime_ns == age


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


def test_taking_away_what_is_gone_is_no_fault_and_a_refusal_is_told(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"1")
    with failing_at(1, errno.EIO), pytest.raises(FolderError, match="Nothing was changed there"):
        remove_file(tmp_path / "a")
    remove_file(tmp_path / "a")
    remove_file(tmp_path / "a")
    assert not contents(tmp_path)
