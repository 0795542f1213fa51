"""Writes docs/sources.md: every Source of the code, with the files it vouches for.

Run: python docs/make_sources.py.  A test runs it and compares.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
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


def sources_in(path: Path) -> list[Source]:
    """Every Source(...) with literal arguments in the file."""
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Source":
            named = {word.arg: ast.literal_eval(word.value) for word in node.keywords if word.arg}
            found.append(Source(*map(ast.literal_eval, node.args), **named))
    return found


def page() -> str:
    """The whole text of docs/sources.md."""
    users: dict[str, set[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for source in sources_in(path):
            users.setdefault(str(source), set()).add(f"`{path.relative_to(PACKAGE)}`")
    rows = [f"| {text} | {', '.join(sorted(files))} |" for text, files in sorted(users.items())]
    return HEAD + "\n".join(rows) + "\n"


if __name__ == "__main__":
    (ROOT / "docs" / "sources.md").write_text(page())
