"""Sets of photographs of one part from the booth, measured together, and parts turned over.

A *set* is one part lying still on its sheet with the camera going round it: one photograph nearly from above and one or two
aslant; the maker tells nothing of heights.  tests/truth/heights_study.py measures many of them.
Limits: sheets that lie flat, one part with sharp bottom edges, whole in every picture, 4 megapixels.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from afterpart.model.edges import EdgeMap
from afterpart.model.job import Shot
from afterpart.pipeline import edges_together
from tests.truth.booth import Develop, photograph, save_jpeg, stand_camera
from tests.truth.drawings import DRAWINGS, Drawing
from tests.truth.light import Light
from tests.truth.scenes import Shoot, make_shoot

SIZE = (2400, 1800)
USABLE = ("pump_cover", "angle_bracket", "square_flange", "slotted_plate", "three_arm", "filter_frame", "valve_cover",
          "half_moon")
"""Parts with some openings and an outline that fits one way only, or nearly."""


def from_side(shoot: Shoot, tilt_deg: float, azimuth_deg: float, distance: float) -> Shoot:
    """The same scene, camera elsewhere; nothing on the table is moved."""
    camera = stand_camera(SIZE, shoot.scene.f35 or 77.0, distance, (0.0, 0.0), tilt_deg, azimuth_deg, 0.0, shoot.scene.camera.k1,
                          shoot.scene.camera.k2)
    return replace(shoot, scene=replace(shoot.scene, camera=camera))


def photographs(shoots: list[Shoot], folder: Path, seed: int) -> list[Shot]:
    """Take them; the shots name the files (relative to the folder) and tell no height."""
    shots = []
    for k, shoot in enumerate(shoots):
        name = f"photo_{k + 1}.jpg"
        save_jpeg(photograph(shoot.scene, seed + k), folder / name)
        shots.append(replace(shoot.shot, file=name, face_height=None))
    return shots


def random_set(seed: int) -> list[Shoot]:
    """A set drawn at random: part, height, rounding, light, two or three stands; a rule beside the part in every other."""
    rng = np.random.default_rng([31, seed])
    names = {drawing.name: drawing for drawing in DRAWINGS}
    part: Drawing = names[str(rng.choice(USABLE))]
    height = float(rng.choice([4.0, 5.0, 6.0, 8.0, 9.0, 12.0]))
    f35 = float(rng.choice([48.0, 77.0]))
    reference = "sheet" if seed % 2 else "sheet+rule"
    first = make_shoot(part, reference, height=height, edge_radius=float(rng.choice([0.2, 0.4, 0.6])), f35=f35, size=SIZE,
                       paint=str(rng.choice(["dark", "black", "blue"])), tilt_deg=float(rng.uniform(1, 6)),
                       azimuth_deg=float(rng.uniform(0, 360)), turn_deg=float(rng.uniform(-9, 9)),
                       light=Light(*(float(rng.uniform(a, b)) for a, b in ((0, 360), (40, 70), (8, 20), (0.25, 0.5))),
                                   bleeds=False),
                       develop=Develop(float(rng.uniform(0.7, 1.1)), float(rng.uniform(0.02, 0.04))))
    distance = float(np.hypot(*first.scene.camera.position[:2], ) ** 2 + first.scene.camera.position[2] ** 2) ** 0.5
    start = float(rng.uniform(0, 360))
    count = int(rng.integers(1, 3))
    return [first, *(from_side(first, float(rng.uniform(14, 24)), start + 360.0 * k / count + float(rng.uniform(-30, 30)),
                               1.06 * distance) for k in range(count))]


def measured(shoots: list[Shoot], seed: int) -> EdgeMap:
    """The set measured together."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        return edges_together(tuple(photographs(shoots, folder, seed)), folder, lambda words: None)[0]


def turned_over(plate: Drawing) -> Drawing:
    """The plate as it looks from its other side."""
    def over(segment: tuple) -> tuple:
        if segment[0] == "circle":
            return ("circle", (-segment[1][0], segment[1][1]), *segment[2:])
        start, end, *rest = ((-p[0], p[1]) if isinstance(p, tuple) else p for p in segment[1:])
        return (segment[0], end, start, *rest)
    return Drawing(f"{plate.name}_over", tuple(tuple(over(s) for s in reversed(loop)) for loop in plate.loops))
