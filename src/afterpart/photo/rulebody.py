"""The outline of a rule around its ticks, so that the rule is never taken for a part.

The two long edges are looked for beyond the strokes' ends, then the ends across them: the nearest place where the grey value
steps with one sign all along.  Limits: a body edge that does not show (paper on paper) is replaced by the ticks' surroundings.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np

from afterpart.photo.ticks import Row, Strip, cut_strip, to_picture


def find_body(
    grey: np.ndarray, row: Row, span: tuple[float, float], pitch: float, begin: np.ndarray, end: np.ndarray
) -> tuple[np.ndarray, bool]:
    """The rule's own outline around its ticks: ((4, 2) px, whether both long edges were found).

    span: first and last tick along the row; begin, end: (n,) depths of the strokes' ends.  The two long edges are looked for
    in quarters of the row (perspective makes them converge), then the two ends across it."""
    s0, s1 = span
    top, bottom = float(np.quantile(begin, 0.03)), float(np.quantile(end, 0.97))
    longest = max(bottom - top, 2 * pitch)
    reach = max(6.0 * longest, 12 * pitch)
    columns = max(0.37 * pitch, (s1 - s0) / 400)
    look = cut_strip(grey, replace(row, s_range=(s0, s1), d_range=(top - reach, bottom + reach)), columns, max(1.0, pitch / 8))
    lines, sure = [], []
    for way, at in ((-1, top), (1, bottom)):
        places = []
        for part in np.array_split(np.arange(len(look.s)), 4):
            quarter = Strip(look.row, look.s[part], look.d, look.values[:, part], look.valid[:, part])
            place, found = edge_away(quarter, at - 0.3 * way * pitch, way, pitch)
            if found:
                places.append((float(look.s[part].mean()), place))
        line = _common_line(places, 0.4 * pitch)
        sure.append(line is not None)
        lines.append(line if line is not None else np.array([at + way * 0.5 * pitch, 0.0]))
    if not any(sure):
        lines = [np.array([top - longest, 0.0]), np.array([bottom + longest, 0.0])]
    corners = []
    for way, at in ((-1, s0), (1, s1)):
        up, down = (line[0] + line[1] * at for line in lines)
        inner = up + 0.1 * (down - up), down - 0.1 * (down - up)
        side = max(12 * pitch, 1.5 * (down - up))
        near = (at - side, at) if way < 0 else (at, at + side)
        across = cut_strip(
            grey, replace(row, s_range=near, d_range=inner), max(1.0, pitch / 8), max(1.0, (inner[1] - inner[0]) / 80)
        )
        turned = Strip(
            across.row, across.d, across.s, np.ascontiguousarray(across.values.T), np.ascontiguousarray(across.valid.T)
        )
        place, found = edge_away(turned, at + way * 0.7 * pitch, way, pitch)
        place = place if found else at + way * 2.0 * pitch
        corners += [(place, lines[0][0] + lines[0][1] * place), (place, lines[1][0] + lines[1][1] * place)]
    s, d = np.array([corners[0], corners[2], corners[3], corners[1]]).T
    return to_picture(row, s, d), bool(all(sure))


def _common_line(places: list[tuple[float, float]], near: float) -> np.ndarray | None:
    """(offset, slope) of the line most of the (s, d) places agree on, the nearest and steadiest pair deciding; else None."""
    best = None
    for k, (s_a, d_a) in enumerate(places):
        for s_b, d_b in places[k + 1 :]:
            slope = (d_b - d_a) / (s_b - s_a)
            hits = [(s, d) for s, d in places if abs(d_a + slope * (s - s_a) - d) < near]
            if len(hits) >= 3 and abs(slope) < 0.15 and (best is None or len(hits) > len(best)):
                best = hits
    if best is None:
        return None
    s, d = np.array(best).T
    slope, offset = np.polyfit(s, d, 1)
    return np.array([offset, slope])


def edge_away(look: Strip, start: float, way: int, pitch: float) -> tuple[float, bool]:
    """Depth of the nearest clear straight edge beyond `start`, and whether there is one: a step of one sign all along.

    A shadow line beside an edge belongs to it: of steps within half a pitch of the first the strongest is taken."""
    step = float(look.d[1] - look.d[0])
    values = cv2.blur(look.values, (1, 3))
    slope = (values[2:] - values[:-2]) / (2 * step)
    depth = look.d[1:-1]
    good = look.valid[2:] & look.valid[:-2]
    share = good.mean(axis=0)
    columns = share >= max(0.8 * share.max(), 0.05)
    seen = good[:, columns].all(axis=1) if columns.any() else np.zeros(len(depth), bool)
    beyond = seen & (depth * way > start * way)
    if beyond.sum() < 5:
        return start, False
    slope = slope[:, columns]
    typical = np.median(slope, axis=1)
    strength = np.abs(typical) * (np.abs(np.sign(slope).mean(axis=1)) > 0.6) * beyond
    noise = 1.4826 * float(np.median(np.abs(typical[beyond])))
    peaks = np.flatnonzero(strength > max(4.0 * noise, 0.25 * strength.max(), 0.25))
    if len(peaks) == 0:
        return start, False
    order = peaks if way > 0 else peaks[::-1]
    last = best = order[0]
    for k in order[1:]:
        if abs(depth[k] - depth[last]) > max(3 * step, 0.5 * pitch):
            break
        last = k
        if strength[k] > strength[best]:
            best = k
    return float(depth[best]), True
