"""The one font that goes into solids: its file, and the widths of its letters, so that text can be placed without the kernel.

The font file and its licence lie in fonts/; it is always named to the kernel by path, never looked for on the machine.
Limits: printable ASCII; other characters are folded to it (accents dropped) or become a question mark.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import unicodedata
from pathlib import Path

FONT_FILE = Path(__file__).parent / "fonts" / "VeraBd.ttf"

EM = 2048
"""Font units in one font size."""

CAPITAL = 1493
"""Height of a capital letter and of a figure in font units."""

# Advance widths of the characters 32 to 126, in font units, from the font file (compared with it in tests/solid).
_WIDTHS = (
    713, 934, 1067, 1716, 1425, 2052, 1786, 627, 936, 936, 1071, 1716, 778, 850, 778, 748,
    1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 819, 819, 1716, 1716, 1716, 1188,
    2048, 1585, 1561, 1503, 1700, 1399, 1399, 1681, 1714, 762, 762, 1587, 1305, 2038, 1714, 1741,
    1501, 1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483, 1485, 936, 748, 936, 1716, 1024,
    1024, 1382, 1466, 1214, 1466, 1389, 891, 1466, 1458, 702, 702, 1362, 702, 2134, 1458, 1407,
    1466, 1466, 1010, 1219, 979, 1458, 1335, 1892, 1321, 1335, 1192, 1458, 748, 1458, 1716,
)


def plain_text(text: str) -> str:
    """The text in printable ASCII: accents dropped, line breaks as blanks, anything else a question mark."""
    folded = unicodedata.normalize("NFKD", " ".join(text.split()))
    kept = (c for c in folded if not unicodedata.combining(c))
    return "".join(c if " " <= c <= "~" else "?" for c in kept)


def font_size(height: float) -> float:
    """Font size that gives capitals of this height (same unit)."""
    return height * EM / CAPITAL


def text_width(text: str, height: float) -> float:
    """Advance width of a plain text whose capitals are `height` tall, in the unit of height.  ValueError: not plain."""
    if any(not " " <= c <= "~" for c in text):
        raise ValueError(f"text {text!r} holds characters outside printable ASCII; pass it through plain_text first")
    return sum(_WIDTHS[ord(c) - 32] for c in text) * height / CAPITAL
