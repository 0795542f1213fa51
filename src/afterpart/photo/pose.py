"""From what was sighted to a camera: a first guess, then the joint adjustment, and how well it knows the scale."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from afterpart.errors import PhotoError
from afterpart.model.camera import Camera
from afterpart.model.edges import Note
from afterpart.model.job import Shot
from afterpart.photo.adjust import FocalPrior, Observations, adjust_camera, overhead_camera, pose_from_plane
from afterpart.photo.load import Picture
from afterpart.photo.projection import to_plane
from afterpart.photo.reference import (
    CALLIPER_U,
    CLICK_U_PX,
    RULE_U,
    Anchor,
    Sighted,
    gauge,
    jaw_observations,
    place_start,
    rule_observations,
    span_observations,
    target_observations,
)
from afterpart.photo.sheetpose import SHEET_U, fit_sheet
from afterpart.units import MM_PER_INCH

FOCAL_U = 0.007
"""A stated 35 mm-equivalent focal length is rounded to whole mm and nominal: relative standard uncertainty, judgement."""

USUAL_FOCAL_35MM, USUAL_FOCAL_U = 27.0, 0.2
HELD_TILT_DEG = 6.0
SCAN_U = 0.002


@dataclass(frozen=True)
class Pose:
    """camera; unit "mm" or "px"; kind of reference; relative_u of the scale at the reference; observations and focal as adjusted,
    so that the part's own regularity can be added; strong: the references know the tilt."""

    camera: Camera
    unit: str
    kind: str
    relative_u: float
    observations: tuple[Observations, ...]
    focal: FocalPrior
    strong: bool
    notes: tuple[Note, ...] = field(default=())


def solve_pose(picture: Picture, sighted: Sighted, shot: Shot) -> Pose:
    """Camera over the table.  Raises PhotoError when the reference contradicts every camera."""
    shape = (picture.grey.shape[0], picture.grey.shape[1])
    if shot.scan_dpi is not None:
        return _scan(shape, shot.scan_dpi)
    focals = _focal_priors(picture)
    notes = [] if picture.focal_35mm else [Note("focal_unknown", "The picture does not say its focal length; a usual phone's was assumed "
                                                "and left to the reference to correct. Say --focal-35mm MM if you know it.")]
    z = shot.reference_height
    others: list[Observations] = []
    if "sheet" in sighted.kinds and sighted.sheet is not None and sighted.sheet_size is not None:
        fitted, sheet_obs, focal = fit_sheet(shape, sighted.sheet, sighted.sheet_size, focals)
        camera, strong = fitted.camera, True
        observations = [sheet_obs]
        notes += _sheet_note(fitted.rms_mm[0])
    elif "target" in sighted.kinds and sighted.target is not None:
        rough = float(np.hypot(*np.ptp(sighted.target.quad, axis=0))) / 300.0
        obs, px, xy = target_observations(sighted.target, shot.target_bar or 100.0, z, rough)
        focal, strong = focals[0], True
        camera = pose_from_plane(shape, focal.focal_px, px, xy, z)
        observations = [obs]
    elif "rule" in sighted.kinds and sighted.rule_pitch is not None:
        rule = sighted.rules[0]
        obs, anchor = rule_observations(rule, sighted.rule_pitch, z, rule.pitch_px / sighted.rule_pitch, True)
        focal, strong = focals[0], False
        camera = _over(shape, focal.focal_px, anchor, z)
        observations = [obs, gauge(anchor.px, z)]
    elif "calliper" in sighted.kinds and sighted.jaws is not None and shot.calliper is not None:
        gap = sighted.jaws.right.points.mean(0) - sighted.jaws.left.points.mean(0)
        anchor = Anchor(sighted.jaws.left.points.mean(0), 0.0, float(np.hypot(*gap)) / shot.calliper)
        focal, strong = focals[0], False
        camera = _over(shape, focal.focal_px, anchor, z)
        observations = [jaw_observations(sighted.jaws, shot.calliper, z, anchor.px_per_mm, camera), gauge(anchor.px, z)]
    elif "span" in sighted.kinds:
        obs, anchor = span_observations(shot, 1.0)
        obs, anchor = span_observations(shot, anchor.px_per_mm)
        focal, strong = focals[0], False
        camera = _over(shape, focal.focal_px, anchor, z)
        observations = [obs, gauge(anchor.px, z)]
        if sighted.jaws is not None:
            others.append(jaw_observations(sighted.jaws, None, z, anchor.px_per_mm, camera))
    else:
        return _unknown_size(shape, focals[0], notes)
    camera = adjust_camera(camera, observations, focal, tilt_u_deg=np.inf if strong else HELD_TILT_DEG).camera
    observations += others
    if "rule" in sighted.kinds and observations[0].name != "rule" and sighted.rule_pitch is not None:
        observations.append(_second_rule(sighted, sighted.rule_pitch, z if observations[0].name != "sheet" or z > 0 else 0.0, camera))
    if "span" in sighted.kinds and observations[0].name not in ("span",):
        observations.append(span_observations(shot, _px_per_mm(camera, focal))[0])
    if "calliper" in sighted.kinds and observations[0].name != "calliper" and sighted.jaws is not None:
        observations.append(jaw_observations(sighted.jaws, shot.calliper, z, _px_per_mm(camera, focal), camera))
    if len(observations) > 1:
        camera = adjust_camera(camera, observations, focal, tilt_u_deg=np.inf if strong else HELD_TILT_DEG).camera
    notes += _conflicts(camera, observations, focal, strong)
    return Pose(camera, "mm", "+".join(sighted.kinds), _scale_u(sighted, shot), tuple(observations), focal, strong, tuple(notes))


def refine_pose(pose: Pose, extra: Sequence[Observations]) -> Pose:
    """The pose with further observations (the part's own regularity) added."""
    if not extra:
        return pose
    fitted = adjust_camera(pose.camera, [*pose.observations, *extra], pose.focal, tilt_u_deg=np.inf if pose.strong else HELD_TILT_DEG)
    return replace(pose, camera=fitted.camera)


def _focal_priors(picture: Picture) -> list[FocalPrior]:
    """Readings of the stated focal length: most phones mean the picture's longer side, some its diagonal."""
    f = picture.focal_35mm
    if f is None:
        return [FocalPrior(USUAL_FOCAL_35MM * picture.width_ppmm, USUAL_FOCAL_U, 0.0, "usual")]
    return [FocalPrior(f * picture.width_ppmm, FOCAL_U, 0.0, "width"), FocalPrior(f * picture.diagonal_ppmm, FOCAL_U, -1.5, "diagonal")]


def _over(shape: tuple[int, int], focal_px: float, anchor: Anchor, z: float) -> Camera:
    """A camera looking straight down, with world zero at the anchor and world x along its direction."""
    c, s = np.cos(anchor.angle_rad), np.sin(anchor.angle_rad)
    camera = overhead_camera(shape, focal_px, focal_px / anchor.px_per_mm + z)
    turn = np.diag([1.0, -1.0, -1.0]) @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1.0]])
    away = (np.array([shape[1] / 2, shape[0] / 2]) - anchor.px) / anchor.px_per_mm
    position = (float(away @ [c, s]), float(away @ [s, -c]), camera.position[2])
    return replace(camera, rotation=tuple(map(tuple, turn.tolist())), position=position)  # type: ignore[arg-type]


def _scan(shape: tuple[int, int], dpi: float) -> Pose:
    """A flatbed scan: parallel to the glass, seen from very far."""
    distance = 1e6
    camera = overhead_camera(shape, distance * dpi / MM_PER_INCH, distance)
    note = Note("scan", "Scale taken from the scan's stated resolution; check it with one calliper reading of the longest dimension.")
    return Pose(camera, "mm", "scan", SCAN_U, (), FocalPrior(camera.focal_px, 1e-6), True, (note,))


def _unknown_size(shape: tuple[int, int], focal: FocalPrior, notes: list[Note]) -> Pose:
    """Nothing tells the size: one unit is one pixel in the middle of the picture."""
    camera = overhead_camera(shape, focal.focal_px, focal.focal_px)
    middle = np.array([shape[1] / 2, shape[0] / 2])
    px = middle + 0.25 * min(shape) * np.array([[-1.0, 0], [1.0, 0], [0, -1.0], [0, 1.0]])

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return np.array([np.hypot(*(xy[1] - xy[0])) + np.hypot(*(xy[3] - xy[2])) - min(shape)])

    size = Observations("size", 0.0, px, (), (), residual, 0.1)
    note = Note("size_unknown", "No length reference was found, so the outline is in pixels, its size unknown. One outside reading of "
                "the longest dimension settles it; a second, square to the first, checks the tilt.")
    return Pose(camera, "px", "none", 0.0, (size, gauge(middle, 0.0)), focal, False, (*notes, note))


def _second_rule(sighted: Sighted, pitch: float, z: float, camera: Camera) -> Observations:
    rule = sighted.rules[0]
    obs, anchor = rule_observations(rule, pitch, z, rule.pitch_px / pitch, False)
    ends = to_plane(camera, np.array([anchor.px, anchor.px + 50 * np.array([np.cos(anchor.angle_rad), np.sin(anchor.angle_rad)])]), z)
    return place_start(obs, ends[0], ends[1] - ends[0])


def _px_per_mm(camera: Camera, focal: FocalPrior) -> float:
    return camera.focal_px / camera.position[2]


def _scale_u(sighted: Sighted, shot: Shot) -> float:
    """Relative standard uncertainty of the scale at the reference: the references' own, joined."""
    weights = []
    if "sheet" in sighted.kinds and sighted.sheet_size is not None:
        weights.append(SHEET_U / 2**0.5 / (sum(sighted.sheet_size) / 2))
    if "rule" in sighted.kinds:
        weights.append(RULE_U)
    if "target" in sighted.kinds:
        weights.append(0.1 / 100.0)
    if "calliper" in sighted.kinds and shot.calliper:
        weights.append(2 * CALLIPER_U / shot.calliper)
    if "span" in sighted.kinds and shot.span is not None:
        s = shot.span
        weights.append(float(np.hypot(CLICK_U_PX * 2**0.5 / np.hypot(s.x2 - s.x1, s.y2 - s.y1), CALLIPER_U / s.length)))
    return float(1 / np.sqrt(sum(1 / w**2 for w in weights))) if weights else 0.0


def _sheet_note(rms: float) -> list[Note]:
    if rms > 0.25:
        return [Note("sheet_not_flat", f"The sheet's edges stray {rms:.2f} mm from straight: it is curled or its edge is not where it seems. "
                     "Tape the corners down, or lay a rule beside the part.")]
    return []


def _conflicts(camera: Camera, observations: Sequence[Observations], focal: FocalPrior, strong: bool) -> list[Note]:
    """References that contradict one another: their residuals are far beyond their uncertainty when held together."""
    if len(observations) < 2:
        return []
    fitted = adjust_camera(camera, observations, focal, tilt_u_deg=np.inf if strong else HELD_TILT_DEG)
    worst = [o.name for o, rms in zip(observations, fitted.rms_u) if rms > 3.5 and o.name != "gauge"]
    if not worst:
        return []
    return [Note("references_disagree", f"The references do not fit together (worst: {', '.join(worst)}). Check the sheet's size, the rule's "
                 "graduation and the height of the reference.")]


def check_heights(camera: Camera, height: float) -> None:
    """Raises PhotoError when the face would be at or behind the camera."""
    if height >= 0.8 * camera.position[2]:
        raise PhotoError(f"The face is said to be {height:g} mm above the table, but the camera stood only {camera.position[2]:.0f} mm above it. "
                         "Check --face-height, the reference and the focal length.")
