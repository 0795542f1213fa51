"""Texts that go into solids, without the kernel: what can be written, how wide it is, and its letters' outlines.

Letters are drawn here too (alphabet.py); no font of the machine is looked for.
Limits: printable ASCII; other characters are folded to it (accents dropped) or become a question mark.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import unicodedata

import numpy as np
from shapely import Polygon, transform

from afterpart.solid.alphabet import CAPITAL, GAP, advance, ink


def plain_text(text: str) -> str:
    """The text in printable ASCII: accents dropped, line breaks as blanks, anything else a question mark."""
    folded = unicodedata.normalize("NFKD", " ".join(text.split()))
    kept = (c for c in folded if not unicodedata.combining(c))
    return "".join(c if " " <= c <= "~" else "?" for c in kept)


def text_width(text: str, height: float) -> float:
    """Width of a plain text whose capitals are `height` tall, half a gap at either end included, in the unit of height.

    ValueError: not plain."""
    if any(not " " <= c <= "~" for c in text):
        raise ValueError(f"text {text!r} holds characters outside printable ASCII; pass it through plain_text first")
    return sum(map(advance, text)) * height / CAPITAL


def text_outlines(text: str, height: float) -> tuple[Polygon, ...]:
    """The letters of a plain text lying along x, its middle at the origin, capitals `height` tall; from left to right.

    ValueError: not plain."""
    size = height / CAPITAL
    start = -text_width(text, height) / 2 + GAP / 2 * size
    found: list[Polygon] = []
    for letter in text:
        shift = np.array((start, -height / 2))
        found += [transform(part, lambda at, shift=shift: at * size + shift) for part in ink(letter)]
        start += advance(letter) * size
    return tuple(found)
