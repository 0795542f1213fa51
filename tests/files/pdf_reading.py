"""A PDF seen by another reader: sizes of its pages and paths in mm, its text, its ink."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ctypes
from dataclasses import dataclass

import numpy as np
import pypdfium2
import pypdfium2.raw as raw

MM_PER_POINT = 25.4 / 72.0


@dataclass(frozen=True)
class PdfPage:
    """size: (width, height); paths: (n, 4) left, bottom, right, top of every path as the reader reports it, stroke included."""

    size: tuple[float, float]
    paths: np.ndarray
    text: str


def read_pages(data: bytes) -> list[PdfPage]:
    document = pypdfium2.PdfDocument(data)
    pages = []
    for page in document:
        boxes = [o.get_bounds() for o in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH])]
        width, height = page.get_size()
        pages.append(
            PdfPage(
                (width * MM_PER_POINT, height * MM_PER_POINT),
                np.array(boxes).reshape(-1, 4) * MM_PER_POINT,
                page.get_textpage().get_text_range(),
            )
        )
    return pages


def ink(data: bytes, page: int, px_per_mm: float) -> np.ndarray:
    """The page as the reader draws it: grey values, rows from the top."""
    picture = pypdfium2.PdfDocument(data)[page].render(scale=px_per_mm * MM_PER_POINT, grayscale=True)
    return np.asarray(picture.to_numpy()).squeeze()


def lengths_near(page: PdfPage, length: float, tolerance: float, axis: int) -> np.ndarray:
    """Boxes of the paths whose extent along the axis (0 level, 1 upright) is `length`."""
    extent = page.paths[:, axis + 2] - page.paths[:, axis]
    return page.paths[np.abs(extent - length) <= tolerance]


def text_boxes(data: bytes) -> list[np.ndarray]:
    """Of each page the boxes (n, 4) left, bottom, right, top in mm of its text objects, as the reader finds them."""
    return [_boxes(page, raw.FPDF_PAGEOBJ_TEXT) for page in pypdfium2.PdfDocument(data)]


def image_boxes(data: bytes, page: int) -> np.ndarray:
    """The same of the pictures on one page."""
    return _boxes(pypdfium2.PdfDocument(data)[page], raw.FPDF_PAGEOBJ_IMAGE)


def pictures_in(data: bytes) -> list[bytes]:
    """The bytes of every picture of the file, as they were put in."""
    return [bytes(o.get_data(decode_simple=True)) for page in pypdfium2.PdfDocument(data)
            for o in page.get_objects(filter=[raw.FPDF_PAGEOBJ_IMAGE])]


def _boxes(page: pypdfium2.PdfPage, kind: int) -> np.ndarray:
    found = [o.get_bounds() for o in page.get_objects(filter=[kind])]
    return np.array(found).reshape(-1, 4) * MM_PER_POINT


def worst_overlap(boxes: np.ndarray) -> float:
    """The deepest that two boxes lie in each other, mm; negative where all keep apart."""
    low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
    common = (high - low).min(axis=2)
    np.fill_diagonal(common, -np.inf)
    return float(common.max())


def fonts_of(data: bytes) -> set[tuple[str, bool]]:
    """Name of every font that a text of the file is set in, and whether it is embedded."""
    fonts = set()
    for page in pypdfium2.PdfDocument(data):
        for text in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT]):
            font = raw.FPDFTextObj_GetFont(text)
            room = raw.FPDFFont_GetBaseFontName(font, None, 0)
            name = ctypes.create_string_buffer(room)
            raw.FPDFFont_GetBaseFontName(font, name, room)
            fonts.add((name.value.decode(), raw.FPDFFont_GetIsEmbedded(font) == 1))
    return fonts
