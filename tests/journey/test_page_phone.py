"""A phone's way in, at this computer's own address on its network: one photograph by a key of its own, and nothing else.

The phone's page is opened at the second address in a window of a phone's size; without a network these tests are skipped.  And a
tab whose key is of another run says one thing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from afterpart.errors import UsageError
from afterpart.web.serve import lan_address
from tests.journey.browser import WORK_LIMIT_MS, Open, Opened, settle, wait_for_table

UPRIGHT = {"width": 390, "height": 844}


def phone_page(run: Opened, address: str) -> Page:
    """The phone's page, in a window of its own."""
    page = run.browser.new_context(viewport=UPRIGHT, is_mobile=True, has_touch=True).new_page()
    page.goto(address)
    return page


@pytest.fixture
def waiting(chromium: Browser, tmp_path: Path) -> Iterator[Opened]:
    """The program with no job, waiting for a phone."""
    try:
        lan_address()
    except UsageError:
        pytest.skip("this computer is on no network")
    run = Opened(chromium, tmp_path, None, "--lan")
    yield run
    for context in list(chromium.contexts):
        context.close()
    run.close()
    assert not run.faults, run.faults


def test_one_photograph_comes_from_a_phone_and_is_measured_and_then_the_way_is_shut(
        waiting: Opened, small_photo: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    photo = tmp_path_factory.mktemp("phone") / "inlet_cover.jpg"
    photo.write_bytes(small_photo)
    sheet = waiting.page()
    expect(sheet.locator(".phone-way")).to_contain_text(waiting.phone)
    expect(sheet.locator(".phone-code img")).to_be_visible()
    wrong = phone_page(waiting, re.sub(r"key=.*", f"key={'a' * 43}", waiting.phone))
    wrong.get_by_label("Take or choose a photograph").set_input_files(photo)
    expect(wrong.locator("#word")).to_contain_text("key", timeout=WORK_LIMIT_MS)
    assert not list(waiting.start.iterdir()), "a wrong key leaves nothing behind"

    phone = phone_page(waiting, waiting.phone)
    assert "key" not in phone.url, "the key does not stay in the address"
    phone.get_by_label("Take or choose a photograph").set_input_files(photo)
    expect(phone.locator("#word")).to_contain_text("has arrived", timeout=WORK_LIMIT_MS)
    expect(phone.locator("#photo")).to_be_disabled()
    folder = next(path.parent for path in waiting.start.glob("*/job.toml"))
    assert (folder / "inlet_cover.jpg").read_bytes() == small_photo
    wait_for_table(sheet)
    expect(sheet.locator(".phone-way")).to_be_hidden()

    again = phone_page(waiting, waiting.phone)
    again.get_by_label("Take or choose a photograph").set_input_files(photo)
    expect(again.locator("#word")).to_contain_text("key", timeout=WORK_LIMIT_MS)
    assert len(list(folder.glob("*.jpg"))) == 1, "a key is good for one photograph"
    settle(sheet)


def test_the_address_for_the_phone_serves_the_phones_page_and_nothing_else(waiting: Opened) -> None:
    home = waiting.phone.partition("/phone")[0]
    page = phone_page(waiting, waiting.phone)
    for path in ("/", "/app.js", "/api/sheet", "/phone/api/photo"):
        answer = page.request.get(home + path, headers={"X-Afterpart-Key": waiting.url.partition("key=")[2]})
        assert answer.status in (403, 404, 405), path
    assert page.evaluate("() => document.documentElement.scrollWidth <= innerWidth")


def test_a_key_of_another_run_is_told_once(open_sheet: Open) -> None:
    run = open_sheet()
    page = run.browser.new_context().new_page()
    page.goto(re.sub(r"key=.*", "key=not-this-run", run.url))
    fault = page.locator(".fault:visible")
    expect(fault).to_have_count(1)
    expect(fault).to_contain_text("key of this run")
    page.wait_for_timeout(1500)
    expect(fault).to_have_count(1)
    expect(page.locator("body")).not_to_contain_text("does not answer")
    page.context.close()
