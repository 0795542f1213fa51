"""Job files: what is read, and that every complaint comes at once with its line and key."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import typing
from dataclasses import fields
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.errors import FolderError, JobError
from afterpart.job import service_keys
from afterpart.job.layout import JobKeys
from afterpart.job.making_keys import RESULTS
from afterpart.job.read import parse_job, read_job
from afterpart.model.job import Damage, DatumChoice, Height, Job, PlateChoice, Reading, Rule, Shot, Span
from afterpart.model.store import job_json, parse_job_json
from afterpart.model.wishes import (
    DUTIES,
    PIECE_KINDS,
    ROLES,
    AddedHole,
    BoltWish,
    Change,
    CouponWish,
    CoverWish,
    FailureRow,
    FilterWish,
    FitWish,
    HolderWish,
    InletWish,
    LipWish,
    MachineFacts,
    PrinterWish,
    RoleChoice,
    ScrewWish,
    SealWish,
    ServiceFacts,
    Trial,
    Wishes,
)
from afterpart.standards.service_places import PLACES

WHOLE = """
name = "inlet cover"
revision = "B"
date = "2026-01-31"
origin = "metric"

[[photo]]
file = "a.jpg"
sheet = "A4"
rule = "inch:16"
reference_height = 0.8
face_height = 9
edge_radius = 0.5
part = 1

[[photo]]
file = "b.jpg"
span = [812.5, 400.5, 3105.5, 431.5, 110]

[[reading]]
id = "d7"
value = 6.52

[[reading]]
id = "d9"
value = 140
u = 0.05

[datum]
kind = "holes"
of = ["c1", "c2"]

[plate]
thickness = 2
bed = [180, 180]
frame = false
"""


def complaints(text: str) -> list[str]:
    with pytest.raises(JobError) as caught:
        parse_job(text)
    return str(caught.value).splitlines()


def test_a_whole_job() -> None:
    assert parse_job(WHOLE) == Job(
        name="inlet cover", revision="B", date="2026-01-31", origin="metric",
        shots=(Shot("a.jpg", sheet=(210.0, 297.0), rule=Rule(25.4 / 16, "inch:16"), reference_height=0.8, face_height=9.0,
                    edge_radius=0.5, part=1),
               Shot("b.jpg", span=Span(812.5, 400.5, 3105.5, 431.5, 110.0))),
        readings=(Reading("d7", 6.52), Reading("d9", 140.0, 0.05)), datum=DatumChoice("holes", ("c1", "c2")),
        plate=PlateChoice(2.0, (180.0, 180.0), False))


def test_the_least_job() -> None:
    assert parse_job('name = "x"\n[[photo]]\nfile = "a.jpg"') == Job("x", (Shot("a.jpg"),))


def test_all_complaints_come_at_once_in_order_of_lines() -> None:
    found = complaints("""name = "x"
colour = "red"
[[photo]]
file = "a.jpg"
sheet = "A9"
face_hight = 9
span = [1, 2]
calliper = -4
[[photo]]
sheet = "A4"
[[photo]]
file = "c.jpg"
scan = 600
calliper = 20
[[reading]]
id = "d1"
value = "6.5"
[[reading]]
id = "d1"
value = 7
[datum]
kind = "holes"
of = ["c1"]
[plate]
thickness = 5
""")
    expected = ["2: colour", "5: photo.1.sheet", "6: photo.1.face_hight", "7: photo.1.span", "8: photo.1.calliper",
                "9: photo.2.file", "13: photo.3.scan", "17: reading.1.value", "19: reading.2.id", "23: datum.of",
                "25: plate.thickness"]
    assert [line.split(": found")[0] for line in found] == [f"job.toml:{place}" for place in expected]
    assert all("expected" in line and line.endswith((".", "?")) for line in found)
    assert "Did you mean face_height?" in found[2]


@pytest.mark.parametrize(("text", "line", "words"), [
    ('name = "x"\n[[photo]]\nfile = "a', 3, "TOML"),
    ('name = "x"\nname = "y"\n', 2, "name"),
    ("a = [1,\n", 2, "too early"),
    ("", 1, "name"),
    ("photo = 3\nname = 'x'", 1, "photo"),
])
def test_text_that_is_no_job(text: str, line: int, words: str) -> None:
    found = complaints(text)
    assert any(words in complaint for complaint in found)
    assert abs(int(found[0].split(":")[1]) - line) <= 1


def test_keys_after_values_over_several_lines_keep_their_line() -> None:
    found = complaints('name = """two\n[[photo]] lines"""\n[[photo]]\nfile = "a.jpg"\nspan = [1, 2, # ]\n  "x", [4]]\nfoo = 1\n')
    assert [line.split(": found")[0] for line in found] == ["job.toml:5: photo.1.span", "job.toml:7: photo.1.foo"]


@given(st.text(max_size=200))
def test_any_text_is_a_job_or_a_job_error(text: str) -> None:
    try:
        parse_job(text)
    except JobError as error:
        assert str(error).startswith("job.toml:")


def test_missing_and_unreadable_files(tmp_path: Path) -> None:
    with pytest.raises(FolderError, match="afterpart new"):
        read_job(tmp_path)
    (tmp_path / "job.toml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(JobError, match="UTF-8"):
        read_job(tmp_path)


DAMAGED = """
name = "cover"
[[photo]]
file = "a.jpg"
[[photo]]
file = "b.jpg"
face_height = 5.0
[[damage]]
at = [812.5, 400.5]
radius = 90
[[damage]]
at = [100, 200.5]
radius = 40.0
from = "mirror"
photo = 2
[[height]]
level = "face"
value = 9.02
[[height]]
level = "channel floor"
value = 2.1
u = 0.05
"""


def test_damage_goes_to_its_photo_and_heights_to_the_card() -> None:
    job = parse_job(DAMAGED)
    assert job.shots[0].damage == (Damage(812.5, 400.5, 90.0, "neighbours"),)
    assert job.shots[1].damage == (Damage(100.0, 200.5, 40.0, "mirror"),)
    assert job.heights == (Height("face", 9.02, 0.03), Height("channel floor", 2.1, 0.05))


def test_a_height_on_the_card_stands_for_what_a_photo_does_not_say() -> None:
    first, second = parse_job(DAMAGED).shots
    assert (first.face_height, first.channel_depth) == (9.02, 2.1)
    assert (second.face_height, second.channel_depth) == (5.0, 2.1)
    assert first.pad_height is None


def test_a_boss_on_the_card_tells_how_high_a_pad_stands() -> None:
    job = parse_job(DAMAGED + '\n[[height]]\nlevel = "boss"\nvalue = 1.2\n')
    assert [shot.pad_height for shot in job.shots] == [1.2, 1.2]


@pytest.mark.parametrize(("change", "line", "words"), [
    (("radius = 90", "radius = 0"), 9, "expected one in the picture"),
    (("at = [812.5, 400.5]", "at = [812.5]"), 9, "expected 2 numbers"),
    (('from = "mirror"', 'from = "left"'), 14, "Choose one of these"),
    (("photo = 2", "photo = 3"), 15, "expected 1 to 2"),
    (('level = "channel floor"', 'level = "face"'), 20, "a second time"),
    (('level = "channel floor"', 'level = "ceiling"'), 20, "Choose one of these"),
    (("value = 9.02", "value = -9.02"), 18, "expected from the table up to the traced face"),
    (("radius = 40.0", "radios = 40.0"), 13, "Did you mean radius"),
])
def test_damage_and_heights_that_cannot_be_are_complained_of_in_place(change: tuple[str, str], line: int, words: str) -> None:
    first = complaints(DAMAGED.replace(*change, 1))
    assert any(text.startswith(f"job.toml:{line}: ") and words in text for text in first), first


SHORT = """
name = "lid"
[[photo]]
file = "a.jpg"
"""

PIECES = """
name = "inlet cover"
make = ["cover", "hole_coupon"]
[[photo]]
file = "a.jpg"
[[change]]
feature = "c7"
do = "drop"
reason = "no longer used"
[[role]]
of = "c1"
role = "locates"
clearance = 0.15
[[role]]
of = "lip"
role = "seals"
[[hole]]
name = "drain"
at = [0, -30.5]
diameter = 4
[cover]
thickness = 5
floor = 2
fit = "over"
clearance = 0.4
number = "AP-12"
arrow = true
[bolts]
thread = "M6"
holes = ["c1", "c2"]
washer = "ISO 7093"
sleeve = true
torque_n_m = 2.5
[seal]
kind = "flat"
squeeze = 0.3
[lip]
height = 1.2
[inlet]
bellmouth = 2
[filter]
squeeze = 0.4
cuts = 0
flow_m3_per_h = 12
[holder]
kind = "latches"
screws = 3
[screws]
outside = 2.95
core = 2.1
pitch = 1.06
[coupon]
step = 0.1
[printer]
material = "ASA"
bed = [180, 200]
[[trial]]
what = "pilot"
drawn = 2.45
result = "drove"
turns = 6
[[trial]]
what = "fit"
drawn = 0
result = "rubs"
"""

WISHES = Wishes(
    make=("cover", "hole_coupon"), changes=(Change("c7", "drop", "no longer used"),),
    roles=(RoleChoice("c1", "locates", 0.15), RoleChoice("lip", "seals")), holes=(AddedHole("drain", (0.0, -30.5), 4.0),),
    cover=CoverWish(thickness=5.0, floor=2.0, fit="over", clearance=0.4, number="AP-12", arrow=True),
    bolts=BoltWish(thread="M6", holes=("c1", "c2"), washer="ISO 7093", sleeve=True, torque_n_m=2.5),
    seal=SealWish(kind="flat", squeeze=0.3, section="flat"), lip=LipWish(height=1.2), inlet=InletWish(bellmouth=2.0),
    filter=FilterWish(squeeze=0.4, cuts=0, flow_m3_per_h=12.0), holder=HolderWish(kind="latches", screws=3),
    screws=ScrewWish(outside=2.95, core=2.1, pitch=1.06), coupon=CouponWish(step=0.1),
    printer=PrinterWish(material="ASA", bed=(180.0, 200.0)),
    trials=(Trial("pilot", 2.45, "drove", turns=6.0), Trial("fit", 0.0, "rubs")))


def test_what_is_to_be_made() -> None:
    assert parse_job(PIECES).wishes == WISHES
    assert parse_job_json(job_json(parse_job(PIECES))).wishes == WISHES, "job.json keeps every wish"


def test_a_table_that_is_not_given_asks_for_nothing_and_an_empty_one_has_the_nouns_defaults() -> None:
    assert parse_job(SHORT).wishes == Wishes()
    empty = "".join(f"[{name}]\n" for name in ("cover", "bolts", "seal", "lip", "inlet", "filter", "holder", "screws", "coupon"))
    assert parse_job(SHORT + empty).wishes == Wishes(
        cover=CoverWish(), bolts=BoltWish(), seal=SealWish(), lip=LipWish(), inlet=InletWish(), filter=FilterWish(),
        holder=HolderWish(), screws=ScrewWish(), coupon=CouponWish())


def test_the_plate_is_laid_on_the_printers_bed_unless_told_otherwise() -> None:
    printer = "[printer]\nbed = [180, 200]\n"
    assert parse_job(SHORT + printer).plate.bed == (180.0, 200.0)
    assert parse_job(SHORT + printer + "[plate]\nbed = [100, 100]\n").plate.bed == (100.0, 100.0)
    assert parse_job(SHORT).plate.bed == PrinterWish().bed


@pytest.mark.parametrize("noun", [AddedHole, BoltWish, Change, CouponWish, CoverWish, FilterWish, HolderWish, InletWish, LipWish,
                                  MachineFacts, PrinterWish, RoleChoice, ScrewWish, SealWish, ServiceFacts, FailureRow, FitWish,
                                  Trial], ids=lambda noun: noun.__name__)
def test_every_wish_has_its_key(noun: type) -> None:
    tables = [set(table.get("properties", ())) for table in JobKeys.model_json_schema()["$defs"].values()]
    assert {field.name for field in fields(noun)} in tables


def test_words_the_reader_takes_are_those_of_the_nouns() -> None:
    schema = JobKeys.model_json_schema()
    tables = schema["$defs"]
    assert schema["properties"]["make"]["items"]["enum"] == list(PIECE_KINDS)
    assert tables["RoleKeys"]["properties"]["role"]["enum"] == list(ROLES)
    assert tables["SealKeys"]["properties"]["duty"]["enum"] == list(DUTIES)
    assert set(tables["TrialKeys"]["properties"]["result"]["enum"]) == {word for words in RESULTS.values() for word in words}


@pytest.mark.parametrize(("table", "line", "words"), [
    ("cover", "thickness = 0", ("cover.thickness", "at least 0.8")),
    ("cover", "thickness = -6", ("cover.thickness", "-6")),
    ("cover", "thickness = inf", ("cover.thickness", "finite")),
    ("cover", "floor = 6.0", ("cover.floor", "less than the thickness")),
    ("cover", "fit = 'under'", ("cover.fit", "'flush', 'over' or 'inside'")),
    ("cover", "thicknes = 5", ("cover.thicknes", "Did you mean thickness?")),
    ("cover", "called = 'a/b'", ("cover.called", "letters, figures")),
    ("cover", "arrow = 1", ("cover.arrow", "true or false")),
    ("bolts", "thread = 'm6'", ("bolts.thread", "capital M")),
    ("bolts", "sleeve = true\ninsert = true", ("bolts.insert", "one of the two")),
    ("bolts", "sleeve_outside = 9", ("bolts.sleeve_outside", "sleeve = true")),
    ("bolts", "holes = ['c1', 'c1']", ("bolts.holes", "once")),
    ("bolts", "torque_n_m = 0", ("bolts.torque_n_m", "more than 0")),
    ("seal", "squeeze = 25", ("seal.squeeze", "less than 0.9")),
    ("seal", "squeeze = 0", ("seal.squeeze", "more than 0")),
    ("seal", "section = 'hollow'", ("seal.section", "kind ring or flat")),
    ("seal", "kind = 'ring'\nsection = 'beaded'", ("seal.section", "bead or hollow")),
    ("seal", "cord = 0", ("seal.cord", "at least 0.5")),
    ("lip", "height = 0", ("lip.height", "more than 0")),
    ("inlet", "opening = 'keep'", ("inlet.of", "outline.json")),
    ("filter", "squeeze = 0.9", ("filter.squeeze", "less than 0.9")),
    ("filter", "cuts = 1.5", ("filter.cuts", "whole number")),
    ("holder", "free_span = nan", ("holder.free_span", "finite")),
    ("screws", "core = 3.1", ("screws.core", "outside diameter of 3 mm")),
    ("screws", "boss = 2.5", ("screws.outside", "boss of 2.5 mm")),
    ("coupon", "count = 1", ("coupon.count", "at least 2")),
    ("printer", "bed = [220]", ("printer.bed", "2 numbers")),
    ("printer", "layer = 0.4", ("printer.layer", "nozzle of 0.4 mm")),
    ("[change]", "feature = 'c1'\ndo = 'remove'\nreason = 'x'", ("change.1.do", "'keep', 'add' or 'drop'")),
    ("[hole]", "name = 'a'\nat = [0, 5000]\ndiameter = 4", ("hole.1.at", "2000 mm")),
    ("[trial]", "what = 'pilot'\ndrawn = 2.4\nresult = 'rubs'", ("trial.1.result", "drove, snapped, stripped")),
    ("[trial]", "what = 'clearance'\ndrawn = 0\nresult = 'fits'", ("trial.1.drawn", "diameter")),
    ("[trial]", "what = 'size'\nof = 'd1'\ndrawn = 148.0", ("trial.1.printed", "by calliper")),
    ("[trial]", "what = 'size'\nprinted = 147.6\ndrawn = 148.0", ("trial.1.of", "d7")),
    ("[trial]", "what = 'size'\nof = 'd1'\nprinted = 14.76\ndrawn = 148.0", ("trial.1.printed", "148")),
    ("[trial]", "what = 'size'\nresult = 'fits'\ndrawn = 148.0", ("trial.1.result", "none")),
    ("[trial]", "what = 'pilot'\ndrawn = 2.4", ("trial.1.result", "drove, snapped, stripped")),
    ("[fit_report]", "machine = 'a pump'\nfitted = 'yes'", ("fit_report.1.fitted", "after work")),
    ("[fit_report]", "machine = 'a pump'\nfitted = 'fits'\nsizes = { d1 = -3.0 }", ("fit_report.1.sizes", "above 0")),
])
def test_what_cannot_be_is_told_with_its_line_and_key(table: str, line: str, words: tuple[str, ...]) -> None:
    told = complaints(SHORT + f"[{table}]\n" + line.replace("'", '"') + "\n")
    assert len(told) == 1, told
    number = int(told[0].split(":")[1])
    assert 5 <= number <= 8 and all(word in told[0] for word in words), told
    assert "found" in told[0] and "expected" in told[0]


def test_all_complaints_about_the_pieces_come_at_once() -> None:
    text = SHORT.replace('"lid"', '"lid"\nmake = ["cover", "cover", "lid"]') + """
[[role]]
of = "c1"
role = "locates"
[[role]]
of = "c1"
role = "clears"
[cover]
thickness = 200
[printer]
nozzle = "0.4"
"""
    told = complaints(text)
    for place in ("make.1", "make.3", "role.2.of", "cover.thickness", "printer.nozzle"):
        assert any(f" {place}: " in line for line in told), (place, told)
    assert len(told) == 5


def test_what_the_checks_must_know_is_read_into_its_nouns() -> None:
    job = parse_job("""
name = "lid"
[[photo]]
file = "a.jpg"
[machine]
kind = "compressor"
displacement_cm3 = 65
speed_rpm = 2850
swallows = true
media = ["oil", "water"]
[service]
place = "near a motor"
exposed = ["oil"]
[fit]
wanted_share = 0.95
mate_group = "TG5"
""")
    assert job.wishes.machine == MachineFacts("compressor", 65.0, 2850.0, swallows=True, media=("oil", "water"))
    assert job.wishes.service == ServiceFacts(place="near a motor", exposed=("oil",))
    assert job.wishes.fit == FitWish(0.95, "TG5")


def test_rows_of_the_failure_mode_table_are_read() -> None:
    job = parse_job("""
name = "lid"
[[photo]]
file = "a.jpg"
[[failure_mode]]
item = "cover"
mode = "cracks"
severity = 7
""")
    assert job.wishes.failure_modes == (FailureRow("cover", "cracks", severity=7),)


def test_without_their_tables_nothing_is_known_of_machine_and_service() -> None:
    wishes = parse_job('name = "lid"\n[[photo]]\nfile = "a.jpg"').wishes
    assert (wishes.machine, wishes.service, wishes.fit) == (MachineFacts(), ServiceFacts(), FitWish())


@pytest.mark.parametrize(("table", "words"), [
    ('[machine]\nmedia = ["milk"]', ("machine.media", "milk", "food")),
    ("[machine]\nspeed_rpm = 0", ("machine.speed_rpm", "more than 0")),
    ('[service]\nplace = "cellar"', ("service.place", "cellar", "outdoors")),
    ("[service]\ntested_hours = 5", ("service.tested_machines", "Give both")),
    ("[fit]\nwanted_share = 99", ("fit.wanted_share", "less than 1")),
    ("[machine]\nrpm = 2850", ("machine.rpm", "not known here")),
])
def test_unusable_facts_are_told_with_their_key(table: str, words: tuple[str, ...]) -> None:
    with pytest.raises(JobError) as told:
        parse_job(f'name = "lid"\n[[photo]]\nfile = "a.jpg"\n{table}')
    for word in words:
        assert word in str(told.value), (word, str(told.value))


def test_places_of_service_are_those_of_the_table() -> None:
    assert set(typing.get_args(service_keys.Place)) - {""} == set(PLACES)


def test_photographs_say_what_they_show_and_which_face_looks_up() -> None:
    job = parse_job("""name = "lid"
[[photo]]
file = "a.jpg"
[[photo]]
file = "b.jpg"
face = "other"
[[photo]]
file = "c.jpg"
shows = "mate"
[[height]]
level = "face"
value = 9.0
""")
    assert [(shot.shows, shot.face) for shot in job.shots] == [("part", "mating"), ("part", "other"), ("mate", "mating")]
    assert [shot.face_height for shot in job.shots] == [9.0, 9.0, None], "the card's heights are the part's"
    assert job.shots_of("part") == job.shots[:2] and job.shots_of("mate") == job.shots[2:]


def test_the_first_photograph_shows_the_part() -> None:
    found = complaints('name = "lid"\n[[photo]]\nfile = "a.jpg"\nshows = "mate"\n[[photo]]\nfile = "b.jpg"\n')
    assert len(found) == 1 and found[0].startswith("job.toml:4: photo.1.shows: found mate"), found
