"""The check plate before it becomes a solid: what is refused, where windows and marks may lie, how it is divided."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from shapely.geometry import Polygon
from shapely.ops import unary_union

from afterpart.errors import JobError, SolidError
from afterpart.model.job import PlateChoice
from afterpart.model.outline import Circle, Line, Loop, Outline
from afterpart.model.piece import Add, ChamferFirstLayer, Cut, Deboss, Keep, Lettering, Piece, Prism
from afterpart.parts.face_region import face_region, loop_polygon, loops_of_part
from afterpart.parts.plate import MARK_DEPTH, make_plate
from afterpart.parts.plate_split import BED_MARGIN, CLEARANCE, divide_for_bed
from afterpart.parts.text_places import text_box
from tests.parts import drawings

INVENTED = [drawings.gauge_lid, drawings.ring_flange, drawings.long_rail, drawings.wide_panel]
TRUTHS = [
    "dev_inlet_cover_sheet",
    "dev_cover_b_sheet",
    "dev_flange_dn25_rule",
    "dev_bracket_sheet_main",
    "dev_tall_sheet",
    "dev_tri_sheet_light",
]


@cache
def _made(outline: Outline, choice: PlateChoice) -> tuple[Piece, ...]:
    return make_plate(outline, choice, "gauge", "B")


def plate(outline: Outline, **choice: object) -> tuple[Piece, ...]:
    return _made(outline, PlateChoice(**choice))


def polygon(prism: Prism) -> Polygon:
    return loop_polygon(Loop("outer", 1, prism.outer))


def windows_of(piece: Piece) -> list[Polygon]:
    return [polygon(p) for s in piece.steps if isinstance(s, Cut) for p in s.prisms if p.bottom < 0]


def ticks_of(piece: Piece) -> list[Polygon]:
    return [polygon(p) for s in piece.steps if isinstance(s, Cut) for p in s.prisms if p.bottom > 0]


def texts_of(piece: Piece) -> list[Lettering]:
    return [t for s in piece.steps if isinstance(s, Deboss) for t in s.texts]


def region_of(outline: Outline) -> Polygon:
    return face_region(*loops_of_part(outline, 1))


def test_unknown_size_is_refused_with_the_way_out() -> None:
    with pytest.raises(JobError, match="readings") as caught:
        plate(dataclasses.replace(drawings.gauge_lid(), unit="px"))
    assert caught.value.exit_status == 3


@pytest.mark.parametrize("thickness", [0.9, 2.1, -1.0, float("nan")])
def test_thickness_outside_1_to_2_is_refused(thickness: float) -> None:
    with pytest.raises(JobError, match="1 to 2 mm"):
        plate(drawings.gauge_lid(), thickness=thickness)


def test_impossible_chamfer_and_bed_are_refused() -> None:
    with pytest.raises(JobError, match="half the thickness"):
        plate(drawings.gauge_lid(), first_layer_chamfer=0.8)
    with pytest.raises(JobError, match="no room"):
        plate(drawings.gauge_lid(), bed=(20.0, 220.0))
    with pytest.raises(JobError, match="pieces"):
        plate(drawings.wide_panel(), bed=(40.0, 40.0))


def test_missing_outer_loop_and_crossing_loops_are_refused() -> None:
    lid = drawings.gauge_lid()
    with pytest.raises(SolidError, match="0 outer loops"):
        plate(dataclasses.replace(lid, design=lid.design[1:]))
    bow_tie = Loop(
        "outer",
        1,
        tuple(
            Line(f"s{i}", a, b)
            for i, (a, b) in enumerate([((0, 0), (50, 50)), ((50, 50), (50, 0)), ((50, 0), (0, 50)), ((0, 50), (0, 0))])
        ),
    )
    with pytest.raises(SolidError, match="Self-intersection"):
        plate(dataclasses.replace(lid, design=(bow_tie,)))
    with pytest.raises(SolidError, match="not inside"):
        plate(dataclasses.replace(lid, design=(*lid.design, drawings.hole("c9", 60, 0, 10))))
    with pytest.raises(SolidError, match="meet"):
        plate(dataclasses.replace(lid, design=(*lid.design, drawings.hole("c9", 50, 28, 6))))


def test_channels_and_other_parts_are_left_out() -> None:
    lid = drawings.gauge_lid()
    channel = dataclasses.replace(drawings.rounded_rectangle(-30, 5, 30, 20, 2, "opening", 80), role="channel", wall="outer")
    other = Loop("outer", 2, (Circle("c90", (300, 0), 20.0),))
    assert plate(dataclasses.replace(lid, design=(*lid.design, channel, other))) == plate(lid)


@pytest.mark.parametrize("make", INVENTED)
def test_windows_keep_clear_of_rim_and_openings(make: Callable[[], Outline]) -> None:
    """At least 3 mm of material everywhere between a window and what the plate is there to check."""
    outline = make()
    region = region_of(outline)
    found = [w for piece in plate(outline) for w in windows_of(piece)]
    assert found, "these parts are all worth a frame"
    for window in found:
        assert region.contains(window)
        assert window.distance(region.boundary) > 3.0


@pytest.mark.parametrize("make", INVENTED)
def test_each_piece_hangs_together(make: Callable[[], Outline]) -> None:
    outline = make()
    division = divide_for_bed(region_of(outline), PlateChoice().bed)
    for cell, piece in zip(division.cells, plate(outline), strict=True):
        left = cell.area.difference(unary_union(windows_of(piece)))
        assert left.geom_type == "Polygon"
        # Nothing narrower than a web of 4.4 mm, rounding of corners aside, holds two halves together.
        assert left.buffer(-1.4).geom_type == "Polygon"


@pytest.mark.parametrize("make", INVENTED)
def test_marks_lie_in_material_and_clear_of_each_other(make: Callable[[], Outline]) -> None:
    outline = make()
    region = region_of(outline)
    for piece in plate(outline):
        solid = region.difference(unary_union(windows_of(piece)))
        boxes = [text_box(t) for t in texts_of(piece)]
        ticks = unary_union(ticks_of(piece))
        for i, box in enumerate(boxes):
            assert solid.contains(box)
            assert ticks.is_empty or box.distance(ticks) > 0.5
            assert all(box.distance(other) > 0.5 for other in boxes[:i])


@pytest.mark.parametrize("make", INVENTED)
def test_every_opening_has_its_number_beside_it(make: Callable[[], Outline]) -> None:
    outline = make()
    openings = loops_of_part(outline, 1)[1]
    labels = {label.number: label for piece in plate(outline) for label in piece.labels}
    assert sorted(labels) == list(range(1, len(openings) + 1))
    for number, label in labels.items():
        shape = loop_polygon(openings[number - 1])
        at = Polygon([(label.at[0], label.at[1]), (label.at[0] + 1e-6, label.at[1]), (label.at[0], label.at[1] + 1e-6)])
        assert label.segment == openings[number - 1].segments[0].id
        assert 1.0 < shape.distance(at) < 8.0
        assert all(loop_polygon(o).distance(at) > shape.distance(at) - 4.0 for o in openings)


def test_ticks_stand_at_whole_millimetres_of_the_frame() -> None:
    (piece,) = plate(drawings.gauge_lid())
    ticks = np.array([t.bounds for t in ticks_of(piece)])
    upright = ticks[(ticks[:, 2] - ticks[:, 0]) < 0.6]
    level = ticks[(ticks[:, 3] - ticks[:, 1]) < 0.6]
    assert len(upright) + len(level) == len(ticks) and len(upright) > 100 and len(level) > 60
    for middle in ((upright[:, 0] + upright[:, 2]) / 2, (level[:, 1] + level[:, 3]) / 2):
        assert np.abs(middle - np.round(middle)).max() < 1e-9
        assert len(np.unique(np.round(middle))) == len(middle)
    lengths = {round((t[0] + t[2]) / 2): t[3] + 40.0 for t in upright}
    assert lengths[0] > lengths[10] > lengths[5] > lengths[1] and lengths[10] == lengths[-20] and lengths[3] == lengths[-7]


def test_steps_carry_the_design_loops_and_the_chamfer() -> None:
    lid = drawings.gauge_lid()
    (piece,) = plate(lid, thickness=1.8, first_layer_chamfer=0.3)
    add = piece.steps[0]
    assert isinstance(add, Add)
    assert add.prisms == (Prism(lid.design[0].segments, tuple(o.segments for o in lid.design[1:]), 0.0, 1.8),)
    assert piece.steps[1] == ChamferFirstLayer(0.3)
    assert all(p.bottom == 1.8 - MARK_DEPTH for s in piece.steps if isinstance(s, Cut) for p in s.prisms if p.bottom > 0)
    assert "gauge B" in [t.text for t in texts_of(piece)]


@pytest.mark.parametrize("make", INVENTED)
def test_a_frame_saves_time_and_says_how_much(make: Callable[[], Outline]) -> None:
    for framed, full in zip(plate(make()), plate(make(), frame=False), strict=True):
        assert framed.print_time.minutes < 0.85 * framed.print_time.full_minutes
        assert full.print_time.minutes == full.print_time.full_minutes == framed.print_time.full_minutes
        assert not windows_of(full)


def test_pieces_fit_the_bed_and_make_up_the_part() -> None:
    for make, bed, count in (
        (drawings.long_rail, (220.0, 220.0), 2),
        (drawings.wide_panel, (220.0, 220.0), 6),
        (drawings.long_rail, (70.0, 330.0), 1),
        (drawings.gauge_lid, (100.0, 100.0), 2),
    ):
        region = region_of(make())
        division = divide_for_bed(region, bed)
        assert len(division.cells) == count and division.plain_cuts == 0
        for cell in division.cells:
            x0, y0, x1, y1 = cell.area.bounds
            size, room = sorted((x1 - x0, y1 - y0)), sorted(b - 2 * BED_MARGIN for b in bed)
            assert size[0] <= room[0] and size[1] <= room[1]
        whole = unary_union([c.area for c in division.cells])
        gap = region.difference(whole)
        # Only the sockets' clearance is missing: a strip of 0.12 mm round each key of at most 35 mm.
        assert gap.area < 40 * CLEARANCE * max(count - 1, 0) * 2 + 1e-9
        overlap = sum(c.area.area for c in division.cells) - whole.area
        assert overlap < 1e-6


def test_keys_are_wider_at_the_head_and_have_clearance() -> None:
    first, second = divide_for_bed(region_of(drawings.long_rail()), (220.0, 220.0)).cells
    cut = second.area.bounds[0]
    tab = first.area.intersection(Polygon([(cut + 0.001, -30), (cut + 50, -30), (cut + 50, 30), (cut + 0.001, 30)]))
    assert not tab.is_empty
    near, far = (
        tab.intersection(Polygon([(x, -30), (x + 0.01, -30), (x + 0.01, 30), (x, 30)])).bounds
        for x in (cut + 0.1, tab.bounds[2] - 0.1)
    )
    assert far[3] - far[1] > near[3] - near[1] + 1.0
    walls = second.area.boundary
    head = tab.intersection(Polygon([(cut + 1, -30), (cut + 50, -30), (cut + 50, 30), (cut + 1, 30)]))
    assert abs(head.distance(walls) - CLEARANCE) < 1e-3


def test_keep_steps_only_where_divided() -> None:
    assert not [s for s in plate(drawings.gauge_lid())[0].steps if isinstance(s, Keep)]
    pieces = plate(drawings.long_rail())
    assert [p.name for p in pieces] == ["gauge 1/2", "gauge 2/2"]
    assert all(len([s for s in p.steps if isinstance(s, Keep)]) == 1 for p in pieces)
    assert all("divided" in [n.code for n in p.notes] for p in pieces)


def test_names_in_any_script_and_any_length() -> None:
    for name in ("Größe", "蓋の型", "a very long name that no plate of this size could ever carry in full", ""):
        (piece,) = make_plate(drawings.gauge_lid(), PlateChoice(), name, "B")
        assert all(" " <= c <= "~" for t in texts_of(piece) for c in t.text)
        assert piece.name == name


def test_tiny_part_has_no_room_and_says_so() -> None:
    (piece,) = plate(drawings.outline_of((Loop("outer", 1, (Circle("c1", (0, 0), 6.0),)), drawings.hole("c2", 0, 0, 6.0))))
    codes = [n.code for n in piece.notes]
    assert "no_room_for_number" in codes and "no_room_for_name" in codes


def test_same_outline_same_pieces() -> None:
    assert plate(drawings.long_rail()) == make_plate(drawings.long_rail(), PlateChoice(), "gauge", "B")


@pytest.mark.parametrize("name", TRUTHS)
def test_rendered_parts_all_make_plates(shared: object, name: str) -> None:
    outline = drawings.from_truth(name)
    (piece,) = plate(outline)
    assert len(piece.labels) == len(loops_of_part(outline, 1)[1])
    assert piece.print_time.minutes < 35
