"""Words that others wrote (in a picture's head, a job's name, a release's papers) stay words on the page."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

from PIL import Image
from playwright.sync_api import expect

from tests.journey.browser import PHOTO, Open

SCRIPT = "<img src=x onerror=\"document.title='taken'\">"
MAKE, MODEL = 0x010F, 0x0110


def test_script_in_names_pictures_and_reports_stays_text(open_sheet: Open, judged: Path) -> None:
    with Image.open(judged / PHOTO.name) as picture:
        picture.load()
        tags = picture.getexif()
        tags[MAKE], tags[MODEL] = SCRIPT, SCRIPT
        picture.save(judged / PHOTO.name, "JPEG", exif=tags, quality=90)
    text = (judged / "job.toml").read_text()
    (judged / "job.toml").write_text(text.replace('name = "lid"', f"name = '''{SCRIPT}'''"))
    findings = json.loads((judged / "findings.json").read_text())
    findings[0] |= {"subject": SCRIPT, "advice": SCRIPT, "source": SCRIPT}
    (judged / "findings.json").write_text(json.dumps(findings))
    release = judged / "release" / "lid_0"
    release.mkdir(parents=True)
    (release / "manifest.json").write_text(json.dumps({"revision": SCRIPT, "date": SCRIPT, "files": [
        {"path": f"{SCRIPT}.txt", "purpose": SCRIPT, "bytes": 1, "unit": ""}]}))
    page = open_sheet(judged).page()
    expect(page.locator("#findings .finding-name", has_text=SCRIPT).first).to_be_attached()
    expect(page.locator(".releases td", has_text=SCRIPT).first).to_be_attached()
    assert page.locator("img[src='x']").count() == 0 and page.title() != "taken"
    assert SCRIPT in page.locator("body").inner_text()
