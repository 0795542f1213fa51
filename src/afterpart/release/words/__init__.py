"""The words a stranger reads in a release: one TOML file a section, so that another language is another set of files.

Words: a *section* is the name of a file here without its ending; what stands in braces is filled in by the caller.
Limits: English only so far; a section is read once and kept.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from typing import Any


def word(section: str, key: str, **fields: object) -> str:
    """One text of a section, its braces filled in.  KeyError: no such section or key, or a brace not given."""
    text = _section(section)[key]
    return str(text).format(**fields) if fields else str(text)


def words(section: str, key: str, **fields: object) -> tuple[str, ...]:
    """A list of texts of a section, their braces filled in.  KeyError: as `word`."""
    return tuple(str(text).format(**fields) if fields else str(text) for text in _section(section)[key])


@cache
def _section(name: str) -> dict[str, Any]:
    file = resources.files("afterpart.release.words").joinpath(f"{name}.toml")
    if not file.is_file():
        raise KeyError(f"no words for {name!r}")
    return tomllib.loads(file.read_text(encoding="utf-8"))
