"""CONTRIBUTING.md tells a newcomer which files to touch; every file, folder and name it tells of is there."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re

import pytest

from tests.house.tree import PACKAGE, ROOT

TEXT = (ROOT / "CONTRIBUTING.md").read_text()
RECIPES = ("a piece", "a check", "a kind of reference", "an output")
PLACES = (ROOT, PACKAGE, PACKAGE / "release", PACKAGE / "job", PACKAGE / "parts", PACKAGE / "web" / "page" / "station1_photo",
          PACKAGE / "release" / "words", ROOT / "tests" / "house")


def recipe(name: str) -> str:
    return TEXT.partition(f"## To add {name}\n")[2].partition("\n## ")[0]


def test_every_file_and_folder_it_names_exists() -> None:
    quoted = [word for text in re.findall(r"`([^`\n]+)`", TEXT) for word in text.split()]
    named = {word.rstrip("/") for word in quoted if "*" not in word and "NAME" not in word and not word.startswith((".", "_"))
             and ("/" in word and "(" not in word or re.search(r"\.(py|toml|md|js)$", word))}
    assert len(named) > 40
    missing = [word for word in sorted(named) if not any((place / word).exists() for place in PLACES)]
    assert not missing, missing


@pytest.mark.parametrize("name", RECIPES)
def test_each_recipe_begins_in_the_code_and_ends_in_a_test(name: str) -> None:
    assert "src/afterpart/" in recipe(name) and "`tests/" in recipe(name)


@pytest.mark.parametrize(("place", "name"), [
    ("model/wishes.py", "PIECE_KINDS"), ("job/layout.py", "PieceKind"), ("parts/stage.py", "def kinds_wanted"),
    ("checks/catalogue.py", "CHECKS"), ("checks/judge.py", "def judged"), ("checks/judge.py", "def not_judged"),
    ("model/job.py", "class Shot"), ("photo/reference.py", "class Sighted"), ("release/build_files.py", "PIECE_ENDINGS"),
    ("web/page/station3_pieces/settings.js", "PIECES")])
def test_every_name_it_tells_of_stands_where_it_says(place: str, name: str) -> None:
    assert name in (PACKAGE / place).read_text() and name.split()[-1] in TEXT
