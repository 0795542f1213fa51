"""Widths of letters against the font file itself, read by another reader."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from PIL import ImageFont

from afterpart.solid.lettering import CAPITAL, EM, FONT_FILE, font_size, plain_text, text_width


def test_widths_are_those_of_the_font_file() -> None:
    """Drawn at a font size of one em in pixels, a pixel is a font unit."""
    font = ImageFont.truetype(str(FONT_FILE), EM, layout_engine=ImageFont.Layout.BASIC)
    for code in range(32, 127):
        assert text_width(chr(code), CAPITAL) == pytest.approx(font.getlength(chr(code)), abs=0.5)
    for letter in "H1":
        _, top, _, bottom = font.getbbox(letter)
        assert bottom - top == pytest.approx(CAPITAL, abs=1.0)


def test_licence_lies_beside_the_font() -> None:
    text = FONT_FILE.with_name("VeraBd-licence.txt").read_text()
    assert "Permission is hereby granted, free of charge" in text


def test_font_size_gives_the_asked_capitals() -> None:
    assert font_size(3.0) * CAPITAL / EM == pytest.approx(3.0)


@pytest.mark.parametrize(("name", "plain"), [("Größe 5", "Gro?e 5"), ("a\n b", "a b"), ("蓋", "?"), ("é½", "e1?2"), ("", "")])
def test_plain_text(name: str, plain: str) -> None:
    assert plain_text(name) == plain
    assert text_width(plain_text(name), 3.0) >= 0.0


def test_width_of_other_letters_is_refused() -> None:
    with pytest.raises(ValueError, match="plain_text"):
        text_width("ß", 3.0)
