"""From a job folder to the verdict by the command line: the bad cover fails what it should and nothing else, the demo is judged.

The outlines are those the measuring stages left (tests/parts/outlines), put in place by hand, so that nothing is measured here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from afterpart.checks.catalogue import CHECKS
from afterpart.job.layout import JobKeys
from afterpart.model.finding import FAILS, NOT_JUDGED, CheckReport
from afterpart.model.job import LEVELS
from afterpart.model.store import parse_report
from tests.files.pdf_reading import read_pages
from tests.journey.command import afterpart, assert_empty, assert_refused

SHOULD_FAIL = {
    "bolt_proof": "an M3 at 2.5 N m",
    "bearing_stress": "an M3 at 2.5 N m",
    "torque_stated": "an M3 at 2.5 N m",
    "sleeve_decision": "PLA near an engine: no clamp load is borne there",
    "service_heat": "PLA near an engine, and a ring of TPU",
    "clamped_heat": "PLA near an engine",
    "material_media": "PLA with fuel about",
    "closing_force": "a stiff ring, and PLA that bears no clamp load at that heat",
    "leak_gap": "a stiff ring between bolts 74 mm apart",
    "pressure_between_bolts": "a stiff ring between bolts 74 mm apart",
    "cover_bow": "a stiff ring between bolts 74 mm apart",
    "screw_hole_sensitivity": "pilot holes of 2.9 mm",
    "coupon_result": "pilot holes of 2.9 mm, which stripped on the coupon",
    "screw_pilot": "pilot holes of 2.9 mm, which stripped on the coupon",
    "screw_extra_turn": "an eighth of a turn of a coarse thread in so little plastic",
    "face_velocity": "45 m3/h through this element",
    "inlet_pressure_drop": "40 Pa to spare",
    "dry_foam": "40 Pa to spare",
    "inlet_exposure": "an open inlet that looks up into stones and spray",
    "gap_at_locating": "M3 holes that locate over 147 mm",
    "fit_share": "M3 holes that locate over 147 mm",
    "fit_clearance_wanted": "M3 holes that locate over 147 mm",
}
"""Each check that must fail, and the wish that makes it."""


def job_folder(root: Path, place: Path, name: str) -> Path:
    """A copy of an example with its outline in place."""
    folder = place / name
    folder.mkdir()
    shutil.copy(root / "examples" / name / "job.toml", folder)
    shutil.copy(root / "tests" / "parts" / "outlines" / "compressor_cover.json", folder / "outline.json")
    return folder


def report_in(folder: Path) -> CheckReport:
    return parse_report((folder / "report.json").read_bytes(), (folder / "findings.json").read_bytes())


@pytest.fixture(scope="module")
def bad(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = job_folder(root, tmp_path_factory.mktemp("bad"), "bad_cover")
    result = afterpart("check", folder)
    assert result.returncode == 4, (result.stdout, result.stderr)
    (folder / "said.txt").write_text(result.stdout)
    (folder / "status.txt").write_text(str(result.returncode))
    return folder


@pytest.fixture(scope="module")
def demo(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = job_folder(root, tmp_path_factory.mktemp("demo"), "compressor_cover")
    result = afterpart("check", folder)
    assert result.returncode in (0, 4), (result.stdout, result.stderr)
    (folder / "said.txt").write_text(result.stdout)
    (folder / "status.txt").write_text(str(result.returncode))
    return folder


def test_the_bad_cover_fails_exactly_the_checks_it_should(bad: Path) -> None:
    failed = {finding.check for finding in report_in(bad).findings if finding.verdict == FAILS}
    assert failed == set(SHOULD_FAIL)


def test_the_report_says_do_not_and_names_the_broken_bolt_first(bad: Path) -> None:
    report = report_in(bad)
    assert report.headline.startswith("Do not print it") and "bolt proof" in report.headline
    assert "M3" in report.headline and len(report.actions) == 3
    assert report.actions[0].startswith("Set bolts.torque_n_m to 0.") and "printer.material" in " ".join(report.actions)
    said = (bad / "said.txt").read_text()
    assert said.index(report.headline[:60]) < said.index("What to do") < said.index("verdict")
    page = " ".join(read_pages((bad / "findings.pdf").read_bytes())[0].text.split())
    assert report.headline in page and "Cautions" in page and "fuel" in page.lower()


def test_every_failure_tells_formula_inputs_source_and_what_to_do(bad: Path) -> None:
    for finding in report_in(bad).findings:
        if finding.verdict == FAILS:
            assert finding.formula and finding.source and finding.advice and finding.value is not None, finding
            assert finding.inputs, finding


@pytest.mark.parametrize("which", ["bad", "demo"])
def test_everything_that_could_come_loose_has_a_picture_beside_the_report(which: str, request: pytest.FixtureRequest) -> None:
    """A PNG for each, named by its finding and by its passages, and drawn into the report with its words."""
    folder = request.getfixturevalue(which)
    found = [finding for finding in report_in(folder).findings if finding.check == "loose_items"]
    names = {finding.picture for finding in found}
    assert len(found) > 4 and {path.name for path in folder.glob("passage_*.png")} == names
    assert all((folder / name).read_bytes()[1:4] == b"PNG" for name in names)
    ways = json.loads((folder / "pieces" / "facts.json").read_bytes())["passages"]
    assert {way["picture"] for way in ways} == names
    text = " ".join(" ".join(page.text.split()) for page in read_pages((folder / "findings.pdf").read_bytes()))
    assert text.count("the ways out of its place") == len(names)


@pytest.mark.parametrize("which", ["bad", "demo"])
def test_keys_named_by_findings_are_keys_of_the_job_file(which: str, request: pytest.FixtureRequest) -> None:
    schema = JobKeys.model_json_schema()
    tables = {name: set(schema["$defs"][named[1]]["properties"]) for name, hint in schema["properties"].items()
              if (named := re.search(r"\$defs/(\w+)", str(hint)))}
    known = {*schema["properties"], *(f"height.{level}" for level in LEVELS),
             *(f"{table}.{key}" for table, keys in tables.items() for key in keys)}
    report = report_in(request.getfixturevalue(which))
    named_keys = {key for finding in report.findings for key in (*finding.missing, *(s.key for s in finding.suggestions))}
    assert named_keys and named_keys <= known, named_keys - known


@pytest.mark.parametrize("which", ["bad", "demo"])
def test_a_job_is_judged_and_its_status_tells_whether_one_fails(which: str, request: pytest.FixtureRequest) -> None:
    folder = request.getfixturevalue(which)
    report = report_in(folder)
    fails = any(finding.verdict == FAILS for finding in report.findings)
    assert (folder / "status.txt").read_text() == ("4" if fails else "0")
    assert len({finding.check for finding in report.findings}) > 25
    assert {finding.check for finding in report.findings} <= {check.__name__ for check in CHECKS}
    assert report.failure_modes and report.cautions
    unjudged = [finding for finding in report.findings if finding.verdict == NOT_JUDGED]
    assert all(finding.advice for finding in unjudged)
    assert bool(report.questions) == any(finding.missing for finding in unjudged)


def test_checking_again_builds_and_measures_nothing_and_gives_the_same_bytes(judged: Path) -> None:
    names = ("findings.json", "report.json", "findings.pdf", "pieces/facts.json", "pieces/pieces.json")
    before = [(judged / name).read_bytes() for name in names]
    result = afterpart("check", judged)
    assert result.returncode == 4
    assert "- making" not in result.stdout and "- measuring" not in result.stdout
    assert [(judged / name).read_bytes() for name in names] == before


def test_what_only_the_checks_ask_for_is_judged_anew_without_building(bad: Path, tmp_path: Path) -> None:
    folder = tmp_path / "job"
    shutil.copytree(bad, folder)
    text = (folder / "job.toml").read_text()
    (folder / "job.toml").write_text(text.replace("restriction_limit_pa = 40 ", "restriction_limit_pa = 4000 "))
    result = afterpart("check", folder)
    assert "- making" not in result.stdout and "- measuring" not in result.stdout
    failed = {finding.check for finding in report_in(folder).findings if finding.verdict == FAILS}
    assert set(SHOULD_FAIL) - failed == {"inlet_pressure_drop", "dry_foam"}
    rows = {row["check"]: row for row in json.loads((folder / "findings.json").read_text())}
    assert rows["inlet_pressure_drop"]["limit"] == 4000


def test_a_folder_without_a_job_is_refused(tmp_path: Path) -> None:
    assert_refused(afterpart("check", tmp_path / "nowhere"), 3, "nowhere")
    (tmp_path / "empty").mkdir()
    assert_refused(afterpart("check", tmp_path / "empty"), 3, "afterpart new")
    assert_empty(tmp_path / "empty")
