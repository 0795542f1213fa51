"""The words a stranger reads in a release: one TOML file a section, so that another language is another set of files.

Words: a *section* is the name of a file here without its ending; what stands in braces is filled in by the caller.  A *language*
is a folder of such files; a text it does not have stays English, which lies here.
Conventions: the language holds for everything made inside `with speaking(folder):` and for nothing outside it.
Limits: only English is shipped; findings and notes of the stages before are sentences of their own and stay as they were made.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

_LANGUAGE: ContextVar[Path | None] = ContextVar("language", default=None)


def word(section: str, key: str, **fields: object) -> str:
    """One text of a section, its braces filled in.  KeyError: no such section or key, or a brace not given."""
    text = _text(section, key)
    return str(text).format(**fields) if fields else str(text)


def words(section: str, key: str, **fields: object) -> tuple[str, ...]:
    """A list of texts of a section, their braces filled in.  KeyError: as `word`."""
    return tuple(str(text).format(**fields) if fields else str(text) for text in _text(section, key))


@contextmanager
def speaking(folder: Path) -> Iterator[None]:
    """Make what is made inside in the language of this folder."""
    before = _LANGUAGE.set(folder)
    try:
        yield
    finally:
        _LANGUAGE.reset(before)


def _text(section: str, key: str) -> Any:
    folder = _LANGUAGE.get()
    own = _section(folder, section) if folder is not None else {}
    if key in own:
        return own[key]
    english = _section(resources.files("afterpart.release.words"), section)
    if not english:
        raise KeyError(f"no words for {section!r}")
    return english[key]


@cache
def _section(folder: Traversable, name: str) -> dict[str, Any]:
    """The texts of a section; none where the folder has no such file."""
    file = folder.joinpath(f"{name}.toml")
    return tomllib.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}
