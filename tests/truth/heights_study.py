"""Do the heights that photographs tell hold, and do both faces of a part lie on each other: many sets from the photo booth.

Usage: python -m tests.truth.heights_study [-n 40] [--first 0] [--faces 10] --out FILE.json [--only-figures]
A set (tests/truth/several_photos.py) is one part lying still, photographed from nearly above and once or twice aslant; nothing is
told of heights, and half the sets have a sheet alone.  A pair of faces is a plate photographed from either side, its height told.
One JSON line is added to FILE.json as each is done; those already there are passed over.  Words: *z* is an error in stated
standard uncertainties; *apart*: how far the middle one of the openings of the other face stands off its partner, mm.
Limits: as the booth's; sheets are of standard size, so that what paper may be off by is not in these errors but in the stated u.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import json
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from afterpart.errors import AfterpartError
from afterpart.model.edges import EdgeMap, Rim
from afterpart.photo.roundrim import robust_circle
from afterpart.pipeline import edges_together
from tests.truth.compare import lay_on
from tests.truth.drawings import DRAWINGS, Drawing
from tests.truth.field import DepthField, walk
from tests.truth.scenes import make_shoot
from tests.truth.several_photos import SIZE, USABLE, measured, photographs, random_set, turned_over

SECONDS = 1


def set_record(number: int) -> dict:
    """One set: its true height, what was found of it, and the errors of its round openings' diameters and distances, mm."""
    shoots = random_set(number)
    record = {"set": number, "label": f"{shoots[0].label} x{len(shoots)}", "true": shoots[0].scene.parts[0].height,
              "sheet_alone": shoots[0].shot.rule is None}
    edges = measured(shoots, 1000 + 10 * number)
    level = next((level for level in edges.levels if level.level == "face"), None)
    apart = [photo.contradicts for photo in edges.photos if photo.contradicts]
    found = {} if level is None else {"found": round(level.value, 4), "u": round(level.u, 4)}
    return record | found | {"contradicts": len(apart), "errors": [round(e, 4) for e in opening_errors(edges, shoots[0].made)]}


def opening_errors(edges: EdgeMap, drawing: Drawing) -> list[float]:
    """Errors of the diameters of a drawing's circles and of the distances between them, as the rims show them."""
    rims = [rim for rim in edges.rims if rim.part == 1 and rim.role != "channel"]
    points = np.concatenate([rim.points[:: max(1, len(rim.points) // 400)] for rim in rims])
    truth = np.concatenate([walk(list(loop), 0.1) for loop in drawing.loops])
    motion = lay_on(points, DepthField([list(loop) for loop in drawing.loops]), truth)
    seen = [(motion.apply(circle[0][None])[0], circle[1]) for rim in rims[1:] if (circle := robust_circle(rim.points))]
    pairs = []
    for loop in drawing.loops[1:]:
        if loop[0][0] == "circle" and seen:
            centre, radius = np.array(loop[0][1], float), float(loop[0][2])
            near = min(seen, key=lambda one: float(np.hypot(*(one[0] - centre))))
            if np.hypot(*(near[0] - centre)) < 1.0:
                pairs.append((centre, radius, *near))
    errors = [2 * (r - radius) for _, radius, _, r in pairs]
    for k, (a, _, p, _) in enumerate(pairs):
        errors += [float(np.hypot(*(p - q)) - np.hypot(*(a - b))) for b, _, q, _ in pairs[:k]]
    return errors


def faces_record(number: int) -> dict:
    """One plate from either side: how far its openings are apart, the growth and draft found for walls that stand upright."""
    rng = np.random.default_rng([32, number])
    plate = {drawing.name: drawing for drawing in DRAWINGS}[str(rng.choice(USABLE))]
    height, radius = float(rng.choice([4.0, 6.0, 8.0])), float(rng.choice([0.2, 0.4]))
    reference = str(rng.choice(["sheet", "sheet+rule"]))
    shoots = [make_shoot(own, reference, height=height, edge_radius=radius, size=SIZE, tilt_deg=float(rng.uniform(1, 5)),
                         azimuth_deg=float(rng.uniform(0, 360)), turn_deg=float(rng.uniform(-9, 9)))
              for own in (plate, turned_over(plate))]
    record = {"faces": number, "label": f"{plate.name} {reference} h{height:g} r{radius:g}"}
    with tempfile.TemporaryDirectory() as name:
        shots = [replace(shot, face=face, face_height=height)
                 for shot, face in zip(photographs(shoots, Path(name), 5 + 10 * number), ("mating", "other"), strict=True)]
        edges, _ = edges_together(tuple(shots), Path(name), lambda words: None)
    if edges.other is None:
        return record | {"error": "the other face does not fit"}
    off = offsets(edges.rims, edges.other.rims)
    return record | {"apart": round(float(np.hypot(*np.median(off, axis=0))), 4), "openings": len(off),
                     "single": round(float(np.median(np.hypot(*off.T))), 4), "draft_z": round(
                         edges.other.draft_deg / edges.other.draft_u_deg, 3), "growth": round(edges.other.growth - 1.0, 6)}


def offsets(drawn: Sequence[Rim], other: Sequence[Rim]) -> np.ndarray:
    """How far the middle of each opening of the drawn face stands off the nearest one's of the other, (n, 2)."""
    one, two = ([robust_circle(rim.points)[0] for rim in rims if rim.role == "opening"] for rims in (drawn, other))
    return np.array([min((centre - q for q in two), key=lambda d: float(np.hypot(*d))) for centre in one])


def figures(records: Sequence[dict]) -> dict:
    """What a study's records come to: heights by reference, and faces."""
    sets, faces = [r for r in records if "set" in r], [r for r in records if "faces" in r]
    chosen: dict[str, Callable[[dict], bool]] = {"all": lambda r: True, "sheet": lambda r: r["sheet_alone"],
                                                 "sheet+rule": lambda r: not r["sheet_alone"]}
    told = {name: heights(own) for name, keep in chosen.items() if (own := [r for r in sets if "true" in r and keep(r)])}
    fit = [r for r in faces if "apart" in r]
    apart = np.array([r["apart"] for r in fit])
    return {"heights": told, "errors": sum("error" in r for r in records),
            "faces": {"n": len(faces), "fit": len(fit), "median": float(np.median(apart)), "largest": float(apart.max()),
                      "draft_z": float(np.sqrt(np.mean([r["draft_z"] ** 2 for r in fit])))} if fit else None}


def heights(records: Sequence[dict]) -> dict:
    """Mean error with its standard error, both weighted by the stated uncertainty too, spread of z, and coverage of 2 u."""
    told = [r for r in records if "found" in r]
    errors = [abs(e) for r in records for e in r.get("errors", ())]
    common = {"n": len(records), "told": len(told), "dimension": float(np.median(errors)) if errors else None}
    if len(told) < 2:
        return common
    error, u = (np.array([f(r) for r in told]) for f in (lambda r: r["found"] - r["true"], lambda r: r["u"]))
    z = error / u
    return common | {"mean": float(error.mean()), "mean_u": float(error.std(ddof=1) / np.sqrt(len(error))),
                     "median": float(np.median(np.abs(error))), "z_mean": float(z.mean()), "z_rms": float(np.sqrt(np.mean(z**2))),
                     "within_2u": float(np.mean(np.abs(z) <= 2))}


def stored(path: Path) -> list[dict]:
    """The records of a study's file."""
    return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []


def recorded(make: Callable[[int], dict], kind: str, number: int) -> dict:
    """A record, or what went wrong in its place, with its processor time in seconds."""
    started = time.process_time()
    try:
        record = make(number)
    except AfterpartError as error:
        record = {kind: number, "error": str(error)[:200]}
    return record | {"seconds": round(time.process_time() - started, SECONDS)}


def main() -> None:
    parser = argparse.ArgumentParser(description="Heights told by photographs, and both faces of a part, in the photo booth.")
    parser.add_argument("-n", type=int, default=40, help="how many sets of photographs")
    parser.add_argument("--first", type=int, default=0, help="number of the first set")
    parser.add_argument("--faces", type=int, default=10, help="how many pairs of faces")
    parser.add_argument("--out", type=Path, required=True, help="file of records, one JSON line each")
    parser.add_argument("--only-figures", action="store_true", help="measure nothing, print what is there")
    told = parser.parse_args()
    there = stored(told.out)
    wanted = [("set", set_record, k) for k in range(told.first, told.first + told.n)]
    wanted += [("faces", faces_record, k) for k in range(told.faces)]
    with told.out.open("a") as out:
        for kind, make, number in () if told.only_figures else wanted:
            if not any(r.get(kind) == number for r in there):
                record = recorded(make, kind, number)
                out.write(json.dumps(record) + "\n")
                out.flush()
                print({k: v for k, v in record.items() if k != "errors"}, flush=True)
    print(json.dumps(figures(stored(told.out)), indent=1))


if __name__ == "__main__":
    main()
