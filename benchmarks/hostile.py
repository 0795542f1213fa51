"""What damaged and hostile input costs: the whole corpus of tests/hostile through the command, its time and memory.

Every unusable and odd picture through `afterpart measure`, and one in so many of the hostile job files, in one warm process.
Run: python benchmarks/hostile.py [--every N]; prints one JSON line.  Processor seconds; memory is the highest of any single run.
Each run must end with a documented status, else this ends with a message and no figures.  Needs Linux, as the warm child does.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import json
import statistics
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.hostile.job_corpus import hostile_jobs  # noqa: E402
from tests.hostile.picture_corpus import header_damage, unusable, usable  # noqa: E402
from tests.hostile.stored_corpus import damaged, stored_files  # noqa: E402
from tests.hostile.warm_child import Run, WarmChild  # noqa: E402

EVERY = 15
DOCUMENTED = (0, 2, 3)


def pictures(child: WarmChild, folder: Path) -> Iterator[Run]:
    """Each picture measured."""
    corpus = [*((name, data, ()) for name, data in unusable()), *usable(), *((n, d, ()) for n, d in list(header_damage())[::10])]
    for number, (_, data, options) in enumerate(corpus):
        photo = folder / "photo.jpg"
        photo.write_bytes(data)
        yield child.run("measure", photo, "--out", folder / f"out{number}", *options)


def jobs(child: WarmChild, folder: Path, every: int) -> Iterator[Run]:
    """One in so many of the job files, and all the long ones, measured."""
    for number, job in enumerate(hostile_jobs()):
        if number % every == 0 or job.kind == "long":
            (folder / "job.toml").write_bytes(job.data)
            yield child.run("measure", folder)


def figures(runs: list[Run]) -> dict[str, Any]:
    """Median and highest of time, highest of memory.  AssertionError for a run that did not end as documented."""
    wrong = [run.stderr[-300:] for run in runs if run.status not in DOCUMENTED or "Traceback" in run.stderr]
    assert not wrong, wrong[:3]
    seconds = [run.cpu_s for run in runs]
    return {"inputs": len(runs), "refused": sum(run.status != 0 for run in runs),
            "median_s": round(statistics.median(seconds), 3), "most_s": round(max(seconds), 2),
            "most_mb": round(max(run.peak_mb for run in runs))}


def main() -> None:
    """Run and print."""
    given = argparse.ArgumentParser()
    given.add_argument("--every", type=int, default=EVERY)
    every = given.parse_args().every
    made = (len(list(unusable())) + len(list(usable())) + len(list(header_damage())) + len(list(hostile_jobs()))
            + sum(len(list(damaged(data))) for data, _ in stored_files().values()))
    with WarmChild() as child, tempfile.TemporaryDirectory() as place:
        seen = figures(list(pictures(child, Path(place))))
    with WarmChild() as child, tempfile.TemporaryDirectory() as place:
        read = figures(list(jobs(child, Path(place), every)))
    print(json.dumps({"corpus": made, "pictures": seen, "jobs": read}))


if __name__ == "__main__":
    main()
