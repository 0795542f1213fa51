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
from afterpart.words import counted, either, gaps, paragraph, speaking, symbol_words, tell, texts_of, together, translated
from docs.make_words import FILE, page, said
from tests.house.tree import PACKAGE, modules, nodes
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
    for module in (one for one in modules() if not str(one).endswith("afterpart/words.py")):
        for node in nodes(module.tree):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("tell", "counted"):
                templates = [text.value for text in node.args if isinstance(text, ast.Constant)]
                given = {word.arg for word in node.keywords}
                # a count chooses the text, and need not be told in it
                free = {"count"} if node.func.id == "counted" else set()
                if any(gaps(text) - free != given - free for text in templates):
                    wrong.append(f"{module}:{node.lineno}: {templates!r} is given {sorted(map(str, given))}")
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
    told = [text for text in texts if gaps(text)]
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


def test_no_sentence_is_put_together_from_parts() -> None:
    """A text begins and ends with a letter or a sign, and none is added to another: whole sentences stand side by side by
    `paragraph`, names in a row by `together` and `either`."""
    wrong = []
    for module in modules():
        for line, text in said(module.tree):
            if text is not None and text != text.strip():
                wrong.append(f"{module}:{line}: {text!r}")
        for node in nodes(module.tree):
            sums = ([node.left, node.right] if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add)
                    else [node.value] if isinstance(node, ast.AugAssign) and isinstance(node.op, ast.Add) else [])
            wrong += [f"{module}:{node.lineno}: is added to a text" for part in sums if _tells(part)]
    assert not wrong, "\n".join(wrong)


def _tells(node: ast.expr) -> bool:
    """Is this itself a told text, or a choice of them?"""
    if isinstance(node, ast.IfExp):
        return _tells(node.body) or _tells(node.orelse)
    return isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("tell", "counted", "translated")


def test_rows_of_names_are_told_in_one_way() -> None:
    assert together([]) == "" and together(["a"]) == "a" and together(["a", "b"]) == "a and b"
    assert together(["a", "b", "c"]) == "a, b and c" and either("abc") == "a, b or c"
    assert paragraph("One.", "", "Two.") == "One. Two." and paragraph() == ""


def test_a_language_counts_in_its_own_way(tmp_path: Path) -> None:
    """Three forms by the last figures, as Slavic languages have them (Unicode's plural rules for Russian, from memory)."""
    (tmp_path / "sentences.toml").write_text(
        '["any"]\n"{count} holes" = {"*11 *12 *13 *14" = "{count} many", "*1" = "{count} one", "*[234]" = "{count} few", '
        'else = "{count} many"}\n"{before} and {next}" = "{next} y {before}"\n', encoding="utf-8")
    shown = {1: "one", 2: "few", 4: "few", 5: "many", 11: "many", 12: "many", 21: "one", 24: "few", 100: "many", 111: "many"}
    with speaking(tmp_path):
        assert {count: counted("1 hole", "{count} holes", count=count) for count in shown} == {
            count: f"{count} {form}" for count, form in shown.items()}
        assert together(["a", "b"]) == "b y a", "a language may turn it round"
    assert counted("1 hole", "{count} holes", count=1) == "1 hole" and counted("1 hole", "{count} holes", count=2) == "2 holes"
    assert "sentences: {count} holes" not in lacking(tmp_path)


def test_a_text_stays_english_where_the_language_has_none_or_other_gaps(tmp_path: Path) -> None:
    (tmp_path / "sentences.toml").write_text(
        '["any"]\n"{count} holes" = "xx {count}"\n"1 hole" = "xx {what}"\n"bed fit" = "yy"\n', encoding="utf-8")
    with speaking(tmp_path):
        assert tell("{count} holes", count=3) == "xx 3"
        assert tell("1 hole") == "1 hole", "a gap that the English does not fill"
        assert tell("severity {severity}", severity=9) == "severity 9"
        assert symbol_words("bed_fit") == "yy" and translated("no such text") == "no such text"
    assert tell("{count} holes", count=3) == "3 holes" and symbol_words("bed_fit") == "bed fit"
    missing = lacking(tmp_path)
    assert "sentences: 1 hole" in missing and "sentences: {count} holes" not in missing
    assert any(text.startswith("guide: ") for text in missing)
