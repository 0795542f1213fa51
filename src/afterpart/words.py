"""Sentences in the reader's language: the English text stands in the code, and is the key under which another language has it.

Words: a *template* is an English text whose gaps stand in braces, as `str.format` fills them.  A *language* is a folder; its
file `sentences.toml` says in tables of any name `"English template" = "the same in that language"`.
Conventions: a text is told whole, in one template, in the language that holds while it is made: inside `with speaking(folder):`.
What the language lacks, or says with other gaps than the English, stays English; release/words lists both.
Limits: errors, and what the command line and the page say, are English.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from pathlib import Path

SENTENCES = "sentences"
"""Name of the file, without its ending."""

_LANGUAGE: ContextVar[Path | None] = ContextVar("language", default=None)
_GAP = re.compile(r"\{([a-z_0-9]+)[^{}]*(?:\{([a-z_0-9]+)\}[^{}]*)?\}")


def tell(template: str, /, **fields: object) -> str:
    """The text in the language that holds, its gaps filled in.  template: a literal, so that it can be collected.

    KeyError: a gap of the English is not given."""
    text = translated(template)
    return text.format(**fields) if fields else text


def entry(text: str) -> str:
    """The same text, marked to be collected: for constants, which are told later with `translated`."""
    return text


def translated(text: str) -> str:
    """A constant marked by `entry`, or a text of a table, in the language that holds; itself where that has none."""
    folder = _LANGUAGE.get()
    return text if folder is None else _sentences(folder).get(text, text)


def symbol_words(symbol: str) -> str:
    """The name of a check or of a quantity in a formula, in words."""
    return translated(symbol.replace("_", " "))


def language() -> Path | None:
    """The folder of the language that holds; None for English."""
    return _LANGUAGE.get()


@contextmanager
def speaking(folder: Path | None) -> Iterator[None]:
    """Make what is made inside in the language of this folder; None: English."""
    before = _LANGUAGE.set(folder)
    try:
        yield
    finally:
        _LANGUAGE.reset(before)


def gaps(template: str) -> frozenset[str]:
    """Names of the gaps of a template."""
    return frozenset(name for found in _GAP.findall(template) for name in found if name)


def texts_of(data: Mapping[str, object]) -> dict[str, str]:
    """English template -> text, of the tables of a file of sentences.  What has other gaps than the English is left out."""
    found = {}
    for table in data.values():
        if isinstance(table, dict):
            found |= {english: text for english, text in table.items() if isinstance(text, str) and gaps(text) <= gaps(english)}
    return found


@cache
def _sentences(folder: Path) -> Mapping[str, str]:
    file = folder / f"{SENTENCES}.toml"
    return texts_of(tomllib.loads(file.read_text(encoding="utf-8"))) if file.is_file() else {}
