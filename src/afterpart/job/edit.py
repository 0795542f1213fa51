"""A change to the text of a job file: comments, order and spacing stay as the maker left them.

An *edit* is one small change, as a mapping:
    {"do": "set", "at": "cover.thickness", "value": 6.0}      a key (its table is made where it is missing)
    {"do": "remove", "at": "cover.thickness"}
    {"do": "add", "table": "reading", "row": {...}}           one more row of a repeated table
    {"do": "change", "table": "reading", "index": 0, "row": {...}}   only the given keys; None takes a key out
    {"do": "drop", "table": "reading", "index": 0}
    {"do": "move", "table": "photo", "index": 2, "to": 0}     a row to another place; those between move up or down
    {"do": "table", "at": "cover", "row": {...}}              a table that is not there yet
    {"do": "untable", "at": "cover"}
What an edit means is settled on the plain values; the text is then changed line by line, a commented line of the template being
taken into use where there is one.  A text that does not read back as meant is not used: then the parser's own document is
changed, which keeps comments too but may place them less well.  Whether the job can be used is judged by read.py, not here.
Rows that name a photograph by its number go on naming the same one when photographs are moved or dropped; what is told about a
dropped one goes with it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import copy
import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

import tomlkit

from afterpart.errors import JobError
from afterpart.job.lines import edited_lines
from afterpart.job.toml_text import parsed

Edit = Mapping[str, Any]
LONGEST_TEXT = 20_000
MOST_EDITS = 500
NAME_PHOTOS = ("damage", "edit")
"""Tables whose rows name a photograph by its number from 1, in the key photo (left out: the first)."""

_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_]{0,60}")


def apply_edits(text: str, edits: Sequence[Edit]) -> str:
    """The text of a job file after these edits, one after the other.

    Raises JobError for an edit that is none, or that does not fit the text (a row that is not there, a table that is)."""
    if len(edits) > MOST_EDITS:
        raise JobError(f"edits: found {len(edits)}, expected at most {MOST_EDITS} at a time. Send them in parts.")
    for edit in edits:
        for one in (edit, *_following(plain_job(text), edit)):
            text = _with_edit(text, one)
    return text


def _with_edit(text: str, edit: Edit) -> str:
    plain = plain_job(text)
    wanted = meant(plain, edit)
    if _strictly(wanted) == _strictly(plain):
        return text
    by_lines = edited_lines(text, edit)
    if by_lines is not None and _reads_as(by_lines, wanted):
        return by_lines
    by_document = _by_document(text, edit)
    if not _reads_as(by_document, wanted):
        raise AssertionError(f"the edit {edit} gave another job than meant")
    return by_document


def _following(plain: Mapping[str, Any], edit: Edit) -> list[Edit]:
    """What must follow when photographs are moved or one is dropped: rows that name them, the last ones first."""
    if not isinstance(edit, Mapping) or edit.get("table") != "photo" or edit.get("do") not in ("move", "drop"):
        return []
    before = [{"was": number} for number in range(1, len(plain.get("photo", ())) + 1)]
    after = [row["was"] for row in meant({"photo": before}, edit).get("photo", ())]
    found: list[Edit] = []
    for table in NAME_PHOTOS:
        rows = plain.get(table, [])
        for index in reversed(range(len(rows) if isinstance(rows, list) else 0)):
            number = rows[index].get("photo", 1)
            if number in after and after.index(number) + 1 != number:
                found.append({"do": "change", "table": table, "index": index, "row": {"photo": after.index(number) + 1}})
            elif isinstance(number, int) and number not in after and 1 <= number <= len(before):
                found.append({"do": "drop", "table": table, "index": index})
    return found


def plain_job(text: str) -> dict[str, Any]:
    """The values of a job file as they stand, unchecked.  Raises JobError when the text is no TOML."""
    try:
        return copy.deepcopy(parsed(text))
    except tomllib.TOMLDecodeError as error:
        raise JobError(f"job.toml: found TOML that cannot be read ({error}), expected key = value. Correct it by hand first.") \
            from error


def meant(plain: Mapping[str, Any], edit: Edit) -> dict[str, Any]:
    """The plain values after the edit; JobError where it does not fit."""
    if not isinstance(edit, Mapping):
        raise JobError(f"edit: found {edit!r}, expected a table with do. Send a change as an object.")
    job = copy.deepcopy(dict(plain))
    do = edit.get("do")
    if do in ("set", "remove"):
        _set_or_remove(job, edit)
    elif do in ("table", "untable"):
        _table_or_untable(job, edit)
    elif do in ("add", "change", "drop", "move"):
        _rows(job, edit)
    else:
        raise JobError(f"do: found {do!r}, expected set, remove, add, change, drop, move, table or untable. Choose one of these.")
    return job


def _set_or_remove(job: dict[str, Any], edit: Edit) -> None:
    *tables, key = place_of(edit)
    table = job
    for name in tables:
        table = table.setdefault(name, {}) if edit["do"] == "set" else table.get(name, {})
        if not isinstance(table, dict):
            raise JobError(f"{name}: found a repeated table or a value, expected a [table]. Name its row: change, with index.")
    if edit["do"] == "remove":
        if key not in table:
            raise JobError(f"{edit['at']}: found no such key, expected one to take out. It may be gone already.")
        del table[key]
        return
    if isinstance(table.get(key), dict) or _is_rows(table.get(key)):
        raise JobError(f"{edit['at']}: found a table, expected a key. Set its keys one by one.")
    table[key] = checked(edit.get("value"), str(edit["at"]))


def _table_or_untable(job: dict[str, Any], edit: Edit) -> None:
    place = place_of(edit)
    if len(place) != 1:
        raise JobError(f"at: found {edit['at']!r}, expected the name of a table. Leave the key out.")
    if edit["do"] == "untable":
        if not isinstance(job.get(place[0]), dict):
            raise JobError(f"{place[0]}: found no such table, expected one to take out. It may be gone already.")
        del job[place[0]]
        return
    if place[0] in job:
        raise JobError(f"{place[0]}: found this table already, expected none. Set its keys one by one.")
    job[place[0]] = _row(edit)


def _rows(job: dict[str, Any], edit: Edit) -> None:
    name = edit.get("table")
    if not isinstance(name, str) or not _NAME.fullmatch(name):
        raise JobError(f"table: found {name!r}, expected the name of a repeated table, for example reading. Check its spelling.")
    rows = job.get(name, [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise JobError(f"{name}: found no repeated table, expected [[{name}]]. Set its keys one by one.")
    if edit["do"] == "add":
        job[name] = [*rows, _row(edit)]
        return
    index = _row_number(edit.get("index"), name, rows)
    if edit["do"] == "move":
        rows.insert(_row_number(edit.get("to"), name, rows), rows.pop(index))
        return
    if edit["do"] == "drop":
        left = rows[:index] + rows[index + 1:]
        job.pop(name)
        if left:
            job[name] = left
        return
    row = edit.get("row")
    if not isinstance(row, Mapping):
        raise JobError(f"row: found {row!r}, expected the keys to change. Send them as an object.")
    for key, value in row.items():
        _check_name(key)
        if value is None:
            rows[index].pop(key, None)
        else:
            rows[index][key] = checked(value, f"{name}.{index + 1}.{key}")


def _row_number(index: Any, name: str, rows: list[Any]) -> int:
    if not isinstance(index, int) or isinstance(index, bool) or not 0 <= index < len(rows):
        raise JobError(f"{name}: found row {index!r}, expected 0 to {len(rows) - 1}. The table may have changed: look at it "
                       "again.")
    return index


def place_of(edit: Edit) -> tuple[str, ...]:
    """The names of the edit's `at`.  Raises JobError."""
    at = edit.get("at")
    names = tuple(at.split(".")) if isinstance(at, str) else ()
    if not 1 <= len(names) <= 3 or not all(_NAME.fullmatch(name) for name in names):
        raise JobError(f"at: found {at!r}, expected a key such as cover.thickness. Check its spelling.")
    return names


def checked(value: Any, where: str) -> Any:
    """The value itself where a job file can hold it.  Raises JobError."""
    plain = isinstance(value, bool | int | str) or (isinstance(value, float) and math.isfinite(value))
    if isinstance(value, str) and len(value) > LONGEST_TEXT:
        raise JobError(f"{where}: found {len(value)} letters, expected at most {LONGEST_TEXT}. Shorten it.")
    if isinstance(value, list | tuple) and len(value) <= LONGEST_TEXT:
        return [checked(item, where) for item in value]
    if not plain or (isinstance(value, int) and abs(value) >= 2**63):
        raise JobError(f"{where}: found {value!r}, expected a number, a text, true, false or a list of these. Check it.")
    return value


def _row(edit: Edit) -> dict[str, Any]:
    row = edit.get("row", {})
    if not isinstance(row, Mapping):
        raise JobError(f"row: found {row!r}, expected keys with their values. Send them as an object.")
    for key in row:
        _check_name(key)
    return {key: checked(value, str(key)) for key, value in row.items() if value is not None}


def _check_name(key: Any) -> None:
    if not isinstance(key, str) or not _NAME.fullmatch(key):
        raise JobError(f"row: found the key {key!r}, expected a documented key. Check its spelling.")


def _is_rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(item, dict) for item in value)


def _reads_as(text: str, wanted: Mapping[str, Any]) -> bool:
    try:
        return _strictly(parsed(text)) == _strictly(wanted)
    except tomllib.TOMLDecodeError:
        return False


def _strictly(value: Any) -> Any:
    """Values that compare by type too: true is not 1, 6 is not 6.0."""
    if isinstance(value, Mapping):
        return {key: _strictly(item) for key, item in value.items()}
    return [_strictly(item) for item in value] if isinstance(value, list) else (type(value).__name__, value)


def _by_document(text: str, edit: Edit) -> str:
    """The edit made on the parser's document."""
    document, do = tomlkit.parse(text), edit["do"]
    if do in ("set", "remove", "table", "untable"):
        *tables, key = place_of(edit)
        table: Any = document
        for name in tables:
            if name not in table:
                table[name] = tomlkit.table()
            table = table[name]
        if do in ("remove", "untable"):
            del table[key]
        else:
            table[key] = checked(edit["value"], key) if do == "set" else _row(edit)
    else:
        name = edit["table"]
        wanted = meant(document.unwrap(), edit).get(name)
        if wanted is None:
            del document[name]
        elif do == "change":
            for key, value in edit["row"].items():
                if value is not None:
                    document[name][edit["index"]][key] = value
                else:
                    document[name][edit["index"]].pop(key, None)
        elif do == "drop":
            del document[name][edit["index"]]
        elif do == "move":
            row = document[name][edit["index"]]
            del document[name][edit["index"]]
            document[name].insert(edit["to"], row)
        elif name in document:
            document[name].append(_row(edit))
        else:
            rows = tomlkit.aot()
            rows.append(tomlkit.item(_row(edit)))
            document[name] = rows
    return tomlkit.dumps(document)
