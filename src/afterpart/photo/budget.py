"""What camera, reference and heights may be off by, as displacement fields of the face.

The joint adjustment says how far each camera number may be off, cause by cause; laid on the face's plane that is a smooth field
of displacements.  Heights and scale errors the adjustment does not know are fields of their own.  Shifts and turns of the whole
face move no dimension and are taken out.  First order throughout (JCGM 100, 5.1).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from afterpart.geometry.cubic import cubic_terms
from afterpart.model.camera import Camera
from afterpart.model.edges import SharedErrors
from afterpart.model.job import Shot
from afterpart.photo.adjust import Adjustment, Observations, adjust_camera, stepped
from afterpart.photo.leading import BAR_U, reference_height_u
from afterpart.photo.pose import SCAN_U, Pose
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.reference import CALLIPER_U, RULE_U
from afterpart.standards.printed_target import BAR_LENGTH

HEIGHT_U = 0.1
"""Standard uncertainty of a face height taken by calliper, with the part's seat on the table, in mm."""

UNTOLD_HEIGHT_U = 5.0
"""The same when no height was told and 0 was taken; judgement: parts are 3 to 15 mm high."""

GRID = 7
LEAST_SHARE = 3e-6
"""A field that moves nothing by more than this share of the part's reach is left out."""

STEP = np.array([1e-4, 1e-4, 1e-4, 1e-5, 1e-5, 1e-5, 0.01, 0.01, 0.01])

WORDS = {
    "sheet": "sheet's edges in the picture", "sheet given": "sheet's size (ISO 216 lets it vary)", "rule": "rule's marks in the "
    "picture", "rule given": "rule's graduation", "target": "target's marks in the picture", "target given":
    "target's printed scale", "calliper": "jaw faces in the picture", "calliper given": "calliper's reading", "span": "points "
    "as picked", "round": "roundness of the part's holes", "square": "squareness of the part's edges", "focal": "focal length",
    "lens": "lens distortion", "ties": "agreement of the photographs", "height told": "face height",
    "held": "tilt, not told by the reference",
}


def shared_errors(pose: Pose, shot: Shot, height: float, rim: np.ndarray) -> SharedErrors | None:
    """Displacement fields over the face of a part; None where nothing is open.  rim: (n, 2) its outer rim in the face's plane."""
    low, high = rim.min(axis=0), rim.max(axis=0)
    middle, reach = 0.5 * (low + high), 0.5 * float((high - low).max())
    steps = np.linspace(-1.0, 1.0, GRID)
    places = np.array([[x, y] for y in steps for x in steps])
    grid = middle + reach * places
    observations = [*pose.observations, *pose.extra]
    fitted = adjust_camera(pose.camera, observations, pose.focal, tilt_u_deg=pose.tilt_u_deg) if observations else None
    fields = _camera_fields(pose, fitted, height, grid) if fitted is not None else []
    if fitted is not None and pose.unit == "mm":
        lift = lift_doubt(fitted.camera, observations, fitted.unknowns)
        fields.append(("sheet that may not lie flat", np.inf, grown(grid, middle, lift)))
    fields += [(cause, np.inf, grown(grid, middle, share)) for cause, share in scale_causes(pose, shot)]
    if shot.scan_dpi is None and pose.unit == "mm":
        u = HEIGHT_U if shot.face_height is not None else UNTOLD_HEIGHT_U
        foot, z = np.array(pose.camera.position[:2]), pose.camera.position[2] - height
        fields.append(("face height", np.inf, (grid - foot) * (u / z)))
    return as_errors(fields, middle, reach, places, grid)


def lift_doubt(camera: Camera, observations: Sequence[Observations], unknowns: Sequence[np.ndarray]) -> float:
    """Relative scale error of a sheet whose sides rise: as much as they stray, over half its size.

    A side that rises by L over its place is seen further out by L times half the sheet's size over the distance; straying shows
    where it rises unevenly, and what rises evenly along a side (which cannot be seen) is taken to be as much."""
    for o, unknown in zip(observations, unknowns, strict=True):
        if o.name == "sheet":
            xy = to_plane(camera, o.px, o.plane_z)
            return float(np.quantile(np.abs(o.residual(xy, unknown)), 0.95) / (0.25 * np.ptp(xy, axis=0).sum()))
    return 0.0


def _camera_fields(pose: Pose, fitted: Adjustment, height: float, grid: np.ndarray) -> list[tuple[str, float, np.ndarray]]:
    """(cause, dof, displacement (n, 2)) for what the adjustment leaves open, in independent rows."""
    seen = project_plane(pose.camera, grid, height)
    step = STEP * np.r_[np.ones(6), np.full(3, pose.camera.position[2])]
    lead = np.empty((2 * len(grid), 9))
    for k in range(9):
        d = np.zeros(9)
        d[k] = step[k]
        lead[:, k] = (to_plane(stepped(pose.camera, d), seen, height) - to_plane(stepped(pose.camera, -d), seen, height)
                      ).ravel() / (2 * step[k])
    lead = _without_motion(lead, grid)
    fields = []
    for share in fitted.shares:
        # the strongest rows of lead @ root, root root' = covariance
        value, vector = np.linalg.eigh(share.covariance * np.outer(1 / step, 1 / step))
        root = step[:, None] * vector * np.sqrt(np.maximum(value, 0.0))
        left, size, _ = np.linalg.svd(lead @ root, full_matrices=False)
        fields += [(share.cause, share.dof, (left[:, k] * size[k]).reshape(-1, 2)) for k in range(len(size))]
    return fields


def scale_causes(pose: Pose, shot: Shot) -> list[tuple[str, float]]:
    """Relative scale errors of the leading reference that its observations do not carry."""
    if pose.unit != "mm":
        return []
    lead = pose.kind.split("+")[0]
    own = {"rule": ("rule given", RULE_U), "target": ("target given", BAR_U / BAR_LENGTH), "scan": ("scan's resolution", SCAN_U)}
    out = [own[lead]] if lead in own else []
    if lead == "span" and shot.span is not None:
        out.append(("calliper given", CALLIPER_U / shot.span.length))
    height_u = reference_height_u(lead, shot) if lead != "scan" else 0.0
    if height_u:
        out.append(("height of the reference", height_u / (pose.camera.position[2] - shot.reference_height)))
    if pose.apart:
        out.append(("references that disagree", pose.apart))
    return out


def grown(grid: np.ndarray, middle: np.ndarray, share: float) -> np.ndarray:
    """Displacements (n, 2) of a grid that grows by `share` about its middle."""
    return (grid - middle) * share


def _without_motion(lead: np.ndarray, grid: np.ndarray) -> np.ndarray:
    """Columns of displacements (2 n, k) with their mean shift and turn taken out."""
    about = grid - grid.mean(axis=0)
    motions = np.stack([np.tile([1.0, 0.0], len(grid)), np.tile([0.0, 1.0], len(grid)),
                        np.column_stack([-about[:, 1], about[:, 0]]).ravel()], axis=1)
    return lead - motions @ np.linalg.lstsq(motions, lead, rcond=None)[0]


def as_errors(fields: list[tuple[str, float, np.ndarray]], middle: np.ndarray, reach: float, places: np.ndarray,
              grid: np.ndarray) -> SharedErrors | None:
    """Fields of one cause brought down to the few rows that have its covariance."""
    terms = np.linalg.pinv(cubic_terms(places))
    causes: list[str] = []
    dofs: list[float | None] = []
    along_x, along_y = [], []
    for cause in dict.fromkeys(WORDS.get(name, name) for name, _, _ in fields):
        own = [(dof, field) for name, dof, field in fields if WORDS.get(name, name) == cause]
        columns = _without_motion(np.stack([field.ravel() for _, field in own], axis=1), grid)
        left, size, _ = np.linalg.svd(columns, full_matrices=False)
        for k in range(len(size)):
            field = (left[:, k] * size[k]).reshape(-1, 2)
            if np.abs(field).max() > LEAST_SHARE * reach:
                causes.append(cause)
                dofs.append(float(least) if np.isfinite(least := min(dof for dof, _ in own)) else None)
                along_x.append(terms @ field[:, 0])
                along_y.append(terms @ field[:, 1])
    if not causes:
        return None
    return SharedErrors((float(middle[0]), float(middle[1])), reach, tuple(causes), tuple(dofs), np.array(along_x),
                        np.array(along_y))


def relative_scale_u(errors: SharedErrors | None) -> float:
    """Standard uncertainty of the scale common to a face, relative: the mean growth of all fields, root sum of squares."""
    if errors is None:
        return 0.0
    growth = 0.5 * (errors.along_x[:, 1] + errors.along_y[:, 2]) / errors.reach
    return float(np.sqrt((growth**2).sum()))
