"""Long work in a child process that is warm before it is needed: progress as it is said, and an end to it at any time.

Words: a *task* is one piece of work with a number of its own; *settling* brings a measurement's files up to an outline that was
already solved and shown, and is never shown itself.  One task runs at a time.
A task that is stopped takes its process, and with it the solid kernel's, to an end; a new one is started at once.  While files
are being put in place the end waits, so that none is left half-written.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import itertools
import json
import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import afterpart
from afterpart.errors import FolderError
from afterpart.files import tidy

Told = Callable[[str, dict[str, Any]], None]
"""Called with an event's name (said, done, failed) and what it says; from a thread."""

BUG = "Something went wrong in afterpart itself, not in your input."
BUG_WAY_OUT = "Nothing was changed by it. Please report the lines in the window where afterpart was started."
SETTLED = "settled"
"""The event that no page hears."""


class BusyError(Exception):
    """Another task is running."""


@dataclass(frozen=True)
class Running:
    """A task that is being done.  since: on the stopwatch, s; is_shown: settling is not."""

    id: str
    what: str
    folder: Path
    since: float
    said: tuple[str, ...] = ()
    is_shown: bool = True
    more: dict[str, Any] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """As the page takes it; started: how many seconds ago."""
        return {"id": self.id, "what": self.what, "said": list(self.said), "started": round(time.monotonic() - self.since, 1)}


class Work:
    """The child process and what it is doing.  told: hears every event."""

    def __init__(self, told: Told) -> None:
        self._told = told
        self._lock = threading.Condition()
        self._ids = itertools.count(1)
        self._child: subprocess.Popen[str] | None = None
        self._running: Running | None = None
        self._wanted: tuple[str, Path] | None = None
        self._writes = self._stopping = self._closed = self._is_warm = False

    @property
    def running(self) -> Running | None:
        """The task that is shown as being done; None when there is none."""
        running = self._running
        return running if running is not None and running.is_shown else None

    def start(self) -> None:
        """Have a process ready."""
        with self._lock:
            self._live_child()

    def begin(self, what: str, folder: Path, more: dict[str, Any] | None = None) -> str:
        """Begin a task; its number.  Raises BusyError while another one that is shown is running."""
        with self._lock:
            if self.running is not None:
                raise BusyError
            # settling is cut short: every task does it first
            if self._running is not None:
                self._lock.wait_for(lambda: self._running is None or self.running is not None, timeout=60.0)
            if self._running is not None:
                raise BusyError
            return self._send(what, folder, True, more or {})

    def settle(self, folder: Path) -> None:
        """Bring the files of a measurement up to its job when nothing else is being done; the last wish counts."""
        self._wish("settle", folder)

    def measure_next(self, folder: Path) -> None:
        """Measure once settling has ended, which nobody waits for; while a task that is shown is running, nothing is wished for:
        it measures first, or the maker measures when it has ended."""
        with self._lock:
            if self.running is None:
                self._wish("measure", folder)

    def _wish(self, what: str, folder: Path) -> None:
        with self._lock:
            if self._wanted != ("measure", folder):  # measuring settles, too
                self._wanted = what, folder
            if self._running is None:
                self._send_wanted()

    def wait(self, timeout_s: float = 120.0) -> bool:
        """Wait until nothing is being done or wished for; True when that is so."""
        with self._lock:
            return self._lock.wait_for(lambda: self._running is None and self._wanted is None, timeout_s)

    def cancel(self, task: str) -> bool:
        """Stop this task; False when it is not running.  Returns once it has ended."""
        with self._lock:
            if self._running is None or self._running.id != task:
                return False
            self._stopping = True
            if not self._writes:
                self._kill()
            self._lock.wait_for(lambda: self._running is None or self._running.id != task, timeout=120.0)
            return True

    def close(self) -> None:
        """End the process."""
        with self._lock:
            self._closed, self._wanted = True, None
            if self._writes:
                self._lock.wait_for(lambda: not self._writes, timeout=60.0)
            self._kill()
            self._lock.wait_for(lambda: self._child is None, timeout=10.0)

    def _send_wanted(self) -> None:
        wanted, self._wanted = self._wanted, None
        if wanted is not None and not self._closed:
            what, folder = wanted
            self._send(what, folder, what != "settle", {})

    def _send(self, what: str, folder: Path, is_shown: bool, more: dict[str, Any]) -> str:
        task = str(next(self._ids))
        self._running = Running(task, what, folder, time.monotonic(), (), is_shown, more)
        self._writes = self._stopping = False
        self._line({"id": task, "what": what, "folder": str(folder), **more})
        return task

    def _line(self, message: dict[str, Any]) -> None:
        child = self._live_child()
        assert child.stdin is not None
        try:
            child.stdin.write(json.dumps(message) + "\n")
            child.stdin.flush()
        except OSError:
            self._kill()  # its end is told by the thread that reads from it

    def _live_child(self) -> subprocess.Popen[str]:
        if self._child is None:
            source = str(Path(afterpart.__file__).parents[1])
            path = os.pathsep.join(p for p in (source, os.environ.get("PYTHONPATH", "")) if p)
            self._child = subprocess.Popen([sys.executable, "-m", "afterpart.web.child"], stdin=subprocess.PIPE,
                                           stdout=subprocess.PIPE, encoding="utf-8", env={**os.environ, "PYTHONPATH": path})
            self._is_warm = False
            threading.Thread(target=self._listen, args=(self._child,), daemon=True).start()
        return self._child

    def _kill(self) -> None:
        if self._child is not None:
            self._child.kill()

    def _listen(self, child: subprocess.Popen[str]) -> None:
        assert child.stdout is not None
        for line in child.stdout:
            self._hear(json.loads(line))
        child.wait()
        for pipe in (child.stdin, child.stdout):
            if pipe is not None:
                pipe.close()
        self._ended()

    def _hear(self, message: dict[str, Any]) -> None:
        """One line of the child."""
        with self._lock:
            self._is_warm = True
            running = self._running
            if running is None or message.get("id") != running.id:
                return
            self._writes = False
            if "said" in message:
                if self._stopping:
                    self._kill()
                    return
                self._running = running = replace(running, said=(*running.said, message["said"]))
                event = ("said", {"id": running.id, "text": message["said"]})
            elif "writes" in message:
                if self._stopping:
                    self._kill()
                    return
                self._writes = True
                self._line({"go": True})
                return
            else:
                event = _end_of(running, message)
                self._finish()
        self._tell(running, *event)

    def _tell(self, running: Running, kind: str, what: dict[str, Any]) -> None:
        """An event of a task that is shown; the end of settling is told as a change of the sheet alone."""
        if running.is_shown:
            self._told(kind, what)
        elif kind != "said":
            self._told(SETTLED, {})

    def _finish(self) -> None:
        self._running, self._stopping = None, False
        if self._wanted is not None:
            self._send_wanted()
        self._lock.notify_all()

    def _ended(self) -> None:
        """The child has ended: stopped, or by a bug.  A new one is made ready."""
        with self._lock:
            running, was_stopped = self._running, self._stopping
            self._child, self._writes = None, False
            if running is not None:
                for folder in (running.folder, *(Path(name) for name in running.more.get("folders", ()))):
                    _sweep(folder)
            self._running, self._stopping = None, False
            if not self._closed and self._is_warm:  # one that ended before it was ready would only end again
                self._live_child()
                self._send_wanted()
            self._lock.notify_all()
        if running is not None and not self._closed:
            said = {"message": "", "way_out": ""} if was_stopped else {"message": BUG, "way_out": BUG_WAY_OUT}
            self._tell(running, "failed", {"id": running.id, "what": running.what, "stopped": was_stopped, **said})


def _end_of(running: Running, message: dict[str, Any]) -> tuple[str, dict[str, Any]]:
    told: dict[str, Any] = {"id": running.id, "what": running.what}
    if "done" in message:
        return "done", {**told, "result": message["done"]}
    complaints = message["refused"]
    return "failed", {**told, "stopped": False, **complaints[0], "complaints": complaints}


def _sweep(folder: Path) -> None:
    """Put right what a stopped task may have left."""
    for place in (folder, folder / "pieces", folder / "plate", folder / "release", folder / "mate"):
        with contextlib.suppress(FolderError):  # told by the next task, which tries again
            tidy(place)
