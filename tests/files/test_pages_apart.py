"""Every page of every paper of the three examples: no text on another, none beyond the page, no font that is not in the file."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import pypdfium2
import pytest

from afterpart.model.release import TitleBlock
from afterpart.release.characteristics import characteristics
from afterpart.release.drawing import drawing_pdf
from afterpart.release.findings_pdf import findings_pdf
from afterpart.release.guide_pdf import guide_pdf
from afterpart.release.guide_steps import guide_of
from afterpart.release.heights_card import heights_pdf
from afterpart.release.inspection_sheet import inspection_pdf
from afterpart.release.step_pictures import step_pictures
from afterpart.release.template import template_pdf
from tests.files.pdf_reading import MM_PER_POINT, fonts_of, text_boxes, worst_overlap
from tests.files.plain_bodies import blocks, volumes
from tests.parts.examples import NAMES, case_of, report_on

TITLE = TitleBlock("a part of some length, for the title", "B", "2026-01-02", "afterpart test")


def papers_of(name: str) -> Mapping[str, Callable[[], bytes]]:
    outline, job, build, report = case_of(name).outline, case_of(name).job, case_of(name).build, report_on(name)
    cover = next(piece for piece in build.pieces if piece.kind == "cover")
    guide = guide_of(build, job, report, blocks(build), volumes(build))
    return {"outline": lambda: drawing_pdf(outline, TITLE), "paper": lambda: template_pdf(outline, TITLE, "a paper"),
            "heights": lambda: heights_pdf(outline, {}, TITLE), "findings": lambda: findings_pdf(report, TITLE),
            "inspection": lambda: inspection_pdf(outline, characteristics(cover, outline, job), TITLE),
            "letter": lambda: inspection_pdf(outline, characteristics(cover, outline, job), TITLE, "letter"),
            "guide": lambda: guide_pdf(guide, step_pictures(build, blocks(build), guide.name, guide.orders), TITLE)}


@pytest.mark.parametrize("name", NAMES)
def test_texts_keep_apart_and_on_the_page_in_fonts_of_the_file(name: str) -> None:
    for paper, draw in papers_of(name).items():
        data = draw()
        assert all(embedded for _, embedded in fonts_of(data)), paper
        for page, boxes in zip(pypdfium2.PdfDocument(data), text_boxes(data), strict=True):
            assert len(boxes) and worst_overlap(boxes) < 0.1, (paper, page)
            size = np.array(page.get_size()) * MM_PER_POINT
            assert (boxes[:, :2] >= 0).all() and (boxes[:, 2:] <= size).all(), (paper, page)
