"""Writes docs/sources.md: every Source of the code, with the files it vouches for, and how each table's rows are marked.

Run: python docs/make_sources.py.  A test runs it and compares.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
import csv
from pathlib import Path

from afterpart.sources import Source

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "src" / "afterpart"
HEAD = """# Where the numbers come from

Written by `docs/make_sources.py` from the sources in the code; a test keeps the two alike. *From memory* means that nobody here
has yet held the value against the document itself.

| source | used in |
|---|---|
"""

TABLES = """
## Tables

Rows of the data files in `standards/`, by the mark they carry; a column with a mark of its own is counted apart. A table without
marks is vouched for as a whole by its source above. Rows from memory are defaults to be edited, and a verdict that rests on one
is never plain.

| table | marked | published | measured | from memory |
|---|---|---|---|---|
"""
MARKS = ("published", "measured", "memory")


def sources_in(path: Path) -> list[Source]:
    """Every Source(...) with literal arguments in the file."""
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Source":
            named = {word.arg: ast.literal_eval(word.value) for word in node.keywords if word.arg}
            found.append(Source(*map(ast.literal_eval, node.args), **named))
    return found


def table_rows(path: Path) -> list[str]:
    """Lines of the second table for one data file: one for each column of marks, or one that counts the rows."""
    read = list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))
    columns = [name for name in read[0] if name == "mark" or name.endswith("_mark")]
    if not columns:
        return [f"| `{path.name}` | as its source: {len(read)} rows | | | |"]
    return [f"| `{path.name}` | {'rows' if name == 'mark' else name.removesuffix('_mark').replace('_', ' ')} | "
            + " | ".join(str(sum(row[name] == mark for row in read)) for mark in MARKS) + " |" for name in columns]


def page() -> str:
    """The whole text of docs/sources.md."""
    users: dict[str, set[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for source in sources_in(path):
            users.setdefault(str(source), set()).add(f"`{path.relative_to(PACKAGE)}`")
    rows = [f"| {text} | {', '.join(sorted(files))} |" for text, files in sorted(users.items())]
    tables = [line for path in sorted((PACKAGE / "standards").glob("*.csv")) for line in table_rows(path)]
    return HEAD + "\n".join(rows) + "\n" + TABLES + "\n".join(tables) + "\n"


if __name__ == "__main__":
    (ROOT / "docs" / "sources.md").write_text(page())
