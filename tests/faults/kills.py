"""Processes that are killed at random moments while they edit a job and put releases in place; what is left is looked at.

    python -m tests.faults.kills [--times 500] [--seed 1] [--job FOLDER] [--whole 0]

--job: a finished job (measured, built, checked, released), whose files are written again and again; else files that stand in.
--whole: so many times the whole command `afterpart release` is killed too, on copies of that job (its job.toml and pictures).
After each kill the next run puts right what it finds; then: the job file is the last one told as written or the one under way;
each set of files is whole, of one version; a release is there with all its files and its zip, or not at all; nothing hidden is
left; and the next writing works.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from afterpart import pipeline
from afterpart.files import NOTE, tidy, write_files, write_new_folder
from afterpart.job.read import parse_job
from tests.faults.system import contents, hidden
from tests.pipeline.shelf import JOB

LONGEST_S = 0.08
"""Kills come at most so long after the work has begun."""
STAND_IN = {**{f"{name}": name.encode() * 2000 for name in ("outline.json", "drawing.pdf", "overlay.png", "edges.json")},
            **{f"pieces/{name}": name.encode() * 5000 for name in ("pieces.json", "bracket.step", "bracket_mm.stl")},
            **{f"release/{name}": name.encode() * 900 for name in ("README.md", "data/job.json", "manifest.json")}}
VERSIONS = (b" of one", b" of the other")


def files_of(job: Path | None) -> dict[str, bytes]:
    """What is written: the results of a finished job, its newest release as `release/...`; or what stands in for them."""
    if job is None:
        return dict(STAND_IN)
    released = sorted(path.parent for path in (job / "release").glob("*/manifest.json"))[-1]
    found = {path.name: path.read_bytes() for path in job.iterdir() if path.suffix in (".json", ".pdf", ".dxf", ".svg", ".png")}
    found |= {f"pieces/{path.name}": path.read_bytes() for path in (job / "pieces").iterdir() if not path.name.startswith(".")}
    return found | {f"release/{path.relative_to(released).as_posix()}": path.read_bytes() for path in released.rglob("*")
                    if path.is_file()}


def group(files: Mapping[str, bytes], kind: str) -> dict[str, bytes]:
    """Of the job's folder ("job"), of its pieces, or of a release; names without the folder."""
    if kind == "job":
        return {name: data for name, data in files.items() if "/" not in name}
    return {name.partition("/")[2]: data for name, data in files.items() if name.startswith(f"{kind}/")}


def edit_for_ever(folder: Path, told: int) -> None:
    """One edit after the other, each told when it is made."""
    for number in range(10_000):
        text = pipeline.job_text(folder)
        assert pipeline.replace_job_text(folder, text, f"{JOB.format(number=1)}# {number}\n")
        os.write(told, b"%06d" % number)


def release_for_ever(folder: Path, files: Mapping[str, bytes], told: int) -> None:
    """Measurement, pieces and a release of the next revision, in turn, each set told when it is in place."""
    for number in range(10_000):
        end = VERSIONS[number % 2]
        write_files(folder, {name: data + end for name, data in group(files, "job").items()})
        write_files(folder / "pieces", {name: data + end for name, data in group(files, "pieces").items()})
        write_new_folder(folder / "release" / f"part_{number}", group(files, "release"), b"zip of all")
        os.write(told, b"%06d" % number)


def killed(begin: str, folder: Path, files: Mapping[str, bytes], wait_s: float) -> int:
    """A process that works until it is killed so long after its first result; the number it told last."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            edit_for_ever(folder, writing) if begin == "edit" else release_for_ever(folder, files, writing)
        finally:
            os._exit(1)
    os.close(writing)
    told = os.read(reading, 6)
    time.sleep(wait_s)
    os.kill(child, signal.SIGKILL)
    ended = os.waitpid(child, 0)[1]
    while more := os.read(reading, 6 * 1000):
        told += more
    os.close(reading)
    assert os.WIFSIGNALED(ended), "it was killed, and had not ended by itself"
    return int(told[-6:])


def look(begin: str, folder: Path, files: Mapping[str, bytes], last: int) -> str:
    """What the kill left, put right as the next run does and then held against what may be; what it had cut short."""
    found = hidden(folder)
    is_half = any(Path(name).name == NOTE for name in found)
    cut = "a set half in place" if is_half else "while writing beside" if found else "between"
    for place in (folder, folder / "pieces", folder / "release"):
        tidy(place)
    assert not hidden(folder), hidden(folder)
    if begin == "edit":
        text = pipeline.job_text(folder)
        parse_job(text)
        assert int(text.rpartition("# ")[2]) in (last, last + 1), "the last edit that was told, or the one under way"
        return cut
    now = contents(folder)
    for kind in ("job", "pieces"):
        mine = {name: data for name, data in group(now, kind).items() if name not in ("job.toml",)}
        wanted = group(files, kind)
        assert any(mine == {name: data + end for name, data in wanted.items()} for end in VERSIONS), (kind, sorted(mine))
    released = {path.name for path in (folder / "release").iterdir() if path.is_dir()}
    zips = {path.stem for path in (folder / "release").glob("*.zip")}
    assert released == zips and released >= {f"part_{number}" for number in range(last + 1)}
    for name in released:
        assert contents(folder / "release" / name) == group(files, "release"), name
    return cut


def study(times: int, seed: int, job: Path | None) -> Counter[str]:
    """So many kills, every second one during edits; how often each kind of moment was met."""
    draw, met, files = random.Random(seed), Counter[str](), files_of(job)
    with tempfile.TemporaryDirectory() as made:
        for number in range(times):
            folder, begin = Path(made) / str(number), ("edit", "release")[number % 2]
            folder.mkdir()
            (folder / "job.toml").write_text(JOB.format(number=1))
            last = killed(begin, folder, files, draw.uniform(0.0, LONGEST_S))
            met[f"{begin}: {look(begin, folder, files, last)}"] += 1
            write_files(folder, {"outline.json": b"the next run", "drawing.pdf": b"works"})
            assert (folder / "drawing.pdf").read_bytes() == b"works"
            shutil.rmtree(folder)
    return met


def whole(times: int, seed: int, job: Path) -> Counter[str]:
    """The command itself, killed anywhere in it with all below it; in the end it is let be, and its release verified."""
    draw, met = random.Random(seed), Counter[str]()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made) / "job"
        folder.mkdir()
        for path in job.iterdir():
            if path.is_file() and path.suffix in (".toml", ".jpg"):
                shutil.copyfile(path, folder / path.name)
        command = [sys.executable, "-m", "afterpart", "release", str(folder)]
        for _ in range(times):
            with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8",
                                  env={**os.environ, "PYTHONUNBUFFERED": "1"}) as running:
                assert running.stdout is not None
                for _ in range(draw.randrange(1, 7)):
                    step = running.stdout.readline()
                time.sleep(draw.uniform(0.0, 1.5))
                running.kill()
            met[f"release, after: {step.strip('- ').strip()}"] += 1
            assert not (folder / "release").exists() or not [*(folder / "release").glob("*/manifest.json")]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        (released,) = (path.parent for path in (folder / "release").glob("*/manifest.json"))
        assert not pipeline.verify_of(released).differences and not hidden(folder)
    return met


def main() -> None:
    """The study."""
    given = argparse.ArgumentParser()
    given.add_argument("--times", type=int, default=500)
    given.add_argument("--seed", type=int, default=1)
    given.add_argument("--job", type=Path)
    given.add_argument("--whole", type=int, default=0)
    asked = given.parse_args()
    begun = time.monotonic()
    for kind, count in sorted(study(asked.times, asked.seed, asked.job).items()):
        print(f"{count:5} {kind}")
    print(f"{asked.times} kills, {time.monotonic() - begun:.0f} s: nothing lost, nothing half, nothing left over")
    if asked.whole and asked.job:
        for kind, count in sorted(whole(asked.whole, asked.seed, asked.job).items()):
            print(f"{count:5} {kind}")
        print(f"{asked.whole} kills of the whole command; then it was let be, and its release is as its manifest says")


if __name__ == "__main__":
    main()
