"""The heights card read by another PDF reader: a blank or a value for every level, and what is missing by name."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses

import pytest

from afterpart.model.job import LEVELS, Height, Shot
from afterpart.model.outline import Loop, Outline
from afterpart.model.release import TitleBlock
from afterpart.release.heights_card import heights_of, heights_pdf, how_to_take, missing_heights, needed_levels
from tests.files.pdf_reading import read_pages
from tests.parts import drawings

TITLE = TitleBlock("gauge lid", "B", "2026-01-02", "afterpart test")


def with_channel() -> Outline:
    lid = drawings.gauge_lid()
    walls = (dataclasses.replace(lid.design[0], role="channel", wall="outer"),)
    return dataclasses.replace(lid, design=(*lid.design, *walls))


def without_holes() -> Outline:
    lid = drawings.gauge_lid()
    outer: tuple[Loop, ...] = tuple(loop for loop in lid.design if loop.role == "outer")
    return dataclasses.replace(lid, design=outer)


def words(outline: Outline, known: dict[str, Height]) -> str:
    page, = read_pages(heights_pdf(outline, known, TITLE))
    assert tuple(round(v, 1) for v in page.size) == (210.0, 297.0)
    return " ".join(page.text.split())


@pytest.mark.parametrize(("outline", "needed"), [
    (with_channel(), ("face", "channel floor", "room above", "room below")),
    (drawings.gauge_lid(), ("face", "room above", "room below")),
    (without_holes(), ("face",))])
def test_what_an_outline_needs_is_missing_until_told(outline: Outline, needed: tuple[str, ...]) -> None:
    assert needed_levels(outline) == needed
    note, = missing_heights(outline, {})
    assert note.code == "heights_missing" and ", ".join(needed) in note.text
    assert f"Missing: {', '.join(needed)}." in words(outline, {})
    told = {level: Height(level, 1.5) for level in needed}
    assert missing_heights(outline, told) == []
    assert "Nothing needed is missing." in words(outline, told)


def test_every_level_has_a_blank_and_says_how_to_take_it() -> None:
    text = words(with_channel(), {})
    for level in LEVELS:
        assert level in text and " ".join(how_to_take(level).split()[:4]) in text
    assert text.count("depth rod") + text.count("rod down") >= len(LEVELS)


def test_a_told_level_stands_in_its_blank() -> None:
    known = {"face": Height("face", 9.02), "boss": Height("boss", 14.5, 0.05)}
    text = words(with_channel(), known)
    assert "9.02 standard uncertainty 0.03" in text and "14.5 standard uncertainty 0.05" in text
    assert "Missing: channel floor, room above, room below." in text


def test_what_was_told_about_the_photo_counts_but_the_card_s_own_line_comes_first() -> None:
    shot = Shot("a.jpg", face_height=9.0, channel_depth=2.0)
    known = heights_of((Height("face", 9.05, 0.02),), shot)
    assert known == {"face": Height("face", 9.05, 0.02), "channel floor": Height("channel floor", 2.0)}


def test_same_card_same_bytes() -> None:
    assert heights_pdf(with_channel(), {}, TITLE) == heights_pdf(with_channel(), {}, TITLE)
