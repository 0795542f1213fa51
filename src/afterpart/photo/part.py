"""Parts among the objects on the table: the region of the face, its outer contour, and what breaks it.

Words: an object's *barrier* is the closed line of steepest brightness round it; a shadow fades slowly and so never forms the
steepest one.  The *face* is the part of the region that is smooth and of one brightness; what interrupts it is an opening, or a
*ring* when face lies inside it again (facebreaks.py).  Contours here are rough (to about a millimetre); rims.py makes them exact.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from afterpart.photo.facebreaks import breaks_of, largest_contour
from afterpart.photo.hue import off_hue
from afterpart.photo.passing import passing_bands, without_threads
from afterpart.photo.table import Objects, quadratic, quadratic_grid

FACE_PX = 1000
"""Longest side of the crop in which a face is looked at."""

BARE_SHARE = 0.05
"""A wider barrier is the outer one when this share of its rim no longer looks like table inside."""

TABLE_LIKE = 0.4
"""What differs from the table by less than this share of the part's contrast looks like it."""

FRAME_STEPS, FRAME_FLOOR = 14, 3.0
"""In so many steps the barrier round a light frame is looked for, down to this steepness."""

FRAME_ALIKE, FRAME_DROP, FRAME_GAPS = 0.25, 0.5, 0.02
"""A frame's face differs by less of its contrast from one rim to the other, keeps less of it just beyond its outer rim, and is
missing along less of its inner one."""

LEAST_FACE = 0.6
"""The face's outline holds this share of the region at least, or it is not the face."""

BRIDGE_PX, BRIDGE_SHARE = 6.0, 0.1
"""A frame narrower than so many px of the view shows no bare face; its opening is wider than this share of the view."""

BAND_PX = 12.0
"""Width of the band along the outline that is taken for face, in px of the view."""

CUT_SHARE = 0.01
"""A part is cut off when this share of its contour runs along the end of what was looked at."""


@dataclass(frozen=True)
class FaceSurface:
    """Brightness of the bare face as a quadratic of the picture's pixels: value = quadratic((col - col0) / size, ...) @
    coefficients."""

    col0: float
    row0: float
    size: float
    coefficients: tuple[float, ...]
    scatter: float

    def at(self, px: np.ndarray) -> np.ndarray:
        """Brightness (...) at pixels (..., 2)."""
        return quadratic((px[..., 0] - self.col0) / self.size, (px[..., 1] - self.row0) / self.size) @ np.array(self.coefficients)

    def over(self, columns: np.ndarray, rows: np.ndarray) -> np.ndarray:
        """Brightness (h, w) at all pixels of columns (w,) and rows (h,)."""
        return quadratic_grid((columns - self.col0) / self.size, (rows - self.row0) / self.size, np.array(self.coefficients))


@dataclass(frozen=True)
class SeenRing:
    """outer: rough contour (n, 2) in picture px of a strip in the face; island: of what it encloses, None for an open one."""

    outer: np.ndarray
    island: np.ndarray | None


@dataclass(frozen=True)
class PartRegion:
    """outer, openings: rough contours (n, 2) in picture px; rings: strips of shade where walls run; face: its brightness;
    area_px: of the outer contour; cut: "" for a whole part, else what cuts it: "border" of the picture, "sheet" (its edge) or
    "reference" (one that lies over it); face_seen: False where the face did not stand out, so that openings were not looked
    for."""

    outer: np.ndarray
    openings: tuple[np.ndarray, ...]
    rings: tuple[SeenRing, ...]
    face: FaceSurface | None
    area_px: float
    cut: str
    face_seen: bool = True


def find_parts(grey: np.ndarray, objects: Objects, least_area_px: float) -> tuple[PartRegion, ...]:
    """Parts from the largest down.  least_area_px: smaller objects are dirt."""
    scale, out = objects.scale, []
    count = int(objects.labels.max()) + 1
    areas = np.bincount(objects.labels.ravel(), minlength=count)
    gradient = _gradient(objects.small)
    for label in np.argsort(-areas[1:])[:40] + 1:
        if areas[label] < least_area_px * scale**2 * 0.5:
            break
        found = _barrier(objects, gradient, int(label))
        if found is None:
            continue
        contour, cut = found
        rough = (contour + 0.5) / scale
        if cv2.contourArea(rough.astype(np.float32)) >= least_area_px:
            out.append(_look_at_face(grey, objects, rough, cut))
    return tuple(sorted(out, key=lambda p: -p.area_px))


def _gradient(small: np.ndarray) -> np.ndarray:
    steep = np.zeros(small.shape[:2], np.float32)
    for channel in cv2.split(cv2.GaussianBlur(small, (0, 0), 0.8)):
        cv2.accumulateSquare(cv2.Sobel(channel, cv2.CV_32F, 1, 0, scale=0.125), steep)
        cv2.accumulateSquare(cv2.Sobel(channel, cv2.CV_32F, 0, 1, scale=0.125), steep)
    return cv2.sqrt(steep)


def _barrier(objects: Objects, gradient: np.ndarray, label: int) -> tuple[np.ndarray, str] | None:
    """Contour (n, 2) in reduced px of the region behind the strongest closed barrier of one object, and what cuts it off."""
    mask = (objects.labels == label).astype(np.uint8)
    x, y, w, h = cv2.boundingRect(mask)
    height, width = mask.shape
    x0, y0, x1, y1 = max(x - 6, 0), max(y - 6, 0), min(x + w + 6, width), min(y + h + 6, height)
    filled = mask[y0:y1, x0:x1].copy()
    outer, _ = cv2.findContours(filled, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(filled, outer, -1, 1, -1)
    steep = gradient[y0:y1, x0:x1]
    small = objects.small[y0:y1, x0:x1]
    table = _usual_colour(small[filled == 0])
    off_table = _off_table(small, table)
    full = int(filled.sum())
    # an object that runs out of the picture or off the sheet has no barrier there: a wall keeps the flood from coming in
    wall = filled & (_near_end(objects.zone, 3)[y0:y1, x0:x1])

    def enclosed(threshold: float) -> np.ndarray:
        free = (((steep < threshold) & (wall == 0)) | (filled == 0)).astype(np.uint8)
        free = cv2.copyMakeBorder(free, 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=1)
        cv2.floodFill(free, None, (0, 0), 2, flags=4)
        return cv2.morphologyEx((free[1:-1, 1:-1] != 2).astype(np.uint8), cv2.MORPH_OPEN, np.ones((5, 5), np.uint8))

    low, high = 1.0, float(steep.max()) + 1.0
    for _ in range(9):
        middle = (low * high) ** 0.5
        if enclosed(middle).sum() > 0.25 * full:
            low = middle
        else:
            high = middle
    region = enclosed(low)
    # a frame round a big opening: the opening's barrier may be the strongest, the outer one is still far steeper than a shadow
    for share in (0.7, 0.5, 0.35):
        wider = enclosed(max(low * share, 4.0))
        grows = wider.sum() > 1.25 * region.sum() and _sharp(wider, steep, low * share)
        if grows or _bare(region, off_table) > _bare(wider, off_table) + BARE_SHARE:
            region = wider
    for share in 0.5 ** np.linspace(1, 3.5, FRAME_STEPS):
        # the first that closes: a lower threshold takes in shadow
        wider = enclosed(max(low * share, FRAME_FLOOR))
        if full < filled.size and _is_frame(region, wider, small, table):
            region = wider
            break
    found, _ = cv2.findContours(region, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not found:
        return None
    contour = max(found, key=cv2.contourArea)[:, 0, :].astype(float)
    at = contour + [x0, y0]
    return at, _cut_by(objects, at.astype(int))


def _near_end(zone: np.ndarray, reach: int) -> np.ndarray:
    """1 where the zone (h, w) of 0 and 1 ends within `reach` pixels, at the picture's border too."""
    beyond = cv2.copyMakeBorder(1 - zone, reach, reach, reach, reach, cv2.BORDER_CONSTANT, value=1)
    return cv2.dilate(beyond, np.ones((2 * reach + 1, 2 * reach + 1), np.uint8))[reach:-reach, reach:-reach]


def _cut_by(objects: Objects, contour: np.ndarray) -> str:
    """What ends a contour (n, 2) of reduced px before the part ends: "border", "sheet", "reference", or "" for nothing."""
    height, width = objects.zone.shape
    col, row = contour.T
    at_end = _near_end(objects.zone, 2)[row, col] > 0
    if at_end.mean() < CUT_SHARE:
        return ""
    border = (col < 3) | (row < 3) | (col > width - 4) | (row > height - 4)
    by_reference = cv2.dilate(objects.taken, np.ones((7, 7), np.uint8))[row, col] > 0
    counts = {"border": int((at_end & border).sum()), "reference": int((at_end & ~border & by_reference).sum()),
              "sheet": int((at_end & ~border & ~by_reference).sum())}
    return max(counts, key=lambda k: counts[k])


def _usual_colour(colours: np.ndarray) -> np.ndarray:
    """Median (3,) of 8-bit colours (n, 3), black where there are none."""
    if not len(colours):
        return np.zeros(3)
    # eight bits are counted sooner than sorted
    below = [np.bincount(channel, minlength=256).cumsum() for channel in colours.T]
    return np.array([0.5 * sum(np.searchsorted(own, (len(colours) - 1, len(colours)) // np.array(2), "right")) for own in below])


def _off_table(small: np.ndarray, table: np.ndarray) -> np.ndarray:
    """How far each pixel (h, w) is from the usual colour (3,) of the table round an object."""
    off = [channel.astype(np.float32) - np.float32(usual) for channel, usual in zip(cv2.split(small), table, strict=True)]
    return np.sqrt(off[0] * off[0] + off[1] * off[1] + off[2] * off[2])


def _bare(region: np.ndarray, off_table: np.ndarray) -> float:
    """Share of a region's rim that looks like table just inside: there the far side of an opening was taken for the outside."""
    inner = _just_inside(region)
    if not inner.any():
        return 0.0
    contrast = float(np.quantile(off_table[inner > 0], 0.75))
    return float((off_table[inner > 0] < TABLE_LIKE * contrast).mean())


def _is_frame(inner: np.ndarray, outer: np.ndarray, small: np.ndarray, table: np.ndarray) -> bool:
    """True when face lies between the regions (h, w) of two barriers: one level from rim to rim, and a step to the table, of this
    colour (3,), beyond.

    A light frame stands out from the table by less than the shade in its opening does, so that the opening's barrier is the
    stronger one.  A shadow between the two would fade outwards instead of ending in a step, and lies on one side only."""
    bands = (_just_outside(inner), _just_inside(outer), _just_outside(outer))
    if not all(band.any() for band in bands) or (bands[0] & ~outer & 1).sum() > FRAME_GAPS * bands[0].sum():
        return False
    around, within, beyond = (np.median(small[band > 0], axis=0) - table for band in bands)
    face = float(np.linalg.norm(around))
    return bool(np.linalg.norm(within - around) < FRAME_ALIKE * face and np.linalg.norm(beyond) < FRAME_DROP * face)


def _just_inside(region: np.ndarray) -> np.ndarray:
    """1 in a band (h, w) two to four px within the region's rim."""
    return cv2.erode(region, np.ones((5, 5), np.uint8)) & ~cv2.erode(region, np.ones((9, 9), np.uint8))


def _just_outside(region: np.ndarray) -> np.ndarray:
    """1 in a band (h, w) three to six px beyond the region's rim."""
    return cv2.dilate(region, np.ones((13, 13), np.uint8)) & ~cv2.dilate(region, np.ones((7, 7), np.uint8))


def _sharp(region: np.ndarray, steep: np.ndarray, threshold: float) -> bool:
    """True when the region's rim is a step, not a fading shadow: steep pixels form a thin band along it."""
    inner = region & ~cv2.erode(region, np.ones((3, 3), np.uint8))
    deep = cv2.erode(region, np.ones((17, 17), np.uint8)) & ~cv2.erode(region, np.ones((25, 25), np.uint8))
    if not inner.any() or not deep.any():
        return False
    return float(np.median(steep[deep > 0])) < 0.4 * threshold


def _look_at_face(grey: np.ndarray, objects: Objects, rough: np.ndarray, cut: str) -> PartRegion:
    """The face inside a rough contour (n, 2) px, its openings and rings."""
    area = float(cv2.contourArea(rough.astype(np.float32)))
    margin = int(8 + 1.5 / objects.scale)
    low = np.maximum(np.floor(rough.min(0)).astype(int) - margin, 0)
    high = np.minimum(np.ceil(rough.max(0)).astype(int) + margin, [grey.shape[1], grey.shape[0]])
    crop = grey[low[1]:high[1], low[0]:high[0]]
    scale = min(1.0, FACE_PX / max(crop.shape))
    view = cv2.resize(crop, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA) if scale < 1 else crop
    region = np.zeros(view.shape, np.uint8)
    cv2.drawContours(region, [np.round((rough - low) * scale).astype(np.int32)], -1, 1, -1)
    soft = cv2.GaussianBlur(view, (0, 0), 1.2)
    core = cv2.erode(region, np.ones((9, 9), np.uint8))
    face = _fit_face(soft, core, low, scale)
    plain = PartRegion(rough, (), (), face, area, cut, False)
    if face is None:
        return plain
    expected = face.over(low[0] + (np.arange(view.shape[1]) + 0.5) / scale, low[1] + (np.arange(view.shape[0]) + 0.5) / scale)
    steep = cv2.magnitude(cv2.Sobel(soft, cv2.CV_32F, 1, 0, scale=0.125), cv2.Sobel(soft, cv2.CV_32F, 0, 1, scale=0.125))
    usual = 1.4826 * float(np.median(steep[core > 0])) + 1e-6
    level = ((np.abs(soft - expected) < 4 * face.scatter) & (steep < 4 * usual) & (region > 0)).astype(np.uint8)
    level = cv2.morphologyEx(level, cv2.MORPH_OPEN, np.ones((3, 3), np.uint8))
    level = without_threads(level, (soft - expected) / face.scatter, steep / usual)
    level &= 1 - passing_bands(level, (soft - expected) / face.scatter)
    seeds = _large_pieces(level, 0.02 * float(level.sum()))
    grown = cv2.dilate(seeds, np.ones((5, 5), np.uint8)) & region
    outer = largest_contour(grown)
    if outer is None or cv2.contourArea(outer) < LEAST_FACE * float(region.sum()):
        # a frame may be too narrow somewhere to show any face there
        grown = _bridged(grown, region)
        outer = largest_contour(grown)
    if outer is None or cv2.contourArea(outer) < LEAST_FACE * float(region.sum()):
        return plain

    def to_px(contour: np.ndarray) -> np.ndarray:
        return low + (contour[:, 0, :] + 0.5) / scale

    inside = np.zeros_like(region)
    cv2.drawContours(inside, [outer], -1, 1, -1)
    # a part of two colours has its outline from its brightness: hue only opens what lies within
    unlike = off_hue(objects, rough, low, scale, level.shape)
    around = np.ones((5, 5), np.uint8)
    # what bridges a narrow frame shows no face: it is not taken away again
    grown &= cv2.dilate(level & (1 - unlike), around) | (1 - cv2.dilate(level, around))
    level &= 1 - unlike
    openings, rings = breaks_of(inside, grown, soft, level)
    walls = tuple(SeenRing(to_px(ring.outer), None if ring.island is None else to_px(ring.island)) for ring in rings)
    return PartRegion(to_px(outer), tuple(map(to_px, openings)), walls, face, area, cut)


def _fit_face(soft: np.ndarray, core: np.ndarray, low: np.ndarray, scale: float) -> FaceSurface | None:
    rows, cols = np.nonzero(core)
    if len(rows) < 100:
        return None
    pick = slice(None, None, max(1, len(rows) // 6000))
    rows, cols = rows[pick], cols[pick]
    value = soft[rows, cols].astype(np.float64)
    size = max(soft.shape) / scale
    design = quadratic((cols + 0.5) / scale / size, (rows + 0.5) / scale / size)
    # in a frame most of what the outline holds is the table seen through it; along the outline there is only face
    inward = cv2.distanceTransform(cv2.copyMakeBorder(core, 1, 1, 1, 1, cv2.BORDER_CONSTANT), cv2.DIST_L2, 5)[1:-1, 1:-1]
    count, edge = np.histogram(soft[(inward > 0) & (inward < BAND_PX)], 128, (0, 256))
    mode = edge[np.convolve(count, [1, 2, 1], "same").argmax()] + 1
    weight = (np.abs(value - mode) < 12).astype(float) + 1e-6
    coefficient, scatter = np.zeros(6), 1.0
    for _ in range(8):
        coefficient = np.linalg.lstsq(design * weight[:, None], value * weight, rcond=None)[0]
        off = value - design @ coefficient
        scatter = max(0.4, 1.4826 * float(np.median(np.abs(off[weight > 0.5])))) if (weight > 0.5).any() else 0.4
        weight = 1 / (1 + (off / (2.5 * scatter)) ** 4)
    return FaceSurface(float(low[0]), float(low[1]), size, tuple(coefficient.tolist()), scatter)


def _bridged(grown: np.ndarray, region: np.ndarray) -> np.ndarray:
    """The face (h, w) joined along the outline where an opening comes so near to it that no bare face is left between."""
    inward = cv2.distanceTransform(cv2.copyMakeBorder(region, 1, 1, 1, 1, cv2.BORDER_CONSTANT), cv2.DIST_L2, 5)[1:-1, 1:-1]
    open_inside = ((region > 0) & (grown == 0) & (inward > BRIDGE_PX)).astype(np.uint8)
    # a wall seen along the outline is a strip, no opening
    strip = int(BRIDGE_SHARE * max(region.shape))
    open_inside = cv2.morphologyEx(open_inside, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (strip, strip)))
    reach = int(2 * BRIDGE_PX) + 5
    near = cv2.dilate(open_inside, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach)))
    return grown | (near & region & (inward <= BRIDGE_PX)).astype(np.uint8)


def _large_pieces(mask: np.ndarray, least: float) -> np.ndarray:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    keep = np.zeros(count, np.uint8)
    keep[1:] = stats[1:, cv2.CC_STAT_AREA] > least
    return keep[labels]
