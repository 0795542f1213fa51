"""One joint adjustment of camera pose, focal length and lens to everything the references tell.

Every reference gives *observations*: pixels that must lie on known lines or at known places of a plane.  The unknowns are the
camera (focal length, two radial lens terms, rotation, position) and, for each reference, what is not known of it (where it lies
on the table, how far the sheet is from its standard size).  Priors are observations too.  Residuals are in units of their
standard uncertainty; outliers are down-weighted (Cauchy).  Gauss-Newton with Levenberg damping and a numerical Jacobian: a
dozen or two unknowns.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np

from afterpart.errors import PhotoError
from afterpart.model.camera import Camera
from afterpart.photo.projection import centre_px, to_plane, undistort_px

SETTLED_GAIN = 1e-12
"""The adjustment ends when a step lowers what is left by less than this share of it.  At 1e-5 the camera stopped short of its
place by what a rounding error decided; to go on costs nothing that can be measured."""

LENS_U = (0.08, 0.04)
"""Prior standard uncertainty of k1 and k2: phone pictures, corrected or not (measurement.md: 0.2 to 1 % typical, main cameras
more)."""


@dataclass(frozen=True)
class FocalPrior:
    """Focal length in px with relative standard uncertainty and log prior odds of this reading of the EXIF tag."""

    focal_px: float
    relative_u: float
    log_odds: float = 0.0
    name: str = ""


@dataclass(frozen=True)
class Observations:
    """What one reference tells.

    plane_z: height of the reference's face; start: first values of its own unknowns; prior_u: their standard uncertainties
    (inf: free); px: (n, 2) pixels observed; residual(xy, unknowns) -> (m,) in mm for xy (n, 2) the px laid on the plane; u:
    standard uncertainty in mm, scalar or (m,).
    """

    name: str
    plane_z: float
    px: np.ndarray
    start: tuple[float, ...]
    prior_u: tuple[float, ...]
    residual: Callable[[np.ndarray, np.ndarray], np.ndarray]
    u: float | np.ndarray
    ties: bool = False
    """Only takes up a freedom of the frame (place, size unit): no source of error."""


@dataclass(frozen=True)
class Adjustment:
    """The camera found; unknowns per reference; rms of each reference's residuals in mm and in u; chi2 with degrees of freedom;
    covariance of (log focal, k1, k2, rotation vector increments, position) (9, 9); shares: what each cause adds to it."""

    camera: Camera
    unknowns: tuple[np.ndarray, ...]
    rms_mm: tuple[float, ...]
    rms_u: tuple[float, ...]
    cost: float
    covariance: np.ndarray
    shares: tuple[CauseShare, ...] = ()


@dataclass(frozen=True)
class CauseShare:
    """What one cause adds to the covariance (9, 9) of a camera (numbers as in `Adjustment.covariance`).

    cause: "NAME" for what a reference's points say, "NAME given" for what was told of it, "focal", "lens", "held" for the other
    priors; dof: degrees of freedom behind it (inf for priors, which are judged)."""

    cause: str
    covariance: np.ndarray
    dof: float


def adjust_camera(start: Camera, observations: Sequence[Observations], focal: FocalPrior, robust: bool = True,
                  lens_u: tuple[float, float] = LENS_U, tilt_u_deg: float = np.inf, from_afar: bool = False) -> Adjustment:
    """Camera that explains the observations best, from a start close enough (some degrees, some per cent).

    tilt_u_deg: how far from straight down a camera is usually held, when the references hardly tell (standard uncertainty);
    from_afar: the start may be far off, so every residual counts in full until a first adjustment has settled."""
    base = np.array(start.rotation)
    sizes = [len(o.start) for o in observations]
    x = np.concatenate([[np.log(start.focal_px), start.k1, start.k2, 0, 0, 0, *start.position],
                        *[np.array(o.start, float) for o in observations]])
    prior_mean = x.copy()
    prior_mean[0], prior_mean[1], prior_mean[2] = np.log(focal.focal_px), 0.0, 0.0
    prior_u = np.concatenate([[focal.relative_u, *lens_u, *[np.inf] * 6], *[np.array(o.prior_u, float) for o in observations]])
    scale = np.concatenate([[0.01, 0.01, 0.01, 0.01, 0.01, 0.01, *[0.01 * max(start.position[2], 1.0)] * 3],
                            *[np.where(np.isfinite(o.prior_u), o.prior_u, 1.0) for o in observations]])

    finite = np.isfinite(prior_u)

    def camera_of(v: np.ndarray) -> Camera:
        return replace(start, focal_px=float(np.exp(v[0])), k1=float(v[1]), k2=float(v[2]),
                       rotation=tuple(map(tuple, rotation_of(v).tolist())),  # type: ignore[arg-type]
                       position=tuple(v[6:9].tolist()))

    turned: dict[bytes, np.ndarray] = {}
    straight: dict[tuple[float, float], list[np.ndarray]] = {}
    laid: dict[bytes, list[np.ndarray]] = {}
    centre = centre_px(start)
    rays = [np.ones((len(o.px), 3)) for o in observations]

    def rotation_of(v: np.ndarray) -> np.ndarray:
        turn = v[3:6].tobytes()
        if turn not in turned:
            turned[turn] = cv2.Rodrigues(v[3:6])[0] @ base
        return turned[turn]

    def on_planes(v: np.ndarray) -> list[np.ndarray]:
        """Pixels of every reference on its plane, as `to_plane` does it.  Undoing the lens costs most and depends on k1 and k2
        alone, so it is remembered."""
        lens, pose = (float(v[1]), float(v[2])), v[:9].tobytes()
        if pose not in laid:
            if lens not in straight:
                straight[lens] = [undistort_px(camera_of(v), o.px) - centre for o in observations]
            if len(laid) > 3:
                laid.clear()
            focal_px, rotation, at = float(np.exp(v[0])), rotation_of(v), v[6:9].copy()
            places = []
            for px, ray, o in zip(straight[lens], rays, observations, strict=True):
                np.divide(px, focal_px, out=ray[:, :2])
                down = ray @ rotation
                places.append(at[:2] + (o.plane_z - at[2]) / down[:, 2:] * down[:, :2])
            laid[pose] = places
        return laid[pose]

    def misfit(o: Observations, xy: np.ndarray, own: np.ndarray) -> np.ndarray:
        """Residuals in units of their uncertainty; callers let numpy be silent."""
        r = o.residual(xy, own) / o.u
        return r if np.isfinite(r).all() else np.nan_to_num(r, nan=1e6, posinf=1e6, neginf=-1e6)

    leans = np.isfinite(tilt_u_deg)

    def residuals(v: np.ndarray) -> list[np.ndarray]:
        at, out = 9, []
        with np.errstate(all="ignore"):
            for o, size, xy in zip(observations, sizes, on_planes(v), strict=True):
                out.append(misfit(o, xy, v[at:at + size]))
                at += size
        lean = rotation_of(v)[2, :2] / np.sin(np.radians(tilt_u_deg)) if leans else np.empty(0)
        out.append(np.concatenate([(v[finite] - prior_mean[finite]) / prior_u[finite], lean]))
        return out

    def loss(parts: list[np.ndarray], bounded: bool) -> float:
        data = np.concatenate(parts[:-1])
        rho = np.log1p((data / 3) ** 2) * 9 if bounded else data**2
        return float(rho.sum() + (parts[-1] ** 2).sum())

    def derivatives(v: np.ndarray, lengths: list[int]) -> np.ndarray:
        """Derivatives of all residuals, of these lengths, by all unknowns.  Residuals are smooth: a central difference of 1e-3
        of the natural step is good to 1e-6.  What belongs to one reference moves only its own residuals and priors."""
        out = np.zeros((sum(lengths), len(v)))
        straight.clear()
        laid.clear()
        turned.clear()
        for k in range(9):
            d = np.zeros_like(v)
            d[k] = 1e-3 * scale[k]
            out[:, k] = (np.concatenate(residuals(v + d)) - np.concatenate(residuals(v - d))) / (2 * d[k])
        row, at, prior = 0, 9, sum(lengths[:-1]) + int(finite[:9].sum())
        with np.errstate(all="ignore"):
            for o, size, xy, length in zip(observations, sizes, on_planes(v), lengths[:-1], strict=True):
                for k in range(at, at + size):
                    d = np.zeros(size)
                    d[k - at] = 1e-3 * scale[k]
                    rise = misfit(o, xy, v[at:at + size] + d) - misfit(o, xy, v[at:at + size] - d)
                    out[row:row + length, k] = rise / (2 * d[k - at])
                    if finite[k]:
                        out[prior, k] = 1 / prior_u[k]
                        prior += 1
                row, at = row + length, at + size
        return out

    parts = residuals(x)
    hessian, jacobian = np.eye(len(x)), None
    for bounded in (False, True) if robust and from_afar else (robust,):
        damping, cost = 1e-3, loss(parts, bounded)
        for _ in range(60):
            r = np.concatenate(parts)
            weight = np.ones_like(r)
            if bounded:
                data = r[: len(r) - len(parts[-1])]
                weight[: len(data)] = 1 / (1 + (data / 3) ** 2)
            jacobian = derivatives(x, [len(part) for part in parts])
            js = jacobian * scale
            hessian = js.T @ (js * weight[:, None])
            gradient = js.T @ (r * weight)
            moved = False
            for _ in range(8):
                step = -np.linalg.solve(hessian + damping * np.diag(np.diag(hessian) + 1e-9), gradient) * scale
                trial = residuals(x + step)
                new = loss(trial, bounded)
                if new < cost:
                    moved, gain = True, cost - new
                    x, parts, cost, damping = x + step, trial, new, damping / 5
                    break
                damping *= 6
            if not moved or gain < SETTLED_GAIN * (1 + cost):
                break
    inverse = np.linalg.pinv(hessian, rcond=1e-14) * np.outer(scale, scale)
    camera = camera_of(x)
    shares = _shares(inverse[:9] / scale, js * np.sqrt(weight)[:, None], np.concatenate(parts), [len(p) for p in parts],
                     observations, prior_u) if jacobian is not None else ()
    if not (np.all(np.isfinite(x)) and camera.position[2] > 0):
        raise PhotoError("The reference cannot be brought in line with any camera position; check what was told about it.")
    cuts, unknowns = 9, []
    for size in sizes:
        unknowns.append(x[cuts:cuts + size])
        cuts += size
    robust_rms = [float(np.sqrt(np.mean(np.clip(p, -5, 5) ** 2))) if len(p) else 0.0 for p in parts[:-1]]
    rms_mm = tuple(float(np.sqrt(np.mean((np.clip(p, -5, 5) * o.u) ** 2))) if len(p) else 0.0
                   for p, o in zip(parts[:-1], observations, strict=True))
    camera = replace(camera, relative_focal_u=float(np.sqrt(inverse[0, 0])))
    return Adjustment(camera, tuple(unknowns), rms_mm, tuple(robust_rms), cost, inverse[:9, :9], shares)


def stepped(camera: Camera, step: np.ndarray) -> Camera:
    """The camera changed by `step` (9,): log focal, k1, k2, rotation vector in the camera's frame, position."""
    turn, _ = cv2.Rodrigues(np.asarray(step[3:6], float))
    rotation = turn @ np.array(camera.rotation)
    return replace(camera, focal_px=camera.focal_px * float(np.exp(step[0])), k1=camera.k1 + float(step[1]),
                   k2=camera.k2 + float(step[2]), rotation=tuple(map(tuple, rotation.tolist())),  # type: ignore[arg-type]
                   position=tuple((np.array(camera.position) + step[6:9]).tolist()))


def _shares(pull: np.ndarray, rows: np.ndarray, residuals: np.ndarray, sizes: list[int], observations: Sequence[Observations],
            prior_u: np.ndarray) -> tuple[CauseShare, ...]:
    """Covariance of the camera split by cause.  pull: (9, p) the camera's rows of the inverse, columns in natural steps; rows:
    (n, p) weighted Jacobian in natural steps; residuals: (n,) in units of u; sizes: rows of each observation, priors last.

    A reference's points err alike along its edges: their part is widened by what its residuals show (size and run)."""
    found, at = [], 0
    for o, size in zip(observations, sizes[:-1], strict=True):
        own, at = slice(at, at + size), at + size
        if o.ties:
            continue
        reach = pull @ rows[own].T
        run = correlated_run(residuals[own])
        spread = max(float(np.mean(np.clip(residuals[own], -3, 3) ** 2)), 0.05) * run if size > 8 else 1.0
        found.append(CauseShare(o.name, spread * reach @ reach.T, max(size / run, 1.0)))
    names = ["focal", "lens", "lens"]
    for o in observations:
        names += [f"{o.name} given"] * int(np.isfinite(o.prior_u).sum())
    priors = rows[at:]
    names += ["held"] * (len(priors) - len(names))
    for name in dict.fromkeys(names):
        reach = pull @ priors[[k for k, other in enumerate(names) if other == name]].T
        found.append(CauseShare(name, reach @ reach.T, np.inf))
    return tuple(found)


def correlated_run(residuals: np.ndarray) -> float:
    """How many neighbouring values (n,) of a row err alike: 1 + twice the sum of its autocorrelations, up to the first small
    one."""
    z = np.clip(residuals, -3, 3)
    power = float(z @ z)
    if len(z) < 20 or power <= 0:
        return 1.0
    run = 1.0
    for lag in range(1, len(z) // 4):
        share = float(z[lag:] @ z[:-lag]) / power
        if share < 0.05:
            break
        run += 2 * share
    return run


def pose_from_plane(shape: tuple[int, int], focal_px: float, px: np.ndarray, xy: np.ndarray, plane_z: float = 0.0) -> Camera:
    """First guess from at least four pixels (n, 2) of known places xy (n, 2) on the plane; no lens terms."""
    h, w = shape
    k = np.array([[focal_px, 0, w / 2], [0, focal_px, h / 2], [0, 0, 1.0]])
    xyz = np.c_[xy, np.zeros(len(xy))].astype(np.float64)
    method = cv2.SOLVEPNP_IPPE if len(xy) >= 4 else cv2.SOLVEPNP_ITERATIVE
    ok, rvec, tvec = cv2.solvePnP(xyz, px.astype(np.float64), k, None, flags=method)
    if not ok:
        raise PhotoError("The reference's corners do not form a plane seen by a camera; photograph it again, whole and flat.")
    if not (np.isfinite(rvec).all() and np.isfinite(tvec).all()):
        # without any perspective in it the method may divide by nothing
        return camera_above(shape, focal_px, px, xy, plane_z)
    rotation, _ = cv2.Rodrigues(rvec)
    position = (-rotation.T @ tvec).ravel() + np.array([0, 0, plane_z])
    return Camera(w, h, focal_px, 0.0, 0.0, tuple(map(tuple, rotation.tolist())),
                  tuple(position.tolist()))  # type: ignore[arg-type]


def overhead_camera(shape: tuple[int, int], focal_px: float, distance: float) -> Camera:
    """A camera looking straight down on the origin from `distance` mm."""
    h, w = shape
    return Camera(w, h, focal_px, 0.0, 0.0, ((1.0, 0, 0), (0, -1.0, 0), (0, 0, -1.0)), (0.0, 0.0, float(distance)))


def camera_above(shape: tuple[int, int], focal_px: float, px: np.ndarray, xy: np.ndarray, plane_z: float = 0.0) -> Camera:
    """A camera looking straight down that sees places xy (n, 2) of the plane as nearly as it can at the pixels px (n, 2)."""
    h, w = shape
    seen, place = (np.asarray(p, float) - np.mean(p, axis=0) for p in (px, xy))
    # as complex numbers: pixels are places mirrored (rows run down), turned and enlarged
    mirrored = place[:, 0] - 1j * place[:, 1]
    turn = np.vdot(mirrored, seen[:, 0] + 1j * seen[:, 1]) / np.vdot(mirrored, mirrored)
    scale, c, s = abs(turn), turn.real / abs(turn), turn.imag / abs(turn)
    right, down = np.array([c, s]), np.array([s, -c])
    off = (np.array([w / 2, h / 2]) - np.mean(px, axis=0)) / scale
    at = np.mean(xy, axis=0) + off[0] * right + off[1] * down
    return Camera(w, h, focal_px, 0.0, 0.0, ((float(c), float(s), 0.0), (float(s), float(-c), 0.0), (0.0, 0.0, -1.0)),
                  (float(at[0]), float(at[1]), focal_px / float(scale) + plane_z))


def ground_px_per_mm(camera: Camera, at: np.ndarray, z: float) -> float:
    """Pixels of the picture per mm of the plane at height z, round the pixel `at` (2,): square root of the area ratio."""
    px = np.asarray(at, float) + np.array([[0, 0], [2.0, 0], [0, 2.0]])
    xy = to_plane(camera, px, z)
    a, b = xy[1] - xy[0], xy[2] - xy[0]
    return float(2.0 / np.sqrt(abs(a[0] * b[1] - a[1] * b[0])))


def tilt_deg(camera: Camera) -> float:
    """Angle between the camera's axis and the table's normal."""
    return float(np.degrees(np.arccos(np.clip(-np.array(camera.rotation)[2, 2], -1, 1))))
