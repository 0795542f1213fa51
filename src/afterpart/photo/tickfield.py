"""Where rows of ticks may lie: gradient statistics of small cells of a reduced picture.

Among ticks the gradient is strong, has one direction, and its mean is near nothing (every rise has its fall), and such cells
follow one another *along* the gradient; an edge of a part or a table runs across it.  Ruled paper with lines both ways has no
single direction in a cell and is looked for apart.  Candidates only: whether there are ticks is for ticks.py to say.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.photo.ticks import Row

CELL = 4  # reduced pixels per cell
SUPPORT = 4  # cells looked at on either side along the gradient
STRIP = 24  # rows of cells worked on at a time: more would not stay in the processor's cache


@dataclass(frozen=True)
class Cells:
    """Gradient statistics of one level: energy, coherence, balance and double-angle direction per cell."""

    factor: int
    energy: np.ndarray
    coherence: np.ndarray
    balance: np.ndarray
    cos2: np.ndarray
    sin2: np.ndarray


def gather_cells(image: np.ndarray, factor: int) -> Cells:
    """Statistics of a picture (h, w) float32 already reduced by `factor`, one value per cell."""
    high, wide = image.shape[0] // CELL, image.shape[1] // CELL
    image = image[: high * CELL, : wide * CELL]
    means = np.empty((5, high, wide), np.float32)
    for top in range(0, high, STRIP):
        bottom = min(top + STRIP, high)
        # one row more on either side, for the gradient
        first, last = max(top * CELL - 1, 0), min(bottom * CELL + 1, image.shape[0])
        own = slice(top * CELL - first, bottom * CELL - first)
        gx = cv2.Sobel(image[first:last], cv2.CV_32F, 1, 0, ksize=3, scale=0.125)[own]
        gy = cv2.Sobel(image[first:last], cv2.CV_32F, 0, 1, ksize=3, scale=0.125)[own]
        for mean, values in zip(means, (cv2.multiply(gx, gx), cv2.multiply(gy, gy), cv2.multiply(gx, gy), gx, gy), strict=True):
            mean[top:bottom] = cv2.resize(values, (wide, bottom - top), interpolation=cv2.INTER_AREA)
    xx, yy, xy, mx, my = (cv2.blur(mean, (3, 3)) for mean in means)
    energy = xx + yy
    safe = energy + 1e-3
    length = np.sqrt((xx - yy) ** 2 + 4 * xy * xy) + 1e-6
    return Cells(factor, energy, length / safe, (mx * mx + my * my) / safe, (xx - yy) / length, 2 * xy / length)


def _supported(cells: Cells, mask: np.ndarray) -> np.ndarray:
    """Of the cells in mask those with like cells before and behind them along the gradient: a mask again."""
    rows, cols = np.nonzero(mask)
    if len(rows) == 0:
        return mask
    half_rad = 0.5 * np.arctan2(cells.sin2[rows, cols], cells.cos2[rows, cols])
    nx, ny = np.cos(half_rad), np.sin(half_rad)
    high, wide = mask.shape
    sides = []
    for way in (-1, 1):
        count = np.zeros(len(rows), np.int32)
        for k in range(1, SUPPORT + 1):
            r, c = np.rint(rows + way * k * ny).astype(int), np.rint(cols + way * k * nx).astype(int)
            inside = (r >= 0) & (r < high) & (c >= 0) & (c < wide)
            r, c = np.clip(r, 0, high - 1), np.clip(c, 0, wide - 1)
            same = cells.cos2[rows, cols] * cells.cos2[r, c] + cells.sin2[rows, cols] * cells.sin2[r, c] > 0.85
            count += (inside & mask[r, c] & same).astype(np.int32)
        sides.append(count)
    kept = np.zeros_like(mask)
    good = (np.maximum(sides[0], sides[1]) >= SUPPORT - 1) & (sides[0] + sides[1] >= SUPPORT)
    kept[rows[good], cols[good]] = True
    return kept


def rows_of_ticks(cells: Cells) -> list[tuple[float, Row]]:
    """Candidate rows of one level, with their weight."""
    noise = float(np.quantile(cells.energy[::3, ::3], 0.3))
    strong = cells.energy > max(4.0 * noise, 0.3)
    mask = strong & (cells.coherence > 0.6) & (cells.balance < 0.14)
    kept = _supported(cells, mask)
    count, label, stats, _ = cv2.connectedComponentsWithStats(
        cv2.dilate(kept.astype(np.uint8), np.ones((3, 3), np.uint8)), connectivity=8
    )
    found: list[tuple[float, Row]] = []
    for k in range(1, count):
        x, y, w, h = stats[k, :4]
        if max(w, h) < 6:
            continue
        r, c = np.nonzero((label[y : y + h, x : x + w] == k) & kept[y : y + h, x : x + w])
        r, c = r + y, c + x
        row = _row_from_cells(cells, r, c)
        if row is not None:
            found.append((float(np.sqrt(cells.energy[r, c]).sum()), row))
    return found


def _row_from_cells(cells: Cells, r: np.ndarray, c: np.ndarray) -> Row | None:
    """A row through a group of like cells, in full-resolution px; None where the group is no row."""
    if len(r) < 6:
        return None
    weight = np.sqrt(cells.energy[r, c])
    mean2 = np.array([(weight * cells.cos2[r, c]).sum(), (weight * cells.sin2[r, c]).sum()])
    agree = cells.cos2[r, c] * mean2[0] + cells.sin2[r, c] * mean2[1] > 0.8 * np.hypot(*mean2)
    if agree.sum() < 6:
        return None
    r, c, weight = r[agree], c[agree], weight[agree]
    side = float(CELL * cells.factor)
    points = np.stack([c + 0.5, r + 0.5], axis=1) * side
    half_rad = 0.5 * np.arctan2(mean2[1], mean2[0])
    normal = np.array([np.cos(half_rad), np.sin(half_rad)])
    origin = (weight[:, None] * points).sum(axis=0) / weight.sum()
    offset = points - origin
    # the row runs nearly along the gradient: refine its direction by a line through the cells
    along, across = offset @ normal, offset @ np.array([-normal[1], normal[0]])
    tilt = float((weight * along * across).sum() / max((weight * along * along).sum(), 1e-9))
    if abs(tilt) > 0.6 or np.ptp(along) < 5 * side:
        tilt = 0.0
    direction = normal + tilt * np.array([-normal[1], normal[0]])
    direction /= np.hypot(*direction)
    stroke = np.array([-normal[1], normal[0]])
    s = offset @ direction - (offset @ stroke) * float(direction @ stroke) / max(1e-9, 1 - float(direction @ stroke) ** 2)
    # slant: how the gradient's direction turns along the row
    turn = 0.5 * np.arctan2(
        cells.sin2[r, c] * mean2[0] - cells.cos2[r, c] * mean2[1], cells.cos2[r, c] * mean2[0] + cells.sin2[r, c] * mean2[1]
    )
    slant = -float((weight * s * turn).sum() / max((weight * s * s).sum(), 1e-9))
    depth = across - tilt * along
    if np.ptp(s) < 5 * side:
        return None
    return Row(
        origin,
        direction,
        stroke,
        slant,
        (float(s.min() - side), float(s.max() + side)),
        (float(depth.min() - side), float(depth.max() + side)),
        (2.2 * cells.factor, 14.0 * cells.factor),
    )


def rows_of_grid(cells: Cells, image: np.ndarray) -> list[tuple[float, Row]]:
    """Candidate rows of ruled paper: wide regions with strong, balanced gradients in two directions at right angles."""
    noise = float(np.quantile(cells.energy[::3, ::3], 0.3))
    mask = (cells.energy > max(4.0 * noise, 0.3)) & (cells.balance < 0.12)
    mask = cv2.morphologyEx(mask.astype(np.uint8), cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    count, label, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    found: list[tuple[float, Row]] = []
    side = CELL * cells.factor
    for k in np.argsort(-stats[1:, 4])[:2] + 1 if count > 1 else ():
        x, y, w, h, area = stats[k]
        if area < 60 or min(w, h) < 6 or area < 0.4 * w * h:
            continue
        part = image[y * CELL : (y + h) * CELL, x * CELL : (x + w) * CELL]
        gx, gy = cv2.Sobel(part, cv2.CV_32F, 1, 0), cv2.Sobel(part, cv2.CV_32F, 0, 1)
        weight = gx * gx + gy * gy
        bins = np.rint(np.degrees(np.arctan2(gy, gx)) % 180 * 2).astype(int) % 360
        histogram = np.bincount(bins.ravel(), weights=weight.ravel(), minlength=360)
        histogram = np.convolve(np.tile(histogram, 3), np.exp(-0.5 * (np.arange(-8, 9) / 3.0) ** 2), "same")[360:720]
        first = int(np.argmax(histogram))
        near = (first + 180 + np.arange(-30, 31)) % 360
        second = int(near[np.argmax(histogram[near])])
        if histogram[second] < 0.2 * histogram[first] or histogram[first] < 3.0 * np.median(histogram):
            continue
        centre = np.array([x + 0.5 * w, y + 0.5 * h]) * side
        for angle_deg in (first / 2.0, second / 2.0):
            a = np.radians(angle_deg)
            normal = np.array([np.cos(a), np.sin(a)])
            stroke = np.array([-normal[1], normal[0]])
            half_s = 0.5 * side * (abs(normal[0]) * w + abs(normal[1]) * h)
            half_d = 0.5 * side * (abs(stroke[0]) * w + abs(stroke[1]) * h) * 0.7
            found.append(
                (
                    float(area),
                    Row(
                        centre,
                        normal,
                        stroke,
                        0.0,
                        (-half_s, half_s),
                        (-half_d, half_d),
                        (2.2 * cells.factor, 14.0 * cells.factor),
                    ),
                )
            )
    return found
