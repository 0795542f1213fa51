"""Writes src/afterpart/release/words/sentences.toml: every sentence that the code says in a release, sorted by file.

A sentence stands in the code as `tell("...")`, `counted("...", "...")`, or as `entry("...")` where it is a constant; all are
collected from the syntax tree, and with them the texts of the tables of `standards`, the names of the checks, of what a finding
is sensitive to and of the kinds of pieces.  A text that several files say stands under the first of them.  A test runs it and
compares.

Run: python docs/make_words.py.  To see what a language lacks: python docs/make_words.py FOLDER.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
import json
import re
import sys
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path
from typing import get_args

from afterpart.checks.catalogue import CHECKS
from afterpart.model.feature import Feature
from afterpart.model.wishes import PIECE_KINDS
from afterpart.release.words import lacking
from afterpart.standards.table import rows
from afterpart.words import plain_name

PACKAGE = Path(__file__).resolve().parents[1] / "src" / "afterpart"
FILE = PACKAGE / "release" / "words" / "sentences.toml"
TABLES: dict[str, tuple[str, ...]] = {
    "cautions.csv": ("danger", "text"), "driving.csv": ("tool",),
    "failure_modes.csv": ("mode", "effect", "effect_swallowed", "cause")}
"""Columns of the tables that are told to people."""
TELLING = {"tell": 1, "entry": 1, "counted": 2}
"""Functions that are given texts, and how many."""
HEAD = """# What the stages say in a release, each English sentence as its own key.  Written by docs/make_words.py.
# In another language: the same keys, the right-hand sides translated; what stands in braces stays as it is.
"""


def page() -> str:
    """The whole file."""
    seen: set[str] = set()
    blocks = []
    for name, texts in (*_of_code(), *_of_tables(), ("names", _names())):
        new = [text for text in dict.fromkeys(texts) if text not in seen]
        seen.update(new)
        if new:
            lines = "".join(f"{_quoted(text)} = {_quoted(text)}\n" for text in new)
            blocks.append(f"\n[{_quoted(name)}]\n{lines}")
    return HEAD + "".join(blocks)


def said(tree: ast.AST) -> Iterator[tuple[int, str | None]]:
    """Line and text of every `tell`, `entry` and `counted` (both its texts) of a file; None for one whose text is no literal."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in TELLING:
            for place in range(TELLING[node.func.id]):
                text = node.args[place] if place < len(node.args) else None
                yield node.lineno, text.value if isinstance(text, ast.Constant) and isinstance(text.value, str) else None


def _of_code() -> Iterator[tuple[str, list[str]]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        found = sorted((line, text) for line, text in (*said(tree), *_cited(tree)) if text)
        yield path.relative_to(PACKAGE).as_posix(), [text for _, text in found]


def _cited(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and text of the parts of every source that hold a word."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Source":
            for part in (*node.args, *(one.value for one in node.keywords)):
                if isinstance(part, ast.Constant) and isinstance(part.value, str) and re.search(r"[a-z]{3}", part.value):
                    yield part.lineno, part.value


def _of_tables() -> Iterator[tuple[str, list[str]]]:
    for name, columns in TABLES.items():
        yield f"standards/{name}", [row[column] for row in rows(name) for column in columns if row[column]]


def _names() -> list[str]:
    """Names that are told in words: of checks, kinds of pieces and sizes of features; and what a finding is sensitive to, as it
    stands in the formula."""
    sizes = {field.name for kind in get_args(Feature) for field in fields(kind)}
    names = {name.replace("_", " ") for name in {check.__name__ for check in CHECKS} | {*PIECE_KINDS, "check_plate"} | sizes}
    return sorted(names.union(*(_symbols(path) for path in (PACKAGE / "checks").glob("*.py"))))


def _symbols(path: Path) -> Iterator[str]:
    """Keys of the figures that a formula of this file is given by name."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Dict):
            yield from (plain_name(key.value) for key in node.keys if isinstance(key, ast.Constant) and isinstance(key.value, str)
                        and key.value.replace(" ", "_").isidentifier())


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


if __name__ == "__main__":
    if sys.argv[1:]:
        sys.stdout.write("".join(f"{text}\n" for text in lacking(Path(sys.argv[1]))))
    else:
        FILE.write_text(page(), encoding="utf-8")
