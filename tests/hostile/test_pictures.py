"""Damaged and hostile pictures: the documented status, one clear message, bounded time and memory, nothing half-written; and
one picture stored in all eight orientations is the same upright picture."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import random
from pathlib import Path

import numpy as np
import pytest

from afterpart.errors import AfterpartError
from afterpart.lock import LOCK_FILE
from afterpart.model.job import Shot
from afterpart.photo.load import load_picture
from tests.hostile.picture_corpus import header_damage, turned, unusable, usable
from tests.hostile.verdict import listed, wrongs_of_refusal
from tests.hostile.warm_child import WarmChild

LONGEST_S, MOST_MB = 60.0, 1200.0
"""Of one picture of less than 1 megapixel on a busy machine."""
WRITTEN = {LOCK_FILE, "overlay.png", "outline.dxf", "outline.svg", "drawing.pdf", "heights.pdf", "job.json", "edges.json",
           "outline.json"}


def test_unusable_pictures_end_in_one_clear_message(warm: WarmChild, tmp_path: Path) -> None:
    wrong = []
    for name, data in unusable():
        photo, out = tmp_path / "photo.jpg", tmp_path / "out"
        photo.write_bytes(data)
        run = warm.run("measure", photo, "--out", out)
        wrong += [f"{name}: {text}" for text in wrongs_of_refusal(run)]
        wrong += [f"{name}: left {listed(out)}"] if out.exists() and listed(out) else []
        wrong += [f"{name}: {run.seconds:.1f} s {run.peak_mb:.0f} MB"] if run.seconds > LONGEST_S or run.peak_mb > MOST_MB else []
    assert not wrong, f"{len(wrong)}\n" + "\n".join(wrong[:20])


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")
def test_damaged_headers_open_or_are_refused(tmp_path: Path) -> None:
    wrong, refused = [], 0
    for name, data in header_damage():
        photo = tmp_path / "photo"
        photo.write_bytes(data)
        try:
            picture = load_picture(photo, Shot("photo"))
            if picture.grey.shape != picture.colour.shape[:2] or not np.isfinite(picture.grey).all():
                wrong.append(f"{name}: no whole picture")
        except AfterpartError as error:
            refused += 1
            if not str(error).startswith("photo: "):
                wrong.append(f"{name}: {error}")
    assert not wrong, "\n".join(wrong[:20])
    assert refused > 100


def test_all_eight_orientations_are_the_same_upright_picture(tmp_path: Path) -> None:
    upright = None
    for orientation, data in turned():
        (tmp_path / "photo.png").write_bytes(data)
        picture = load_picture(tmp_path / "photo.png", Shot("photo.png"))
        upright = picture if upright is None else upright
        assert np.array_equal(picture.colour, upright.colour), orientation


def test_damaged_heic_opens_or_is_refused(shared: Path, tmp_path: Path) -> None:
    """A real phone's file, cut short or with bits of its boxes flipped."""
    real = shared / "real" / "phone.heic"
    if not real.is_file():
        pytest.skip("no HEIC photograph is beside this checkout")
    whole, dice, refused = real.read_bytes(), random.Random(2), 0
    for number in range(24):
        flipped = bytearray(whole)
        for _ in range(1 + number % 4):
            flipped[dice.randrange(400)] ^= 1 << dice.randrange(8)
        for data in (whole[:dice.randrange(len(whole) // 2)], bytes(flipped) if number < 8 else whole[:number * 10]):
            (tmp_path / "photo.heic").write_bytes(data)
            try:
                picture = load_picture(tmp_path / "photo.heic", Shot("photo.heic"))
            except AfterpartError as error:
                refused += 1
                assert "photo.heic" in str(error)
            else:
                assert picture.grey.shape == picture.colour.shape[:2]
    assert refused >= 24


def test_heic_is_turned_as_its_own_box_says_and_not_twice(shared: Path, tmp_path: Path) -> None:
    """The box that turns a HEIC picture by quarters (irot, ISO/IEC 23008-12: anticlockwise) changed in a real phone's file, whose
    EXIF says 6 throughout."""
    real = shared / "real" / "phone.heic"
    if not real.is_file():
        pytest.skip("no HEIC photograph is beside this checkout")
    whole = real.read_bytes()
    at = whole.index(b"irot") + 4
    pictures = {}
    for quarters in range(4):
        (tmp_path / "photo.heic").write_bytes(whole[:at] + bytes([quarters]) + whole[at + 1:])
        pictures[quarters] = load_picture(tmp_path / "photo.heic", Shot("photo.heic")).grey
    assert all(np.array_equal(pictures[quarters], np.rot90(pictures[0], quarters)) for quarters in range(4))
    brands = [whole[:8] + brand + whole[12:] for brand in (b"mif1", b"heix", b"msf1", b"avif", b"mp42", b"\0\0\0\0")]
    for data in brands:
        (tmp_path / "photo.heic").write_bytes(data)
        try:
            assert np.array_equal(load_picture(tmp_path / "photo.heic", Shot("photo.heic")).grey, pictures[whole[at]])
        except AfterpartError as error:
            assert "photo.heic" in str(error)


def test_a_rule_that_is_told_wrongly_is_named(warm: WarmChild, tmp_path: Path) -> None:
    """Of the odd pictures beside a rule: upside down it holds the same scale; with other graduations than told, that is said."""
    odd = {name: (data, options) for name, data, options in usable() if "rule" in name and "not there" not in name}
    assert len(odd) == 3
    for name, (data, options) in odd.items():
        (tmp_path / "photo.png").write_bytes(data)
        run = warm.run("measure", tmp_path / "photo.png", "--out", tmp_path / name, *options)
        assert run.status == 0, (name, run.stderr)
        outline = json.loads((tmp_path / name / "outline.json").read_text())
        doubts = [note["text"] for note in outline["notes"] if note["code"] == "rule_ladder"]
        if name == "a rule upside down":
            assert outline["reference"]["px_per_mm"] == pytest.approx(10.0, rel=0.01) and not doubts
        else:
            assert len(doubts) == 1 and f"--rule {options[1]} was told" in doubts[0]


@pytest.mark.parametrize(("name", "data", "options"), tuple(usable()), ids=[name for name, *_ in usable()])
def test_odd_pictures_are_measured_or_refused(name: str, data: bytes, options: tuple[str, ...], warm: WarmChild,
                                              tmp_path: Path) -> None:
    photo, out = tmp_path / "photo.png", tmp_path / "out"
    photo.write_bytes(data)
    run = warm.run("measure", photo, "--out", out, *options)
    if run.status == 0:
        assert set(listed(out)) == WRITTEN and not run.stderr
    else:
        assert not wrongs_of_refusal(run, 2 if run.status == 2 else 3), run.stderr
        assert not out.exists() or not listed(out)
    assert run.seconds < LONGEST_S and run.peak_mb < MOST_MB
