"""The cutting guide: its wall stands on the element's edge, nothing overhangs, its solid has the volume of its drawing."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from shapely.geometry import Polygon

from afterpart.errors import JobError
from afterpart.geometry.cut_order import direction_deg, order_of_cuts
from afterpart.model.feature import CutRow
from afterpart.model.outline import Point
from afterpart.model.piece import Add, ChamferFirstLayer, Deboss, Piece, Prism
from afterpart.model.wishes import FilterWish
from afterpart.parts.cutting_guide import FLOOR, GRIP_HEIGHT, WALL_HEIGHT, WALL_WIDTH, make_cutting_guide
from afterpart.parts.text_places import text_box
from afterpart.solid.worker import Workshop

FOAM = FilterWish()
FIVE_SIDES: tuple[Point, ...] = ((0.0, 0.0), (90.0, 0.0), (90.0, 54.0), (77.0, 60.0), (0.0, 60.0))


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def row(corners: tuple[Point, ...]) -> CutRow:
    area = Polygon(corners).area
    return CutRow(len(corners) - 4, corners, area, 0.0, 0.0, 1.0, chosen=True, form="free", open_area=0.8 * area)


def turned(corners: tuple[Point, ...], angle_deg: float) -> tuple[Point, ...]:
    c, s = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return tuple((c * x - s * y + 5.0, s * x + c * y - 3.0) for x, y in corners)


def prisms(guide: Piece) -> tuple[Prism, ...]:
    add, = (s for s in guide.steps if isinstance(s, Add))
    assert all(isinstance(p, Prism) for p in add.prisms)
    return tuple(p for p in add.prisms if isinstance(p, Prism))


def ring(chain: tuple[object, ...]) -> Polygon:
    return Polygon([s.start for s in chain])  # type: ignore[attr-defined]


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, -75.0, 90.0])
def test_floor_and_wall_are_flush_with_the_cut_all_round(angle_deg: float) -> None:
    corners = turned(FIVE_SIDES, angle_deg)
    guide = make_cutting_guide(row(corners), FOAM, "lid", "A")
    floor, wall, grip = prisms(guide)
    assert ring(floor.outer).symmetric_difference(Polygon(corners)).area < 1e-9
    assert ring(wall.outer).symmetric_difference(Polygon(corners)).area < 1e-9
    hollow = ring(wall.openings[0])
    assert hollow.exterior.distance(Polygon(corners).exterior) == pytest.approx(WALL_WIDTH, abs=1e-9)
    assert (floor.bottom, floor.top, wall.bottom, wall.top) == (0.0, FLOOR, FLOOR, FLOOR + WALL_HEIGHT)
    assert hollow.contains(ring(grip.outer)) and grip.top == guide.thickness == FLOOR + GRIP_HEIGHT


def test_every_body_stands_on_the_bed_or_on_the_floor() -> None:
    """No overhang: each prism's plan lies within that of the floor, and each begins at the bed or on the floor's top."""
    floor, *others = prisms(make_cutting_guide(row(FIVE_SIDES), FOAM, "lid", "A"))
    for body in others:
        assert body.bottom == floor.top and ring(floor.outer).buffer(1e-9).covers(ring(body.outer))


def test_the_cut_edge_is_not_chamfered_and_the_note_says_so() -> None:
    guide = make_cutting_guide(row(FIVE_SIDES), FOAM, "lid", "A")
    assert not [s for s in guide.steps if isinstance(s, ChamferFirstLayer)]
    assert "no first-layer chamfer" in {n.code: n.text for n in guide.notes}["guide_edge"]


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 170.0])
def test_texts_lie_on_the_free_floor_apart_from_each_other(angle_deg: float) -> None:
    guide = make_cutting_guide(row(turned(FIVE_SIDES, angle_deg)), FOAM, "lid", "B")
    deboss, = (s for s in guide.steps if isinstance(s, Deboss))
    _, wall, grip = prisms(guide)
    boxes = [text_box(t) for t in deboss.texts]
    assert [t.text for t in deboss.texts] == ["FLAT SIDE ON THE FOAM", "lid B", "CUT 90.0 x 60.0"]
    assert deboss.top == FLOOR and 0 < deboss.depth < FLOOR and not deboss.from_below
    for i, one in enumerate(boxes):
        assert ring(wall.openings[0]).contains(one) and not ring(grip.outer).intersects(one)
        assert all(one.distance(other) > 0.5 for other in boxes[:i])
    assert all(-90.0 < t.angle_deg <= 90.0 for t in deboss.texts), "to be read without standing on one's head"


def test_a_small_element_goes_without_grip_and_text_and_says_so() -> None:
    guide = make_cutting_guide(row(((0.0, 0.0), (16.0, 0.0), (16.0, 12.0), (0.0, 12.0))), FOAM, "lid", "A")
    codes = {n.code: n.text for n in guide.notes}
    assert len(prisms(guide)) == 2 and guide.thickness == FLOOR + WALL_HEIGHT
    assert "guide_without_grip" in codes and "FLAT SIDE" in codes["no_room_for_text"]


def test_a_strip_too_narrow_for_two_walls_is_refused() -> None:
    with pytest.raises(JobError, match=r"filter: found an element of 60\.0 x 4\.0 mm"):
        make_cutting_guide(row(((0.0, 0.0), (60.0, 0.0), (60.0, 4.0), (0.0, 4.0))), FOAM, "lid", "A")


def test_the_solid_is_one_body_with_the_volume_of_its_drawing(workshop: Workshop) -> None:
    guide = make_cutting_guide(row(turned(FIVE_SIDES, 20.0)), FOAM, "lid", "A")
    body = workshop.build(guide)
    floor, wall, grip = prisms(guide)
    solid = sum((ring(p.outer).area - sum(ring(o).area for o in p.openings)) * (p.top - p.bottom) for p in (floor, wall, grip))
    assert body.is_valid and body.solids == 1 and not body.remarks
    assert solid - 200.0 < body.volume < solid - 20.0, "the letters take some of it, not much"
    assert body.low[2] == pytest.approx(0.0, abs=1e-6) and body.high[2] == pytest.approx(guide.thickness, abs=1e-6)
    assert euler_number(body.mesh.vertices, body.mesh.triangles) == 2, "no way leads through the guide"


def euler_number(vertices: np.ndarray, triangles: np.ndarray) -> int:
    edges = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    return len(np.unique(triangles)) - len(np.unique(edges, axis=0)) + len(triangles)


def test_the_order_of_cuts_takes_the_rectangles_sides_first() -> None:
    assert order_of_cuts(FIVE_SIDES) == (0, 1, 3, 4, 2)
    assert order_of_cuts(turned(FIVE_SIDES, 33.0)) == (0, 1, 3, 4, 2)
    assert direction_deg(turned(FIVE_SIDES, 33.0)) == pytest.approx(33.0)
    assert direction_deg(turned(FIVE_SIDES, 200.0)) == pytest.approx(20.0)
    with pytest.raises(ValueError, match="2 corners"):
        order_of_cuts(FIVE_SIDES[:2])
