"""How long the demo's release takes from a cold start, and which stage takes how much of it.

Run: python benchmarks/release.py; prints one JSON line.  A cold start: a new process, a copy of the example with nothing
measured, no kernel loaded; the clock starts before the stages are imported and stops when folder and zip are written.  Shares are
of that whole, taken in the one run; beside each stands the processor time of this process in it, which a busy machine moves
less; what the kernel's processes took is told apart, and all of it as a multiple of loading the kernel once.
Aims on two cores: 60 s, folder under 40 MB.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
STAGES = {
    "opening the picture": "photograph", "finding the reference": "photograph", "looking again": "photograph",
    "fitting lines": "outline", "drawing, and writing": "papers", "drawing": "outline", "writing the measurement": "outline",
    "laying out": "layout", "making": "bodies and their files", "putting": "assembly", "writing the pieces": "assembly",
    "measuring": "bodies measured", "following": "bodies measured", "judging": "checks", "trying": "checks", "packing": "packing"}
"""The stage that begins with these words of progress; the first that fits."""

COLD = """
import json, sys, time
start, used = time.perf_counter(), time.process_time()
from pathlib import Path
from afterpart.pipeline import release_of, write_release
told = [("loading the stages", 0.0, 0.0)]
def say(words): told.append((words, time.perf_counter() - start, time.process_time() - used))
say("opening the job")
folder = Path(sys.argv[1])
release = release_of(folder, folder / "pieces", folder / "release", say)
write_release(release, folder, folder / "pieces")
say("done")
print(json.dumps({"told": told, "bytes": sum(map(len, release.files.values()))}))
"""


def stage_of(words: str) -> str:
    """The stage that these words of progress begin; the words themselves where none fits."""
    return next((stage for begin, stage in STAGES.items() if words.startswith(begin)), words)


def main() -> None:
    """Measure once and print."""
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", "import afterpart.solid.kernel"], check=True, capture_output=True)
    load_s = time.perf_counter() - start
    with tempfile.TemporaryDirectory() as room:
        folder = Path(room) / "job"
        shutil.copytree(ROOT / "examples" / "compressor_cover", folder)
        before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
        answer = subprocess.run([sys.executable, "-c", COLD, str(folder)], check=True, stdout=subprocess.PIPE, text=True)
        used_s = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before
    found = json.loads(answer.stdout.splitlines()[-1])
    told = found["told"]
    wall: dict[str, float] = {}
    own: dict[str, float] = {}
    for (words, since, cpu), (_, until, cpu_until) in zip(told, told[1:], strict=False):
        stage = stage_of(words)
        wall[stage] = wall.get(stage, 0.0) + until - since
        own[stage] = own.get(stage, 0.0) + cpu_until - cpu
    whole = told[-1][1]
    print(json.dumps({
        "release_s": round(whole, 1), "load_kernel_s": round(load_s, 2), "ratio_to_load": round(whole / load_s, 1),
        "share": {stage: round(part / whole, 3) for stage, part in wall.items()},
        "own_processor_s": {stage: round(part, 2) for stage, part in own.items()},
        "own_processor_sum_s": round(told[-1][2], 1), "kernels_processor_s": round(used_s - told[-1][2], 1),
        "folder_mb": round(found["bytes"] / 1e6, 1), "aim_s": 60, "aim_mb": 40}))


if __name__ == "__main__":
    main()
