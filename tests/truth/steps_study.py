"""Are pockets and pads of the face found, told apart, and measured: many plates from the photo booth, each with one step.

Usage: python -m tests.truth.steps_study [-n 60] [--first 100] --out FILE.json [--only-figures]
A plate lies on a sheet; somewhere in its face one stretch is sunk or raised by 0.6 to 3 mm, round or with rounded corners; paint,
light, camera and noise vary.  The depth (of a pad: the height) is told, as by a depth rod.  One JSON line is added to FILE.json
as each is done; those already there are passed over.  Words: *off*: a wall's points off the true wall, mm; *sizes*: widths,
diameter and corner radii of the wall, *exact* where the design has the drawing's.
Limits: as the booth's (pockets.py); upright walls, sharp edges, no opening in the step; 7.5 px to the millimetre.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import json
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from afterpart.errors import AfterpartError
from afterpart.model.edges import EdgeMap
from afterpart.model.outline import Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline.measuring import edges_of
from tests.truth.compare import lay_on
from tests.truth.drawings import Drawing, box, circle, corner_holes
from tests.truth.field import depths_of, walk
from tests.truth.light import Light
from tests.truth.scenes import Shoot, make_shoot, take

PLATE = (box(120, 80, 12), *corner_holes(104, 64, 5.5))
SIZE = (2560, 1920)
LEAST = 0.7
"""Steps lower than this hardly show, mm."""


def step_shoot(number: int) -> tuple[Shoot, list[float]]:
    """The shoot of one plate, and the sizes of its step: two widths and four radii, or a diameter."""
    rng = np.random.default_rng([78, number])
    deep = float(rng.choice([0.6, 1.0, 1.5, 2.0, 3.0])) * (1 if rng.random() < 0.6 else -1)
    x, y = (float(v) for v in rng.integers(-12, 13, 2))
    if rng.random() < 0.35:
        diameter = float(rng.integers(22, 46))
        loop, sizes = circle(x, y, diameter), [diameter]
    else:
        width, height, radius = float(rng.integers(28, 71)), float(rng.integers(24, 41)), float(rng.integers(2, 9))
        loop, sizes = box(width, height, radius, x, y), sorted([width, height, *[radius] * 4])
    light = Light(*(float(rng.uniform(a, b)) for a, b in ((0, 360), (35, 70), (5, 20), (0.25, 0.6))))
    paint = str(rng.choice(["black", "dark", "blue", "grey", "light"], p=[0.15, 0.35, 0.15, 0.25, 0.1]))
    drawing = Drawing("stepped", PLATE, pockets=((loop, deep),))
    shoot = make_shoot(drawing, "sheet", paint=paint, tilt_deg=float(rng.uniform(0, 9)), azimuth_deg=float(rng.uniform(0, 360)),
                       size=SIZE, light=light)
    told = replace(shoot.shot, channel_depth=deep if deep > 0 else None, pad_height=-deep if deep < 0 else None)
    return replace(shoot, shot=told), sizes


def step_record(number: int) -> dict:
    """What one plate's step is, and what was found of it."""
    shoot, sizes = step_shoot(number)
    deep = shoot.drawing.pockets[0][1]
    record = {"plate": number, "kind": "pocket" if deep > 0 else "pad", "deep": abs(deep), "sizes": len(sizes)}
    with tempfile.TemporaryDirectory() as folder:
        _, shot = take(shoot, Path(folder), number)
        edges = edges_of(load_picture(Path(shot.file), shot), shot, lambda words: None)
    openings = sum(rim.role == "opening" for rim in edges.rims)
    walls = [rim for rim in edges.rims if rim.role == "channel"]
    record |= {"openings": openings, "found": [rim.wall for rim in walls]}
    if len(walls) == 1:
        off = off_wall(edges, shoot.drawing)
        record |= {"off": round(float(np.median(off)), 4), "off_95": round(float(np.quantile(np.abs(off), 0.95)), 4),
                   "exact": exact_sizes(recover_outline(edges, OutlineSettings()), sizes)}
    return record


def off_wall(edges: EdgeMap, drawing: Drawing) -> np.ndarray:
    """How far the only wall's points lie inside (positive) the true wall, mm."""
    outlines = np.concatenate([rim.points for rim in edges.rims if rim.role != "channel"])
    motion = lay_on(outlines, depths_of(drawing.loops), np.concatenate([walk(list(loop), 0.1) for loop in drawing.loops]))
    wall, = (rim for rim in edges.rims if rim.role == "channel")
    x, y = motion.apply(wall.points).T
    field = depths_of((drawing.pockets[0][0],))
    # the plate looks the same turned by half a turn
    return min((field.depth(k * x, k * y)[0] for k in (1.0, -1.0)), key=lambda off: float(np.abs(off).mean()))


def exact_sizes(outline: Outline, sizes: Sequence[float]) -> int:
    """How many of a wall's sizes the design has exactly."""
    ids = {segment.id for loop in outline.design if loop.role == "channel" for segment in loop.segments}
    left = list(sizes)
    for d in outline.dimensions:
        if d.kind in ("width", "diameter", "radius") and set(d.of) <= ids and d.origin == "inferred":
            near = min(left, key=lambda size: abs(size - d.design), default=None)
            if near is not None and abs(near - d.design) < 1e-6:
                left.remove(near)
    return len(sizes) - len(left)


def figures(records: Sequence[dict]) -> dict:
    """What the records come to: all steps, and those of LEAST and more."""
    return {"all": _summed(records), "least": LEAST, "higher": _summed([r for r in records if r.get("deep", 0.0) >= LEAST])}


def _summed(records: Sequence[dict]) -> dict:
    told = [r for r in records if "found" in r]
    right = [r for r in told if r["found"] == [r["kind"]]]
    off = [r["off"] for r in right] or [0.0]
    return {"n": len(records), "failed": len(records) - len(told), "found": len(right),
            "mistaken": sum(bool(r["found"]) and r["found"] != [r["kind"]] for r in told),
            "invented": sum(max(r["openings"] - 4, 0) for r in told), "missed": sum(max(4 - r["openings"], 0) for r in told),
            "off": round(float(np.median(np.abs(off))), 4), "off_most": round(float(np.abs(off).max()), 4),
            "off_95": round(float(np.median([r["off_95"] for r in right] or [0.0])), 4),
            "sizes": sum(r["sizes"] for r in right), "exact": sum(r["exact"] for r in right)}


def stored(path: Path) -> list[dict]:
    """The records of a study's file."""
    return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []


def main() -> None:
    parser = argparse.ArgumentParser(description="Pockets and pads of the face, in the photo booth.")
    parser.add_argument("-n", type=int, default=60, help="how many plates")
    parser.add_argument("--first", type=int, default=100, help="number of the first")
    parser.add_argument("--out", type=Path, required=True, help="file of records, one JSON line each")
    parser.add_argument("--only-figures", action="store_true", help="measure nothing, print what is there")
    told = parser.parse_args()
    there = {r["plate"] for r in stored(told.out)}
    with told.out.open("a") as out:
        for number in () if told.only_figures else range(told.first, told.first + told.n):
            if number in there:
                continue
            try:
                record = step_record(number)
            except AfterpartError as error:
                record = {"plate": number, "error": str(error)[:200]}
            out.write(json.dumps(record) + "\n")
            out.flush()
            print(record, flush=True)
    print(json.dumps(figures(stored(told.out)), indent=1))


if __name__ == "__main__":
    main()
