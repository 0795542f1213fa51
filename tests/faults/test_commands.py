"""Faults while measuring, building, checking, releasing and editing: every call that writes fails once in turn.

Afterwards each set of files is the old one or the new one, never a third, status 3 says that it was not done, and doing it once
more works.  Sets are put in place in the order in which they depend on each other: a later one is never new beside an earlier one
that is old.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import errno
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from afterpart import cli, pipeline
from afterpart.files import tidy
from afterpart.pipeline import Measurement
from afterpart.web.desk import Desk
from tests.faults.jobs import before, new_job, printing_nothing, ready
from tests.faults.system import contents, every_failure, failing_at, hidden
from tests.pipeline.shelf import photograph

try:
    import resource
except ImportError:  # not a POSIX system
    resource = None  # type: ignore[assignment]

COMMANDS = ("measure", "build", "check", "release")


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> Measurement:
    """A real measurement, written nowhere."""
    folder = tmp_path_factory.mktemp("faults") / "job"
    new_job(folder)
    return pipeline.measure(pipeline.job_of_folder(folder, ()), folder, folder, lambda _: None)


@pytest.fixture(scope="module")
def stood(measured: Measurement, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The job as it stood before the command."""
    folder = tmp_path_factory.mktemp("stood") / "job"
    before(folder, measured)
    return folder


def sets_of(old: dict[str, bytes], new: dict[str, bytes]) -> list[set[str]]:
    """The names that a command changes, set by set, in the order in which they are put in place."""
    changed = {name for name in {*old, *new} if old.get(name) != new.get(name)}
    facts = {name for name in changed if name == "pieces/facts.json"}
    released = {name for name in changed if name.startswith("release/")}
    return [one for one in (facts, changed - facts - released, released) if one]


def run(command: str, folder: Path) -> int:
    """The command line, in this process; its exit status."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["afterpart", command, str(folder)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
    return int(ended.value.code or 0)


@pytest.mark.parametrize("command", COMMANDS)
def test_every_fault_of_a_command_leaves_every_set_old_or_new(command: str, measured: Measurement, stood: Path, tmp_path: Path,
                                                             monkeypatch: pytest.MonkeyPatch,
                                                             capsys: pytest.CaptureFixture[str]) -> None:
    printing_nothing(monkeypatch)
    old = contents(stood)
    place = tmp_path / "0"
    shutil.copytree(stood, place)
    ready(monkeypatch, measured, place)
    assert run(command, place) == 0
    new = contents(place)
    sets = sets_of(old, new)
    assert len(sets) == {"measure": 1, "build": 1, "check": 2, "release": 3}[command]
    number = 0
    while True:
        number += 1
        place = tmp_path / str(number)
        shutil.copytree(stood, place)
        ready(monkeypatch, measured, place)
        capsys.readouterr()
        with failing_at(number, errno.ENOSPC) as system:
            status = run(command, place)
        if number > len(system.calls):
            break
        now, said = contents(place), capsys.readouterr().err
        is_new = [all(now.get(name) == new.get(name) for name in one) for one in sets]
        is_old = [all(now.get(name) == old.get(name) for name in one) for one in sets]
        assert all(a or b for a, b in zip(is_new, is_old, strict=True)), (number, system.calls[number - 1])
        assert is_new == sorted(is_new, reverse=True), "in order"
        assert {name: data for name, data in now.items() if name in old and name in new and old[name] == new[name]} == \
               {name: data for name, data in new.items() if old.get(name) == data}, "nothing else is touched"
        assert status in (0, 3) and (status == 0) == (said == "") and (status == 0) <= all(is_new)
        if status == 3:
            assert said.count("\n") == 1 and "No space left" in said and "Traceback" not in said
            assert "in place, but the disk does not confirm" in said or "Nothing was changed there" in said and not all(is_new)
        with failing_at(None):
            for folder in (place, place / "pieces", place / "release"):
                tidy(folder)
            assert not hidden(place) and contents(place) == now, number
            if not all(is_new):
                assert run(command, place) == 0, "the next run works"
    assert number > 30
    assert {"open", "write", "fsync", "link", "replace", "unlink"} <= {*system.calls}


def edited(folder: Path) -> None:
    desk = Desk(folder.parent, folder)
    desk.edit(desk.stamp, [{"do": "set", "at": "revision", "value": "Q"}])


def photographed(folder: Path) -> None:
    with (folder / "disc.jpg").open("rb") as stream:
        Desk(folder.parent, folder).put_photo("second.jpg", stream.read(), add=True)


def begun(folder: Path) -> None:
    pipeline.new_job(folder / "new", "third.jpg", (folder / "disc.jpg").read_bytes())


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO])
@pytest.mark.parametrize("change", [edited, photographed, begun], ids=lambda change: change.__name__)
def test_every_fault_of_an_edit_in_the_page_leaves_the_old_or_the_new_job(change: Callable[[Path], None], code: int, stood: Path,
                                                                         tmp_path: Path) -> None:
    old = contents(stood)
    shutil.copytree(stood, tmp_path / "0")
    change(tmp_path / "0")
    new, number = contents(tmp_path / "0"), 0
    assert new != old
    for number, place, said, call in every_failure(change, code, lambda n: Path(shutil.copytree(stood, tmp_path / str(n)))):
        now = contents(place)
        assert now in (old, new), (number, call)
        assert said or now == new
        assert Desk(place.parent, place).job is not None, "the job can be opened"
        if now == old:
            change(place)
            assert contents(place) == new
    assert number > 8


def test_a_full_disk_is_told_by_every_command_that_writes(measured: Measurement, stood: Path, tmp_path: Path,
                                                         monkeypatch: pytest.MonkeyPatch,
                                                         capsys: pytest.CaptureFixture[str]) -> None:
    """Not once: every write from some point on, as on a disk that stays full."""
    printing_nothing(monkeypatch)
    place = tmp_path / "job"
    shutil.copytree(stood, place)
    ready(monkeypatch, measured, place)
    old = contents(place)
    for command in COMMANDS:
        for number in (3, 9):
            with failing_at(number, errno.ENOSPC, lasting="write") as system:
                assert run(command, place) == 3
            changed = [one for one in sets_of(old, contents(place)) if one != {"pieces/facts.json"}]
            assert "write" in system.calls and not changed, "what was measured on the solids may be kept: it is no result"
            assert "No space left" in capsys.readouterr().err


@pytest.mark.skipif(resource is None, reason="a limit that POSIX systems set")
def test_a_limit_of_the_system_on_file_sizes_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    """A real refusal of the kernel's, in a process of its own: `new` with a photograph larger than a file may be."""
    photograph(1).save(tmp_path / "disc.jpg", quality=95)
    assert (tmp_path / "disc.jpg").stat().st_size > 20_000
    result = subprocess.run([sys.executable, "-m", "afterpart", "new", "job", "--photo", "disc.jpg"], cwd=tmp_path, check=False,
                            capture_output=True, text=True,
                            preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000)))
    assert result.returncode == 3 and "File too large" in result.stderr and "Nothing was changed there" in result.stderr
    assert not contents(tmp_path / "job") and not hidden(tmp_path / "job")
