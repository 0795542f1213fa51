"""The job sheet in a real browser, Debian's Chromium driven by Playwright.

One server with its warm work process serves all tests of a process: each test lays its own job on the desk.  `open_program`
starts the program as a maker starts it.  A file of tests that looks at pieces in three dimensions says IN_3D = True: its browser
draws them without a graphics card, which costs the processor much, so that the other files' browser draws none.
Opening a page is what costs most.  A window is kept from test to test, emptied in between (the page gone, its storage cleared),
and `measured` is the example photographed at 3 megapixels: the same drawing, a quarter of the pixels to show and to measure.

Whatever a page writes to the console as an error, and whatever it throws, fails the test that opened it (a script or style the
page's own policy refuses ends there too), and so does an answer of 500 or more.  Where no Chromium is installed these tests are
skipped and say so.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import base64
import queue
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from playwright.sync_api import Browser, BrowserType, ConsoleMessage, Error, Page, Response, expect, sync_playwright

from afterpart.web.desk import Desk
from tests.journey.command import afterpart
from tests.once import made_once
from tests.web.serving import KEY, Served, served

CHROMIUM = Path("/usr/bin/chromium")
EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "compressor_cover"
PHOTO = EXAMPLE / "inlet_cover.jpg"
LAPTOP, PHONE = (1366, 768), (844, 390)
PICTURE = (2016, 1512)
"""Width and height of the photograph in `measured`, px: half of the example's."""
EMPTY = "about:blank"
SERIOUS = {"serious", "critical"}
START_LIMIT_S = 400.0
WORK_LIMIT_MS = 600_000
PATIENCE_MS = 40_000
"""For whatever should show at once: long, because other work may share the machine."""
LOOK_MS = 150
"""How often the page is asked whether it is so."""
ADDRESS = re.compile(r"http://127\.0\.0\.1:\d+/#key=[\w-]{43}")
PHONE_ADDRESS = re.compile(r"http://[\d.]+:\d+/phone#key=[\w-]{43}")


class Sheet:
    """The sheet of one job.  url: the address with its key; start: the folder where new jobs are made."""

    def __init__(self, browser: Browser, start: Path) -> None:
        self.start, self.browser = start, browser
        self.faults: list[str] = []
        self.url = ""
        self._pages: list[Page] = []

    def page(self, size: tuple[int, int] = LAPTOP, dark: bool = False) -> Page:
        """The sheet in a browser window of its own."""
        page = kept_window(self.browser) or self.browser.new_context(accept_downloads=True).new_page()
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.emulate_media(color_scheme="dark" if dark else "light", reduced_motion="reduce")
        page.set_default_timeout(PATIENCE_MS)
        page.on("console", self._heard)
        page.on("pageerror", self._thrown)
        page.on("response", self._answered)
        self._pages.append(page)
        page.goto(self.url)
        page.locator("#release").wait_for()
        return page

    def _heard(self, message: ConsoleMessage) -> None:
        # an answer that refuses (4xx) is logged by the browser itself; the page's own words about it are what is tested
        if message.type == "error" and "Failed to load resource" not in message.text:
            self.faults.append(message.text)

    def _answered(self, response: Response) -> None:
        if response.status >= 500:
            self.faults.append(f"{response.url} answered {response.status}")

    def _thrown(self, error: Error) -> None:
        self.faults.append(str(error))

    def leave(self) -> None:
        """Empty the windows: whoever takes one next finds nothing of this sheet in it."""
        for page in self._pages:
            if page.is_closed():
                continue
            page.remove_listener("console", self._heard)
            page.remove_listener("pageerror", self._thrown)
            page.remove_listener("response", self._answered)
            # shown with a test that fails
            print("the page said:", page.evaluate("() => [...document.querySelectorAll('.fault, .hint.late, .progress')]"
                                                  ".map((node) => node.textContent).filter(Boolean)"))
            page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
            page.goto(EMPTY)

    def close(self) -> None:
        """Nothing of it stays."""


class Laid(Sheet):
    """A job laid on the desk of the shared server."""

    def __init__(self, browser: Browser, start: Path, job: Path | None, server: Served) -> None:
        super().__init__(browser, start)
        self._office = server.office
        self._office.desk = Desk(start, job)
        threading.Thread(target=self._office.desk.warm, daemon=True).start()
        self.url = f"{server.url}/#key={KEY}"

    def close(self) -> None:
        """The desk is cleared, and what is being done for it ends."""
        self._office.desk = Desk(self.start)
        running = self._office.work.running
        if running is not None:
            self._office.work.cancel(running.id)
        assert self._office.work.wait(), "the work for this job did not end"


class Opened(Sheet):
    """One run of the program, as a maker starts it.  phone: the phone's address where one was asked for (options: --lan)."""

    def __init__(self, browser: Browser, start: Path, job: Path | None, *options: str) -> None:
        super().__init__(browser, start)
        command = [sys.executable, "-u", "-m", "afterpart", "open", *([str(job)] if job else []), "--no-browser",
                   *options]
        self._process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, cwd=start)
        self._lines: queue.Queue[str] = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()
        self.phone = ""
        self.url = self._address("--lan" in options)

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self._lines.put(line)

    def _address(self, with_phone: bool) -> str:
        said, ends = "", time.monotonic() + START_LIMIT_S
        while time.monotonic() < ends and self._process.poll() is None:
            try:
                said += self._lines.get(timeout=0.2)
            except queue.Empty:
                continue
            found, phone = ADDRESS.search(said.replace("\n", "")), PHONE_ADDRESS.search(said.replace("\n", ""))
            if found and (phone or not with_phone):
                self.phone = phone.group(0) if phone else ""
                return found.group(0)
        raise AssertionError(f"the program showed no address:\n{said}")

    def close(self) -> None:
        """End the run, as Ctrl+C does."""
        self._process.terminate()
        try:
            self._process.wait(20)
        except subprocess.TimeoutExpired:
            self._process.kill()


Open = Callable[..., Sheet]


def kept_window(browser: Browser) -> Page | None:
    """The window that stays from test to test, where it is empty."""
    first = browser.contexts[0].pages if browser.contexts else []
    return first[0] if len(first) == 1 and first[0].url == EMPTY else None


@pytest.fixture(scope="session")
def launcher() -> Iterator[BrowserType]:
    """What starts the browsers of a process."""
    if not CHROMIUM.exists():
        pytest.skip(f"{CHROMIUM} is not installed")
    expect.set_options(timeout=PATIENCE_MS)
    with sync_playwright() as playwright:
        yield playwright.chromium


@pytest.fixture(scope="session")
def chromium_plain(launcher: BrowserType) -> Iterator[Browser]:
    """One browser for all tests of a process that look at nothing in three dimensions."""
    yield from _running(launcher, "--disable-gpu", "--disable-software-rasterizer")


@pytest.fixture(scope="session")
def chromium_3d(launcher: BrowserType) -> Iterator[Browser]:
    """One browser for all the others."""
    yield from _running(launcher, "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")


def _running(launcher: BrowserType, *switches: str) -> Iterator[Browser]:
    browser = launcher.launch(executable_path=str(CHROMIUM), args=["--no-sandbox", *switches])
    yield browser
    browser.close()


@pytest.fixture
def chromium(request: pytest.FixtureRequest) -> Browser:
    """The browser for this file's tests."""
    browser = request.getfixturevalue("chromium_3d" if getattr(request.module, "IN_3D", False) else "chromium_plain")
    assert isinstance(browser, Browser)
    return browser


@pytest.fixture(scope="session")
def server(launcher: BrowserType, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """One server for all tests of a process, with nothing on its desk."""
    with served(tmp_path_factory.mktemp("empty")) as running:
        yield running


@pytest.fixture
def open_sheet(chromium: Browser, server: Served, tmp_path: Path) -> Iterator[Open]:
    """open_sheet(job=None): lay a job on the desk, or none, beside an empty folder."""
    yield from _opening(chromium, lambda job: Laid(chromium, tmp_path, job, server))


@pytest.fixture
def open_program(chromium: Browser, tmp_path: Path) -> Iterator[Open]:
    """open_program(job=None): start the program on a job folder, or on none, in an empty folder."""
    yield from _opening(chromium, lambda job: Opened(chromium, tmp_path, job))


def _opening(browser: Browser, make: Callable[[Path | None], Sheet]) -> Iterator[Open]:
    """What opens sheets; afterwards all of them are closed, and none may have found a fault."""
    opened: list[Sheet] = []

    def start(job: Path | None = None) -> Sheet:
        opened.append(make(job))
        return opened[-1]

    yield start
    for each in opened:
        each.leave()
    kept = kept_window(browser)
    for context in list(browser.contexts):
        if kept is None or context is not kept.context:
            context.close()
    for each in opened:
        each.close()
    faults = [fault for each in opened for fault in each.faults]
    assert not faults, faults


@pytest.fixture(scope="session")
def small_photo(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The example's photograph at 3 megapixels, for journeys in which any photograph comes in and is measured."""
    def make(folder: Path) -> None:
        folder.mkdir()
        with Image.open(PHOTO) as whole:
            whole.resize(PICTURE, Image.Resampling.BOX).save(folder / "small.jpg", quality=92, exif=whole.getexif())

    return (made_once(tmp_path_factory, "small_photo", make) / "small.jpg").read_bytes()


@pytest.fixture(scope="session")
def measured_small_once(small_photo: bytes, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The compressor cover, measured by the command line from the photograph at 3 megapixels: the same drawing, to the same
    design."""
    def make(folder: Path) -> None:
        shutil.copytree(EXAMPLE, folder)
        (folder / PHOTO.name).write_bytes(small_photo)
        result = afterpart("measure", folder)
        assert result.returncode == 0, result.stderr

    return made_once(tmp_path_factory, "measured_small_cover", make)


@pytest.fixture
def measured(measured_small_once: Path, tmp_path: Path) -> Path:
    """A copy of the compressor cover, measured at 3 megapixels, of the test's own."""
    return Path(shutil.copytree(measured_small_once, tmp_path / "cover"))


def serious_faults(page: Page, *places: str) -> list[str]:
    """What axe-core finds serious or critical in these parts of the sheet, every fold open: one look at all of them."""
    for place in places:
        page.locator(f"{place} details").evaluate_all("(folds) => folds.forEach((fold) => { fold.open = true; })")
    found = Axe().run(page, context={"include": [[place] for place in places]}).response["violations"]
    return [f"{one['id']}: {one['help']} {[node['target'] for node in one['nodes']][:4]}" for one in found
            if one["impact"] in SERIOUS]


def drop_file(page: Page, selector: str, name: str, data: bytes) -> None:
    """Drop a file on an element, as from the desktop."""
    transfer = page.evaluate_handle("""([name, text]) => {
        const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
        const transfer = new DataTransfer();
        transfer.items.add(new File([bytes], name, { type: name.endsWith(".jpg") ? "image/jpeg" : "" }));
        return transfer; }""", [name, base64.b64encode(data).decode()])
    page.dispatch_event(selector, "drop", {"dataTransfer": transfer})


def wait_for_script(page: Page, script: str, given: object = None, limit_ms: int = PATIENCE_MS) -> None:
    """Until a script says yes.  It is asked now and then: asked at every frame, it would have the page drawn without end."""
    page.wait_for_function(script, arg=given, timeout=limit_ms, polling=LOOK_MS)


def wait_for_table(page: Page, rows: int = 1) -> None:
    """Until the inspection table has at least so many rows."""
    wait_for_script(page, "(rows) => document.querySelectorAll('.inspection tr[data-id]').length >= rows", rows, WORK_LIMIT_MS)


def wait_until(page: Page, holds: Callable[[], bool]) -> None:
    """Until what the page asked for is written, where it shows it before the program has answered.  The last look's fault or
    answer is the test's."""
    ends = time.monotonic() + PATIENCE_MS / 1000
    while time.monotonic() < ends:
        if holds():
            return
        page.wait_for_timeout(50)
    assert holds(), "it was shown and never written"


def settle(page: Page, *current: str) -> None:
    """Until nothing is being done and the files of the measurement have followed the last edit.  current: stations that must be
    up to date as well, where an edit has the photograph looked at again: that begins when what was being done has ended."""
    ends = time.monotonic() + WORK_LIMIT_MS / 1000
    while time.monotonic() < ends:
        sheet = page.evaluate("""async () => {
            const headers = { "X-Afterpart-Key": sessionStorage.getItem("afterpart-key") };
            return (await fetch("/api/sheet", { headers })).json(); }""")
        if sheet["settled"] and not sheet["work"] and not set(current) & set(sheet["outdated"]):
            return
        page.wait_for_timeout(300)
    raise AssertionError(f"the files did not follow: {sheet}")
