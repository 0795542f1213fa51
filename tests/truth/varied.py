"""Shoots for the study of uncertainty: whatever can be off in a maker's shoot is off, by a drawn amount.

Words: a *draw* is the table of what was drawn for one scene (for the study's records only, the measuring code never sees it).
What varies: pose, lens and the focal length the file tells, light, blur, noise, sharpening with its halo, JPEG quality; the face
height and the reference's thickness as the maker reads them; the reference itself; and the part against its drawing (shrinkage,
scatter, draft, bow).  The same seed gives the same scene.
Spreads without a source named beside them are judgement.  Limits: one part a scene; the rounding told is the true one.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace

import numpy as np
from scipy.spatial import cKDTree

from afterpart.standards.paper import sheet_tolerance
from tests.outline.invented import invented_part
from tests.truth.bodies import Bow
from tests.truth.booth import Develop, project
from tests.truth.drawings import DRAWINGS, INCH, Drawing
from tests.truth.field import walk
from tests.truth.light import Light
from tests.truth.moulding import Moulding, mould
from tests.truth.scenes import KINDS, LENSES, PALETTE, PEEKS, Shoot, make_shoot

KIND_SHARES = (0.35, 0.25, 0.2, 0.1, 0.1)
INVENTED = ("cover", "flange", "bracket", "lug", "inch", "tenth", "sharp")
FOCALS = ((26.0, 0.15), (48.0, 0.15), (52.0, 0.15), (77.0, 0.45), (115.0, 0.1))
HEIGHT_SD = 0.05
SHEET_SD = 0.7
RULE_SD = 3e-4
CALLIPER_SD = 0.02
CLICK_SD_PX = 0.5
FOCAL_SD = 0.004
"""A phone's focal length against its nominal one, before the file's rounding to whole millimetres."""

PLACE_SD, SIZE_SD = 0.03, 0.02
MOST_BOW = 0.3
LEAST_WEB = 1.5
"""Least material between two openings or an opening and the outside, mm: a thinner one would break in the mould."""



@dataclass(frozen=True)
class Draw:
    """shrink_x, shrink_y: shares; bow: "flat" or its kind; rise: of the bow; height_error: as told minus true; sheet_error: short
    and long side, made minus standard; rule_error: relative; reading_error: of the calliper, told minus true; focal_error:
    relative, true against told; draft_deg; quality of the JPEG; sharpen with sharpen_px; drawing: its name or family."""

    drawing: str
    shrink_x: float
    shrink_y: float
    bow: str
    rise: float
    draft_deg: float
    height_error: float
    sheet_error: tuple[float, float]
    rule_error: float
    reading_error: float
    focal_error: float
    sharpen: float
    sharpen_px: float
    quality: int


def varied_shoot(seed: int, megapixels: float = 8.0, kind: str | None = None) -> tuple[Shoot, dict]:
    """(shoot, draw) of a scene.  kind: one of KINDS, or None for any."""
    rng = np.random.default_rng([23, seed])
    drawn_kind = str(rng.choice(KINDS, p=KIND_SHARES))
    kind = kind or drawn_kind
    drawing = _drawing(rng)
    moulding = _moulding(rng)
    part = mould(drawing, moulding, rng)
    draw = Draw(
        drawing.name, round(moulding.shrink_x, 6), round(moulding.shrink_y, 6),
        str(rng.choice(["flat", "dome", "bowl", "saddle"], p=[0.4, 0.2, 0.2, 0.2])), float(rng.uniform(0.02, MOST_BOW)),
        float(rng.uniform(0, 1.5)) if rng.random() < 0.7 else 0.0, float(rng.normal(0, HEIGHT_SD)),
        (_side_error(210.0, rng), _side_error(297.0, rng)), float(rng.normal(0, RULE_SD)), float(rng.normal(0, CALLIPER_SD)),
        0.0, float(rng.uniform(0, 1.2)), float(rng.uniform(0.8, 2.0)), int(rng.integers(70, 98)))
    shoot = _taken(drawing, part, kind, draw, megapixels, rng)
    shoot, focal_error = _with_true_lens(shoot, rng)
    shoot = _with_errors(shoot, draw, rng)
    return shoot, asdict(replace(draw, focal_error=focal_error))


def _drawing(rng: np.random.Generator) -> Drawing:
    """One of the booth's own drawings, or as often one with numbers drawn at random."""
    if rng.random() < 0.5:
        return DRAWINGS[int(rng.integers(len(DRAWINGS)))]
    family = str(rng.choice(INVENTED))
    while True:
        loops = tuple(tuple(loop) for loop in invented_part(family, rng))
        if _web(loops) >= LEAST_WEB:
            return Drawing(f"drawn_{family}", loops, unit="inch" if family == "inch" else "metric")


def _web(loops: tuple[tuple, ...]) -> float:
    """Least distance between two loops, mm."""
    points = [walk(list(loop), 0.5) for loop in loops]
    return min(float(cKDTree(a).query(b)[0].min()) for k, a in enumerate(points) for b in points[k + 1:])


def _moulding(rng: np.random.Generator) -> Moulding:
    """Half the parts shrunk by 0.2 to 1 %, unevenly; the others as good as not at all."""
    if rng.random() < 0.5:
        shrink, ratio = float(rng.uniform(0.002, 0.01)), float(rng.uniform(0.8, 1.2))
    else:
        shrink, ratio = float(rng.normal(0, 1e-4)), 1.0
    return Moulding(shrink, shrink * ratio, PLACE_SD, SIZE_SD)


def _side_error(side: float, rng: np.random.Generator) -> float:
    """How much a sheet's side is off its standard length: normal, none beyond the tolerance of ISO 216."""
    limit = sheet_tolerance(side)
    while True:
        error = float(rng.normal(0, SHEET_SD))
        if abs(error) <= limit:
            return error


def _taken(drawing: Drawing, part: Drawing, kind: str, draw: Draw, megapixels: float, rng: np.random.Generator) -> Shoot:
    """The scene before anything is misread."""
    width = int(round(math.sqrt(megapixels * 1e6 * 4 / 3) / 16)) * 16
    on_sheet = "sheet" in kind
    f35 = float(rng.choice([f for f, _ in FOCALS], p=[p for _, p in FOCALS]))
    k1, k2 = (k * float(rng.uniform(0.6, 1.4)) for k in LENSES[f35])
    tilt = float(rng.uniform(0, 6) if rng.random() < 0.8 else rng.uniform(6, 15))
    peek = PEEKS[int(rng.integers(len(PEEKS)))] if kind == "sheet" and rng.random() < 0.15 else (0.0, (0.0, 0.0), 1.0)
    shoot = make_shoot(
        part, kind, height=float(rng.choice([3, 4, 5, 6, 8, 9, 12])), edge_radius=float(rng.choice([0.1, 0.3, 0.4, 0.5, 0.8])),
        draft_deg=draw.draft_deg, f35=f35, tilt_deg=tilt, azimuth_deg=float(rng.uniform(0, 360)),
        paint=str(rng.choice(list(PALETTE), p=[0.15, 0.4, 0.15, 0.15, 0.15] if on_sheet else [0.3, 0.4, 0.3, 0.0, 0.0])),
        roll_deg=float(rng.uniform(-4, 4)) + peek[0], turn_deg=float(rng.uniform(-9, 9)),
        fill=float(rng.uniform(0.80, 0.90)) * peek[2], aim=peek[1], size=(width, width * 3 // 4),
        desk=str(rng.choice(["wood", "plain"])) if on_sheet else "plain", lens=(k1 + float(rng.normal(0, 0.002)), k2),
        light=Light(*(float(rng.uniform(a, b)) for a, b in ((0, 360), (35, 70), (5, 20), (0.25, 0.6)))),
        develop=Develop(float(rng.uniform(0.6, 1.2)), float(rng.uniform(0.015, 0.06)), draw.sharpen,
                        float(rng.uniform(0.6, 0.95)), quality=draw.quality, sharpen_px=draw.sharpen_px),
        sheet_error=draw.sheet_error, rule_pitch=INCH / 16 if drawing.unit == "inch" else 1.0,
        tell_radius=bool(rng.random() < 0.5))
    body = shoot.scene.parts[0]
    if draw.bow != "flat":
        low, high = body.own_extent()
        bow = Bow(draw.bow, draw.rise, math.dist(low, high) / 2, *((low + high) / 2), float(rng.uniform(0, 180)))
        shoot = replace(shoot, scene=replace(shoot.scene, parts=(replace(body, bow=bow),)))
    return replace(shoot, drawing=drawing, part=part)


def _with_true_lens(shoot: Shoot, rng: np.random.Generator) -> tuple[Shoot, float]:
    """The camera with the focal length it really has, as far from the table as keeps the picture: (shoot, relative error)."""
    told = shoot.scene.f35
    assert told is not None
    error = float((1 + rng.uniform(-0.5, 0.5) / told) * (1 + rng.normal(0, FOCAL_SD)) - 1)
    camera = shoot.scene.camera
    position = tuple(v * (1 + error) for v in camera.position)
    return replace(shoot, scene=replace(shoot.scene, camera=replace(camera, focal_px=camera.focal_px * (1 + error),
                                                                    position=position))), error


def _with_errors(shoot: Shoot, draw: Draw, rng: np.random.Generator) -> Shoot:
    """What the maker types, misread by the drawn errors; the rule as its maker divided it; points as a hand clicks them."""
    shot, scene = shoot.shot, shoot.scene
    assert shot.face_height is not None
    shot = replace(shot, face_height=round(shot.face_height + draw.height_error, 2))
    if shot.reference_height:
        shot = replace(shot, reference_height=round(shot.reference_height + float(rng.normal(0, CALLIPER_SD)), 2))
    if scene.rule is not None:
        scene = replace(scene, rule=replace(scene.rule, pitch=scene.rule.pitch * (1 + draw.rule_error)))
    if scene.calliper is not None:
        told = round(scene.calliper.opening + draw.reading_error, 2)
        if shot.span is not None:
            (x1, y1), (x2, y2) = project(scene.camera, scene.calliper.face_points()) + rng.normal(0, CLICK_SD_PX, (2, 2))
            shot = replace(shot, span=replace(shot.span, x1=round(x1, 1), y1=round(y1, 1), x2=round(x2, 1), y2=round(y2, 1),
                                              length=told))
        else:
            shot = replace(shot, calliper=told)
    return replace(shoot, scene=scene, shot=shot)
