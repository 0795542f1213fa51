"""Job files: what is read, and that every complaint comes at once with its line and key."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.errors import FolderError, JobError
from afterpart.job.read import parse_job, read_job
from afterpart.model.job import Damage, DatumChoice, Height, Job, PlateChoice, Reading, Rule, Shot, Span

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
