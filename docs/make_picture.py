"""Composes docs/picture.png from a finished demo: the photograph, the drawing made from it, and the check plate's paper.

Run: python docs/make_picture.py DEMO_FOLDER PHOTO PICTURE (make picture).  Pages are rendered with pypdfium2.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2
from PIL import Image, ImageChops, ImageOps

HEIGHT_PX, MARGIN_PX, COLOURS = 620, 24, 192
PAPER_SCALE = 2.5


def page(path: Path) -> Image.Image:
    """The first page of a PDF, its white border cut away."""
    picture = pypdfium2.PdfDocument(path)[0].render(scale=PAPER_SCALE).to_pil().convert("RGB")
    box = ImageChops.difference(picture, Image.new("RGB", picture.size, "white")).getbbox()
    return ImageOps.expand(picture.crop(box), border=16, fill="white") if box else picture


def fit(picture: Image.Image) -> Image.Image:
    """The picture at the common height."""
    return picture.resize((round(picture.width * HEIGHT_PX / picture.height), HEIGHT_PX), Image.Resampling.LANCZOS)


def compose(demo: Path, photo: Path) -> Image.Image:
    """Photograph, drawing, plate from left to right on white."""
    plates = sorted((demo / "plate").glob("*.pdf"))
    if not plates:
        raise SystemExit(f"no plate in {demo / 'plate'}: run make demo first")
    upright = ImageOps.exif_transpose(Image.open(photo)).convert("RGB")
    parts = [fit(upright), fit(page(demo / "drawing.pdf")), fit(page(plates[0]))]
    width = sum(part.width for part in parts) + MARGIN_PX * (len(parts) + 1)
    sheet = Image.new("RGB", (width, HEIGHT_PX + 2 * MARGIN_PX), "white")
    left = MARGIN_PX
    for part in parts:
        sheet.paste(part, (left, MARGIN_PX))
        left += part.width + MARGIN_PX
    return sheet


def main() -> None:
    """Compose and save."""
    demo, photo, out = map(Path, sys.argv[1:4])
    compose(demo, photo).quantize(COLOURS).save(out, optimize=True)
    print(f"{out}: {out.stat().st_size // 1024} kB")


if __name__ == "__main__":
    main()
