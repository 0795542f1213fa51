"""Station 5 in a real browser: from an empty page and a dropped photograph to a zip that verifies; trials; papers in the page."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import shutil
import tomllib
import zipfile
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.journey.browser import PHOTO, Open, drop_file, serious_faults, wait_for_script, wait_for_table, wait_until
from tests.journey.command import afterpart
from tests.journey.made_jobs import LONG_MS, wait_until_idle


def ask_for(page: Page, table: str) -> None:
    page.locator("#pieces .setting summary", has_text=table.capitalize()).first.click()
    page.get_by_role("button", name=f"Ask for it: {table}").click()
    page.locator("#pieces .setting[open] .fields").first.wait_for()


def test_from_a_dropped_photo_to_a_release_that_verifies(open_program: Open, tmp_path: Path, small_photo: bytes) -> None:
    sheet = open_program()
    page = sheet.page()
    drop_file(page, "#drop-area", PHOTO.name, small_photo)
    wait_for_table(page, 10)
    ask_for(page, "cover")
    ask_for(page, "bolts")
    page.locator("#pieces .setting[open]").get_by_label("Thread").fill("M6")
    page.keyboard.press("Enter")
    wait_for_script(page, "() => document.querySelector('#pieces .setting-list').textContent.includes('thread M6')")
    page.get_by_role("button", name="Make the release").click()
    wait_until_idle(page, "release")
    assert not page.locator("#release .progress .fault").count(), page.locator("#release .progress").all_inner_texts()
    zip_button = page.get_by_role("button", name="Take it all")
    zip_button.wait_for(timeout=LONG_MS)
    with page.expect_download() as taken:
        zip_button.click()
    unpacked = tmp_path / "unpacked"
    with zipfile.ZipFile(taken.value.path()) as archive:
        archive.extractall(unpacked)
    folder, = unpacked.iterdir()
    verified = afterpart("verify", folder)
    assert verified.returncode == 0, verified.stdout + verified.stderr
    page.get_by_role("button", name="Check that no file was changed").click()
    said = page.locator("#release .verdict", has_text="as released")
    said.wait_for(timeout=LONG_MS)
    assert "not as released" not in said.inner_text()
    _papers_are_shown(page, folder)
    assert not serious_faults(page, "#release")
    # what is changed afterwards is noticed
    job, = (path for path in tmp_path.iterdir() if (path / "job.toml").is_file())
    (next((job / "release").glob("*/README.md"))).write_text("something else")
    page.get_by_role("button", name="Check that no file was changed").click()
    page.locator("#release .verdict", has_text="not as released").wait_for(timeout=LONG_MS)


def _papers_are_shown(page: Page, folder: Path) -> None:
    page.get_by_role("button", name="Guide and cautions").click()
    guide = page.locator(".guide h1")
    guide.wait_for()
    assert guide.inner_text() in (folder / "guide.html").read_text()
    # its pictures are drawn, none of them from elsewhere
    wait_for_script(page, "() => { const all = [...document.querySelector('.guide').shadowRoot.querySelectorAll('img')];"
                           " return all.length && all.every((one) => one.src.startsWith('blob:') && one.naturalWidth > 0); }")
    page.get_by_role("button", name="Drawing", exact=True).click()
    frame = page.locator("iframe.paper-frame")
    frame.wait_for()
    assert (frame.get_attribute("src") or "").startswith("blob:")
    page.get_by_role("button", name="Read me").click()
    page.locator("pre.plain-text").wait_for()
    assert page.locator("pre.plain-text").inner_text().splitlines()[0] in (folder / "README.md").read_text()


def test_trials_and_titles_are_written_and_an_earlier_release_is_offered_to_tell_what_changed_since(open_sheet: Open,
                                                                                                    measured: Path) -> None:
    """Two earlier revisions stand in for releases: their manifests are all that the choice reads."""
    for revision in ("1", "2"):
        place = measured / "release" / f"inlet_cover_{revision}"
        place.mkdir(parents=True)
        (place / "manifest.json").write_text(json.dumps({"revision": revision, "date": f"2026-0{revision}-01", "files": []}))
    page = open_sheet(measured).page()
    box = page.locator("#trials")
    box.locator("summary", has_text="Write down a trial").click()
    box.locator(".new-row").get_by_label("What").select_option("pilot")
    box.locator(".new-row").get_by_label("Drawn").fill("2,45")
    box.locator(".new-row").get_by_role("button", name="Write this row").click()
    box.locator(".new-row .fault", has_text="result").wait_for()
    assert "trial" not in tomllib.loads((measured / "job.toml").read_text())
    box.locator(".new-row").get_by_label("Result").select_option("snapped")
    box.locator(".new-row").get_by_role("button", name="Write this row").click()
    box.locator(".row-table tbody tr").wait_for()
    assert tomllib.loads((measured / "job.toml").read_text())["trial"] == [{"what": "pilot", "drawn": 2.45, "result": "snapped"}]
    box.get_by_label("turns, row 1").fill("3")
    box.get_by_label("turns, row 1").press("Enter")
    expect(page.locator("#trials").get_by_label("turns, row 1")).to_have_class("typed")
    assert tomllib.loads((measured / "job.toml").read_text())["trial"][0]["turns"] == 3
    box.get_by_role("button", name="Take out row 1").click()
    wait_for_script(page, "() => !document.querySelector('#trials .row-table tbody tr')")
    assert "trial" not in tomllib.loads((measured / "job.toml").read_text())

    for label, value in (("Revision", "B"), ("Author", "M. Maker <b>")):
        field = page.locator("#release").get_by_label(label)
        field.fill(value)
        field.press("Enter")
        wait_for_script(page, "(value) => [...document.querySelectorAll('#release input.typed')]"
                              ".some((one) => one.value === value)", value)
    job = tomllib.loads((measured / "job.toml").read_text())
    assert job["revision"] == "B" and job["release"]["author"] == "M. Maker <b>"
    # what is being typed stays where another program changes the job meanwhile
    revision = page.locator("#release").get_by_label("Revision")
    revision.fill("C")
    (measured / "job.toml").write_text((measured / "job.toml").read_text().replace("M. Maker <b>", "A. Nother"))
    expect(page.locator("#release").get_by_label("Author")).to_have_value("A. Nother")
    assert revision.input_value() == "C"
    revision.press("Enter")
    wait_until(page, lambda: tomllib.loads((measured / "job.toml").read_text())["revision"] == "C")
    assert tomllib.loads((measured / "job.toml").read_text())["release"]["author"] == "A. Nother"

    choice = page.get_by_label("Tell what changed since")
    choice.wait_for()
    assert choice.locator("option").all_text_contents() == ["the revision before", "inlet_cover_1, 2026-01-01",
                                                            "inlet_cover_2, 2026-02-01"]
    choice.select_option("inlet_cover_1")
    with page.expect_request("**/api/tasks") as asked:
        page.get_by_role("button", name="Make the release").click()
    assert asked.value.post_data_json == {"what": "release", "since": "inlet_cover_1"}
    # what stands there in place of a release is none: the refusal names it
    page.locator("#release .progress .fault", has_text="inlet_cover_1").wait_for(timeout=LONG_MS)


def test_jobs_side_by_side_under_the_makers_weights(open_sheet: Open, judged: Path) -> None:
    """The other one is the same lid with a lower torque: its worst finding is milder, all else is level."""
    other = Path(shutil.copytree(judged, judged.with_name("lid_two")))
    (other / "job.toml").write_text((other / "job.toml").read_text().replace("torque_n_m = 5.0", "torque_n_m = 1.0"))
    page = open_sheet(judged).page()
    page.locator("#release summary", has_text="Compare").click()
    page.get_by_role("button", name="Compare", exact=True).click()
    page.locator("#release .fault", has_text="Choose at least one").wait_for()
    page.locator("#release").get_by_label("lid_two").check()
    page.get_by_role("button", name="Compare", exact=True).click()
    table = page.locator(".weighed table")
    table.wait_for(timeout=LONG_MS)
    assert table.locator("thead th").all_text_contents()[3:] == ["lid", "lid_two"]
    weights = table.locator("input.weight:enabled")
    assert weights.count() > 5
    before = page.locator(".weighed .headline").inner_text()
    for label in weights.evaluate_all("(all) => all.map((one) => one.getAttribute('aria-label'))"):
        if label not in ("Weight of mass", "Weight of worst finding"):
            page.get_by_label(label, exact=True).fill("0")
    page.get_by_label("Weight of mass", exact=True).fill("0")
    page.get_by_label("Weight of mass", exact=True).press("Enter")
    wait_for_script(page, "() => document.querySelector('.weighed .totals').innerText.match(/[01][.]\\d\\d/g)"
                           ".every((one) => ['0.00', '1.00'].includes(one))")
    assert [weights.nth(k).input_value() for k in range(weights.count())].count("0") == weights.count() - 1
    scores = [float(text.split()[0].rstrip("\u2605")) for text in page.locator(".weighed .totals td.number").all_text_contents()]
    assert sorted(scores) == [0.0, 1.0] or scores == [1.0, 1.0], before
    said = page.locator(".weighed .headline").inner_text()
    assert ("Best under these weights" in said) == (sorted(scores) == [0.0, 1.0])
    assert not serious_faults(page, "#release")
