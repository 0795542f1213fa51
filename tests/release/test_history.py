"""What changed since the revision before: worked out from two releases that differ in known ways, and read back."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from afterpart.checks.stage import run_checks
from afterpart.errors import JobError
from afterpart.model.case import Case
from afterpart.model.fit_report import FitReport, ReportedSize
from afterpart.model.history import GROUPS, Change, History, RevisionChanges
from afterpart.model.job import Job, Reading
from afterpart.model.outline import Circle, Outline
from afterpart.model.release import TitleBlock
from afterpart.model.store import parse_history
from afterpart.model.wishes import Trial
from afterpart.parts.stage import make_pieces
from afterpart.release.history import Released, changes_since
from afterpart.release.history_files import history_files, readme_section, revision_lines
from tests.files.pdf_reading import read_pages
from tests.parts.examples import example

TITLE = TitleBlock("bracket", "B", "2026-02-03", "afterpart test")
SIZES = tuple(Trial("size", drawn, printed=round(0.997 * drawn, 2), of=of) for of, drawn in
              (("d7", 92.13), ("d10", 82.0), ("d6", 42.0), ("d8", 67.2)))
REPORT = FitReport("neighbour's | bench", "after work", 1994, "A", ("c4",), (ReportedSize("d13", 104.3),), note="keep this to us")


def released(job: Job, outline: Outline, made_with: str = "afterpart 1") -> Released:
    build = make_pieces(outline, job)
    return Released(job, outline, build, run_checks(Case(job, outline, build)), made_with)


@pytest.fixture(scope="module")
def first() -> Released:
    outline, job = example("bracket")
    return released(replace(job, wishes=replace(job.wishes, coupon=None)), outline)


def with_size(outline: Outline, name: str, design: float) -> Outline:
    """The outline with one dimension's design value changed."""
    return replace(outline, dimensions=tuple(replace(d, design=design) if d.id == name else d for d in outline.dimensions))


def next_of(first: Released, **changes: object) -> Released:
    return replace(first, job=replace(first.job, revision="B", **changes))


def test_the_same_again_changes_nothing(first: Released) -> None:
    found = changes_since(first, next_of(first))
    assert (found.changes, found.trials, found.sharper) == ((), (), 0)
    assert (found.before, found.revision) == ("A", "B")


@pytest.mark.parametrize(("changes", "cause"), [
    ({"readings": (Reading("d13", 104.4, 0.02),)}, "reading d13"),
    ({"readings": (Reading("d14", 62.1, 0.02),)}, "solved again with d14"),
    ({"fit_reports": (REPORT,)}, "report from neighbour's | bench"),
    ({"fit_reports": (replace(REPORT, sizes=(ReportedSize("d6", 42.1),)),)}, "solved again with d6"),
    ({}, "")])
def test_a_size_that_moved_names_what_moved_it(first: Released, changes: dict[str, object], cause: str) -> None:
    now = replace(next_of(first, **changes), outline=with_size(first.outline, "d13", 104.5))
    rows = changes_since(first, now).of_group("size")
    assert [(row.what, row.before, row.now, row.unit, row.cause) for row in rows] == [
        ("d13, width s3, s9", "104.000", "104.500", "mm", cause)]
    assert rows[0].by == pytest.approx(0.5)


def test_another_telling_of_the_photograph_or_another_program_is_a_cause(first: Released) -> None:
    moved = with_size(first.outline, "d13", 104.5)
    shot = replace(first.job.shots[0], face_height=5.2)
    assert "photograph" in changes_since(first, replace(next_of(first, shots=(shot,)), outline=moved)).changes[0].cause
    other = replace(next_of(first), outline=moved, made_with="afterpart 2")
    assert changes_since(first, other).changes[0].cause == "afterpart 1 is now afterpart 2"


def test_dimensions_come_and_go_and_get_sharper(first: Released) -> None:
    gone = replace(first.outline, dimensions=first.outline.dimensions[1:])
    rows = changes_since(first, replace(next_of(first), outline=gone)).of_group("size")
    assert [(row.before, row.now, row.by) for row in rows] == [("6.600", "", None)]
    sharp = replace(first.outline, dimensions=tuple(replace(d, u95=0.5 * d.u95) for d in first.outline.dimensions))
    found = changes_since(first, replace(next_of(first), outline=sharp))
    assert found.sharper == len(first.outline.dimensions) and not found.of_group("size")


def test_a_hole_that_moved_is_told_with_its_place(first: Released) -> None:
    design = tuple(replace(loop, segments=tuple(replace(s, center=(s.center[0] + 0.3, s.center[1] - 0.4)) if s.id == "c2"
                                                and isinstance(s, Circle) else s for s in loop.segments))
                   for loop in first.outline.design)
    rows = changes_since(first, replace(next_of(first), outline=replace(first.outline, design=design))).of_group("place")
    assert len(rows) == 1 and "c2" in rows[0].what and rows[0].by == pytest.approx(0.5)


def test_keys_and_the_sizes_they_decide(first: Released) -> None:
    wishes = first.job.wishes
    assert wishes.cover is not None
    thicker = replace(wishes, cover=replace(wishes.cover, thickness=6.0))
    found = changes_since(first, released(replace(first.job, revision="B", wishes=thicker), first.outline))
    assert [(row.what, row.before, row.now) for row in found.of_group("key")] == [("cover.thickness", "5.0", "6.0")]
    pieces = {row.what: row for row in found.of_group("piece")}
    assert pieces["bracket, thickness"].by == pytest.approx(1.0)
    assert all(row.cause == "key cover.thickness" for row in pieces.values())
    assert not any(" top" in what or " bottom" in what for what in pieces)


def test_a_hole_settled_by_a_trial_says_so(first: Released) -> None:
    bolts = replace(first.job.wishes.bolts, sleeve=False)
    before = released(replace(first.job, wishes=replace(first.job.wishes, bolts=bolts)), first.outline)
    trials = (Trial("clearance", 7.2, "fits"), Trial("clearance", 7.1, "tight"))
    now = released(replace(before.job, revision="B", wishes=replace(before.job.wishes, trials=trials)), first.outline)
    rows = changes_since(before, now).of_group("piece")
    assert rows and all(row.now == "7.200" and row.cause.startswith("trial: clearance, drawn 7.2 mm: fits") for row in rows)


def test_trials_tell_what_they_decide_and_the_printer_is_told_anew(first: Released) -> None:
    wishes = replace(first.job.wishes, trials=SIZES)
    found = changes_since(first, released(replace(first.job, revision="B", wishes=wishes, fit_reports=(REPORT,)), first.outline))
    assert len(found.trials) == len(SIZES) + 1
    assert any("rubs at c4" in what and "solved again" in leads for what, leads in found.trials)
    assert all("keep this to us" not in text for pair in found.trials for text in pair)
    scale = next(row for row in found.of_group("printer") if row.what == "scale")
    assert scale.before == "" and scale.now.startswith("0.997")
    share = next(row for row in found.of_group("judgement") if "share" in row.what)
    assert share.by is not None and share.by == pytest.approx(float(share.now) - float(share.before), abs=0.11)


def test_a_trial_that_names_nothing_is_refused_with_its_row(first: Released) -> None:
    wishes = replace(first.job.wishes, trials=(Trial("size", 5.0, printed=4.9, of="d999"),))
    with pytest.raises(JobError, match=r"trial\.1\.of: found 'd999'"):
        changes_since(first, next_of(first, wishes=wishes))


ROWS = (Change("size", "d13, width | s3", "104.000", "104.500", 0.5, "mm", "reading d13"),
        Change("place", "opening c2, middle", "(0.000, 0.000)", "(0.300, -0.400)", 0.5, "mm"),
        Change("piece", "lid, hole c1, diameter", "6.600", "6.800", 0.2, "mm", "trial"),
        Change("key", "release.licence", "", "x" * 100), Change("printer", "scale", "", "0.9970 ± 0.0010"),
        Change("judgement", "share of machines that fit", "90.0", "99.0", 9.0, "%"))
HISTORY = History((RevisionChanges("B", "2026-02-03", "A", "", ROWS, (("size d13: 1", "the drawing"),), 2),
                   RevisionChanges("A", "", "0", "", ())))


def test_the_files_say_the_same_and_are_read_back() -> None:
    files = history_files(HISTORY, TITLE)
    assert sorted(files) == ["data/history.json", "history.csv", "history.md", "history.pdf"]
    assert parse_history(files["data/history.json"]) == HISTORY
    rows = list(csv.DictReader(io.StringIO(files["history.csv"].decode(), newline="")))
    assert [row["group"] for row in rows] == [*GROUPS, "trial"]
    assert [row["what"] for row in rows[:-1]] == [change.what for change in ROWS]
    assert rows[0]["change"] == "0.5000" and rows[3]["now"] == "x" * 100
    text = " ".join(" ".join(page.text for page in read_pages(files["history.pdf"])).split())
    page = files["history.md"].decode()
    for words in ("104.500 mm", "+0.500 mm", "Revision B (2026-02-03), since revision A", "2 more dimensions",
                  "No size, piece or key"):
        assert words in text and words in page, words
    assert "width \\| s3" in page and files == history_files(HISTORY, TITLE)


def test_the_readme_shows_what_moved_first() -> None:
    blocks = readme_section(HISTORY.revisions[0])
    assert "since revision A" in blocks[0] and "1 of the drawing, 1 of pieces" in blocks[1]
    assert "d13" in blocks[2] and "hole c1" in blocks[2] and "scale" not in blocks[2]
    assert len(readme_section(HISTORY.revisions[1])) == 2


def test_each_revision_is_a_line_of_the_drawing_the_newest_first() -> None:
    size, piece = Change("size", "d1", "1", "2"), Change("piece", "lid", "1", "2")
    history = History((RevisionChanges("C", "2026-03-01", "B", "", (size, size, piece)), RevisionChanges("B", "", "A", "", ())))
    newest, first = revision_lines(history)
    assert newest.startswith("Revision C") and "2 sizes" in newest and "0 places" in newest and "1 of the pieces" in newest
    assert first.startswith("Revision B") and "since revision A" in first and "0 sizes" in first
