"""Several programs on one job: turns of the operating system, so that no change is lost however closely they come."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

from afterpart import pipeline
from afterpart.errors import FolderError
from afterpart.lock import LOCK_FILE, turn_in
from afterpart.web.desk import Desk, StaleError

COVER = Path(__file__).resolve().parents[2] / "examples" / "compressor_cover"
ROWS = 5
HAND = """
import sys
from pathlib import Path
from afterpart import pipeline
folder, hand, rows = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
print("ready", flush=True)
sys.stdin.readline()
late = 0
for number in range(rows):
    row = {"do": "add", "table": "hole", "row": {"name": f"{hand}{number}", "at": [0.0, float(number)], "diameter": 3.0}}
    while True:
        before = pipeline.job_text(folder)
        if pipeline.replace_job_text(folder, before, pipeline.edited(before, [row])[0]):
            break
        late += 1
print(late, flush=True)
"""
HOLDER = """
import sys, time
from pathlib import Path
from afterpart.lock import turn_in
with turn_in(Path(sys.argv[1])):
    print("mine", flush=True)
    time.sleep(60)
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copyfile(COVER / "job.toml", tmp_path / "job.toml")
    shutil.copyfile(COVER / "inlet_cover.jpg", tmp_path / "inlet_cover.jpg")
    return tmp_path


def program(text: str, *given: object) -> subprocess.Popen[str]:
    started = subprocess.Popen([sys.executable, "-c", text, *map(str, given)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                               encoding="utf-8")
    assert started.stdout is not None
    assert started.stdout.readline().strip() in ("ready", "mine")
    return started


def test_programs_that_write_within_the_same_moment_lose_nothing(folder: Path) -> None:
    hands = [program(HAND, folder, name, ROWS) for name in "ab"]
    for hand in hands:
        assert hand.stdin is not None
        hand.stdin.write("go\n")
        hand.stdin.flush()
    late = [int(hand.communicate(timeout=120.0)[0]) for hand in hands]
    assert all(hand.returncode == 0 for hand in hands)
    names = sorted(row["name"] for row in pipeline.plain_of(pipeline.job_text(folder))["hole"])
    assert names == sorted(f"{hand}{number}" for hand in "ab" for number in range(ROWS))
    assert sum(late) > 0, "they never met: this run shows nothing"
    assert sorted(path.name for path in folder.iterdir()) == [LOCK_FILE, "inlet_cover.jpg", "job.toml"]


def test_a_program_that_is_killed_in_its_turn_leaves_none_behind(folder: Path) -> None:
    holder = program(HOLDER, folder)
    with pytest.raises(FolderError, match="another program has been writing"), turn_in(folder, patience_s=0.2):
        raise AssertionError("two turns at once")
    holder.kill()
    holder.communicate(timeout=30.0)
    begun = time.monotonic()
    with turn_in(folder, patience_s=5.0):
        pass
    assert time.monotonic() - begun < 2.0


def test_what_came_in_between_is_told_and_kept(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another program writes after the desk has looked and before it writes: within the same millisecond."""
    desk = Desk(folder.parent, folder)
    look = pipeline.job_text
    text = look(folder)
    changed = text.replace('revision = "A"', 'revision = "Q"')
    assert changed != text
    stamp = desk.stamp

    def solved_meanwhile(self: Desk, job: object) -> None:
        (folder / "job.toml").write_text(changed, "utf-8")

    monkeypatch.setattr(Desk, "_solve", solved_meanwhile)
    with pytest.raises(StaleError):
        desk.edit(stamp, [{"do": "set", "at": "cover.thickness", "value": 15.0}])
    assert look(folder) == changed
    assert desk.stamp == pipeline.stamp_of(changed) and desk.steps == (1, 0)


def test_a_lock_file_that_is_something_else_is_named(folder: Path) -> None:
    (folder / LOCK_FILE).write_bytes(b"a letter to somebody" * 100)
    with pytest.raises(FolderError, match=LOCK_FILE), turn_in(folder):
        raise AssertionError("granted on a file that cannot be locked")


def test_a_folder_that_is_gone_is_told(tmp_path: Path) -> None:
    with pytest.raises(FolderError, match="cannot be written"), turn_in(tmp_path / "gone"):
        raise AssertionError("granted in no folder")
