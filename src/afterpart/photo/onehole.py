"""An opening looked for where the maker points: rims that the search of the whole face missed.

Words: the *patch* is the piece of the picture about the pixel; a *gap* is what the face about it leaves out there, for one
allowance of the face's brightness (the bottom of a hole may be as bright as the face, within its dark wall); its border is a
rough rim.  The gaps whose borders have the strongest edge all round are tried, and their rims traced like any other: as circles
where they are round, freely where not, with the rounding, lean and blur that the picture's other rims showed.  A rim that does
not stand out, runs into another rim or lies off the part is refused.
Limits: what is found is closed and lies on the face of one part; a blind recess as bright as the face all round stays unseen.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np

from afterpart.errors import PhotoError
from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap, Rim
from afterpart.photo.adjust import ground_px_per_mm
from afterpart.photo.load import Picture
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.rimchain import SPACING_PX, resample_closed, signed_area, smooth_closed, start_chain
from afterpart.photo.rimprobe import Course
from afterpart.photo.rims import fit_rims
from afterpart.photo.roundrim import robust_circle, round_guess
from afterpart.photo.shape import RimLook
from afterpart.photo.trace import TracedRim, rim_average, rim_void, trace_circles

LARGEST_SHARE, LARGEST_PX = 0.6, 700
"""A missed opening is no wider than so large a share of the part, and the patch reaches no farther than so many px."""

ALLOWANCES = (0.05, 0.08, 0.12, 0.16, 0.2, 0.25, 0.3, 0.36, 0.43, 0.5)
"""Allowances tried, as shares of the face's brightness."""

BLUR_PX = 1.5
"""Smoothing against grain, standard deviation."""

PATCHES_PX, COARSE_PX = (25, 50, 100, 200, 400), 150.0
"""Half widths of the patches tried; beyond COARSE_PX they are looked at that much more coarsely."""

MOST_TRIED, ALIKE = 4, 0.1
"""So many gaps are traced at most; gaps whose places and sizes differ by less than this share are one."""

SEALS = (1, 3, 7)
"""Breaks of a thin rim that are closed, px of the patch."""

LEAST_PX, LEAST_FULL, MOST_FULL = 4.0, 0.55, 0.6
"""Least radius of a gap in px; least share of its hull that it fills; most of the patch that it may fill."""

LEAST_EVIDENCE, LEAST_ROUND_EVIDENCE = 0.7, 0.6
"""Share of the rim's probes that must see an edge, as for any opening."""

FARTHEST = 1.5
"""A traced rim is no more than so many times as large as its gap, nor smaller by as much."""


def find_opening(picture: Picture, edges: EdgeMap, place: tuple[float, float], others: Sequence[Rim] = ()) -> Rim:
    """The rim of the opening at a pixel.  others: found there before.  Raises PhotoError where nothing closed is seen."""
    camera, where = edges.camera, f"({place[0]:g}, {place[1]:g})"
    if camera is None:
        raise PhotoError("A missed hole cannot be looked for: the place of the camera is not known.")
    if not (0 <= place[0] < camera.width_px and 0 <= place[1] < camera.height_px):
        raise PhotoError(f"hole at pixel {where}: found a place outside the picture, expected one in its {camera.width_px} x "
                         f"{camera.height_px} px. Take the pixel from the upright picture.")
    at = to_plane(camera, np.array([place]), edges.face_height)[0]
    part = _part_about(edges, at, where)
    px = 1 / ground_px_per_mm(camera, at, edges.face_height)
    gaps = _gaps(picture.light, place, _reach(edges, part, px))
    if not gaps:
        raise PhotoError(f"hole at pixel {where}: nothing closed stands out from the face there; expected the inside of an "
                         "opening. Point at its middle; where it is as bright as the face, photograph it over a dark sheet.")
    refused: PhotoError | None = None
    for rough in gaps:
        traced = _traced(picture.light, camera, edges, rough, px)
        try:
            _check(traced, edges, others, rough, px, where)
        except PhotoError as error:
            refused = refused or error
            continue
        doubts = [rim.doubts for rim in edges.rims if rim.part == part and rim.role == "opening"] or [edges.rims[0].doubts]
        return Rim("opening", part, traced.points, traced.u, doubts=tuple(float(v) for v in np.mean(doubts, axis=0)))
    assert refused is not None
    raise refused


def _part_about(edges: EdgeMap, at: np.ndarray, where: str) -> int:
    """Number of the part on whose face a place lies."""
    for rim in edges.rims:
        if rim.role == "outer" and _encloses(rim.points, at):
            return rim.part
    raise PhotoError(f"hole at pixel {where}: found a place beside the part, expected one on its face. Point at "
                     "the hole's middle.")


def _encloses(points: np.ndarray, at: np.ndarray) -> bool:
    return cv2.pointPolygonTest(points.astype(np.float32)[:, None], (float(at[0]), float(at[1])), False) > 0


def _reach(edges: EdgeMap, part: int, px: float) -> int:
    """Half the width of the patch, px."""
    outer = next(rim for rim in edges.rims if rim.role == "outer" and rim.part == part)
    return int(min(LARGEST_PX, LARGEST_SHARE * float(np.ptp(outer.points, axis=0).min()) / px))


def _gaps(light: np.ndarray, place: tuple[float, float], reach: int) -> list[np.ndarray]:
    """Borders (n, 2) px of the likeliest gaps in patches of several sizes, those with the strongest edge all round first."""
    sizes = [size for size in PATCHES_PX if size < reach] + [reach]
    found = sorted((gap for size in sizes for gap in _gaps_within(light, place, size)), key=lambda gap: -gap[0])
    kept: list[np.ndarray] = []
    for _, border in found:
        if len(kept) < MOST_TRIED and not any(_is_like(border, other) for other in kept):
            kept.append(border)
    return kept


def _is_like(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two borders are of one gap."""
    (x, y), (width, height) = one.mean(0) - other.mean(0), np.ptp(other, axis=0)
    size = max(width, height, 1.0)
    return bool(np.hypot(x, y) < ALIKE * size and abs(np.ptp(one, axis=0).max() - size) < 2.0 * ALIKE * size)


def _gaps_within(light: np.ndarray, place: tuple[float, float], reach: int) -> list[tuple[float, np.ndarray]]:
    """Scores and borders (n, 2) px of gaps in a patch of half width `reach`; large patches are looked at coarsely."""
    column, row = int(place[0]), int(place[1])
    left, top = max(column - reach, 0), max(row - reach, 0)
    patch = cv2.GaussianBlur(np.ascontiguousarray(light[top:row + reach, left:column + reach]), (0, 0), BLUR_PX)
    coarse = max(1.0, reach / COARSE_PX)
    patch = cv2.resize(patch, None, fx=1.0 / coarse, fy=1.0 / coarse, interpolation=cv2.INTER_AREA)
    slope = np.hypot(cv2.Sobel(patch, cv2.CV_32F, 1, 0), cv2.Sobel(patch, cv2.CV_32F, 0, 1))
    seed = min(int((column - left) / coarse), patch.shape[1] - 1), min(int((row - top) / coarse), patch.shape[0] - 1)
    found = []
    for level in _levels(patch):
        off = np.abs(patch - level) / level
        for share in ALLOWANCES:
            for seal in SEALS:
                border = _border((off < share).astype(np.uint8), seed, seal)
                if border is None:
                    continue
                # the weakest tenth of the border speaks for all of it
                along = cv2.dilate(slope, np.ones((seal, seal), np.uint8))[border[:, 1], border[:, 0]]
                score = float(np.quantile(along, 0.1) + 0.2 * np.median(along)) / level
                found.append((score, (border + 0.5) * coarse + (left, top)))
    return found


def _levels(patch: np.ndarray) -> list[float]:
    """Brightness of what the patch mostly shows, and of what it shows next: the face is one of them."""
    counts, edges = np.histogram(patch, 64)
    smooth = np.convolve(counts, [1.0, 2.0, 3.0, 2.0, 1.0], "same")
    peaks = [k for k in range(1, 63) if smooth[k] >= smooth[k - 1] and smooth[k] > smooth[k + 1]]
    peaks.sort(key=lambda k: -smooth[k])
    return [float(max(0.5 * (edges[k] + edges[k + 1]), 1e-3)) for k in peaks[:2]]


def _border(face: np.ndarray, seed: tuple[int, int], seal: int) -> np.ndarray | None:
    """Border (n, 2) of the gap in a face (1 where it is seen) about the seed; None where that is no closed opening.
    seal: breaks in a thin rim up to this wide (px) are closed."""
    round_ = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (seal, seal))
    _, labels = cv2.connectedComponents(cv2.erode(face, round_), connectivity=4)
    frame = np.concatenate([labels[0], labels[-1], labels[:, 0], labels[:, -1]])
    if not frame.any():
        return None
    about = int(np.argmax(np.bincount(frame[frame > 0])))
    gaps = (cv2.dilate((labels == about).astype(np.uint8), round_) == 0).astype(np.uint8)
    gaps = cv2.morphologyEx(gaps, cv2.MORPH_OPEN, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (5, 5)))
    _, labels = cv2.connectedComponents(gaps, connectivity=4)
    own = labels[seed[1], seed[0]]
    contours, _ = cv2.findContours((labels == own).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if own == 0 or not contours:
        return None
    border = max(contours, key=cv2.contourArea)
    area, hull = cv2.contourArea(border), cv2.contourArea(cv2.convexHull(border))
    border = border[:, 0]
    at_edge = (border <= 1).any() or (border >= np.array(face.shape[::-1]) - 2).any()
    if at_edge or area < np.pi * LEAST_PX**2 or area < LEAST_FULL * hull or area > MOST_FULL * face.size:
        return None
    return border


def _traced(light: np.ndarray, camera: Camera, edges: EdgeMap, rough: np.ndarray, px: float) -> TracedRim:
    """The exact rim from a rough one, px."""
    shape = RimShape(edges.face_height, edges.edge_radius, float(np.tan(np.radians(edges.draft_deg))), camera.position[2])
    look = RimLook(shape, Spread(edges.blur_px, edges.sharpening), True, np.zeros((0, 1)), np.zeros((0, 2)))
    chain = start_chain(camera, rough, edges.face_height, True, px, 2.0 * px)
    guess = round_guess(chain, px, 5.0, 0.05)
    if guess is not None:
        # holes of one size are seen in one light: those that are drawn already tell it
        drawn = [robust_circle(rim.points) for rim in edges.rims if rim.role == "opening"]
        alike = [(centre, radius, True) for centre, radius, scatter in drawn if scatter < 1e-3 * radius]
        circle, *_ = trace_circles(light, camera, [(*guess, True), *alike], look, px)
        if circle is not None:
            return circle
    for reach in (8.0, 5.0, 3.0):
        course = Course(chain, reach, rim_void(chain, px, True, reach), rim_average(chain, px, True))
        rim, = fit_rims(light, camera, [course], shape, px, look.spread)
        chain = resample_closed(smooth_closed(rim.points, 1.0), SPACING_PX * px)
    return TracedRim(True, rim.points, rim.u, None, 0.0, rim.points, float((rim.gain > 1.0 * rim.samples).mean()))


def _check(traced: TracedRim, edges: EdgeMap, others: Sequence[Rim], rough: np.ndarray, px: float, where: str) -> None:
    """Raises PhotoError for a rim that is none, or one that is drawn already."""
    assert edges.camera is not None
    least = LEAST_ROUND_EVIDENCE if traced.centre is not None else LEAST_EVIDENCE
    if traced.evidence < least:
        raise PhotoError(f"hole at pixel {where}: only {100 * traced.evidence:.0f} % of the rim there shows an edge, expected at "
                         f"least {100 * least:.0f} %. It may be a stain, or blind; light it from the side and photograph it "
                         "again.")
    size = abs(signed_area(traced.points)) / max(abs(signed_area(to_plane(edges.camera, rough, edges.face_height))), 1e-9)
    if not FARTHEST**-2 < size < FARTHEST**2:
        raise PhotoError(f"hole at pixel {where}: the rim found is {size**0.5:.1f} times as large as what is seen there, "
                         "expected about as large. Point at the hole's middle, clear of shadows.")
    for rim in (*edges.rims, *others):
        near = float(np.hypot(*(rim.points[:, None] - traced.points[None, ::4]).transpose(2, 0, 1)).min())
        if near < 2 * px and not (rim.role == "opening" and _is_same(rim.points, traced.points)):
            at = project_plane(edges.camera, rim.points.mean(0)[None], edges.face_height)[0]
            raise PhotoError(f"hole at pixel {where}: found a rim that runs into another ({rim.role} about pixel ({at[0]:.0f}, "
                             f"{at[1]:.0f})), expected one clear of it. Point at the hole's middle.")


def _is_same(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two rims (n, 2) are of one opening: whether that is drawn already is for the drawing to say."""
    sizes = abs(signed_area(one)), abs(signed_area(other))
    return _encloses(one, other.mean(0)) and _encloses(other, one.mean(0)) and max(sizes) < 1.5 * min(sizes)
