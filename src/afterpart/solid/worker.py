"""Bodies of pieces from warm kernel processes, kept in memory, and built ahead of being asked for.

Importing this module costs nothing; the first request waits for the kernel to load (kernel_process.py).  Several pieces begun
together are built by two processes side by side, where the machine has two cores.
    with Workshop() as workshop:
        workshop.begin(pieces)
        body = workshop.build(pieces[0])
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from types import TracebackType
from typing import Any

from afterpart.model.outline import Point
from afterpart.model.piece import Piece, Step
from afterpart.solid.body import Body, Section, StepFacts
from afterpart.solid.kernel_process import KernelProcess
from afterpart.solid.recipe import effort, recipe_of, stems

MESH_CHORD = 0.01
"""Largest distance of a written mesh from the body, mm: a twentieth of a usual layer."""

KEPT = 64
"""Bodies kept in memory; the oldest goes first."""

_Key = tuple[tuple[Step, ...], str, float, bool]
"""All that a body depends on: the words about a piece may change without a new one."""

_Begun = tuple[Future[tuple[Body, ...]], int]
"""Bodies on their way, and which of them it is."""


class Workshop:
    """One kernel process, and a second one when there is work for two.  start_limit_s: for loading the kernel; request_limit_s:
    for one request."""

    def __init__(self, request_limit_s: float = 300.0, start_limit_s: float = 120.0) -> None:
        self._limits = (request_limit_s, start_limit_s)
        self._processes = [KernelProcess(*self._limits)]
        self._crew: ThreadPoolExecutor | None = None
        self._built: dict[_Key, Body] = {}
        self._begun: dict[_Key, _Begun] = {}

    def start(self) -> None:
        """Load the kernel in the background, so that it is there when the first pieces are."""
        crew = self._hired()
        for process in self._processes:
            if process.take():
                crew.submit(process.start)

    def begin(self, pieces: tuple[Piece, ...], chord: float = MESH_CHORD, circumscribed: bool = False) -> None:
        """Build these in the background, those that take longest first, those of one recipe together; `build` then waits for what
        is on its way.  What fails is told by `build`.  For one piece alone only where a second process runs already; the first
        stays free for other requests."""
        left = [piece for piece in pieces if (key := _key(piece, chord, circumscribed)) not in self._built
                and key not in self._begun]
        if (os.cpu_count() or 1) < 2 or len(left) + len(self._processes) < 3:
            return
        crew = self._hired()
        groups = sorted(_alike(left), key=lambda alike: effort(alike[0].steps), reverse=True)
        shared = stems([recipe_of(alike[0].steps) for alike in groups])
        for (piece, *others), stem in zip(groups, shared, strict=True):
            labels = tuple(dict.fromkeys(one.file_stem for one in (piece, *others)))
            future = crew.submit(self._ask_bodies, piece, labels, chord, circumscribed, stem)
            self._begun |= {(piece.steps, label, chord, circumscribed): (future, place) for place, label in enumerate(labels)}

    def build(self, piece: Piece, chord: float = MESH_CHORD, circumscribed: bool = False) -> Body:
        """Carry out the piece's steps; what was built before is answered from memory.

        chord: largest distance of the mesh from the body; circumscribed: round holes of the mesh drawn round their circle (the
        body and its STEP file stay as drawn).
        SolidError: see kernel.build; the text names the piece.
        """
        key = _key(piece, chord, circumscribed)
        if key not in self._built:
            begun = self._begun.pop(key, None)
            self._keep(key, self._ask_body(piece, chord, circumscribed) if begun is None else begun[0].result()[begun[1]])
        return self._built[key]

    def build_all(
        self, pieces: tuple[Piece, ...], chord: float = MESH_CHORD, circumscribed: bool = False
    ) -> tuple[Body, ...]:
        """The bodies of the pieces, in order.  SolidError: as build, for the first piece that fails."""
        self.begin(pieces, chord, circumscribed)
        return tuple(self.build(piece, chord, circumscribed) for piece in pieces)

    def as_built(self, pieces: tuple[Piece, ...], chord: float = MESH_CHORD, circumscribed: bool = False) -> Iterator[int]:
        """Numbers of the pieces in the order in which their bodies are there.  SolidError: as build_all."""
        self.begin(pieces, chord, circumscribed)
        places: dict[Future[tuple[Body, ...]], list[int]] = {}
        for place, piece in enumerate(pieces):
            begun = self._begun.get(_key(piece, chord, circumscribed))
            if begun is None:
                yield place
            else:
                places.setdefault(begun[0], []).append(place)
        for future in as_completed(places):
            if future.exception() is not None:
                self.build_all(pieces, chord, circumscribed)
            yield from places[future]

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
        """End the processes, even at work.  May be called twice."""
        crew, self._crew = self._crew, None
        if crew is not None:
            crew.shutdown(wait=False, cancel_futures=True)
        for process in self._processes:
            process.end()
        if crew is not None:
            crew.shutdown(wait=True)
        self._begun.clear()
        self._processes = [KernelProcess(*self._limits)]

    def __enter__(self) -> Workshop:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.close()

    def _hired(self) -> ThreadPoolExecutor:
        """A thread for each process, of which there are two where the machine has two cores."""
        if self._crew is None:
            if (os.cpu_count() or 1) > 1:
                self._processes.append(KernelProcess(*self._limits))
            self._crew = ThreadPoolExecutor(len(self._processes))
        return self._crew

    def _ask_body(self, piece: Piece, chord: float, circumscribed: bool) -> Body:
        return self._ask_bodies(piece, (piece.file_stem,), chord, circumscribed)[0]

    def _ask_bodies(self, piece: Piece, labels: tuple[str, ...], chord: float, circumscribed: bool,
                    stem: int = 0) -> tuple[Body, ...]:
        found: tuple[Body, ...] = self._ask("build", piece, labels, chord, circumscribed, stem,
                                            about=f"piece {piece.name!r} ({piece.file_stem})")
        return found

    def _ask(self, verb: str, *arguments: Any, about: str = "") -> Any:
        """Asked of a process that is free; where none is, of the first."""
        process = next((one for one in self._processes if one.take()), None)
        if process is None:
            process = self._processes[0]
            process.take(wait=True)
        return process.ask(verb, *arguments, about=about)

    def _keep(self, key: _Key, body: Body) -> None:
        while len(self._built) >= KEPT:
            self._built.pop(next(iter(self._built)))
        self._built[key] = body


def _key(piece: Piece, chord: float, circumscribed: bool) -> _Key:
    return (piece.steps, piece.file_stem, chord, circumscribed)


def _alike(pieces: list[Piece]) -> list[list[Piece]]:
    """Pieces of the same steps together: their body is made once."""
    groups: dict[tuple[Step, ...], list[Piece]] = {}
    for piece in pieces:
        groups.setdefault(piece.steps, []).append(piece)
    return list(groups.values())

