"""A photograph as a phone may write it: with place, names, a serial number, a comment and a small picture in its tags.

Tags after EXIF 2.32 (CIPA DC-008), numbers from memory and read back by Pillow in the test; the people and places are invented.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import struct
from pathlib import Path

from PIL import Image

PLACE = ((52.0, 31.0, 12.34), (13.0, 24.0, 17.89))
"""Degrees, minutes, seconds, north and east."""
SECRETS = (b"Wilhelmina Testperson", b"SN-0815-4711-XY", b"Kellerwerkstatt", b"PhoneMaker 9", b"2026:03:14 15:09:26")
GPS, SUB, THUMBNAIL = 0x8825, 0x8769, 0x0201


def write_tagged(source: Path, target: Path) -> bytes:
    """Write a copy of the JPEG at `source` with the tags into `target`; the bytes of its small picture are answered."""
    picture = Image.open(source)
    small = io.BytesIO()
    picture.resize((160, 120)).save(small, "JPEG", quality=70)
    exif = picture.getexif()
    exif[0x013B], exif[0x8298], exif[0x0110], exif[0x010E] = (SECRETS[k].decode() for k in (0, 0, 3, 2))
    exif.get_ifd(SUB).update({0xA430: SECRETS[0].decode(), 0xA431: SECRETS[1].decode(), 0x9003: SECRETS[4].decode()})
    exif.get_ifd(GPS).update({1: "N", 2: PLACE[0], 3: "E", 4: PLACE[1]})
    picture.save(target, "JPEG", quality=95, exif=with_small_picture(exif.tobytes(), small.getvalue()), comment=SECRETS[2])
    return small.getvalue()


def with_small_picture(exif: bytes, small: bytes) -> bytes:
    """The tags with a second directory behind them that holds a JPEG (as cameras do it)."""
    head, tiff = exif[:6], bytearray(exif[6:])
    order = "<" if tiff[:2] == b"II" else ">"
    first, = struct.unpack_from(f"{order}L", tiff, 4)
    count, = struct.unpack_from(f"{order}H", tiff, first)
    start = len(tiff) + len(tiff) % 2
    struct.pack_into(f"{order}L", tiff, first + 2 + 12 * count, start)
    rows = ((0x0103, 3, 6 if order == "<" else 6 << 16), (THUMBNAIL, 4, start + 2 + 12 * 3 + 4), (0x0202, 4, len(small)))
    directory = struct.pack(f"{order}H", 3)
    directory += b"".join(struct.pack(f"{order}HHLL", tag, kind, 1, value) for tag, kind, value in rows)
    return head + bytes(tiff).ljust(start, b"\0") + directory + bytes(4) + small
