"""Balloons round a view: numbered rings with a value beside each, none on another, no leader across a neighbour.

Words: a *label* is what a balloon says and the point it means; a *slot* is a place for a balloon on the ring round the view; a
*leader* runs from the balloon to the point.
How: slots stand along a rectangle round the view; release/leaders.py pairs labels and slots so that leaders are short, run
through no text and do not cross.
Conventions: mm of paper; a box is (left, bottom, right, top).
Limits: when there are more labels than slots nothing is placed and None is answered; a larger sheet has more slots.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from afterpart.model.outline import Point
from afterpart.release.leaders import pair, runs_through
from afterpart.release.paper import BOLD, HAIRLINE, Paper
from afterpart.release.template import draw_arrow

RADIUS = 2.7
TEXT = 2.8
NOTE = 2.4
AIR = 0.9
"""Free space round every box."""
DATUM_BOX = 4.6
_GRAZING_DEG = 15.0
_OWN_TEXT = 150.0
"""What a leader across its own text, or along the edge it means, counts as in mm of leader (judgement)."""

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Label:
    """number: in the ring; text: the size beside it; note: a smaller line below it; datum: letter of the datum that the feature
    is, or ""; target: the point meant, on paper; reach: radius of a round hole about it, so that the leader ends on its edge."""

    number: str
    text: str
    target: Point
    note: str = ""
    datum: str = ""
    reach: float = 0.0
    edge_deg: float | None = None
    """Direction of a straight edge that is meant: a leader should not run along it."""


@dataclass(frozen=True)
class Balloon:
    """A label in its place.  center: of the ring; is_left: its text stands to the left of the ring; box: all it covers."""

    label: Label
    center: Point
    is_left: bool
    box: Box


Widths = Callable[[str, float], float]
"""Width of a text at a size."""


def place_balloons(
    labels: tuple[Label, ...], view: Box, area: Box, widths: Widths, taken: tuple[Box, ...] = (), gap: float = 9.0
) -> tuple[Balloon, ...] | None:
    """A balloon for each label, on the ring `gap` outside the view's box, inside `area`, off what is taken; None: no room."""
    if not labels:
        return ()
    wide = max(_text_width(label, widths) for label in labels)
    tall = 2 * RADIUS if not any(label.note for label in labels) else 2 * RADIUS + 0.9
    free = [s for s in _slots(view, wide, tall, gap) if _is_free(_slot_box(s, wide, tall), area, taken)]
    slots = _apart(free, wide, tall)
    if len(slots) < len(labels):
        return None
    chosen = _assigned(labels, slots, wide, tall, taken)
    return tuple(
        Balloon(label, (x, y), is_left, _slot_box((x, y, is_left), _text_width(label, widths), tall))
        for label, (x, y, is_left) in zip(labels, chosen, strict=True)
    )


def leader(balloon: Balloon) -> tuple[Point, Point]:
    """Where the leader leaves the ring, and where it ends: at the point meant, or on the edge of the hole about it."""
    (x, y), (u, v) = balloon.center, balloon.label.target
    away = max(math.hypot(u - x, v - y), 1e-9)
    c, s = (u - x) / away, (v - y) / away
    return (x + RADIUS * c, y + RADIUS * s), (u - balloon.label.reach * c, v - balloon.label.reach * s)


def are_clear(balloons: tuple[Balloon, ...]) -> bool:
    """Does no leader run through another balloon?"""
    boxes = np.array([balloon.box for balloon in balloons]).reshape(-1, 4)
    lines = [tuple(map(np.array, leader(balloon))) for balloon in balloons]
    return not any(np.delete(runs_through(start, end, boxes), k).any() for k, (start, end) in enumerate(lines))


def draw_balloon(paper: Paper, balloon: Balloon) -> None:
    """Leader with its arrow, ring with its number, value, note and datum letter."""
    label, (x, y) = balloon.label, balloon.center
    start, end = leader(balloon)
    paper.pen(0.13, grey=0.3)
    paper.line(start, end)
    draw_arrow(paper, end, math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])))
    paper.pen(0.2)
    paper.circle((x, y), RADIUS, is_filled=True)
    size = 3.0 if len(label.number) < 3 else 2.3
    paper.text((x, y - 0.36 * size), label.number, size, BOLD, align="middle")
    paper.pen()
    _draw_text(paper, balloon)


def _draw_text(paper: Paper, balloon: Balloon) -> None:
    label, (x, y) = balloon.label, balloon.center
    side, align = (-1.0, "right") if balloon.is_left else (1.0, "left")
    near = x + side * (RADIUS + 0.7)
    low = y - 0.36 * TEXT if not label.note else y + 0.15
    paper.text((near, low), label.text, TEXT, align=align)
    if label.note:
        paper.text((near, y - 0.15 - 0.8 * NOTE - 0.2), label.note, NOTE, align=align)
    if label.datum:
        reach = paper.text_width(label.text, TEXT) + 1.0
        draw_datum_letter(paper, (near + side * reach, y), 0.0 if side > 0 else 180.0, label.datum)


def draw_datum_letter(paper: Paper, base: Point, direction_deg: float, letter: str) -> Box:
    """The datum indicator of ISO 5459: a filled triangle standing on `base`, a short line, the letter in a frame; its frame's
    box is answered.  direction_deg: 0, 90, 180 or 270, from the base to the frame."""
    c, s = round(math.cos(math.radians(direction_deg))), round(math.sin(math.radians(direction_deg)))
    tip = (base[0] + 1.6 * c, base[1] + 1.6 * s)
    paper.pen(0.18)
    paper.polygon([tip, (base[0] - 1.0 * s, base[1] + 1.0 * c), (base[0] + 1.0 * s, base[1] - 1.0 * c)], is_filled=True)
    frame = (base[0] + 2.4 * c, base[1] + 2.4 * s)
    paper.line(tip, frame)
    half = DATUM_BOX / 2
    middle = (frame[0] + half * c, frame[1] + half * s)
    paper.box(middle[0] - half, middle[1] - half, DATUM_BOX, DATUM_BOX)
    paper.text((middle[0], middle[1] - 0.36 * 3.2), letter, 3.2, align="middle")
    paper.pen(HAIRLINE)
    return (middle[0] - half, middle[1] - half, middle[0] + half, middle[1] + half)


def _text_width(label: Label, widths: Widths) -> float:
    datum = 1.0 + 2.4 + DATUM_BOX if label.datum else 0.0
    return max(widths(label.text, TEXT) + datum, widths(label.note, NOTE))


_Slot = tuple[float, float, bool]


def _slots(view: Box, wide: float, tall: float, gap: float) -> list[_Slot]:
    """Places along the ring: upright ones as close as the balloons allow, level ones as close as their texts do."""
    left, bottom, right, top = view[0] - gap, view[1] - gap, view[2] + gap, view[3] + gap
    middle = (left + right) / 2
    slots: list[_Slot] = []
    step = tall + 2 * AIR
    reach = math.floor(((top - bottom) / 2 - step / 2) / step)
    for k in range(-reach, reach + 1):
        y = (bottom + top) / 2 + k * step
        slots += [(left, y, True), (right, y, False)]
    across = 2 * RADIUS + 0.7 + wide + 2 * AIR
    for y in (bottom, top):
        count = math.ceil((right - left) / across / 2) + 1
        for k in range(count):
            slots += [(middle - RADIUS - AIR - k * across, y, True), (middle + RADIUS + AIR + k * across, y, False)]
    return slots


def _slot_box(slot: _Slot, wide: float, tall: float) -> Box:
    x, y, is_left = slot
    text = wide + 0.7 if wide > 0 else 0.0
    return (x - RADIUS - (text if is_left else 0.0), y - tall / 2, x + RADIUS + (0.0 if is_left else text), y + tall / 2)


def _text_box(slot: _Slot, wide: float, tall: float) -> Box:
    """The slot's box without its ring."""
    x, _, is_left = slot
    left, low, right, high = _slot_box(slot, wide, tall)
    return (left, low, x - RADIUS, high) if is_left else (x + RADIUS, low, right, high)


def _is_free(box: Box, area: Box, taken: tuple[Box, ...]) -> bool:
    inside = box[0] >= area[0] and box[1] >= area[1] and box[2] <= area[2] and box[3] <= area[3]
    return inside and not any(boxes_meet(box, t, AIR) for t in taken)


def boxes_meet(a: Box, b: Box, air: float = 0.0) -> bool:
    """Do two boxes come closer than `air`?"""
    return a[0] < b[2] + air and b[0] < a[2] + air and a[1] < b[3] + air and b[1] < a[3] + air


def _assigned(labels: tuple[Label, ...], slots: list[_Slot], wide: float, tall: float, taken: tuple[Box, ...]) -> list[_Slot]:
    """The slots of the labels, in order."""
    targets = np.array([label.target for label in labels])
    places = np.array([(x, y) for x, y, _ in slots])
    own = np.array([[runs_through(t, p, np.array([_text_box(s, wide, tall)]))[0] for p, s in zip(places, slots, strict=True)]
                    for t in targets])
    grazing = np.array([[_runs_along(label, p) for p in places] for label in labels])
    boxes = np.array([_slot_box(s, wide, tall) for s in slots])
    return [slots[c] for c in pair(targets, places, boxes, np.array(taken).reshape(-1, 4), _OWN_TEXT * (own + grazing))]


def _apart(slots: list[_Slot], wide: float, tall: float) -> list[_Slot]:
    """Slots whose boxes are clear of each other, the first ones kept."""
    kept: list[_Slot] = []
    for slot in slots:
        box = _slot_box(slot, wide, tall)
        if not any(boxes_meet(box, _slot_box(other, wide, tall), AIR) for other in kept):
            kept.append(slot)
    return kept


def _runs_along(label: Label, place: np.ndarray) -> bool:
    """Is a leader from there within _GRAZING_DEG of the edge that is meant?"""
    if label.edge_deg is None:
        return False
    leader_deg = math.degrees(math.atan2(label.target[1] - place[1], label.target[0] - place[0]))
    return abs((leader_deg - label.edge_deg + 90.0) % 180.0 - 90.0) < _GRAZING_DEG
