"""A job file, read and checked.

A *complaint* is one thing that cannot be used, as `job.toml:LINE: key: found ..., expected ..., do ...`.  All complaints of a
file are gathered and raised together, so that one round of corrections is enough.
Only this file of the job stage and template.py touch the disk.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import copy
import difflib
from dataclasses import replace
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.exceptions import ParseError, TOMLKitError

from afterpart.errors import FolderError, JobError
from afterpart.job.cover_keys import BoltKeys, ChangeKeys, CoverKeys, HoleKeys, InletKeys, LipKeys, RoleKeys, SealKeys
from afterpart.job.drawing_keys import EditKeys, FixedKeys
from afterpart.job.layout import JobKeys
from afterpart.job.making_keys import CouponKeys, FilterKeys, HolderKeys, PrinterKeys, ScrewKeys, TrialKeys
from afterpart.job.mate_keys import MateKeys
from afterpart.job.photo_keys import DamageKeys, DatumKeys, HeightKeys, PhotoKeys, PlateKeys, ReadingKeys
from afterpart.job.places import Place, key_lines, line_of
from afterpart.job.release_keys import ReleaseKeys
from afterpart.job.report_keys import FitReportKeys
from afterpart.job.service_keys import FailureKeys, FitKeys, MachineKeys, ServiceKeys
from afterpart.job.toml_text import parsed
from afterpart.job.typed import to_noun
from afterpart.model.job import DatumChoice, Height, Job, PlateChoice, Reading, Shot
from afterpart.model.mate import MateWish
from afterpart.model.release import ReleaseWish

JOB_FILE = "job.toml"
MAX_BYTES = 1_000_000
MOST_COMPLAINTS = 40
"""Complaints told in full; of more only the number: such a file is no job file, or is damaged throughout."""
LONGEST_TOLD = 600
"""Letters of one complaint about a value, which repeats the value."""
LONGEST_FOUND = 80
"""Letters shown of a value that was found."""

_TABLES = (JobKeys, PhotoKeys, ReadingKeys, DamageKeys, HeightKeys, FixedKeys, EditKeys, MateKeys, DatumKeys, PlateKeys,
           ChangeKeys, RoleKeys, HoleKeys, CoverKeys, BoltKeys, SealKeys, LipKeys, InletKeys, FilterKeys, HolderKeys,
           ScrewKeys, CouponKeys, PrinterKeys, TrialKeys, MachineKeys, ServiceKeys, FitKeys, FailureKeys, FitReportKeys,
           ReleaseKeys)
_BOUNDS = {"greater_than_equal": "at least", "greater_than": "more than", "less_than_equal": "at most",
           "less_than": "less than"}
"""How a limit of a number is told, by pydantic's name for it."""
_KNOWN_KEYS = sorted({field.alias or name for keys in _TABLES for name, field in keys.model_fields.items()})


def read_job(folder: Path) -> Job:
    """The job in `folder`/job.toml (or the job file itself).

    Raises FolderError when there is no such file, JobError with every complaint at once when it cannot be used.
    """
    path = folder / JOB_FILE if folder.is_dir() else folder
    try:
        if path.stat().st_size > MAX_BYTES:
            raise JobError(f"{path}: found {path.stat().st_size} bytes, expected a short text file. Is this the job file?")
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise JobError(f"{path.name}: found bytes that are no UTF-8 text, expected a text file. Save it as UTF-8.") from error
    except OSError as error:
        raise FolderError(f"{path}: cannot be read ({error.strerror}); expected a job file. "
                          "Make one with: afterpart new FOLDER --photo PICTURE") from error
    return parse_job(text, path.name)


def parse_job(text: str, file_name: str = JOB_FILE) -> Job:
    """The job this TOML text describes.  Raises JobError with every complaint, one a line."""
    document = _document(text, file_name)
    complaints = _Complaints(file_name, key_lines(text))
    keys = None
    try:
        keys = JobKeys.model_validate(document)
    except ValidationError as error:
        found = error.errors()
        for item in found[:MOST_COMPLAINTS]:
            complaints.add(*_explain(dict(item)))
        complaints.untold = len(found[MOST_COMPLAINTS:])
    _check_once(document, "reading", "id", "Keep the better reading, or their mean.", complaints)
    _check_once(document, "fixed", "id", "Keep the value that is meant.", complaints)
    _check_once(document, "height", "level", "Keep the better one, or their mean.", complaints)
    _check_once(document, "change", "feature", "Keep the row that is meant.", complaints)
    _check_once(document, "role", "of", "Keep the role that is meant.", complaints)
    _check_once(document, "hole", "name", "Give the second hole another name.", complaints)
    _check_once(document, "boss", "name", "Give the second boss another name.", complaints)
    _check_make(document, complaints)
    _check_photos(document, complaints)
    complaints.raise_any()
    assert keys is not None
    return _job(keys)


def _document(text: str, file_name: str) -> dict[str, Any]:
    """The plain values of the text: read by the quick reader, and where that refuses by the one that tells the line."""
    with contextlib.suppress(ValueError, RecursionError):  # ValueError: no TOML, or a number of thousands of figures
        return copy.deepcopy(parsed(text))
    try:
        return tomlkit.parse(text).unwrap()
    except RecursionError as error:
        raise JobError(f"{file_name}:1: found lists or tables too deep within each other, expected two or three. "
                       "Look for brackets that are never closed.") from error
    except ParseError as error:
        raise JobError(f"{file_name}:{error.line}: found TOML that cannot be read ({_plain(error)}), expected key = value. "
                       "Check quotes and brackets on this line and the one above.") from error
    except TOMLKitError as error:
        raise JobError(f"{file_name}:1: found TOML that cannot be read ({error}), expected each key once. "
                       "Look for a key or a [table] that stands twice.") from error
    except ValueError as error:  # not of TOML's own kinds: Python refuses whole numbers of thousands of figures
        raise JobError(f"{file_name}:1: found a number that cannot be read ({error}), expected one of a few figures. "
                       "Look for a very long number.") from error


class _Complaints:
    """Gathers what is wrong; each with file, line and key."""

    def __init__(self, file_name: str, lines: dict[Place, int]) -> None:
        self.file_name, self.lines = file_name, lines
        self.texts: dict[tuple[int, Place], str] = {}
        self.untold = 0

    def add(self, place: Place, text: str) -> None:
        key = ".".join(str(p) if isinstance(p, str) else str(p + 1) for p in place) or "job"
        key = key if len(key) <= LONGEST_TOLD else f"{key[:LONGEST_FOUND]} ..."
        line = line_of(self.lines, place)
        self.texts.setdefault((line, place), f"{self.file_name}:{line}: {key}: {text}")

    def raise_any(self) -> None:
        """JobError with the complaints in order of their lines, and the number of those beyond MOST_COMPLAINTS."""
        if self.texts:
            texts = [self.texts[key] for key in sorted(self.texts, key=lambda k: (k[0], str(k[1])))]
            more = self.untold + len(texts[MOST_COMPLAINTS:])
            rest = [f"{self.file_name}: {more} more complaints. Correct these first."] if more else []
            raise JobError("\n".join(texts[:MOST_COMPLAINTS] + rest))


def _check_once(document: dict[str, Any], table: str, key: str, advice: str, complaints: _Complaints) -> None:
    """Each dimension, and each level, may be read once."""
    seen: set[str] = set()
    listed = document.get(table)
    for index, row in enumerate(listed if isinstance(listed, list) else []):
        name = row.get(key) if isinstance(row, dict) else None
        if isinstance(name, str) and name in seen:
            what = {"id": "dimension", "of": "loop, hole or lip"}.get(key, key)
            complaints.add((table, index, key), f"found {name!r} a second time, expected each {what} once. {advice}")
        seen.add(str(name))


def _check_make(document: dict[str, Any], complaints: _Complaints) -> None:
    """Each kind of piece is asked for once."""
    listed = document.get("make")
    names = [name for name in listed if isinstance(name, str)] if isinstance(listed, list) else []
    for name in sorted({name for name in names if names.count(name) > 1}):
        complaints.add(("make", names.index(name)), f"found {name!r} twice, expected each piece once. Take one out.")


def _check_photos(document: dict[str, Any], complaints: _Complaints) -> None:
    """Damage and corrections lie in a photo that is there, and the first photo shows the part."""
    photos = document.get("photo")
    first = photos[0] if isinstance(photos, list) and photos else None
    if isinstance(first, dict) and first.get("shows") == "mate":
        complaints.add(("photo", 0, "shows"), "found mate in the first photo, expected part. Put a photo of the part before it.")
    count = len(photos) if isinstance(photos, list) else 0
    for table in ("damage", "edit"):
        listed = document.get(table)
        for index, row in enumerate(listed if isinstance(listed, list) else []):
            number = row.get("photo", 1) if isinstance(row, dict) else 1
            if isinstance(number, int) and number > max(count, 1):
                complaints.add((table, index, "photo"), f"found photo {number}, expected 1 to {count}. "
                                                        "Count the [[photo]] tables.")


def _job(keys: JobKeys) -> Job:
    datum, plate, wishes = keys.datum, keys.plate, keys.wishes()
    heights = tuple(row.height() for row in keys.height)
    shots = tuple(_shot(keys, number, heights) for number in range(1, len(keys.photo) + 1))
    return Job(name=keys.name, shots=shots, revision=keys.revision, date=keys.date, origin=keys.origin,
               drawn=keys.drawn,
               readings=tuple(Reading(r.id, r.value, r.u) for r in keys.reading),
               datum=DatumChoice(datum.kind, tuple(datum.of), datum.origin or (0.0, 0.0), datum.angle_deg),
               plate=PlateChoice(plate.thickness, plate.bed or wishes.printer.bed, plate.frame, plate.first_layer_chamfer),
               fixed=tuple(row.fixed() for row in keys.fixed),
               corrections=tuple(row.correction() for row in keys.edit), heights=heights, wishes=wishes,
               release=ReleaseWish(**dict(keys.release)), mate=to_noun(MateWish, keys.mate) or MateWish(),
               fit_reports=tuple(row.report() for row in keys.fit_report))


def _shot(keys: JobKeys, number: int, heights: tuple[Height, ...]) -> Shot:
    """Photo `number` with its damaged places; what it does not say of face and channel is taken from the heights card, which is
    about the part alone."""
    shot = keys.photo[number - 1].shot()
    told = {height.level: height.value for height in heights} if shot.shows == "part" else {}
    face = told.get("face") if shot.face_height is None else shot.face_height
    floor = told.get("channel floor") if shot.channel_depth is None else shot.channel_depth
    damage = tuple(row.damage() for row in keys.damage if row.photo == number)
    return replace(shot, face_height=face, channel_depth=floor, pad_height=told.get("boss"), damage=damage)


def _explain(item: dict[str, Any]) -> tuple[Place, str]:
    """The place, and found, expected, do, for one pydantic complaint."""
    if item["type"] == "value_error":
        key, _, text = str(item["ctx"]["error"]).partition(": ")
        if len(text) > LONGEST_TOLD:
            text = f"{text[:LONGEST_TOLD // 2]} ... {text[-LONGEST_TOLD // 2:]}"
        of_table = isinstance(item["input"], dict)
        return ((*item["loc"], key) if of_table else item["loc"]), text
    return item["loc"], _wording(item)


def _wording(item: dict[str, Any]) -> str:
    """Found, expected, do, for what pydantic itself found wrong."""
    kind, found, name = item["type"], _shown(item.get("input")), item["loc"][-1]
    if kind == "extra_forbidden":
        near = difflib.get_close_matches(str(name), _KNOWN_KEYS, n=1)
        return "found a key that is not known here, expected one of the documented keys. " + (
            f"Did you mean {near[0]}?" if near else "Check its spelling.")
    if kind == "missing":
        return f"found nothing, expected the key {name!r}. Add it."
    if kind == "literal_error":
        return f"found {found}, expected {item['ctx']['expected']}. Choose one of these."
    if kind in _BOUNDS:
        limit = next(item["ctx"][name] for name in ("ge", "gt", "le", "lt") if name in item["ctx"])
        return f"found {found}, expected {_BOUNDS[kind]} {limit:g}. Check the number and its unit."
    if kind == "string_pattern_mismatch":
        return f"found {found}, expected letters, figures, blanks, - and _ only. Choose another name."
    if kind == "string_too_long":
        return f"found {len(str(item['input']))} letters, expected at most {item['ctx']['max_length']}. Shorten it."
    if kind == "too_short":
        return "found an empty list, expected at least one [[photo]]. Add one."
    if kind == "string_too_short":
        return "found an empty text, expected some words. Fill it in."
    wanted = {"string_type": "a text in quotes", "int_type": "a whole number", "float_type": "a number",
              "bool_type": "true or false", "finite_number": "a finite number",
              "list_type": "a list", "model_type": "a [table]"}.get(kind, item["msg"])
    return f"found {found}, expected {wanted}. Correct the value."


def _shown(value: Any) -> str:
    """The value as it was found, its middle left out where it is long; a number of thousands of figures by its kind alone."""
    try:
        text = repr(value)
    except ValueError:
        return "a number of thousands of figures"
    except RecursionError:
        return "lists within lists"
    half = LONGEST_FOUND // 2
    return text if len(text) <= LONGEST_FOUND else f"{text[:half]} ... {text[-half:]}"


def _plain(error: ParseError) -> str:
    """The parser's own words without its line and column, which the complaint already carries."""
    words = str(error).split(" at line ")[0].rstrip(". ")
    return "the text ends too early" if "\\x00" in words else words


def readings_by_id(job_readings: tuple[Reading, ...], typed: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """Readings of the job with those typed on the command line added; a typed one replaces the job's of the same id."""
    merged = {reading.id: reading for reading in job_readings}
    merged.update({reading.id: reading for reading in typed})
    return tuple(merged.values())
