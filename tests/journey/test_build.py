"""From a job folder to the pieces by the command line: measured first, built whole, changed by hand, refused whole."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import json
import shutil
from pathlib import Path

import numpy as np
import pytest
import trimesh

from afterpart.model.store import parse_build, parse_job_json, parse_outline
from tests.journey.command import afterpart, assert_empty, assert_refused

JOB = """
name = "bracket"
make = ["cover", "hole_coupon"]
[[photo]]
file = "no_such_photo.jpg"
[cover]
called = "bracket"
thickness = 4
one_way = false
[bolts]
thread = "M6"
[printer]
material = "ASA"
"""


@pytest.fixture(scope="module")
def bracket(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The bracket example, built from its photograph in a folder of its own."""
    folder = tmp_path_factory.mktemp("bracket") / "job"
    shutil.copytree(root / "examples" / "bracket", folder)
    result = afterpart("build", folder)
    assert result.returncode == 0, result.stderr
    (folder.parent / "said.txt").write_text(result.stdout)
    return folder


@pytest.fixture(scope="module")
def by_hand(bracket: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job folder whose outline was put there by hand, so that there is nothing to measure, with its pieces built."""
    folder = tmp_path_factory.mktemp("by_hand") / "job"
    folder.mkdir()
    shutil.copy(bracket / "outline.json", folder)
    (folder / "job.toml").write_text(JOB)
    result = afterpart("build", folder)
    assert result.returncode == 0, result.stderr
    (folder.parent / "said.txt").write_text(result.stdout)
    return folder


@pytest.fixture
def drawn(by_hand: Path, tmp_path: Path) -> Path:
    """The same folder without its pieces, a copy for this test alone."""
    shutil.copytree(by_hand, tmp_path / "drawn", ignore=shutil.ignore_patterns("pieces"))
    return tmp_path / "drawn"


@pytest.fixture
def made(by_hand: Path, tmp_path: Path) -> Path:
    """The same folder with its pieces, a copy for this test alone."""
    shutil.copytree(by_hand, tmp_path / "made")
    return tmp_path / "made"


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def test_a_job_folder_is_measured_and_its_pieces_made(bracket: Path) -> None:
    assert {"outline.json", "drawing.pdf", "overlay.png", "job.json"} <= set(contents(bracket))
    pieces = bracket / "pieces"
    build = parse_build((pieces / "pieces.json").read_bytes())
    assert build.pieces
    for piece in build.pieces:
        for ending in (".step", ".3mf", "_mm.stl", ".glb", ".png"):
            assert (pieces / f"{piece.file_stem}{ending}").stat().st_size > 100
    said = (bracket.parent / "said.txt").read_text()
    for word in ("finding the reference", "minutes", "What to do next", "afterpart plate", "local codes"):
        assert word in said, word


def test_the_plate_of_the_outline_has_the_outlines_size(bracket: Path) -> None:
    """What is printed is what was measured: the mesh's box is that of the design's outer loop."""
    outline = parse_outline((bracket / "outline.json").read_bytes())
    build = parse_build((bracket / "pieces" / "pieces.json").read_bytes())
    cover = next(piece for piece in build.pieces if piece.kind == "cover")
    mesh = trimesh.load_mesh(io.BytesIO((bracket / "pieces" / f"{cover.file_stem}_mm.stl").read_bytes()), file_type="stl")
    points = np.array([getattr(s, end) for loop in outline.design if loop.role == "outer" for s in loop.segments
                       for end in ("start", "end")])
    assert mesh.is_watertight
    assert (mesh.extents[:2] >= np.ptp(points, axis=0) - 0.02).all()
    assert mesh.extents[2] == pytest.approx(cover.thickness, abs=1e-3)


def test_building_again_measures_nothing_and_gives_the_same_bytes(bracket: Path) -> None:
    before = contents(bracket / "pieces")
    result = afterpart("build", bracket)
    assert result.returncode == 0, result.stderr
    assert "finding the reference" not in result.stdout
    assert contents(bracket / "pieces") == before


def test_an_outline_put_there_by_hand_is_built_as_it_is(by_hand: Path, bracket: Path) -> None:
    said = (by_hand.parent / "said.txt").read_text()
    assert "finding the reference" not in said and "Print the hole coupon" in said and "ASA" in said
    build = parse_build((by_hand / "pieces" / "pieces.json").read_bytes())
    assert [piece.kind for piece in build.pieces] == ["cover", "hole_coupon"]
    assert parse_job_json((by_hand / "pieces" / "job.json").read_bytes()).wishes.printer.material == "ASA"
    assert (by_hand / "outline.json").read_bytes() == (bracket / "outline.json").read_bytes()
    assert not (by_hand / "edges.json").exists()


def test_pieces_changed_by_hand_are_made_anew(made: Path) -> None:
    pieces = made / "pieces"
    plain = json.loads((pieces / "pieces.json").read_text())
    cover = plain["pieces"][0]
    for step in cover["steps"]:
        for prism in step.get("prisms", []):
            if prism["top"] >= cover["thickness"]:
                prism["top"] += 2.0
    (pieces / "pieces.json").write_text(json.dumps(plain))
    stl = pieces / f"{cover['file_stem']}_mm.stl"
    before = trimesh.load_mesh(stl).extents
    result = afterpart("build", pieces, "--from-pieces")
    assert result.returncode == 0, result.stderr
    assert trimesh.load_mesh(stl).extents - before == pytest.approx((0, 0, 2), abs=1e-3)


def test_a_hand_that_spoils_pieces_json_is_told_where_and_nothing_is_written(made: Path) -> None:
    pieces = made / "pieces"
    plain = json.loads((pieces / "pieces.json").read_text())
    plain["pieces"][0]["thickness"] = "four"
    (pieces / "pieces.json").write_text(json.dumps(plain))
    before = contents(pieces)
    assert_refused(afterpart("build", made, "--from-pieces"), 3, "pieces[0].thickness", "'four'")
    assert contents(pieces) == before


def test_files_of_a_piece_that_is_no_longer_asked_for_are_taken_away(made: Path) -> None:
    assert (made / "pieces" / "hole_coupon.step").exists()
    (made / "pieces" / "notes.txt").write_text("the maker's own")
    (made / "job.toml").write_text(JOB.replace(', "hole_coupon"', ""))
    assert afterpart("build", made).returncode == 0
    assert not list((made / "pieces").glob("hole_coupon*")) and (made / "pieces" / "notes.txt").exists()


@pytest.mark.parametrize(("change", "words"), [
    (("thickness = 4", "thickness = 0"), ("cover.thickness", "at least")),
    (('make = ["cover", "hole_coupon"]', 'make = ["gasket"]'), ("gasket", "seal")),
    (('make = ["cover", "hole_coupon"]', 'make = ["lid"]'), ("make.1", "hole_coupon")),
    (("[bolts]", "[[hole]]\nname = 'far'\nat = [900, 900]\ndiameter = 5\n[bolts]"), ("far",)),
])
def test_what_cannot_be_made_is_refused_whole(drawn: Path, change: tuple[str, str], words: tuple[str, ...]) -> None:
    assert change[0] in JOB
    (drawn / "job.toml").write_text(JOB.replace(*change))
    assert_refused(afterpart("build", drawn), 3, *words)
    assert_empty(drawn / "pieces")


def test_an_outline_of_unknown_size_is_refused(drawn: Path) -> None:
    plain = json.loads((drawn / "outline.json").read_text()) | {"unit": "px"}
    (drawn / "outline.json").write_text(json.dumps(plain))
    assert_refused(afterpart("build", drawn), 3, "unknown size")
    assert_empty(drawn / "pieces")


def test_no_job_and_no_photo_are_told(tmp_path: Path, drawn: Path) -> None:
    assert_refused(afterpart("build", tmp_path / "nowhere"), 3, "nowhere")
    (tmp_path / "empty").mkdir()
    assert_refused(afterpart("build", tmp_path / "empty"), 3, "afterpart new")
    (drawn / "outline.json").unlink()
    assert_refused(afterpart("build", drawn), 3, "no_such_photo.jpg")
    assert_refused(afterpart("build", drawn, "--from-pieces", "--out", tmp_path), 2, "--out")
