"""How long `afterpart --help` takes, as seconds and as a multiple of starting the bare interpreter in the same run.

Run: python benchmarks/startup.py; prints one JSON line.  Aim: 0.6 s.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import statistics
import subprocess
import sys
import time

RUNS = 9


def seconds(*arguments: str) -> float:
    """Wall time of one run of the interpreter with these arguments."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], capture_output=True, check=True)
    return time.perf_counter() - start


def main() -> None:
    """Measure in turn and print."""
    pairs = [(seconds("-c", "pass"), seconds("-m", "afterpart", "--help")) for _ in range(RUNS)]
    bare, helped = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(json.dumps({"runs": RUNS, "interpreter_s": round(bare, 3), "help_s": round(helped, 3), "ratio": round(helped / bare, 1),
                      "aim_s": 0.6}))


if __name__ == "__main__":
    main()
