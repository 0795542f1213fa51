"""Damaged and hostile job files, made by script from the same fields that read them; the same on every run.

Kinds: missing (a key that must be given), mistyped, out of range, infinite, duplicated, deep (nested), long (to 10 MB), bytes
(other encodings, bits flipped, cut short).  `must_say` are words the message has to hold: for most the key that is at fault.
Limits: a key whose table needs other keys stands there with those missing too; the message then names both.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass

from afterpart.job.schema import KeyInfo, TableKeys, job_schema

LEAST_JOB = 'name = "x"\n[[photo]]\nfile = "absent.jpg"\n'
WRONG_TYPE = {"number": '"six"', "integer": "2.5", "text": "[1, 2]", "choice": "17", "flag": '"yes"', "list": "4",
              "point": '"here"', "pair": "{a = 1}", "numbers": "true"}
"""By the kind of key: a value of another type."""
BEYOND = 1e30
"""A length, load or share larger than any."""


@dataclass(frozen=True)
class HostileJob:
    """kind, and a name of its own; data: bytes of job.toml; must_say: words its message must hold."""

    kind: str
    name: str
    data: bytes
    must_say: tuple[str, ...] = ()


def hostile_jobs() -> Iterator[HostileJob]:
    """All of them."""
    for table in job_schema():
        for key in table.keys:
            yield from _of_key(table, key)
    yield from _doubled()
    yield from _deep()
    yield from _long()
    yield from _odd_bytes()


def _of_key(table: TableKeys, key: KeyInfo) -> Iterator[HostileJob]:
    name = f"{table.table}.{key.key}".strip(".")
    if key.must:
        yield HostileJob("missing", name, _without(table, key), (key.key,))
    yield HostileJob("mistyped", name, _with(table, key, WRONG_TYPE[key.type]), (key.key,))
    if key.type == "choice":
        yield HostileJob("out of range", name, _with(table, key, '"none of these"'), (key.key,))
    if key.type in ("number", "integer"):
        yield HostileJob("infinite", name, _with(table, key, "-inf"), (key.key,))
        yield HostileJob("infinite", f"{name} nan", _with(table, key, "nan"), (key.key,))
        yield HostileJob("out of range", f"{name} many figures", _with(table, key, "-" + "9" * 400))
        if key.most is not None or key.below is not None:
            yield HostileJob("out of range", f"{name} above", _with(table, key, _number(key, BEYOND)), (key.key,))
        if key.least is not None or key.above is not None:
            yield HostileJob("out of range", f"{name} below", _with(table, key, _number(key, -BEYOND)), (key.key,))
    if key.type in ("point", "pair"):
        yield HostileJob("infinite", name, _with(table, key, "[nan, inf]"), (key.key,))
        yield HostileJob("out of range", name, _with(table, key, "[1e300, -1e300]"))
        yield HostileJob("out of range", f"{name} many figures", _with(table, key, f"[{'9' * 400}, 1]"), (key.key,))
    yield HostileJob("duplicated", name, _with(table, key, f"1\n{key.key} = 1"), (key.key,))


def _number(key: KeyInfo, value: float) -> str:
    return str(int(value)) if key.type == "integer" else repr(value)


def _with(table: TableKeys, key: KeyInfo, value: str) -> bytes:
    """The least job with this key set to this TOML value."""
    line = f"{key.key} = {value}\n"
    if not table.table:
        own = LEAST_JOB.replace('name = "x"\n', "") if key.key == "name" else LEAST_JOB
        return (line + own).encode()
    if table.table == "photo":
        own = LEAST_JOB.replace('file = "absent.jpg"\n', "") if key.key == "file" else LEAST_JOB
        return (own + line).encode()
    heading = f"[[{table.table}]]" if table.repeats else f"[{table.table}]"
    return f"{LEAST_JOB}{heading}\n{line}".encode()


def _without(table: TableKeys, key: KeyInfo) -> bytes:
    """The least job, with this table there and this key of it not."""
    if not table.table:
        return LEAST_JOB.replace('name = "x"\n', "").encode()
    if table.table == "photo":
        return LEAST_JOB.replace('file = "absent.jpg"\n', "").encode()
    return f"{LEAST_JOB}[[{table.table}]]\n".encode()


def _doubled() -> Iterator[HostileJob]:
    """Tables that stand twice where they may stand once, and rows about the same thing."""
    for table in job_schema():
        if table.table and not table.repeats:
            text = f"{LEAST_JOB}[{table.table}]\n[{table.table}]\n"
            yield HostileJob("duplicated", f"[{table.table}]", text.encode(), (table.table,))
    rows = {"reading": 'id = "d1"\nvalue = 3.0', "fixed": 'id = "d1"\nvalue = 3.0', "height": 'level = "face"\nvalue = 3.0',
            "change": 'feature = "c1"\ndo = "drop"\nreason = "x"', "role": 'of = "c1"\nrole = "seals"',
            "hole": 'name = "a"\nat = [0, 0]\ndiameter = 3.0', "boss": 'name = "a"\nat = [0, 0]\nheight = 3.0'}
    for name, row in rows.items():
        yield HostileJob("duplicated", f"row of {name}", (LEAST_JOB + f"[[{name}]]\n{row}\n" * 2).encode(), (name, "once"))
    yield HostileJob("duplicated", "piece", (f'make = ["cover", "cover"]\n{LEAST_JOB}').encode(), ("make", "once"))


def _deep() -> Iterator[HostileJob]:
    for depth in (50, 900, 5000, 100_000):
        yield HostileJob("deep", f"lists {depth}", f"a = {'[' * depth}{']' * depth}\n{LEAST_JOB}".encode(), ("a",))
        yield HostileJob("deep", f"open lists {depth}", f"{LEAST_JOB}a = {'[' * depth}".encode(), ("job.toml",))
        yield HostileJob("deep", f"tables {depth}", f"a = {'{a = ' * depth}1{'}' * depth}\n{LEAST_JOB}".encode(), ("a",))
    for depth in (50, 900, 2500):
        yield HostileJob("deep", f"dotted {depth}", f"{'.'.join(['a'] * depth)} = 1\n{LEAST_JOB}".encode(), ("a",))
        yield HostileJob("deep", f"heading {depth}", f"{LEAST_JOB}[{'.'.join(['a'] * depth)}]\n".encode(), ("a",))


def _long() -> Iterator[HostileJob]:
    ten_mb = 10_000_000
    yield HostileJob("long", "comment of 10 MB", f"# {'x' * ten_mb}\n{LEAST_JOB}".encode(), ("expected a short",))
    yield HostileJob("long", "blank lines of 10 MB", (LEAST_JOB + "\n" * ten_mb).encode(), ("expected a short",))
    yield HostileJob("long", "rows of 10 MB", (LEAST_JOB + '[[reading]]\nid = "d1"\nvalue = 1.0\n' * (ten_mb // 34)).encode(),
                     ("expected a short",))
    yield HostileJob("long", "5000 wrong rows", (LEAST_JOB + '[[reading]]\nid = "a"\nvalue = -1\n' * 5_000).encode(),
                     ("more complaints",))
    yield HostileJob("long", "8000 unknown keys", ("".join(f"k{k} = 1\n" for k in range(8_000)) + LEAST_JOB).encode(),
                     ("more complaints",))
    yield HostileJob("long", "open text", f'{LEAST_JOB}date = "{"a" * 500_000}'.encode(), ("job.toml:",))
    yield HostileJob("long", "wrong sheet", f'{LEAST_JOB}sheet = "{"A" * 500_000}"\n'.encode(), ("sheet",))
    yield HostileJob("long", "figures", f"drawn = {'9' * 500_000}\n{LEAST_JOB}".encode(), ("number",))
    yield HostileJob("long", "exponent", f"drawn = 1e{'9' * 3000}\n{LEAST_JOB}".encode(), ("drawn",))
    yield HostileJob("long", "key", f"{'k' * 500_000} = 1\n{LEAST_JOB}".encode(), ("known here",))


def _odd_bytes() -> Iterator[HostileJob]:
    for name, data in (("empty", b""), ("zeros", bytes(1000)), ("picture", b"\x89PNG\r\n\x1a\n" + bytes(range(256))),
                       ("UTF-16", LEAST_JOB.encode("utf-16")), ("byte order mark", b"\xef\xbb\xbf" + LEAST_JOB.encode()),
                       ("carriage returns", LEAST_JOB.replace("\n", "\r").encode()), ("latin-1", b'name = "\xe4"\n'),
                       ("NUL in the photo's name", LEAST_JOB.replace("absent", "a\\u0000b").encode()),
                       ("half a surrogate", LEAST_JOB.replace("absent", "\\ud800").encode()),
                       ("photo is a folder", LEAST_JOB.replace("absent.jpg", "..").encode()),
                       ("photo is nothing", LEAST_JOB.replace("absent.jpg", "").encode()),
                       ("photo of a long name", LEAST_JOB.replace("absent", "a" * 5000).encode())):
        yield HostileJob("bytes", name, data)
    whole = (LEAST_JOB + '[cover]\nthickness = 5.0\n[bolts]\nthread = "M6"\nholes = ["c1", "c2"]\n'
             '[[hole]]\nname = "drain"\nat = [0, -30.5]\ndiameter = 4.0\n').encode()
    dice = random.Random(9)
    for number in range(40):
        flipped = bytearray(whole)
        for _ in range(1 + number % 5):
            flipped[dice.randrange(len(whole))] ^= 1 << dice.randrange(8)
        yield HostileJob("bytes", f"bits flipped {number}", bytes(flipped))
    for end in range(1, len(whole), 7):
        yield HostileJob("bytes", f"cut at {end}", whole[:end])
