"""What a picture file says of itself, and the picture as a browser shows it: upright, JPEG or PNG.

Words: *taken* is what the phone wrote beside the pixels (lens, focal length, zoom).  Sizes are of the upright picture, in pixels.
Limits: the header is read and judged before a pixel is decoded; positions and names in the file are not read at all.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

import cv2
from PIL import ExifTags, Image

from afterpart.errors import FolderError
from afterpart.model.job import Shot
from afterpart.photo.load import check_size, load_picture, read_header
from afterpart.units import SMALL_FORMAT_DIAGONAL

ENDINGS = {"JPEG": ".jpg", "PNG": ".png", "TIFF": ".tif", "HEIF": ".heic"}
KINDS = {"JPEG": "image/jpeg", "PNG": "image/png"}
SHARPNESS = 92
"""Quality of a JPEG that is made for looking at."""
_TURNED = (5, 6, 7, 8)


@dataclass(frozen=True)
class Look:
    """One picture file.  kind: JPEG | PNG | TIFF | HEIF; width, height: upright; is_upright: shown as stored; focal_35mm: None
    when not told; taken: in words, one fact each."""

    kind: str
    width: int
    height: int
    is_upright: bool
    focal_35mm: float | None
    taken: tuple[str, ...]


def endings_of(kind: str) -> str:
    """The file name's ending of this kind of picture."""
    return ENDINGS[kind]


def look_at(name: str, data: bytes) -> Look:
    """What the file says of itself.  Raises PhotoError when it is no picture that can be used."""
    width, height, kind, orientation, focal = read_header(name, data, Shot(name))
    check_size(name, width, height)
    turned = orientation in _TURNED and kind != "HEIF"
    return Look(kind, height if turned else width, width if turned else height, orientation == 1 or kind == "HEIF", focal,
                _taken(data, focal))


def look_at_file(path: Path) -> Look:
    """The same of a file.  Raises FolderError when it cannot be read."""
    return look_at(path.name, _bytes_of(path))


def shown_picture(path: Path) -> tuple[bytes, str]:
    """The upright picture and its media type: a JPEG or PNG that stands upright as it is, anything else as a JPEG made anew.

    Raises FolderError when the file cannot be read, PhotoError when it is no usable picture."""
    data = _bytes_of(path)
    look = look_at(path.name, data)
    if look.is_upright and look.kind in KINDS:
        return data, KINDS[look.kind]
    picture = load_picture(path, Shot(path.name))
    return cv2.imencode(".jpg", picture.colour, [cv2.IMWRITE_JPEG_QUALITY, SHARPNESS])[1].tobytes(), "image/jpeg"


def _bytes_of(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise FolderError(f"{path.name}: cannot be read ({error.strerror}). Check that the picture lies in the job "
                          "folder.") from error


def _taken(data: bytes, focal_35mm: float | None) -> tuple[str, ...]:
    """Camera, lens, focal length and zoom, as far as told."""
    facts = []
    try:
        with Image.open(io.BytesIO(data)) as image:
            exif = image.getexif()
            inner = exif.get_ifd(ExifTags.IFD.Exif)
    except (OSError, ValueError, SyntaxError, KeyError, TypeError):
        return ()
    model, lens = exif.get(ExifTags.Base.Model), inner.get(ExifTags.Base.LensModel)
    facts += [f"{what} {_plain(text)}" for what, text in (("camera", model), ("lens", lens)) if isinstance(text, str)]
    if focal_35mm is not None:
        angle = f"{SMALL_FORMAT_DIAGONAL / focal_35mm:.2f} times its distance across the corners"
        facts.append(f"focal length {focal_35mm:g} mm (35 mm format): it sees {angle}")
    else:
        facts.append("no focal length in the file")
    zoom = _number(inner.get(ExifTags.Base.DigitalZoomRatio))
    if zoom is not None and zoom > 1.0:
        facts.append(f"zoomed {zoom:.2g} times by enlarging: go nearer or use the longer lens instead")
    if inner.get(ExifTags.Base.Flash, 0) in (1, 5, 7, 9, 13, 15, 25, 29, 31):
        facts.append("flash fired: its shadow and glare move edges; take it without")
    return tuple(facts)


def _plain(text: str) -> str:
    return "".join(letter for letter in text if letter.isprintable())[:60]


def _number(value: object) -> float | None:
    try:
        return float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
