"""manifest.json of a released folder, and the comparison of a folder with it.

Words: a *difference* is a file that is missing, changed, or there without being listed; the manifest itself is not listed.
Conventions: paths with /, relative to the folder; SHA-256 as in FIPS 180-4, in small hexadecimal figures.
Limits: the manifest shows what has changed by accident or carelessness; who can change a file can change the manifest, so that
its own SHA-256 must come by another way.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from afterpart.errors import FolderError
from afterpart.model.release import TitleBlock
from afterpart.release.bed_files import BED_NAME
from afterpart.release.lengths import in_inches, unit_word
from afterpart.release.words import word

MANIFEST = "manifest.json"
FORMAT = 1
UNITS = {".step": "mm", ".3mf": "mm", ".stl": "mm", ".dxf": "mm", ".pdf": "mm", ".csv": "mm", ".txt": "mm", ".html": "mm",
         ".glb": "m", ".svg": "mm", ".png": "px", ".jpg": "px", ".json": "mm"}
"""Unit of bare lengths by a file's ending; what has another unit names it in place."""
UNITS_INSIDE = ("findings.json", "report.json", "findings.pdf", "failure_modes.csv", "README.md", "fit_report.md", "sources.md",
                "history.md", "history.csv", "history.pdf", "data/history.json", MANIFEST)
"""Files whose every value names its own unit, or that are words."""
IN_INCHES = ("drawing.pdf", "inspection.pdf", "guide.pdf", "guide.html", "parts_list.csv")
"""The papers whose lengths are in inches where a release is asked for in inches."""
NAMED = ("pieces/assembly.glb", "pieces/assembly.png", "pieces/exploded.png", "pieces/filter_cuts.pdf", "plate/check_plate.pdf",
         "plate/check_plate.png", "pieces/filter_element.3mf", "pieces/filter_element_mm.stl")
"""Files among the pieces and the plate that have words of their own: no piece's, or of what is cut and not printed."""
MISSING, CHANGED, EXTRA = "missing", "changed", "not listed"
NO_FILE = "no file"
"""Stands where a link or a device is found instead of a file."""


@dataclass(frozen=True)
class Difference:
    """path: in the folder; kind: MISSING | CHANGED | EXTRA; text: what was found and expected."""

    path: str
    kind: str
    text: str


def purpose_of(path: str) -> str:
    """What a file of a release is for, in words.  KeyError: a file that no release has."""
    name = PurePosixPath(path)
    if BED_NAME.fullmatch(name.name):
        return word("files", "print_bed", bed=name.stem.removeprefix("print_bed_").replace("_", " "))
    if path in NAMED or name.parent.name not in ("pieces", "plate"):
        return word("files", path)
    if name.name.startswith("passage_"):
        return word("files", "passage")
    return word("files", f"ending_{name.suffix.lstrip('.')}", piece=name.stem.removesuffix("_mm"))


def unit_of(path: str) -> str:
    """The unit of a file's bare lengths, in a word or two.  KeyError: an ending that no release has."""
    if in_inches() and path in IN_INCHES:
        return unit_word()
    return word("files", "unit_inside") if path in UNITS_INSIDE else UNITS[PurePosixPath(path).suffix]


def manifest_json(files: Mapping[str, bytes], title: TitleBlock, licence: str) -> bytes:
    """The manifest of these files (path -> contents).  KeyError: a file whose purpose nobody wrote down."""
    rows = [{"path": path, "sha256": hashlib.sha256(files[path]).hexdigest(), "bytes": len(files[path]),
             "unit": unit_of(path), "purpose": purpose_of(path)} for path in sorted(files)]
    plain = {"format": FORMAT, "name": title.name, "revision": title.revision, "date": title.date, "made_with": title.made_with,
             "licence": licence, "files": rows}
    return (json.dumps(plain, ensure_ascii=False, indent=1) + "\n").encode()


def listed_in(data: bytes, name: str = MANIFEST) -> dict[str, str]:
    """Path -> SHA-256 of a manifest.  Raises FolderError when it is none, or names a place outside its folder."""
    advice = word("files", "fetch_again")
    try:
        plain = json.loads(data)
        if plain["format"] != FORMAT:
            raise ValueError(f"format {plain['format']!r}")
        listed = {str(row["path"]): str(row["sha256"]) for row in plain["files"]}
        if len(listed) != len(plain["files"]):
            raise ValueError("a file listed twice")
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        raise FolderError(f"{name}: found a file that cannot be used ({type(error).__name__}: {error}), expected the manifest of "
                          f"a release. {advice}") from error
    outside = [path for path in listed if not path or "\\" in path or PurePosixPath(path).is_absolute()
               or ".." in PurePosixPath(path).parts]
    if outside:
        raise FolderError(f"{name}: found {outside[0]!r}, expected paths inside the folder. {advice}")
    return listed


def differences(listed: Mapping[str, str], found: Mapping[str, str]) -> tuple[Difference, ...]:
    """What differs, by path.  listed: path -> SHA-256 of the manifest; found: the same of the folder, the manifest left out."""
    rows = []
    for path in sorted({*listed, *found}):
        if path not in found:
            rows.append(Difference(path, MISSING, word("files", "differs_missing", path=path, expected=listed[path][:12])))
        elif path not in listed:
            rows.append(Difference(path, EXTRA, word("files", "differs_extra", path=path, manifest=MANIFEST)))
        elif found[path] != listed[path]:
            told = word("files", "differs_changed", path=path, found=found[path][:12], expected=listed[path][:12])
            rows.append(Difference(path, CHANGED, told))
    return tuple(rows)


def digests_in(folder: Path) -> dict[str, str]:
    """Path (with /, relative) -> SHA-256 of every file under `folder`; of what is no plain file, that it is none.

    Raises FolderError when the folder or a file in it cannot be read."""
    if not folder.is_dir():
        raise FolderError(f"{folder}: found no such folder, expected a release. Check the name; unpack a zip first.")
    found = {}
    try:
        for path in sorted(folder.rglob("*")):
            name = path.relative_to(folder).as_posix()
            if path.is_symlink() or not (path.is_dir() or path.is_file()):
                found[name] = NO_FILE
            elif path.is_file():
                found[name] = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise FolderError(f"{folder}: cannot be read ({error.strerror}: {error.filename}); expected a folder you may read. "
                          "Check its permissions.") from error
    return found
