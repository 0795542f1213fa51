"""Every noun to JSON and back: nothing lost, nothing guessed, the published keys of outline.json."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import json
import math
import types
import typing
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.errors import FolderError
from afterpart.model.assembly import Build
from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap, Note, Reference, Rim
from afterpart.model.feature import Feature
from afterpart.model.job import DatumChoice, Job, PlateChoice, Reading, Rule, Shot, Span
from afterpart.model.outline import Arc, Circle, Datum, Dimension, Line, Loop, NextReading, Outline, Relation, Share
from afterpart.model.piece import (
    Add,
    ChamferFirstLayer,
    Cut,
    Deboss,
    HoleLabel,
    Keep,
    Lettering,
    Piece,
    PrintTime,
    Prism,
    Step,
)
from afterpart.model.store import (
    EdgeRecord,
    build_json,
    edges_json,
    job_json,
    outline_json,
    parse_build,
    parse_edges,
    parse_job_json,
    parse_outline,
    parse_pieces,
    pieces_json,
)

number = st.floats(-1e6, 1e6)
positive = st.floats(1e-6, 1e6)
point = st.tuples(number, number)
name = st.text(max_size=8)

segments = st.one_of(
    st.builds(Line, name, point, point), st.builds(Arc, name, point, point, point, positive, st.booleans()),
    st.builds(Circle, name, point, positive))
loops = st.builds(Loop, st.sampled_from(["outer", "opening", "channel"]), st.integers(1, 3),
                  st.lists(segments, max_size=3).map(tuple), st.sampled_from(["", "inner", "outer"]), st.none() | positive)
cameras = st.builds(Camera, st.integers(300, 9000), st.integers(300, 9000), positive, number, number,
                    st.just(((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0))), st.tuples(number, number, number), positive)
references = st.builds(Reference, name, positive, positive)
notes = st.lists(st.builds(Note, name, name), max_size=2).map(tuple)
outlines = st.builds(
    Outline, st.sampled_from(["mm", "px"]), references, st.builds(Datum, name, point, number),
    st.lists(loops, max_size=3).map(tuple), st.lists(loops, max_size=3).map(tuple),
    st.lists(st.builds(Dimension, name, name, st.lists(name, max_size=2).map(tuple), number, positive, number, st.floats(0, 1),
                       st.none() | number, name), max_size=2).map(tuple),
    st.lists(st.builds(Relation, name, st.lists(name, max_size=3).map(tuple)), max_size=2).map(tuple),
    st.lists(st.builds(NextReading, name, number, name), max_size=2).map(tuple), notes, st.none() | cameras)
shots = st.builds(Shot, name, st.none() | st.tuples(positive, positive), st.none() | st.builds(Rule, positive, name),
                  st.none() | positive, st.none() | positive,
                  st.none() | st.builds(Span, number, number, number, number, positive), st.none() | positive, positive,
                  st.none() | positive, st.none() | positive, st.none() | positive, st.none() | st.integers(1, 9))
jobs = st.builds(Job, name, st.lists(shots, min_size=1, max_size=2).map(tuple), name, name, name,
                 st.lists(st.builds(Reading, name, positive, positive), max_size=2).map(tuple),
                 st.builds(DatumChoice, name, st.lists(name, max_size=2).map(tuple), point, number),
                 st.builds(PlateChoice, positive, st.tuples(positive, positive), st.booleans(), positive))


@given(outlines)
@settings(deadline=None, max_examples=60)
def test_outlines_come_back_equal(outline: Outline) -> None:
    assert parse_outline(outline_json(outline)) == outline


@given(jobs)
@settings(deadline=None, max_examples=60)
def test_jobs_come_back_equal(job: Job) -> None:
    assert parse_job_json(job_json(job)) == job


def edge_record() -> EdgeRecord:
    generator = np.random.default_rng(3)
    rim = Rim("outer", 1, generator.normal(0.0, 50.0, (40, 2)), generator.uniform(0.001, 0.1, 40))
    rims = (rim, replace(rim, role="opening", wall="inner"))
    edges = EdgeMap("mm", rims, Reference("sheet", 11.2, 0.003), None, 9.0, 0.5, "p.jpg", (Note("a", "b"),))
    return EdgeRecord("ab" * 32, Shot("p.jpg", sheet=(210.0, 297.0)), "0.1", edges)


def test_edges_come_back_to_the_last_bit() -> None:
    record = edge_record()
    again = parse_edges(edges_json(record))
    for before, after in zip(record.edges.rims, again.edges.rims, strict=True):
        assert np.array_equal(before.points, after.points) and np.array_equal(before.u, after.u)
        assert (before.role, before.part, before.wall) == (after.role, after.part, after.wall)
    assert replace(again, edges=replace(again.edges, rims=())) == replace(record, edges=replace(record.edges, rims=()))


def test_edges_are_used_again_only_for_the_same_picture_shot_and_version() -> None:
    record = edge_record()
    shot = replace(record.shot, file="renamed.jpg")
    assert record.holds_for(record.photo_sha256, shot, "0.1")
    assert not record.holds_for("cd" * 32, shot, "0.1")
    assert not record.holds_for(record.photo_sha256, replace(shot, face_height=9.0), "0.1")
    assert not record.holds_for(record.photo_sha256, shot, "0.2")


def test_pieces_come_back_equal() -> None:
    square = (Line("a", (0.0, 0.0), (9.0, 0.0)), Arc("b", (9.0, 0.0), (0.0, 0.0), (4.5, 0.0), 4.5, True))
    prism = Prism(square, ((Circle("c", (4.0, 1.0), 1.0),),), 0.0, 1.5)
    piece = Piece("check_plate", "cover 1 of 2", "cover_1", "A",
                  (Add((prism,)), Cut((prism, prism)), Keep(prism), ChamferFirstLayer(0.4),
                   Deboss((Lettering("1", (1.0, 2.0), 3.0, 90.0),), 1.5, 0.4)),
                  1.5, (HoleLabel(1, "c", (4.0, 1.0), (5.0, 1.0)),), PrintTime(20.0, 40.0, "by area"), (Note("x", "y"),))
    assert parse_pieces(pieces_json((piece, piece))) == (piece, piece)


def outline_with_everything() -> Outline:
    channel = Loop("channel", 1, (Line("s1", (0.0, 0.0), (1.0, 0.0)), Arc("s2", (1.0, 0.0), (0.0, 0.0), (0.5, 0.0), 0.5, True)),
                   "outer", 2.0)
    hole = Loop("opening", 1, (Circle("c1", (3.0, 4.0), 3.25),))
    return Outline("mm", Reference("sheet", 11.2, 0.003), Datum("longest edge", (1.0, 2.0), 30.0), (hole, channel), (hole,),
                   (Dimension("d1", "diameter", ("c1",), 6.47, 0.02, 6.5, 0.97, 6.4, "inferred", 0.041, 30.0,
                              (Share("edge noise", 0.02),)),),
                   (Relation("equal_radius", ("c1", "c2")),),
                   (NextReading("d1", 1.8, "inside jaws"),), (Note("n", "t"),))


def test_outline_json_follows_the_published_contract() -> None:
    plain = json.loads(outline_json(outline_with_everything()))
    assert list(plain)[0] == "format" and plain["format"] == 1
    assert set(plain) == {"format", "unit", "reference", "camera", "datum", "measured", "design", "dimensions", "relations",
                          "next_readings", "notes", "free"}
    assert plain["reference"] == {"kind": "sheet", "px_per_mm": 11.2, "relative_u": 0.003}
    assert plain["dimensions"] == [{"id": "d1", "kind": "diameter", "of": ["c1"], "measured": 6.47, "u": 0.02, "design": 6.5,
                                    "probability": 0.97, "runner_up": 6.4, "origin": "inferred", "u95": 0.041, "dof": 30.0,
                                    "contributions": [{"cause": "edge noise", "u": 0.02}]}]
    assert plain["design"]["loops"] == [{"role": "opening", "part": 1,
                                         "segments": [{"type": "circle", "id": "c1", "center": [3.0, 4.0], "radius": 3.25}]}]
    channel = plain["measured"]["loops"][1]
    assert channel["wall"] == "outer" and channel["depth"] == 2.0
    assert channel["segments"][1] == {"type": "arc", "id": "s2", "start": [1.0, 0.0], "end": [0.0, 0.0], "center": [0.5, 0.0],
                                      "radius": 0.5, "ccw": True}


def test_keys_we_do_not_know_are_passed_over() -> None:
    outline = outline_with_everything()
    plain = json.loads(outline_json(outline)) | {"added_by_hand": 1}
    assert parse_outline(json.dumps(plain).encode()) == outline


def test_a_number_that_is_not_finite_is_written_as_null_and_read_as_not_a_number() -> None:
    outline = replace(outline_with_everything(), reference=Reference("none", math.nan, math.inf))
    assert b"NaN" not in outline_json(outline)
    assert math.isnan(parse_outline(outline_json(outline)).reference.px_per_mm)


@pytest.mark.parametrize("spoil", [
    b"", b"{}", b"[]", b"not json", b"\xff\xff", b'{"format": 2}', b'{"format": true}', b'{"format": 1}',
    b'{"format": 1, "measured": 3}'])
def test_files_that_are_no_outline_are_refused(spoil: bytes) -> None:
    with pytest.raises(FolderError, match="outline.json: found .* expected"):
        parse_outline(spoil)


def test_every_lost_or_bent_key_is_refused_or_has_a_default() -> None:
    """Take each key away, or put a list of lists in its place: an error with words, or an outline, never another exception."""
    plain = json.loads(outline_json(outline_with_everything()))
    for key in list(plain):
        for changed in ({k: v for k, v in plain.items() if k != key}, plain | {key: [[[1]]]}, plain | {key: None}):
            try:
                parse_outline(json.dumps(changed).encode())
            except FolderError as error:
                assert "outline.json" in str(error)
    required = {f.name for f in fields(Outline)} - {"next_readings", "notes", "camera", "free", "photos", "heights", "other_face"}
    for key in required:
        with pytest.raises(FolderError):
            parse_outline(json.dumps({k: v for k, v in plain.items() if k != key}).encode())


def specimen(hint: Any, numbers: Iterator[int]) -> Any:
    """A value of this type in which nothing is left at its default: every number another one, every union's nouns in turn."""
    if is_dataclass(hint):
        return hint(**{name: specimen(of, numbers) for name, of in typing.get_type_hints(hint).items()})
    if typing.get_origin(hint) in (typing.Union, types.UnionType):
        return specimen(next(of for of in typing.get_args(hint) if of is not type(None)), numbers)
    if typing.get_origin(hint) is tuple:
        of = typing.get_args(hint)
        if of[-1] is not Ellipsis:
            return tuple(specimen(item, numbers) for item in of)
        kinds = typing.get_args(of[0]) if typing.get_origin(of[0]) in (typing.Union, types.UnionType) else (of[0],)
        return tuple(specimen(kind, numbers) for kind in kinds)
    return {float: next(numbers) / 8, int: next(numbers), bool: True, str: f"word {next(numbers)}"}[hint]


def test_a_build_comes_back_equal_whatever_it_holds() -> None:
    build = specimen(Build, itertools.count(1))
    piece = build.pieces[0]
    assert {type(step) for step in piece.steps} == set(typing.get_args(Step))
    assert {type(feature) for feature in piece.features} == set(typing.get_args(Feature))
    assert parse_build(build_json(build)) == build
    assert json.loads(build_json(build))["format"] == 1


def test_a_hand_can_change_a_piece_and_a_key_left_out_has_its_default() -> None:
    build = specimen(Build, itertools.count(1))
    plain = json.loads(build_json(build))
    plain["pieces"][0]["steps"][0]["prisms"][0]["top"] = 7
    del plain["pieces"][0]["steps"][0]["prisms"][0]["top_round"]
    del plain["cuts"]
    changed = parse_build(json.dumps(plain).encode())
    first = build.pieces[0].steps[0].prisms[0]
    assert changed.pieces[0].steps[0].prisms[0] == replace(first, top=7.0, top_round=0.0)
    assert changed.cuts == () and changed.assembly == build.assembly


@pytest.mark.parametrize(("change", "words"), [
    (lambda plain: plain["pieces"][0].pop("steps"), r"pieces\[0\]\.steps: found nothing"),
    (lambda plain: plain["pieces"][0].update(thickness="six"), r"pieces\[0\]\.thickness: found 'six'"),
    (lambda plain: plain["pieces"][0]["steps"][0].update(type="weld"), r"pieces\[0\]\.steps\[0\]: found type 'weld'"),
    (lambda plain: plain["pieces"][0]["steps"][0]["prisms"][0].update(outer=[{"type": "line"}]),
     r"pieces\[0\]\.steps\[0\]\.prisms\[0\]\.outer\[0\]\.id: found nothing"),
    (lambda plain: plain["assembly"]["places"][0].update(shift=[1, 2]), r"assembly\.places\[0\]\.shift: found 2 values"),
    (lambda plain: plain.update(pieces=5), r"pieces: found int"),
    (lambda plain: plain.update(format=2), r"found format 2"),
])
def test_a_spoilt_build_is_refused_with_its_place_and_what_to_do(change: typing.Callable[[dict[str, Any]], Any],
                                                                 words: str) -> None:
    plain = json.loads(build_json(specimen(Build, itertools.count(1))))
    change(plain)
    with pytest.raises(FolderError, match=rf"pieces\.json: {words}.*[Ee]xpected .* build again"):
        parse_build(json.dumps(plain).encode())
