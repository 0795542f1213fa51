"""The DXF read back: audited, and every entity held against the drawing, because the audit checks no geometry."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import io
import math
from collections.abc import Callable

import ezdxf
import pytest
from ezdxf.document import Drawing

from afterpart.geometry.segments import segment_middle
from afterpart.model.outline import Arc, Circle, Line, Outline
from afterpart.release.dxf import outline_dxf
from tests.parts import drawings

TOLERANCE = 1e-9
INVENTED = [drawings.gauge_lid, drawings.ring_flange, drawings.long_rail]


def read_back(data: bytes) -> Drawing:
    return ezdxf.read(io.StringIO(data.decode("cp1252")))


@pytest.mark.parametrize("make", INVENTED)
def test_audit_finds_nothing_and_the_unit_is_mm(make: Callable[[], Outline]) -> None:
    document = read_back(outline_dxf(make()))
    audit = document.audit()
    assert not audit.errors and not audit.fixes
    assert document.header["$INSUNITS"] == 4 and document.header["$MEASUREMENT"] == 1


@pytest.mark.parametrize("make", INVENTED)
def test_every_entity_is_its_segment(make: Callable[[], Outline]) -> None:
    outline = make()
    entities = list(read_back(outline_dxf(outline)).modelspace())
    segments = [(loop.role, s) for loop in outline.design for s in loop.segments]
    assert len(entities) == len(segments)
    for (role, segment), entity in zip(segments, entities, strict=True):
        assert entity.dxf.layer == role
        match segment:
            case Line():
                assert entity.dxftype() == "LINE"
                assert math.dist(entity.dxf.start.vec2, segment.start) < TOLERANCE
                assert math.dist(entity.dxf.end.vec2, segment.end) < TOLERANCE
            case Circle():
                assert entity.dxftype() == "CIRCLE"
                assert math.dist(entity.dxf.center.vec2, segment.center) < TOLERANCE
                assert abs(entity.dxf.radius - segment.radius) < TOLERANCE
            case Arc():
                assert entity.dxftype() == "ARC"
                ends = (segment.start, segment.end) if segment.ccw else (segment.end, segment.start)
                assert math.dist(entity.start_point.vec2, ends[0]) < 1e-7
                assert math.dist(entity.end_point.vec2, ends[1]) < 1e-7
                # The middle tells the arc from the rest of its circle.
                (middle,) = entity.vertices([entity.dxf.start_angle + (entity.dxf.end_angle - entity.dxf.start_angle) % 360 / 2])
                assert math.dist(middle.vec2, segment_middle(segment)) < 1e-7


@pytest.mark.parametrize("make", INVENTED)
def test_entities_of_a_loop_close(make: Callable[[], Outline]) -> None:
    outline = make()
    entities = iter(read_back(outline_dxf(outline)).modelspace())
    for loop in outline.design:
        ends = []
        for _ in loop.segments:
            entity = next(entities)
            if entity.dxftype() != "CIRCLE":
                start, end = (
                    (entity.dxf.start, entity.dxf.end) if entity.dxftype() == "LINE" else (entity.start_point, entity.end_point)
                )
                ends += [start.vec2, end.vec2]
        for point in ends:
            assert sum(math.dist(point, other) < 1e-7 for other in ends) == 2, "each end meets exactly one other"


def test_same_outline_same_bytes() -> None:
    assert outline_dxf(drawings.gauge_lid()) == outline_dxf(drawings.gauge_lid())


def test_unknown_size_is_unitless_and_says_so() -> None:
    document = read_back(outline_dxf(dataclasses.replace(drawings.gauge_lid(), unit="px")))
    assert document.header["$INSUNITS"] == 0
    (text,) = document.modelspace().query("TEXT")
    assert "SIZE UNKNOWN" in text.dxf.text and text.dxf.layer == "note"


def test_free_segments_lie_on_a_layer_with_a_line_style_of_its_own() -> None:
    lid = drawings.gauge_lid()
    free = {lid.design[0].segments[0].id, lid.design[1].segments[0].id}
    document = read_back(outline_dxf(dataclasses.replace(lid, free=tuple(free))))
    assert not document.audit().errors
    names = [s.id for loop in lid.design for s in loop.segments]
    entities = list(document.modelspace())
    assert {name for name, entity in zip(names, entities, strict=True) if entity.dxf.layer == "free"} == free
    linetype = document.layers.get("free").dxf.linetype
    assert linetype != document.layers.get("outer").dxf.linetype
    # one dash, two dots, three gaps (ISO 128-2, type 12, from memory)
    marks = [tag.value for tag in document.linetypes.get(linetype).pattern_tags.tags if tag.code == 49]
    assert [(mark > 0) - (mark < 0) for mark in marks] == [1, -1, 0, -1, 0, -1]
