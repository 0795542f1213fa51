"""One writer at a time in a folder, whatever programs run on it.

Words: a *turn* is the time in which one program alone may look at a file and replace it; whoever comes meanwhile waits.  The turn
is a lock of the operating system on a small file beside, so that it ends with the program that holds it, however that ends: no
turn is left over after a crash, none has to be guessed stale.  The lock is asked for through the standard library's database,
which knows how each system locks a file; the file holds nothing.
Limits: a turn is no use on a file system that knows no locks (some network shares): there it is granted to everybody.  An editor
knows nothing of turns: what it wrote is noticed when the turn begins, not prevented.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path

from afterpart.errors import FolderError

LOCK_FILE = ".job.lock"
PATIENCE_S = 20.0
"""How long to wait for a turn; a turn itself takes milliseconds, on a slow disk a second."""


@contextlib.contextmanager
def turn_in(folder: Path, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """Alone with the files of this folder until the end of the `with` block.  It is not re-entrant.

    Raises FolderError when another program does not end its turn in time, or the folder cannot be written."""
    path = folder / LOCK_FILE
    try:
        held = sqlite3.connect(path, timeout=patience_s, isolation_level=None)
    except sqlite3.OperationalError as error:
        raise _closed(folder, error) from error
    try:
        _take(held, path, patience_s)
        yield
    finally:
        held.close()  # gives the lock back


def _take(held: sqlite3.Connection, path: Path, patience_s: float) -> None:
    """Wait for the lock."""
    try:
        held.execute("PRAGMA journal_mode = MEMORY")  # no second file
        held.execute("BEGIN EXCLUSIVE")
    except sqlite3.OperationalError as error:
        code = error.sqlite_errorcode & 0xFF
        if code == sqlite3.SQLITE_BUSY:
            raise FolderError(f"{path.parent}: another program has been writing for {patience_s:.0f} s; expected a turn. "
                              "Nothing was written here. Try again, or end the other program.") from error
        if code in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_FULL):
            raise _closed(path.parent, error) from error
        # anything else: the file system knows no locks
    except sqlite3.DatabaseError as error:
        raise FolderError(f"{path}: found a file of something else, expected the empty file that keeps two programs apart. "
                          "Take it away.") from error


def _closed(folder: Path, error: Exception) -> FolderError:
    return FolderError(f"{folder}: cannot be written ({error}); expected a folder you may write to, with room. "
                       "Check its permissions and the disk.")
