"""The lazy door to the solid kernel: a warm child process, started at the first request, with a time limit.

Importing this module costs nothing; the first request waits for the kernel to load (about 2 to 5 s).  A request that takes
too long or ends the child raises SolidError; the next request starts a fresh child.  Several pieces asked for together are
built by two children side by side, where the machine has two cores.
    with Workshop() as workshop:
        body = workshop.build(piece)
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
from types import TracebackType
from typing import Any

import afterpart
from afterpart.errors import SolidError
from afterpart.model.outline import Point
from afterpart.model.piece import Deboss, Piece, Step
from afterpart.solid.body import Body, Section, StepFacts

MESH_CHORD = 0.01
"""Largest distance of a written mesh from the body, mm: a twentieth of a usual layer."""

KEPT = 64
"""Bodies kept in memory; the oldest goes first."""


class Workshop:
    """A kernel process.  start_limit_s: for loading the kernel; request_limit_s: for one request."""

    def __init__(self, request_limit_s: float = 120.0, start_limit_s: float = 120.0) -> None:
        self._request_limit_s = request_limit_s
        self._start_limit_s = start_limit_s
        self._child: subprocess.Popen[bytes] | None = None
        self._answers: queue.Queue[tuple[str, Any] | None] = queue.Queue()
        self._built: dict[tuple[tuple[Step, ...], str, float, bool], Body] = {}
        self._mate: Workshop | None = None

    def build(self, piece: Piece, chord: float = MESH_CHORD, circumscribed: bool = False) -> Body:
        """Carry out the piece's steps; what was built before is answered from memory.

        chord: largest distance of the mesh from the body; circumscribed: round holes of the mesh drawn round their circle (the
        body and its STEP file stay as drawn).
        SolidError: see kernel.build; the text names the piece.
        """
        # All that the answer depends on: the words about a piece may change without a new body.
        key = (piece.steps, piece.file_stem, chord, circumscribed)
        if key not in self._built:
            body = self._ask("build", piece, chord, circumscribed, about=f"piece {piece.name!r} ({piece.file_stem})")
            while len(self._built) >= KEPT:
                self._built.pop(next(iter(self._built)))
            self._built[key] = body
        return self._built[key]

    def build_all(
        self, pieces: tuple[Piece, ...], chord: float = MESH_CHORD, circumscribed: bool = False
    ) -> tuple[Body, ...]:
        """The bodies of the pieces, in order.  SolidError: as build, for the first piece that fails."""
        left = [piece for piece in pieces if (piece.steps, piece.file_stem, chord, circumscribed) not in self._built]
        if len(left) > 1 and (os.cpu_count() or 1) > 1:
            self._build_side_by_side(left, chord, circumscribed)
        return tuple(self.build(piece, chord, circumscribed) for piece in pieces)

    def _build_side_by_side(self, pieces: list[Piece], chord: float, circumscribed: bool) -> None:
        """Build what two children can; each takes the next piece, the longest recipe first.  What fails is left to `build`, which
        says why."""
        self._mate = self._mate or Workshop(self._request_limit_s, self._start_limit_s)
        waiting: queue.SimpleQueue[Piece] = queue.SimpleQueue()
        for piece in sorted(pieces, key=_effort, reverse=True):
            waiting.put(piece)

        def work(at: Workshop) -> None:
            while True:
                try:
                    piece = waiting.get_nowait()
                    at.build(piece, chord, circumscribed)
                except queue.Empty:
                    return
                except (SolidError, AssertionError):
                    continue

        beside = threading.Thread(target=work, args=(self._mate,))
        beside.start()
        work(self)
        beside.join()
        self._built |= self._mate._built

    def read_step(self, data: bytes, validate: bool = True) -> StepFacts:
        """What a STEP file holds; validate: also check every face.  SolidError: not readable."""
        return self._ask("read_step", data, validate)

    def section_area(self, data: bytes, z: float) -> float:
        """Area in mm2 of the section at height z of a STEP file's body.  SolidError: not readable."""
        return self._ask("section_area", data, z)

    def profile(self, body: bytes | Piece, point: Point, direction_deg: float) -> Section:
        """The upright cut through `point` (x, y) in that direction from x, of a STEP file's body or of a piece as its STEP file
        has it.  SolidError: not readable, or the piece cannot be built."""
        data = self.build(body).step if isinstance(body, Piece) else body
        return self._ask("profile", data, point, direction_deg)

    def close(self) -> None:
        """End the child, or both.  May be called twice."""
        self._end_child()
        if self._mate is not None:
            self._mate.close()
            self._mate = None

    def _end_child(self) -> None:
        if self._child is not None:
            self._child.kill()
            self._child.wait()
            for pipe in (self._child.stdin, self._child.stdout):
                if pipe is not None:
                    pipe.close()
            self._child = None

    def __enter__(self) -> Workshop:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def _ask(self, verb: str, *arguments: Any, about: str = "") -> Any:
        child = self._running_child()
        data = pickle.dumps((verb, arguments))
        task = f"{verb} {about}".rstrip()
        assert child.stdin is not None
        try:
            child.stdin.write(struct.pack("<Q", len(data)) + data)
            child.stdin.flush()
        except OSError as error:
            self._end_child()
            raise SolidError(f"the solid kernel's process ended before the request to {task}: {error}; try again") from error
        kind, value = self._answer(self._request_limit_s, task)
        if kind == "refused":
            raise SolidError(value)
        if kind == "bug":
            raise AssertionError(f"the kernel's process reports a bug in {verb!r}:\n{value}")
        return value

    def _running_child(self) -> subprocess.Popen[bytes]:
        if self._child is None or self._child.poll() is not None:
            self._end_child()
            source = str(Path(afterpart.__file__).parents[1])
            path = os.pathsep.join(p for p in (source, os.environ.get("PYTHONPATH", "")) if p)
            self._answers = queue.Queue()
            self._child = subprocess.Popen(
                [sys.executable, "-m", "afterpart.solid.child"],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env={**os.environ, "PYTHONPATH": path},
            )
            # A thread reads, so that waiting can have a limit on every system (pipes cannot be polled on all of them).
            threading.Thread(target=_read_answers, args=(self._child, self._answers), daemon=True).start()
            self._answer(self._start_limit_s, "starting")
        return self._child

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
                f"the solid kernel's process ended during {task}: a shape it cannot handle, or it is not installed "
                "(its OCP package); correct tiny or crossing segments in the drawing, then try again"
            )
        return answer


def _effort(piece: Piece) -> int:
    """Letters and bodies to cut: what takes the time."""
    return sum(sum(len(text.text) for text in step.texts) if isinstance(step, Deboss) else 1 for step in piece.steps)


def _read_answers(child: subprocess.Popen[bytes], answers: queue.Queue[tuple[str, Any] | None]) -> None:
    stream = child.stdout
    assert stream is not None
    try:
        while len(head := stream.read(8)) == 8:
            answers.put(pickle.loads(stream.read(struct.unpack("<Q", head)[0])))
    except (OSError, ValueError, EOFError, pickle.UnpicklingError):
        pass  # a killed child leaves half a message; the end is reported below either way
    answers.put(None)
