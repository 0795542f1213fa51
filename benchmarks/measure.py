"""Speed and memory of measuring, files not written.

Speed is a ratio taken in one run: edges_of (both looks) + recover_outline on a 12 megapixel photograph against decoding the same
file to grey.  Each is run several times in turn; the medians are compared, in processor time of one thread, so that other work on
the machine hardly matters.  Memory is the greatest resident size of a process that measures once.
Run: python benchmarks/measure.py [PHOTO and options as for measure]; prints one JSON line.  Aims: ratio 10, 400 MB.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import cProfile
import json
import pstats
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

import cv2

from afterpart.job.options import shot_from_options
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of

COVER = Path(__file__).resolve().parents[1] / "examples" / "compressor_cover" / "inlet_cover.jpg"


def _silent(words: str) -> None:
    """Says nothing of the steps."""


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("photo", nargs="?", type=Path, default=COVER)
    parser.add_argument("--sheet")
    parser.add_argument("--rule")
    parser.add_argument("--calliper", type=float)
    parser.add_argument("--reference-height", type=float, default=0.0)
    parser.add_argument("--face-height", type=float, default=9.0)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--memory", action="store_true", help="measure once and print the greatest resident size in MB")
    parser.add_argument("--profile", action="store_true", help="print where the time goes")
    given = parser.parse_args()
    sheet = given.sheet or (None if given.rule or given.calliper else "A4")
    shot = shot_from_options(given.photo.name, sheet=sheet, rule=given.rule, calliper=given.calliper,
                             reference_height=given.reference_height, face_height=given.face_height)
    cv2.setNumThreads(1)
    picture = load_picture(given.photo, shot)
    if given.memory:
        recover_outline(edges_of(picture, shot, _silent), OutlineSettings())
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
        return
    if given.profile:
        profile = cProfile.Profile()
        profile.runcall(lambda: recover_outline(edges_of(picture, shot, _silent), OutlineSettings()))
        pstats.Stats(profile).sort_stats("cumulative").print_stats(40)
        return
    decode, edges_s, outline_s = [], [], []
    for _ in range(given.runs):
        start = time.process_time()
        cv2.imread(str(given.photo), cv2.IMREAD_GRAYSCALE)
        decoded = time.process_time()
        edges = edges_of(picture, shot, _silent)
        found = time.process_time()
        recover_outline(edges, OutlineSettings())
        decode.append(decoded - start)
        edges_s.append(found - decoded)
        outline_s.append(time.process_time() - found)
    unit = statistics.median(decode)
    memory = subprocess.run([sys.executable, __file__, *sys.argv[1:], "--memory"], capture_output=True, text=True, check=True)
    print(json.dumps({
        "photo": given.photo.name, "megapixels": round(picture.grey.size / 1e6, 1), "runs": given.runs,
        "decode_to_grey_s": round(unit, 4),
        "edges_ratio": round(statistics.median(edges_s) / unit, 1),
        "outline_ratio": round(statistics.median(outline_s) / unit, 1),
        "measure_ratio": round((statistics.median(edges_s) + statistics.median(outline_s)) / unit, 1), "aim_ratio": 10,
        "peak_memory_mb": round(float(memory.stdout)), "aim_memory_mb": 400}))


if __name__ == "__main__":
    main()
