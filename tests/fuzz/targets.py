"""What is fuzzed: each target takes any bytes and may end in one of our own errors alone; whatever else it raises is a bug."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable

import cv2
import numpy as np

from afterpart.errors import AfterpartError
from afterpart.job.read import parse_job
from afterpart.model.job import Shot
from afterpart.model.store import build_json, edges_json, outline_json, parse_build, parse_edges, parse_outline
from afterpart.photo.calliper import find_jaws
from afterpart.photo.edgeprofile import linear_light
from afterpart.photo.load import Picture, read_header
from afterpart.photo.pose import solve_pose
from afterpart.photo.reference import look_for_references
from afterpart.photo.rule import find_rules
from afterpart.photo.sheet import find_sheet
from afterpart.photo.table import reduced
from afterpart.photo.target import find_target
from tests.fuzz.scenes import KINDS, TOLD, harmed


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


def sheet(data: bytes) -> None:
    """The finder of a sheet."""
    grey = harmed("sheet", data).astype(np.float32)
    find_sheet(linear_light(grey), *reduced(cv2.merge([grey.astype(np.uint8)] * 3)))


def rule(data: bytes) -> None:
    """The finder of rules."""
    find_rules(harmed("rule", data).astype(np.float32))


def calliper(data: bytes) -> None:
    """The finder of a calliper's jaws."""
    find_jaws(harmed("calliper", data).astype(np.float32))


def target(data: bytes) -> None:
    """The finder of the printed target."""
    find_target(harmed("target", data).astype(np.float32))


def reference(data: bytes) -> None:
    """What the maker tells of a reference against what is seen, and the camera that follows; the last byte says which picture it
    is and what is told."""
    last = data[-1] if data else 0
    kind, told = KINDS[last % 4], KINDS[last // 4 % 4]
    colour = cv2.merge([harmed(kind, data)] * 3)
    picture = Picture("photo.png", "", colour[:, :, 0].astype(np.float32), colour, 28.0 if last & 16 else None)
    shot = Shot("photo.png", face_height=float(last // 32), **(TOLD[told] if last < 192 else {}))
    small, scale = reduced(colour)
    solve_pose(picture, look_for_references(picture.grey, picture.light, small, scale, shot), shot)


TARGETS: dict[str, Callable[[bytes], None]] = {
    "job": job, "outline": outline, "edges": edges, "build": build, "header": header, "sheet": sheet, "rule": rule,
    "calliper": calliper, "target": target, "reference": reference}


def survives(target: Callable[[bytes], None], data: bytes) -> None:
    """Run it; our own errors are what bad input shall end in."""
    try:
        target(data)
    except AfterpartError as error:
        assert str(error).strip(), "an error without words"
