"""The comparison in words: every figure has its line, the best its star, the unknown its dash."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.checks.variant_figures import FIGURES
from afterpart.checks.variant_table import comparison_lines
from afterpart.checks.variants import compare
from tests.checks.variant_cases import variant


def test_every_figure_has_its_line() -> None:
    found = compare((variant("thin", thickness=6.0), variant("few", bolts=4)), {"pressure_drop": 3.0, "fasteners": 1.0})
    lines = comparison_lines(found)
    for kind, line in zip(FIGURES, lines[1:], strict=False):
        assert line.startswith(kind.name.replace("_", " "))
    assert lines[0].split() == ["figure", "better", "weight", "thin", "few"]
    assert "Best under these weights: thin." in lines
    assert "  few is best instead with a weight of pressure drop below 1." in lines
    assert "  few is best instead with a weight of fasteners above 3." in lines
    fasteners, = (line for line in lines if line.startswith("fasteners"))
    assert fasteners.split() == ["fasteners", "less", "1", "16", "12*"]
    share, = (line for line in lines if line.startswith("fit share"))
    assert share.split()[-2:] == ["-", "-"]
    assert "thin on a plain printer: yes." in lines


def test_columns_are_aligned_and_nothing_known_has_no_winner() -> None:
    lines = comparison_lines(compare((variant("a"), variant("b")), {"fit_share": 1.0}))
    assert "No winner: nothing that has a weight is known of all variants." in lines
    table = lines[:lines.index("")]
    assert len({line.index(word) for line, word in zip(table[1:], ["more", "less", "less", "more"], strict=False)}) == 1


def test_level_variants_and_what_was_not_measured() -> None:
    pair = tuple(replace(v, case=replace(v.case, facts=())) for v in (variant("a"), variant("b")))
    lines = comparison_lines(compare(pair, {"pieces": 1.0}))
    assert "Level under these weights: a, b." in lines
    assert any("not known: cover: not measured" in line for line in lines)
