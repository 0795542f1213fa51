"""What perfect finders would see of the references in a picture: pixels laid out by projection, with their noise, no rendering.

A *sighting* is everything `solve_pose` needs: the sighted references and a picture of the right shape without content.
The truth (sizes, lifts, print scale) is an argument; what the maker says goes into a `Shot`.
Limits: nothing is hidden, no finder fails; a lifted edge is displaced by its height alone.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from afterpart.model.camera import Camera
from afterpart.model.job import Shot
from afterpart.model.references import RuleTicks, TargetMarkers, Tick
from afterpart.photo.load import Picture
from afterpart.photo.pose import Pose, solve_pose
from afterpart.photo.reference import Sighted
from afterpart.photo.sheet import SheetSides
from afterpart.standards.printed_target import marker_corners
from tests.truth.booth import project, stand_camera

SIZE, F35 = (4032, 3024), 52.0
SIDE_U_PX, TICK_U_PX = 0.15, 0.08
A4 = (210.0, 297.0)
MARKERS = range(8)

Lift = Callable[[np.ndarray, np.ndarray], np.ndarray]


def flat(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """A sheet that lies flat: lift 0 at places (n,), (n,)."""
    return np.zeros(len(x))


@dataclass(frozen=True)
class Table:
    """What truly lies there.  sheet: its sides (along x, along y); lift: of its edges, mm; pitch: of the rule of 150 mm, None
    without one; rule_height, target_height: above the table; printed: scale of the target, None without one."""

    sheet: tuple[float, float] | None = (297.0, 210.0)
    lift: Lift = flat
    pitch: float | None = None
    rule_height: float = 0.8
    printed: float | None = None
    target_height: float = 0.0
    ladder: str = "decimal"


def sheet_sides(camera: Camera, size: tuple[float, float], lift: Lift, rng: np.random.Generator) -> SheetSides:
    """Points of the four edges in the finder's order: lower, left, upper, right side of the picture."""
    w, h = size[0] / 2, size[1] / 2
    corners = np.array([(w, -h), (-w, -h), (-w, h), (w, h)])
    sides = []
    for a, b in zip(corners, np.roll(corners, -1, 0), strict=True):
        p = a + np.linspace(0.02, 0.98, 500)[:, None] * (b - a)
        sides.append(project(camera, np.c_[p, lift(*p.T)]) + rng.normal(0, SIDE_U_PX, (len(p), 2)))
    return SheetSides(tuple(sides), SIDE_U_PX, project(camera, np.c_[corners, lift(*corners.T)]))


def rule_ticks(camera: Camera, table: Table, rng: np.random.Generator) -> RuleTicks:
    """Graduations of a rule along x at y = -80."""
    assert table.pitch is not None
    count = int(150 / table.pitch)
    ticks = []
    for k in range(count + 1):
        x = k * table.pitch - 75.0
        p = np.c_[np.full(6, x), -80 - np.linspace(0, 4, 6), np.full(6, table.rule_height)]
        ticks.append(Tick(k, project(camera, p) + rng.normal(0, TICK_U_PX, (6, 2)), np.full(6, TICK_U_PX), 40.0))
    pitch_px = float(np.hypot(*(ticks[-1].points[0] - ticks[0].points[0]))) / count
    quad = project(camera, np.array([(-80, -78, 0.8), (80, -78, 0.8), (80, -100, 0.8), (-80, -100, 0.8)]))
    return RuleTicks(tuple(ticks), table.ladder, 10, "rule", True, pitch_px, TICK_U_PX, quad, True)


def target_markers(camera: Camera, table: Table, rng: np.random.Generator) -> TargetMarkers:
    """Corners of the printed target's markers."""
    assert table.printed is not None
    xy = np.array([marker_corners(i) for i in MARKERS]).reshape(-1, 2)
    xy = table.printed * (xy - xy.mean(0))
    px = project(camera, np.c_[xy, np.full(len(xy), table.target_height)]) + rng.normal(0, TICK_U_PX, (len(xy), 2))
    low, high = px.min(0), px.max(0)
    quad = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    return TargetMarkers(np.array(MARKERS), px.reshape(-1, 4, 2), np.full((len(MARKERS), 4), TICK_U_PX), quad)


def solved(table: Table, shot: Shot, seed: int = 1, *, tilt_deg: float = 5.0, azimuth_deg: float = 40.0, distance: float = 560.0,
           focal_error: float = 0.0) -> Pose:
    """The pose and its notes from a sighting of the table.  focal_error: of the focal length that the file states, relative."""
    rng = np.random.default_rng([61, seed])
    camera = stand_camera(SIZE, F35, distance, tilt_deg=tilt_deg, azimuth_deg=azimuth_deg)
    sheet = sheet_sides(camera, table.sheet, table.lift, rng) if table.sheet is not None and shot.sheet is not None else None
    rules = (rule_ticks(camera, table, rng),) if table.pitch is not None else ()
    target = target_markers(camera, table, rng) if table.printed is not None else None
    kinds = [kind for kind, there in (("sheet", sheet), ("rule", rules and shot.rule), ("target", target), ("span", shot.span))
             if there]
    sighted = Sighted(sheet, shot.sheet, rules, shot.rule.pitch if shot.rule else None, None, target, tuple(kinds), ())
    grey = np.broadcast_to(np.float32(0), (SIZE[1], SIZE[0]))
    return solve_pose(Picture("photo.jpg", "", grey, np.zeros((1, 1, 3), np.uint8), F35 * (1 + focal_error)), sighted, shot)
