"""Fonts of a paper: embedded, shipped, with a meaning for every letter; the marks that let it be kept."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET

import pypdfium2
import pypdfium2.raw as raw
import pytest
from fontTools.ttLib import TTFont
from PIL import ImageCms

from afterpart.model.release import TitleBlock
from afterpart.release.archive_marks import srgb_profile
from afterpart.release.paper import A4, BOLD, PLAIN, Paper, printable
from afterpart.release.paper_fonts import FONT_FOLDER, known_letters
from tests.files.pdf_reading import fonts_of, read_pages

TITLE = TitleBlock("Крышка <b> & größe", "A", "2026-01-02", "afterpart test")
LINE = "Größe Ж 12.3 ± 0.02 mm, Ø 4.5 ≤ 5°"


@pytest.fixture(scope="module")
def page() -> bytes:
    paper = Paper(TITLE, "a test")
    paper.new_page(A4)
    paper.text((20.0, 200.0), LINE)
    paper.text((20.0, 190.0), LINE, 3.0, BOLD)
    return paper.finish()


def test_every_font_is_embedded_and_ours(page: bytes) -> None:
    fonts = fonts_of(page)
    assert {name.rpartition("+")[2] for name, _ in fonts} == {PLAIN, BOLD}
    assert all(embedded for _, embedded in fonts)
    assert b"Helvetica" not in page and len(re.findall(rb"/FontFile2 ", page)) == 2


def test_text_can_be_copied_letter_by_letter(page: bytes) -> None:
    assert read_pages(page)[0].text.split("\r\n") == [LINE, LINE]


def test_nothing_shines_through(page: bytes) -> None:
    """PDF/A-1 takes no transparency: no soft mask, no opacity (ISO 19005-1, 6.4; from memory)."""
    assert not re.search(rb"/(SMask|CA|ca|BM)\b(?! /None)", page)


def test_the_description_is_xml_and_says_what_the_file_says(page: bytes) -> None:
    packet = page[page.index(b"<x:xmpmeta"):page.index(b"</x:xmpmeta>") + len(b"</x:xmpmeta>")]
    told = [element.text for element in ET.fromstring(packet).iter() if element.text and element.text.strip()]
    about = pypdfium2.PdfDocument(page).get_metadata_dict()
    assert about["Title"] in told and about["Subject"] in told and about["Creator"] in told


def test_colours_have_a_meaning_in_the_file(page: bytes) -> None:
    assert b"/OutputIntents" in page and b"/DestOutputProfile" in page
    profile = ImageCms.ImageCmsProfile(io.BytesIO(srgb_profile()))
    assert "sRGB" in ImageCms.getProfileDescription(profile)
    assert len(srgb_profile()) == int.from_bytes(srgb_profile()[:4], "big")


@pytest.mark.parametrize("name", [PLAIN, BOLD])
def test_the_font_files_may_be_embedded(name: str) -> None:
    """fsType 0: installable embedding (OpenType specification, OS/2 table)."""
    font = TTFont(FONT_FOLDER / f"{name}.ttf")
    assert font["OS/2"].fsType == 0 and set(font.getBestCmap()) >= known_letters()
    assert {ord(letter) for letter in "ÄßéøŁőЖΩ≤≥±°Ø½²³·–’"} <= known_letters()
    assert "Permission is hereby granted" in (FONT_FOLDER / "licence.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize(("text", "plain"), [("a\n b", "a b"), ("蓋", "?"), ("é½", "é½"), ("ﬁ", "ﬁ"), ("", "")])
def test_letters_that_the_fonts_lack_are_folded(text: str, plain: str) -> None:
    assert printable(text) == plain


def test_the_reader_knows_the_text_objects(page: bytes) -> None:
    kinds = [o.type for o in pypdfium2.PdfDocument(page)[0].get_objects()]
    assert kinds.count(raw.FPDF_PAGEOBJ_TEXT) >= 2
