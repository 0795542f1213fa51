"""Time from one more hand reading to the solved outline, as the maker waits for it.

The demo's photograph is measured once and traced once; then the outline is solved again with one reading more each time.
Run: python benchmarks/solve.py; prints one JSON line, milliseconds of processor time on one thread and, in the same run, as a
multiple of decoding the photograph to grey.  Aim: 100 ms.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import statistics
import time
from pathlib import Path

import cv2

from afterpart.job.options import shot_from_options
from afterpart.model.job import Reading
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import solve_outline
from afterpart.outline.traced import trace_picture
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of

COVER = Path(__file__).resolve().parents[1] / "examples" / "compressor_cover" / "inlet_cover.jpg"
RUNS = 9


def main() -> None:
    """Measure and print."""
    shot = shot_from_options(COVER.name, sheet="A4", face_height=9.0)
    picture = trace_picture(edges_of(load_picture(COVER, shot), shot, lambda words: None), OutlineSettings())
    outline = solve_outline(picture, OutlineSettings())
    by_id = {d.id: d for d in outline.dimensions}
    times, decode, readings = [], [], []
    for run in range(RUNS):
        if run % 3 == 0:
            readings = []
        asked = by_id[outline.next_readings[run % len(outline.next_readings)].id]
        readings.append(Reading(asked.id, round(asked.measured, 2), 0.02))
        start = time.process_time()
        solve_outline(picture, OutlineSettings(readings=tuple(readings)))
        times.append(time.process_time() - start)
        start = time.process_time()
        cv2.imread(str(COVER), cv2.IMREAD_GRAYSCALE)
        decode.append(time.process_time() - start)
    typical = statistics.median(times)
    print(json.dumps({"dimensions": len(outline.dimensions), "runs": RUNS, "solve_ms": round(1000 * typical, 1), "aim_ms": 100,
                      "solve_ratio": round(typical / statistics.median(decode), 2)}))


if __name__ == "__main__":
    main()
