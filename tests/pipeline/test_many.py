"""Many jobs: found, done once, taken up again, told in a table; by processes of this machine and by a cluster on loopback."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
import multiprocessing
import os
import shutil
import sys
import time
from concurrent.futures import Executor, ThreadPoolExecutor
from html.parser import HTMLParser
from pathlib import Path

import pytest

from afterpart import pipeline
from afterpart.errors import FolderError, UsageError
from afterpart.job.options import shot_from_options
from afterpart.model.job import Shot
from afterpart.model.many import CURRENT, DONE, FAILED, JobRow
from afterpart.pipeline import many
from afterpart.pipeline.crew import Hands, LostError
from afterpart.release.many_files import many_csv, many_html
from tests.journey.command import afterpart, assert_refused
from tests.pipeline.many_jobs import batch, cluster_here, table_of
from tests.pipeline.shelf import make_shelf

JOBS, BARE = 7, 1
ROWS = (JobRow("b/two", DONE, "measure", "3 dimensions", "b/two", 1.25), JobRow("one", CURRENT, "check", "Print it.", "one", 0.1),
        JobRow("=x<i>", FAILED, "", "found a\nb & c", "=x<i>", 0.0))


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Seven jobs, one of them with half a photograph, and a bare photograph; nothing is done yet."""
    folder = tmp_path_factory.mktemp("many") / "shelf"
    make_shelf(folder, JOBS, BARE)
    spoilt = folder / "box_0" / "disc_003" / "disc.jpg"
    spoilt.write_bytes(spoilt.read_bytes()[:4000])
    return folder


@pytest.fixture(scope="module")
def done(shelf: Path) -> tuple[int, str]:
    """The shelf worked through by two processes, one of which is killed at work."""
    status, said, _ = batch(shelf, "--workers", "2", "--sheet", "A4", kill_after=2)
    return status, said


def test_a_spoilt_job_and_a_killed_process_stop_nothing(shelf: Path, done: tuple[int, str]) -> None:
    status, said = done
    rows = {row["job"]: row for row in table_of(shelf)}
    assert status == 4 and "1 failed, 7 done, 0 up to date" in said and "Traceback" not in said
    assert [name for name, row in rows.items() if row["result"] == "failed"] == ["box_0/disc_003"] == [*rows][:1]
    assert "disc.jpg" in rows["box_0/disc_003"]["text"] and rows["box_0/disc_003"]["reached"] == ""
    for name, row in rows.items():
        if row["result"] == "done":
            assert row["reached"] == "measure" and "scale from sheet" in row["text"] and float(row["seconds"]) > 0
            assert (shelf / row["folder"] / "outline.json").is_file(), name
    assert rows["photos/bare_0.jpg"]["folder"] == "measured/photos/bare_0.jpg"


def test_what_is_up_to_date_is_not_done_again_and_what_has_changed_is(shelf: Path, done: tuple[int, str]) -> None:
    """A job file changed, a photograph replaced, results of one gone: these are done, in this process; the rest is left alone."""
    changed = shelf / "box_0" / "disc_001"
    text = (changed / "job.toml").read_text()
    (changed / "job.toml").write_text(text.replace("face_height = 0.0", "face_height = 1.0"))
    shutil.copyfile(shelf / "box_0" / "disc_000" / "disc.jpg", shelf / "box_0" / "disc_002" / "disc.jpg")
    (shelf / "box_0" / "disc_004" / "outline.json").unlink()
    before = {path: path.stat().st_mtime_ns for path in shelf.rglob("outline.json")}
    jobs = many.shelf_jobs(shelf, "measure", shot_from_options("photo", sheet="A4"))
    rows = {row.name: row for row in many.work_through(jobs, here(), lambda *_: None)}
    assert {name for name, row in rows.items() if row.state == DONE} == {f"box_0/disc_00{number}" for number in (1, 2, 4)}
    assert [name for name, row in rows.items() if row.state == FAILED] == ["box_0/disc_003"]
    left = [path for path, at in before.items() if path.stat().st_mtime_ns == at]
    assert {path.parent.name for path in left} == {"disc_000", "disc_005", "disc_006", "bare_0.jpg"}
    assert len(rows) == JOBS + BARE and {row.state for row in rows.values()} == {DONE, FAILED, CURRENT}


def test_a_cluster_on_this_machine_does_the_same(shelf: Path, done: tuple[int, str], tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    other = tmp_path / "shelf"
    make_shelf(other, 1)
    with cluster_here(1) as (address, _):
        status, said, _ = batch(other, "--scheduler", address)
    assert status == 0 and "1 done" in said, said
    mine, theirs = (folder / "box_0" / "disc_000" / "outline.json" for folder in (shelf, other))
    assert mine.read_bytes() == theirs.read_bytes(), "the same bytes wherever it is done"


def test_without_a_scheduler_that_answers_or_without_the_library_it_is_said(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("afterpart.pipeline.crew.REACH_S", 0.5)
    pytest.importorskip("distributed")
    with pytest.raises(FolderError, match="no scheduler that answers"), pipeline.cluster("tcp://127.0.0.1:9"):
        pass
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UsageError, match=r"afterpart\[cluster\]"), pipeline.cluster("tcp://127.0.0.1:9"):
        pass


def test_a_process_that_ends_twice_is_told_and_the_next_task_is_done() -> None:
    crew = Hands(1)
    try:
        with pytest.raises(LostError, match="2 times"):
            crew.submit(os._exit, 9).result()
        assert crew.submit(abs, -5).result() == 5
    finally:
        crew.close()


def test_a_process_that_hangs_is_ended_and_the_next_task_is_done(tmp_path: Path) -> None:
    """The first task sleeps for a minute; its process is gone once its time is over, and it is not begun again."""
    begun, crew = time.monotonic(), Hands(1, longest_s=1.0)
    try:
        hung, next_one = crew.submit(time.sleep, 60.0), crew.submit(abs, -5)
        with pytest.raises(LostError, match=r"not done after 0.0167 minutes"):
            hung.result()
        assert next_one.result() == 5
    finally:
        crew.close()
    assert time.monotonic() - begun < 50.0 and len(multiprocessing.active_children()) == 0


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="a job hangs here on a pipe that nobody writes to")
def test_a_job_that_hangs_is_a_failed_row_and_the_next_is_taken_up(tmp_path: Path) -> None:
    for name in ("hangs", "next"):
        (tmp_path / name).mkdir()
    os.mkfifo(tmp_path / "hangs" / "job.toml")
    (tmp_path / "next" / "job.toml").write_text('name = "x"\n[[photo]]\nfile = "absent.jpg"\n')
    status, said, _ = batch(tmp_path, "--minutes", "0.1")
    texts = {row["job"]: row["text"] for row in table_of(tmp_path)}
    assert status == 4 and "2 failed" in said
    assert "not done after 0.1 minutes" in texts["hangs"] and "absent.jpg" in texts["next"]


def test_a_bug_in_one_job_is_its_own_row(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make_shelf(tmp_path, 2)

    def broken(job: many.ShelfJob) -> JobRow:
        if job.name.endswith("0"):
            raise ZeroDivisionError("by nothing")
        return JobRow(job.name, DONE, "measure", "", job.place)
    monkeypatch.setattr(many, "carry_out", broken)
    told: list[tuple[int, int]] = []
    jobs = many.shelf_jobs(tmp_path, "measure", Shot("x"))
    rows = many.work_through(jobs, here(), lambda row, count, total: told.append((count, total)))
    assert [row.state for row in rows] == [FAILED, DONE] and told == [(1, 2), (2, 2)]
    assert "ZeroDivisionError: by nothing" in rows[0].text and "bug" in rows[0].text


def test_jobs_and_bare_photographs_are_found_and_results_are_passed_over(tmp_path: Path) -> None:
    for name in ("a/job.toml", "a/part.jpg", "a/pieces/cover.png", "old/outline.json", "old/overlay.png", "rel/manifest.json",
                 "rel/x.jpg", ".hidden/y.jpg", "deep/er/z.HEIC", "deep/notes.txt", "measured/z.jpg"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(b"")
    jobs = many.shelf_jobs(tmp_path, "check", Shot("photo", sheet=(297.0, 210.0)))
    assert [(job.name, job.place) for job in jobs] == [("a", "a"), ("deep/er/z.HEIC", "measured/deep/er/z.HEIC")]
    assert jobs[0].shot is None and jobs[1].shot == Shot("z.HEIC", sheet=(297.0, 210.0))
    assert [job.name for job in many.shelf_jobs(tmp_path / "a", "check", Shot("photo"))] == ["."], "a job is a shelf of one"


@pytest.mark.parametrize(("arguments", "status", "words"), [
    ((".",), 3, ("neither a job folder",)), ((".", "--until", "paint"), 2, ("measure, build",)),
    ((".", "--sheet", "napkin"), 2, ("napkin",))])
def test_what_cannot_be_worked_through_is_refused(arguments: tuple[str, ...], status: int, words: tuple[str, ...],
                                                  tmp_path: Path) -> None:
    assert_refused(afterpart("batch", *arguments, cwd=tmp_path), status, *words)
    with pytest.raises(FolderError, match="no such folder"):
        many.shelf_jobs(tmp_path / "nowhere", "measure", Shot("photo"))


def test_a_job_that_cannot_be_built_says_how_far_it_came(shelf: Path, done: tuple[int, str]) -> None:
    """These jobs ask for no piece: measured they are, built they cannot be."""
    jobs = [job for job in many.shelf_jobs(shelf, "build", Shot("photo")) if job.name.endswith("disc_000")]
    (row,) = many.work_through(tuple(jobs), here(), lambda *_: None)
    assert (row.state, row.reached) == (FAILED, "measure") and row.text


def test_the_table_keeps_every_row_and_starts_no_formula() -> None:
    found = list(csv.DictReader(io.StringIO(many_csv(ROWS).decode())))
    assert [row["result"] for row in found] == [FAILED, DONE, CURRENT] and found[0]["job"] == "'=x<i>"
    assert found[0]["text"] == "found a b & c" and found[1]["seconds"] == "1.2"


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.words = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [value or "" for name, value in attrs if name in ("href", "src")]

    def handle_data(self, data: str) -> None:
        self.words += data


def test_the_page_holds_every_row_no_script_and_nothing_from_elsewhere() -> None:
    page = _Page()
    page.feed(many_html(ROWS, "check").decode())
    assert page.tags.count("tr") == 1 + len(ROWS) and {"script", "i", "img", "link"}.isdisjoint(page.tags)
    assert page.links == ["b/two/", "one/"], "a job without results has no link"
    assert all(text in page.words for text in ("=x<i>", "b & c", "3 dimensions", "1 failed, 1 done, 1 up to date"))


def here() -> Executor:
    """A crew of this process."""
    return ThreadPoolExecutor(1)
