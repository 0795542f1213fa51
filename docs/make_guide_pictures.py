"""Takes the small pictures of docs/guide.md out of a finished demo: overlay, drawing, check plate, pieces, inspection sheet.

Run: python docs/make_guide_pictures.py DEMO_FOLDER docs/guide [MATE_PNG] (DEMO_FOLDER is a demo, photo to release; MATE_PNG is
what `afterpart mate` drew for a job with a mate).  Pages are rendered with pypdfium2.  The pictures of the job sheet are taken by
docs/make_page_pictures.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2
from PIL import Image, ImageChops, ImageOps

WIDEST_PX, COLOURS, QUALITY = 760, 48, 72
PAPER_SCALE = 2.0
FRAME_SHARE, TITLE_SHARE = 0.04, 0.12
"""Shares of the drawing's page that its frame and its title block take."""


def page(path: Path, number: int = 0) -> Image.Image:
    """One page of a PDF on white."""
    made: Image.Image = pypdfium2.PdfDocument(path)[number].render(scale=PAPER_SCALE).to_pil().convert("RGB")
    return made


def without_frame(sheet: Image.Image) -> Image.Image:
    """A drawing's page without its frame and title block."""
    return sheet.crop((round(FRAME_SHARE * sheet.width), round(FRAME_SHARE * sheet.height),
                       round((1 - FRAME_SHARE) * sheet.width), round((1 - TITLE_SHARE) * sheet.height)))


def trimmed(picture: Image.Image) -> Image.Image:
    """The picture with its white border cut down to a little."""
    box = ImageChops.difference(picture, Image.new("RGB", picture.size, "white")).point(lambda v: 255 * (v > 12)).getbbox()
    return ImageOps.expand(picture.crop(box), border=16, fill="white") if box else picture


def small(picture: Image.Image) -> Image.Image:
    """The picture, no wider and no higher than WIDEST_PX."""
    picture = picture.copy()
    picture.thumbnail((WIDEST_PX, WIDEST_PX), Image.Resampling.LANCZOS)
    return picture


def main() -> None:
    """Take and save them all, and tell their sizes."""
    demo, out = map(Path, sys.argv[1:3])
    out.mkdir(parents=True, exist_ok=True)
    release = next(path for path in sorted((demo / "release").iterdir()) if path.is_dir())
    drawn = {
        "drawing": trimmed(without_frame(page(demo / "drawing.pdf"))),
        "heights": trimmed(page(demo / "heights.pdf")),
        "check_plate": trimmed(Image.open(release / "plate" / "check_plate.png").convert("RGB")),
        "together": trimmed(Image.open(demo / "pieces" / "assembly.png").convert("RGB")),
        "apart": trimmed(Image.open(demo / "pieces" / "exploded.png").convert("RGB")),
        "inspection": trimmed(page(release / "inspection.pdf")),
    }
    if len(sys.argv) > 3:
        drawn["mate"] = trimmed(Image.open(sys.argv[3]).convert("RGB"))
    for name, picture in drawn.items():
        small(picture).quantize(COLOURS).save(out / f"{name}.png", optimize=True)
    small(Image.open(demo / "overlay.png").convert("RGB")).save(out / "overlay.jpg", quality=QUALITY, optimize=True)
    for path in sorted(out.iterdir()):
        print(f"{path}: {path.stat().st_size // 1024} kB")


if __name__ == "__main__":
    main()
