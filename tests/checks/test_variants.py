"""Variants side by side: figures by hand, who wins under which weight, where that tips, who can print it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.checks import catalogue
from afterpart.checks.printable_by import printable_by
from afterpart.checks.variant_figures import FIGURES, SEAL_CHECKS, tools
from afterpart.checks.variants import compare
from afterpart.errors import UsageError
from afterpart.model.case import Case, Hanging
from afterpart.model.comparison import Comparison
from afterpart.model.finding import ATTENTION, FAILS, PASSES, Finding, Limit
from afterpart.model.wishes import PrinterWish
from afterpart.standards.hand_work import TASKS, hand_minutes
from afterpart.standards.materials import MATERIALS
from afterpart.standards.plain_printer import PLAIN_PRINTER, ease
from tests.checks.air_cases import OPEN_AREA
from tests.checks.variant_cases import UP, variant


def finding(check: str, verdict: str, value: float, margin: float, severity: int = 5) -> Finding:
    return Finding(check, "it", verdict, value, "-", Limit(low=0.5), margin, "invented", "", severity=severity)


def values(found: Comparison, figure: str) -> tuple[float | None, ...]:
    row, = (one for one in found.rows if one.figure == figure)
    return row.values


def test_figures_by_hand() -> None:
    """PETG 1.27 g/cm3 (from memory): 2 x 20 cm3 = 50.8 g.  6 bolts, 6 washers, 4 screws.  Key 5, screw's driver, blade.

    Hand work: 2 prints, 4 straight cuts, 10 bolts and screws, 6 washers, at the middle of the table's bands."""
    found = compare((variant("a"), variant("b", bolts=4)))
    assert values(found, "mass")[0] == pytest.approx(50.8, rel=0.02)
    assert values(found, "print_time")[0] == 120.0
    assert values(found, "fasteners") == (16.0, 12.0)
    assert values(found, "pieces") == (2.0, 2.0)
    assert values(found, "open_area")[0] == pytest.approx(OPEN_AREA)
    assert values(found, "curved_cuts") == (0.0, 0.0)
    assert values(found, "hand_work")[0] == pytest.approx(2 * 4.0 + 4 * 1.0 + 10 * 1.0 + 6 * 0.2)
    assert tools(variant("a").case) == ("blade", "driver for pan head screw 3", "hexagon key 5")
    assert values(found, "tools") == (3.0, 3.0)


def test_the_report_is_read_by_check() -> None:
    good = (finding("fit_share", PASSES, 99.0, 0.1), finding("cord_fill", PASSES, 0.7, 0.4),
            finding("leak_gap", PASSES, 0.1, 0.2))
    poor = (finding("fit_share", ATTENTION, 80.0, 0.1), finding("cord_fill", FAILS, 0.7, -0.4))
    found = compare((variant("good", findings=good), variant("poor", findings=poor)))
    assert values(found, "fit_share") == (99.0, 80.0)
    assert values(found, "seal_margin") == (0.2, -0.4)
    assert values(found, "worst_finding") == (3.5, 0.5)
    assert found.worst == ("passes: fit share, it", "fails: cord fill, it")
    assert found.winners == ("good",)


def test_seal_checks_are_those_of_the_catalogue() -> None:
    assert set(SEAL_CHECKS) <= {check.__name__ for check in catalogue.CHECKS}


def test_each_weight_has_its_winner() -> None:
    """Thin foam breathes better; four bolts are less work: which is best is for the maker to say."""
    pair = (variant("thin", thickness=6.0), variant("few", bolts=4))
    assert compare(pair, {"pressure_drop": 1.0}).winners == ("thin",)
    assert compare(pair, {"fasteners": 1.0}).winners == ("few",)
    level = compare(pair, {"pressure_drop": 1.0, "fasteners": 1.0})
    assert level.winners == ("thin", "few") and level.scores == pytest.approx((0.5, 0.5)) and level.tippings == ()
    by_figure = {row.figure: row.winners for row in level.rows}
    assert by_figure["pressure_drop"] == ("thin",) and by_figure["hand_work"] == ("few",)
    assert by_figure["open_area"] == ("thin", "few") and by_figure["fit_share"] == ()


def test_where_it_tips_by_hand() -> None:
    """Lead of thin: 3 x 1 (drop) - 1 x 1 (fasteners) = 2 of 4.  The drop's weight tips at 1, that of the fasteners at 3."""
    found = compare((variant("thin", thickness=6.0), variant("few", bolts=4)), {"pressure_drop": 3.0, "fasteners": 1.0})
    assert found.winners == ("thin",) and found.scores == pytest.approx((0.75, 0.25))
    tips = {tip.figure: tip for tip in found.tippings}
    assert tips["pressure_drop"].weight == pytest.approx(1.0) and tips["fasteners"].weight == pytest.approx(3.0)
    assert tips["fasteners"].winner == "few"
    assert "open_area" not in tips


@settings(deadline=None, derandomize=True, max_examples=15)
@given(st.fixed_dictionaries({kind.name: st.floats(0.1, 10.0) for kind in FIGURES}))
def test_beyond_a_tipping_weight_the_other_one_wins(weights: dict[str, float]) -> None:
    pair = (variant("thin", thickness=6.0, volume=30_000.0), variant("few", bolts=4))
    for tip in compare(pair, weights).tippings:
        step = 1e-3 if tip.weight > tip.weight_now else -min(1e-3, tip.weight / 2)
        if step:
            assert compare(pair, {**weights, tip.figure: tip.weight + step}).winners == (tip.winner,)


def test_what_is_not_known_counts_for_none() -> None:
    told, silent = variant("told"), variant("silent")
    silent = replace(silent, case=replace(silent.case, facts=()))
    found = compare((told, silent), {"mass": 1.0, "print_time": 1.0})
    assert values(found, "mass")[1] is None
    assert next(row.winners for row in found.rows if row.figure == "mass") == ()
    assert found.winners == ("told", "silent")
    assert compare((told, silent), {"mass": 1.0}).winners == ()


def test_a_round_element_counts_as_a_curved_cut() -> None:
    assert values(compare((variant("a", curved=True), variant("b"))), "curved_cuts") == (1.0, 0.0)


@pytest.mark.parametrize("names, weights, says", [
    (("a",), None, "two or more"), (("a", "a"), None, "different names"), (("a", "b"), {"beauty": 1.0}, "beauty"),
    (("a", "b"), {"mass": -1.0}, "-1.0"), (("a", "b"), {"mass": float("nan")}, "nan"),
    (("a", "b"), {"mass": 0.0}, "none above 0")])
def test_what_cannot_be_compared_is_refused(names: tuple[str, ...], weights: dict[str, float] | None, says: str) -> None:
    with pytest.raises(UsageError, match=says):
        compare(tuple(variant(name) for name in names), weights)


def with_facts(case: Case, **changes: object) -> Case:
    return replace(case, facts=tuple(replace(fact, **changes) for fact in case.facts))  # type: ignore[arg-type]


def test_who_can_print_it() -> None:
    case = variant("a").case
    assert printable_by("a", case, PLAIN_PRINTER, "a plain printer", True).obstacles == ()
    turned = printable_by("a", with_facts(case, high=(100.0, 240.0, 9.0)), PrinterWish(bed=(250.0, 110.0)), "your printer", False)
    assert turned.obstacles == ()
    told = printable_by("a", with_facts(case, high=(230.0, 100.0, 9.0), thinnest=0.7, hanging=(
        Hanging("unsupported", 12.0, UP), Hanging("bridge", 20.0, UP, 14.0))), PLAIN_PRINTER, "a plain printer", True).obstacles
    assert len(told) == 8 and any("230 x 100" in one for one in told) and any("12 mm2" in one for one in told)
    assert any("14.0 mm" in one for one in told) and any("0.70 mm" in one for one in told)
    nothing = printable_by("a", replace(case, facts=()), PLAIN_PRINTER, "a plain printer", True)
    assert nothing.unknown == ("cover: not measured", "clamp_frame: not measured")


def test_a_filament_for_closed_chambers_is_told_of_plain_printers_only() -> None:
    case = variant("a").case
    pieces = tuple(replace(p, material="PA6-GF") if p.kind == "cover" else p for p in case.build.pieces)
    case = replace(case, build=replace(case.build, pieces=pieces))
    plain = printable_by("a", case, PLAIN_PRINTER, "a plain printer", True).obstacles
    assert plain == ("cover: PA6-GF wants a closed chamber", "cover: PA6-GF wants a hardened nozzle")
    assert printable_by("a", case, PLAIN_PRINTER, "your printer", False).obstacles == ()


def test_tables_are_whole() -> None:
    assert all(ease(one.name).source.from_memory for one in MATERIALS)
    assert all(0.0 < figure.low <= figure.high for figure in TASKS.values())
    for look_up in (ease, hand_minutes):
        with pytest.raises(KeyError, match="known are"):
            look_up("no such thing")
