"""docs/performance.md says what docs/performance.json holds."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

from docs.make_performance import SCRIPTS, by_size, growth_words, page, waits

DOCS = Path(__file__).resolve().parents[2] / "docs"


def test_the_page_is_what_the_stored_figures_make_it() -> None:
    stored = json.loads((DOCS / "performance.json").read_text())
    assert {"rows", *SCRIPTS} <= set(stored), "run make bench, then python docs/make_performance.py"
    assert (DOCS / "performance.md").read_text() == page(stored), "run python docs/make_performance.py --page"
    assert len(waits(stored)[1]) == 13


def test_ratios_and_growth_are_worked_out_from_the_rows() -> None:
    rows = [{"table": "photograph", "way": way, "size": 12, "seconds": seconds}
            for way, seconds in (("decode", 0.05), ("x", 1.0))]
    head, cells = by_size(rows)
    assert head.endswith("12 megapixels") and cells == [["decode", "0.05 s (1)"], ["x", "1 s (20)"]]
    grown = [{"table": "holes", "way": "work", "size": n, "seconds": 0.1 * n**2} for n in (4, 8)]
    assert "from 4 to 8 holes: as the power 2.00" in growth_words(grown)
