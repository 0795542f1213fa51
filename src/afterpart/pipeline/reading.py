"""What earlier runs left in a job folder, read back for showing: the build with its figures, the report, what was followed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import struct
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from afterpart.errors import FolderError
from afterpart.model.assembly import Build
from afterpart.model.case import Measured, Passage
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job
from afterpart.model.piece import Piece
from afterpart.model.store import parse_build, parse_measured, parse_report, read_stored
from afterpart.photo.advice import Advice, advise
from afterpart.pipeline.folder import FACTS_FILE, PIECES_FILE
from afterpart.release.shown import spoken
from afterpart.release.target import target_pdf
from afterpart.standards.materials import material


@dataclass(frozen=True)
class PieceFigures:
    """A piece as built.  name: as it is spoken of; volume mm3 and size: None where no file tells them; mass_g: None also where
    the material's density is not known."""

    piece: Piece
    name: str
    volume: float | None
    size: tuple[float, float, float] | None
    mass_g: float | None


@dataclass(frozen=True)
class StoredBuild:
    """The last build of a folder, with the figures of its pieces in order."""

    build: Build
    pieces: tuple[PieceFigures, ...]


def built_in(place: Path, job: Job) -> StoredBuild | None:
    """The last build in `place`; None where there is none.  Raises FolderError when its files cannot be read."""
    if not (place / PIECES_FILE).is_file():
        return None
    build = parse_build(read_stored(place / PIECES_FILE), PIECES_FILE)
    return StoredBuild(build, tuple(_figures(place, piece) for piece in build.pieces))


def report_in(folder: Path) -> CheckReport:
    """The last report of a job folder.  Raises FolderError when it cannot be read."""
    return parse_report(read_stored(folder / "report.json"), read_stored(folder / "findings.json"))


def passages_in(place: Path) -> tuple[Passage, ...]:
    """What the last check followed on its way out; () where nothing tells it."""
    found = _measured(place)
    return () if found is None else found.passages


def target_paper() -> bytes:
    """The printed target, a true-scale PDF."""
    return target_pdf()


def advice_of(width: float, height: float, face_height: float, lens_35mm: float | None) -> Advice:
    """How to photograph a part of this size (photo/advice.py).  Raises UsageError for sizes that cannot be."""
    return advise(width, height, face_height, lens_35mm)


def _measured(place: Path) -> Measured | None:
    try:
        return parse_measured(read_stored(place / FACTS_FILE))
    except FolderError:
        return None


def _figures(place: Path, piece: Piece) -> PieceFigures:
    """Size, volume and mass of the piece, from the mesh that was built."""
    try:
        low, high, volume = glb_figures((place / f"{piece.file_stem}.glb").read_bytes())
    except (OSError, ValueError, KeyError, IndexError, struct.error):
        return PieceFigures(piece, spoken(piece), None, None, None)
    size = (high[0] - low[0], high[2] - low[2], high[1] - low[1])  # in a GLB y points up
    try:
        mass_g = volume / 1000.0 * material(piece.material).density.middle
    except KeyError:
        mass_g = None
    return PieceFigures(piece, spoken(piece), volume, size, mass_g)


def glb_figures(data: bytes) -> tuple[tuple[float, ...], tuple[float, ...], float]:
    """Lowest and highest corner (mm) and volume (mm3, of its closed triangles) of the first mesh of a GLB we wrote (metres).

    Divergence theorem: the volume is a sixth of the sum of a . (b x c) over the triangles (a, b, c)."""
    length = struct.unpack("<I", data[12:16])[0]
    plain, binary = json.loads(data[20:20 + length]), data[28 + length:]
    first = plain["meshes"][0]["primitives"][0]
    at, order = plain["accessors"][first["attributes"]["POSITION"]], plain["accessors"][first["indices"]]
    points = _numbers(plain, binary, at, np.float32).reshape(-1, 3).astype(float) * 1000.0
    a, b, c = (points[_numbers(plain, binary, order, np.uint32).reshape(-1, 3)[:, k]] for k in range(3))
    volume = float(np.einsum("ij,ij->", a, np.cross(b, c))) / 6.0
    low, high = points.min(axis=0), points.max(axis=0)
    return tuple(map(float, low)), tuple(map(float, high)), volume


def _numbers(plain: dict, binary: bytes, accessor: dict, kind: type) -> np.ndarray:
    view = plain["bufferViews"][accessor["bufferView"]]
    start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
    return np.frombuffer(binary, kind, accessor["count"] * (3 if accessor["type"] == "VEC3" else 1), start)
