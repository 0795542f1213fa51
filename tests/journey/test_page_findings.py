"""Station 4 in a real browser: the report as written, a change applied that mends, questions answered, the failure modes."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.journey.browser import Open
from tests.journey.made_jobs import serious_faults, wait_until_idle


def stored(folder: Path) -> tuple[dict, list[dict]]:
    """report.json and findings.json."""
    return json.loads((folder / "report.json").read_text()), json.loads((folder / "findings.json").read_text())


def job(folder: Path) -> dict:
    return tomllib.loads((folder / "job.toml").read_text())


@pytest.fixture
def page(open_sheet: Open, judged: Path) -> Page:
    page = open_sheet(judged).page()
    page.locator("#findings .headline").wait_for()
    return page


def test_the_report_stands_as_written_worst_first(page: Page, judged: Path) -> None:
    report, findings = stored(judged)
    assert page.locator("#findings .headline").inner_text() == report["headline"]
    rows = page.locator("#findings .finding")
    assert rows.count() == len(findings)
    assert rows.locator("> summary .verdict").all_text_contents() == [one["verdict"] for one in findings]
    for row, one in zip(rows.all(), findings, strict=True):
        assert one["subject"] in row.locator(".finding-name").text_content()
        assert one["advice"] == row.locator(".finding-body > p").first.text_content()
        assert one["source"] in row.text_content() and one["formula"] in row.text_content()
        assert all(name in row.text_content() for name in one["inputs"])


def test_the_button_writes_the_change_and_the_finding_is_mended(page: Page, judged: Path) -> None:
    _, before = stored(judged)
    failed = next(one for one in before if one["check"] == "bearing_stress" and one["verdict"] == "fails")
    to = float(failed["change"][0]["value"])
    assert failed["change"][0]["at"] == "bolts.torque_n_m" and to < 5.0
    row = page.locator("#findings .finding", has_text=f"Bearing stress of {failed['subject']}").first
    row.locator("summary").click()
    row.locator(".change button").click()
    row.locator(".written", has_text="Written into job.toml").wait_for()
    assert job(judged)["bolts"]["torque_n_m"] == to
    assert "# as written for metal" in (judged / "job.toml").read_text()
    page.get_by_role("button", name="Judge again").click()
    wait_until_idle(page, "findings")
    page.wait_for_function("() => !document.querySelector('#findings .hint.late')")
    _, after = stored(judged)
    again = next(one for one in after if (one["check"], one["subject"]) == (failed["check"], failed["subject"]))
    assert again["verdict"] != "fails"
    row = page.locator("#findings .finding", has_text=f"Bearing stress of {failed['subject']}").first
    verdict = row.locator(".verdict").first
    expect(verdict).to_have_text(again["verdict"])


def test_a_change_of_several_rows_is_written_whole(page: Page, judged: Path) -> None:
    _, findings = stored(judged)
    change = next(one["change"] for one in findings if one["check"] == "fit_share" and one["change"])
    page.locator("#findings .finding", has_text="Fit share of other people").locator("summary").click()
    page.locator("#findings .finding", has_text="Fit share of other people").locator(".change button").click()
    page.locator("#findings .hint.late").wait_for()
    rows = {row["of"]: row for row in job(judged)["role"]}
    assert len(change) == 6 and rows.keys() == {one["row"][1] for one in change}
    assert all(rows[one["row"][1]]["clearance"] == float(one["value"]) for one in change)
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function("() => !document.querySelector('#findings .hint.late')")
    assert "role" not in job(judged)


def test_a_question_is_answered_right_there(page: Page, judged: Path) -> None:
    report, _ = stored(judged)
    assert "service.temperature_c" in report["questions"][0]
    first = page.locator("#findings .question").first
    # the place stands in for the temperature: both can be told
    assert first.get_by_label("service: place").is_visible()
    field = first.get_by_label("service: temperature")
    field.fill("-300")
    field.press("Enter")
    page.locator("#findings .question .fault", has_text="at least -60").wait_for()
    field.fill("35")
    field.press("Enter")
    page.locator("#findings .hint.late").wait_for()
    assert job(judged)["service"] == {"temperature_c": 35}


def test_the_failure_modes_are_the_makers_to_change(page: Page, judged: Path) -> None:
    report, _ = stored(judged)
    first = report["failure_modes"][0]
    page.locator("#findings summary", has_text="Failure modes").click()
    page.get_by_label(f"occurrence of {first['item']}: {first['mode']}").fill("7")
    page.keyboard.press("Tab")
    page.locator("#findings .hint.late").wait_for()
    assert job(judged)["failure_mode"] == [{"item": first["item"], "mode": first["mode"], "occurrence": 7}]
    page.get_by_label(f"severity of {first['item']}: {first['mode']}").fill("2")
    page.keyboard.press("Tab")
    page.wait_for_function("(product) => [...document.querySelectorAll('.modes tr td:last-child')].some("
                           "(cell) => cell.textContent === product)", arg=str(2 * 7 * first["detection"]))
    assert job(judged)["failure_mode"] == [{"item": first["item"], "mode": first["mode"], "occurrence": 7, "severity": 2}]


def test_a_job_changed_by_hand_shows_its_findings_as_late(page: Page, judged: Path) -> None:
    text = (judged / "job.toml").read_text()
    (judged / "job.toml").write_text(text.replace("thickness = 6.0", "thickness = 7.0"))
    page.locator("#findings .hint.late").wait_for()
    (judged / "job.toml").write_text(text)
    page.wait_for_function("() => !document.querySelector('#findings .hint.late')")


def test_no_serious_fault_for_those_who_cannot_see(page: Page) -> None:
    assert not serious_faults(page, "findings")
