"""Composes docs/picture.png from a finished demo: the photograph, the drawing made from it, and the check plate.

Run: python docs/make_picture.py DEMO_FOLDER PHOTO PICTURE (make picture).  The drawing is rendered with pypdfium2.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2
from PIL import Image, ImageChops, ImageOps

HEIGHT_PX, MARGIN_PX, COLOURS = 520, 24, 192
PAPER_SCALE = 3.0
FRAME_SHARE, TITLE_SHARE = 0.05, 0.12
"""Shares of the drawing's page that its frame and its title block take."""


def drawing(path: Path) -> Image.Image:
    """The first page of the drawing without frame and title block, white border cut away."""
    sheet = pypdfium2.PdfDocument(path)[0].render(scale=PAPER_SCALE).to_pil().convert("RGB")
    inside = sheet.crop((round(FRAME_SHARE * sheet.width), round(FRAME_SHARE * sheet.height),
                         round((1 - FRAME_SHARE) * sheet.width), round((1 - TITLE_SHARE) * sheet.height)))
    return trimmed(inside)


def trimmed(picture: Image.Image) -> Image.Image:
    """The picture with its even border cut down to a little."""
    ground = Image.new("RGB", picture.size, picture.getpixel((0, 0)))
    box = ImageChops.difference(picture, ground).point(lambda v: 255 * (v > 12)).getbbox()
    return ImageOps.expand(picture.crop(box), border=16, fill=picture.getpixel((0, 0))) if box else picture


def fit(picture: Image.Image) -> Image.Image:
    """The picture at the common height."""
    return picture.resize((round(picture.width * HEIGHT_PX / picture.height), HEIGHT_PX), Image.Resampling.LANCZOS)


def compose(demo: Path, photo: Path) -> Image.Image:
    """Photograph, drawing, plate from left to right on white."""
    plate = demo / "plate" / "check_plate.png"
    if not plate.exists():
        raise SystemExit(f"no plate in {demo / 'plate'}: run make demo first")
    upright = ImageOps.exif_transpose(Image.open(photo)).convert("RGB")
    parts = [fit(upright), fit(drawing(demo / "drawing.pdf")), fit(trimmed(Image.open(plate).convert("RGB")))]
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
