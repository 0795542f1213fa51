"""The Monte Carlo study: many varied photographs through the whole pipeline, every dimension kept beside its two truths.

Usage: python -m tests.truth.study [-n 300] [--first 0] [--mp 8] [--jobs 2] --out FILE.json [--keep DIR] [--readings]
       [--only-tables]
One JSON line a scene is added to FILE.json as it is done; scenes already there are passed over, so a broken run goes on where
it stopped.  Then the tables (tests/truth/tables.py) are printed over all scenes of the file.
--readings also solves each outline again with three asked-for readings and with three random ones (two more solutions of the
outline, no photograph).  --keep leaves photographs in DIR and takes those of the same scene that it finds there.
A scene that is refused or fails is a line of its own, not the end of the study.  After JCGM 101:2008 (propagation of
distributions by a Monte Carlo method): every input quantity of the budget is drawn anew for each scene.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import hashlib
import json
import math
import multiprocessing
import resource
import tempfile
import time
import traceback
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np

from afterpart.errors import AfterpartError
from afterpart.model.edges import EdgeMap
from afterpart.model.job import Reading, Shot
from afterpart.model.outline import Circle, Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import solve_outline
from afterpart.outline.traced import TracedPicture, trace_picture
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from tests.truth.booth import photograph, save_jpeg
from tests.truth.compare import compare_edges
from tests.truth.matching import Matched, match_dimensions, outline_motion, rims_motion
from tests.truth.scenes import Shoot
from tests.truth.tables import tables
from tests.truth.varied import varied_shoot

MEMORY_LIMIT_BYTES = 8_000_000_000
READING_SD = 0.015
"""Error of a hand reading taken with care, mm, one standard deviation."""

READINGS = 3
TAKEABLE = ("diameter", "width", "distance", "gap", "over")
"""Kinds a calliper can take; where an outline lists edge-to-edge kinds (gap, over), centre distances are not among them."""

LEAST = 1e-3
"""No stated probability is counted as nearer to 0 than this when a verdict is weighed in bits."""


def study_scene(seed: int, megapixels: float, with_readings: bool, kept: Path | None = None, kind: str | None = None) -> dict:
    """The record of one scene: what was drawn, how the photograph fared, and its dimensions.

    A dimension's row: id, kind, measured, u, true, nominal (None without a partner), design, probability, origin, u95 (0 where
    the outline does not tell it), largest cause of u ("" likewise).
    """
    shoot, draw = varied_shoot(seed, megapixels, kind)
    record: dict = {"scene": seed, "label": shoot.label, "kind": shoot.label.split()[1], "megapixels": megapixels,
                    "draw": _short(draw)}
    with tempfile.TemporaryDirectory() as spare:
        try:
            shot = _photo(shoot, seed, kept or Path(spare))
            started = time.perf_counter()
            edges = edges_of(load_picture(Path(shot.file), shot), shot, lambda words: None)
            traced = trace_picture(edges, OutlineSettings())
            outline = solve_outline(traced, OutlineSettings())
            record["seconds"] = round(time.perf_counter() - started, 2)
            record |= _result(edges, outline, shoot)
            if with_readings:
                record["readings"] = _readings(traced, outline, shoot, seed)
        except AfterpartError as error:
            record |= {"state": "refused", "error": str(error)[:300]}
        except Exception as error:  # a bug is a line of the study, told as such
            record |= {"state": "failed", "error": f"{type(error).__name__}: {error}"[:300],
                       "trace": traceback.format_exc(limit=-3)[-800:]}
    return record


def _photo(shoot: Shoot, seed: int, folder: Path) -> Shot:
    """The shot of the scene's photograph in `folder`, taken now unless it is there."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"scene{seed}_{hashlib.sha256(repr(shoot.scene).encode()).hexdigest()[:12]}.jpg"
    if not path.exists():
        save_jpeg(photograph(shoot.scene, seed), path)
    return replace(shoot.shot, file=str(path))


def _result(edges: EdgeMap, outline: Outline, shoot: Shoot) -> dict:
    """State, openings, circles and dimensions."""
    if outline.unit != "mm":
        return {"state": "no size", "notes": [note.code for note in outline.notes]}
    rims = compare_edges(edges, shoot.made, rims_motion(edges, shoot))
    matched = _matched(edges, outline, shoot)
    true_circles = sum(loop[0][0] == "circle" for loop in shoot.made.loops)
    segments = [s for loop in outline.measured if loop.part == 1 and loop.role != "channel" for s in loop.segments]
    return {"state": "measured", "openings": rims.openings, "missed": rims.openings_missed, "invented": rims.openings_extra,
            "circles": true_circles, "circles_measured": sum(isinstance(s, Circle) for s in segments),
            "segments": sum(map(len, shoot.made.loops)), "segments_measured": len(segments),
            "scale_error": _significant(rims.scale_error), "relative_u": _significant(outline.reference.relative_u),
            "notes": [note.code for note in outline.notes], "dimensions": [_row(m) for m in matched]}


def _matched(edges: EdgeMap, outline: Outline, shoot: Shoot) -> list[Matched]:
    near = outline_motion(outline, edges.camera, shoot) if edges.camera is not None else None
    return match_dimensions(outline, shoot.made, shoot.drawing, near)


def _row(m: Matched) -> list:
    d = m.dimension
    return [d.id, d.kind, round(d.measured, 5), round(d.u, 5), None if m.true is None else round(m.true, 5),
            None if m.nominal is None else round(m.nominal, 5), round(d.design, 6), round(d.probability, 4), d.origin,
            round(d.u95, 5), d.contributions[0].cause if d.contributions else ""]


def _significant(value: float) -> float:
    return float(f"{value:.4g}")


def _short(draw: dict) -> dict:
    return {key: _significant(v) if isinstance(v, float) else [_significant(x) for x in v] if isinstance(v, tuple) else v
            for key, v in draw.items()}


def _readings(traced: TracedPicture, outline: Outline, shoot: Shoot, seed: int) -> dict:
    """What three asked-for and three random readings change; the same hand takes both."""
    before = {m.dimension.id: m for m in _matched(traced.edges, outline, shoot) if m.true is not None}
    edge_kinds = any(m.dimension.kind in ("gap", "over") for m in before.values())
    options = [name for name, m in before.items()
               if m.dimension.kind in TAKEABLE and not (edge_kinds and m.dimension.kind == "distance")]
    rng = np.random.default_rng([29, seed])
    asked = [r.id for r in outline.next_readings[:READINGS]]
    picked = [str(name) for name in rng.choice(options, min(READINGS, len(options)), replace=False)]
    errors = rng.normal(0, READING_SD, READINGS)
    result: dict = {"options": len(options), "asked_without_truth": sum(name not in before for name in asked)}
    for way, names in (("asked", asked), ("random", picked)):
        taken = [Reading(name, round(float(before[name].true + e), 3)) for name, e in zip(names, errors, strict=False)
                 if name in before and before[name].true is not None]
        result[way] = _changed(traced, before, taken, shoot)
    return result


def _changed(traced: TracedPicture, before: dict[str, Matched], taken: list[Reading], shoot: Shoot) -> dict:
    """Solved again with the readings: right designs and bits, over all dimensions with a true partner before and after.

    bits_u: sum of log2(u before / u after); bits_design: gain of log2 of the probability given to what turned out true.
    """
    again = solve_outline(traced, OutlineSettings(readings=tuple(taken)))
    after = {m.dimension.id: m for m in _matched(traced.edges, again, shoot) if m.true is not None}
    both = [name for name in before if name in after]
    gain_u = sum(math.log2(before[n].dimension.u / after[n].dimension.u) for n in both
                 if before[n].dimension.u > 0 and after[n].dimension.u > 0)
    return {"ids": [r.id for r in taken], "dimensions": len(both), "right_before": sum(before[n].is_right for n in both),
            "right_after": sum(after[n].is_right for n in both), "bits_u": round(gain_u, 2),
            "bits_design": round(sum(_log_score(after[n]) - _log_score(before[n]) for n in both), 2),
            "sure_wrong_after": sum(after[n].dimension.origin != "free" and after[n].dimension.probability >= 0.95
                                    and not after[n].is_right for n in both),
            "rms_before": _significant(_rms([before[n].dimension.measured - before[n].true for n in both])),
            "notes": [note.code for note in again.notes],
            "rms_after": _significant(_rms([after[n].dimension.measured - after[n].true for n in both]))}


def _rms(values: list[float]) -> float:
    return math.sqrt(sum(v * v for v in values) / max(1, len(values)))


def _log_score(m: Matched) -> float:
    """log2 of the probability the verdict gave to what is the case (a free dimension says nothing: even odds)."""
    if m.dimension.origin == "free":
        return -1.0
    stated = m.dimension.probability if m.is_right else 1 - m.dimension.probability
    return math.log2(min(max(stated, LEAST), 1.0))


def stored(path: Path) -> list[dict]:
    """The records of a study's file, in the order of their scenes; a line cut off by a broken run is left out."""
    if not path.exists():
        return []
    records = {}
    for line in path.read_text().splitlines():
        try:
            record = json.loads(line)
        except ValueError:
            continue
        records[record["scene"]] = record
    return [records[k] for k in sorted(records)]


def _study(task: tuple) -> dict:
    return study_scene(*task)


def _limit_memory() -> None:
    # a run that eats the machine's memory must become a line of the study, not the end of it
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_LIMIT_BYTES, MEMORY_LIMIT_BYTES))


def run(tasks: list[tuple], jobs: int) -> Iterator[dict]:
    """Records as they are done, in `jobs` processes."""
    if jobs == 1:
        _limit_memory()
        yield from map(_study, tasks)
        return
    with multiprocessing.get_context("spawn").Pool(jobs, _limit_memory, maxtasksperchild=20) as pool:
        yield from pool.imap_unordered(_study, tasks)


def main() -> None:
    parser = argparse.ArgumentParser(description="Varied photographs through the pipeline; coverage, reliability, readings.")
    parser.add_argument("-n", type=int, default=300, help="how many scenes")
    parser.add_argument("--first", type=int, default=0, help="number of the first scene")
    parser.add_argument("--mp", type=float, default=8.0, help="megapixels")
    parser.add_argument("--jobs", type=int, default=1, help="processes")
    parser.add_argument("--out", type=Path, required=True, help="file of records, one JSON line a scene")
    parser.add_argument("--keep", type=Path, help="keep photographs here, and use those found")
    parser.add_argument("--readings", action="store_true", help="also three asked-for readings against three random ones")
    parser.add_argument("--only-tables", action="store_true", help="measure nothing, print the tables of what is there")
    told = parser.parse_args()
    done = {record["scene"] for record in stored(told.out)}
    wanted = [] if told.only_tables else [k for k in range(told.first, told.first + told.n) if k not in done]
    with told.out.open("a") as out:
        for record in run([(k, told.mp, told.readings, told.keep) for k in wanted], told.jobs):
            out.write(json.dumps(record) + "\n")
            out.flush()
            print(f"{record['scene']:4d} {record['label']:<58} {record['state']} {record.get('seconds', 0):5.1f} s "
                  f"{record.get('error', '')[:120]}", flush=True)
    print(tables(stored(told.out)))


if __name__ == "__main__":
    main()
