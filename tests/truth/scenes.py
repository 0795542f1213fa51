"""Scenes drawn at random, as makers would shoot them, and what a maker would say about each.

Words: a *kind* names the reference (sheet, rule, sheet+rule, calliper, span, none); a *shoot* is a scene with the `Shot`
the maker would type in: the kind of reference and calliper readings of heights, never the camera or the drawing.
The same seed gives the same shoot.  Limits: one part a scene, whole in the picture.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from afterpart.model.job import Rule as RuleGiven
from afterpart.model.job import Shot, Span
from tests.truth.booth import Develop, Photo, Scene, part_of, photograph, project, save_jpeg, stand_camera
from tests.truth.drawings import DRAWINGS, INCH, Drawing
from tests.truth.light import Light
from tests.truth.scenery import Calliper, Rule, Sheet

KINDS = ("sheet", "rule", "sheet+rule", "calliper", "span")
PALETTE = {"black": (0.05, 0.05, 0.052), "dark": (0.085, 0.085, 0.09), "blue": (0.07, 0.10, 0.20), "grey": (0.22, 0.22, 0.22),
           "light": (0.46, 0.46, 0.45)}
LENSES = {26.0: (-0.055, 0.02), 48.0: (-0.012, 0.0), 52.0: (-0.012, 0.0), 77.0: (0.004, 0.0), 115.0: (0.002, 0.0)}

PEEKS = ((35.0, (0.0, 0.0), 0.9), (0.0, (-44.0, 0.0), 1.0))
"""Ways a sheet can be partly out of the picture: camera turned by (degrees), aimed at (mm), share of the fill.  The first hides
two corners and shows a stretch of every side; the second hides one short side, and with it two corners."""


@dataclass(frozen=True)
class Shoot:
    """label: one line for tables; drawing: the designer's; shot: what the maker says, its file still empty; part: the drawing of
    the part as it came out of the mould, None where that is the designer's."""

    label: str
    scene: Scene
    drawing: Drawing
    shot: Shot
    part: Drawing | None = None

    @property
    def made(self) -> Drawing:
        """The true sizes of what lies on the table."""
        return self.part or self.drawing


def frame_distance(f35: float, span: float, size: tuple[int, int]) -> float:
    """Camera distance at which `span` mm fill the picture's width."""
    return span * f35 / 36.0 * max(size) / size[0]


def make_shoot(drawing: Drawing, kind: str, *, height: float = 8.0, edge_radius: float = 0.4, draft_deg: float = 0.0,
               paint: str = "dark", f35: float = 77.0, tilt_deg: float = 3.0, azimuth_deg: float = 40.0,
               roll_deg: float = 0.0, turn_deg: float = 5.0, aim: tuple[float, float] = (0.0, 0.0), fill: float = 0.86,
               size: tuple[int, int] = (4032, 3024), desk: str = "wood", light: Light | None = None,
               develop: Develop | None = None, lens: tuple[float, float] | None = None,
               sheet_error: tuple[float, float] = (0.0, 0.0), rule_pitch: float = 1.0, tell_radius: bool = False,
               say_f35: bool = True) -> Shoot:
    """A part with the reference of this kind beside or under it, framed so that everything needed is in the picture.

    fill: share of the picture's width the scene takes; aim: the table point in its middle, so that a sheet can be partly out of
    the picture (so can turning the camera by roll_deg: PEEKS); sheet_error: trimmed size minus nominal size, mm.
    """
    body = part_of(drawing, height, edge_radius, draft_deg=draft_deg, angle_deg=turn_deg, albedo=PALETTE[paint])
    low, high = body.extent()
    wide, tall = high - low
    middle = (low + high) / 2
    k1, k2 = lens if lens is not None else LENSES.get(f35, (0.0, 0.0))
    sheet = rule = calliper = None
    shot = Shot(file="", face_height=height, edge_radius=edge_radius if tell_radius else None)
    aspect = max(size) / min(size)
    major = 10 if rule_pitch == 1.0 else 16
    if "sheet" in kind:
        sheet = Sheet(297.0 + sheet_error[1], 210.0 + sheet_error[0], angle_deg=turn_deg / 3)
        body = replace(body, x=-middle[0] + 6, y=-middle[1] + (32 if "rule" in kind else 4))
        shot = replace(shot, sheet=(210.0, 297.0))
        span = max(sheet.width, sheet.height * aspect)
        if "rule" in kind:
            rule = Rule(length=150.0, x=-80, y=-92, angle_deg=turn_deg / 4, pitch=rule_pitch, major=major)
    elif kind == "rule":
        body = replace(body, x=-middle[0], y=-middle[1] + 20)
        length = 160.0 if rule_pitch == 1.0 else 165.0
        rule = Rule(length=length, x=-length / 2, y=-tall / 2 - 18, angle_deg=turn_deg / 4, pitch=rule_pitch, major=major)
        span = max(length + 6, wide + 10, (tall + 48) * aspect)
    elif kind == "none":
        body = replace(body, x=-middle[0], y=-middle[1])
        span = max(wide, tall * aspect) * 1.5
    else:
        body = replace(body, x=-middle[0], y=-middle[1] - 28)
        opening = float(round(wide)) if wide > 60 else 70.0
        calliper = Calliper(opening, x=-opening / 2, y=tall / 2 + 26, angle_deg=turn_deg / 5)
        span = max(opening + 100, (tall + 75) * aspect)
    if rule is not None:
        name = "mm" if rule_pitch == 1.0 else "inch:16"
        shot = replace(shot, rule=RuleGiven(rule_pitch, name), reference_height=rule.thickness)
    camera = stand_camera(size, f35, frame_distance(f35, span / fill, size), aim, tilt_deg, azimuth_deg, roll_deg, k1, k2)
    scene = Scene(camera, (body,), sheet, rule, calliper, desk, light or Light(), develop or Develop(), f35 if say_f35 else None)
    if calliper is not None:
        (x1, y1), (x2, y2) = project(camera, calliper.face_points())
        shot = replace(shot, reference_height=calliper.thickness)
        if kind == "span":
            shot = replace(shot, span=Span(round(x1, 1), round(y1, 1), round(x2, 1), round(y2, 1), calliper.opening))
        else:
            shot = replace(shot, calliper=calliper.opening)
    label = f"{drawing.name} {kind} {paint} h{height:g} r{edge_radius:g} d{draft_deg:.2g} {f35:g}mm tilt{tilt_deg:.0f}"
    return Shoot(label, scene, drawing, shot)


def random_shoot(seed: int, kind: str | None = None, megapixels: float = 12.0, trimmed: bool = False) -> Shoot:
    """A shoot with everything drawn at random.

    kind: one of KINDS, or None for any; trimmed: sheets off their standard size by 0.25 mm (one standard deviation) a side.
    """
    rng = np.random.default_rng([20, seed])
    kind = kind or str(rng.choice(KINDS, p=[0.35, 0.25, 0.2, 0.1, 0.1]))
    drawing = DRAWINGS[int(rng.integers(len(DRAWINGS)))]
    width = int(round(math.sqrt(megapixels * 1e6 * 4 / 3) / 16)) * 16
    desk = str(rng.choice(["wood", "plain"])) if "sheet" in kind else "plain"
    paint = str(rng.choice(list(PALETTE), p=[0.15, 0.4, 0.15, 0.15, 0.15] if "sheet" in kind else [0.3, 0.4, 0.3, 0.0, 0.0]))
    f35 = float(rng.choice([26.0, 48.0, 52.0, 77.0, 115.0], p=[0.15, 0.15, 0.15, 0.45, 0.1]))
    tilt = float(rng.choice([rng.uniform(0, 6), rng.uniform(6, 15)], p=[0.8, 0.2]))
    peek = PEEKS[int(rng.integers(len(PEEKS)))] if kind == "sheet" and rng.random() < 0.15 else (0.0, (0.0, 0.0), 1.0)
    return make_shoot(
        drawing, kind, height=float(rng.choice([3, 4, 5, 6, 8, 9, 12])), edge_radius=float(rng.choice([0.1, 0.3, 0.4, 0.5, 0.8])),
        draft_deg=float(rng.choice([0.0, 0.5, 1.0], p=[0.7, 0.15, 0.15])), paint=paint, f35=f35, tilt_deg=tilt,
        azimuth_deg=float(rng.uniform(0, 360)), roll_deg=float(rng.uniform(-4, 4)) + peek[0],
        turn_deg=float(rng.uniform(-9, 9)),
        fill=float(rng.uniform(0.80, 0.90)) * peek[2], aim=peek[1],
        size=(width, width * 3 // 4), desk=desk,
        light=Light(*(float(rng.uniform(a, b)) for a, b in ((0, 360), (35, 70), (5, 20), (0.25, 0.6)))),
        develop=Develop(float(rng.uniform(0.6, 1.2)), float(rng.uniform(0.015, 0.05)), float(rng.uniform(0.0, 0.7)),
                        float(rng.uniform(0.6, 0.95))),
        sheet_error=tuple(float(e) if trimmed else 0.0 for e in rng.normal(0, 0.25, 2)),
        rule_pitch=INCH / 16 if drawing.unit == "inch" else 1.0, tell_radius=bool(rng.random() < 0.5))


@lru_cache(maxsize=2)
def developed(scene: Scene, seed: int) -> Photo:
    """The photograph of a scene, to be read only; what is told of it and how it is stored may differ from test to test."""
    photo = photograph(scene, seed)
    photo.image.flags.writeable = False
    return photo


def take(shoot: Shoot, folder: Path, seed: int, orientation: int = 1) -> tuple[Photo, Shot]:
    """Photograph a shoot into folder/photo.jpg; returns the photo and the shot that names the file."""
    photo = developed(shoot.scene, seed)
    path = Path(folder) / "photo.jpg"
    save_jpeg(photo, path, orientation)
    return photo, replace(shoot.shot, file=str(path))
