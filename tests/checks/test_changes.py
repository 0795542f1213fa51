"""What the page's button writes into the job file really mends the finding: written there, read, built and asked again."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

import pytest
import tomlkit

from afterpart.checks.catalogue import CHECKS
from afterpart.checks.changes import ROW_TABLES, changes_of, in_the_file
from afterpart.checks.fit_changes import clearing_changes, opening_changes
from afterpart.checks.headline import actions
from afterpart.checks.stage import told
from afterpart.job.layout import JobKeys
from afterpart.job.read import read_job
from afterpart.model.case import Case
from afterpart.model.finding import FAILS, Finding, KeyChange, Limit, Suggestion
from afterpart.model.outline import Outline
from afterpart.model.wishes import FitWish
from afterpart.parts.stage import make_pieces
from afterpart.pipeline.trying import changed, tried
from tests.checks.fit_cases import outer_lip, plate
from tests.parts.examples import case_of, example

FIT = ("fit_share", "fit_clearance_wanted", "gap_at_locating")


def applied(text: str, changes: tuple[KeyChange, ...]) -> str:
    """The job file with the changes written into it."""
    job = tomlkit.parse(text)
    for change in changes:
        table, _, key = change.at.partition(".")
        value = json.loads(change.value)
        if not change.row:
            job.setdefault(table, tomlkit.table())[key] = value
            continue
        rows = job.setdefault(table, tomlkit.aot())
        mine = [row for row in rows if row[change.row[0]] == change.row[1]]
        if not mine:
            rows.append(tomlkit.item({change.row[0]: change.row[1], **{name: json.loads(told) for name, told in change.also}}))
            mine = [rows[-1]]
        mine[0][key] = value
    return tomlkit.dumps(job)


def case_in(folder: Path, outline: Outline) -> Case:
    """The job in `folder` as it would be built; nothing is measured on solids."""
    job = read_job(folder)
    return Case(job, outline, make_pieces(outline, job))


def asked(case: Case, names: set[str]) -> dict[tuple[str, str], Finding]:
    """Every finding of these checks."""
    found = (finding for check in CHECKS if check.__name__ in names for finding in check(case))
    return {(finding.check, finding.subject): told(finding) for finding in found}


@pytest.fixture(scope="module")
def outline() -> Outline:
    return example("compressor_cover")[0]


@pytest.fixture(scope="module")
def bad_cover() -> Case:
    return case_of("bad_cover")


@pytest.fixture(scope="module")
def failures(bad_cover: Case) -> tuple[Finding, ...]:
    names = {check.__name__ for check in CHECKS} - set(FIT)
    return tuple(finding for finding in asked(bad_cover, names).values() if finding.verdict == FAILS and finding.change)


def test_the_change_written_into_the_job_mends_every_failure(root: Path, outline: Outline, failures: tuple[Finding, ...],
                                                             tmp_path: Path) -> None:
    text = (root / "examples" / "bad_cover" / "job.toml").read_text()
    changes = sorted({finding.change for finding in failures}, key=repr)
    assert len(changes) >= 4
    for change in changes:
        (tmp_path / "job.toml").write_text(applied(text, change))
        hoping = [finding for finding in failures if finding.change == change]
        again = asked(case_in(tmp_path, outline), {finding.check for finding in hoping})
        for finding in hoping:
            left = again.get((finding.check, finding.subject))
            assert left is None or left.verdict != FAILS, (change, left.advice)


def test_the_job_changed_as_nouns_is_the_job_read_from_the_changed_file(root: Path, failures: tuple[Finding, ...],
                                                                        tmp_path: Path) -> None:
    text = (root / "examples" / "bad_cover" / "job.toml").read_text()
    job = read_job(root / "examples" / "bad_cover")
    opened = (KeyChange("role.clearance", "0.45", ("of", "c1"), (("role", '"locates"'),)),)
    for change in {*(finding.change for finding in failures), opened}:
        (tmp_path / "job.toml").write_text(applied(text, change))
        assert read_job(tmp_path) == changed(job, change)


@pytest.mark.parametrize(("apart", "mended"), [(100.0, {"fit_share", "fit_clearance_wanted"}), (16.0, {"gap_at_locating"})])
def test_a_snug_cover_opened_as_told_fits(apart: float, mended: set[str]) -> None:
    """Far apart no usual clearance does in the worst case, and none is told; close together, from a good printer, one does."""
    wish = FitWish(draws=40_000, printer_u=0.1 if apart > 50.0 else 0.03)
    holes = (("c1", (-apart / 2, 0.0), 6.4, "locates"), ("c2", (apart / 2, 0.0), 6.4, "locates"),
             ("c3", (0.0, 30.0), 6.6, "clears"))
    failed = [finding for finding in asked(plate(holes, fit=wish), set(FIT)).values()
              if finding.verdict == FAILS and finding.change]
    assert {finding.check for finding in failed} >= mended
    for finding in failed:
        room = {change.row[1]: float(json.loads(change.value)) for change in finding.change}
        # a bolt hole is the bolt and its clearance all round on either side
        opened = plate(tuple((name, at, 6.0 + 2 * room[name] if name in room else wide, role) for name, at, wide, role in holes),
                       fit=wish)
        again = asked(opened, {finding.check})
        assert all(other.verdict != FAILS for other in again.values()), finding.check


def test_a_change_that_leaves_no_room_is_tried_and_not_offered() -> None:
    """The demo's holes opened for every machine reach into the land beside its groove."""
    case = case_of("compressor_cover")
    wanted = KeyChange("role.clearance", "0.52", ("of", "c4"))
    harmless = KeyChange("bolts.torque_n_m", "0.45")
    plain = Finding("fit_share", "x", FAILS, 1.0, "", Limit(low=2.0), -0.5, "", "Open it.", change=(wanted,),
                    suggestions=(Suggestion("role.clearance", 0.3, 0.52, "more room"), Suggestion("fit.share", 99.0, 90.0)))
    other = Finding("clamp_load", "x", FAILS, 1.0, "", Limit(low=2.0), -0.5, "", "Turn less.", change=(harmless,))
    refused, offered = tried((plain, other), case)
    assert refused.change == () and refused.suggestions[1] == plain.suggestions[1]
    assert [(wish.key, wish.to) for wish in refused.suggestions] == [(wish.key, wish.to) for wish in plain.suggestions]
    assert "cannot be built alone" in refused.suggestions[0].why and "cannot be built alone" in actions((refused,))[0]
    assert "land" in refused.advice and "c4" in refused.advice
    assert offered == other


def test_every_change_names_a_key_the_job_file_has(bad_cover: Case, failures: tuple[Finding, ...]) -> None:
    found = {change for finding in failures for change in finding.change}
    found |= set(opening_changes(bad_cover, 0.1)) | set(clearing_changes(("c1",)))
    tables = JobKeys.model_json_schema()
    for change in found:
        table, _, key = change.at.partition(".")
        shape = tables["properties"][table]
        reference = json.dumps(shape).split('"$ref": "#/$defs/')[1].split('"')[0]
        assert key in tables["$defs"][reference]["properties"]
        assert bool(change.row) == (shape.get("type") == "array")


def test_tables_of_rows_are_those_of_the_job_file() -> None:
    told = JobKeys.model_json_schema()["properties"]
    rows = {name for name, table in told.items() if "$ref" in table.get("items", {})}
    assert {row for row in rows if row in ROW_TABLES} == set(ROW_TABLES) & rows and set(ROW_TABLES) <= rows


def test_values_stand_as_toml_and_json_both_read_them() -> None:
    for to, value in ((0.51, 0.51), (2, 2), ("true", True), ("[300, 200]", [300, 200]), ("ISO 7093", "ISO 7093")):
        text = in_the_file(to)
        assert json.loads(text) == value
        assert tomlkit.parse(f"key = {text}")["key"] == value
    assert changes_of((Suggestion("role.clearance", 0.2, 0.3),)) == ()
    assert changes_of(()) == ()


def test_opening_says_every_hole_and_the_lip_and_never_a_sleeve() -> None:
    both = opening_changes(plate(lip=outer_lip(0.2)), 0.1)
    assert {change.at for change in both} == {"role.clearance", "lip.clearance"}
    assert {change.row for change in both if change.row} == {("of", "c1"), ("of", "c2")}
    # M6 in 6.4 mm holes: 0.2 mm all round, a tenth more is 0.3
    assert {change.value for change in both} == {"0.3"}
    assert opening_changes(plate(sleeve=6.4), 0.1) == ()
    assert opening_changes(plate(), -0.1) == ()
    assert [change.row for change in opening_changes(plate(), 0.1, ("c2",))] == [("of", "c2")]


