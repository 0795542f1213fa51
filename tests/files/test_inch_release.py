"""A release in inches, read back by pypdfium2 and the csv module: its numbers are the outline's and the pieces', by 25.4.

An inch is 25.4 mm exactly (international yard and pound agreement, 1959).  The same job in mm is released beside it.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import dataclass, replace

import pytest

from afterpart.checks.stage import run_checks
from afterpart.model.case import Case
from afterpart.model.feature import Hole
from afterpart.model.release import ReleaseWish, TitleBlock
from afterpart.model.store import parse_job_json
from afterpart.parts.plate import make_plate
from afterpart.parts.stage import make_pieces
from afterpart.release.build_files import build_files
from afterpart.release.characteristics import DETAIL, PLAN, characteristics
from afterpart.release.drawing_files import drawn_piece
from afterpart.release.limits import hole_limits
from afterpart.release.manifest import IN_INCHES, MANIFEST
from afterpart.release.release_files import Made, release_files
from afterpart.solid.worker import Workshop
from tests.files.pdf_reading import read_pages, text_boxes, worst_overlap
from tests.parts.examples import example

TITLE = TitleBlock("bench bracket", "B", "2026-01-02", "afterpart test")
BOUND_TO_SAY_IT = {"README.md", MANIFEST, "data/job.json", "paper.pdf", "plate/check_plate.pdf", *IN_INCHES}
"""What may differ between the two: papers, and what names their unit."""


@dataclass(frozen=True)
class Both:
    made: Made
    mm: dict[str, bytes]
    inch: dict[str, bytes]


@pytest.fixture(scope="module")
def both(built_pieces: Workshop) -> Both:
    outline, job = example("bracket")
    job = replace(job, name=TITLE.name, revision="B", date=TITLE.date, release=ReleaseWish(page="letter"))
    build = make_pieces(outline, job)
    report = run_checks(Case(job, outline, build))
    files = build_files(build, TITLE, built_pieces, job.wishes.printer)
    plate = make_plate(outline, job.plate, job.name, job.revision)
    made = Made(build, outline, job, TITLE, report, files.files, files.bodies, plate)
    asked = replace(made, job=replace(job, release=replace(job.release, units="inch")))
    return Both(made, release_files(made, built_pieces), release_files(asked, built_pieces))


def text_of(data: bytes) -> str:
    return "\n".join(page.text for page in read_pages(data))


def numbers_in(text: str) -> list[str]:
    return re.findall(r"(?<![\d.])-?\d+\.\d+", text)


def test_files_to_make_from_are_the_same_and_in_mm(both: Both) -> None:
    assert set(both.mm) == set(both.inch)
    assert {path for path in both.mm if both.mm[path] != both.inch[path]} <= BOUND_TO_SAY_IT
    for path in ("drawing.dxf", "inspection.csv", "pieces/bracket.step", "pieces/bracket.3mf", "pieces/bracket_mm.stl"):
        assert both.mm[path] == both.inch[path], path
    for path in IN_INCHES:
        assert both.mm[path] != both.inch[path], path


def test_the_manifest_says_which_papers_are_in_inches(both: Both) -> None:
    units = {row["path"]: row["unit"] for row in json.loads(both.inch[MANIFEST])["files"]}
    assert {path for path, unit in units.items() if unit == "in"} == set(IN_INCHES)
    assert parse_job_json(both.inch["data/job.json"]).release.units == "inch"
    assert units["drawing.dxf"] == units["pieces/bracket.step"] == units["inspection.csv"] == "mm"


def test_the_drawing_shows_the_pieces_sizes_in_inches(both: Both) -> None:
    piece = drawn_piece(both.made.build)
    assert piece is not None
    text = text_of(both.inch["drawing.pdf"])
    printed = numbers_in(text)
    sizes = [c for c in characteristics(piece, both.made.outline, both.made.job) if c.view in (PLAN, DETAIL)]
    assert len(sizes) >= 6
    for c in sizes:
        near = {f"{c.nominal / 25.4:.3f}", f"{c.nominal / 25.4:.4f}"}
        assert near & set(printed), (c.name, near)
        assert f"{c.nominal:.2f}" not in printed, c.name
    words = " ".join(text.split())
    assert "Dimensions in inches" in words and "Dimensions in mm" not in words and "STEP, 3MF and STL are in mm" in words
    assert "100 mm (3.937 in) from end to end" in text


def test_every_hole_stands_in_the_table_at_its_place_with_limits_inside_its_own(both: Both) -> None:
    piece = drawn_piece(both.made.build)
    assert piece is not None
    text = text_of(both.inch["drawing.pdf"])
    holes = [f for f in piece.features if isinstance(f, Hole)]
    assert len(holes) >= 4
    for hole in holes:
        x, y = (f"{round(v / 25.4, 4) + 0.0:.4f}" for v in hole.center)
        row = re.search(rf"{re.escape(hole.id)} {re.escape(x)} {re.escape(y)} Ø([\d.]+) (±[\d.]+|\S+ / \S+)", text)
        assert row, (hole.id, x, y)
        size, stray = float(row[1]), row[2].split(" / ")
        up, down = (float(stray[0][1:]), -float(stray[0][1:])) if len(stray) == 1 else map(float, stray)
        limits = hole_limits(hole)
        assert limits.low - 1e-9 <= 25.4 * (size + down) < hole.diameter < 25.4 * (size + up) <= limits.high + 1e-9, hole.id


def test_the_inspection_sheet_shows_every_length_of_the_outline_in_inches_and_every_angle_in_degrees(both: Both) -> None:
    text = text_of(both.inch["inspection.pdf"])
    printed = set(numbers_in(text))
    lengths = [d for d in both.made.outline.dimensions if d.kind != "angle"]
    assert len(lengths) > 10
    for d in lengths:
        assert f"{d.design / 25.4:.3f}" in printed, d.id
        assert {f"{d.measured / 25.4:.3f}", f"{d.measured / 25.4:.4f}"} & printed, d.id
    for d in (d for d in both.made.outline.dimensions if d.kind == "angle"):
        assert f"{d.design:.2f}".rstrip("0").rstrip(".") + "°" in text, d.id
    assert "Lengths in inches (25.4 mm)" in text and "inches times 25.4" in text


def test_parts_list_has_inches_and_the_mm_of_metric_hardware(both: Both) -> None:
    rows = list(csv.DictReader(io.StringIO(both.inch["parts_list.csv"].decode())))
    plain = list(csv.DictReader(io.StringIO(both.mm["parts_list.csv"].decode())))
    assert [row["what"] for row in rows if "M6" in row["what"]] == [row["what"] for row in plain if "M6" in row["what"]] != []
    for row, mm in zip(rows, plain, strict=True):
        inches, _, metric = row["size, in"].partition(" (mm: ")
        if row["group"] == "fastener":
            assert metric == mm["size"] + ")", row
        if row["group"] in ("fastener", "printed piece"):
            told, drawn = ([float(n) for n in re.findall(r"[\d.]+", text)] for text in (inches, mm["size"]))
            # a printed piece's mm are told to a tenth
            assert told == pytest.approx([n / 25.4 for n in drawn], abs=0.0026), row
    bracket = next(row for row in rows if row["file"] == "bracket.3mf")["size, in"]
    assert bracket == "4.094 x 2.441 x 0.197", "104 x 62 x 5 mm (examples/bracket/bracket_truth.json, job.toml)"


def test_the_guide_speaks_of_inches_and_names_the_mm_that_are_left(both: Both) -> None:
    text = " ".join(text_of(both.inch["guide.pdf"]).split())
    assert re.search(r"round each bolt, \d\.\d{3} in from its tip", text)
    assert "Sizes in inches, of metric things in mm too." in text
    assert "100 mm bars with a rule: 3.930 to 3.944 in is good" in text
    assert "mm and not touch" not in text and "mark on the coupon, mm" in text and "the same, in" in text


def test_texts_in_inches_never_overlap(both: Both) -> None:
    for path in ("drawing.pdf", "inspection.pdf", "paper.pdf"):
        assert all(worst_overlap(boxes) < 0.1 for boxes in text_boxes(both.inch[path])), path
