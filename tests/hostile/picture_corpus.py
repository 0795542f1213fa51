"""Damaged and hostile pictures, painted and written by script into a folder; the same on every run.

The sound picture is a dark plate with a hole on a light table, 1000 x 750 px.  `unusable` has those that must be refused,
`usable` those that must be measured or refused in plain words, `turned` one picture stored in all eight EXIF orientations.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import random
import struct
import zlib
from collections.abc import Callable, Iterator

import cv2
import numpy as np
from PIL import Image

from tests.photo.rule_painting import decimal_length, homography, paint_rule, sixteenth_length

WIDTH, HEIGHT = 1000, 750
TABLE, PLATE = 200.0, 60.0
ORIENTATION, FOCAL_35MM, EXIF_IFD = 0x0112, 0xA405, 0x8769
"""EXIF tags (from memory of Exif 2.3)."""
STORED_AS: dict[int, Image.Transpose | None] = {
    1: None, 2: Image.Transpose.FLIP_LEFT_RIGHT, 3: Image.Transpose.ROTATE_180, 4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE, 6: Image.Transpose.ROTATE_90, 7: Image.Transpose.TRANSVERSE, 8: Image.Transpose.ROTATE_270}
"""Orientation -> how an upright picture is stored so that the tag turns it upright again (the inverse of what the tag asks)."""


def painted(*plates: tuple[int, int, int, int], blur: float = 1.0, table: float = TABLE, gain: float = 1.0) -> np.ndarray:
    """(HEIGHT, WIDTH) uint8: dark plates (left, top, right, bottom), each with a hole left of its middle."""
    light = np.full((HEIGHT, WIDTH), table)
    for left, top, right, bottom in plates:
        light[top:bottom, left:right] = PLATE
        cv2.circle(light, ((2 * left + right) // 3, (top + bottom) // 2), (bottom - top) // 8, table, -1)
    noisy = cv2.GaussianBlur(light, (0, 0), blur) * gain + np.random.default_rng(1).normal(0, 2, light.shape)
    return np.clip(noisy, 0, 255).astype(np.uint8)


def beside_a_rule(lengths: Callable[[np.ndarray], np.ndarray], upside_down: bool = False) -> Image.Image:
    """The sound plate below a rule of 90 graduations of 10 px."""
    light = painted((300, 300, 720, 620)).astype(np.float32)
    plane = homography((WIDTH, 200), 10.0, 0.0, 0.0, (45.0, 9.0))
    rule = paint_rule((WIDTH, 200), plane, 90, lengths=lengths, table=TABLE, body=235.0)
    light[20:220] = rule[::-1, ::-1] if upside_down else rule
    return Image.fromarray(light.astype(np.uint8))


def misshapen(*corners: tuple[int, int]) -> Image.Image:
    """A plate with these corners (column, row) and the hole of the sound one."""
    light = np.full((HEIGHT, WIDTH), TABLE)
    cv2.fillPoly(light, [np.array(corners, np.int32)], PLATE)
    cv2.circle(light, (440, 360), 40, TABLE, -1)
    noisy = cv2.GaussianBlur(light, (0, 0), 1.0) + np.random.default_rng(1).normal(0, 2, light.shape)
    return Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8))


def sound() -> Image.Image:
    """The sound picture, in colour."""
    return Image.fromarray(painted((300, 200, 720, 520))).convert("RGB")


def written(image: Image.Image, kind: str = "PNG", **options: object) -> bytes:
    """The picture as a file's bytes."""
    out = io.BytesIO()
    image.save(out, kind, **options)
    return out.getvalue()


def turned() -> Iterator[tuple[int, bytes]]:
    """(orientation, PNG) of the same upright picture, losslessly."""
    for orientation, how in STORED_AS.items():
        exif = Image.Exif()
        exif[ORIENTATION] = orientation
        image = sound() if how is None else sound().transpose(how)
        yield orientation, written(image, exif=exif)


def claiming(width: int, height: int) -> bytes:
    """A small PNG whose header claims this size."""
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b""))


def unusable() -> Iterator[tuple[str, bytes]]:
    """(name, bytes) of what is no picture, or none that can be measured."""
    whole = written(sound(), "JPEG", quality=80)
    for name, data in (("empty", b""), ("text", b"dear maker"), ("zeros", bytes(5000)), ("script", b"<svg><script/></svg>"),
                       ("pdf", b"%PDF-1.7\n"), ("jpeg start", whole[:2]), ("jpeg header", whole[:300])):
        yield name, data
    for width, height in ((0, 0), (0, 900), (1, 1), (1, 900_000), (900_000, 1), (20_000, 20_000), (2**31 - 1, 2**31 - 1)):
        yield f"claims {width} x {height}", claiming(width, height)
    yield "animated GIF", written(sound(), "GIF", save_all=True, append_images=[sound()])
    yield "bitmap", written(sound(), "BMP")
    yield "blank paper", written(Image.fromarray(painted()))
    yield "white throughout", written(Image.new("L", (WIDTH, HEIGHT), 255))
    yield "black throughout", written(Image.new("L", (WIDTH, HEIGHT), 0))
    yield "over-exposed", written(Image.fromarray(painted((300, 200, 720, 520), gain=9.0)))
    yield "blurred", written(Image.fromarray(painted((300, 200, 720, 520), blur=25.0)))
    for name, plate in (("left", (0, 200, 500, 520)), ("right", (500, 200, WIDTH, 520)), ("top", (300, 0, 720, 400)),
                        ("bottom", (300, 300, 720, HEIGHT))):
        yield f"cut off {name}", written(Image.fromarray(painted(plate)))
    for share in range(4, 40, 5):
        yield f"png cut at {share}/80", written(sound())[:len(written(sound())) * share // 80]


def header_damage() -> Iterator[tuple[str, bytes]]:
    """(name, bytes): bits flipped in the first 600 bytes, headers and tables, of files of every kind."""
    exif = Image.Exif()
    exif[ORIENTATION], exif.get_ifd(EXIF_IFD)[FOCAL_35MM] = 6, 27
    dice = random.Random(6)
    for kind in ("JPEG", "PNG", "TIFF"):
        whole = written(sound(), kind, exif=exif)
        for number in range(60):
            flipped = bytearray(whole)
            for _ in range(1 + number % 6):
                flipped[dice.randrange(min(600, len(whole)))] ^= 1 << dice.randrange(8)
            yield f"{kind} flipped {number}", bytes(flipped)
            yield f"{kind} cut {number}", whole[:dice.randrange(len(whole))]


def usable() -> Iterator[tuple[str, bytes, tuple[str, ...]]]:
    """(name, bytes, options): odd, but a picture of a part, or one whose telling is wrong."""
    image, deep = sound(), np.asarray(sound().convert("L")).astype(np.uint16) * 257
    lying = Image.Exif()
    lying[ORIENTATION], lying.get_ifd(EXIF_IFD)[FOCAL_35MM] = 99, 65535
    yield "CMYK", written(image.convert("CMYK"), "JPEG", quality=90), ()
    yield "16 bit", written(Image.fromarray(deep)), ()
    yield "alpha", written(image.convert("RGBA")), ()
    yield "palette", written(image.convert("P")), ()
    yield "animated PNG", written(image, save_all=True, append_images=[image.rotate(90)]), ()
    yield "lying EXIF", written(image, exif=lying), ()
    yield "mirrored", written(image.transpose(Image.Transpose.FLIP_LEFT_RIGHT)), ()
    yield "two parts", written(Image.fromarray(painted((80, 200, 420, 520), (560, 200, 900, 520)))), ()
    yield "a sheet that is not there", written(image), ("--sheet", "A4")
    yield "a rule that is not there", written(image), ("--rule", "inch:16")
    yield "a span and a height above it", written(image), ("--span", "300,200,720,200,84", "--face-height", "9")
    yield "two references that disagree", written(image), ("--span", "300,200,720,200,84", "--calliper", "300")
    yield "a rule upside down", written(beside_a_rule(decimal_length, True)), ("--rule", "mm")
    yield "an inch rule said to be of mm", written(beside_a_rule(sixteenth_length)), ("--rule", "mm")
    yield "a rule of mm said to be of inches", written(beside_a_rule(decimal_length)), ("--rule", "inch:16")
    broken = misshapen((300, 200), (720, 200), (600, 300), (690, 340), (560, 420), (720, 520), (300, 520))
    yield "a broken part", written(broken), ()
    yield "a bent part", written(misshapen((300, 200), (520, 210), (740, 260), (720, 570), (510, 530), (300, 520))), ()
    yield "a part of it that is not there", written(image), ("--part", "7")
