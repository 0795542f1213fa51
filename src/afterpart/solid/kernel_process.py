"""One kernel process, started at the first request, with a time limit: the lazy door to the solid kernel.

Importing this module costs nothing; the first request waits for the kernel to load (about 2 s).  A request that takes too long or
ends the child raises SolidError; the next request starts a fresh child.  Requests from several threads take turns.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import pickle
import queue
import struct
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import afterpart
from afterpart.errors import SolidError


def start_child() -> subprocess.Popen[bytes]:
    """The process in which the kernel lives (child.py), about to load it."""
    source = str(Path(afterpart.__file__).parents[1])
    path = os.pathsep.join(p for p in (source, os.environ.get("PYTHONPATH", "")) if p)
    return subprocess.Popen(
        [sys.executable, "-m", "afterpart.solid.child"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": path},
    )


class KernelProcess:
    """start_limit_s: for loading the kernel; request_limit_s: for one request."""

    def __init__(self, request_limit_s: float, start_limit_s: float) -> None:
        self._request_limit_s = request_limit_s
        self._start_limit_s = start_limit_s
        self._child: subprocess.Popen[bytes] | None = None
        self._answers: queue.Queue[tuple[str, Any] | None] = queue.Queue()
        self._turn = threading.Lock()
        self._is_ended = False

    def take(self, wait: bool = False) -> bool:
        """Take the process for one `ask`; False where it is taken and there is to be no waiting."""
        return self._turn.acquire(blocking=wait)

    def start(self) -> None:
        """Load the kernel, after `take`; gives the process back.  What fails is told by the next `ask`."""
        try:
            self._running_child()
        except SolidError:
            self._end_child()
        finally:
            self._turn.release()

    def ask(self, verb: str, *arguments: Any, about: str = "") -> Any:
        """The answer of bench.py to this request, after `take`; gives the process back.  about: what it is for, in the words of a
        refusal.

        SolidError: refused, too long, or the child ended.  AssertionError: a bug in the child."""
        try:
            return self._asked(verb, arguments, f"{verb} {about}".rstrip())
        finally:
            self._turn.release()

    def end(self) -> None:
        """End the child for good, even at work.  May be called twice."""
        self._is_ended = True
        self._end_child()

    def _end_child(self) -> None:
        child, self._child = self._child, None
        if child is not None:
            child.kill()
            child.wait()
            for pipe in (child.stdin, child.stdout):
                if pipe is not None:
                    pipe.close()

    def _asked(self, verb: str, arguments: tuple[Any, ...], task: str) -> Any:
        child = self._running_child()
        data = pickle.dumps((verb, arguments))
        assert child.stdin is not None
        try:
            child.stdin.write(struct.pack("<Q", len(data)) + data)
            child.stdin.flush()
        except (OSError, ValueError) as error:  # ValueError: the pipe was closed by `end` meanwhile
            self._end_child()
            raise SolidError(f"the solid kernel's process ended before the request to {task}: {error}; try again") from error
        kind, value = self._answer(self._request_limit_s, task)
        if kind == "refused":
            raise SolidError(value)
        if kind == "bug":
            raise AssertionError(f"the kernel's process reports a bug in {verb!r}:\n{value}")
        return value

    def _running_child(self) -> subprocess.Popen[bytes]:
        child = self._child
        if child is None or child.poll() is not None:
            self._end_child()
            self._answers = queue.Queue()
            self._child = child = start_child()
            # A thread reads, so that waiting can have a limit on every system (pipes cannot be polled on all of them).
            threading.Thread(target=_read_answers, args=(child, self._answers), daemon=True).start()
            kind, value = self._answer(self._start_limit_s, "starting")
            if kind == "refused":
                self._end_child()
                raise SolidError(value)
        if self._is_ended:
            self._end_child()
            raise SolidError("the solid kernel's process was ended; begin again with a new one")
        return child

    def _answer(self, limit_s: float, task: str) -> tuple[str, Any]:
        try:
            answer = self._answers.get(timeout=limit_s)
        except queue.Empty:
            self._end_child()
            raise SolidError(
                f"the solid kernel did not finish {task} within {limit_s:g} s; simplify the drawing or try again"
            ) from None
        if answer is None:
            self._end_child()
            raise SolidError(
                f"the solid kernel's process ended during {task}: a shape it cannot handle; "
                "correct tiny or crossing segments in the drawing, then try again"
            )
        return answer


def _read_answers(child: subprocess.Popen[bytes], answers: queue.Queue[tuple[str, Any] | None]) -> None:
    stream = child.stdout
    assert stream is not None
    try:
        while len(head := stream.read(8)) == 8:
            answers.put(pickle.loads(stream.read(struct.unpack("<Q", head)[0])))
    except (OSError, ValueError, EOFError, pickle.UnpicklingError):
        pass  # a killed child leaves half a message; the end is reported below either way
    answers.put(None)
