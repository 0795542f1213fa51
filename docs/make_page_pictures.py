"""Takes the pictures of the job sheet: every station, light and dark, on a laptop and on a phone in landscape.

Run: python docs/make_page_pictures.py DEMO_FOLDER docs/page (DEMO_FOLDER is a finished demo, photo to release).
The demo is copied first; its page is opened as a maker opens it, in Debian's Chromium.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import shutil
import sys
import tempfile
from pathlib import Path

from PIL import Image
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.journey.browser import CHROMIUM, LAPTOP, PHONE, Opened  # noqa: E402

SIZES = (("laptop", LAPTOP), ("phone", PHONE))
LIGHTS = (("light", False), ("dark", True))
WITH_PHOTOGRAPH = ("photo", "dimensions")
COLOURS = 64
QUALITIES = (80, 70, 60, 50, 40)
MOST_BYTES = 120_000
LOAD_MS = 120_000
QUIET_MS = 1500
ARGUMENTS = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]

READY = {
    "photo": "() => document.querySelector('#photo .found .found-outline')",
    "dimensions": "() => document.querySelectorAll('#dimensions .inspection tr[data-id]').length > 3",
    "pieces": "() => document.querySelector('#pieces canvas')?.dataset.shown",
    "findings": "() => document.querySelector('#findings .finding')",
    "release": "() => document.querySelector('#release .release')",
}
"""When a station has something to look at."""

FIRST_SEEN = {"photo": ".title-block", "pieces": "#pieces .build-bar", "findings": "#findings .headline",
              "release": "#release .releases"}
"""What stands at the top of the picture, where it is not the station's own head."""


def taken(page: Page, station: str) -> Image.Image:
    """The window with this station in it."""
    page.locator(FIRST_SEEN.get(station, f"#{station} h2")).first.evaluate("(node) => node.scrollIntoView({ block: 'start' })")
    page.wait_for_function(READY[station], timeout=LOAD_MS)
    if station == "release":
        page.get_by_role("button", name="Guide and cautions").click()
        page.locator(".guide h1").wait_for(timeout=LOAD_MS)
    page.locator(FIRST_SEEN.get(station, f"#{station} h2")).first.evaluate("(node) => node.scrollIntoView({ block: 'start' })")
    page.wait_for_timeout(QUIET_MS)
    return Image.open(io.BytesIO(page.screenshot(timeout=LOAD_MS))).convert("RGB")


def small(picture: Image.Image, is_photograph: bool) -> tuple[bytes, str]:
    """The picture's bytes and ending: few colours as PNG, a photograph as JPEG, below MOST_BYTES."""
    held = io.BytesIO()
    if not is_photograph:
        picture.quantize(COLOURS, dither=Image.Dither.NONE).save(held, "PNG", optimize=True)
        if held.tell() <= MOST_BYTES:
            return held.getvalue(), "png"
    for quality in QUALITIES:
        held = io.BytesIO()
        picture.save(held, "JPEG", quality=quality, optimize=True, progressive=True)
        if held.tell() <= MOST_BYTES:
            break
    return held.getvalue(), "jpg"


def take_all(demo: Path, out: Path) -> None:
    """Every picture of the demo's sheet into `out`; pictures that stand there from before are taken away."""
    out.mkdir(parents=True, exist_ok=True)
    for path in (*out.glob("*.png"), *out.glob("*.jpg")):
        path.unlink()
    with tempfile.TemporaryDirectory() as made, sync_playwright() as playwright:
        job = Path(shutil.copytree(demo, Path(made) / demo.name))
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=ARGUMENTS)
        opened = Opened(browser, Path(made), job)
        try:
            for size_name, size in SIZES:
                for light, is_dark in LIGHTS:
                    page = opened.page(size, is_dark)
                    for number, station in enumerate(READY, 1):
                        data, ending = small(taken(page, station), station in WITH_PHOTOGRAPH)
                        (out / f"{number}_{station}_{size_name}_{light}.{ending}").write_bytes(data)
                    page.context.close()
        finally:
            opened.close()
            browser.close()
        if opened.faults:
            raise SystemExit("\n".join(opened.faults))


if __name__ == "__main__":
    take_all(Path(sys.argv[1]), Path(sys.argv[2]))
