"""Small pictures of each kind of reference, and damage to them told by bytes: what the finders are fuzzed with.

Bytes alone hardly ever look like a sheet or a rule.  Here the first byte turns a picture in which the reference is found, and
each six bytes that follow harm it: a rectangle filled, blurred, mirrored, moved, made noisy or torn, so that finders are led
deep into what is nearly a reference.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from functools import cache
from typing import Any

import cv2
import numpy as np

from afterpart.model.job import Rule
from tests.photo.rule_painting import homography, paint_rule
from tests.photo.test_calliper import painted_calliper
from tests.photo.test_references import camera, pictured
from tests.photo.test_target import painted_target

KINDS = ("sheet", "rule", "calliper", "target")
HARM, MOST_HARMS = 6, 16
"""Bytes that tell one harm, and how many are done."""
TOLD: dict[str, dict[str, Any]] = {
    "sheet": {"sheet": (210.0, 297.0)}, "rule": {"rule": Rule(1.0, "mm")}, "calliper": {"calliper": 40.0},
    "target": {"target_bar": 100.0}}


@cache
def whole(kind: str) -> np.ndarray:
    """(h, w) uint8: a picture in which this reference is found."""
    if kind == "sheet":
        return cv2.resize(pictured(camera(), rule=True).grey, (800, 600), interpolation=cv2.INTER_AREA).astype(np.uint8)
    if kind == "rule":
        return paint_rule((800, 200), homography((800, 200), 10.0, 2.0, 3.0, (30.0, 0.0)), 60).astype(np.uint8)
    if kind == "calliper":
        light = painted_calliper(homography((1600, 1200), 8.0, 3.0, 2.0, (20.0, 30.0)), 0.1, 0.7)
        return cv2.resize(light, (800, 600), interpolation=cv2.INTER_AREA).astype(np.uint8)
    light = painted_target((1600, 1400), homography((1600, 1400), 4.6, 3.0, 4.0, (0.0, 0.0)))
    return cv2.resize(light, (800, 700), interpolation=cv2.INTER_AREA).astype(np.uint8)


def harmed(kind: str, data: bytes) -> np.ndarray:
    """(h, w) uint8: that picture with the harm these bytes tell."""
    picture = whole(kind).copy()
    turns = data[0] if data else 0
    picture = np.rot90(picture, turns % 4)
    picture = np.ascontiguousarray(picture[:, ::-1] if turns & 4 else picture)
    for start in range(1, min(len(data), MOST_HARMS * HARM), HARM):
        _harm(picture, data[start:start + HARM].ljust(HARM, b"\0"))
    if turns & 8 and min(picture.shape) > 8:
        picture = picture[:: 1 + turns // 64, :: 1 + turns // 128]
    return np.ascontiguousarray(picture)


def _harm(picture: np.ndarray, told: bytes) -> None:
    """One harm to a rectangle, in place."""
    high, wide = picture.shape
    what, left, top, across, down, value = told
    x, y = left * wide // 256, top * high // 256
    own = picture[y:y + 1 + down * high // 256, x:x + 1 + across * wide // 256]
    match what % 7:
        case 0:
            own[:] = value
        case 1:
            own[:] = cv2.GaussianBlur(own, (0, 0), 0.3 + value / 16)
        case 2:
            own[:] = own[::-1, ::-1].copy()
        case 3:
            own[:] = np.roll(own, value - 128, axis=what & 1)
        case 4:
            own[:] = np.clip(own.astype(float) + np.random.default_rng(value).normal(0, value, own.shape), 0, 255)
        case 5:
            own[:] = np.clip((own.astype(float) - 128) * value / 64 + 128, 0, 255)
        case _:
            own[:, :: 1 + value % 5] = 255 - own[:, :: 1 + value % 5]
