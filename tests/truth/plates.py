"""Plates whose sizes are published, as drawings, and a run that photographs them all.

Usage: python -m tests.truth.plates [--only WORD] [--keep DIR]
One line a photograph: every printed size that did not come out as printed, then the sum.  Not a test: it asserts nothing;
tests/published/test_plates.py asserts on a sample of the same photographs.
Words: a *printed* size is one the source gives; corner radii, thickness and openings marked "ours" are invented to make a plate
of it, and are not asked for.  Every figure is from memory; the second place it was held against is named with it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import itertools
import math
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

from afterpart.model.outline import Circle, Line, Loop, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from tests.truth.compare import compare_outline
from tests.truth.drawings import Drawing, box, circle, corner_holes, ring
from tests.truth.light import Light
from tests.truth.scenes import Shoot, make_shoot, take

FLANGES = ("EN 1092-1, flanges PN 16, columns D, k, d, number of holes and bore B1 of type 01 (from memory; D, k, d and number "
           "agree with a public table of pipe flanges)")
MOTORS = ("NEMA ICS 16, motor faces: square of holes, pilot, clearance (from memory; square and pilot agree with a public "
          "library of motor models, which has 30.99 for 31.0)")
FANS = "axial fans, common practice: square of holes (from memory; agrees with three public models of such fans)"
DISPLAYS = "flat display mounts, common practice: square of holes for M4, plate 90 or 115 mm (from memory)"

SAME = 0.001
"""mm: a design value this near the printed one is the printed one (files carry more digits)."""


SURE = 0.95


@dataclass(frozen=True)
class Plate:
    """A drawing, where its sizes are printed, and the references laid beside it."""

    drawing: Drawing
    source: str
    kind: str = "sheet+rule"

    @property
    def circles(self) -> list[tuple[float, float, float]]:
        """(x, y, diameter) of every circle, the outer one included."""
        return [(*s[1], 2 * s[2]) for loop in self.drawing.loops for s in loop if s[0] == "circle"]

    @property
    def widths(self) -> list[float]:
        """Width and height of an outer loop that is no circle."""
        points = [p for s in self.drawing.loops[0] if s[0] != "circle" for p in s[1:3]]
        return [max(p[k] for p in points) - min(p[k] for p in points) for k in (0, 1)] if points else []


@dataclass(frozen=True)
class Recovered:
    """What one photograph gave.  asked: number of printed sizes; wrong: (kind, printed, design, measured) of those that differ,
    mm; sure_wrong: design values given 0.95 or more and wrong; strange: holes missed or invented, in words; seconds of
    measuring."""

    label: str
    asked: int
    wrong: tuple[tuple[str, float, float, float], ...]
    sure_wrong: int
    strange: str
    seconds: float
    outline: Outline

    @property
    def exact(self) -> bool:
        """Every printed size came out as printed."""
        return not self.wrong and not self.strange

    def __str__(self) -> str:
        what = self.strange or "; ".join(f"{name} {true:g}: design {design:.3f}, measured {measured:.3f}"
                                         for name, true, design, measured in self.wrong)
        right = "-" if self.strange else str(self.asked - len(self.wrong))
        sure = f"{self.sure_wrong} sure and wrong; " if self.sure_wrong else ""
        return f"{self.label:<32} {self.seconds:5.1f} s  {right:>2}/{self.asked} as printed  {sure}{what}"


def _flange(size: str, outer: float, pitch_circle: float, bore: float, hole: float, kind: str) -> Plate:
    """Four holes, none on the centre lines."""
    return Plate(Drawing(f"flange_{size}", (circle(0, 0, outer), circle(0, 0, bore), *ring(4, pitch_circle, hole, 45))), FLANGES,
                 kind)


def _square(name: str, side: float, radius: float, pattern: float, hole: float, middle: float, source: str) -> Plate:
    """A square plate with four holes in a square and a round opening; the corner radius is ours."""
    return Plate(Drawing(name, (box(side, side, radius), *corner_holes(pattern, pattern, hole), circle(0, 0, middle))), source)


PLATES: dict[str, Plate] = {plate.drawing.name: plate for plate in (
    _flange("dn15", 95, 65, 22.0, 14, "sheet+rule"),
    _flange("dn25", 115, 85, 34.5, 14, "sheet+rule"),
    _flange("dn40", 150, 110, 49.5, 18, "rule"),
    _flange("dn50", 165, 125, 61.5, 18, "rule"),
    # ours: plate sides 42.3 (the usual largest face) and 60, radii
    _square("motor_17", 42.3, 4, 31.0, 3.4, 22.0, MOTORS),
    _square("motor_23", 60, 5, 47.14, 5.1, 38.1, MOTORS),
    # ours: radii and the openings for the air
    _square("fan_40", 40, 3, 32.0, 3.4, 38, FANS),
    _square("fan_60", 60, 4, 50.0, 4.5, 57, FANS),
    _square("fan_80", 80, 5, 71.5, 4.5, 76, FANS),
    _square("fan_92", 92, 5, 82.5, 4.5, 88, FANS),
    _square("fan_120", 120, 6, 105.0, 4.5, 115, FANS),
    # ours: radii and the opening for the cable
    _square("display_75", 90, 5, 75, 4.5, 36, DISPLAYS),
    _square("display_100", 115, 6, 100, 4.5, 50, DISPLAYS),
)}

SHOTS: tuple[dict, ...] = (
    {"height": 6.0, "edge_radius": 0.3, "f35": 77.0, "tilt_deg": 2.5, "azimuth_deg": 40.0, "turn_deg": 5.0, "paint": "dark",
     "size": (2816, 2112)},
    {"height": 8.0, "edge_radius": 0.4, "f35": 52.0, "tilt_deg": 5.0, "azimuth_deg": 215.0, "turn_deg": -6.0, "paint": "grey",
     "size": (3264, 2448), "light": Light(120.0, 55.0, 12.0, 0.4)},
    {"height": 6.0, "edge_radius": 0.3, "f35": 77.0, "tilt_deg": 3.0, "azimuth_deg": 300.0, "turn_deg": 4.0, "paint": "dark",
     "size": (2816, 2112)},
)
"""Ways a plate is photographed: 6 megapixels from above with a long lens, 8 aslant from nearer in another light; the third, for
small plates that are a tenth of a sheet, is as near as a rule allows, without the sheet."""

SMALL = 65.0


def shots_of(plate: Plate) -> range:
    """Indices of the SHOTS taken of this plate."""
    return range(3 if plate.widths and max(plate.widths) <= SMALL else 2)


def shoot_plate(plate: Plate, shot: int) -> Shoot:
    """The plate with its references under one of the SHOTS; a rule alone lies on a plain desk."""
    kind = plate.kind if shot < 2 else "rule"
    how = dict(SHOTS[shot], desk="wood" if "sheet" in kind else "plain")
    if "sheet" not in kind and how["paint"] == "grey":
        how["paint"] = "dark"
    made = make_shoot(plate.drawing, kind, **how)
    return replace(made, label=f"{plate.drawing.name} {kind} shot {shot + 1}")


def recover(plate: Plate, shot: int, folder: Path) -> Recovered:
    """Photograph the plate into folder and measure it as a maker would, telling the references, their height and the face's."""
    shoot = shoot_plate(plate, shot)
    _, said = take(shoot, folder, seed=100 * shot + sorted(PLATES).index(plate.drawing.name))
    started = time.perf_counter()
    edges = edges_of(load_picture(Path(said.file), said), said, lambda words: None)
    outline = recover_outline(edges, OutlineSettings())
    seconds = time.perf_counter() - started
    return judge(plate, outline, shoot.label, seconds)


def judge(plate: Plate, outline: Outline, label: str = "", seconds: float = 0.0) -> Recovered:
    """Every printed size against the design outline's: diameters, distances between all centres, outer widths.

    Sizes are paired in order within their kind (a distance's kind is the two diameters it joins), so that no pose is needed.
    """
    design = [loop for loop in outline.design if loop.part == 1 and loop.role != "channel"]
    measured = [loop for loop in outline.measured if loop.part == 1 and loop.role != "channel"]
    true = plate.circles
    drawn, seen = _circles(design), _circles(measured)
    asked = len(true) + math.comb(len(true), 2) + len(plate.widths)
    sure_wrong = sum(probability >= SURE and not right for probability, right in compare_outline(outline, plate.drawing).claims)
    if len(drawn) != len(true):
        return Recovered(label, asked, (), sure_wrong, f"{len(drawn)} circles of {len(true)}", seconds, outline)
    wrong = []
    rows = zip(_sizes(true), _sizes(drawn), _sizes(seen), strict=True)
    for (name, size), (_, ours), (_, raw) in rows:
        if abs(ours - size) > SAME:
            wrong.append((name, size, ours, raw))
    for size, ours, raw in zip(sorted(plate.widths), _widths(design), _widths(measured), strict=False):
        if abs(ours - size) > SAME:
            wrong.append(("width", size, ours, raw))
    strange = "outer edges are not four lines" if plate.widths and len(_widths(design)) != 2 else ""
    return Recovered(label, asked, tuple(wrong), sure_wrong, strange, seconds, outline)


def _circles(loops: list[Loop]) -> list[tuple[float, float, float]]:
    return [(*s.center, 2 * s.radius) for loop in loops for s in loop.segments if isinstance(s, Circle)]


def _sizes(circles: list[tuple[float, float, float]]) -> list[tuple[str, float]]:
    """Diameters in order, then distances in order of the diameters' places they join and their size."""
    ranked = sorted(circles, key=lambda c: c[2])
    place, names = [], []
    for k, c in enumerate(ranked):
        near = k > 0 and c[2] - ranked[k - 1][2] < 0.3
        place.append(place[-1] if near else k)
        names.append(c[2])
    out = [("diameter", c[2]) for c in ranked]
    joined = sorted((place[i], place[j], math.dist(ranked[i][:2], ranked[j][:2]))
                    for i, j in itertools.combinations(range(len(ranked)), 2))
    return out + [("distance", d) for _, _, d in joined]


def _widths(loops: list[Loop]) -> list[float]:
    """Distances of the outer loop's opposite long edges, smallest first."""
    lines = [s for loop in loops if loop.role == "outer" for s in loop.segments if isinstance(s, Line)]
    out = []
    for a, b in itertools.combinations(lines, 2):
        ux, uy = b.end[0] - b.start[0], b.end[1] - b.start[1]
        vx, vy = a.end[0] - a.start[0], a.end[1] - a.start[1]
        length = math.hypot(ux, uy)
        if ux * vx + uy * vy < -0.999 * length * math.hypot(vx, vy):
            middle = ((a.start[0] + a.end[0]) / 2, (a.start[1] + a.end[1]) / 2)
            out.append(abs(ux * (middle[1] - b.start[1]) - uy * (middle[0] - b.start[0])) / length)
    return sorted(out)


def main() -> None:
    parser = argparse.ArgumentParser(description="Photographs of plates of published sizes, and which sizes did not come out.")
    parser.add_argument("--only", default="", help="plates whose name has this in it")
    parser.add_argument("--keep", type=Path, help="keep photographs here")
    told = parser.parse_args()
    exact = asked = right = count = sure_wrong = 0
    for name, plate in PLATES.items():
        for shot in shots_of(plate) if told.only in name else ():
            with tempfile.TemporaryDirectory() as spare:
                folder = told.keep / f"{name}_{shot + 1}" if told.keep else Path(spare)
                folder.mkdir(parents=True, exist_ok=True)
                found = recover(plate, shot, folder)
            print(found, flush=True)
            count, exact, sure_wrong = count + 1, exact + found.exact, sure_wrong + found.sure_wrong
            asked, right = asked + found.asked, right + (0 if found.strange else found.asked - len(found.wrong))
    print(f"{exact} of {count} photographs exact; {right} of {asked} sizes as printed; {sure_wrong} design values sure and wrong")


if __name__ == "__main__":
    main()
