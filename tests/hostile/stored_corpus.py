"""Small stored files of every kind as the program writes them, and the ways in which they are damaged; the same on every run."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from afterpart.model import store
from afterpart.model.assembly import Build
from afterpart.model.edges import EdgeMap, Note, Reference, Rim
from afterpart.model.job import Job, Reading, Rule, Shot, Span
from afterpart.model.outline import Arc, Circle, Datum, Dimension, Line, Loop, NextReading, Outline, Relation, Share
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, HoleLabel, Keep, Piece, PrintTime, Prism

VALUES: tuple[Any, ...] = (None, {}, [], [[]], "x", "", True, -1, 0, float("inf"), float("-inf"), 10**400, -(10**400), [[1], 2])
"""What is put in place of every value in turn; the infinite ones are written as JSON's usual extension writes them."""


def stored_files() -> dict[str, tuple[bytes, Callable[[bytes], Any]]]:
    """File name -> its bytes and the function that reads them."""
    return {"outline.json": (store.outline_json(_outline()), store.parse_outline),
            "edges.json": (store.edges_json(_edges()), store.parse_edges),
            "pieces.json": (store.build_json(Build((_piece(),))), store.parse_build),
            "plate's pieces.json": (store.pieces_json((_piece(),)), store.parse_pieces),
            "job.json": (store.job_json(Job("x", (_shot(),), readings=(Reading("d1", 6.5),))), store.parse_job_json)}


def damaged(data: bytes) -> Iterator[tuple[str, bytes]]:
    """(what was done, bytes): cut short, bits flipped, no JSON, nested, and every value replaced or left out in turn."""
    dice = random.Random(4)
    for number in range(25):
        yield f"cut {number}", data[:dice.randrange(len(data) - 2)]
        flipped = bytearray(data)
        for _ in range(1 + number % 4):
            flipped[dice.randrange(len(data))] ^= 1 << dice.randrange(8)
        yield f"flipped {number}", bytes(flipped)
    for text in (b"", b"null", b"[]", b"3", b'"x"', b"NaN", b"{}", b'{"format": 1}', b'{"format": true}', b'{"format": 2}',
                 b"\xff\xfe\x00", bytes(100), b"[" * 100_000, b'{"format": ' * 50_000, b'{"format": ' + b"9" * 5000 + b"}"):
        yield f"instead {text[:15]!r} of {len(text)}", text
    plain = json.loads(data)
    for path in _paths(plain):
        for value in VALUES:
            yield f"{path} is {str(value)[:8]}", _changed(plain, path, value)
        yield f"{path} left out", _changed(plain, path, None, True)


def _paths(plain: Any, before: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in it; of a list the first two."""
    inner = plain.items() if isinstance(plain, dict) else list(enumerate(plain))[:2] if isinstance(plain, list) else ()
    for key, value in inner:
        yield (*before, key)
        yield from _paths(value, (*before, key))


def _changed(plain: Any, path: tuple[Any, ...], value: Any, leave_out: bool = False) -> bytes:
    changed = copy.deepcopy(plain)
    place = changed
    for key in path[:-1]:
        place = place[key]
    if leave_out:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return json.dumps(changed).encode()


def _shot() -> Shot:
    return Shot("p.jpg", sheet=(210.0, 297.0), rule=Rule(1.0, "mm"), span=Span(1.0, 2.0, 300.0, 4.0, 50.0))


def _edges() -> store.EdgeRecord:
    generator = np.random.default_rng(3)
    rim = Rim("outer", 1, generator.normal(0.0, 50.0, (4, 2)), generator.uniform(0.001, 0.1, 4))
    edges = EdgeMap("mm", (rim,), Reference("sheet", 11.2, 0.003), None, 9.0, 0.5, "p.jpg", (Note("a", "b"),))
    return store.EdgeRecord("ab" * 32, _shot(), "0.1", edges)


def _piece() -> Piece:
    square = (Line("a", (0.0, 0.0), (9.0, 0.0)), Arc("b", (9.0, 0.0), (0.0, 0.0), (4.5, 0.0), 4.5, True))
    prism = Prism(square, ((Circle("c", (4.0, 1.0), 1.0),),), 0.0, 1.5)
    return Piece("check_plate", "cover", "cover_1", "A", (Add((prism,)), Cut((prism,)), Keep(prism), ChamferFirstLayer(0.4)), 1.5,
                 (HoleLabel(1, "c", (4.0, 1.0), (5.0, 1.0)),), PrintTime(20.0, 40.0, "by area"), (Note("x", "y"),))


def _outline() -> Outline:
    channel = Loop("channel", 1, (Line("s1", (0.0, 0.0), (1.0, 0.0)), Arc("s2", (1.0, 0.0), (0.0, 0.0), (0.5, 0.0), 0.5, True)),
                   "outer", 2.0)
    hole = Loop("opening", 1, (Circle("c1", (3.0, 4.0), 3.25),))
    size = Dimension("d1", "diameter", ("c1",), 6.47, 0.02, 6.5, 0.97, 6.4, "inferred", 0.041, 30.0, (Share("edge noise", 0.02),))
    return Outline("mm", Reference("sheet", 11.2, 0.003), Datum("longest edge", (1.0, 2.0), 30.0), (hole, channel), (hole,),
                   (size,), (Relation("equal_radius", ("c1", "c2")),), (NextReading("d1", 1.8, "jaws"),), (Note("n", "t"),))
