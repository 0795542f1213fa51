"""What was measured on a solid is written alike whether it was just measured or read from its file."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses

from afterpart.model.case import BuildWay, PieceFacts
from afterpart.model.piece import Add, Piece, PrintTime, Prism
from afterpart.model.wishes import PrinterWish
from afterpart.solid.facts import facts_of
from afterpart.solid.worker import Workshop
from tests.solid.shapes import rectangle


def test_every_area_and_height_is_a_float() -> None:
    block = Piece("cover", "block", "block", "A", (Add((Prism(rectangle(0, 0, 20, 10), (), 0.0, 5.0),)),), 5.0, (),
                  PrintTime(0.0, 0.0, ""))
    with Workshop() as workshop:
        facts: PieceFacts = facts_of(block, workshop.build(block), PrinterWish(), workshop)
    for way in facts.ways:
        assert isinstance(way, BuildWay)
        for field in dataclasses.fields(way):
            value = getattr(way, field.name)
            assert not isinstance(value, int) or isinstance(value, bool), field.name
    assert facts.ways
