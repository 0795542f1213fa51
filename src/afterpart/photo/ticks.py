"""Reads one row of ticks to sub-pixel points, given roughly where the row lies.

Words: *along* (s), the direction in which the ticks follow one another; *depth* (d), the direction of the strokes; *slant*,
how the strokes' direction turns along the row (perspective).
A strip of the picture is resampled once in (s, d); each tick is then the zero of a Gaussian-weighted first moment of the profile
across it, at several depths.  Limits: strokes narrower than half their pitch, pitch 5 px and more, at least MIN_TICKS of them.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

MIN_TICKS = 11
MAX_GAP = 14  # graduations that something lying on the rule may hide
MIN_STRENGTH = 0.30  # of the row's median contrast


@dataclass(frozen=True)
class Row:
    """Where a row of ticks roughly lies: origin and unit directions (px); from where to where along and in depth."""

    origin: np.ndarray
    along: np.ndarray
    stroke: np.ndarray
    slant: float  # change of the stroke's shear per px along
    s_range: tuple[float, float]
    d_range: tuple[float, float]
    pitch_range: tuple[float, float]


@dataclass(frozen=True)
class Reading:
    """Ticks as read in a row's own (s, d) frame."""

    index: np.ndarray  # (n,) whole numbers
    s: np.ndarray  # (n,) position at depth d = middle of band
    band: tuple[float, float]
    pitch: float
    dark: bool
    strength: np.ndarray  # (n,)


@dataclass(frozen=True)
class Strip:
    """A resampled strip: values (nd, ns) float32, NaN-free; valid (nd, ns) bool."""

    row: Row
    s: np.ndarray
    d: np.ndarray
    values: np.ndarray
    valid: np.ndarray


def to_picture(row: Row, s: np.ndarray, d: np.ndarray) -> np.ndarray:
    """(.., 2) px of strip coordinates: the slant makes strokes of equal s stand along the picture's strokes."""
    shear = d * row.slant * s
    return row.origin + (s + shear)[..., None] * row.along + d[..., None] * row.stroke


def cut_strip(grey: np.ndarray, row: Row, step_s: float, step_d: float) -> Strip:
    """Resample the row's strip (linear, exact on a ramp).  Points outside the picture repeat its border and are not valid."""
    s = np.arange(row.s_range[0], row.s_range[1], step_s, dtype=np.float32)
    d = np.arange(row.d_range[0], row.d_range[1], step_d, dtype=np.float32)
    run = s[None, :] + (d * np.float32(row.slant))[:, None] * s[None, :]
    x = run * np.float32(row.along[0]) + (np.float32(row.origin[0] - 0.5) + d * np.float32(row.stroke[0]))[:, None]
    y = run * np.float32(row.along[1]) + (np.float32(row.origin[1] - 0.5) + d * np.float32(row.stroke[1]))[:, None]
    high, wide = grey.shape
    valid = (x > 0) & (x < wide - 1) & (y > 0) & (y < high - 1)
    values = cv2.remap(grey, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    s, d = s.astype(float), d.astype(float)
    return Strip(row, s, d, values, valid)


def find_pitch(signal: np.ndarray, step: float, pitch_range: tuple[float, float]) -> tuple[float, float]:
    """(pitch px, share of the signal's power that repeats with it) from the autocorrelation of a 1-D profile."""
    wide = max(3, int(1.5 * pitch_range[1] / step) | 1)
    rough = signal - cv2.blur(signal.reshape(1, -1), (wide, 1), borderType=cv2.BORDER_REPLICATE).ravel()
    limit = 3.0 * np.std(rough) + 1e-6
    rough = np.clip(rough, -limit, limit)
    n = len(rough)
    size = cv2.getOptimalDFTSize(2 * n)
    spectrum = np.fft.rfft(rough, size)
    correlation = np.fft.irfft(np.abs(spectrum) ** 2, size)[:n] / np.maximum(n - np.arange(n), n // 4)
    correlation /= max(correlation[0], 1e-9)
    low, high = int(pitch_range[0] / step), min(int(pitch_range[1] / step) + 2, n // 3)
    inner = correlation[1:-1]
    peaks = np.flatnonzero((inner > correlation[:-2]) & (inner >= correlation[2:])) + 1
    peaks = peaks[(peaks >= low) & (peaks <= high)]
    if len(peaks) == 0:
        return 0.0, 0.0
    best = correlation[peaks].max()
    if best <= 0.0:
        return 0.0, 0.0
    first = peaks[correlation[peaks] >= 0.7 * best][0]
    a, b, c = correlation[first - 1 : first + 2]
    return (first + 0.5 * (a - c) / (a - 2 * b + c)) * step, float(correlation[first])


def _follow(place: np.ndarray, pitch: float, start: int) -> list[tuple[int, int]]:
    """Number the candidates along the row from candidate `start` both ways: [(candidate, index)].

    The next tick is looked for one local pitch on; a gap is bridged when the rhythm goes on behind it."""
    got = {start: 0}
    for way in (1, -1):
        chain_s, chain_i = [place[start]], [0]
        if way < 0:  # start with what the other way has learnt
            both = sorted((i, c) for c, i in got.items())[:10]
            chain_s, chain_i = [place[c] for _, c in both][::-1], [i for i, _ in both][::-1]
        while True:
            local = pitch
            if len(chain_i) >= 4:
                tail_i, tail_s = np.array(chain_i[-10:], float), np.array(chain_s[-10:])
                centred = tail_i - tail_i.mean()
                local = float(centred @ tail_s / (centred @ centred))
                if not 0.8 * pitch < local < 1.25 * pitch:
                    break
            found = False
            for hop in range(1, MAX_GAP + 2):
                expected = chain_s[-1] + way * hop * local
                k = int(np.argmin(np.abs(place - expected)))
                near = (0.22 if hop == 1 else 0.18) * local
                if abs(place[k] - expected) > near or k in got:
                    if expected < place[0] - pitch or expected > place[-1] + pitch:
                        break
                    continue
                if hop > 2 and not _goes_on(place, place[k], way * local, near):
                    continue
                got[k] = chain_i[-1] + way * hop
                chain_s.append(place[k])
                chain_i.append(got[k])
                found = True
                break
            if not found:
                break
    return sorted(got.items(), key=lambda item: item[1])


def _goes_on(place: np.ndarray, at: float, pitch: float, near: float) -> bool:
    """True when four further ticks follow `at` in the rhythm."""
    expected = at + pitch * np.arange(1, 5)
    return bool((np.abs(place[None, :] - expected[:, None]).min(axis=1) < near * 1.5).all())


def read_ticks(strip: Strip, band: tuple[float, float], pitch: float) -> Reading | None:
    """Find and number the ticks from the mean profile of a band of depths; None where there is no steady rhythm."""
    rows = (strip.d >= band[0]) & (strip.d <= band[1])
    if rows.sum() < 2:
        return None
    step = float(strip.s[1] - strip.s[0])
    profile = strip.values[rows].mean(axis=0)
    usable = strip.valid[rows].all(axis=0)
    wide = max(3, int(round(pitch / step)) | 1)
    flat = profile - cv2.blur(profile.reshape(1, -1), (wide, 1), borderType=cv2.BORDER_REPLICATE).ravel()
    smooth = cv2.GaussianBlur(flat.reshape(1, -1), (0, 0), max(0.7, 0.12 * pitch) / step, borderType=cv2.BORDER_REPLICATE).ravel()
    clipped = np.clip(flat[usable], *np.quantile(flat[usable], [0.02, 0.98])) if usable.any() else flat[:0]
    if len(clipped) < MIN_TICKS * pitch / step * 0.5:
        return None
    dark = bool((clipped - np.median(clipped)).mean() < 0)
    if dark:
        smooth = -smooth
    inner = smooth[1:-1]
    peak = np.flatnonzero((inner > smooth[:-2]) & (inner >= smooth[2:]) & (inner > 0)) + 1
    peak = peak[usable[peak]]
    if len(peak) < MIN_TICKS:
        return None
    a, b, c = smooth[peak - 1], smooth[peak], smooth[peak + 1]
    place = strip.s[0] + (peak + 0.5 * (a - c) / np.minimum(a - 2 * b + c, -1e-9)) * step
    height = b
    # the ticks' own contrast: strong peaks about one pitch from the next
    strong = height > 0.5 * np.quantile(height, 0.9)
    if strong.sum() < 4:
        return None
    typical = float(np.median(height[strong]))
    keep = height > MIN_STRENGTH * typical
    place, height = place[keep], height[keep]
    spacing = np.diff(place)
    good = np.abs(spacing - pitch) < 0.2 * pitch
    if good.sum() < MIN_TICKS - 3:
        return None
    run = np.convolve(good.astype(float), np.ones(7), "same")
    start = int(np.argmax(run * good))
    chain = _follow(
        place, float(np.median(spacing[max(0, start - 3) : start + 4][good[max(0, start - 3) : start + 4]])), start
    )
    picked = np.array([k for k, _ in chain])
    index = np.array([i for _, i in chain])
    if len(index) < MIN_TICKS:
        return None
    steps = np.diff(place[picked]) / np.diff(index)
    return Reading(index, place[picked], band, float(np.median(steps)), dark, height[picked])


def stroke_width(strip: Strip, reading: Reading) -> float:
    """Full width at half height of the row's mean stroke, px."""
    rows = (strip.d >= reading.band[0]) & (strip.d <= reading.band[1])
    profile = strip.values[rows].mean(axis=0)
    step = float(strip.s[1] - strip.s[0])
    reach = int(0.5 * reading.pitch / step)
    j = np.clip(np.rint((reading.s - strip.s[0]) / step).astype(int)[:, None] + np.arange(-reach, reach + 1), 0, len(profile) - 1)
    mean = np.median(profile[j], axis=0)
    mean = mean.max() - mean if reading.dark else mean - mean.min()
    half = 0.5 * (mean[reach] + np.quantile(mean, 0.2))
    low = mean < half
    right, left = low[reach:], low[reach::-1]
    return float((int(right.argmax()) + int(left.argmax()) - 1) * step) if right.any() and left.any() else 0.3 * reading.pitch


def refine(
    strip: Strip, depth: tuple[float, float], start: np.ndarray, pitch: float, dark: bool, width: float
) -> tuple[np.ndarray, np.ndarray]:
    """Sub-pixel s of ticks near `start` (n,) in a band of depths, and their u_px by the noise of the profile's fine grain.

    The place x solves  sum_j f(s_j) (s_j - x) w(s_j - x) = 0  with w Gaussian and f the tick's contrast above its surroundings:
    the extremum of the smoothed profile, unbiased for symmetric strokes.  NaN where it does not settle near the start."""
    step = float(strip.s[1] - strip.s[0])
    rows = (strip.d >= depth[0]) & (strip.d < depth[1])
    if not rows.any():
        return np.full(len(start), np.nan), np.full(len(start), np.inf)
    values = strip.values[rows]
    profile = values.mean(axis=0).astype(float)
    usable = strip.valid[rows].all(axis=0)
    sigma = max(0.9, min(0.6 * width, 0.16 * pitch))
    reach = int(np.ceil(3.0 * sigma / step)) + 1
    x = start.copy()
    grain = np.median(np.abs(profile[2:] - 2 * profile[1:-1] + profile[:-2])) / 0.6745 / np.sqrt(6.0) + 0.05
    slope = np.ones(len(x))
    spread = np.ones(len(x))
    inside = np.ones(len(x), bool)
    for _ in range(4):
        j = np.round((x - strip.s[0]) / step).astype(int)[:, None] + np.arange(-reach, reach + 1)[None, :]
        inside = (j[:, 0] >= 0) & (j[:, -1] < len(profile))
        j = np.clip(j, 0, len(profile) - 1)
        inside &= usable[j].all(axis=1)
        t = strip.s[j] - x[:, None]
        w = np.exp(-0.5 * (t / sigma) ** 2)
        f = profile[j]
        f = f - (f * w).sum(axis=1, keepdims=True) / w.sum(axis=1, keepdims=True)
        moment = (f * t * w).sum(axis=1)
        slope = (f * w * (t * t / sigma**2 - 1.0)).sum(axis=1)
        spread = np.sqrt(((t * w) ** 2).sum(axis=1))
        move = -moment / np.where(np.abs(slope) < 1e-9, 1e-9, slope)
        x = x + np.clip(move, -0.3 * sigma, 0.3 * sigma)
    right_sign = (slope > 0) if dark else (slope < 0)
    ok = inside & right_sign & (np.abs(x - start) < 0.25 * pitch)
    u = grain * spread / np.maximum(np.abs(slope), 1e-9)
    return np.where(ok, x, np.nan), np.where(ok, u, np.inf)


def _contrast(strip: Strip, s: np.ndarray, slope: np.ndarray, middle: float, pitch: float, dark: bool) -> np.ndarray:
    """(nd, n) how much each stroke stands out from the gaps on both of its sides, depth by depth (the lesser of the two)."""
    step = float(strip.s[1] - strip.s[0])
    line = s[None, :] + slope[None, :] * (strip.d[:, None] - middle)
    row = np.arange(len(strip.d))[:, None]

    def at(offset: float) -> np.ndarray:
        j = (line + (offset - strip.s[0])) / step
        j0 = np.clip(j.astype(int), 0, strip.values.shape[1] - 2)
        part = np.clip(j - j0, 0, 1)
        return (1 - part) * strip.values[row, j0] + part * strip.values[row, j0 + 1]

    one, other = at(-0.38 * pitch), at(0.38 * pitch)
    return (np.minimum(one, other) - at(0.0) if dark else at(0.0) - np.maximum(one, other)).astype(np.float32)


def common_band(strip: Strip, reading: Reading) -> tuple[float, float] | None:
    """The depths that nearly every tick reaches, from where the row's typical contrast holds; crossing lines are bridged."""
    contrast = _contrast(strip, reading.s, np.zeros(len(reading.s)), 0.0, reading.pitch, reading.dark)
    typical = cv2.blur(np.median(contrast, axis=1).reshape(-1, 1).astype(np.float32), (1, 3)).ravel()
    inside = (strip.d >= reading.band[0]) & (strip.d <= reading.band[1])
    level = float(np.median(typical[inside]))
    if level <= 0:
        return None
    step = float(strip.d[1] - strip.d[0])
    bridge = int(0.35 * reading.pitch / step) | 1
    loud = (
        cv2.morphologyEx(
            (typical > 0.5 * level).astype(np.uint8).reshape(-1, 1), cv2.MORPH_CLOSE, np.ones((max(bridge, 1), 1), np.uint8)
        ).ravel()
        > 0
    )
    start = int(np.argmax(np.where(inside, typical, -np.inf)))
    quiet = np.flatnonzero(~loud)
    before, after = quiet[quiet < start], quiet[quiet > start]
    low = int(before[-1]) + 1 if len(before) else 0
    high = int(after[0]) - 1 if len(after) else len(loud) - 1
    return (float(strip.d[low]), float(strip.d[high])) if high > low else None


def solidity(strip: Strip, reading: Reading) -> float:
    """Share of the strokes' common depth where they are really there: about 1 for ticks, less for lines of text."""
    contrast = _contrast(strip, reading.s, np.zeros(len(reading.s)), 0.0, reading.pitch, reading.dark)
    fine = max(3, int(0.12 * reading.pitch / (strip.d[1] - strip.d[0])) | 1)
    inside = cv2.blur(contrast, (1, fine))[(strip.d >= reading.band[0]) & (strip.d <= reading.band[1])]
    return float((inside > 0.35 * np.median(inside, axis=0)).mean()) if inside.size else 0.0


def stroke_ends(
    strip: Strip, s: np.ndarray, slope: np.ndarray, band: tuple[float, float], pitch: float, dark: bool
) -> tuple[np.ndarray, np.ndarray]:
    """(start, end) depth of each stroke: where its contrast against both neighbours' gaps falls under half that in the band."""
    middle = 0.5 * (band[0] + band[1])
    contrast = _contrast(strip, s, slope, middle, pitch, dark)
    bridge = np.ones((int(0.35 * pitch / (strip.d[1] - strip.d[0])) | 1, 1), np.uint8)
    contrast = cv2.blur(contrast, (1, 3))
    inside = (strip.d >= band[0]) & (strip.d <= band[1])
    half = 0.5 * np.median(contrast[inside], axis=0)
    low = cv2.morphologyEx((contrast >= np.maximum(half, 1e-3)).astype(np.uint8), cv2.MORPH_CLOSE, bridge) == 0
    first = int(np.argmin(np.abs(strip.d - middle)))
    below, above = low[first:], low[: first + 1][::-1]
    end = np.where(below.any(axis=0), below.argmax(axis=0), len(below) - 1) + first
    begin = first - np.where(above.any(axis=0), above.argmax(axis=0), len(above) - 1)
    return strip.d[begin], strip.d[end]
