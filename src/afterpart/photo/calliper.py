"""Finds an open calliper: two jaw faces that look at each other, hanging from a beam; nothing need be pointed at.

Words: *face*, the inner, straight edge of a jaw, where the measured thing would touch; *gap*, what lies between the faces;
*root* and *tip*, the ends of a face at the beam and away from it; *rim*, the upper edge of a face: beyond it one may see the
face's wall and its shadow, so a rim is the first step met coming from the jaw's own even surface.
Straight segments of a reduced picture suggest a beam's edge with a face standing on it; the second face is looked for
as its parallel, along the gap, even where it hardly shows.  Limits: faces at least 4 % of the picture's diagonal long, and their
jaws wider than a few pixels; a part shaped like an arch can be taken for a calliper, so ask only where one is expected.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.model.references import CalliperJaws, EdgeLine
from afterpart.photo.edgeprofile import linear_light, sample

SEARCH_SIDE = 672  # longer side of the picture in which segments are looked for, px
MAX_JAW_WIDTH = 0.6  # of a face's length
CHUNK_PX = 14.0  # rows averaged for one point of a line
MAX_POINTS = 60
SIGMA_PX = 1.2
MAX_SLOPE = 0.03  # by which a suggested face may be off, px per px
MOST_ARCHES = 24  # that are looked at closely: a frame beside the calliper suggests a dozen of its own


@dataclass(frozen=True)
class _Segment:
    """A straight edge: ends, unit direction, length, and the unit normal towards its brighter side."""

    start: np.ndarray
    end: np.ndarray
    way: np.ndarray
    length: float
    bright: np.ndarray

    def at(self, share: float) -> np.ndarray:
        return self.start + share * (self.end - self.start)


@dataclass(frozen=True)
class _Arch:
    """A suggested calliper: beam edge, roots and tips of two faces (px), and whether the jaws are darker (> 0) than the table."""

    score: float
    roots: tuple[np.ndarray, np.ndarray]
    tips: tuple[np.ndarray, np.ndarray]
    dark: float


def find_jaws(grey: np.ndarray) -> CalliperJaws | None:
    """The jaw faces of an open calliper in a grey picture (h, w) float32 0..255; None where there is no such arch.

    left and right are as seen with the beam above and the tips below, whatever the picture's rotation."""
    segments = _segments(grey)
    for arch in _arches(grey, segments)[:MOST_ARCHES]:
        jaws = _read_arch(grey, arch, segments)
        if jaws is not None:
            return jaws
    return None


def _segments(grey: np.ndarray) -> list[_Segment]:
    factor = max(1, round(max(grey.shape) / SEARCH_SIDE))
    small = cv2.resize(
        grey[: grey.shape[0] // factor * factor, : grey.shape[1] // factor * factor],
        None,
        fx=1 / factor,
        fy=1 / factor,
        interpolation=cv2.INTER_AREA,
    )
    detector = cv2.createLineSegmentDetector(cv2.LSD_REFINE_STD, 0.8, 0.6, 1.0, 22.5)
    lines = detector.detect(np.clip(np.rint(small), 0, 255).astype(np.uint8))[0]
    found = []
    shortest = 0.02 * float(np.hypot(*grey.shape))
    for line in () if lines is None else lines.reshape(-1, 4).astype(float):
        start, end = (line[:2] + 0.5) * factor, (line[2:] + 0.5) * factor
        length = float(np.hypot(*(end - start)))
        if length < shortest:
            continue
        way = (end - start) / length
        side = np.array([-way[1], way[0]])
        probe = start + (end - start) * np.linspace(0.1, 0.9, 15)[:, None]
        brighter = float(np.mean(sample(grey, probe + 1.2 * factor * side) - sample(grey, probe - 1.2 * factor * side)))
        found.append(_Segment(start, end, way, length, side if brighter > 0 else -side))
    return found


def _arches(grey: np.ndarray, segments: list[_Segment]) -> list[_Arch]:
    """Suggestions, best first: a beam edge, a face standing on it, and its parallel across the gap (seen, or to be proved)."""
    diagonal = float(np.hypot(*grey.shape))
    found: list[_Arch] = []
    for beam in segments:
        if beam.length < 0.06 * diagonal:
            continue
        for face in segments:
            if face is beam or face.length < 0.04 * diagonal or abs(float(face.way @ beam.way)) > 0.14:
                continue
            down = face.way if float((face.at(0.5) - beam.at(0.5)) @ face.way) > 0 else -face.way
            root, tip = (face.start, face.end) if float((face.end - face.start) @ down) > 0 else (face.end, face.start)
            # the beam's edge runs from near this root over the gap to the other one
            ends = sorted(((float(np.hypot(*(end - root))), k) for k, end in enumerate((beam.start, beam.end))))
            if ends[0][0] > 0.25 * face.length or beam.length < 0.3 * face.length:
                continue
            far = beam.end if ends[0][1] == 0 else beam.start
            gap = (far - root) - down * float((far - root) @ down)
            gap_px = float(np.hypot(*gap))
            across = gap / max(gap_px, 1e-9)
            polarity = float(face.bright @ across) * float(beam.bright @ down)
            if gap_px < 0.3 * face.length or polarity <= 0:
                continue  # face and beam must bound the same thing: both bright inside the gap, or both dark
            inwards = float(face.bright @ across)
            if (
                _outer_segment(segments, root, tip, -across, inwards) is None
                or _outer_segment(segments, far, tip + (far - root), across, inwards) is None
            ):
                continue
            for other in segments:  # a partner that shows
                if abs(float(other.way @ face.way)) < 0.99 or float(other.bright @ across) * float(face.bright @ across) >= 0:
                    continue
                o_root, o_tip = (
                    (other.start, other.end) if float((other.end - other.start) @ down) > 0 else (other.end, other.start)
                )
                reach = float((o_root - root) @ across)
                if (
                    not 0.7 * gap_px < reach < 1.4 * gap_px
                    or abs(float((o_tip - tip) @ down)) > 0.15 * face.length
                    or other.length < 0.5 * face.length
                ):
                    continue
                found.append(
                    _Arch(face.length + other.length + 0.3 * min(beam.length, reach), (root, o_root), (tip, o_tip), inwards)
                )
            found.append(_Arch(face.length + 0.3 * beam.length, (root, far), (tip, tip + (far - root)), inwards))
    return sorted(found, key=lambda arch: -arch.score)


def _read_arch(grey: np.ndarray, arch: _Arch, segments: list[_Segment]) -> CalliperJaws | None:
    """Both faces to sub-pixel points, further straight edges, regions; None where one of the faces cannot be proved."""
    (root_a, root_b), (tip_a, tip_b) = arch.roots, arch.tips
    across = root_b - root_a
    across = across / np.hypot(*across)
    line_a = _rim(grey, root_a, tip_a, across, "face")
    line_b = _rim(grey, root_b, tip_b, -across, "face")
    if line_a is None or line_b is None:
        return None
    way_a, way_b = _way(line_a), _way(line_b)
    if abs(float(way_a @ way_b)) < 0.997:
        return None
    jaws = []
    for root, tip, outwards in ((root_a, tip_a, -across), (root_b, tip_b, across)):
        segment = _outer_segment(segments, root, tip, outwards, arch.dark)
        line = _rim(grey, segment.start, segment.end, outwards, "along") if segment is not None else None
        if line is None:
            return None
        jaws.append(line)
    ends = _end_step(grey, line_a, jaws[0], tip_a), _end_step(grey, line_b, jaws[1], tip_b)
    if min(ends) <= 0 or _closing_step(grey, line_a, line_b, tip_a, tip_b) > 0.3 * min(ends):
        return None
    down = tip_a - root_a
    is_left_a = float(across[0] * down[1] - across[1] * down[0]) > 0
    tips = _across_lines(grey, arch, segments, across)
    quads = tuple(_jaw_quad(line, outer) for line, outer in zip((line_a, line_b), jaws, strict=True))
    beam_quad, beam_lines = _beam(grey, arch, segments, across)
    left, right = (line_a, line_b) if is_left_a else (line_b, line_a)
    return CalliperJaws(
        EdgeLine("left face", left.points, left.u_px),
        EdgeLine("right face", right.points, right.u_px),
        tuple(jaws) + tips + beam_lines,
        quads + (beam_quad,),
    )


def _way(line: EdgeLine) -> np.ndarray:
    """Unit direction of a line's points, first to last."""
    centred = line.points - line.points.mean(axis=0)
    way = np.linalg.svd(centred, full_matrices=False)[2][0]
    return way if float((line.points[-1] - line.points[0]) @ way) > 0 else -way


def _rim(grey: np.ndarray, start: np.ndarray, end: np.ndarray, outwards: np.ndarray, role: str) -> EdgeLine | None:
    """Points on the rim near the segment start-end: the first clear step coming from the body, which lies against `outwards`."""
    way = end - start
    length = float(np.hypot(*way))
    way = way / length
    normal = outwards - way * float(outwards @ way)
    normal = normal / np.hypot(*normal)
    light, corner = _light_around(grey, start, end)
    trim = min(0.1 * length, 40.0)
    reach = float(np.clip(0.06 * length, 14.0, 40.0))
    if length - 2 * trim < 24:
        return None
    along = np.arange(trim, length - trim, max(1.0, length / 600))
    t = np.arange(-reach, reach + 0.25, 0.5)
    count = int(np.clip(len(along) / CHUNK_PX, 6, MAX_POINTS))
    chunks = np.array_split(np.arange(len(along)), count)
    where = np.array([along[part].mean() for part in chunks])
    slope = 0.0
    for turn in range(3):  # the segment may be a degree or two off: straighten, then look again
        shear = slope * (along - along.mean())
        values = sample(
            light, (start - corner + along[:, None] * way)[:, None, :] + (t[None, :] + shear[:, None])[..., None] * normal
        )
        profiles = np.array([values[part].mean(axis=0) for part in chunks])
        if turn == 0:
            slope = _sharpest_slope(profiles, where, t)
            continue
        offset, step = _first_step(profiles.mean(axis=0), t)
        if step == 0:
            return None
        place = np.array([_step_near(slopes, t, offset, step) for slopes in _gradients(profiles, t)])
        fitted = _steady_line(where, place, np.isfinite(place))
        if fitted is None:
            return None
        line, keep, scatter = fitted
        if scatter > 1.0 or keep.sum() < 0.4 * count:
            return None
        place = place + slope * (where - along.mean())
        slope += float(line[0])
        if abs(line[0]) * length < 1.0:
            break
    points = start + where[keep, None] * way + place[keep, None] * normal
    return EdgeLine(role, points, np.full(int(keep.sum()), max(scatter, 0.02)))


def _light_around(grey: np.ndarray, start: np.ndarray, end: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(share of light in a box around a segment, the box's top left corner in px): an edge lies where half the light is."""
    low = np.maximum(np.floor(np.minimum(start, end) - 60), 0).astype(int)
    high = np.ceil(np.maximum(start, end) + 60).astype(int)
    return linear_light(grey[low[1] : max(high[1], low[1] + 2), low[0] : max(high[0], low[0] + 2)]), low.astype(float)


def _sharpest_slope(profiles: np.ndarray, where: np.ndarray, t: np.ndarray) -> float:
    """Slope (px per px along) at which the profiles (k, m), shifted on to one another, give the strongest step together."""
    step = float(t[1] - t[0])
    slopes = np.linspace(-MAX_SLOPE, MAX_SLOPE, 25)
    shift = np.rint(slopes[:, None] * (where - where.mean()) / step).astype(int)
    place = np.clip(np.arange(len(t)) + shift[..., None], 0, len(t) - 1)
    means = profiles[np.arange(len(profiles))[:, None], place].mean(axis=1)
    steepest = np.abs(_gradients(means, t)[:, 4:-4]).max(axis=1)
    return float(slopes[len(slopes) - 1 - int(np.argmax(steepest[::-1]))])


def _gradient(profile: np.ndarray, t: np.ndarray) -> np.ndarray:
    """Slope of the smoothed profile, grey levels per px."""
    return _gradients(profile.reshape(1, -1), t)[0]


def _gradients(profiles: np.ndarray, t: np.ndarray) -> np.ndarray:
    """Slopes of the smoothed profiles (m, n), grey levels per px."""
    step = float(t[1] - t[0])
    smooth = cv2.GaussianBlur(
        profiles.astype(np.float32), (0, 0), sigmaX=SIGMA_PX / step, sigmaY=1e-3, borderType=cv2.BORDER_REPLICATE
    )
    return np.gradient(smooth, step, axis=1)


def _first_step(profile: np.ndarray, t: np.ndarray) -> tuple[float, int]:
    """(offset, sign) of the first step that stands clear of the body's own unevenness; sign 0 where there is none."""
    slope = _gradient(profile, t)
    body = slope[: max(8, len(t) // 5)]
    limit = max(6.0 * float(np.std(body)) + abs(float(np.mean(body))), 0.2 * float(np.abs(slope).max()), 0.5)
    for k in range(1, len(t) - 1):
        if abs(slope[k]) > limit and abs(slope[k]) >= abs(slope[k - 1]) and abs(slope[k]) >= abs(slope[k + 1]):
            return float(t[k]), int(np.sign(slope[k]))
    return 0.0, 0


def _step_near(slope: np.ndarray, t: np.ndarray, near: float, sign: int) -> float:
    """Sub-pixel place of the strongest step of that sign within 3 px of `near`; NaN where there is none inside.  slope: of the
    smoothed profile."""
    slope = sign * slope
    window = np.flatnonzero(np.abs(t - near) <= 3.0)
    k = int(window[np.argmax(slope[window])])
    if k in (window[0], window[-1]) or slope[k] <= 0:
        return float("nan")
    a, b, c = slope[k - 1 : k + 2]
    return float(t[k] + 0.5 * (a - c) / min(a - 2 * b + c, -1e-9) * (t[1] - t[0]))


def _steady_line(x: np.ndarray, y: np.ndarray, ok: np.ndarray) -> tuple[np.ndarray, np.ndarray, float] | None:
    """((slope, offset), points kept, robust scatter) of a straight line; None with fewer than five points."""
    keep, line, scatter = ok.copy(), np.zeros(2), 0.0
    for _ in range(5):
        if keep.sum() < 5:
            return None
        line = np.polyfit(x[keep], y[keep], 1)
        rest = np.where(ok, np.abs(y - np.polyval(line, x)), np.inf)
        scatter = 1.4826 * float(np.median(rest[keep]))
        keep = rest < max(3.5 * scatter, 0.08)
    return line, keep, scatter


def _outer_segment(
    segments: list[_Segment], root: np.ndarray, tip: np.ndarray, outwards: np.ndarray, dark: float
) -> _Segment | None:
    """The jaw's other long edge: the nearest segment about parallel to the face root-tip, on the jaw's side, ending at its tip.

    dark: positive where the jaw is darker than the table (its face is brighter towards the gap)."""
    length = float(np.hypot(*(tip - root)))
    way = (tip - root) / length
    normal = outwards - way * float(outwards @ way)
    normal = normal / np.hypot(*normal)
    start, end = np.array([s.start for s in segments]), np.array([s.end for s in segments])
    off = (0.5 * (start + end) - 0.5 * (root + tip)) @ normal
    along = np.sort(np.stack([(start - root) @ way, (end - root) @ way]), axis=0)
    overlap = np.minimum(along[1], length) - np.maximum(along[0], 0.0)
    parallel = np.abs(np.array([s.way for s in segments]) @ way) > 0.96
    good = (
        parallel
        & (off > 0.03 * length)
        & (off < MAX_JAW_WIDTH * length)
        & (overlap > 0.4 * length)
        & (np.abs(along[1] - length) < 0.25 * length)
        & (np.array([s.bright for s in segments]) @ normal * dark > 0)
    )
    return segments[int(np.argmin(np.where(good, off, np.inf)))] if good.any() else None


def _end_step(grey: np.ndarray, face: EdgeLine, outer: EdgeLine, tip: np.ndarray) -> float:
    """Strength (grey levels per px) of the jaw's end at its tip; 0 where no even surface lies between both edges and ends."""
    way = _way(face)
    base = face.points.mean(axis=0)
    if float((tip - base) @ way) < 0:
        way = -way
    length = abs(float((face.points[-1] - face.points[0]) @ way))
    other = outer.points.mean(axis=0)
    other = other - way * float((other - base) @ way)
    lines = base + np.linspace(0.2, 0.8, 9)[:, None] * (other - base)
    along = np.linspace(-0.4, 0.4, 60) * length
    unevenness = float(np.std(np.median(sample(grey, lines[:, None, :] + along[None, :, None] * way), axis=1)))
    strength, quiet = _strongest_across(grey, lines, way, float((tip - base) @ way), 0.15 * length)
    rim = base + along[:, None] * way
    normal = (other - base) / np.hypot(*(other - base))
    step = abs(float(np.mean(sample(grey, rim + 3.0 * normal)) - np.mean(sample(grey, rim - 3.0 * normal))))
    return strength if unevenness < max(0.25 * step, 5.0) and strength > max(5.0 * quiet, 1.0) else 0.0


def _closing_step(grey: np.ndarray, face_a: EdgeLine, face_b: EdgeLine, tip_a: np.ndarray, tip_b: np.ndarray) -> float:
    """Strength of an edge across the gap between the tips: a calliper has none there, a window has."""
    way = _way(face_a)
    base = face_a.points.mean(axis=0)
    if float((tip_a - base) @ way) < 0:
        way = -way
    length = abs(float((face_a.points[-1] - face_a.points[0]) @ way))
    over = tip_b - tip_a
    worst = 0.0
    for low, high in ((0.1, 0.4), (0.35, 0.65), (0.6, 0.9)):
        lines = tip_a + np.linspace(low, high, 25)[:, None] * over
        worst = max(worst, _strongest_across(grey, lines, way, 0.0, 0.15 * length)[0])
    return worst


def _strongest_across(grey: np.ndarray, lines: np.ndarray, way: np.ndarray, at: float, reach: float) -> tuple[float, float]:
    """(strongest step, usual slope) of the mean profile along `way` from lines' starting points, near distance `at`."""
    run = np.arange(at - reach, at + reach, 1.0)
    slope = np.abs(_gradient(sample(grey, lines[:, None, :] + run[None, :, None] * way).mean(axis=0), run))[4:-4]
    return float(slope.max()), float(np.median(slope))


def _across_lines(grey: np.ndarray, arch: _Arch, segments: list[_Segment], across: np.ndarray) -> tuple[EdgeLine, ...]:
    """The jaws' ends: short segments at the tips, square to the faces."""
    found = []
    for (root, tip), outwards in zip(zip(arch.roots, arch.tips, strict=True), (-across, across), strict=True):
        length = float(np.hypot(*(tip - root)))
        down = (tip - root) / length
        for segment in segments:
            near = min(float(np.hypot(*(end - tip))) for end in (segment.start, segment.end))
            if near < 0.08 * length and abs(float(segment.way @ down)) < 0.06 and float((segment.at(0.5) - tip) @ outwards) > 0:
                line = _rim(grey, segment.start, segment.end, down, "across")
                if line is not None:
                    found.append(line)
                break
    return tuple(found)


def _jaw_quad(face: EdgeLine, outer: EdgeLine) -> np.ndarray:
    """(4, 2) corners of a jaw from its two long edges, lengthened a little at both ends."""
    way = _way(face)
    ends = [np.sort((line.points - face.points.mean(axis=0)) @ way) for line in (face, outer)]
    first, last = min(e[0] for e in ends), max(e[-1] for e in ends)
    margin = 0.12 * (last - first)
    corners = []
    for line in (face, outer):
        own = _way(line)
        own = own if float(own @ way) > 0 else -own
        base = line.points.mean(axis=0)
        shift = float((base - face.points.mean(axis=0)) @ way)
        corners.append((base + own * (first - margin - shift), base + own * (last + margin - shift)))
    return np.array([corners[0][0], corners[0][1], corners[1][1], corners[1][0]])


def _beam(grey: np.ndarray, arch: _Arch, segments: list[_Segment], across: np.ndarray) -> tuple[np.ndarray, tuple[EdgeLine, ...]]:
    """Region of the beam and its long edges, from the segments in line with the roots and parallel above them."""
    root_a, root_b = arch.roots
    down = arch.tips[0] - root_a
    length = float(np.hypot(*down))
    down = down - across * float(down @ across)
    down = down / np.hypot(*down)
    inner, outer = [], []
    for segment in segments:
        if abs(float(segment.way @ across)) < 0.99:
            continue
        above = -float((segment.at(0.5) - root_a) @ down)
        if abs(above) < 0.06 * length and float(segment.bright @ down) * _brightness_of_gap(grey, arch, down) > 0:
            inner.append(segment)
        elif 0.05 * length < above < 1.2 * length and segment.length > 0.4 * float((root_b - root_a) @ across):
            outer.append((above, segment))
    lines = []
    extent = [float((p - root_a) @ across) for p in (root_a, root_b)]
    for segment in inner:
        extent += [float((p - root_a) @ across) for p in (segment.start, segment.end)]
        if segment.length > 0.25 * length:
            line = _rim(grey, segment.start, segment.end, down, "across")
            if line is not None:
                lines.append(line)
    height = 0.3 * length
    if outer:
        height, top = max(outer, key=lambda item: item[1].length)
        extent += [float((p - root_a) @ across) for p in (top.start, top.end)]
        line = _rim(grey, top.start, top.end, -down, "across")
        if line is not None:
            lines.append(line)
    margin = 0.02 * length
    low, high = min(extent) - margin, max(extent) + margin
    base = root_a + down * margin
    quad = np.array(
        [
            base + across * low,
            base + across * high,
            base + across * high - down * (height + 2 * margin),
            base + across * low - down * (height + 2 * margin),
        ]
    )
    return quad, tuple(lines)


def _brightness_of_gap(grey: np.ndarray, arch: _Arch, down: np.ndarray) -> float:
    """+1 where the gap is brighter than the beam, -1 where it is darker."""
    middle = 0.5 * (arch.roots[0] + arch.roots[1])
    step = 0.06 * float(np.hypot(*(arch.tips[0] - arch.roots[0])))
    difference = sample(grey, np.array([middle + step * down, middle - step * down]))
    return 1.0 if float(difference[0] - difference[1]) > 0 else -1.0
