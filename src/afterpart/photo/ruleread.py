"""Reads a candidate row of ticks in full and makes the noun of it: sub-pixel points, ladder, body, or None where it is no rule.

The row's direction, the turn of its strokes and their ends are settled from the ticks themselves before the final reading, so a
candidate need be right only to a few degrees.  Limits: see ticks.py; a scatter about a smooth curve above MAX_SCATTER is no rule.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from afterpart.model.references import RuleTicks, Tick
from afterpart.photo.rulebody import find_body
from afterpart.photo.tickladder import read_ladder
from afterpart.photo.ticks import (
    MIN_TICKS,
    Reading,
    Row,
    Strip,
    common_band,
    cut_strip,
    find_pitch,
    read_ticks,
    refine,
    solidity,
    stroke_ends,
    stroke_width,
    to_picture,
)

DEPTHS = 5  # points along the stroke that all ticks have
MAX_LONGER = 12  # further points on longer strokes
MAX_SCATTER = 0.035  # of the pitch, where a ladder is seen
MAX_SCATTER_PLAIN = 0.015  # without one: lines of text come at equal distances too
MIN_SOLID = 0.75  # see ticks.solidity
CROSSED = 0.3  # share of the gaps' variation in depth that repeats with the pitch: lines of ruled paper


def _loud_band(strip: Strip, pitch: float | None) -> tuple[float, float] | None:
    """The depths that every tick reaches: where the profile along swings most."""
    step = float(strip.s[1] - strip.s[0])
    wide = max(3, int(1.5 * (pitch or strip.row.pitch_range[1]) / step) | 1)
    rough = strip.values - cv2.blur(strip.values, (wide, 1), borderType=cv2.BORDER_REPLICATE)
    limit = 4.0 * float(np.median(np.abs(rough))) + 1.0
    power = np.minimum(np.abs(rough), 3 * limit)
    power = np.where(strip.valid, power, 0.0).sum(axis=1) / np.maximum(strip.valid.sum(axis=1), strip.valid.shape[1] // 4)
    power = cv2.blur(power.reshape(-1, 1).astype(np.float32), (1, 3)).ravel()
    top = int(np.argmax(power))
    floor = float(np.quantile(power, 0.1))
    loud = power > floor + 0.6 * (power[top] - floor)
    low, high = top, top
    while low > 0 and loud[low - 1]:
        low -= 1
    while high < len(loud) - 1 and loud[high + 1]:
        high += 1
    return (float(strip.d[low]), float(strip.d[high])) if high - low >= 1 else None


def _across_picture(row: Row, shape: tuple[int, ...], share: float) -> tuple[float, float]:
    """The row's range along, lengthened by a share of itself on both sides."""
    length = row.s_range[1] - row.s_range[0]
    limit = float(np.hypot(*shape))
    return max(-limit, row.s_range[0] - share * length), min(limit, row.s_range[1] + share * length)


def _smooth_model(index: np.ndarray, depth: np.ndarray) -> np.ndarray:
    """Columns of a smooth map (index, depth) -> s: quartic along, turning strokes; both arguments scaled to about one."""
    i, d = index, depth
    return np.stack([np.ones_like(i), i, i * i, i**3, i**4, d, d * i, d * i * i, d * d, d * d * i], axis=1)


def read_rule(grey: np.ndarray, row: Row) -> RuleTicks | None:
    """Read a candidate row; None where it is no rule."""
    step = max(0.5, row.pitch_range[0] / 8)
    strip = cut_strip(grey, row, step, max(1.0, (row.d_range[1] - row.d_range[0]) / 40))
    band = _loud_band(strip, None)
    if band is None:
        return None
    rows = (strip.d >= band[0]) & (strip.d <= band[1])
    pitch, power = find_pitch(strip.values[rows].mean(axis=0), step, row.pitch_range)
    if power < 0.15:
        return None
    first = read_ticks(strip, band, pitch)
    if first is None:
        return None
    settled = _settle(strip, first)
    if settled is None:
        return None
    # second look: the row's direction, slant and ends as the ticks themselves tell them
    pitch = first.pitch
    reach = max(8.0 * pitch, row.d_range[1])
    strip = cut_strip(grey, replace(settled, d_range=(-reach, reach)), max(0.5, pitch / 24), max(1.0, pitch / 10))
    second = _read_again(strip, pitch, first.band)
    better = _settle(strip, second) if second is not None else None
    if second is None or better is None:
        return None
    # as far as they go, in a narrow strip; then all of their depth, but only where they are
    half = 0.5 * (second.band[1] - second.band[0])
    narrow = replace(better, s_range=_across_picture(better, grey.shape, 1.0), d_range=(-half, half))
    strip = cut_strip(grey, narrow, max(0.5, second.pitch / 24), max(1.0, pitch / 10))
    third = read_ticks(strip, (-0.9 * half, 0.9 * half), second.pitch)
    if third is None:
        return None
    final = replace(better, s_range=(float(third.s.min() - 3 * pitch), float(third.s.max() + 3 * pitch)))
    strip = cut_strip(grey, final, max(0.5, third.pitch / 24), max(1.0, pitch / 12))
    reading = _read_again(strip, third.pitch, second.band)
    if reading is None or solidity(strip, reading) < MIN_SOLID:
        return None
    return _assemble(grey, strip, reading)


def _read_again(strip: Strip, pitch: float, known: tuple[float, float]) -> Reading | None:
    """Ticks of a settled row over the full depth they have in common; known: the band its middle was settled from."""
    half = min(0.8 * pitch, 0.4 * (known[1] - known[0]))
    reading = read_ticks(strip, (-half, half), pitch)
    if reading is None:
        return None
    wider = common_band(strip, reading)
    return read_ticks(strip, wider, reading.pitch) if wider is not None else None


def _settle(strip: Strip, reading: Reading) -> Row | None:
    """A better row from ticks read: strokes measured at three depths and their ends give direction, slant and middle."""
    low, high = reading.band
    middle, third = 0.5 * (low + high), (high - low) / 3
    width = stroke_width(strip, reading)
    parts = [
        refine(strip, (low + k * third, low + (k + 1) * third), reading.s, reading.pitch, reading.dark, width)[0]
        for k in range(3)
    ]
    s, d = np.concatenate(parts), np.repeat(low + (np.arange(3) + 0.5) * third, len(reading.s)) - middle
    index = np.tile(reading.index.astype(float), 3)
    scale = max(1.0, float(np.ptp(index)) / 2)
    i = (index - index.mean()) / scale
    columns = np.stack([np.ones_like(i), i, i * i, i**3, d, d * i], axis=1)
    answer, _, keep = _fit_trimmed(columns, s, np.isfinite(s), 0.02 * reading.pitch)
    if keep.sum() < 2 * MIN_TICKS:
        return None
    turn = float(answer[5] / answer[1]) if abs(answer[1]) > 1e-9 else 0.0  # of the strokes' slope, per px along
    slope = float(answer[4]) + turn * (reading.s - float(answer[0]))
    centre = float(np.median(reading.s))
    centre_slope = float(answer[4]) + turn * (centre - float(answer[0]))
    tilt = _tilt_of_ends(reading.s, *stroke_ends(strip, reading.s, slope, reading.band, reading.pitch, reading.dark))
    row = strip.row
    along = row.along + tilt * (row.stroke + row.slant * centre * row.along)
    stroke = row.stroke + (row.slant * centre + centre_slope) * row.along
    return Row(
        to_picture(row, np.array(centre), np.array(middle)),
        along / np.hypot(*along),
        stroke / np.hypot(*stroke),
        row.slant + turn,
        (float(reading.s.min() - centre - reading.pitch), float(reading.s.max() - centre + reading.pitch)),
        (row.d_range[0] - middle, row.d_range[1] - middle),
        (0.7 * reading.pitch, 1.4 * reading.pitch),
    )


def _fit_trimmed(
    columns: np.ndarray, value: np.ndarray, usable: np.ndarray, floor: float
) -> tuple[np.ndarray, float, np.ndarray]:
    """(coefficients, robust scatter, rows kept) of a linear fit that drops what lies beyond four times the scatter."""
    keep, scatter, answer = usable, 0.0, np.zeros(columns.shape[1])
    for _ in range(5):
        if keep.sum() < columns.shape[1] + 4:
            return answer, scatter, np.zeros(len(value), bool)
        answer, *_ = np.linalg.lstsq(columns[keep], value[keep], rcond=None)
        rest = np.where(usable, np.abs(value - columns @ answer), np.inf)
        scatter = 1.4826 * float(np.median(rest[keep]))
        keep = rest < max(4.0 * scatter, floor)
    return answer, scatter, keep


def _tilt_of_ends(s: np.ndarray, begin: np.ndarray, end: np.ndarray) -> float:
    """Slope d(s) of the line on which the strokes start: that of the more even of their two ends; 0 where neither is even."""
    best = (np.inf, 0.0)
    for edge in (begin, end):
        near = np.abs(edge - np.median(edge)) <= 3 * np.median(np.abs(edge - np.median(edge))) + 2.0
        if near.sum() >= 5:
            slope, offset = np.polyfit(s[near], edge[near], 1)
            best = min(best, (float(np.median(np.abs(edge - offset - slope * s))), float(slope)))
    return best[1] if abs(best[1]) < 0.3 else 0.0


def _assemble(grey: np.ndarray, strip: Strip, reading: Reading) -> RuleTicks | None:
    """Sub-pixel points at several depths, outliers out, ladder, body: the finished noun."""
    begin, end = stroke_ends(strip, reading.s, np.zeros(len(reading.s)), reading.band, reading.pitch, reading.dark)
    n, d, s, u = _points(strip, reading, begin, end)
    if len(s) < 3 * MIN_TICKS:
        return None
    index = reading.index.astype(float)[n]
    i = (index - index.mean()) / max(1.0, float(np.ptp(index)) / 2)
    _, scatter, keep = _fit_trimmed(_smooth_model(i, (d - d.mean()) / max(1.0, float(np.ptp(d)))), s, np.ones(len(s), bool), 0.03)
    if keep.mean() < 0.6 or scatter > MAX_SCATTER * reading.pitch:
        return None
    u = u * max(1.0, scatter / max(float(np.median(u[keep])), 1e-9))
    xy = to_picture(strip.row, s, d)
    whole = np.flatnonzero(np.bincount(n[keep], minlength=len(reading.s)) >= 2)
    number = reading.index - reading.index.min()
    if len(whole) < MIN_TICKS or np.ptp(number[whole]) + 1 > 1.6 * len(whole):
        return None
    ticks = tuple(Tick(int(number[k]), xy[keep & (n == k)], u[keep & (n == k)], float(end[k] - begin[k])) for k in whole)
    ladder, major = read_ladder(number[whole], (end - begin)[whole])
    if ladder == "unknown":  # strokes of one length may still differ in weight
        ladder, major = read_ladder(number[whole], reading.strength[whole])
    if ladder == "unknown" and scatter > MAX_SCATTER_PLAIN * reading.pitch:
        return None
    span = float(reading.s.min()), float(reading.s.max())
    quad, is_body = find_body(grey, strip.row, span, reading.pitch, begin, end)
    kind = "grid" if _is_crossed(strip, reading) else "rule"
    return RuleTicks(ticks, ladder, major, kind, reading.dark, reading.pitch, scatter, quad, is_body)


def _is_crossed(strip: Strip, reading: Reading) -> bool:
    """True when lines of about the same pitch cross the strokes: ruled paper."""
    rows = (strip.d >= reading.band[0]) & (strip.d <= reading.band[1])
    if reading.band[1] - reading.band[0] < 4 * reading.pitch:
        return False
    step, step_d = float(strip.s[1] - strip.s[0]), float(strip.d[1] - strip.d[0])
    fine = cv2.blur(strip.values[rows], (1, 3))
    column = np.clip(np.rint((reading.s + 0.5 * reading.pitch - strip.s[0]) / step).astype(int), 0, len(strip.s) - 1)
    stroke = np.clip(np.rint((reading.s - strip.s[0]) / step).astype(int), 0, len(strip.s) - 1)
    contrast = abs(float(np.median(fine[:, column]) - np.median(fine[:, stroke])))
    repeats = []
    for part in np.array_split(column, max(1, len(column) // 6)):  # few at a time: paper curls
        gaps = fine[:, part].mean(axis=1)
        repeats.append(
            find_pitch(gaps, step_d, (0.7 * reading.pitch, 1.4 * reading.pitch))[1] if np.std(gaps) > 0.1 * contrast else 0.0
        )
    return float(np.median(repeats)) > CROSSED


def _points(strip: Strip, reading: Reading, begin: np.ndarray, end: np.ndarray) -> tuple[np.ndarray, ...]:
    """(which tick, depth, s, u) of points on all ticks at the depths they share, and farther out on the longer ones."""
    low, high = reading.band
    inset = min(0.12 * (high - low), 0.5 * reading.pitch)
    edges = np.linspace(low + inset, high - inset, DEPTHS + 1)
    size = float(edges[1] - edges[0])
    width = stroke_width(strip, reading)
    everyone = np.ones(len(reading.s), bool)
    bins = [(float(a), float(b), everyone) for a, b in zip(edges[:-1], edges[1:], strict=True)]
    outwards = np.quantile(end, 0.95) - high >= low - np.quantile(begin, 0.05)
    for k in range(MAX_LONGER):
        a = (high + k * size) if outwards else (low - (k + 1) * size)
        bins.append((a, a + size, (end > a + 1.3 * size) if outwards else (begin < a - 0.3 * size)))
    parts: list[tuple[np.ndarray, ...]] = []
    for a, b, reaches in bins:
        rows = (strip.d >= a) & (strip.d < b)
        if not reaches.any() or not rows.any():
            continue
        who = np.flatnonzero(reaches)
        s, u = refine(strip, (a, b), reading.s[who], reading.pitch, reading.dark, width)
        good = np.isfinite(s)
        parts.append((who[good], np.full(int(good.sum()), float(strip.d[rows].mean())), s[good], u[good]))
    return tuple(np.concatenate(column) for column in zip(*parts, strict=True))
