"""Sentences in the reader's language: the English text stands in the code, and is the key under which another language has it.

Words: a *template* is an English text whose gaps stand in braces, as `str.format` fills them.  A *language* is a folder; its
file `sentences.toml` says in tables of any name `"English template" = "the same in that language"`.
Conventions: a text is told whole, in one template, in the language that holds while it is made: inside `with speaking(folder):`.
What the language lacks, or says with other gaps than the English, stays English; release/words lists both.
Templates are whole sentences, or names and clauses that a sentence takes whole; none is glued to another.  What stands side by
side is set there by `paragraph` (sentences), `together` and `either` (names in a row).  What is counted is told by `counted`; a
language with more forms than one and many gives a table of them: `"{count} holes" = {"*[05-9] *1[0-9]" = "...", "*1" = "...",
else = "..."}`, where a pattern stands for the last figures of the count and the first that suits is taken.
Limits: errors, and what the command line and the page say, are English.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path

SENTENCES = "sentences"
"""Name of the file, without its ending."""

ELSE = "else"
"""Key of the form of a counted text that is taken where no pattern suits."""

_LANGUAGE: ContextVar[Path | None] = ContextVar("language", default=None)
_UNIT = re.compile(r"_(?:n|pa|n_m|n_per_mm|m3_per_h|deg)$")
_GAP = re.compile(r"\{([a-z_0-9]+)[^{}]*(?:\{([a-z_0-9]+)\}[^{}]*)?\}")


def tell(template: str, /, **fields: object) -> str:
    """The text in the language that holds, its gaps filled in.  template: a literal, so that it can be collected.

    KeyError: a gap of the English is not given."""
    text = translated(template)
    return text.format(**fields) if fields else text


def counted(one: str, more: str, /, count: int, **fields: object) -> str:
    """What is told of a number of things: `one` of 1, `more` of any other number, `{count}` being a gap of both.  Literals.

    KeyError: a gap is not given."""
    folder = _LANGUAGE.get()
    forms = {} if folder is None else _forms(folder).get(more, {})
    text = form_of(forms, count) if forms else translated(one if count == 1 else more)
    return text.format(count=count, **fields)


def form_of(forms: Mapping[str, str], count: int) -> str:
    """The first form one of whose patterns suits the count, or that under "else"."""
    suiting = (text for patterns, text in forms.items() if any(fnmatchcase(str(count), one) for one in patterns.split()))
    return next(suiting, forms[ELSE])


def paragraph(*sentences: str) -> str:
    """Whole sentences one after the other; what is empty is left out."""
    return _row([text for text in sentences if text], entry("{before} {next}"), entry("{before} {next}"))


def together(names: Iterable[str]) -> str:
    """Names, or clauses of one form, in a row that holds for all of them: a, b and c.  "" of none."""
    return _row(list(names), entry("{before}, {next}"), entry("{before} and {next}"))


def either(names: Iterable[str]) -> str:
    """The same of which one holds: a, b or c."""
    return _row(list(names), entry("{before}, {next}"), entry("{before} or {next}"))


def _row(texts: list[str], joint: str, last: str) -> str:
    row = texts[0] if texts else ""
    for place, text in enumerate(texts[1:], 2):
        row = translated(last if place == len(texts) else joint).format(before=row, next=text)
    return row


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


def plain_name(symbol: str) -> str:
    """A figure's name as it stands in a formula, without its unit and in words: torque_n_m is a torque."""
    return _UNIT.sub("", symbol).replace("_", " ")


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
    found: dict[str, str] = {}
    for table in data.values():
        if isinstance(table, dict):
            found |= {english: text for english, text in table.items() if isinstance(text, str) and gaps(text) <= gaps(english)}
    return found


def forms_of(data: Mapping[str, object]) -> dict[str, dict[str, str]]:
    """English template -> pattern -> text, of the counted texts that a file of sentences has in several forms.

    Left out: what has no form under "else", or other gaps than the English."""
    found: dict[str, dict[str, str]] = {}
    for table in data.values():
        for english, forms in (table.items() if isinstance(table, dict) else ()):
            if isinstance(forms, dict) and ELSE in forms and all(
                    isinstance(text, str) and gaps(text) <= gaps(english) for text in forms.values()):
                found[english] = forms
    return found


@cache
def _sentences(folder: Path) -> Mapping[str, str]:
    return texts_of(_read(folder))


@cache
def _forms(folder: Path) -> Mapping[str, Mapping[str, str]]:
    return forms_of(_read(folder))


def _read(folder: Path) -> Mapping[str, object]:
    file = folder / f"{SENTENCES}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}
