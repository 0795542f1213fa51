"""Time and memory of measuring one part from several photographs: both against the number of photographs.

Run: python benchmarks/several.py FOLDER [photographs ...]   (FOLDER: pictures of one part lying still)
The pictures are used again under other numbers until there are enough of them; an A4 sheet and a millimetre rule are told.
Each count runs in a process of its own, so that its peak of memory is its own.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from afterpart.job.options import shot_from_options
from afterpart.pipeline import edges_together

COUNTS = (2, 4, 8, 12)


def measure_once(folder: Path, count: int) -> tuple[float, float]:
    """Seconds of processor time, and the peak of memory in MB."""
    pictures = sorted(folder.glob("*.jpg"))
    with tempfile.TemporaryDirectory() as name:
        shots = []
        for k in range(count):
            picture = Path(name) / f"photo_{k + 1}.jpg"
            picture.symlink_to(pictures[k % len(pictures)].resolve())
            shots.append(shot_from_options(picture.name, sheet="A4", rule="mm", reference_height=0.8))
        begin = time.process_time()
        edges_together(tuple(shots), Path(name), lambda words: None)
        return time.process_time() - begin, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    """Print one line for each count, and all of them as JSON for docs/make_performance.py."""
    folder = Path(sys.argv[1])
    if len(sys.argv) > 3 and sys.argv[2] == "--once":
        seconds, peak = measure_once(folder, int(sys.argv[3]))
        print(f"{seconds:.1f} {peak:.0f}")
        return
    rows = []
    for count in [int(word) for word in sys.argv[2:]] or COUNTS:
        command = [sys.executable, __file__, str(folder), "--once", str(count)]
        out = subprocess.run(command, check=True, capture_output=True, text=True)
        seconds, peak = map(float, out.stdout.split())
        print(f"{count:3d} photographs: {seconds:6.1f} s ({seconds / count:5.2f} s each), peak {peak:5.0f} MB", flush=True)
        rows.append([count, seconds, peak])
    print(json.dumps({"rows": rows}))


if __name__ == "__main__":
    main()
