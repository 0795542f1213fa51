"""Station 4 in a real browser: the report as written, a change applied that mends, questions answered, the failure modes."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.journey.browser import Open, serious_faults, wait_for_script, wait_until
from tests.journey.made_jobs import wait_until_idle


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


def test_the_report_stands_as_written_worst_first_and_late_where_the_job_was_changed(page: Page, judged: Path) -> None:
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
        assert one["sensitivity"] or one["insensitive"] in row.text_content()
    assert any(one["insensitive"] for one in findings)
    assert not serious_faults(page, "#findings")

    # changed by hand while the page is open, the report is late
    text = (judged / "job.toml").read_text()
    (judged / "job.toml").write_text(text.replace("thickness = 6.0", "thickness = 7.0"))
    page.locator("#findings .hint.late").wait_for()
    (judged / "job.toml").write_text(text)
    wait_for_script(page, "() => !document.querySelector('#findings .hint.late')")


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
    wait_for_script(page, "() => !document.querySelector('#findings .hint.late')")
    _, after = stored(judged)
    again = next(one for one in after if (one["check"], one["subject"]) == (failed["check"], failed["subject"]))
    assert again["verdict"] != "fails"
    row = page.locator("#findings .finding", has_text=f"Bearing stress of {failed['subject']}").first
    verdict = row.locator(".verdict").first
    expect(verdict).to_have_text(again["verdict"])


def test_what_could_come_loose_is_shown_in_pictures_and_every_way_a_finding_suggests_has_its_button(open_sheet: Open,
                                                                                                    judged: Path) -> None:
    """The cover's picture stands in for that of each thing, so that this does not hang on what the checks draw.  A
    second way is put into the stored report by hand too, and a third one that no key can go."""
    path = judged / "pieces" / "facts.json"
    facts = json.loads(path.read_text())
    items = list(dict.fromkeys(one["item"] for one in facts["passages"]))
    assert len(items) > 1
    names = {item: f"passage_{number}_thing.png" for number, item in enumerate(items, start=1)}
    for one in facts["passages"]:
        one["picture"] = names[one["item"]]
    path.write_text(json.dumps(facts))
    for name in names.values():
        shutil.copyfile(judged / "pieces" / "cover.png", judged / name)
    _, findings = stored(judged)
    at = next(index for index, one in enumerate(findings) if one["check"] == "bearing_stress" and one["change"])
    findings[at]["suggestions"] += [{"key": "cover.thickness", "now": 6.0, "to": 8.0, "why": "spreads the load"},
                                    {"key": "role.clearance", "now": 0.3, "to": 0.2, "why": "less play"}]
    (judged / "findings.json").write_text(json.dumps(findings))
    page = open_sheet(judged).page()
    row = page.locator("#findings .finding", has_text=f"Bearing stress of {findings[at]['subject']}").first
    row.locator("summary").click()
    assert row.locator(".change button").count() == 2
    expect(row.locator(".change")).to_contain_text("Another way: role.clearance 0.2: less play.")
    row.get_by_role("button", name="Set cover.thickness to 8").click()
    row.locator(".written", has_text="cover.thickness to 8").wait_for()
    assert job(judged)["cover"]["thickness"] == 8.0 and job(judged)["bolts"]["torque_n_m"] == 5.0

    page.locator("#findings summary", has_text="come loose").click()
    page.locator(".way-figure").scroll_into_view_if_needed()  # pictures are fetched when they are looked at
    picture = page.locator(".way-picture img")
    picture.wait_for()
    buttons = page.locator(".way-figure button")
    assert buttons.evaluate_all("(all) => all.map((one) => one.dataset.picture)") == list(names.values())
    buttons.last.click()
    expect(buttons.last).to_have_attribute("aria-pressed", "true")
    wait_for_script(page, "() => document.querySelector('.way-picture img')?.naturalWidth > 100")
    assert items[-1] in (picture.get_attribute("alt") or "") and (picture.get_attribute("src") or "").startswith("blob:")
    assert not serious_faults(page, "#findings")


def test_a_change_of_several_rows_is_written_whole_and_a_question_answered_right_there(page: Page, judged: Path) -> None:
    report, findings = stored(judged)
    change = next(one["change"] for one in findings if one["check"] == "fit_share" and one["change"])
    page.locator("#findings .finding", has_text="Fit share of other people").locator("summary").click()
    page.locator("#findings .finding", has_text="Fit share of other people").locator(".change button").click()
    page.locator("#findings .hint.late").wait_for()
    rows = {row["of"]: row for row in job(judged)["role"]}
    assert len(change) == 6 and rows.keys() == {one["row"][1] for one in change}
    assert all(rows[one["row"][1]]["clearance"] == float(one["value"]) for one in change)
    page.get_by_role("button", name="Undo").click()
    wait_for_script(page, "() => !document.querySelector('#findings .hint.late')")
    assert "role" not in job(judged)

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
    # both before the page has read the job anew: they go into one row all the same
    page.get_by_label(f"occurrence of {first['item']}: {first['mode']}").fill("7")
    page.keyboard.press("Tab")
    page.get_by_label(f"severity of {first['item']}: {first['mode']}").fill("2")
    page.keyboard.press("Tab")
    page.locator("#findings .hint.late").wait_for()
    wait_for_script(page, "(product) => [...document.querySelectorAll('.modes tr td:last-child')].some("
                           "(cell) => cell.textContent === product)", str(2 * 7 * first["detection"]))
    # the page reckons the product itself, before the job is written
    told = {"item": first["item"], "mode": first["mode"], "occurrence": 7, "severity": 2}
    wait_until(page, lambda: job(judged)["failure_mode"] == [told])
