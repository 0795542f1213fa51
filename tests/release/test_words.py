"""Every sentence of a release comes from the word files: none in the code, none unused, and another language is a folder."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
import re
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

import afterpart.release.words as words_package
from afterpart.model.release import TitleBlock
from afterpart.release.heights_card import heights_pdf
from afterpart.release.manifest import purpose_of
from afterpart.release.words import speaking, word, words
from afterpart.words import SENTENCES
from tests.files.pdf_reading import read_pages
from tests.parts import drawings

RELEASE = Path(words_package.__file__).parents[1]
WORD_FILES = sorted(path for path in Path(words_package.__file__).parent.glob("*.toml") if path.stem != SENTENCES)
"""Those with keys of their own; tests/house/test_words.py holds the sentences."""
SENTENCE = re.compile(r"[^\W\d_]{2,}[,.:;]? +[^\W\d_]{2,}")
"""Two words with a blank between them."""
MARKUP = re.compile(r"[<>{}=]")
NAMES = {"channel floor", "room above", "room below", "corners cut", "not listed", "no file", "sRGB IEC61966-2.1"}
"""Values of the job's and the build's own data, and kinds of differences, a colour space: names, not sentences."""


def literals(path: Path) -> Iterator[tuple[int, str]]:
    """Line and text of every string that is no docstring, no part of an error and no source's citation."""
    tree, left_out = ast.parse(path.read_text(encoding="utf-8")), set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            left_out.add(id(node.value))
        is_error = isinstance(node, ast.Raise) or (
            isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            and (node.func.id.endswith("Error") or node.func.id in ("refuse", "Source")))
        if is_error:
            left_out.update(id(inner) for inner in ast.walk(node))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in left_out:
            yield node.lineno, node.value


@pytest.mark.parametrize("path", sorted(RELEASE.glob("*.py")), ids=lambda path: path.stem)
def test_no_sentence_stands_in_the_code(path: Path) -> None:
    found = [f"{path.name}:{line}: {text!r}" for line, text in literals(path)
             if SENTENCE.search(text) and not MARKUP.search(text) and text not in NAMES]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("path", WORD_FILES, ids=lambda path: path.stem)
def test_every_text_has_words_and_whole_braces(path: Path) -> None:
    for key, value in tomllib.loads(path.read_text(encoding="utf-8")).items():
        for text in value if isinstance(value, list) else [value]:
            assert isinstance(text, str) and text.strip(), key
            assert not re.search(r"[{}]", re.sub(r"\{[a-z_0-9]+(:[^{}]*)?\}", "", text)), f"{key}: {text}"


def test_another_language_is_a_folder_and_ends_where_it_ends(tmp_path: Path) -> None:
    """An invented one: every word of the card as a row of x."""
    english = (RELEASE / "words" / "heights.toml").read_text(encoding="utf-8")
    lines = []
    for key, text in tomllib.loads(english).items():
        fields = re.findall(r"\{[a-z_0-9]+(?::[^{}]*)?\}", text)
        lines.append(f"{key} = 'xx {' '.join(fields)} xx'")
    (tmp_path / "heights.toml").write_text("\n".join(lines), encoding="utf-8")
    outline, title = drawings.gauge_lid(), TitleBlock("gauge lid", "B", "2026-01-02", "afterpart test")
    plain = heights_pdf(outline, {}, title)
    with speaking(tmp_path):
        other = read_pages(heights_pdf(outline, {}, title))[0].text
        assert word("outline", "page", number=3) == "page 3", "what the language lacks stays English"
    assert "xx" in other and "calliper" not in other and "Missing" not in other and "needed" not in other
    assert "calliper" in read_pages(plain)[0].text and heights_pdf(outline, {}, title) == plain


def test_an_unknown_word_is_an_error() -> None:
    with pytest.raises(KeyError):
        word("guide", "no_such_key")
    with pytest.raises(KeyError):
        words("no_such_section", "x")
    assert purpose_of("README.md")
