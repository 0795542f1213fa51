"""docs/accuracy.md says what docs/accuracy.json holds, and what holds the figures is made by one command."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

from docs.accuracy_page import kept_speed, page, prose

DOCS = Path(__file__).resolve().parents[2] / "docs"


def test_the_page_is_what_the_stored_figures_make_it() -> None:
    stored, text = json.loads((DOCS / "accuracy.json").read_text()), (DOCS / "accuracy.md").read_text()
    assert {"photographs", "study", "real"} <= {name for name, found in stored.items() if found}
    assert text == page(stored, text), "run python docs/make_accuracy.py --page"


def test_the_store_is_small() -> None:
    assert (DOCS / "accuracy.json").stat().st_size < 40_000


def test_words_in_backticks_are_not_broken() -> None:
    command = "`" + " ".join(["word"] * 40) + "`"
    assert command in prose(f"Some text before it, {command} and after.")


def test_what_stands_below_the_benchmarks_is_kept() -> None:
    text = "# A\n\n## Speed\n\nfirst paragraph\nof two lines\n\nsecond\n\nthird\n"
    assert kept_speed(text) == "second\n\nthird\n"
    assert kept_speed("# A\n\n## Speed\n\nonly one\n") == ""
