"""The law of light on roundings: its pattern by numbers, its weights from probes made by the law itself, holes fitted in it.

Checks: the sheen's integral against a sum over small steps (closed form); the law's weights against those that the probes were
made with; in the photo booth, places of six equal holes seen aslant, which must be nearer to the truth than without the law.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.photo.commonlight import fit_in_common_light, law_of_light
from afterpart.photo.load import load_picture
from afterpart.photo.profile import GLINT, SHEEN, SHEEN_POWER, WALL, RimShape, Spread, rim_patterns
from afterpart.photo.rimlight import RimLight, harmonics
from afterpart.photo.rimprobe import FINE, read_probes
from afterpart.photo.roundrim import circle_course, fit_round_rims
from tests.truth.booth import photograph, save_jpeg
from tests.truth.drawings import DRAWINGS
from tests.truth.scenes import make_shoot

CAMERA = Camera(900, 700, 4000.0, 0.0, 0.0, ((1, 0, 0), (0, -1, 0), (0, 0, -1)), (0.0, -60.0, 400.0))
LAW = RimLight(np.array([0.4, 0.1, 0.05]), np.array([-0.3, 0.05, -0.1, 0.02, 0.03]), np.array([0.2, 0.2, 0.1, 0.05, -0.04]))
SPREAD = Spread(0.9, 0.3)


def test_the_sheen_is_the_integral_of_its_lobe() -> None:
    shape = RimShape(8.0, 0.5, 0.0, 400.0, light=LAW)
    step, px = 0.0005, 1e-4
    slope = -0.3
    pattern = rim_patterns(shape, np.array([slope]), np.array([-2.4]), px, Spread(1e-3, 0.0), -0.6, step, 1400)[0, SHEEN]
    # the visible rounding by its lean: where each stretch is seen, and how bright the lobe is there
    lean = np.linspace(0.0, np.arctan2(1.0, -slope), 200001)
    seen = -0.5 + 0.5 * np.sin(lean) + slope * 0.5 * (1 - np.cos(lean))
    peak = SHEEN_POWER ** (0.5 * SHEEN_POWER) / (SHEEN_POWER + 1) ** (0.5 * (SHEEN_POWER + 1))
    lobe = np.sin(lean) * np.cos(lean) ** SHEEN_POWER / peak
    t = -0.6 + np.arange(1400) * step
    inside = (t > -0.49) & (t < seen.max() - 0.01)
    assert np.abs(pattern[inside] - np.interp(t[inside], seen, lobe)).max() < 2e-3
    assert pattern.max() == pytest.approx(1.0, abs=2e-3)
    assert np.abs(pattern[(t < -0.51) | (t > seen.max() + 0.01)]).max() < 1e-4


def test_the_law_turns_with_the_light() -> None:
    angle = np.linspace(0, 2 * np.pi, 12, endpoint=False)
    normals = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    waves = harmonics(normals)
    assert np.allclose(waves.T @ waves, np.diag([12, 6, 6, 6, 6]))
    assert LAW.levels(normals).mean(axis=0) == pytest.approx([0.4, -0.3, 0.2])


def test_the_law_is_found_from_probes_made_by_it() -> None:
    shape = RimShape(8.0, 0.5, 0.0, CAMERA.position[2], light=LAW)
    circles = [(np.array([x, y]), 3.0, True) for x in (-20.0, 0.0, 20.0) for y in (-25.0, 15.0)]
    courses = [circle_course(*circle, 0.1, 3.0, 12.0) for circle in circles]
    rng = np.random.default_rng(5)
    block = read_probes(rng.normal(100.0, 0.3, (700, 900)).astype(np.float32), CAMERA, courses, shape, 0.1, FINE)
    patterns = rim_patterns(shape, block.slope, block.foot, block.px, SPREAD, block.t0, block.step, block.values.shape[1])
    levels = np.zeros((len(block.values), shape.levels))
    levels[:, 0], levels[:, 4] = block.face, block.table
    levels[:, [WALL, GLINT, SHEEN]] = LAW.levels(block.normals[block.order]) * block.face[:, None]
    values = np.einsum("na,nak->nk", levels, patterns[block.kind].astype(float))
    made = replace(block, values=values + rng.normal(0.0, 0.5, values.shape))
    found = law_of_light(made, shape, SPREAD)
    for own, true in ((found.wall, LAW.wall), (found.glint, LAW.glint), (found.sheen, LAW.sheen)):
        assert np.abs(own - true).max() < 0.02


def test_holes_seen_aslant_stand_nearer_to_the_truth_in_their_common_light(tmp_path: Path) -> None:
    shoot = make_shoot(next(d for d in DRAWINGS if d.name == "filter_frame"), "sheet", height=8.0, edge_radius=0.4,
                       tilt_deg=20.0, azimuth_deg=70.0, size=(2400, 1800))
    save_jpeg(photograph(shoot.scene, 3), tmp_path / "photo.jpg")
    picture = load_picture(tmp_path / "photo.jpg", shoot.shot)
    camera, body = shoot.scene.camera, shoot.scene.parts[0]
    true = [(np.ravel(body.out(*(np.array([v]) for v in loop[0][1]))), float(loop[0][2])) for loop in shoot.drawing.loops[1:]
            if loop[0][0] == "circle"]
    px = (camera.position[2] - 8.0) / camera.focal_px
    shape = RimShape(8.0, 0.4, 0.0, camera.position[2])
    alone = fit_round_rims(picture.light, camera, [(c, r, True) for c, r in true], shape, px, SPREAD)
    common = fit_in_common_light(picture.light, camera, alone, shape, px, SPREAD, FINE)
    assert len(true) == 6

    def off(fits: list) -> float:
        return float(np.sqrt(np.mean([np.sum((f.centre - c) ** 2) for f, (c, _) in zip(fits, true, strict=True)])))
    assert off(common) < min(off(alone), 0.03)


def test_openings_of_other_sizes_and_few_ones_stay_as_they_are(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    light = rng.normal(60.0, 1.0, (700, 900)).astype(np.float32)
    shape = RimShape(8.0, 0.5, 0.0, CAMERA.position[2])
    circles = [(np.array([x, -20.0]), radius, True) for x, radius in ((-25.0, 2.0), (-8.0, 2.5), (8.0, 3.2), (24.0, 4.1))]
    alone = fit_round_rims(light, CAMERA, circles, shape, 0.1, SPREAD)
    assert fit_in_common_light(light, CAMERA, alone, shape, 0.1, SPREAD, FINE) == alone
