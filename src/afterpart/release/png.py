"""A picture array as a PNG file, written by hand so that release/ needs no picture library.

Format: PNG (ISO/IEC 15948), 8 bits a channel, grey or RGB, no filter, one compressed block; no time stamp, so reproducible.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import struct
import zlib

import numpy as np

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_GREY, _RGB = 0, 2


def png_bytes(picture: np.ndarray) -> bytes:
    """A (rows, columns) or (rows, columns, 3) uint8 array as PNG.  ValueError: another shape or kind."""
    if picture.dtype != np.uint8 or picture.ndim not in (2, 3) or (picture.ndim == 3 and picture.shape[2] != 3):
        raise ValueError(f"found an array of {picture.dtype} and shape {picture.shape}; expected uint8, rows x columns (x 3)")
    rows, columns = picture.shape[:2]
    kind = _GREY if picture.ndim == 2 else _RGB
    plain = np.concatenate([np.zeros((rows, 1), np.uint8), picture.reshape(rows, -1)], axis=1)
    header = struct.pack(">IIBBBBB", columns, rows, 8, kind, 0, 0, 0)
    return _SIGNATURE + _chunk(b"IHDR", header) + _chunk(b"IDAT", zlib.compress(plain.tobytes(), 6)) + _chunk(b"IEND", b"")


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
