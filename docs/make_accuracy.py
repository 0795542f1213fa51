"""Measures every figure of docs/accuracy.md anew and writes the page (docs/accuracy_page.py has its words).

Run: python docs/make_accuracy.py [--only photographs|study|heights|steps|real|speed ...] [--study FILE] [--heights FILE]
     [--steps FILE] [--again] [--page]
Figures are kept in docs/accuracy.json.  What is not measured in this run keeps its stored figures, and the run says so: --only
names what to measure; photographs and real need ../shared beside the checkout; the study is summed up from its records
(--study, build/study.json unless told) and is run anew, for an hour or more, only with --again; heights are summed up from the
records of tests/truth/heights_study.py (--heights, build/heights.json unless told), steps in the face from those of
tests/truth/steps_study.py (--steps, build/steps.json unless told).  --page measures nothing and writes the page
from what is stored; a test holds the two against each other.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import json
import math
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from docs import accuracy_page  # noqa: E402
from tests.real import test_coins, test_mm_paper  # noqa: E402
from tests.truth import heights_study, shared_photos, steps_study  # noqa: E402
from tests.truth.study import stored  # noqa: E402
from tests.truth.tables import figures  # noqa: E402

PAGE, STORE, RECORDS = ROOT / "docs" / "accuracy.md", ROOT / "docs" / "accuracy.json", ROOT / "build" / "study.json"
HEIGHTS, STEPS = ROOT / "build" / "heights.json", ROOT / "build" / "steps.json"
SCENES, MEGAPIXELS = 300, 8
OPTIONS = {
    "dev_flange_dn25_rule": "--rule mm --reference-height 0.8 --face-height 6",
    "dev_cover_b_jaws found": "--calliper 110 --reference-height 3.5 --face-height 8",
    "dev_cover_b_jaws picked": "--span (two picked points), else the same",
}
ONE_EACH = (*shared_photos.SHEET_OR_RULE, "dev_cover_b_jaws found")
COINS = ("coins_sheet_flat.jpg", "coins_sheet_tilt.jpg")


def short(value: float) -> float:
    """Four significant digits."""
    return float(f"{value:.4g}")


def photographs() -> dict | None:
    """The seven photographs; None where they are absent."""
    if not shared_photos.is_here():
        return None
    ways = {way: _way(way) for way in (*ONE_EACH, "dev_cover_b_jaws picked")}
    error = np.abs(np.concatenate([shared_photos.result(way).errors for way in ONE_EACH]))
    pooled = ("hits", "asked", "hits_after", "dimensions", "within_2u")
    return {"ways": ways, "median": short(np.median(error)), "p95": short(np.quantile(error, 0.95)), "n": len(error),
            **{key: sum(ways[way][key] for way in ONE_EACH) for key in pooled}}


def _way(way: str) -> dict:
    score, after = shared_photos.result(way), shared_photos.result_after_readings(way)
    error = np.abs(score.errors)
    known = [m for m in shared_photos.matched(way) if m.true is not None and m.dimension.kind != "angle"]
    options = OPTIONS.get(way) or f"--sheet A4 --face-height {shared_photos.shot_of(way).face_height:g}"
    return {"options": options, "holes": score.holes, "found": score.found, "invented": score.invented,
            "median": short(np.median(error)), "largest": short(error.max()), "hits": score.hits, "asked": score.asked,
            "hits_after": after.hits, "dimensions": len(known),
            "within_2u": sum(abs(m.dimension.measured - m.true) <= 2 * m.dimension.u for m in known)}


def study(records: Path, again: bool) -> dict | None:
    """The Monte Carlo study's figures; None where no records are kept."""
    if again:
        records.unlink(missing_ok=True)
        records.parent.mkdir(parents=True, exist_ok=True)
        subprocess.run([sys.executable, "-m", "tests.truth.study", "-n", str(SCENES), "--mp", str(MEGAPIXELS), "--jobs", "2",
                        "--readings", "--out", str(records)], check=True, cwd=ROOT)
    found = stored(records)
    return figures(found) if found else None


def heights(records: Path) -> dict | None:
    """Heights told by several photographs, and the other face; None where no records are kept."""
    found = heights_study.stored(records)
    return heights_study.figures(found) if found else None


def steps(records: Path) -> dict | None:
    """Pockets and pads; None where no records are kept."""
    found = steps_study.stored(records)
    return steps_study.figures(found) if found else None


def real() -> dict | None:
    """Coins and ruled paper; None where the real photographs are absent."""
    if not (test_coins.FOLDER / "truth.json").exists():
        return None
    published = {coin["denomination"]: coin["diameter_mm"] for coin in test_coins._known(COINS[0])}
    flat, tilted = (test_coins._coins(name) for name in COINS)
    both = sorted(set(flat) & set(tilted))
    apart = [abs(math.dist(flat[a][:2], flat[b][:2]) - math.dist(tilted[a][:2], tilted[b][:2]))
             for k, a in enumerate(both) for b in both[k + 1:]]
    index, place, _ = test_mm_paper._corrected()
    off = place - index - np.median(place - index)
    return {"coins": {name: [round(flat[name][2], 2) if name in flat else None, mm] for name, mm in published.items()},
            "limit": test_coins.DIAMETER_LIMIT, "distances": len(apart), "worst_distance": short(max(apart, default=0.0)),
            "distance_limit": test_coins.DISTANCE_LIMIT, "paper_lines": len(index), "paper_worst": short(np.abs(off).max())}


def speed() -> dict:
    """The benchmarks' own lines."""
    found = {}
    for name in ("measure", "startup"):
        command = [sys.executable, str(ROOT / "benchmarks" / f"{name}.py")]
        done = subprocess.run(command, check=True, capture_output=True, text=True)
        found[name] = json.loads(done.stdout.strip().splitlines()[-1])
    return found


def page() -> str:
    """docs/accuracy.md as the stored figures make it."""
    return accuracy_page.page(json.loads(STORE.read_text()), PAGE.read_text())


def main() -> None:
    parser = argparse.ArgumentParser(description="Every figure of docs/accuracy.md, and the page.")
    names = ("photographs", "study", "heights", "steps", "real", "speed")
    parser.add_argument("--only", action="append", choices=names, help="measure only this (repeatable)")
    parser.add_argument("--study", type=Path, default=RECORDS, help="records of the study")
    parser.add_argument("--heights", type=Path, default=HEIGHTS, help="records of the study of heights")
    parser.add_argument("--steps", type=Path, default=STEPS, help="records of the study of steps in the face")
    parser.add_argument("--again", action="store_true", help="run the study anew")
    parser.add_argument("--page", action="store_true", help="measure nothing, write the page")
    told = parser.parse_args()
    ways: dict[str, Callable[[], dict | None]] = {"photographs": photographs, "study": lambda: study(told.study, told.again),
                                                  "heights": lambda: heights(told.heights),
                                                  "steps": lambda: steps(told.steps),
                                                  "real": real, "speed": speed}
    kept = json.loads(STORE.read_text()) if STORE.exists() else {}
    for name in () if told.page else told.only or names:
        found = ways[name]()
        print(f"{name}: {'measured' if found else 'nothing here to measure it from; the stored figures stay'}", flush=True)
        kept[name] = found or kept.get(name)
    STORE.write_text(json.dumps(kept, indent=1) + "\n")
    PAGE.write_text(page())


if __name__ == "__main__":
    main()
