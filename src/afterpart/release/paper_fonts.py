"""The letters of every paper: one family, shipped with the package, its used letters embedded in each PDF.

Words: PLAIN and BOLD are the names by which paper.py asks for them.  The files and their licence lie in fonts/; no font of the
machine is ever used, so the same paper looks the same everywhere.
Limits: letters of Latin, Greek, Cyrillic and many signs; others (Chinese, Japanese, Korean) are not in the files.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from functools import cache
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

PLAIN, BOLD = "DejaVuSansCondensed", "DejaVuSansCondensed-Bold"
FONT_FOLDER = Path(__file__).parent / "fonts"


@cache
def known_letters() -> frozenset[int]:
    """Code points that both fonts can print.  Makes the fonts known to the PDF writer, once."""
    faces = []
    for name in (PLAIN, BOLD):
        font = TTFont(name, FONT_FOLDER / f"{name}.ttf")
        pdfmetrics.registerFont(font)
        faces.append(frozenset(font.face.charToGlyph))
    return faces[0] & faces[1]
