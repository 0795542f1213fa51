"""What stands out of the joint: closed forms on a block, a ring and a washer."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.parts.stage import make_pieces
from afterpart.release.hole_names import hole_names, plate_sizes
from afterpart.release.reach import over_edge, reach_of, seal_proud
from tests.files.plain_bodies import blocks
from tests.parts.examples import example


def test_the_demo_s_frame_and_washers_stand_out_by_what_their_sizes_say() -> None:
    """Frame 13 on a ledge 3 over the outside of a cover 14.4 high; ISO 7089 M6 is 12 wide, its hole 5.5 from the nearest edge."""
    outline, job = example("compressor_cover")
    build = make_pieces(outline, job)
    frame = next(piece for piece in build.pieces if piece.kind == "clamp_frame")
    assert job.wishes.cover is not None
    ledge = job.wishes.cover.floor
    reach = reach_of(build, blocks(build))
    assert reach is not None and reach.inside == pytest.approx(ledge + frame.thickness - job.wishes.cover.thickness)
    assert "clamp frame" in reach.what
    bolts = next(item for item in build.assembly.items if item.kind == "bolt")
    assert reach.outside == pytest.approx(bolts.head_height - bolts.at[0][2])
    over = over_edge(build)
    assert over is not None and over.wide == 12.0 and 0.0 < over.over < 1.0 and set(over.holes) <= {f"c{n}" for n in range(1, 7)}
    assert seal_proud(build) == pytest.approx(0.4, abs=1e-6), "a ring 2.4 high in a groove 2.0 deep"


def test_each_hole_has_one_row_with_all_its_names() -> None:
    outline, job = example("compressor_cover")
    build = make_pieces(outline, job)
    items = [item for item in build.assembly.items if item.kind in ("bolt", "screw")]
    orders = {item.kind: tuple((x, y) for x, y, _ in item.at) for item in items}
    table = hole_names(build, orders, outline)
    assert table is not None and len({row[0] for row in table.rows}) == len(table.rows) == sum(len(p) for p in orders.values())
    told = {row[0]: row for row in table.rows}
    for number, size in plate_sizes(outline).items():
        row = next(row for row in table.rows if row[1] == str(number))
        assert row[3] == size and float(row[4]) >= float(size)
    turns = [row[2] for name, row in told.items() if name.startswith("c")]
    assert sorted(turns) == [str(n) for n in range(1, 7)]
