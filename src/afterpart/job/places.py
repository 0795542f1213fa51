"""Where in a TOML text each key stands, so that a complaint can name its line.

A *place* is the path of a key as pydantic gives it: names and list indices, for example ("photo", 0, "sheet").
Reads what a job file uses: tables, arrays of tables, plain and dotted keys, values over several lines.  Keys inside an inline
table are told by the line on which that table begins.  The text must already be valid TOML.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re

Place = tuple[str | int, ...]

_NAME = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_DOTTED = rf"{_NAME}(?:\s*\.\s*{_NAME})*"
HEADER = re.compile(rf"\s*(\[\[?)\s*({_DOTTED})\s*\]\]?")
KEY = re.compile(rf"\s*({_DOTTED})\s*=(.*)", re.DOTALL)
TOKEN = re.compile(r"'''|\"\"\"|\"(?:\\.|[^\"\\])*\"|'[^']*'|#|[\[\]{}]")


def key_lines(text: str) -> dict[Place, int]:
    """The line (from 1) of every table and key of a valid TOML text, by place."""
    lines: dict[Place, int] = {}
    counts: dict[Place, int] = {}
    table: Place = ()
    open_until, depth = "", 0
    for number, line in enumerate(text.splitlines(), start=1):
        if open_until or depth:
            open_until, depth = follow_value(line, open_until, depth)
            continue
        header, key = HEADER.match(line), KEY.match(line)
        if header:
            table = names_of(header[2])
            if header[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                table = (*table, counts[table])
            lines.setdefault(table, number)
            lines.setdefault(tuple(p for p in table if isinstance(p, str)), number)
        elif key:
            lines.setdefault((*table, *names_of(key[1])), number)
            open_until, depth = follow_value(key[2], "", 0)
    return lines


def line_of(lines: dict[Place, int], place: Place) -> int:
    """The line of this place, or of the nearest table or key around it; 1 when there is none."""
    while place and place not in lines:
        place = place[:-1]
    return lines.get(place, 1)


def names_of(dotted: str) -> Place:
    """The names of a dotted key, without their quotes."""
    return tuple(name.strip("\"'") for name in re.findall(_NAME, dotted))


def follow_value(line: str, open_until: str, depth: int) -> tuple[str, int]:
    """Follow a value through one line: which long string is open at its end, and how many brackets."""
    position = 0
    while position < len(line):
        if open_until:
            end = line.find(open_until, position)
            if end < 0:
                return open_until, depth
            position, open_until = end + 3, ""
            continue
        token = TOKEN.search(line, position)
        if not token or token[0] == "#":
            break
        position = token.end()
        if token[0] in ("'''", '"""'):
            open_until = token[0]
        elif token[0] in "[{":
            depth += 1
        elif token[0] in "]}":
            depth -= 1
    return open_until, depth
