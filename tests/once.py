"""What is made once a test run, however many processes share it: folders and things by name, bodies of pieces by their content.

Words: the *run's folder* is pytest's own for this run, shared by its worker processes; a file lock in it lets one make a thing
while the others wait for it.  Limits: where the system has no such locks (fcntl), each process makes its own.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import hashlib
import os
import pickle
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeVar

import pytest

from afterpart.model.piece import Piece
from afterpart.solid.body import Body
from afterpart.solid.worker import Workshop

try:
    import fcntl
except ImportError:  # not a POSIX system
    fcntl = None  # type: ignore[assignment]


THINGS = "AFTERPART_TESTS_THINGS"
"""Names the folder for `computed_once`: set by tests/conftest.py, inherited by the processes of the run."""

T = TypeVar("T")


def run_folder(factory: pytest.TempPathFactory) -> Path:
    """The run's folder."""
    base = factory.getbasetemp()
    shared = base.parent if "PYTEST_XDIST_WORKER" in os.environ and fcntl is not None else base
    folder = shared / "once"
    folder.mkdir(exist_ok=True)
    return folder


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """The folder of this name, filled by make(folder) by the first that asks.  All others read it: copy it to change it."""
    kept = run_folder(factory) / name
    with locked(kept.with_name(f"{name}.lock")):
        if not kept.exists():
            partly = kept.with_name(f"{name}.part")
            shutil.rmtree(partly, ignore_errors=True)
            make(partly)
            partly.rename(kept)
    return kept


def computed_once(name: str, compute: Callable[[], T]) -> T:
    """The thing of this name, computed by the first process of the run that asks; the others read it (a pickle, so that each has
    its own).  Outside a run of pytest it is computed."""
    folder = os.environ.get(THINGS)
    if folder is None:
        return compute()
    kept = Path(folder) / f"{name}.pickle"
    with locked(kept.with_suffix(".lock")):
        if kept.exists():
            return pickle.loads(kept.read_bytes())
        thing = compute()
        kept.write_bytes(pickle.dumps(thing))
        return thing


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Alone with what this lock file stands for."""
    with path.open("a") as held:
        if fcntl is not None:
            fcntl.flock(held, fcntl.LOCK_EX)
        yield


class SharedWorkshop(Workshop):
    """Builds each piece once a run: what another process has built is read from the folder.  Refusals are not kept.

    A body handed on is the one that was built, bytes and mesh; tests of the kernel itself ask a Workshop of their own."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self._folder = folder

    def begin(self, pieces: tuple[Piece, ...], chord: float = 0.0, circumscribed: bool = False) -> None:
        """Nothing ahead: most of it lies there already."""

    def _ask_body(self, piece: Piece, chord: float, circumscribed: bool) -> Body:
        # by its text: a pickle of equal pieces may differ
        name = hashlib.sha256(repr((piece.steps, piece.file_stem, chord, circumscribed)).encode()).hexdigest()
        kept = self._folder / f"{name}.body"
        with locked(self._folder / f"{name}.lock"):
            if kept.exists():
                return pickle.loads(kept.read_bytes())
            body = super()._ask_body(piece, chord, circumscribed)
            partly = kept.with_suffix(".part")
            partly.write_bytes(pickle.dumps(body))
            partly.rename(kept)
        return body
