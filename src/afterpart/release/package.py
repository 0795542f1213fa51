"""Writes a set of finished files to a folder, whole or not at all.

Each file is written to a temporary neighbour, forced to the disk and then put in place in one step, so a reader never sees half
a file, and a run that fails before writing leaves the folder as it was.
Limits: the set is put in place file by file; a power cut in the middle may leave some old and some new ones, each of them whole.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from afterpart.errors import FolderError

FILE_MODE = 0o644


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
