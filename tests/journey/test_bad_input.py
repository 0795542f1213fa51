"""Pictures, jobs and folders that cannot be used: status 3, one clear message, nothing half-written."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import struct
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest

from tests.journey.command import afterpart, assert_empty, assert_refused


def save(path: Path, picture: np.ndarray) -> Path:
    assert cv2.imwrite(str(path), picture)
    return path


def noisy(grey: np.ndarray) -> np.ndarray:
    return np.clip(grey + np.random.default_rng(1).normal(0.0, 2.0, grey.shape), 0, 255).astype(np.uint8)


@pytest.fixture
def empty_table(tmp_path: Path) -> Path:
    """A plain grey table and nothing on it."""
    return save(tmp_path / "empty.png", noisy(np.full((1200, 1600), 190.0)))


@pytest.fixture
def cut_off(tmp_path: Path) -> Path:
    """A dark plate that runs out of the picture on one side."""
    picture = np.full((1200, 1600), 200.0)
    picture[300:900, 900:] = 60.0
    return save(tmp_path / "cut.png", noisy(cv2.GaussianBlur(picture, (0, 0), 1.0)))


@pytest.fixture
def blurred(tmp_path: Path) -> Path:
    """A plate so far out of focus that its edge is about a hundred pixels wide."""
    picture = np.full((1200, 1600), 200.0)
    picture[400:800, 500:1100] = 60.0
    return save(tmp_path / "blurred.png", noisy(cv2.GaussianBlur(picture, (0, 0), 40.0)))


def enormous_png(path: Path) -> Path:
    """A small file whose header claims 400 megapixels."""
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    header = struct.pack(">IIBBBBB", 20000, 20000, 8, 0, 0, 0, 0)
    chunks = chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunks)
    return path


def refuse(tmp_path: Path, photo: Path, *options: str, words: tuple[str, ...] = ()) -> None:
    out = tmp_path / "out"
    assert_refused(afterpart("measure", photo, "--out", out, *options), 3, *words)
    assert_empty(out)


def test_no_such_file(tmp_path: Path) -> None:
    refuse(tmp_path, tmp_path / "absent.jpg", words=("absent.jpg",))


def test_not_a_picture(tmp_path: Path) -> None:
    (tmp_path / "letter.jpg").write_text("dear maker")
    refuse(tmp_path, tmp_path / "letter.jpg", words=("letter.jpg", "expected"))


def test_cut_short(tmp_path: Path, cover: Path) -> None:
    (tmp_path / "short.jpg").write_bytes((cover / "inlet_cover.jpg").read_bytes()[:30_000])
    refuse(tmp_path, tmp_path / "short.jpg", "--sheet", "A4", words=("short.jpg",))


def test_enormous(tmp_path: Path) -> None:
    refuse(tmp_path, enormous_png(tmp_path / "big.png"), words=("megapixels",))


def test_too_small(tmp_path: Path) -> None:
    refuse(tmp_path, save(tmp_path / "small.png", noisy(np.full((200, 300), 190.0))), words=("megapixels", "300 x 200"))


def test_no_part(tmp_path: Path, empty_table: Path) -> None:
    refuse(tmp_path, empty_table, words=("part",))


def test_part_cut_off_by_the_border(tmp_path: Path, cut_off: Path) -> None:
    refuse(tmp_path, cut_off, words=("border",))


def test_blurred_says_how_wide_the_edge_is(tmp_path: Path, blurred: Path) -> None:
    refuse(tmp_path, blurred, words=("px",))


def test_a_face_above_the_camera(tmp_path: Path, cover: Path) -> None:
    refuse(tmp_path, cover / "inlet_cover.jpg", "--sheet", "A4", "--face-height", "900", words=("camera",))


def test_a_place_that_cannot_be_written(tmp_path: Path, cover: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    result = afterpart("measure", cover / "inlet_cover.jpg", "--sheet", "A4", "--out", tmp_path / "file" / "out")
    assert_refused(result, 3, "expected a folder")
    assert [p.name for p in tmp_path.iterdir()] == ["file"]


def test_job_files_complain_about_everything_at_once(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text('name = "x"\n[[photo]]\nfile = "a.jpg"\nsheet = "A9"\nface_hight = 3\n')
    result = afterpart("measure", tmp_path)
    assert_refused(result, 3, "job.toml:4: photo.1.sheet", "job.toml:5: photo.1.face_hight")
    assert [p.name for p in tmp_path.iterdir()] == ["job.toml"]


def test_a_folder_without_a_job(tmp_path: Path) -> None:
    assert_refused(afterpart("measure", tmp_path), 3, "afterpart new")
    assert_empty(tmp_path)


def test_plate_without_an_outline(tmp_path: Path) -> None:
    assert_refused(afterpart("plate", tmp_path), 3, "outline.json")
    (tmp_path / "outline.json").write_text("{}")
    assert_refused(afterpart("plate", tmp_path), 3, "outline.json", "format")
    assert [p.name for p in tmp_path.iterdir()] == ["outline.json"]


def test_new_does_not_write_over_a_job(tmp_path: Path, empty_table: Path) -> None:
    assert afterpart("new", tmp_path / "job", "--photo", empty_table).returncode == 0
    assert_refused(afterpart("new", tmp_path / "job", "--photo", empty_table), 3, "already")
