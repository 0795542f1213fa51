"""A picture file, opened safely and turned upright.

The size is read from the header before a single pixel is decoded.  Rotation tags are applied once, here; afterwards the pixel
frame is (column, row) of the upright picture, pixel centres at .5.  Only this file of the photo stage touches the disk.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
import io
import math
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import cv2
import numpy as np
import pi_heif
from PIL import ExifTags, Image, UnidentifiedImageError

from afterpart.errors import FolderError, PhotoError
from afterpart.model.job import Shot
from afterpart.photo.edgeprofile import linear_light
from afterpart.units import SMALL_FORMAT_DIAGONAL, SMALL_FORMAT_WIDTH

MIN_PIXELS, MAX_PIXELS = 0.3e6, 50.5e6
MAX_BYTES = 200_000_000
FORMATS = ("JPEG", "PNG", "TIFF", "HEIF")
CUT_SHORT = "the picture data is damaged or cut short; expected a complete file. Copy it from the phone again."

pi_heif.register_heif_opener()

# EXIF orientation -> what turns the stored picture upright
_TURN = {2: ("flip", 1), 3: ("rot", cv2.ROTATE_180), 4: ("flip", 0), 5: ("both", cv2.ROTATE_90_CLOCKWISE),
         6: ("rot", cv2.ROTATE_90_CLOCKWISE), 7: ("both", cv2.ROTATE_90_COUNTERCLOCKWISE),
         8: ("rot", cv2.ROTATE_90_COUNTERCLOCKWISE)}


@dataclass(frozen=True)
class Picture:
    """An upright picture.

    grey: (h, w) float32, 0..255; colour: (h, w, 3) uint8, blue-green-red; focal_35mm: as the file states it, or None;
    diagonal_ppmm, width_ppmm: pixels per millimetre of 35 mm-equivalent focal length under the two readings of that tag.
    """

    name: str
    sha256: str
    grey: np.ndarray
    colour: np.ndarray
    focal_35mm: float | None

    @cached_property
    def light(self) -> np.ndarray:
        """Share of light 0..255, (h, w) float32, computed once."""
        return linear_light(self.grey)

    @property
    def width_ppmm(self) -> float:
        return max(self.grey.shape) / SMALL_FORMAT_WIDTH

    @property
    def diagonal_ppmm(self) -> float:
        return math.hypot(*self.grey.shape) / SMALL_FORMAT_DIAGONAL


def load_picture(path: Path, shot: Shot) -> Picture:
    """Read the file at `path`; raises FolderError when it cannot be read, PhotoError when it is no usable picture."""
    path = Path(path)
    try:
        if path.stat().st_size > MAX_BYTES:
            raise PhotoError(f"{path.name}: the file is {path.stat().st_size / 1e6:.0f} MB; expected at most "
                             f"{MAX_BYTES / 1e6:.0f} MB. "
                             "Export the photograph as JPEG.")
        data = path.read_bytes()
    except PhotoError:
        raise
    except ValueError as error:  # a name no file can have
        raise FolderError(f"{str(path)!r}: found a name with a character no file can have ({error}). Check the name.") from error
    except OSError as error:
        raise FolderError(f"{path}: cannot be read ({error.strerror}). Check the name and the permissions.") from error
    width, height, kind, orientation, focal = read_header(path.name, data, shot)
    check_size(path.name, width, height)
    colour = _decode_heif(path.name, data) if kind == "HEIF" else _decode(path.name, data, orientation)
    return Picture(path.name, hashlib.sha256(data).hexdigest(), _to_grey(colour), colour, shot.focal_35mm or focal)


def _to_grey(colour: np.ndarray) -> np.ndarray:
    return cv2.cvtColor(colour, cv2.COLOR_BGR2GRAY).astype(np.float32)


def read_header(name: str, data: bytes, shot: Shot) -> tuple[int, int, str, int, float | None]:
    """Width, height, kind, EXIF orientation and stated 35 mm-equivalent focal length, without decoding pixels."""
    bad = (f"{name}: this is not a picture that can be opened; expected JPEG, PNG, TIFF or HEIC. "
           "Check that the file was copied completely, or export it again as JPEG.")
    try:
        # other formats' readers are not asked: some decode at once, and raise what they like
        with Image.open(io.BytesIO(data), formats=tuple(FORMATS)) as image:
            exif = image.getexif()
            focal = exif.get_ifd(ExifTags.IFD.Exif).get(ExifTags.Base.FocalLengthIn35mmFilm)
            orientation = exif.get(ExifTags.Base.Orientation, 1)
            width, height, kind = image.width, image.height, image.format
    except Image.DecompressionBombError as error:
        raise PhotoError(f"{name}: the picture claims more than {MAX_PIXELS / 1e6:.0f} megapixels; expected 0.3 to 50. "
                         "Use a smaller picture.") from error
    except PhotoError:
        raise
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, KeyError, TypeError) as error:
        raise PhotoError(bad) from error
    focal_mm = float(focal) if isinstance(focal, (int, float)) and 5 <= focal <= 1500 else None
    return width, height, kind, orientation if isinstance(orientation, int) else 1, focal_mm


def check_size(name: str, width: int, height: int) -> None:
    """Raise PhotoError unless a picture of this size (px) can be measured."""
    if not MIN_PIXELS <= width * height <= MAX_PIXELS or min(width, height) < 300:
        raise PhotoError(f"{name}: the picture is {width} x {height} = {width * height / 1e6:.2f} megapixels; "
                         f"expected 0.3 to 50. " + ("Use the original photograph, not a thumbnail." if width * height < MIN_PIXELS
                                                    or min(width, height) < 300 else "Scale it down to 50 megapixels or less."))


def _decode(name: str, data: bytes, orientation: int) -> np.ndarray:
    """Pixels of a JPEG, PNG or TIFF, turned upright once."""
    try:
        pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR | cv2.IMREAD_IGNORE_ORIENTATION)
    except cv2.error:
        pixels = None
    if pixels is None:
        raise PhotoError(f"{name}: {CUT_SHORT}")
    how, code = _TURN.get(orientation, ("", 0))
    if how == "flip":
        pixels = cv2.flip(pixels, code)
    elif how:
        pixels = cv2.rotate(pixels, code)
        if how == "both":
            pixels = cv2.flip(pixels, 1)
    return pixels


def check_whole(name: str, data: bytes) -> None:
    """Raise PhotoError unless all of the picture's data is there and can be read (a JPEG is decoded at an eighth of its size,
    which takes a quarter of the time)."""
    _, _, kind, _, _ = read_header(name, data, Shot(name))
    if kind == "HEIF":
        _decode_heif(name, data)
        return
    try:
        pixels = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_REDUCED_GRAYSCALE_8)
    except cv2.error:
        pixels = None
    if pixels is None:
        raise PhotoError(f"{name}: {CUT_SHORT}")


def _decode_heif(name: str, data: bytes) -> np.ndarray:
    """Pixels of a HEIC file; libheif applies the rotation box itself, and the plug-in blanks the EXIF tag."""
    try:
        with Image.open(io.BytesIO(data)) as image:
            return cv2.cvtColor(np.asarray(image.convert("RGB")), cv2.COLOR_RGB2BGR)
    except (OSError, ValueError, RuntimeError, SyntaxError) as error:
        raise PhotoError(f"{name}: the HEIC data is damaged; expected a complete file. Copy it again, or export it as "
                         "JPEG.") from error
