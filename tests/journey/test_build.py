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

from afterpart.model.store import outline_json, parse_build, parse_job_json, parse_outline
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


@pytest.fixture
def drawn(bracket: Path, tmp_path: Path) -> Path:
    """A job folder whose outline was put there by hand: nothing to measure."""
    folder = tmp_path / "drawn"
    folder.mkdir()
    shutil.copy(bracket / "outline.json", folder)
    (folder / "job.toml").write_text(JOB)
    return folder


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


def test_an_outline_put_there_by_hand_is_built_as_it_is(drawn: Path) -> None:
    result = afterpart("build", drawn, "--out", drawn / "made")
    assert result.returncode == 0, result.stderr
    assert "finding the reference" not in result.stdout
    build = parse_build((drawn / "made" / "pieces.json").read_bytes())
    assert [piece.kind for piece in build.pieces] == ["cover", "hole_coupon"]
    assert "Print the hole coupon" in result.stdout and "ASA" in result.stdout
    assert parse_job_json((drawn / "made" / "job.json").read_bytes()).wishes.printer.material == "ASA"


def test_pieces_changed_by_hand_are_made_anew(drawn: Path) -> None:
    assert afterpart("build", drawn).returncode == 0
    pieces = drawn / "pieces"
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


def test_a_hand_that_spoils_pieces_json_is_told_where_and_nothing_is_written(drawn: Path) -> None:
    assert afterpart("build", drawn).returncode == 0
    pieces = drawn / "pieces"
    plain = json.loads((pieces / "pieces.json").read_text())
    plain["pieces"][0]["thickness"] = "four"
    (pieces / "pieces.json").write_text(json.dumps(plain))
    before = contents(pieces)
    assert_refused(afterpart("build", drawn, "--from-pieces"), 3, "pieces[0].thickness", "'four'")
    assert contents(pieces) == before


def test_files_of_a_piece_that_is_no_longer_asked_for_are_taken_away(drawn: Path) -> None:
    assert afterpart("build", drawn).returncode == 0
    assert (drawn / "pieces" / "hole_coupon.step").exists()
    (drawn / "pieces" / "notes.txt").write_text("the maker's own")
    (drawn / "job.toml").write_text(JOB.replace(', "hole_coupon"', ""))
    assert afterpart("build", drawn).returncode == 0
    assert not list((drawn / "pieces").glob("hole_coupon*")) and (drawn / "pieces" / "notes.txt").exists()


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


def test_the_outline_reads_back_as_the_build_took_it(drawn: Path) -> None:
    """The outline by hand is left as it is."""
    before = (drawn / "outline.json").read_bytes()
    assert afterpart("build", drawn).returncode == 0
    assert (drawn / "outline.json").read_bytes() == before
    assert outline_json(parse_outline(before)) == before
