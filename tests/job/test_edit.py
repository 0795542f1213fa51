"""Edits of a job file's text: what they mean is what the parser reads afterwards, and no comment is lost.

The reference is the standard library's own reader (tomllib, TOML 1.0) on both sides.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import JobError
from afterpart.job.edit import apply_edits, meant
from afterpart.job.read import parse_job
from afterpart.job.template import write_job_template

EXAMPLE = (Path(__file__).resolve().parents[2] / "examples" / "compressor_cover" / "job.toml").read_text()


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("template")
    (folder / "a.jpg").write_bytes(b"")
    return write_job_template(folder / "part", folder / "a.jpg").read_text()


def words(text: str) -> list[str]:
    """Every comment of a text, by its words: what stands behind the last mark of a line that has one."""
    return [line.rsplit("# ", 1)[1].strip() for line in text.splitlines() if "# " in line]


def test_a_commented_line_of_the_template_is_taken_into_use(template: str) -> None:
    text = apply_edits(template, [{"do": "change", "table": "photo", "index": 0, "row": {"sheet": "A4", "face_height": 8.7}}])
    assert 'sheet = "A4"              # a sheet of paper under the part' in text
    assert "face_height = 8.7         # from the table up to the face" in text
    assert len(text.splitlines()) == len(template.splitlines())
    assert parse_job(text).shots[0].face_height == 8.7


def test_a_commented_table_of_the_template_is_taken_into_use(template: str) -> None:
    text = apply_edits(template, [{"do": "set", "at": "cover.thickness", "value": 6.5}])
    lines = text.splitlines()
    at = lines.index("[cover]")
    assert lines[at - 1] == "# The cover itself." and lines[at + 2].startswith("thickness = 6.5           # from the outside")
    assert parse_job(text).wishes.cover is not None


def test_a_change_touches_its_own_line_only() -> None:
    text = apply_edits(EXAMPLE, [{"do": "set", "at": "cover.thickness", "value": 12}])
    changed = [(a, b) for a, b in zip(EXAMPLE.splitlines(), text.splitlines(), strict=True) if a != b]
    assert changed == [("thickness = 14.4          # the old one had 9 mm; printed plastic bows more between bolts 74 mm apart",
                        "thickness = 12            # the old one had 9 mm; printed plastic bows more between bolts 74 mm apart")]


def test_there_and_back_is_the_same_text(template: str) -> None:
    for text in (EXAMPLE, template):
        there = apply_edits(text, [{"do": "set", "at": "revision", "value": "B"}])
        assert there != text and apply_edits(there, [{"do": "set", "at": "revision", "value": "A"}]) == text
        added = apply_edits(text, [{"do": "table", "at": "zone", "row": {"a": 1}}])
        assert apply_edits(added, [{"do": "untable", "at": "zone"}]).rstrip() == text.rstrip()


def test_a_key_that_goes_leaves_its_words_and_comes_back() -> None:
    gone = apply_edits(EXAMPLE, [{"do": "change", "table": "photo", "index": 0, "row": {"channel_depth": None}}])
    assert "# channel_depth = 2.0     # by depth rod" in gone
    assert apply_edits(gone, [{"do": "change", "table": "photo", "index": 0, "row": {"channel_depth": 2.0}}]) == EXAMPLE


def test_rows_are_added_after_their_like_and_dropped_without_their_neighbours_words(template: str) -> None:
    two = apply_edits(template, [{"do": "add", "table": "reading", "row": {"id": f"d{k}", "value": 6.5}} for k in (1, 2)])
    assert [reading.id for reading in parse_job(two).readings] == ["d1", "d2"]
    one = apply_edits(two, [{"do": "drop", "table": "reading", "index": 0}])
    assert [reading.id for reading in parse_job(one).readings] == ["d2"]
    none = apply_edits(one, [{"do": "drop", "table": "reading", "index": 0}])
    assert "reading" not in tomllib.loads(none)
    assert "# Heights by depth rod, as on heights.pdf, which says how to take each." in none


@pytest.mark.parametrize("text", [
    'name = "x"\nphoto = [{file = "a.jpg"}]\n',
    'name = "x"\ndatum = {kind = "auto"}\n[[photo]]\nfile = "a.jpg"\n',
    'name = "x"\ncover.thickness = 5.0\n[[photo]]\nfile = "a.jpg"\n',
    'name = "x"\r\n[[photo]]\r\nfile = "a.jpg"\r\n',
    'name = """\nlong # no comment\n"""  # told\n'
    '[[photo]]\n"file" = "a.jpg"\n[printer]\nbed = [\n  200,  # wide\n  200,\n]  # deep\n'])
def test_any_way_to_write_toml_can_be_edited(text: str) -> None:
    edits = [{"do": "set", "at": "name", "value": 'b"\\\n#'}, {"do": "set", "at": "cover.thickness", "value": 6.0},
             {"do": "add", "table": "photo", "row": {"file": "b.jpg"}}, {"do": "set", "at": "datum.kind", "value": "auto"},
             {"do": "set", "at": "printer.bed", "value": [180, 200.5]}, {"do": "drop", "table": "photo", "index": 0},
             {"do": "change", "table": "photo", "index": 0, "row": {"part": 2}}]
    done = apply_edits(text, edits)
    plain = tomllib.loads(done)
    assert plain["name"] == 'b"\\\n#' and plain["cover"]["thickness"] == 6.0 and plain["photo"] == [{"file": "b.jpg", "part": 2}]
    assert plain["datum"] == {"kind": "auto"} and plain["printer"]["bed"] == [180, 200.5]
    assert ("\r\n" in done) == ("\r\n" in text)


def test_true_is_not_one_and_six_is_not_six_point_nothing() -> None:
    text = 'name = "x"\n[printer]\nuse_trials = true\nnozzle = 6\n'
    assert "use_trials = 1" in apply_edits(text, [{"do": "set", "at": "printer.use_trials", "value": 1}])
    assert "nozzle = 6.5" in apply_edits(text, [{"do": "set", "at": "printer.nozzle", "value": 6.5}])


@pytest.mark.parametrize("edit", [
    {}, {"do": "burn"}, {"do": "set", "at": "", "value": 1}, {"do": "set", "at": "a..b", "value": 1},
    {"do": "set", "at": "photo"},
    {"do": "set", "at": "photo.file", "value": "x"}, {"do": "set", "at": "cover", "value": 1},
    {"do": "remove", "at": "cover.nothing"}, {"do": "drop", "table": "photo", "index": 1},
    {"do": "drop", "table": "photo", "index": True}, {"do": "add", "table": "cover"},
    {"do": "change", "table": "role", "index": 0}, {"do": "table", "at": "cover"}, {"do": "untable", "at": "zone"},
    {"do": "set", "at": "cover.thickness", "value": None}, {"do": "set", "at": "cover.thickness", "value": float("nan")},
    {"do": "set", "at": "cover.number", "value": {"a": 1}}, {"do": "add", "table": "role", "row": {"a b": 1}}, 7,
    {"do": "set", "at": "cover.number", "value": "x" * 30000}, {"do": "set", "at": "__class__.x", "value": 1}])
def test_an_edit_that_does_not_fit_is_refused_in_words(edit: Any) -> None:
    with pytest.raises(JobError) as refused:
        apply_edits(EXAMPLE, [edit])
    assert "found" in str(refused.value) and "expected" in str(refused.value)


VALUES = st.one_of(st.booleans(), st.integers(-10**6, 10**6), st.floats(allow_nan=False, allow_infinity=False, width=32),
                   st.text(max_size=20), st.lists(st.floats(-100, 100), max_size=4))
NAMES = st.sampled_from(["thickness", "floor", "number", "new_key", "u", "value", "of"])
TABLES = st.sampled_from(["cover", "datum", "plate", "zone", "seal"])
ROWS = st.sampled_from(["reading", "role", "change", "height", "thing"])
ROW = st.dictionaries(NAMES, VALUES, max_size=3)
EDITS = st.one_of(
    st.builds(lambda t, k, v: {"do": "set", "at": f"{t}.{k}", "value": v}, TABLES, NAMES, VALUES),
    st.builds(lambda t, k: {"do": "remove", "at": f"{t}.{k}"}, TABLES, NAMES),
    st.builds(lambda t, r: {"do": "table", "at": t, "row": r}, TABLES, ROW),
    st.builds(lambda t: {"do": "untable", "at": t}, TABLES),
    st.builds(lambda t, r: {"do": "add", "table": t, "row": r}, ROWS, ROW),
    st.builds(lambda t, i, r: {"do": "change", "table": t, "index": i, "row": r}, ROWS, st.integers(0, 3), ROW),
    st.builds(lambda t, i: {"do": "drop", "table": t, "index": i}, ROWS, st.integers(0, 3)))


@settings(max_examples=150, deadline=None)
@given(edits=st.lists(EDITS, min_size=1, max_size=8), of_template=st.booleans())
def test_what_is_read_afterwards_is_what_was_meant(template: str, edits: list[dict[str, Any]], of_template: bool) -> None:
    """The plain values are changed beside the text; both must agree after every edit, and no sentence of its own is lost."""
    text = template if of_template else EXAMPLE
    sentences = {line for line in text.splitlines() if line.startswith("# ") and "=" not in line and "[" not in line}
    for edit in edits:
        plain = tomllib.loads(text)
        try:
            wanted = meant(plain, edit)
        except JobError:
            continue
        text = apply_edits(text, [edit])
        assert tomllib.loads(text) == wanted
    assert sentences <= set(text.splitlines())


THREE = """name = "lid"

[[photo]]        # from above
file = "a.jpg"
# sheet = "A4"   # of the first one
face_height = 9.0

[[photo]]        # from the left
file = "b.jpg"   # blurred a little

[[photo]]
file = "c.jpg"
shows = "part"   # not the mate

[[damage]]       # a chip
at = [10.0, 20.0]
radius = 5.0

[[damage]]
at = [30.0, 20.0]
radius = 6.0
photo = 3

[[edit]]
what = "hole"
at_px = [5.0, 6.0]
photo = 2
"""


@pytest.mark.parametrize("ending", ["\n", "\r\n"])
@pytest.mark.parametrize(("index", "to"), [(0, 1), (0, 2), (2, 0), (1, 0), (1, 1)])
def test_a_moved_photograph_takes_its_comments_along_and_is_still_meant_by_those_that_name_it(index: int, to: int,
                                                                                               ending: str) -> None:
    before, text = tomllib.loads(THREE), apply_edits(THREE.replace("\n", ending), [
        {"do": "move", "table": "photo", "index": index, "to": to}])
    after = tomllib.loads(text)
    expected = [row["file"] for row in before["photo"]]
    expected.insert(to, expected.pop(index))
    assert [row["file"] for row in after["photo"]] == expected
    for table in ("damage", "edit"):
        named = [(job["photo"][row.get("photo", 1) - 1]["file"]) for job in (before, after) for row in job[table]]
        assert named[:len(named) // 2] == named[len(named) // 2:]
    assert sorted(words(text)) == sorted(words(THREE)) and ("\r\n" in text) == (ending == "\r\n")
    assert text.count('[[photo]]        # from the left') == 1 and 'file = "b.jpg"   # blurred a little' in text
    back = apply_edits(text, [{"do": "move", "table": "photo", "index": to, "to": index}])
    assert tomllib.loads(back)["photo"] == before["photo"]


def test_what_is_told_about_a_dropped_photograph_goes_with_it_and_the_others_keep_theirs() -> None:
    text = apply_edits(THREE, [{"do": "drop", "table": "photo", "index": 1}])
    job = tomllib.loads(text)
    assert [row["file"] for row in job["photo"]] == ["a.jpg", "c.jpg"] and "edit" not in job
    assert [row.get("photo", 1) for row in job["damage"]] == [1, 2] and "# a chip" in text
    assert [shot.damage[0].radius for shot in parse_job(text).shots] == [5.0, 6.0]


@pytest.mark.parametrize("to", [-1, 3, True, None, "0"])
def test_a_row_is_moved_to_a_place_that_is_there(to: Any) -> None:
    with pytest.raises(JobError, match="photo: found row .*expected 0 to 2"):
        apply_edits(THREE, [{"do": "move", "table": "photo", "index": 0, "to": to}])


def test_rows_of_an_inline_list_are_moved_too() -> None:
    text = 'name = "lid"\nphoto = [{ file = "a.jpg" }, { file = "b.jpg" }]\n'
    moved = tomllib.loads(apply_edits(text, [{"do": "move", "table": "photo", "index": 1, "to": 0}]))
    assert [row["file"] for row in moved["photo"]] == ["b.jpg", "a.jpg"]
