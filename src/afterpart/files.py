"""The one room that writes: a set of finished files comes into a folder whole or not at all, whatever fails on the way.

Words: a *set* is what one run puts into a folder together; its *neighbours* are the complete new files, under hidden names beside
their places; what stood there before is *set aside* under hidden names too; the *note* says what of this is under way.
A set is put in place under its note: while the note is there the set does not count, and whoever comes next (the same run after
a failure, or the next one after a crash or a power cut) puts back what stood there before.  Taking the note away is the one step
that makes the new set count.  A set of one file needs no note: it is put in place in one step.
One program at a time changes a folder (lock.py).  A reader that comes in the milliseconds between may see some of both sets.
Limits: a file that another program holds open may not be replaceable (Windows); then the whole set is taken back.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import errno
import json
import os
import shutil
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import astuple, dataclass
from pathlib import Path

from afterpart.errors import FolderError
from afterpart.lock import PATIENCE_S, turn_in

NEW, OLD = ".afterpart-new", ".afterpart-old"
"""Endings of neighbours, and of what is set aside."""
NOTE = ".unfinished.json"
FILE_MODE, FOLDER_MODE = 0o644, 0o755
HALF = ".afterpart-half"
"""Ending of a folder that is being filled outside any turn; only the process that made it takes it away."""
STANDS = "Nothing was changed there: what was there before stands."
NOT_FOR_FOLDERS = {errno.EINVAL, getattr(errno, "ENOTSUP", errno.EINVAL), errno.EBADF, errno.EACCES, errno.EISDIR}
"""What systems answer that cannot force a folder to the disk."""


@dataclass(frozen=True)
class _Step:
    """One file or folder of a set.  name: its place; new: its neighbour, "" where the place is to be empty; old: what is set
    aside, "" where nothing stood there.  All relative to the set's folder, with /."""

    name: str
    new: str
    old: str


def check_folder(folder: Path) -> None:
    """Raise FolderError now when `folder` could not be made or written to later; nothing is created.  What an interrupted run
    left there is put right."""
    nearest = folder
    while not nearest.exists() and nearest != nearest.parent:
        nearest = nearest.parent
    if not nearest.is_dir():
        raise FolderError(f"{folder}: found a file at {nearest}, expected a folder. Choose another place with --out.")
    if not os.access(nearest, os.W_OK | os.X_OK):
        raise FolderError(f"{folder}: found {nearest} closed for writing, expected a folder you may write to. "
                          "Choose another place with --out.")
    tidy(folder)


def check_new(path: Path) -> None:
    """Raise FolderError when something of this name is there already; what was released is never overwritten."""
    if path.exists() or path.is_symlink():
        raise FolderError(f"{path}: found a release of this name and revision already, expected none: what was given to others "
                          "is never overwritten. Raise revision in the job file, or choose another place with --out.")


def write_files(folder: Path, files: Mapping[str, bytes], gone: Iterable[str] = ()) -> None:
    """Put every file (name relative to `folder` -> contents) in place, and take those in `gone` away, all or nothing.

    Raises FolderError when the folder cannot take them; then it is as it was."""
    with _told(folder):
        os.makedirs(folder, exist_ok=True)
        with turn_in(folder):
            _put_right(folder)
            try:
                steps = [_neighbour(folder, name, contents) for name, contents in files.items()]
                steps += [_Step(name, "", "") for name in gone if (folder / name).is_file() and name not in files]
                _put_in_place(folder, steps)
            finally:
                _put_right(folder, {(folder / name).parent for name in files})


def replace_file(path: Path, contents: bytes) -> None:
    """Put one file in place, whole or not at all.  For a caller that has the folder's turn, or a file that belongs to no job.

    Raises FolderError; then what was there stands."""
    with _told(path.parent):
        os.makedirs(path.parent, exist_ok=True)
        step = _neighbour(path.parent, path.name, contents)
        try:
            _put_in_place(path.parent, [step])
        finally:
            _drop(path.parent / step.new)


def write_new_folder(folder: Path, files: Mapping[str, bytes], archive: bytes | None = None) -> None:
    """Write every file into a folder that must not be there yet, whole or not at all; archive: put beside it as FOLDER.zip.

    Raises FolderError when the folder or the archive is there already, or cannot be written; then there is neither."""
    beside, parent = folder.with_name(f"{folder.name}.zip"), folder.parent
    with _told(folder):
        os.makedirs(parent, exist_ok=True)
        # a folder of this process alone needs no turn; with its archive there are two names to put in place
        with turn_in(parent) if archive is not None else contextlib.nullcontext():
            if archive is not None:
                _put_right(parent)
            for path in (folder, *([beside] if archive is not None else ())):
                check_new(path)
            new = parent / f".{folder.name}.{os.getpid()}{HALF if archive is None else NEW}"
            try:
                _remove(new)
                _write_folder(new, files)
                steps = [_Step(folder.name, new.name, "")]
                _put_in_place(parent, steps if archive is None else [*steps, _neighbour(parent, beside.name, archive)])
            finally:
                if archive is not None:
                    _put_right(parent)
                _drop(new)


def remove_file(path: Path) -> None:
    """Take one file away; one that is gone already is no fault.  Raises FolderError."""
    with _told(path.parent):
        with contextlib.suppress(FileNotFoundError):
            os.unlink(path)


def tidy(folder: Path) -> None:
    """Put right what an interrupted run left in `folder`: a set half in place is taken back, neighbours are taken away.  Where a
    run is just putting a set in place, wait for it.  Raises FolderError when a half set cannot be taken back."""
    found = _left_in(folder)
    if not found:
        return
    is_half = any(path.name == NOTE for path in found)
    try:
        with turn_in(folder, PATIENCE_S if is_half else 0.0):
            _put_right(folder)
    except OSError as error:
        if is_half:  # mere neighbours may be another run's, or lie where nobody may write
            raise FolderError(f"{folder}: found a set of files half in place, left by an interrupted run, which cannot be taken "
                              f"back ({error.strerror or error}); expected a folder you may write to. Make it so and try "
                              "again.") from error


@contextlib.contextmanager
def _told(folder: Path) -> Iterator[None]:
    """What the system refuses, as a FolderError that says how the folder is now."""
    try:
        yield
    except FolderError:
        raise
    except OSError as error:
        is_half = (folder / NOTE).exists() or (folder.parent / NOTE).exists()
        now = "What was there before is put back by the next run here." if is_half else STANDS
        raise FolderError(f"{folder}: cannot be written ({error.strerror}); expected a folder you may write to, with room, whose "
                          f"files no other program holds. {now} Choose another place with --out, or try again.") from error


def _neighbour(folder: Path, name: str, contents: bytes) -> _Step:
    """The step of a file whose neighbour is now complete."""
    target = folder / name
    os.makedirs(target.parent, exist_ok=True)
    if target.is_dir():
        raise FolderError(f"{target}: found a folder of this name, expected a file. Remove it or choose another --out.")
    new = target.with_name(f".{target.name}{NEW}")
    _write(new, contents)
    return _Step(name, new.relative_to(folder).as_posix(), "")


def _write_folder(folder: Path, files: Mapping[str, bytes]) -> None:
    """A complete folder that nobody knows of yet."""
    os.mkdir(folder)
    for name, contents in files.items():
        os.makedirs((folder / name).parent, exist_ok=True)
        _write(folder / name, contents)
    for place in {(folder / name).parent for name in files}:
        _sync(place)
    os.chmod(folder, FOLDER_MODE)


def _put_in_place(folder: Path, steps: list[_Step]) -> None:
    """All steps, their neighbours being complete.  After a failure `_put_right` takes them back."""
    if len(steps) == 1:
        _make(folder, steps[0])
    elif steps:
        steps = [_set_aside(folder, step) for step in steps]
        note = folder / f".{NOTE}{NEW}"
        _write(note, json.dumps([astuple(step) for step in steps]).encode())
        os.replace(note, folder / NOTE)
        _sync(folder)
        for step in steps:
            _make(folder, step)
        for place in {(folder / step.name).parent for step in steps}:
            _sync(place)
        os.unlink(folder / NOTE)  # from here on the new set counts
    try:
        _sync((folder / steps[0].name).parent if len(steps) == 1 else folder)
    except OSError as error:
        raise FolderError(f"{folder}: the new files are in place, but the disk does not confirm it ({error.strerror}); expected "
                          "a disk that does. Look after the disk, then do this once more.") from error


def _make(folder: Path, step: _Step) -> None:
    if step.new:
        os.replace(folder / step.new, folder / step.name)
    else:
        os.unlink(folder / step.name)


def _set_aside(folder: Path, step: _Step) -> _Step:
    """The step with what stands in its place now kept under another name, without taking it away."""
    target = folder / step.name
    if not target.is_file():
        return step
    old = target.with_name(f".{target.name}{OLD}")
    try:
        os.link(target, old)
    except OSError:  # a file system without links: a copy of the same age
        told = target.stat()
        _write(old, target.read_bytes())
        os.utime(old, ns=(told.st_atime_ns, told.st_mtime_ns))
    return _Step(step.name, step.new, old.relative_to(folder).as_posix())


def _put_right(folder: Path, places: Iterable[Path] = ()) -> None:
    """Take back a set half in place, then take away every neighbour.  In the folder's turn."""
    note = folder / NOTE
    places = {folder, *places}
    if note.exists():
        steps = [_Step(*step) for step in json.loads(note.read_bytes())]
        for step in reversed(steps):
            _take_back(folder, step)
        places |= {(folder / step.name).parent for step in steps}
        for place in places:
            _sync(place)
        os.unlink(note)
    for place in places:
        for path in _left_in(place):
            _drop(path)


def _take_back(folder: Path, step: _Step) -> None:
    """Undo the step where it was made; it may have been undone already."""
    if step.new and (folder / step.new).exists():
        return  # not in place yet
    if step.old:
        if (folder / step.old).exists():
            os.replace(folder / step.old, folder / step.name)
    elif step.new and (folder / step.name).exists():
        os.replace(folder / step.name, folder / step.new)  # nothing stood there: a neighbour again


def _left_in(folder: Path) -> list[Path]:
    """Neighbours, what is set aside, and the note; nothing in a folder that is not there or may not be read."""
    try:
        with os.scandir(folder) as found:
            return sorted(Path(entry.path) for entry in found
                          if entry.name.startswith(".") and (entry.name == NOTE or entry.name.endswith((NEW, OLD))))
    except OSError:
        return []


def _write(path: Path, contents: bytes) -> None:
    """A complete file under a name that nobody reads, forced to the disk."""
    _remove(path)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), FILE_MODE)
    try:
        left = memoryview(contents)
        while left:
            left = left[os.write(handle, left):]
        os.fsync(handle)
    finally:
        os.close(handle)
    os.chmod(path, FILE_MODE)


def _remove(path: Path) -> None:
    """Take away a file or folder that may be gone already."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(path)


def _drop(path: Path) -> None:
    """Take away a neighbour where that can be done: one that is left over is read by nobody."""
    with contextlib.suppress(OSError):
        _remove(path)


def _sync(folder: Path) -> None:
    """Force the folder's own entries to the disk, where the system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:  # folders cannot be opened on every system
        return
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in NOT_FOR_FOLDERS:
            raise
    finally:
        os.close(handle)
