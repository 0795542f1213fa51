"""From what was sighted to a camera: a first guess, then the joint adjustment, and how well it knows the scale."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from afterpart.errors import PhotoError
from afterpart.model.camera import Camera
from afterpart.model.edges import Note
from afterpart.model.job import Shot, Span
from afterpart.photo.adjust import FocalPrior, Observations, adjust_camera, overhead_camera
from afterpart.photo.consistency import budget_notes, pulls
from afterpart.photo.leading import HEIGHT_GUESS_U, HELD_TILT_DEG, Lead, lead_reference, weigh_references
from afterpart.photo.load import Picture
from afterpart.photo.reference import Sighted, gauge
from afterpart.photo.sheetpose import STIFF_U
from afterpart.units import MM_PER_INCH

FOCAL_ROUNDING, FOCAL_NOMINAL_U = 0.29, 0.004
"""A stated 35 mm-equivalent focal length is rounded to whole mm (standard uncertainty of that, mm), and nominal (relative;
judgement)."""

UNTOLD_FOCALS = ((26.5, 0.1, 0.0, "main camera"), (60.0, 0.5, -2.0, "other camera"))
"""Focal lengths (35 mm equivalent, relative standard uncertainty, log odds) of a phone that does not say; judgement."""

SCAN_U = 0.002


@dataclass(frozen=True)
class Pose:
    """camera; unit "mm" or "px"; kind of reference; relative_u of the scale at the reference; observations and focal as adjusted,
    so that the part's own regularity can be added; strong: the references know the tilt; extra: the part's own regularity, where
    it was added; apart: relative doubt left by references that disagree."""

    camera: Camera
    unit: str
    kind: str
    relative_u: float
    observations: tuple[Observations, ...]
    focal: FocalPrior
    strong: bool
    notes: tuple[Note, ...] = field(default=())
    extra: tuple[Observations, ...] = ()
    apart: float = 0.0

    @property
    def tilt_u_deg(self) -> float:
        """Prior of the tilt in the adjustment: how a camera is held, where the references do not tell."""
        return np.inf if self.strong else HELD_TILT_DEG


def solve_pose(picture: Picture, sighted: Sighted, shot: Shot) -> Pose:
    """Camera over the table.  Raises PhotoError when the reference contradicts every camera."""
    shape = (picture.grey.shape[0], picture.grey.shape[1])
    if shot.scan_dpi is not None:
        return _scan(shape, shot.scan_dpi)
    if shot.span is not None:
        _check_span(shot.span, shape)
    focals = _focal_priors(picture)
    notes = [] if picture.focal_35mm else [Note("focal_unknown", "The picture does not say its focal length; a usual phone's "
                                                "was assumed "
                                                "and left to the reference to correct. Say --focal-35mm MM if you know it.")]
    if not sighted.kinds:
        return _unknown_size(shape, focals[0], notes)
    lead = lead_reference(shape, sighted, shot, focals)
    tilt_u = np.inf if lead.strong else HELD_TILT_DEG
    camera = lead.camera if lead.kind == "sheet" else _settled(lead, tilt_u)
    found = weigh_references(camera, lead, sighted, shot)
    observations = [*found.lead.observations, *found.others]
    notes += [*lead.notes, *found.notes]
    if found.others:
        fitted = adjust_camera(camera if found.lead is lead else found.lead.camera, observations, lead.focal, tilt_u_deg=tilt_u)
        camera = fitted.camera
        notes += budget_notes(pulls(fitted, observations, lead.focal), [note.code for note in notes])
    elif found.lead is not lead:
        camera = found.lead.camera
    return Pose(camera, "mm", "+".join(found.kinds), found.relative_u, tuple(observations), lead.focal, lead.strong,
                (*notes, *_height_note(camera, found.kinds, shot)), apart=found.apart)


def _settled(lead: Lead, tilt_u: float) -> Camera:
    """The camera over a leading reference that is no sheet.  First the pose alone: tilt, distance and focal length can make up
    for each other so nearly that an adjustment of all at once stops on the way, far from the focal length that was stated."""
    stiff = replace(lead.focal, relative_u=STIFF_U)
    lens = (STIFF_U, STIFF_U)
    start = adjust_camera(lead.camera, lead.observations, stiff, robust=False, lens_u=lens, tilt_u_deg=tilt_u).camera
    return adjust_camera(start, lead.observations, lead.focal, tilt_u_deg=tilt_u).camera


def _check_span(span: Span, shape: tuple[int, int]) -> None:
    for x, y in ((span.x1, span.y1), (span.x2, span.y2)):
        if not (0 <= x <= shape[1] and 0 <= y <= shape[0]):
            raise PhotoError(f"The picked point {x:g},{y:g} lies outside the picture; expected 0 to {shape[1]} across and 0 to "
                             f"{shape[0]} down.")


def refine_pose(pose: Pose, extra: Sequence[Observations]) -> Pose:
    """The pose with further observations (the part's own regularity) added."""
    if not extra:
        return pose
    fitted = adjust_camera(pose.camera, [*pose.observations, *extra], pose.focal, tilt_u_deg=pose.tilt_u_deg)
    return replace(pose, camera=fitted.camera, extra=tuple(extra))


def _focal_priors(picture: Picture) -> list[FocalPrior]:
    """Readings of the stated focal length: most phones mean the picture's longer side, some its diagonal."""
    f = picture.focal_35mm
    if f is None:
        return [FocalPrior(mm * picture.width_ppmm, u, odds, name) for mm, u, odds, name in UNTOLD_FOCALS]
    u = float(np.hypot(FOCAL_ROUNDING / f, FOCAL_NOMINAL_U))
    return [FocalPrior(f * picture.width_ppmm, u, 0.0, "width"), FocalPrior(f * picture.diagonal_ppmm, u, -1.5, "diagonal")]


def _scan(shape: tuple[int, int], dpi: float) -> Pose:
    """A flatbed scan: parallel to the glass, seen from very far."""
    distance = 1e6
    camera = overhead_camera(shape, distance * dpi / MM_PER_INCH, distance)
    note = Note("scan", "Scale taken from the scan's stated resolution; check it with one calliper reading of the longest "
                "dimension.")
    return Pose(camera, "mm", "scan", SCAN_U, (), FocalPrior(camera.focal_px, 1e-6), True, (note,))


def _unknown_size(shape: tuple[int, int], focal: FocalPrior, notes: list[Note]) -> Pose:
    """Nothing tells the size: one unit is one pixel in the middle of the picture."""
    camera = overhead_camera(shape, focal.focal_px, focal.focal_px)
    middle = np.array([shape[1] / 2, shape[0] / 2])
    px = middle + 0.25 * min(shape) * np.array([[-1.0, 0], [1.0, 0], [0, -1.0], [0, 1.0]])

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return np.array([np.hypot(*(xy[1] - xy[0])) + np.hypot(*(xy[3] - xy[2])) - min(shape)])

    size = Observations("size", 0.0, px, (), (), residual, 0.1, ties=True)
    note = Note("size_unknown", "No length reference was found, so the outline is in pixels, its size unknown. One outside "
                "reading of "
                "the longest dimension settles it; a second, square to the first, checks the tilt.")
    return Pose(camera, "px", "none", 0.0, (size, gauge(middle, 0.0)), focal, False, (*notes, note))


def _height_note(camera: Camera, kinds: Sequence[str], shot: Shot) -> list[Note]:
    """What the untold height of a reference may do."""
    if shot.reference_height or not set(kinds) <= set(HEIGHT_GUESS_U):
        return []
    return [Note("reference_height_unknown", f"The height of the {' and the '.join(kinds)} above the table was not told and "
                 "taken as 0: each "
                 f"millimetre of it makes everything {100 / camera.position[2]:.2f} % smaller. Measure its thickness and say "
                 "--reference-height MM.")]


def check_heights(camera: Camera, height: float) -> None:
    """Raises PhotoError when the face would be at or behind the camera."""
    if height >= 0.8 * camera.position[2]:
        raise PhotoError(f"The face is said to be {height:g} mm above the table, but the camera stood only "
                         f"{camera.position[2]:.0f} mm above it. "
                         "Check --face-height, the reference and the focal length.")
