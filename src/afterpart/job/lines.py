"""An edit of a job file made on its lines, so that every comment stays where the maker, or the template, put it.

A *commented line* of the template (`# thickness = 6.0   # from the outside ...`) is taken into use when its key is given: the
mark goes, the value is put in, the words behind it stay; the same with a commented heading (`# [cover]`).
Returns None where the lines do not tell the place (inline tables, dotted keys): edit.py then goes another way.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import tomlkit

from afterpart.job.entries import Entry, end_of_value, entries_of
from afterpart.job.places import Place

_COMMENTED_HEADING = re.compile(r"\s*#\s*\[+\s*([A-Za-z0-9_]+)\s*\]+")
_COMMENTED_KEY = re.compile(r"\s*#\s*([A-Za-z0-9_]+)\s*=(.*)")


def edited_lines(text: str, edit: Mapping[str, Any]) -> str | None:
    """The text after one edit (see edit.py, which has checked it), or None where its lines do not tell how."""
    ending = "\r\n" if "\r\n" in text else "\n"
    lines = text.replace("\r\n", "\n").split("\n")
    do = edit["do"]
    if do == "set":
        done = _set(lines, tuple(edit["at"].split(".")), edit["value"])
    elif do == "remove":
        done = _remove(lines, tuple(edit["at"].split(".")))
    elif do == "table":
        done = _new_table(lines, edit["at"], edit.get("row", {}), "[{}]")
    elif do == "untable":
        done = _drop(lines, (edit["at"],))
    elif do == "add":
        done = _add_row(lines, edit["table"], edit["row"])
    elif do == "drop":
        done = _drop(lines, (edit["table"], edit["index"]))
    elif do == "move":
        done = _move(lines, edit["table"], edit["index"], edit["to"])
    else:
        done = _change_row(lines, (edit["table"], edit["index"]), edit["row"])
    return None if done is None else ending.join(done)


def _set(lines: list[str], names: tuple[str, ...], value: Any) -> list[str] | None:
    entries = entries_of(lines)
    for entry in entries:
        if not entry.is_heading and entry.place == names:
            return _with_value(lines, entry, value)
    table, key = names[:-1], names[-1]
    if table and not any(entry.is_heading and entry.place == table for entry in entries):
        return _new_table(lines, ".".join(table), {key: value}, "[{}]") if len(table) == 1 else None
    return _with_new_key(lines, table, key, value)


def _with_value(lines: list[str], entry: Entry, value: Any) -> list[str]:
    """The lines with another value for a key; the words behind it keep their column where there is room."""
    first, last = lines[entry.first], lines[entry.last]
    head = first[:first.index("=") + 1]
    behind = last[_value_end(lines, entry):]
    words = behind.strip()
    start = len(last) - len(behind.lstrip()) if entry.first == entry.last else 0
    return [*lines[:entry.first], _beside(f"{head} {spelled(value)}", words, start), *lines[entry.last + 1:]]


def _value_end(lines: list[str], entry: Entry) -> int:
    """Column after the value on the entry's last line."""
    last = lines[entry.last]
    if entry.first == entry.last:
        at = last.index("=") + 1
        return at + end_of_value(last[at:])
    closing = max(last.rfind("]"), last.rfind("}"), last.rfind('"""'), last.rfind("'''"))
    return last.index("#", closing) if "#" in last[closing:] else len(last)


def _beside(line: str, words: str, column: int) -> str:
    return f"{line}{' ' * max(column - len(line), 2)}{words}" if words else line


def _with_new_key(lines: list[str], table: Place, key: str, value: Any) -> list[str] | None:
    """The key after the last one of its table, or in place of the commented line that shows it."""
    entries = entries_of(lines)
    own = [entry for entry in entries if entry.table == table]
    if not own:
        return [f"{key} = {spelled(value)}", *lines] if not table else None
    end = _end_of_table(lines, entries, own)
    for number in range(own[0].first, end):
        shown = _COMMENTED_KEY.fullmatch(lines[number])
        if shown and shown[1] == key and not any(entry.first <= number <= entry.last for entry in own):
            return [*lines[:number], _taken_into_use(lines[number], shown, value), *lines[number + 1:]]
    at = own[-1].last + 1
    return [*lines[:at], f"{key} = {spelled(value)}", *lines[at:]]


def _end_of_table(lines: list[str], entries: tuple[Entry, ...], own: list[Entry]) -> int:
    """The first line after the table's own keys and the commented ones that belong to it."""
    following = [entry.first for entry in entries if entry.first > own[-1].last]
    for number in range(own[-1].last + 1, following[0] if following else len(lines)):
        if _COMMENTED_HEADING.match(lines[number]):
            return number
    return following[0] if following else len(lines)


def _taken_into_use(line: str, shown: re.Match[str], value: Any) -> str:
    """A commented line with its mark taken away and the value put in."""
    rest = shown[2]
    words = rest[end_of_value(rest):].strip()
    return _beside(f"{shown[1]} = {spelled(value)}", words, line.rindex(words) if words else 0)


def _new_table(lines: list[str], name: str, row: Mapping[str, Any], heading: str) -> list[str] | None:
    """A table in place of its commented heading, or at the end of the text."""
    if any(entry.place[:1] == (name,) for entry in entries_of(lines)):
        return None
    for number, line in enumerate(lines):
        shown = _COMMENTED_HEADING.match(line)
        if shown and shown[1] == name and _is_free(lines, number):
            done = [*lines[:number], heading.format(name), *lines[number + 1:]]
            table: Place = (name, 0) if heading.startswith("[[") else (name,)
            return _with_keys(done, table, row)
    return _at_end(lines, [heading.format(name), *_spelled_row(row)])


def _is_free(lines: list[str], number: int) -> bool:
    """Would a heading on this line take no key away from the table before it?"""
    following = [entry for entry in entries_of(lines) if entry.last >= number]
    return not following or following[0].is_heading


def _with_keys(lines: list[str], table: Place, row: Mapping[str, Any]) -> list[str] | None:
    """The keys in the order of the row, each in its commented line or after the ones before."""
    done: list[str] | None = lines
    for key, value in row.items():
        if value is not None and done is not None:
            done = _with_new_key(done, table, key, value)
    return done


def _at_end(lines: list[str], block: list[str]) -> list[str]:
    end = len(lines)
    while end and not lines[end - 1].strip():
        end -= 1
    return [*lines[:end], *([""] if end else []), *block, ""]


def _add_row(lines: list[str], name: str, row: Mapping[str, Any]) -> list[str] | None:
    entries = entries_of(lines)
    own = [entry for entry in entries if entry.table[:1] == (name,)]
    if not own:
        return _new_table(lines, name, row, "[[{}]]")
    at = own[-1].last + 1
    return [*lines[:at], "", f"[[{name}]]", *_spelled_row(row), *lines[at:]]


def _change_row(lines: list[str], table: Place, row: Mapping[str, Any]) -> list[str] | None:
    done: list[str] | None = lines
    for key, value in row.items():
        entries = entries_of(done)
        if not any(entry.is_heading and entry.place == table for entry in entries):
            return None
        found = next((entry for entry in entries if entry.place == (*table, key) and not entry.is_heading), None)
        if value is None:
            done = _without(done, found) if found else done
        else:
            done = _with_value(done, found, value) if found else _with_new_key(done, table, key, value)
        if done is None:
            return None
    return done


def _remove(lines: list[str], names: tuple[str, ...]) -> list[str] | None:
    entry = next((entry for entry in entries_of(lines) if not entry.is_heading and entry.place == names), None)
    return _without(lines, entry) if entry else None


def _without(lines: list[str], entry: Entry) -> list[str]:
    """The lines without a key; one with words behind it becomes a commented line, so that the words stay."""
    line, end = lines[entry.first], _value_end(lines, entry)
    words = line[end:].strip() if entry.first == entry.last else ""
    kept = [_beside(f"# {line[:end].strip()}", words, line.index(words, end))] if words else []
    return [*lines[:entry.first], *kept, *lines[entry.last + 1:]]


def _drop(lines: list[str], table: Place) -> list[str] | None:
    """The lines without the table's heading and keys; the comments after its last key stay."""
    own = [entry for entry in entries_of(lines) if entry.table[:len(table)] == table]
    if not own or not own[0].is_heading:
        return None
    before, after = lines[:own[0].first], lines[own[-1].last + 1:]
    if before and not before[-1].strip() and (not after or not after[0].strip()):
        before = before[:-1]
    return [*before, *after]


def _move(lines: list[str], name: str, index: int, to: int) -> list[str] | None:
    """A row changes places with its neighbours until it stands where it is wanted."""
    done: list[str] | None = lines
    for at in range(index, to) if to > index else range(index - 1, to - 1, -1):
        done = _swapped(done, (name, at), (name, at + 1)) if done is not None else None
    return done


def _swapped(lines: list[str], upper: Place, lower: Place) -> list[str] | None:
    """Two rows, each from its heading to its last key with the comments between, in each other's place."""
    above, below = ([entry for entry in entries_of(lines) if entry.table[:2] == place] for place in (upper, lower))
    if not above or not below or not above[0].is_heading or not below[0].is_heading or above[-1].last >= below[0].first:
        return None
    return [*lines[:above[0].first], *lines[below[0].first:below[-1].last + 1], *lines[above[-1].last + 1:below[0].first],
            *lines[above[0].first:above[-1].last + 1], *lines[below[-1].last + 1:]]


def _spelled_row(row: Mapping[str, Any]) -> list[str]:
    return [f"{key} = {spelled(value)}" for key, value in row.items() if value is not None]


def spelled(value: Any) -> str:
    """The value as TOML writes it, on one line."""
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(spelled, value))}]"
    return tomlkit.item(value).as_string()
