"""Killed at random moments, a few times in every run of the suite; kills.py does it five hundred times."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from afterpart import pipeline
from afterpart.errors import FolderError, SolidError
from afterpart.files import tidy, write_files
from afterpart.solid.kernel_process import KernelProcess
from tests.faults.jobs import new_job
from tests.faults.kills import study
from tests.faults.system import contents, hidden

FRESH_KERNELS = True
TIMES = 24
TURNS = 20
WRITER = """
import sys
from pathlib import Path
from afterpart.files import write_files
folder, own = Path(sys.argv[1]), sys.argv[2].encode()
print("ready", flush=True)
sys.stdin.readline()
for number in range(int(sys.argv[3])):
    write_files(folder, {f"{name}.txt": own * 1000 for name in "abcdef"})
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="copies of this process are killed")
def test_killed_at_random_moments_nothing_is_lost() -> None:
    met = study(TIMES, 7, None)
    assert sum(met.values()) == TIMES
    assert sum(count for kind, count in met.items() if "between" not in kind) > TIMES / 4, "many are met while they write"


def test_two_programs_that_write_the_same_set_never_mix_it(tmp_path: Path) -> None:
    """Real processes, and a reader beside them that puts right whatever it finds: each time the set is of one of them."""
    running = [subprocess.Popen([sys.executable, "-c", WRITER, str(tmp_path), own, str(TURNS)], stdin=subprocess.PIPE,
                                stdout=subprocess.PIPE, encoding="utf-8") for own in "xy"]
    for one in running:
        assert one.stdout is not None and one.stdin is not None and one.stdout.readline() == "ready\n"
    for one in running:
        assert one.stdin is not None
        one.stdin.write("\n")
        one.stdin.flush()
    while any(one.poll() is None for one in running):
        tidy(tmp_path)
    for one in running:
        one.communicate()
    assert [one.returncode for one in running] == [0, 0]
    found = contents(tmp_path)
    assert len(found) == 6 and len({*found.values()}) == 1 and not hidden(tmp_path)


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="a small file system of its own takes root on Linux")
def test_a_disk_that_is_full_leaves_what_was_there(tmp_path: Path) -> None:
    """A real one of 200 kB: a set that fits, one that does not, one that fits again."""
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", str(tmp_path)], check=False).returncode:
        pytest.skip("no file system may be mounted here")
    try:
        small, large = ({name: bytes(size) for name in ("a.json", "b.pdf")} for size in (30_000, 90_000))
        write_files(tmp_path, small)
        with pytest.raises(FolderError, match="No space left on device.*Nothing was changed there"):
            write_files(tmp_path, large)
        assert contents(tmp_path) == small and not hidden(tmp_path)
        write_files(tmp_path, {"a.json": b"fits"})
        assert contents(tmp_path) == {**small, "a.json": b"fits"}
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)


@pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="a process is stopped at work")
def test_a_kernel_that_dies_or_hangs_is_told_and_the_next_plate_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A check plate: its kernel's process is killed at work, then another is stopped; this process goes on."""
    job = tmp_path / "job"
    new_job(job)
    pipeline.write_measurement(pipeline.measure(pipeline.job_of_folder(job, ()), job, job, lambda _: None), job)
    out, answer = job / "plate", KernelProcess._answer
    monkeypatch.setattr(os, "cpu_count", lambda: 1)  # one kernel is enough to see it
    for harm, words in ((signal.SIGKILL, "process ended"), (signal.SIGSTOP, "did not finish")):
        met: list[str] = []

        def harmed(self: KernelProcess, limit_s: float, task: str, harm: int = harm, met: list[str] = met) -> tuple[str, Any]:
            if task == "starting":
                return answer(self, limit_s, task)
            met.append(task)
            assert self._child is not None
            os.kill(self._child.pid, harm)
            return answer(self, 0.5 if harm == signal.SIGSTOP else limit_s, task)
        with monkeypatch.context() as patch, pytest.raises(SolidError, match=words):
            patch.setattr(KernelProcess, "_answer", harmed)
            pipeline.make_plate_of(job, out, lambda _: None)
        assert met and not out.exists(), "nothing was written"
    plate = pipeline.make_plate_of(job, out, lambda _: None)
    pipeline.write_plate(plate, out)
    assert {"check_plate.step", "check_plate.pdf"} <= {*contents(out)}
