"""The short texts of the command line: what is read, what is refused."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.errors import UsageError
from afterpart.job.options import (
    parse_bed,
    parse_corners,
    parse_damage,
    parse_reading,
    parse_rule,
    parse_sheet,
    parse_span,
    plate_choice,
    shot_from_options,
)
from afterpart.job.photo_keys import PhotoKeys
from afterpart.model.job import Damage, Reading, Rule, Shot, Span


@pytest.mark.parametrize(("text", "size"), [
    ("A4", (210.0, 297.0)), ("a3", (297.0, 420.0)), ("A5", (148.0, 210.0)), ("letter", (215.9, 279.4)), ("Legal", (215.9, 355.6)),
    ("210x297", (210.0, 297.0)), ("297 x 210", (210.0, 297.0)), ("120.5×80", (80.0, 120.5))])
def test_sheet_names_and_sizes_are_read_short_side_first(text: str, size: tuple[float, float]) -> None:
    assert parse_sheet(text) == pytest.approx(size, abs=1e-9)


@pytest.mark.parametrize("text", ["A9", "", "210", "210x", "0x297", "21x29.7e9", "-210x297", "nanx200", "1x297"])
def test_other_sheets_are_refused(text: str) -> None:
    with pytest.raises(UsageError, match="sheet: found .* expected"):
        parse_sheet(text)


def test_rules_in_mm_and_parts_of_an_inch() -> None:
    assert parse_rule("mm") == Rule(1.0, "mm")
    assert parse_rule("inch:16") == Rule(25.4 / 16, "inch:16")
    assert parse_rule("INCH:32").pitch == pytest.approx(0.79375)


@pytest.mark.parametrize("text", ["cm", "inch", "inch:0", "inch:-4", "inch:1000", "inch:2.5", ""])
def test_other_rules_are_refused(text: str) -> None:
    with pytest.raises(UsageError, match="rule: found"):
        parse_rule(text)


def test_span() -> None:
    assert parse_span("812.5, 400.5,3105.5,431.5, 110") == Span(812.5, 400.5, 3105.5, 431.5, 110.0)


@pytest.mark.parametrize(("text", "why"), [
    ("1,2,3,4", "five numbers"), ("1,2,3,4,5,6", "five numbers"), ("a,2,3,4,5", "five numbers"), ("5,5,5,5,10", "far apart"),
    ("0,0,100,0,0", "more than 0"), ("0,0,100,0,-3", "more than 0"), ("0,0,1e999,0,5", "finite")])
def test_impossible_spans_are_refused(text: str, why: str) -> None:
    with pytest.raises(UsageError, match=why):
        parse_span(text)


def test_corners_of_a_sheet_in_any_order_go_round_it() -> None:
    assert parse_corners("10,20, 910,620,30,600,900,10") == ((10, 20), (900, 10), (910, 620), (30, 600))


@pytest.mark.parametrize(("text", "why"), [
    ("1,2,3,4,5,6", "eight numbers"), ("a,2,3,4,5,6,7,8", "eight numbers"), ("0,0,900,0,900,600,0,1e999", "no place"),
    ("0,0,900,0,900,600,-5,600", "no place"), ("0,0,900,0,900,600,900,600", "beside each other"),
    ("0,0,450,2,900,0,450,600", "three corners on one line"), ("0,0,900,0,450,900,450,300", "within the others"),
    ("0,0,900,0,500,300,400,300", "no sheet seen from above"), ("0,0,900,0,1700,300,800,300", "no sheet seen from above")])
def test_corners_that_no_sheet_has_are_refused(text: str, why: str) -> None:
    with pytest.raises(UsageError, match=why):
        parse_corners(text)


@pytest.mark.parametrize(("text", "reading"), [
    ("d7=6.5", Reading("d7", 6.5, 0.02)), ("d7 = 6.52+-0.05", Reading("d7", 6.52, 0.05)),
    ("d7=6.5±0.01", Reading("d7", 6.5, 0.01)), ("gap_1=12+/-0.1", Reading("gap_1", 12.0, 0.1)),
    ("d1=.5e1", Reading("d1", 5.0, 0.02))])
def test_readings(text: str, reading: Reading) -> None:
    assert parse_reading(text) == reading


@pytest.mark.parametrize("text", ["d7", "d7=", "=6.5", "d7=6,5", "d7=-1", "d7=0", "d7=6.5+-0", "d7=6.5+-", "d7=1e999", "d7=nan"])
def test_impossible_readings_are_refused(text: str) -> None:
    with pytest.raises(UsageError, match="reading"):
        parse_reading(text)


def test_a_shot_carries_what_was_told_and_nothing_else() -> None:
    shot = shot_from_options("p.jpg", sheet="A4", rule="mm", reference_height=0.8, face_height=9.0)
    assert shot == Shot("p.jpg", sheet=(210.0, 297.0), rule=Rule(1.0, "mm"), reference_height=0.8, face_height=9.0)
    assert shot.is_told and not shot_from_options("p.jpg").is_told


@pytest.mark.parametrize("options", [
    {"target": 1000.0}, {"calliper": 0.0}, {"face_height": -1.0}, {"face_height": float("nan")}, {"focal_35mm": 0.0},
    {"scan": 5.0}, {"edge_radius": -0.1}, {"part": 0}, {"rule": "mm", "reference_height": -0.1},
    {"scan": 600.0, "calliper": 20.0},
    {"sheet": "A4", "reference_height": 1.0}])
def test_impossible_values_are_refused(options: dict[str, float | str]) -> None:
    with pytest.raises(UsageError, match="found .* expected|expected"):
        shot_from_options("p.jpg", **options)  # type: ignore[arg-type]


def test_bed_and_thickness() -> None:
    assert parse_bed("220x200") == (220.0, 200.0)
    with pytest.raises(UsageError):
        parse_bed("220")
    with pytest.raises(UsageError, match="1 to 2"):
        plate_choice((220.0, 220.0), 0.8, True)


def test_damaged_places() -> None:
    assert parse_damage("812.5, 400.5,90") == Damage(812.5, 400.5, 90.0, "neighbours")
    assert parse_damage("812.5,400.5,90,mirror") == Damage(812.5, 400.5, 90.0, "mirror")
    assert shot_from_options("a.jpg", damage=("1,2,3", "4,5,6,mirror")).damage == (Damage(1.0, 2.0, 3.0),
                                                                                 Damage(4.0, 5.0, 6.0, "mirror"))


@pytest.mark.parametrize(("text", "why"), [
    ("1,2", "three numbers"), ("1,2,3,4", "three numbers"), ("1,2,left", "three numbers"), ("", "three numbers"),
    ("1,2,0", "in the picture"), ("1,2,-5", "in the picture"), ("-1,2,5", "in the picture"), ("1,2,1e9", "in the picture")])
def test_other_damage_is_refused(text: str, why: str) -> None:
    with pytest.raises(UsageError, match=f"damage: found .*{why}"):
        parse_damage(text)


def test_the_job_file_and_the_command_line_say_the_same_of_a_sheets_corners() -> None:
    text = "10,20,900,10,910,620,30,600"
    typed = shot_from_options("a.jpg", sheet="A4", sheet_corners=text)
    keys = PhotoKeys.model_validate({"file": "a.jpg", "sheet": "A4", "sheet_corners_px": [float(n) for n in text.split(",")]})
    assert keys.shot() == typed and typed.is_told
