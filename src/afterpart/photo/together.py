"""One adjustment over several photographs of a part: a camera pose each, one lens for each camera and zoom, one drawing, one
height for each face.

Words: a *view* is one photograph in the adjustment; a *laying* is a set of views between which neither the part nor the
references on the table were moved, so that they have one world frame; a *tie* is a place of a rim seen in a view, held against
the same place of the drawing.  The drawing is given by places and normals; how far the part's rim really stands off each place
along its normal is unknown and common to all views.  These unknowns are many and simple, and are eliminated (Schur complement).
Each face of the part has a drawing of its own, in the world of its first view.
Unknown besides: for each lens the logarithm of its focal length and two radial terms; for each view rotation and position; for
each laying but a face's first where the drawing lies in its world; for each face its height; what the references leave open (a
sheet's sides are common to a laying, a rule's graduation to all views).  In a laying of two views with distant cameras the
heights are told by triangulation.  Where a view sees the wall, the *foot* of the wall is what it measures, on the table and not
at the face: such ties tell nothing of the height.  What stands in the way of the foot, a shade or a burr, is alike all round a
face: one unknown for each, how far all its feet seem to stand out.  And in each view all rims may seem to stand out together,
where light and material edge part: one unknown for each view.  What the edges may be rounder than they were traced for moves what
a view sees of the far sides only; it is no unknown, but what it may do to all others is part of their uncertainty.  First order,
iterated (Gauss-Newton), with down-weighted outliers (Cauchy).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.adjust import LENS_U, FocalPrior, Observations, correlated_run, stepped
from afterpart.photo.projection import straight_to_plane, to_plane, undistort_px

STEPS = np.array([1e-4, 1e-4, 1e-4, 1e-5, 1e-5, 1e-5, 0.01, 0.01, 0.01])
"""Steps of the central differences: log focal, k1, k2, rotation in rad, position in mm."""

OPEN_U = 1e3
"""Prior standard uncertainty of what is open (mm, rad): keeps what a reference cannot tell from wandering."""

FOOT_U = 0.05
"""Standard uncertainty of how far the feet of all walls of a face seem to stand out together, mm: a shade of the width of the
picture's blur, two to three tenths of a millimetre, takes a third of its width at most (judgement)."""

RIM_U = 0.022
"""Standard uncertainty of how far all rims of a view stand out together, where light and material edge part, mm: the same as the
outline's budget has for one photograph."""

CAUCHY = 3.0
TURNS = 8
SETTLED = 1e-4
"""A turn that moves no height and no place of a camera by more than this (mm) is the last."""


@dataclass(frozen=True)
class Ties:
    """px (n, 2): what a view sees of rims; place (n,): of the drawing; u (n,): standard uncertainty across the rim, mm, as if
    ties erred independently; alike: by what factor u is larger for it than that of one place by itself; foot (n,): how far down
    the wall it is that is seen, 0 the face, 1 the table (empty: all the face); lean (n,): how far it stands out there, mm."""

    px: np.ndarray
    place: np.ndarray
    u: np.ndarray
    alike: float = 1.0
    foot: np.ndarray = field(default_factory=lambda: np.empty(0))
    lean: np.ndarray = field(default_factory=lambda: np.empty(0))

    @property
    def feet(self) -> np.ndarray:
        """(n,) as `foot`, whether it was told or not."""
        return self.foot if len(self.foot) else np.zeros(len(self.place))

    def placed(self, camera: Camera, height: float, straight: Straight | None = None) -> np.ndarray:
        """(n, 2) where the seen places lie in the camera's world, with the face at this height.  straight: of these px, kept by
        callers that ask for many cameras."""
        return straight_to_plane(camera, (straight or Straight(self.px)).seen_by(camera), (height * (1.0 - self.feet))[:, None])


class Straight:
    """Pixels with the lens undone, remembered by lens: that costs most of laying them on a plane, and most cameras of a numerical
    derivative have one lens."""

    def __init__(self, px: np.ndarray) -> None:
        self._px = px
        self._known: dict[tuple[float, float], np.ndarray] = {}

    def seen_by(self, camera: Camera) -> np.ndarray:
        """(n, 2) ideal pinhole pixels."""
        lens = (camera.k1, camera.k2)
        if lens not in self._known:
            self._known[lens] = undistort_px(camera, self._px)
        return self._known[lens]


@dataclass(frozen=True)
class View:
    """camera: start, in the laying's world; turns: quarter turns (counter-clockwise) from the view's own world, in which its
    observations are told, to the laying's; lens, laying: numbers; face: which face looks up; motion: (x, y, angle) of the face's
    drawing in the laying's world; rounding_u: standard uncertainty of the rounding that its rims were traced for, mm."""

    camera: Camera
    observations: tuple[Observations, ...]
    focal: FocalPrior
    turns: int
    lens: int
    laying: int
    face: str
    motion: tuple[float, float, float]
    ties: Ties
    rounding_u: float = 0.0


@dataclass(frozen=True)
class Drawing:
    """Places (k, 2) of the part's rims in the drawing's frame and unit normals (k, 2)."""

    places: np.ndarray
    normals: np.ndarray


@dataclass(frozen=True)
class HeightPrior:
    """What was told of a face's height: value and standard uncertainty in mm (inf: nothing)."""

    face: str
    value: float
    u: float


@dataclass(frozen=True)
class Together:
    """The adjusted views; heights and their standard uncertainties by face; offsets (k,) of the rims from the drawing's places
    (nan where no view sees one); rms_mm, rms_u: of each view's ties; values (p,) of the unknowns that are no camera; covariance
    (p, p) of all unknowns; parts: (cause, degrees of freedom, root (p, m)), root @ root' adding up to the covariance."""

    views: tuple[View, ...]
    heights: dict[str, float]
    heights_u: dict[str, float]
    offsets: np.ndarray
    rms_mm: tuple[float, ...]
    rms_u: tuple[float, ...]
    layout: Layout
    values: np.ndarray
    covariance: np.ndarray
    parts: tuple[tuple[str, float, np.ndarray], ...]

    def standing_out(self, number: int) -> np.ndarray:
        """(n,) how far each tie of a view seems to stand out for what it is that is seen of it, mm."""
        return _standing_out(number, self.views[number], self.layout, self.values)


@dataclass(frozen=True)
class Layout:
    """Where each unknown stands: of lens g (three), of view i (six), of laying l (three; none for the first), of a face its
    height and its feet (one each; none where no foot is seen), of view i its rims (one), and of each view's observations."""

    lenses: dict[int, np.ndarray]
    poses: tuple[np.ndarray, ...]
    motions: dict[int, np.ndarray]
    heights: dict[str, int]
    references: tuple[tuple[np.ndarray, ...], ...]
    size: int
    feet: dict[str, int] = field(default_factory=dict)
    rims: tuple[int, ...] = ()

    def beside(self, i: int, view: View) -> tuple[np.ndarray, np.ndarray]:
        """Unknowns that make a view's ties stand out, and how far each does so (n, 2 or 1)."""
        feet = view.ties.feet
        if view.face not in self.feet:
            return np.array([self.rims[i]]), np.ones((len(feet), 1))
        return np.array([self.rims[i], self.feet[view.face]]), np.stack([np.ones(len(feet)), feet], axis=1)

    def of_view(self, i: int, view: View) -> np.ndarray:
        """Unknowns a view's ties hang on: lens 3, pose 6, its face's height, the laying's motion (3 or none)."""
        return np.concatenate([self.lenses[view.lens], self.poses[i], [self.heights[view.face]],
                               self.motions.get(view.laying, np.empty(0, int))]).astype(int)


def lay_out_unknowns(views: Sequence[View]) -> Layout:
    """A place for every unknown."""
    size = 0

    def take(count: int) -> np.ndarray:
        nonlocal size
        size += count
        return np.arange(size - count, size)

    lenses = {g: take(3) for g in sorted({view.lens for view in views})}
    poses = tuple(take(6) for _ in views)
    fixed = {face: next(view.laying for view in views if view.face == face) for face in {view.face for view in views}}
    motions = {m: take(3) for m in sorted({view.laying for view in views} - set(fixed.values()))}
    heights = {face: int(take(1)[0]) for face in sorted({view.face for view in views})}
    feet = {face: int(take(1)[0]) for face in sorted({view.face for view in views if view.ties.feet.any()})}
    rims = tuple(int(take(1)[0]) for _ in views)
    common: dict[tuple[object, ...], np.ndarray] = {}
    references = []
    for view in views:
        rows = []
        for o in view.observations:
            own = np.empty(len(o.start), int)
            for k in range(len(own)):
                own[k] = int(common.setdefault(key, take(1))[0]) if (key := _common_key(view, o, k)) not in common \
                    else int(common[key][0])
            rows.append(own)
        references.append(tuple(rows))
    return Layout(lenses, poses, motions, heights, tuple(references), size, feet, rims)


def _common_key(view: View, o: Observations, k: int) -> tuple[object, ...]:
    """What unknown k of a reference is called: views that call theirs alike have it in common."""
    if o.name == "sheet" and k < 2:
        return ("sheet", view.laying, (k + view.turns) % 2)
    if o.name == "rule" and k == 3:
        return ("rule",)
    return (id(view), id(o), k)


def adjust_together(views: Sequence[View], drawing: Drawing, priors: Sequence[HeightPrior],
                    start: dict[str, float], turns: int = TURNS) -> Together:
    """The views and heights that explain references and ties together, from a start within some mm and tenths of a degree.
    turns: at most; fewer will do from a start that is nearly the end."""
    layout = lay_out_unknowns(views)
    state = _State(list(views), dict(start), np.zeros(layout.size))
    weights = [_reference_scales(view) for view in views]
    for _ in range(turns):
        system = _Equations(layout, state, drawing, priors, weights)
        step = system.step()
        state = state.moved(layout, step)
        lengths = [step[p[3:]] for p in layout.poses] + [step[list(layout.heights.values())]]
        if max(float(np.abs(v).max()) for v in lengths) < SETTLED:
            break
    system = _Equations(layout, state, drawing, priors, weights)
    covariance = np.linalg.inv(system.hessian)
    parts = system.parts(covariance)
    covariance = covariance + system.rounded(covariance) @ system.rounded(covariance).T
    heights_u = {face: float(np.sqrt(covariance[at, at])) for face, at in layout.heights.items()}
    return Together(tuple(state.views), state.heights, heights_u, system.offsets, system.rms_mm, system.rms_u, layout,
                    state.values, covariance, parts)


def expected_height_u(views: Sequence[View], drawing: Drawing, priors: Sequence[HeightPrior],
                      heights: dict[str, float]) -> dict[str, float]:
    """Standard uncertainty of each face's height that these views would give as they stand; nothing is adjusted."""
    layout = lay_out_unknowns(views)
    state = _State(list(views), dict(heights), np.zeros(layout.size))
    system = _Equations(layout, state, drawing, priors, [_reference_scales(view) for view in views])
    size = np.sqrt(np.diag(system.hessian))
    covariance = np.linalg.inv(system.hessian / np.outer(size, size)) / np.outer(size, size)
    covariance = covariance + system.rounded(covariance) @ system.rounded(covariance).T
    return {face: float(np.sqrt(covariance[at, at])) for face, at in layout.heights.items()}


@dataclass
class _State:
    """Views as they stand, heights, and the values of all unknowns that are no camera (others stay 0)."""

    views: list[View]
    heights: dict[str, float]
    values: np.ndarray

    def moved(self, layout: Layout, step: np.ndarray) -> _State:
        """The state after a step (p,) of all unknowns."""
        views = []
        for i, view in enumerate(self.views):
            change = np.concatenate([step[layout.lenses[view.lens]], step[layout.poses[i]]])
            at = layout.motions.get(view.laying)
            motion = view.motion if at is None else tuple((np.array(view.motion) + step[at]).tolist())
            views.append(replace(view, camera=stepped(view.camera, change), motion=motion))  # type: ignore[arg-type]
        heights = {face: value + float(step[layout.heights[face]]) for face, value in self.heights.items()
                   if face in layout.heights}
        return _State(views, heights, self.values + step)


class _Equations:
    """Normal equations of all that was seen and told, at one state."""

    def __init__(self, layout: Layout, state: _State, drawing: Drawing, priors: Sequence[HeightPrior],
                 scales: Sequence[tuple[float, ...]]) -> None:
        size = layout.size
        self.gradient = np.zeros(size)
        self._rows: list[tuple[str, float, np.ndarray]] = []
        self.hessian = np.zeros((size, size))
        for i, view in enumerate(state.views):
            for o, own, scale in zip(view.observations, layout.references[i], scales[i], strict=True):
                self._add_reference(layout, state, i, o, own, scale)
        self._add_ties(layout, state, drawing)
        self._add_priors(layout, state, priors)

    def _take(self, name: str, dof: float, columns: np.ndarray, jacobian: np.ndarray, residual: np.ndarray) -> None:
        """Add weighted rows (n, c) at these unknowns; they are kept, as a cause, in their shortest form."""
        self.hessian[np.ix_(columns, columns)] += jacobian.T @ jacobian
        self.gradient[columns] += jacobian.T @ residual
        short = np.linalg.qr(jacobian, mode="r") if len(jacobian) > jacobian.shape[1] else jacobian
        full = np.zeros((len(short), len(self.gradient)))
        full[:, columns] = short
        self._rows.append((name, dof, full))

    def _add_reference(self, layout: Layout, state: _State, i: int, o: Observations, own: np.ndarray, scale: float) -> None:
        view = state.views[i]
        values = np.array(o.start) + state.values[own]
        columns = np.concatenate([layout.lenses[view.lens], layout.poses[i], own]).astype(int)

        straight = Straight(o.px)

        def laid(camera: Camera) -> np.ndarray:
            return unturned(straight_to_plane(camera, straight.seen_by(camera), o.plane_z), view.turns)

        def seen(xy: np.ndarray, at: np.ndarray) -> np.ndarray:
            return o.residual(xy, at) / o.u / scale

        own_xy = laid(view.camera)
        here = seen(own_xy, values)
        jacobian = np.empty((len(here), len(columns)))
        for k in range(9):
            d = np.zeros(9)
            d[k] = STEPS[k]
            jacobian[:, k] = (seen(laid(stepped(view.camera, d)), values) - seen(laid(stepped(view.camera, -d)), values)) \
                / (2 * STEPS[k])
        for k in range(len(own)):
            d = np.zeros(len(own))
            d[k] = 1e-4
            jacobian[:, 9 + k] = (seen(own_xy, values + d) - seen(own_xy, values - d)) / 2e-4
        root = 1 / np.sqrt(1 + (here * scale / CAUCHY) ** 2) if not o.ties else np.ones(len(here))
        self._take(o.name, max(len(here) / 12.0, 1.0), columns, jacobian * root[:, None], here * root)

    def _add_ties(self, layout: Layout, state: _State, drawing: Drawing) -> None:
        """Ties of all views, the drawing's offsets eliminated."""
        count, size = len(drawing.places), layout.size
        off, slopes = [], []
        for i, view in enumerate(state.views):
            e, j = tie_rows(view, state.heights[view.face], drawing, view.laying in layout.motions)
            off.append(e - _standing_out(i, view, layout, state.values))
            slopes.append(j)
        weight = [1 / view.ties.u**2 for view in state.views]
        mean = np.full(count, np.nan)
        for _ in range(6):
            total, summed = np.full(count, 1e-12), np.zeros(count)
            for view, e, w in zip(state.views, off, weight, strict=True):
                np.add.at(total, view.ties.place, w)
                np.add.at(summed, view.ties.place, w * e)
            mean = np.where(total > 1e-9, summed / total, np.nan)
            left = [e - mean[view.ties.place] for view, e in zip(state.views, off, strict=True)]
            # a view that differs from one other alone cannot be told from it: weights turn on the scatter of three and more
            weight = [1 / view.ties.u**2 / (1 + (r / view.ties.u / CAUCHY) ** 2)
                      for view, r in zip(state.views, left, strict=True)]
        faces = sorted(state.heights)
        mixed = np.zeros((count, size + len(faces)))
        total = np.full(count, 1e-12)
        rows = []
        for i, (view, e, j, w) in enumerate(zip(state.views, left, slopes, weight, strict=True)):
            columns = layout.of_view(i, view)
            full = np.zeros((len(e), size + len(faces)))
            full[:, columns] = j
            beside, out = layout.beside(i, view)
            full[:, beside] = -out
            # beside the unknowns: what one standard uncertainty of each face's rounding does
            full[:, size + faces.index(view.face)] = view.rounding_u * hidden_share(view, state.heights[view.face], drawing)
            np.add.at(total, view.ties.place, w)
            np.add.at(mixed, view.ties.place, w[:, None] * full)
            rows.append((full, e, w, view.ties.place))
        jacobian, residual = [], []
        for full, e, w, place in rows:
            # rows less their drawing's mean: what is left once the drawing has followed
            jacobian.append((full - mixed[place] / total[place][:, None]) * np.sqrt(w)[:, None])
            residual.append(e * np.sqrt(w))
        whole = np.concatenate(jacobian)
        self._rounding = whole[:, :size].T @ whole[:, size:]
        self._take("ties", max(sum(len(e) for e in residual) - size, 1.0), np.arange(size), whole[:, :size],
                   np.concatenate(residual))
        self.offsets = mean
        seen = np.bincount(np.concatenate([view.ties.place for view in state.views]), minlength=count)
        self.rms_mm = tuple(_rms(r[seen[v.ties.place] > 1]) for v, r in zip(state.views, left, strict=True))
        self.rms_u = tuple(_rms((r / v.ties.u)[seen[v.ties.place] > 1]) for v, r in zip(state.views, left, strict=True))

    def _add_priors(self, layout: Layout, state: _State, priors: Sequence[HeightPrior]) -> None:
        done: set[int] = set()
        for i, view in enumerate(state.views):
            for o, own in zip(view.observations, layout.references[i], strict=True):
                for k, at in enumerate(own.tolist()):
                    if at not in done:
                        done.add(at)
                        u = o.prior_u[k] if np.isfinite(o.prior_u[k]) else OPEN_U
                        name = f"{o.name} given" if np.isfinite(o.prior_u[k]) else "held"
                        self._take(name, np.inf, np.array([at]), np.array([[1 / u]]), np.array([state.values[at] / u]))
        for g, at in layout.lenses.items():
            view = next(view for view in state.views if view.lens == g)
            camera, focal = view.camera, view.focal
            miss = np.log(camera.focal_px / focal.focal_px) / focal.relative_u
            self._take("focal", np.inf, at[:1], np.array([[1 / focal.relative_u]]), np.array([miss]))
            self._take("lens", np.inf, at[1:], np.diag(1 / np.array(LENS_U)), np.array([camera.k1, camera.k2]) / LENS_U)
        standing = [("foot of the walls", FOOT_U, own) for own in layout.feet.values()]
        for name, u, own in [*standing, *(("where light and material edge part", RIM_U, own) for own in layout.rims)]:
            self._take(name, np.inf, np.array([own]), np.array([[1 / u]]), np.array([state.values[own] / u]))
        for prior in priors:
            if prior.face in layout.heights and np.isfinite(prior.u):
                miss = (state.heights[prior.face] - prior.value) / prior.u
                self._take("height told", np.inf, np.array([layout.heights[prior.face]]), np.array([[1 / prior.u]]),
                           np.array([miss]))
        # what nothing tells at all stays where it is
        self.hessian += np.diag(np.full(layout.size, 1e-10))

    def step(self) -> np.ndarray:
        """The Gauss-Newton step (p,)."""
        size = np.sqrt(np.diag(self.hessian))
        scaled = self.hessian / np.outer(size, size)
        return -np.linalg.solve(scaled + 1e-9 * np.eye(len(size)), self.gradient / size) / size

    def parts(self, covariance: np.ndarray) -> tuple[tuple[str, float, np.ndarray], ...]:
        """(cause, degrees of freedom, root (p, m)): root @ root' adds up to the covariance over all causes, the rounding among
        them; covariance: by all the others."""
        own = tuple((name, dof, covariance @ rows.T) for name, dof, rows in self._rows)
        rounded = self.rounded(covariance)
        return (*own, ("rounding of the edges", np.inf, rounded)) if rounded.any() else own

    def rounded(self, covariance: np.ndarray) -> np.ndarray:
        """What one standard uncertainty of each face's rounding does to the unknowns, (p, faces)."""
        return np.asarray(covariance @ self._rounding)


def tie_rows(view: View, height: float, drawing: Drawing, moves: bool) -> tuple[np.ndarray, np.ndarray]:
    """How far each tie stands off its place along the normal, (n,) mm, and its slopes by lens, pose, height and, where the laying
    moves, by its motion."""
    place, normal = drawing.places[view.ties.place], drawing.normals[view.ties.place]
    straight = Straight(view.ties.px)

    def off(camera: Camera, z: float, motion: tuple[float, float, float]) -> np.ndarray:
        return ((into_drawing(view.ties.placed(camera, z, straight), motion) - place) * normal).sum(1)

    slopes = []
    for k in range(9):
        d = np.zeros(9)
        d[k] = STEPS[k]
        slopes.append((off(stepped(view.camera, d), height, view.motion) - off(stepped(view.camera, -d), height, view.motion))
                      / (2 * STEPS[k]))
    slopes.append((off(view.camera, height + 0.01, view.motion) - off(view.camera, height - 0.01, view.motion)) / 0.02)
    for k in range(3 if moves else 0):
        d = np.zeros(3)
        d[k] = 1e-4
        one, two = (tuple((np.array(view.motion) + sign * d).tolist()) for sign in (1.0, -1.0))
        slopes.append((off(view.camera, height, one) - off(view.camera, height, two)) / 2e-4)  # type: ignore[arg-type]
    return off(view.camera, height, view.motion), np.stack(slopes, axis=1)


def _standing_out(i: int, view: View, layout: Layout, values: np.ndarray) -> np.ndarray:
    """How far (n,) the ties of view i stand out along their normals: for the wall's lean and what stands before its foot, and for
    where light and material edge part, mm."""
    lean = view.ties.lean if len(view.ties.lean) else np.zeros(len(view.ties.place))
    beside, out = layout.beside(i, view)
    return np.asarray(lean + out @ values[beside])


def hidden_share(view: View, height: float, drawing: Drawing) -> np.ndarray:
    """Distance (n,) of each tie's silhouette from the wall, towards the material, as a share of the rounding: where the sight
    line comes over the face, the last that is seen of the rim is where the rounding slopes as it does; 0 where the wall is seen.

    1 + m - sqrt(1 + m2) with m the slope of the sight line away from the camera: the line that touches the quarter circle."""
    c, s = np.cos(view.motion[2]), np.sin(view.motion[2])
    normal = drawing.normals[view.ties.place] @ np.array([[c, s], [-s, c]])
    away = view.ties.placed(view.camera, height) - np.array(view.camera.position[:2])
    slope = np.maximum((away * normal).sum(1) / (view.camera.position[2] - height), 0.0)
    return np.asarray(1.0 + slope - np.hypot(1.0, slope))


def into_drawing(xy: np.ndarray, motion: tuple[float, float, float]) -> np.ndarray:
    """Points (n, 2) of a laying's world in the drawing's frame, which lies there at motion (x, y, angle in rad)."""
    c, s = np.cos(motion[2]), np.sin(motion[2])
    return np.asarray((xy - np.array(motion[:2])) @ np.array([[c, -s], [s, c]]))


def into_world(xy: np.ndarray, motion: tuple[float, float, float]) -> np.ndarray:
    """The way back from `into_drawing`."""
    c, s = np.cos(motion[2]), np.sin(motion[2])
    return np.asarray(xy @ np.array([[c, s], [-s, c]]) + np.array(motion[:2]))


def turned_camera(camera: Camera, turns: int) -> Camera:
    """The same camera told in a world turned back by so many quarter turns: points turn counter-clockwise with it."""
    turn = np.eye(3)
    turn[:2, :2] = _quarter(turns)
    rotation = np.array(camera.rotation) @ turn.T
    position = turn @ np.array(camera.position)
    return replace(camera, rotation=tuple(map(tuple, rotation.tolist())),  # type: ignore[arg-type]
                   position=tuple(position.tolist()))


def _quarter(turns: int) -> np.ndarray:
    c, s = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[turns % 4]
    return np.array([[c, -s], [s, c]])


def turned(xy: np.ndarray, turns: int) -> np.ndarray:
    """Points (n, 2) turned counter-clockwise by quarter turns about the origin."""
    return xy @ _quarter(turns).T


def unturned(xy: np.ndarray, turns: int) -> np.ndarray:
    """The way back from `turned`."""
    return xy @ _quarter(turns)


def _reference_scales(view: View) -> tuple[float, ...]:
    """By how much each reference's stated uncertainties are widened, for its points err alike along its edges."""
    scales = []
    for o in view.observations:
        if o.ties or len(o.px) <= 8:
            scales.append(1.0)
            continue
        xy = unturned(to_plane(view.camera, o.px, o.plane_z), view.turns)
        r = o.residual(xy, np.array(o.start)) / o.u
        scales.append(float(np.sqrt(max(np.mean(np.clip(r, -3, 3) ** 2), 0.05) * correlated_run(r))))
    return tuple(scales)


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(values**2))) if len(values) else 0.0
