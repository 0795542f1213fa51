"""Writes a set of finished files to a folder, whole or not at all.

Each file is written to a temporary neighbour, forced to the disk and then put in place in one step, so a reader never sees half
a file, and a run that fails before writing leaves the folder as it was.
A *new folder* is written beside its place under another name and renamed, so that it appears whole or not at all.
Limits: `write_files` puts the set in place file by file; a power cut in the middle may leave some old and some new ones, each of
them whole.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from afterpart.errors import FolderError

FILE_MODE, FOLDER_MODE = 0o644, 0o755
NO_FILE = "no file"
"""Stands where a link or a device is found instead of a file."""


def check_folder(folder: Path) -> None:
    """Raise FolderError now when `folder` could not be made or written to later; nothing is created."""
    nearest = folder
    while not nearest.exists() and nearest != nearest.parent:
        nearest = nearest.parent
    if not nearest.is_dir():
        raise FolderError(f"{folder}: found a file at {nearest}, expected a folder. Choose another place with --out.")
    if not os.access(nearest, os.W_OK | os.X_OK):
        raise FolderError(f"{folder}: found {nearest} closed for writing, expected a folder you may write to. "
                          "Choose another place with --out.")


def write_files(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write every file (name relative to `folder` -> contents).  Raises FolderError when the folder cannot take them.

    All temporary neighbours are complete before the first one is put in place.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for name, contents in files.items():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            if target.is_dir():
                raise FolderError(f"{target}: found a folder of this name, expected a file. Remove it or choose another --out.")
            waiting.append((_write_neighbour(target, contents), target))
        for temporary, target in waiting:
            os.replace(temporary, target)
        for parent in {target.parent for _, target in waiting}:
            _sync(parent)
    except OSError as error:
        if isinstance(error, FolderError):
            raise
        raise FolderError(f"{folder}: cannot be written ({error.strerror}); expected a folder you may write to, with room. "
                          "Choose another place with --out.") from error
    finally:
        for temporary, _ in waiting:
            temporary.unlink(missing_ok=True)


def check_new(path: Path) -> None:
    """Raise FolderError when something of this name is there already; what was released is never overwritten."""
    if path.exists() or path.is_symlink():
        raise FolderError(f"{path}: found a release of this name and revision already, expected none: what was given to others "
                          "is never overwritten. Raise revision in the job file, or choose another place with --out.")


def write_new_folder(folder: Path, files: Mapping[str, bytes], archive: bytes | None = None) -> None:
    """Write every file into a folder that must not be there yet, whole or not at all; archive: put beside it as FOLDER.zip.

    Raises FolderError when the folder or the archive is there already, or cannot be written.
    """
    beside = folder.with_name(f"{folder.name}.zip")
    for path in (folder, *([beside] if archive is not None else ())):
        check_new(path)
    temporary: Path | None = None
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        temporary = Path(tempfile.mkdtemp(prefix=f".{folder.name}.", suffix=".part", dir=folder.parent))
        write_files(temporary, files)
        temporary.chmod(FOLDER_MODE)
        waiting = None if archive is None else _write_neighbour(beside, archive)
        try:
            os.rename(temporary, folder)
            if waiting is not None:
                os.replace(waiting, beside)
        finally:
            if waiting is not None:
                waiting.unlink(missing_ok=True)
        _sync(folder.parent)
    except OSError as error:
        if isinstance(error, FolderError):
            raise
        raise FolderError(f"{folder}: cannot be written ({error.strerror}); expected a place you may write to, with room, and no "
                          "folder of this name. Choose another place with --out.") from error
    finally:
        if temporary is not None and temporary.exists():
            shutil.rmtree(temporary, ignore_errors=True)


def digests_in(folder: Path) -> dict[str, str]:
    """Path (with /, relative) -> SHA-256 of every file under `folder`; of what is no plain file, that it is none.

    Raises FolderError when the folder or a file in it cannot be read."""
    if not folder.is_dir():
        raise FolderError(f"{folder}: found no such folder, expected a release. Check the name; unpack a zip first.")
    found = {}
    try:
        for path in sorted(folder.rglob("*")):
            name = path.relative_to(folder).as_posix()
            if path.is_symlink() or not (path.is_dir() or path.is_file()):
                found[name] = NO_FILE
            elif path.is_file():
                found[name] = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise FolderError(f"{folder}: cannot be read ({error.strerror}: {error.filename}); expected a folder you may read. "
                          "Check its permissions.") from error
    return found


def _write_neighbour(target: Path, contents: bytes) -> Path:
    """A complete temporary file in the folder of `target`; removed again when writing it fails."""
    handle, name = tempfile.mkstemp(prefix=f".{target.name}.", suffix=".part", dir=target.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(contents)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.chmod(FILE_MODE)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _sync(folder: Path) -> None:
    """Force the folder's own entries to the disk, where the system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
