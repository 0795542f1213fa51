"""The picture of cover and mate: true scale, offsets enlarged, what is wrong told by word and square as well as colour."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import struct
from xml.etree import ElementTree

import numpy as np
import pytest

from afterpart.release.marks import PX_PER_MM
from afterpart.release.mate_picture import ENLARGED, mate_png, mate_sheet, mate_svg
from tests.checks.fit_cases import plate
from tests.checks.mate_cases import holes, laid, mate_outline

SVG = "{http://www.w3.org/2000/svg}"


def _texts(svg: bytes) -> list[str]:
    return [node.text or "" for node in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_the_worst_hole_is_named_first_with_word_and_square() -> None:
    _, match = laid(mate_outline({3: (0.3, 0.2)}))
    sheet = mate_sheet(plate(holes()).outline, match)
    texts = _texts(mate_svg(sheet))
    first = next(text for text in texts if text.startswith("1  hole"))
    assert "c4" in first and "+0.30, +0.20" in first and first.endswith("MOVED")
    assert sum("MOVED" in text for text in texts) == 1
    squares = [s for s in sheet.strokes if len(s.points) == 5 and np.allclose(np.ptp(s.points, axis=0), 6.6 + 2.4)]
    assert len(squares) == 1 and np.allclose(np.mean(squares[0].points[:4], axis=0), (50.0, 21.0))


def test_arrows_are_the_offsets_enlarged() -> None:
    _, match = laid(mate_outline({3: (0.3, 0.2)}))
    sheet = mate_sheet(plate(holes()).outline, match)
    tip = (50.0 + ENLARGED * 0.3, 21.0 + ENLARGED * 0.2)
    assert any(len(s.points) == 2 and np.allclose(s.points, [(50.0, 21.0), tip], atol=1e-4) for s in sheet.strokes)


def test_svg_is_true_to_scale_and_png_as_large() -> None:
    _, match = laid(mate_outline())
    sheet = mate_sheet(plate(holes()).outline, match)
    root = ElementTree.fromstring(mate_svg(sheet))
    assert root.attrib["data-unit"] == "mm"
    wide, high = (float(root.attrib[name].removesuffix("mm")) for name in ("width", "height"))
    assert [float(v) for v in root.attrib["viewBox"].split()] == [0.0, 0.0, wide, high]
    outer = max((np.array(re.findall(r"[-\d.]+", node.attrib["points"]), float).reshape(-1, 2)
                 for node in root.iter(f"{SVG}polyline")), key=lambda points: np.ptp(points[:, 0]))
    assert np.ptp(outer, axis=0) == pytest.approx((120.0, 60.0), abs=1e-3)
    columns, rows = struct.unpack(">II", mate_png(sheet)[16:24])
    assert (columns, rows) == (pytest.approx(wide * PX_PER_MM, abs=1), pytest.approx(high * PX_PER_MM, abs=1))


def test_the_same_match_gives_the_same_bytes() -> None:
    outline = plate(holes()).outline
    one, other = (mate_sheet(outline, laid(mate_outline({2: (0.2, -0.3)}))[1]) for _ in range(2))
    assert mate_svg(one) == mate_svg(other) and mate_png(one) == mate_png(other)


def test_no_minus_zero_and_a_blocked_bolt_is_said() -> None:
    _, match = laid(mate_outline({3: (0.9, 0.5)}))
    texts = _texts(mate_svg(mate_sheet(plate(holes()).outline, match)))
    assert not any("-0.00" in text for text in texts)
    assert any("BOLT BLOCKED" in text for text in texts)
