"""What is fuzzed: each target takes any bytes and may end in one of our own errors alone; whatever else it raises is a bug."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable

import numpy as np

from afterpart.errors import AfterpartError
from afterpart.job.read import parse_job
from afterpart.model.job import Shot
from afterpart.model.store import build_json, edges_json, outline_json, parse_build, parse_edges, parse_outline
from afterpart.photo.load import read_header
from afterpart.photo.target import find_target

SIDE = 48
"""Of the small picture the reference finder looks at, px."""


def job(data: bytes) -> None:
    """The job reader."""
    parse_job(data.decode("utf-8", "replace"))


def outline(data: bytes) -> None:
    """The outline reader; what it takes can be written again."""
    outline_json(parse_outline(data))


def edges(data: bytes) -> None:
    """The edges reader; what it takes can be written again."""
    edges_json(parse_edges(data))


def build(data: bytes) -> None:
    """The build reader; what it takes can be written again."""
    build_json(parse_build(data))


def header(data: bytes) -> None:
    """The picture's header."""
    read_header("photo", data, Shot("photo"))


def reference(data: bytes) -> None:
    """The finder of the printed target, on a small picture of just these grey levels, enlarged."""
    grey = np.resize(np.frombuffer(data or b"\0", np.uint8), (SIDE, SIDE)).astype(np.float32)
    find_target(np.kron(grey, np.ones((4, 4), np.float32)))


TARGETS: dict[str, Callable[[bytes], None]] = {
    "job": job, "outline": outline, "edges": edges, "build": build, "header": header, "reference": reference}


def survives(target: Callable[[bytes], None], data: bytes) -> None:
    """Run it; our own errors are what bad input shall end in."""
    try:
        target(data)
    except AfterpartError as error:
        assert str(error).strip(), "an error without words"
