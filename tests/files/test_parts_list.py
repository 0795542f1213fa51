"""The parts list read back as CSV and held against the assembly; print settings; the order of tightening."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
import math
from collections import Counter
from dataclasses import replace

import pytest

from afterpart.geometry.chain import chain_length
from afterpart.model.assembly import Build
from afterpart.model.feature import Groove
from afterpart.model.job import Job
from afterpart.model.piece import Piece
from afterpart.parts.stage import make_pieces
from afterpart.release.parts_list import COLUMNS, PartRow, in_sizes, mass_g, parts_csv, parts_list
from afterpart.release.print_settings import print_settings, settings_text, wall_lines
from afterpart.release.put_together import parts_of
from afterpart.release.shown import spoken
from afterpart.release.tightening import crosswise, mid_spans
from tests.files.plain_bodies import blocks, volumes
from tests.parts.examples import NAMES, case_of, example

Made = dict[str, tuple[Job, Build, tuple[PartRow, ...]]]


@pytest.fixture(scope="module")
def made() -> Made:
    found = {}
    for name in NAMES:
        job, build = case_of(name).job, case_of(name).build
        found[name] = (job, build, parts_list(build, job, blocks(build), volumes(build)))
    return found


@pytest.mark.parametrize("name", NAMES)
def test_the_csv_holds_every_row_as_another_reader_sees_it(made: Made, name: str) -> None:
    rows = made[name][2]
    data = parts_csv(rows)
    read = list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))
    assert [tuple(row) for row in read[1:]] == [row.cells() for row in rows]
    assert {len(row) for row in read} == {len(COLUMNS)}
    assert data == parts_csv(rows)


@pytest.mark.parametrize("name", NAMES)
def test_every_fastener_of_the_assembly_is_counted_once(made: Made, name: str) -> None:
    _, build, rows = made[name]
    wanted: Counter[str] = Counter()
    for item in build.assembly.items:
        if item.kind in ("bolt", "screw", "washer", "sleeve"):
            wanted[item.name] += len(item.at)
    listed = {row.name: row.count for row in rows if row.group == "fastener"}
    assert listed == dict(wanted)
    assert sum(row.group == "fastener" for row in rows) == len(wanted)


@pytest.mark.parametrize("name", NAMES)
def test_numbers_are_those_of_the_exploded_picture(made: Made, name: str) -> None:
    """The picture's own numbering (put_together.py) on one side, the list's on the other."""
    _, build, rows = made[name]
    listed = {number: row for row in rows for number in row.numbers}
    seen: Counter[str] = Counter()
    for part in parts_of(build, blocks(build)):
        row = listed.pop(part.number)
        seen[row.name] += len(part.meshes)
        thing = part.thing
        if isinstance(thing, Piece) or thing.kind != "cord":
            assert row.name == (spoken(thing) if isinstance(thing, Piece) else thing.name)
    assert not listed
    assert seen == {row.name: row.count for row in rows if row.numbers}


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_is_listed_with_the_file_it_is_made_from(made: Made, name: str) -> None:
    _, build, rows = made[name]
    files = {row.file for row in rows if row.file}
    assert files == {f"{p.file_stem}.dxf" if p.kind == "filter_element" else f"{p.file_stem}.3mf" for p in build.pieces
                     if p.file_stem not in in_sizes(build)}


def test_a_cord_is_as_long_as_its_groove_and_its_ring_has_that_centre_line(made: Made) -> None:
    """L = pi (d_inside + cord): the ring's own centre line is the groove's."""
    _, build, rows = made["pump_lid"]
    groove = next(f for p in build.pieces for f in p.features if isinstance(f, Groove))
    cord = next(row for row in rows if row.group == "seal")
    assert f"cut {chain_length(groove.centre):.0f} long" in cord.size
    inside = float(cord.size.split("as an O-ring ")[1].split(" ")[0])
    assert math.pi * (inside + groove.cord) == pytest.approx(chain_length(groove.centre), abs=math.pi * 0.06)


def test_foam_is_told_with_pores_and_thickness_and_is_larger_than_the_element(made: Made) -> None:
    job, build, rows = made["compressor_cover"]
    foam = next(row for row in rows if row.group == "stock" and "foam" in row.name)
    assert job.wishes.filter is not None
    assert f"{job.wishes.filter.pores_per_inch:g} pores per inch" in foam.size
    assert f"{job.wishes.filter.thickness:g} thick" in foam.size
    wide, deep = (float(part) for part in foam.size.split(" or larger")[0].split(" x "))
    corners = next(row.corners for row in build.cuts if row.chosen)
    for side, axis in ((wide, 0), (deep, 1)):
        assert side >= max(c[axis] for c in corners) - min(c[axis] for c in corners) + 10


def test_only_what_applies_is_listed(made: Made) -> None:
    words = {name: " ".join(" ".join(row.cells()) for row in made[name][2]) for name in NAMES}
    for text in ("foam", "oil", "white cloth", "plug", "marker", "flexible filament"):
        assert text in words["compressor_cover"]
        assert text not in words["bracket"]
    assert "cord" in words["pump_lid"] and "foam" not in words["pump_lid"] and "white cloth" not in words["pump_lid"]


def test_filament_is_the_sum_of_its_pieces(made: Made) -> None:
    """Density of PETG in the tables' middle, volume of the blocks: m = rho V."""
    _, build, rows = made["bracket"]
    mass = sum(mass_g(volume, "PETG") or math.nan for volume in volumes(build).values())
    assert any(row.group == "stock" and row.size == f"about {mass:.0f} g printed solid" for row in rows)
    assert mass_g(1000.0, "no such filament") is None


def test_screws_for_the_coupon_are_bought_beside_those_of_the_part(made: Made) -> None:
    _, build, rows = made["compressor_cover"]
    coupon = next(piece for piece in build.pieces if piece.kind == "hole_coupon")
    spare = next(row for row in rows if row.group == "supply" and "thread-forming" in row.name)
    assert spare.count == len(coupon.labels)
    assert not any("thread-forming" in row.name for name in ("pump_lid", "bracket") for row in made[name][2])


def test_a_frame_in_four_pilot_sizes_counts_as_one(made: Made) -> None:
    outline, job = example("compressor_cover")
    assert job.wishes.holder is not None
    wishes = replace(job.wishes, holder=replace(job.wishes.holder, four_pilots=True))
    job = replace(job, wishes=wishes)
    build = make_pieces(outline, job)
    rows = parts_list(build, job, blocks(build), volumes(build))
    variants = [row for row in rows if "_pilot_" in row.file]
    assert len(variants) == 4 and all(row.count == 0 for row in variants)
    whole = next(row for row in rows if row.name.endswith("clamp frame"))
    assert whole.count == 1 and not whole.file and "one of the sizes" in whole.purpose, "one piece goes out under one name"
    plain = next(row for row in made["compressor_cover"][2] if row.name.startswith("filament"))
    assert next(row for row in rows if row.name.startswith("filament")).size == plain.size


@pytest.mark.parametrize("name", NAMES)
def test_print_settings_name_every_printed_piece_and_no_supports(made: Made, name: str) -> None:
    job, build, _ = made[name]
    rows = print_settings(build, job, volumes(build))
    printed = [p for p in build.pieces if p.kind != "filter_element" and "_pilot_" not in p.file_stem]
    for row, p in zip(rows, printed, strict=True):
        sizes = row.file.count(f"{p.file_stem}_pilot_")
        assert row.file == f"{p.file_stem}.3mf" or (p.file_stem in in_sizes(build) and sizes == 4)
    text = settings_text(build, job, volumes(build)).decode("utf-8")
    for row, piece in zip(rows, printed, strict=True):
        assert row.supports == "none" and row.material and row.minutes == piece.print_time.minutes > 0
        assert piece.orientation in text and row.file in text
        assert (row.infill.startswith("solid")) == (piece.kind != "cutting_guide")


def test_walls_are_as_many_lines_as_make_the_structural_wall() -> None:
    """2.4 mm of 0.4 mm lines are 6, of 0.6 mm lines 4, of 0.8 mm lines 3 (print services' guides, standards/printing.csv)."""
    assert [wall_lines(nozzle) for nozzle in (0.4, 0.6, 0.8)] == [6, 4, 3]


def test_bolts_on_a_circle_are_tightened_across() -> None:
    """Six at 60 degrees: each second lies opposite the one before, as every workshop does it."""
    places = tuple((math.cos(math.radians(60 * i)), math.sin(math.radians(60 * i))) for i in range(6))
    order = crosswise(places)
    assert sorted(order) == list(range(6))
    for one, other in zip(order[::2], order[1::2], strict=True):
        assert abs(one - other) == 3


def test_four_corners_are_tightened_diagonally_and_locating_ones_first() -> None:
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 6.0), (0.0, 6.0))
    assert crosswise(corners) == (0, 2, 1, 3)
    assert crosswise(corners, (1, 2))[:2] == (1, 2)
    assert crosswise(()) == () and crosswise(((1.0, 1.0),)) == (0,)
    for wrong in ((0, 0), (4,)):
        with pytest.raises(ValueError, match="expected different places"):
            crosswise(corners, wrong)


def test_spans_lie_in_the_middle_between_neighbours() -> None:
    corners = ((0.0, 0.0), (10.0, 6.0), (10.0, 0.0), (0.0, 6.0))
    assert set(mid_spans(corners)) == {(5.0, 0.0), (10.0, 3.0), (5.0, 6.0), (0.0, 3.0)}
    assert mid_spans(((0.0, 0.0), (4.0, 2.0))) == ((2.0, 1.0),) and mid_spans(((0.0, 0.0),)) == ()
