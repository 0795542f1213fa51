"""Where the time of measuring goes, by file: the share of each of our files in measuring the demo's photograph.

Time spent in a library is counted for the file of ours that called it.  Run: python benchmarks/shares.py; prints one JSON line,
the largest shares first.  The profiler slows small calls down more than large ones: shares are good to some hundredths.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cProfile
import json
import pstats
from collections import Counter
from pathlib import Path

import cv2

import afterpart
from afterpart.job.read import read_job
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of

DEMO = Path(__file__).resolve().parents[1] / "examples" / "compressor_cover"
PACKAGE = Path(afterpart.__file__).resolve().parent
SHOWN = 8

Function = tuple[str, int, str]


def profiled() -> pstats.Stats:
    """The profile of measuring once, files not written."""
    shot = read_job(DEMO).shots[0]
    picture = load_picture(DEMO / shot.file, shot)
    profile = cProfile.Profile()
    profile.runcall(lambda: recover_outline(edges_of(picture, shot, lambda words: None), OutlineSettings()))
    return pstats.Stats(profile)


def by_file(stats: pstats.Stats) -> Counter[str]:
    """Own seconds of each of our files, with those of the libraries it called."""
    rows = stats.stats  # type: ignore[attr-defined]
    found: Counter[str] = Counter()

    def charge(function: Function, seconds: float, above: tuple[Function, ...]) -> None:
        path = Path(function[0])
        if PACKAGE in path.parents:
            found[path.relative_to(PACKAGE).as_posix()] += seconds
            return
        callers = {caller: row[3] for caller, row in rows[function][4].items() if caller not in above}
        whole = sum(callers.values())
        if not callers or whole <= 0.0 or len(above) > 12:
            found["elsewhere"] += seconds
            return
        for caller, through in callers.items():
            charge(caller, seconds * through / whole, (*above, function))

    for function, row in rows.items():
        charge(function, row[2], ())
    return found


def main() -> None:
    """Measure and print."""
    cv2.setNumThreads(1)
    found = by_file(profiled())
    whole = sum(found.values())
    print(json.dumps({"share": {name: round(seconds / whole, 3) for name, seconds in found.most_common(SHOWN)},
                      "files": len(found)}))


if __name__ == "__main__":
    main()
