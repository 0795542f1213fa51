"""Every sentence of a release can be reached by another language: literal, collected in one file, and none beside it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
import re
import string
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from afterpart.release.words import lacking
from afterpart.words import gaps, speaking, symbol_words, tell, texts_of, translated
from docs.make_words import FILE, page, said
from tests.house.tree import PACKAGE, modules
from tests.release.test_words import SENTENCE, literals

TOLD_ROOMS = ("checks", "parts")
"""Rooms whose texts stand in the papers."""
NAMES = {"height.room above", "height.room below", "room above", "channel floor", "corners cut", "FLAT SIDE ON THE FOAM",
         "on an exhaust side", "near an engine", "ink print", "dry foam", "pressure untold", "pressure vessel", "plain part",
         "curved cut", "straight cut", "take a print off and clean it", "mating part", "undersize of holes"}
"""Values of the job's and the tables' own keys, and what is engraved."""
NOT_TOLD = re.compile(r"[=<>^\[\]{}]|^ISO \d|^[a-z]+: |\.$")
"""Formulas, keys and rows of the job file; what begins a complaint."""


def test_the_file_of_sentences_is_up_to_date() -> None:
    assert FILE.read_text(encoding="utf-8") == page(), "run python docs/make_words.py"


def test_every_text_that_is_told_is_a_literal() -> None:
    wrong = [f"{module}:{line}" for module in modules() for line, text in said(module.tree) if text is None]
    wrong = [place for place in wrong if not place.startswith("src/afterpart/words.py")]
    assert not wrong, wrong


def test_every_gap_is_given_and_every_field_used() -> None:
    wrong = []
    for module in modules():
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "tell" and node.args:
                first = node.args[0]
                template = first.value if isinstance(first, ast.Constant) else ""
                given = {word.arg for word in node.keywords}
                if gaps(template) != given:
                    wrong.append(f"{module}:{node.lineno}: {template!r} is given {sorted(map(str, given))}")
    assert not wrong, "\n".join(wrong)


def test_gaps_are_those_that_format_fills() -> None:
    """Held against the standard library's own reading of a template."""
    def fields(template: str) -> set[str]:
        found = set()
        for _, name, spec, _ in string.Formatter().parse(template):
            found |= {name} if name else set()
            found |= fields(spec) if spec else set()
        return found
    texts = texts_of(tomllib.loads(FILE.read_text(encoding="utf-8")))
    assert len(texts) > 1000
    told = [text for text in texts if gaps(text) and "{told}" not in text and "{tested}" not in text]
    wrong = [text for text in told if gaps(text) != fields(text)]
    assert not wrong, wrong


@pytest.mark.parametrize("room", TOLD_ROOMS)
def test_no_sentence_of_these_rooms_stands_beside_it(room: str) -> None:
    """Docstrings, complaints and citations aside, a text of two words that is shown is told or marked."""
    wrong = []
    for path in sorted((PACKAGE / room).glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        aside = {text for _, text in said(tree)} | set(_asides(tree))
        wrong += [f"{path.name}:{line}: {text!r}" for line, text in literals(path)
                  if SENTENCE.search(text) and text not in aside and not NOT_TOLD.search(text) and text not in NAMES]
    assert not wrong, "\n".join(wrong)


def _asides(tree: ast.Module) -> Iterator[str]:
    """Texts of what is never shown (assert), and of citations and formulas: constants of a module that are put together."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Assert | ast.Raise) or (isinstance(node, ast.Assign) and node in tree.body
                                                        and isinstance(node.value, ast.JoinedStr)):
            yield from (inner.value for inner in ast.walk(node)
                        if isinstance(inner, ast.Constant) and isinstance(inner.value, str))


def test_a_text_stays_english_where_the_language_has_none_or_other_gaps(tmp_path: Path) -> None:
    (tmp_path / "sentences.toml").write_text(
        '["any"]\n"{count} findings fail" = "xx {count}"\n"1 finding fails" = "xx {what}"\n"bed fit" = "yy"\n', encoding="utf-8")
    with speaking(tmp_path):
        assert tell("{count} findings fail", count=3) == "xx 3"
        assert tell("1 finding fails") == "1 finding fails", "a gap that the English does not fill"
        assert tell("severity {severity}", severity=9) == "severity 9"
        assert symbol_words("bed_fit") == "yy" and translated("no such text") == "no such text"
    assert tell("{count} findings fail", count=3) == "3 findings fail" and symbol_words("bed_fit") == "bed fit"
    missing = lacking(tmp_path)
    assert "sentences: 1 finding fails" in missing and "sentences: {count} findings fail" not in missing
    assert any(text.startswith("guide: ") for text in missing)
