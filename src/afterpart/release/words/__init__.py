"""The words a stranger reads in a release: one TOML file a section, so that another language is another set of files.

Words: a *section* is the name of a file here without its ending; what stands in braces is filled in by the caller.  A *language*
is a folder of such files; a text it does not have stays English, which lies here.  `sentences.toml` holds what the stages before
say (findings, notes, names of pieces): there the English text is itself the key (see words.py of the package).
Conventions: the language holds for everything made inside `with speaking(folder):` and for nothing outside it.
Limits: only English is shipped.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from afterpart.words import ELSE, SENTENCES, forms_of, gaps, language, speaking, texts_of

__all__ = ["ENGLISH", "lacking", "shipped", "speaking", "word", "words"]

ENGLISH = "en"
"""Name of the language that is in the program."""


def word(section: str, key: str, **fields: object) -> str:
    """One text of a section, its braces filled in.  KeyError: no such section or key, or a brace not given."""
    text = _text(section, key)
    return str(text).format(**fields) if fields else str(text)


def words(section: str, key: str, **fields: object) -> tuple[str, ...]:
    """A list of texts of a section, their braces filled in.  KeyError: as `word`."""
    return tuple(str(text).format(**fields) if fields else str(text) for text in _text(section, key))


def shipped(name: str) -> Path | None:
    """The folder of a language that lies here; None for one that does not."""
    folder = Path(__file__).parent / name
    return folder if folder.is_dir() and any(folder.glob("*.toml")) else None


def lacking(folder: Path) -> tuple[str, ...]:
    """What a language does not have, or has with other gaps than the English: "section: key", a sentence by its English."""
    found = []
    for file in sorted(Path(__file__).parent.glob("*.toml")):
        english, own = _section(file.parent, file.stem), _section(folder, file.stem)
        if file.stem == SENTENCES:
            forms = {more: texts[ELSE] for more, texts in forms_of(own).items()}
            english, own = texts_of(english), texts_of(own) | forms
        found += [f"{file.stem}: {key}" for key, text in english.items() if not _is_like(text, own.get(key))]
    return tuple(found)


def _is_like(english: Any, own: Any) -> bool:
    """The same kind of value, and no gap that the English does not fill."""
    if isinstance(english, list):
        return isinstance(own, list) and gaps(" ".join(map(str, own))) <= gaps(" ".join(map(str, english)))
    return isinstance(own, str) and gaps(own) <= gaps(str(english))


def _text(section: str, key: str) -> Any:
    english = _section(resources.files("afterpart.release.words"), section)
    if not english:
        raise KeyError(f"no words for {section!r}")
    folder = language()
    own = _section(folder, section).get(key) if folder is not None else None
    return own if own is not None and _is_like(english[key], own) else english[key]


@cache
def _section(folder: Traversable, name: str) -> dict[str, Any]:
    """The texts of a section; none where the folder has no such file."""
    file = folder.joinpath(f"{name}.toml")
    return tomllib.loads(file.read_text(encoding="utf-8")) if file.is_file() else {}
