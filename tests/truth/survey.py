"""Many random photographs through the whole pipeline, and a table of what went wrong.

Usage: python -m tests.truth.survey [-n 20] [--first 0] [--kind sheet] [--mp 12] [--trimmed] [--keep DIR] [--seed 17]
       [--edges | --ideal]
One line a scene, then a summary by kind of reference.  A scene's number is its seed: `--seed 17 --keep DIR` takes that one
again and leaves photo.jpg, truth.json and, as far as the run came, rims.npz in DIR/17.
--trimmed: sheets not exactly of standard size.  --edges stops after the photo stage and reports rims instead of dimensions.
--ideal takes no photographs: every drawing's true rims with noise go through the outline stage alone.
Not a test: it asserts nothing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import json
import resource
import tempfile
import time
import traceback
from collections import defaultdict
from pathlib import Path

import numpy as np

from afterpart.errors import AfterpartError
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from tests.truth.compare import EdgeScore, OutlineScore, compare_edges, compare_outline
from tests.truth.drawings import DRAWINGS
from tests.truth.ideal import ideal_edges
from tests.truth.scenes import KINDS, Shoot, random_shoot, take

MEMORY_LIMIT_BYTES = 8_000_000_000


def run_one(shoot: Shoot, seed: int, folder: Path, edges_only: bool) -> tuple[EdgeScore, OutlineScore | None, float, str]:
    """(edge score, outline score or None, seconds of measuring, camera error in words) of one shoot."""
    photo, shot = take(shoot, folder, seed)
    (folder / "truth.json").write_text(json.dumps(photo.truth))
    started = time.perf_counter()
    edges = edges_of(load_picture(Path(shot.file), shot), shot, lambda words: None)
    seconds = time.perf_counter() - started
    np.savez(folder / "rims.npz", **{f"{rim.role}{k}": rim.points for k, rim in enumerate(edges.rims)})
    camera = "no camera"
    if edges.camera is not None:
        true = shoot.scene.camera
        camera = (f"height {edges.camera.position[2] - true.position[2]:+.1f} "
                  f"f {100 * (edges.camera.focal_px / true.focal_px - 1):+.2f}% k1 {edges.camera.k1 - true.k1:+.4f}")
    edge_score = compare_edges(edges, shoot.drawing)
    if edges_only:
        return edge_score, None, seconds, camera
    started = time.perf_counter()
    outline = recover_outline(edges, OutlineSettings())
    seconds += time.perf_counter() - started
    return edge_score, compare_outline(outline, shoot.drawing), seconds, camera


def line_of(seed: int, label: str, edge: EdgeScore, outline: OutlineScore | None, seconds: float, camera: str) -> str:
    """One line for the table."""
    text = (f"{seed:4d} {label:<58} {seconds:5.1f}s rims: miss {edge.openings_missed}/{edge.openings} "
            f"extra {edge.openings_extra} bias out {edge.bias_outer:+.3f} in {edge.bias_openings:+.3f} rms {edge.rms:.3f} "
            f"max {edge.worst:.2f} scale {1e2 * edge.scale_error:+.3f}%")
    if outline is not None:
        e = np.abs(outline.dimensions)
        median, top = (f"{np.median(e):.3f}", f"{e.max():.3f}") if e.size else ("  -  ", "  -  ")
        text += (f" | circles {outline.found}/{outline.circles} inv {outline.invented} arcs {outline.arcs_found}/{outline.arcs} "
                 f"seg {outline.extra_segments:+d} dim med {median} max {top} hits {outline.hits}/{outline.asked}")
    return text + f" | {camera}"


def summary(rows: list[tuple[str, EdgeScore, OutlineScore | None]]) -> str:
    """Lines by kind of reference and for all."""
    groups: dict[str, list] = defaultdict(list)
    for kind, edge, outline in rows:
        groups[kind].append((edge, outline))
    if len(groups) > 1:
        groups["all"] = [(edge, outline) for _, edge, outline in rows]
    lines = []
    for kind, items in groups.items():
        edge = [e for e, _ in items]
        text = (f"{kind:>11} n={len(items):3d}  openings missed {sum(e.openings_missed for e in edge)}/"
                f"{sum(e.openings for e in edge)} extra {sum(e.openings_extra for e in edge)}  "
                f"rim rms median {np.median([e.rms for e in edge]):.3f} "
                f"bias openings {np.nanmedian([e.bias_openings for e in edge]):+.4f} |scale| median "
                f"{1e2 * np.median([abs(e.scale_error) for e in edge]):.3f}%")
        outlines = [o for _, o in items if o is not None]
        if outlines:
            e = np.abs(np.concatenate([o.dimensions for o in outlines]))
            d = np.abs(np.concatenate([np.array(o.diameters) for o in outlines]))
            z = np.abs(np.concatenate([np.array(o.z) for o in outlines]))
            sure = [right for o in outlines for p, right in o.claims if p >= 0.9]
            text += (f"\n{'':>11} circles missed {sum(o.circles - o.found for o in outlines)} "
                     f"invented {sum(o.invented for o in outlines)} "
                     f"dim err median {np.median(e):.4f} p95 {np.quantile(e, .95):.4f} max {e.max():.3f} "
                     f"(diameters {np.median(d):.4f} p95 {np.quantile(d, .95):.4f}) "
                     f"hits {sum(o.hits for o in outlines) / sum(o.asked for o in outlines):.3f} "
                     f"segments extra {sum(max(0, o.extra_segments) for o in outlines)}")
            if z.size:
                text += f" |z|<1.96: {np.mean(z < 1.96):.2f}"
            if sure:
                text += f" right when sure (p>=0.9): {np.mean(sure):.3f} of {len(sure)}"
        lines.append(text)
    return "\n".join(lines)


def survey_ideal(rounds: int) -> None:
    """Every drawing `rounds` times, with noise of 0.018 mm and a scale off by 0.02 %."""
    rows = []
    for seed in range(rounds):
        for drawing in DRAWINGS:
            rng = np.random.default_rng([30, seed])
            edges = ideal_edges(drawing, rng, white=0.01, alike=0.015, scale=1 + rng.normal(0, 2e-4), scale_u=4e-4,
                                turn_deg=rng.uniform(0, 360))
            started = time.perf_counter()
            outline = recover_outline(edges, OutlineSettings())
            seconds = time.perf_counter() - started
            rows.append(("ideal", compare_edges(edges, drawing), compare_outline(outline, drawing)))
            print(line_of(seed, drawing.name, rows[-1][1], rows[-1][2], seconds, ""), flush=True)
    print(summary(rows))


def main() -> None:
    parser = argparse.ArgumentParser(description="Random photographs through the pipeline, errors as a table.")
    parser.add_argument("-n", type=int, default=20, help="how many scenes")
    parser.add_argument("--first", type=int, default=0, help="seed of the first scene")
    parser.add_argument("--seed", type=int, action="append", help="only this seed (repeatable)")
    parser.add_argument("--kind", choices=KINDS, help="only this kind of reference")
    parser.add_argument("--mp", type=float, default=12.0, help="megapixels")
    parser.add_argument("--edges", action="store_true", help="stop after the photo stage")
    parser.add_argument("--ideal", action="store_true", help="no photographs: true rims with noise, outline stage alone")
    parser.add_argument("--trimmed", action="store_true", help="sheets trimmed a little off their standard size")
    parser.add_argument("--keep", type=Path, help="keep photographs and truths here")
    told = parser.parse_args()
    if told.ideal:
        survey_ideal(told.n)
        return
    # a run that eats the machine's memory must become a row of the table, not the end of it
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_LIMIT_BYTES, MEMORY_LIMIT_BYTES))
    rows, failures = [], []
    for seed in told.seed or range(told.first, told.first + told.n):
        shoot = random_shoot(seed, told.kind, told.mp, told.trimmed)
        with tempfile.TemporaryDirectory() as spare:
            folder = told.keep / str(seed) if told.keep else Path(spare)
            folder.mkdir(parents=True, exist_ok=True)
            try:
                edge, outline, seconds, camera = run_one(shoot, seed, folder, told.edges)
            except Exception as error:  # the table must go on: a failure is a row of it
                kind = "refused" if isinstance(error, AfterpartError) else "CRASH"
                failures.append(f"{seed} {shoot.label}: {kind}: {error}")
                print(f"{seed:4d} {shoot.label:<58} {kind}: {str(error)[:160]}", flush=True)
                if kind == "CRASH":
                    traceback.print_exc(limit=-4)
                continue
        rows.append((_kind_of(shoot), edge, outline))
        print(line_of(seed, shoot.label, edge, outline, seconds, camera), flush=True)
    print(f"\n{len(rows)} measured, {len(failures)} failed")
    if rows:
        print(summary(rows))


def _kind_of(shoot: Shoot) -> str:
    return shoot.label.split()[1]


if __name__ == "__main__":
    main()
