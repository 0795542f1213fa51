"""Finds graduated rules (and ruled paper) in a picture by the rhythm of their ticks; nothing need be pointed at or read.

Where to look is told by gradient statistics of small cells of a reduced picture: among ticks the gradient is strong, has one
direction, and its mean is near nothing (every rise has its fall), and such cells follow one another *along* the gradient,
while an edge of a part or a table runs across it.  What the ticks are is then read at full resolution (ticks.py).
Limits: at least 11 ticks in sight, 5 to 60 px each; a row of equal slots can look like a rule (its ladder is then "unknown").
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.model.references import RuleTicks, Tick
from afterpart.photo.ticks import DEPTHS, MIN_TICKS, Reading, Row, Strip, cut_strip, find_pitch, read_ticks, refine, stroke_ends, to_picture

CELL = 4                     # reduced pixels per cell
LEVELS = (2, 4, 8, 16)       # reductions; each serves pitches of about 2.5 to 12 reduced pixels
SUPPORT = 4                  # cells looked at on either side along the gradient
MAX_CANDIDATES = 10          # per level, strongest first
MAX_SCATTER = 0.035          # of the pitch: more is not a rule


@dataclass(frozen=True)
class _Cells:
    """Gradient statistics of one level: energy, coherence, balance and double-angle direction per cell."""

    factor: int
    energy: np.ndarray
    coherence: np.ndarray
    balance: np.ndarray
    cos2: np.ndarray
    sin2: np.ndarray


def _cells(image: np.ndarray, factor: int) -> _Cells:
    high, wide = image.shape[0] // CELL, image.shape[1] // CELL
    image = image[:high * CELL, :wide * CELL]
    gx = cv2.Sobel(image, cv2.CV_32F, 1, 0, ksize=3, scale=0.125)
    gy = cv2.Sobel(image, cv2.CV_32F, 0, 1, ksize=3, scale=0.125)

    def pool(a: np.ndarray) -> np.ndarray:
        return cv2.blur(cv2.resize(a, (wide, high), interpolation=cv2.INTER_AREA), (3, 3))

    xx, yy, xy = pool(gx * gx), pool(gy * gy), pool(gx * gy)
    mx, my = pool(gx), pool(gy)
    energy = xx + yy
    safe = energy + 1e-3
    length = np.sqrt((xx - yy) ** 2 + 4 * xy * xy) + 1e-6
    return _Cells(factor, energy, length / safe, (mx * mx + my * my) / safe, (xx - yy) / length, 2 * xy / length)


def _supported(cells: _Cells, mask: np.ndarray) -> np.ndarray:
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


def _rows_of_ticks(cells: _Cells) -> list[tuple[float, Row]]:
    """Candidate rows of one level, with their weight."""
    noise = float(np.quantile(cells.energy[::3, ::3], 0.3))
    strong = cells.energy > max(4.0 * noise, 0.3)
    mask = strong & (cells.coherence > 0.6) & (cells.balance < 0.14)
    kept = _supported(cells, mask)
    count, label, stats, _ = cv2.connectedComponentsWithStats(cv2.dilate(kept.astype(np.uint8), np.ones((3, 3), np.uint8)), connectivity=8)
    found: list[tuple[float, Row]] = []
    for k in range(1, count):
        x, y, w, h = stats[k, :4]
        if max(w, h) < 6:
            continue
        r, c = np.nonzero((label[y:y + h, x:x + w] == k) & kept[y:y + h, x:x + w])
        r, c = r + y, c + x
        row = _row_from_cells(cells, r, c)
        if row is not None:
            found.append((float(np.sqrt(cells.energy[r, c]).sum()), row))
    return found


def _row_from_cells(cells: _Cells, r: np.ndarray, c: np.ndarray) -> Row | None:
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
    turn = 0.5 * np.arctan2(cells.sin2[r, c] * mean2[0] - cells.cos2[r, c] * mean2[1], cells.cos2[r, c] * mean2[0] + cells.sin2[r, c] * mean2[1])
    slant = -float((weight * s * turn).sum() / max((weight * s * s).sum(), 1e-9))
    depth = across - tilt * along
    if np.ptp(s) < 5 * side:
        return None
    return Row(origin, direction, stroke, slant, (float(s.min() - side), float(s.max() + side)),
               (float(depth.min() - side), float(depth.max() + side)), (2.2 * cells.factor, 14.0 * cells.factor))


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
    return np.stack([np.ones_like(i), i, i * i, i ** 3, i ** 4, d, d * i, d * i * i, d * d, d * d * i], axis=1)


def _measure(grey: np.ndarray, row: Row, kind: str) -> RuleTicks | None:
    """Read a candidate row; None where it is no rule."""
    step_d = 2.0 if row.d_range[1] - row.d_range[0] > 60 else 1.0
    step = max(0.5, row.pitch_range[0] / 8)
    strip = cut_strip(grey, row, step, step_d)
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
    # second look: the row's direction, slant and ends as the ticks themselves tell them, and as far as they go
    row = settled
    reading, strip = first, strip
    for share in (0.0, 1.0):
        pitch = reading.pitch
        reach = 7.0 * pitch if kind == "rule" else max(-row.d_range[0], row.d_range[1])
        long_row = Row(row.origin, row.along, row.stroke, row.slant, _across_picture(row, grey.shape, share),
                       (-reach, reach) if kind == "rule" else row.d_range, row.pitch_range)
        strip = cut_strip(grey, long_row, max(0.5, pitch / 24), max(1.0, pitch / 12))
        band = _loud_band_near(strip, row, pitch)
        if band is None:
            return None
        again = read_ticks(strip, band, pitch)
        if again is None:
            return None
        reading = again
        if share == 0.0:
            better = _settle(strip, reading)
            if better is None:
                return None
            row = better
    return _assemble(grey, strip, reading, kind)


def _loud_band_near(strip: Strip, row: Row, pitch: float) -> tuple[float, float] | None:
    """The ticks' common depths, seen only where ticks are known to be."""
    inside = (strip.s >= row.s_range[0]) & (strip.s <= row.s_range[1])
    part = Strip(strip.row, strip.s[inside], strip.d, np.ascontiguousarray(strip.values[:, inside]), strip.valid[:, inside])
    return _loud_band(part, pitch)


def _settle(strip: Strip, reading: Reading) -> Row | None:
    """A better row from ticks read: strokes measured at three depths and their ends give direction, slant and middle."""
    low, high = reading.band
    middle = 0.5 * (low + high)
    third = (high - low) / 3
    depths, places = [], []
    for k in range(3):
        s, _ = refine(strip, (low + k * third, low + (k + 1) * third), reading.s, reading.pitch, reading.dark)
        depths.append(np.full(len(s), low + (k + 0.5) * third))
        places.append(s)
    d, s = np.concatenate(depths), np.concatenate(places)
    s0 = np.tile(reading.s, 3)
    index = np.tile(reading.index.astype(float), 3)
    ok = np.isfinite(s)
    if ok.sum() < 2 * MIN_TICKS:
        return None
    scale = max(1.0, float(np.ptp(index)) / 2)
    i = (index - index.mean()) / scale
    columns = np.stack([np.ones_like(i), i, i * i, i ** 3, d - middle, (d - middle) * i], axis=1)
    keep = ok
    for _ in range(3):
        answer, *_ = np.linalg.lstsq(columns[keep], s[keep], rcond=None)
        rest = np.where(ok, s - columns @ answer, np.inf)
        keep = ok & (np.abs(rest) < max(3 * 1.4826 * float(np.median(np.abs(rest[keep]))), 0.02 * reading.pitch))
        if keep.sum() < 2 * MIN_TICKS:
            return None
    per_px = float(answer[5]) / max(abs(float(answer[1])) / scale, 1e-9) / scale
    centre_s = float(np.median(reading.s))
    slope0 = float(answer[4]) + per_px * (centre_s - float(answer[0]))
    slopes = float(answer[4]) + per_px * (reading.s - float(answer[0]))
    begin, end = stroke_ends(strip, reading.s, slopes, reading.band, reading.pitch, reading.dark)
    # the line of the ticks' common ends: the more even of the two ends
    sides = []
    for edge in (begin, end):
        line = np.polynomial.Polynomial.fit(reading.s, edge, 1, w=np.ones(len(edge)))
        near = np.abs(edge - line(reading.s)) <= np.median(np.abs(edge - np.median(edge))) * 3 + 2.0
        line = np.polynomial.Polynomial.fit(reading.s[near], edge[near], 1) if near.sum() > 4 else line
        sides.append((float(np.median(np.abs(edge - line(reading.s)))), line.convert().coef))
    coef = min(sides, key=lambda item: item[0])[1]
    tilt = float(coef[1]) if len(coef) > 1 else 0.0
    if abs(tilt) > 0.3:
        tilt = 0.0
    row = strip.row
    shape = np.array([centre_s, middle + tilt * (centre_s - centre_s)])
    origin = to_picture(row, np.array(shape[0]), np.array(shape[1]))
    # directions in the picture at the new origin
    along = row.along + tilt * (row.stroke + row.slant * shape[0] * row.along)
    along = along / np.hypot(*along)
    stroke = row.stroke + (row.slant * centre_s + slope0) * row.along
    stroke = stroke / np.hypot(*stroke)
    reach = float(reading.s.max() - centre_s + reading.pitch), float(reading.s.min() - centre_s - reading.pitch)
    return Row(origin, along, stroke, row.slant + per_px, (reach[1], reach[0]),
               (row.d_range[0] - middle, row.d_range[1] - middle), (0.7 * reading.pitch, 1.4 * reading.pitch))


def _assemble(grey: np.ndarray, strip: Strip, reading: Reading, kind: str) -> RuleTicks | None:
    """Sub-pixel points at several depths, outliers out, ladder, body: the finished noun."""
    low, high = reading.band
    inset = min(0.12 * (high - low), 0.5 * reading.pitch)
    edges = np.linspace(low + inset, high - inset, DEPTHS + 1)
    begin, end = stroke_ends(strip, reading.s, np.zeros(len(reading.s)), reading.band, reading.pitch, reading.dark)
    outwards = np.ptp(np.quantile(end, [0.1, 0.95])) >= np.ptp(np.quantile(begin, [0.05, 0.9]))
    size = edges[1] - edges[0]
    bins = [(edges[k], edges[k + 1], np.ones(len(reading.s), bool)) for k in range(DEPTHS)]
    if kind == "rule":                     # long strokes go on beyond the common depths
        for k in range(12):
            a = (high + k * size) if outwards else (low - (k + 1) * size)
            reaches = (end > a + 1.3 * size) if outwards else (begin < a - 0.3 * size)
            if reaches.sum() == 0:
                break
            bins.append((a, a + size, reaches))
    who, depth, place, noise = [], [], [], []
    for a, b, reaches in bins:
        k = np.flatnonzero(reaches)
        s, u = refine(strip, (a, b), reading.s[k], reading.pitch, reading.dark)
        good = np.isfinite(s)
        who.append(k[good])
        depth.append(np.full(int(good.sum()), 0.5 * (a + b - (strip.d[1] - strip.d[0]) * _half_sample(strip, a, b))))
        place.append(s[good])
        noise.append(u[good])
    n, d, s, u = (np.concatenate(part) for part in (who, depth, place, noise))
    if len(s) < 3 * MIN_TICKS:
        return None
    index = reading.index.astype(float)[n]
    scale_i = max(1.0, float(np.ptp(index)) / 2)
    scale_d = max(1.0, float(np.ptp(d)))
    columns = _smooth_model((index - index.mean()) / scale_i, (d - d.mean()) / scale_d)
    keep = np.ones(len(s), bool)
    scatter = 0.0
    for _ in range(5):
        answer, *_ = np.linalg.lstsq(columns[keep], s[keep], rcond=None)
        rest = np.abs(s - columns @ answer)
        scatter = 1.4826 * float(np.median(rest[keep]))
        keep = rest < max(4.0 * scatter, 0.03)
        if keep.sum() < 3 * MIN_TICKS or len(np.unique(n[keep])) < MIN_TICKS:
            return None
    if scatter > MAX_SCATTER * reading.pitch or keep.mean() < 0.6:
        return None
    u = u * max(1.0, scatter / max(float(np.median(u[keep])), 1e-9))
    xy = to_picture(strip.row, s, d)
    ticks = []
    order = reading.index - reading.index.min()
    counts = np.bincount(n[keep], minlength=len(reading.s))
    length = _lengths(strip, reading, begin, end)
    for k in np.flatnonzero(counts >= 2):
        own = keep & (n == k)
        ticks.append(Tick(int(order[k]), xy[own], u[own], float(length[k])))
    if len(ticks) < MIN_TICKS or np.ptp([t.index for t in ticks]) + 1 > 1.6 * len(ticks):
        return None
    ladder, major = read_ladder(np.array([t.index for t in ticks]), np.array([t.length_px for t in ticks]))
    quad, is_body = _body(grey, strip, reading, begin, end)
    neighbours = np.diff([t.points[0] for t in ticks], axis=0)
    pitch = float(np.median(np.hypot(*neighbours.T) / np.diff([t.index for t in ticks])))
    return RuleTicks(tuple(ticks), ladder, major, kind, reading.dark, pitch, scatter, quad, is_body)


def _half_sample(strip: Strip, a: float, b: float) -> float:
    """Mean depth of the samples with a <= d < b, told as a share of a sample below the band's middle."""
    inside = strip.d[(strip.d >= a) & (strip.d < b)]
    return float(((a + b) - 2 * inside.mean()) / (strip.d[1] - strip.d[0])) if len(inside) else 0.0


def _lengths(strip: Strip, reading: Reading, begin: np.ndarray, end: np.ndarray) -> np.ndarray:
    """(n,) visible stroke lengths in px."""
    slope = np.hypot(1.0, 0.0)
    return (end - begin) * slope


def read_ladder(index: np.ndarray, length: np.ndarray) -> tuple[str, int]:
    """("decimal" | "binary" | "unknown", largest recognised step between longer ticks) from the ticks' lengths.

    A step m is recognised when the ticks of one phase modulo m are longer than all but a few of the rest."""
    if len(index) < MIN_TICKS:
        return "unknown", 0
    typical = float(np.median(length))
    recognised = []
    for m in (2, 4, 5, 8, 10, 16, 20, 32, 50, 64):
        if np.ptp(index) < 2 * m:
            break
        best = None
        for phase in range(m):
            own = (index - phase) % m == 0
            if own.sum() < 2 or (~own).sum() < 2:
                continue
            low_own, high_rest = np.quantile(length[own], 0.15), np.quantile(length[~own], 1 - 0.5 / m)
            gain = (np.median(length[own]) - np.median(length[~own])) / typical
            clean = (low_own - np.quantile(length[~own], 0.5)) / typical
            if gain > 0.12 and clean > 0.08 and (best is None or gain > best[0]):
                best = (gain, low_own > high_rest + 0.03 * typical)
        if best is not None:
            recognised.append((m, *best))
    # a step is real when its own ticks stand out from those between; multiples of a real step follow from it
    steps = [m for m, _, pure in recognised if pure]
    if not steps:
        return "unknown", 0
    if any(m % 5 == 0 for m in steps):
        return "decimal", max(m for m in steps if m % 5 == 0)
    return "binary", max(steps)


def _body(grey: np.ndarray, strip: Strip, reading: Reading, begin: np.ndarray, end: np.ndarray) -> tuple[np.ndarray, bool]:
    """The rule's own outline as a quadrilateral: long straight edges parallel to the row, and the two ends across it."""
    row, pitch = strip.row, reading.pitch
    s0, s1 = float(reading.s.min()), float(reading.s.max())
    top, bottom = float(np.median(begin)), float(np.median(end))
    longest = float(np.quantile(end - begin, 0.97))
    reach = max(6.0 * longest, 12 * pitch)
    wide = Row(row.origin, row.along, row.stroke, row.slant, (s0, s1), (top - reach, bottom + reach), row.pitch_range)
    look = cut_strip(grey, wide, max(1.0, (s1 - s0) / 240), max(1.0, pitch / 10))
    up, up_found = _edge_away(look, top, -1, pitch, longest)
    down, down_found = _edge_away(look, bottom, +1, pitch, longest)
    if not up_found:
        up = top - 0.5 * pitch
    if not down_found:
        down = bottom + 0.5 * pitch
    if not up_found and not down_found:
        up, down = top - 1.2 * longest, bottom + 1.2 * longest
    ends = []
    found_ends = []
    inner = (up + 0.12 * (down - up), down - 0.12 * (down - up))
    side = max(12 * pitch, 1.5 * (down - up))
    for way, at in ((-1, s0), (1, s1)):
        near = (at - side, at - 0.0) if way < 0 else (at, at + side)
        across = cut_strip(grey, Row(row.origin, row.along, row.stroke, row.slant, near, inner, row.pitch_range), max(1.0, pitch / 10),
                           max(1.0, (inner[1] - inner[0]) / 60))
        turned = Strip(across.row, across.d, across.s, np.ascontiguousarray(across.values.T), np.ascontiguousarray(across.valid.T))
        place, found = _edge_away(turned, at, way, pitch, 1.0 * pitch)
        ends.append(place if found else at + way * 2.0 * pitch)
        found_ends.append(found)
    s = np.array([ends[0], ends[1], ends[1], ends[0]])
    d = np.array([up, up, down, down])
    return to_picture(row, s, d), bool(up_found and down_found)


def _edge_away(look: Strip, start: float, way: int, pitch: float, skip: float) -> tuple[float, bool]:
    """Depth of the nearest strong straight edge beyond `start`, and whether there is one: a step of one sign all along."""
    step = float(look.d[1] - look.d[0])
    values = cv2.blur(look.values, (1, 3))
    slope = (values[2:] - values[:-2]) / (2 * step)
    slope = np.where(look.valid[2:] & look.valid[:-2], slope, np.nan)
    depth = look.d[1:-1]
    seen = np.isfinite(slope).mean(axis=1) > 0.3
    typical = np.zeros(len(depth))
    agree = np.zeros(len(depth))
    if not seen.any():
        return start, False
    typical[seen] = np.nanmedian(slope[seen], axis=1)
    signs = np.sign(np.nan_to_num(slope[seen]))
    agree[seen] = np.abs(signs.sum(axis=1)) / np.maximum(np.isfinite(slope[seen]).sum(axis=1), 1)
    beyond = (depth * way > start * way - 0.6 * pitch)
    strength = np.abs(typical) * (agree > 0.75) * beyond
    noise = 1.4826 * float(np.median(np.abs(typical[seen & beyond]))) if (seen & beyond).any() else 0.0
    limit = max(4.0 * noise, 0.25 * strength.max(), 0.25)
    peaks = np.flatnonzero(strength > limit)
    if len(peaks) == 0:
        return start, False
    order = peaks if way > 0 else peaks[::-1]
    last = order[0]                        # the whole of the first edge, shadow line included
    best = last
    for k in order[1:]:
        if abs(depth[k] - depth[last]) > max(3 * step, 0.5 * pitch):
            break
        last = k
        if strength[k] > strength[best]:
            best = k
    return float(depth[best]), True


def _grid_rows(cells: _Cells, image: np.ndarray) -> list[tuple[float, Row]]:
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
        part = image[y * CELL:(y + h) * CELL, x * CELL:(x + w) * CELL]
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
            found.append((float(area), Row(centre, normal, stroke, 0.0, (-half_s, half_s), (-half_d, half_d),
                                           (2.2 * cells.factor, 14.0 * cells.factor))))
    return found


def _covered(row: Row, found: list[RuleTicks]) -> bool:
    """True when the row's middle lies on a rule already read with ticks of about its pitch."""
    for rule in found:
        if cv2.pointPolygonTest(rule.quad.astype(np.float32), (float(row.origin[0]), float(row.origin[1])), False) >= 0:
            return True
        ends = np.stack([rule.ticks[0].points.mean(axis=0), rule.ticks[-1].points.mean(axis=0)])
        unit = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
        offset = row.origin - ends[0]
        beside = abs(unit[0] * offset[1] - unit[1] * offset[0])
        if beside < 2.5 * rule.ticks[0].length_px and -0.1 < float(offset @ unit) / np.hypot(*(ends[1] - ends[0])) < 1.1:
            return True
    return False


def find_rules(grey: np.ndarray) -> tuple[RuleTicks, ...]:
    """All rows of graduations in a grey picture (h, w) float32 0..255, most ticks first; empty where there is none."""
    found: list[RuleTicks] = []
    image = grey
    factor = 1
    for level in LEVELS:
        while factor < level and min(image.shape) >= 2 * 12 * CELL:
            image = cv2.resize(image[:image.shape[0] // 2 * 2, :image.shape[1] // 2 * 2], None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
            factor *= 2
        if factor < level:
            break
        cells = _cells(image, factor)
        candidates = sorted(_rows_of_ticks(cells), key=lambda item: -item[0])[:MAX_CANDIDATES]
        for _, row in candidates:
            if not _covered(row, found):
                rule = _measure(grey, row, "rule")
                if rule is not None:
                    found.append(rule)
        grids = [] if factor < 4 else [row for _, row in _grid_rows(cells, image)]
        if grids and not any(_covered(row, found) for row in grids):
            found += [rule for rule in (_measure(grey, row, "grid") for row in grids) if rule is not None]
    return tuple(sorted(found, key=lambda rule: -len(rule.ticks)))
