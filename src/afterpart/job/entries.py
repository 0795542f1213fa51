"""The lines of a TOML text that say something: where each table's heading and each key begins and ends.

An *entry* is a heading (`[cover]`, `[[reading]]`) or a key with its value; comments and blank lines lie between entries.  Lines
are counted from 0.  The text must already be valid TOML; what stands inside an inline table has no entry of its own.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.job.places import HEADER, KEY, TOKEN, Place, follow_value, names_of


@dataclass(frozen=True)
class Entry:
    """is_heading: a table's heading, else a key; place: as in places.py, with the row's number for a `[[table]]`; first, last:
    its lines; table: place of the table it stands under."""

    is_heading: bool
    place: Place
    first: int
    last: int
    table: Place


def entries_of(lines: list[str]) -> tuple[Entry, ...]:
    """Every heading and key, in order."""
    found: list[Entry] = []
    counts: dict[Place, int] = {}
    table: Place = ()
    open_until, depth, pending = "", 0, None
    for number, line in enumerate(lines):
        if pending is None:
            header, key = HEADER.match(line), KEY.match(line)
            if header:
                table = names_of(header[2])
                if header[1] == "[[":
                    counts[table] = counts.get(table, -1) + 1
                    table = (*table, counts[table])
                found.append(Entry(True, table, number, number, table))
                continue
            if not key:
                continue
            pending = (number, (*table, *names_of(key[1])))
            line = key[2]
        open_until, depth = follow_value(line, open_until, depth)
        if not open_until and not depth:
            found.append(Entry(False, pending[1], pending[0], number, table))
            pending = None
    return tuple(found)


def end_of_value(line: str) -> int:
    """Where the value on this last line of an entry ends: what follows is blank or a comment."""
    position, end = 0, len(line)
    while (token := TOKEN.search(line, position)) is not None:
        if token[0] == "#":
            end = token.start()
            break
        position = token.end()
    return len(line[:end].rstrip())
