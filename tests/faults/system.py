"""Stands in for the system calls of the one room that writes, and lets one of them fail, or the process end there.

Words: a *call* is one request that changes the disk (open for writing, write, fsync, link, replace, unlink, folders, modes);
calls are counted from 1.  One that does not fail is carried out, fsync aside: no power is cut here, and disks are slow.
The seam is `afterpart.files.os`: nobody else writes (tests/house/test_writing.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import errno
import itertools
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from afterpart import files
from afterpart.errors import FolderError
from afterpart.lock import LOCK_FILE

CHANGING = {"open", "write", "fsync", "close", "link", "replace", "rename", "unlink", "rmdir", "mkdir", "makedirs", "chmod",
            "utime"}


class System:
    """The module `os`, counting.  failing: the call that fails, once (None: none); code: with this error; fatal: it ends the
    process instead, as a power cut would; lasting: from there on every call of this name fails, and no other."""

    def __init__(self, failing: int | None, code: int = errno.ENOSPC, fatal: bool = False, lasting: str = "") -> None:
        self.failing, self.code, self.fatal, self.lasting = failing, code, fatal, lasting
        self.calls: list[str] = []

    def __getattr__(self, name: str) -> Any:
        real = getattr(os, name)
        return real if name not in CHANGING else self._counted(name, real)

    def _counted(self, name: str, real: Any) -> Any:
        def call(*given: Any, **named: Any) -> Any:
            self.calls.append(name)
            is_late = self.failing is not None and len(self.calls) >= self.failing
            if not (is_late and name == self.lasting) and not (len(self.calls) == self.failing and not self.lasting):
                return None if name == "fsync" else real(*given, **named)
            if name == "write":
                real(given[0], bytes(given[1])[:len(given[1]) // 2])  # half of it gets there
            if self.fatal:
                os.kill(os.getpid(), signal.SIGKILL)
            if name == "close":
                real(*given)
            raise OSError(self.code, os.strerror(self.code))
        return call


@contextmanager
def failing_at(number: int | None, code: int = errno.ENOSPC, fatal: bool = False, lasting: str = "") -> Iterator[System]:
    """Within it, this call of the room that writes fails."""
    system = System(number, code, fatal, lasting)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(files, "os", system)
        yield system


def every_failure(change: Callable[[Path], None], code: int,
                  fresh: Callable[[int], Path]) -> Iterator[tuple[int, Path, str, str]]:
    """Each call of a change made to fail once, in a fresh folder each time, until one is asked for that the change never makes:
    the call's number, the folder after it, what the change said ("" where it went on), and the call's name."""
    for number in itertools.count(1):
        folder, said = fresh(number), ""
        with failing_at(number, code) as system:
            try:
                change(folder)
            except FolderError as error:
                said = str(error)
        if number > len(system.calls):
            return
        yield number, folder, said, system.calls[number - 1]


def contents(folder: Path) -> dict[str, bytes]:
    """Every file that somebody could take for a result: path -> bytes.  Hidden neighbours are looked for by `hidden`."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*"))
            if path.is_file() and not any(part.startswith(".") for part in path.relative_to(folder).parts)}


def hidden(folder: Path) -> list[str]:
    """What lies there under hidden names, the lock aside."""
    return [path.relative_to(folder).as_posix() for path in sorted(folder.rglob(".*")) if path.name != LOCK_FILE]
