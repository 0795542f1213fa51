"""The open job: written whole or not at all, never over what somebody else wrote, every step taken back."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from afterpart.errors import AfterpartError, JobError, PhotoError
from afterpart.web.desk import Desk, StaleError

COVER = Path(__file__).resolve().parents[2] / "examples" / "compressor_cover"
THICKER = {"do": "set", "at": "cover.thickness", "value": 15.0}


@pytest.fixture
def desk(folder: Path) -> Desk:
    return Desk(folder.parent, folder)


def text_of(folder: Path) -> str:
    return (folder / "job.toml").read_text()


def test_an_edit_is_in_the_file_at_once_and_nothing_else_is(desk: Desk, folder: Path) -> None:
    before = text_of(folder)
    desk.edit(desk.stamp, [THICKER])
    assert text_of(folder) == before.replace("thickness = 14.4 ", "thickness = 15.0 ")
    assert sorted(path.name for path in folder.iterdir()) == [".job.lock", "inlet_cover.jpg", "job.toml"]
    assert not (folder / ".job.lock").read_bytes()
    assert desk.job is not None and desk.job.wishes.cover is not None and desk.job.wishes.cover.thickness == 15.0


@pytest.mark.parametrize("edits", [
    [THICKER, {"do": "set", "at": "cover.thickness", "value": -1.0}], [{"do": "set", "at": "cover.thicknes", "value": 5.0}],
    [THICKER, {"do": "drop", "table": "role", "index": 9}], [{"do": "remove", "at": "name"}],
    [{"do": "add", "table": "reading", "row": {"id": "d1", "value": 6.5}}] * 2])
def test_edits_that_cannot_be_used_change_nothing(desk: Desk, folder: Path, edits: list[dict[str, object]]) -> None:
    before, stamp = (folder / "job.toml").read_bytes(), desk.stamp
    with pytest.raises(JobError) as refused:
        desk.edit(stamp, edits)
    assert "found" in str(refused.value) and "expected" in str(refused.value)
    assert (folder / "job.toml").read_bytes() == before and desk.stamp == stamp and desk.steps == (0, 0)


def test_two_pages_never_overwrite_one_another(desk: Desk, folder: Path) -> None:
    seen_by_both = desk.stamp
    desk.edit(seen_by_both, [THICKER])
    with pytest.raises(StaleError):
        desk.edit(seen_by_both, [{"do": "set", "at": "cover.thickness", "value": 12.0}])
    assert "thickness = 15.0 " in text_of(folder)


def test_two_programs_on_one_job_never_overwrite_one_another(desk: Desk, folder: Path) -> None:
    other, stamp = Desk(folder.parent, folder), desk.stamp
    other.edit(other.stamp, [THICKER])
    with pytest.raises(StaleError):
        desk.edit(stamp, [{"do": "set", "at": "revision", "value": "C"}])
    desk.edit(desk.stamp, [{"do": "set", "at": "revision", "value": "C"}])
    assert "thickness = 15.0 " in text_of(folder) and 'revision = "C"' in text_of(folder)


def test_many_hands_at_once_lose_nothing(desk: Desk, folder: Path) -> None:
    """Eight threads add a row each, and try again when they were too late: all rows are there."""
    def add(number: int) -> None:
        while True:
            try:
                desk.edit(desk.stamp, [{"do": "add", "table": "hole", "row": {"name": f"h{number}", "at": [0.0, float(number)],
                                                                             "diameter": 3.0}}])
                return
            except StaleError:
                continue
    hands = [threading.Thread(target=add, args=(number,)) for number in range(8)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    job = Desk(folder.parent, folder).job
    assert job is not None and sorted(hole.name for hole in job.wishes.holes) == [f"h{k}" for k in range(8)]


def test_what_is_written_by_hand_is_seen_and_can_be_taken_back_without_loss(desk: Desk, folder: Path) -> None:
    first = text_of(folder)
    desk.edit(desk.stamp, [THICKER])
    by_hand = text_of(folder).replace('revision = "A"', 'revision = "B"  # by hand')
    (folder / "job.toml").write_text(by_hand)
    assert desk.look() and not desk.look()
    assert desk.job is not None and desk.job.revision == "B"
    desk.undo(desk.stamp)
    assert 'revision = "A"' in text_of(folder) and "thickness = 15.0 " in text_of(folder)
    desk.redo(desk.stamp)
    assert text_of(folder) == by_hand
    desk.undo(desk.stamp)
    desk.undo(desk.stamp)
    assert text_of(folder) == first and desk.steps == (0, 2)
    with pytest.raises(JobError):
        desk.undo(desk.stamp)


def test_a_file_changed_between_two_looks_is_not_overwritten(desk: Desk, folder: Path) -> None:
    """Even where size and time tell nothing, a change of the same length within the clock's step."""
    stamp, path = desk.stamp, folder / "job.toml"
    told = path.stat()
    path.write_text(text_of(folder).replace('revision = "A"', 'revision = "Z"'))
    os.utime(path, ns=(told.st_atime_ns, told.st_mtime_ns))
    with pytest.raises(StaleError):
        desk.edit(stamp, [THICKER])
    assert 'revision = "Z"' in text_of(folder)


def test_a_job_broken_by_hand_is_told_with_its_line_and_the_desk_stays_usable(desk: Desk, folder: Path) -> None:
    good = text_of(folder)
    (folder / "job.toml").write_text(good.replace("thickness = 14.4", "thickness = thick"))
    assert desk.look() and desk.job is None
    assert desk.problems[0].line is not None and desk.problems[0].way_out
    with pytest.raises(JobError):
        desk.edit(desk.stamp, [THICKER])
    (folder / "job.toml").write_text(good.replace("thickness = 14.4", "thicknes = 14.4"))
    assert desk.look() and desk.problems[0].where == "cover.thicknes" and "Did you mean thickness?" in desk.problems[0].way_out
    desk.edit(desk.stamp, [{"do": "remove", "at": "cover.thicknes"}, THICKER])
    assert desk.job is not None and not desk.problems
    (folder / "job.toml").unlink()
    assert desk.look() and desk.job is None and desk.problems
    (folder / "job.toml").write_text(good)
    assert desk.look() and desk.job is not None


def test_a_photograph_is_taken_in_beside_what_is_there(tmp_path: Path) -> None:
    desk, data = Desk(tmp_path / "start"), (COVER / "inlet_cover.jpg").read_bytes()
    with pytest.raises(PhotoError):
        desk.put_photo("a.jpg", b"no picture", False)
    assert not (tmp_path / "start").exists()
    desk.put_photo("Old Lid (1).jpeg", data, False)
    folder = desk.folder
    assert folder is not None and folder.name == "Old_Lid_1" and desk.job is not None
    desk.put_photo("x.jpg", data, True)
    desk.put_photo("Old Lid (1).jpeg", data, False)
    assert [shot.file for shot in desk.job.shots] == ["Old_Lid_1_2.jpg", "x.jpg"]
    names = sorted(path.name for path in folder.iterdir())
    assert names == [".job.lock", "Old_Lid_1.jpg", "Old_Lid_1_2.jpg", "job.toml", "x.jpg"]
    desk.edit(desk.stamp, [
        {"do": "change", "table": "photo", "index": 1, "row": {"sheet": "A4", "span": [10.0, 20.0, 300.0, 20.0, 50.0]}},
        *({"do": "add", "table": "damage", "row": {"at": [9.0, 9.0], "radius": 5.0, "photo": number}} for number in (2, 1, 2))])
    before = desk.job
    desk.put_photo("better.jpg", data, False, number=2)
    assert [(shot.file, shot.sheet, shot.span) for shot in desk.job.shots] == [
        ("Old_Lid_1_2.jpg", None, None), ("better.jpg", before.shots[1].sheet, None)], "what was picked in its pixels is gone"
    assert [len(shot.damage) for shot in before.shots] == [1, 2] and [len(shot.damage) for shot in desk.job.shots] == [1, 0]
    desk.undo(desk.stamp)
    assert desk.job == before
    with pytest.raises(AfterpartError, match="expected 1 to 2"):
        desk.put_photo("y.jpg", data, False, number=3)
    assert not (folder / "y.jpg").exists()
    other = Desk(tmp_path / "start")
    other.put_photo("Old Lid (1).jpeg", data, False)
    assert other.folder is not None and other.folder.name == "Old_Lid_1_2", "another job is another folder"


def test_a_desk_without_a_job_says_so(tmp_path: Path) -> None:
    desk = Desk(tmp_path)
    assert desk.stamp == "" and not desk.look() and desk.solved() is None and desk.record() is None
    with pytest.raises(AfterpartError, match="Choose a photograph"):
        desk.edit("", [])
