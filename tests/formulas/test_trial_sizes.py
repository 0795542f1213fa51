"""Which trials are of this printer, and on which side of a size material lies."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest

from afterpart.errors import JobError
from afterpart.formulas.trial_sizes import is_settled, own_trials, printed_sizes
from afterpart.model.edges import Reference
from afterpart.model.outline import Arc, Circle, Datum, Dimension, Line, Loop, Outline
from afterpart.model.wishes import PrinterWish, Trial, Wishes


def dimension(name: str, kind: str, *of: str) -> Dimension:
    return Dimension(name, kind, of, 10.0, 0.05, 10.0, 0.9, None, "inferred")


RIM = Loop("outer", 1, (Line("s1", (0.0, 0.0), (40.0, 0.0)), Arc("s2", (40.0, 0.0), (40.0, 20.0), (40.0, 10.0), 10.0, True),
                        Line("s3", (40.0, 20.0), (0.0, 20.0)), Line("s4", (0.0, 20.0), (0.0, 0.0))))
SLOT = Loop("opening", 1, (Line("s5", (5.0, 12.0), (15.0, 12.0)), Arc("s6", (15.0, 12.0), (15.0, 8.0), (15.0, 10.0), 2.0, False),
                           Line("s7", (15.0, 8.0), (5.0, 8.0)), Arc("s8", (5.0, 8.0), (5.0, 12.0), (5.0, 10.0), 2.0, False)))
HOLE = Loop("opening", 1, (Circle("c1", (30.0, 10.0), 3.0),))
GROOVE = (Loop("channel", 1, (Circle("c2", (30.0, 10.0), 6.0),), "outer", 1.0),
          Loop("channel", 1, (Circle("c3", (30.0, 10.0), 5.0),), "inner", 1.0))
DIMENSIONS = (dimension("d1", "width", "s1", "s3"), dimension("d2", "width", "s5", "s7"), dimension("d3", "diameter", "c1"),
              dimension("d4", "distance", "c1", "s6"), dimension("d5", "radius", "s2"), dimension("d6", "radius", "s6"),
              dimension("d7", "width", "c2", "c3"), dimension("d8", "gap", "s1", "c2"), dimension("d9", "length", "s1"),
              dimension("d10", "diameter", "c3"))
OUTLINE = Outline("mm", Reference("rule", 10.0, 3e-4), Datum("", (0.0, 0.0), 0.0), (), (RIM, SLOT, HOLE, *GROOVE), DIMENSIONS, ())


def wishes(*trials: Trial, material: str = "PETG", profile: str = "") -> Wishes:
    return Wishes(trials=trials, printer=PrinterWish(material=material, profile=profile))


@pytest.mark.parametrize(("of", "side"), [
    ("d1", 1.0), ("d2", -1.0), ("d3", -1.0), ("c1", -1.0), ("d4", 0.0), ("d5", 0.5), ("d6", -0.5), ("d7", -1.0), ("d8", 1.0),
    ("d10", 1.0), ("c2", -1.0)])
def test_a_size_grows_with_its_edges(of: str, side: float) -> None:
    assert [row.side for row in printed_sizes(wishes(Trial("size", 10.0, printed=9.9, of=of)), OUTLINE)] == [side]


@pytest.mark.parametrize(("of", "words"), [("d9", "length"), ("d99", "d99"), ("s1", "s1")])
def test_what_tells_no_printer_figure_is_refused_with_its_row(of: str, words: str) -> None:
    rows = (Trial("pilot", 2.4, "drove"), Trial("size", 10.0, printed=9.9, of=of))
    with pytest.raises(JobError, match=rf"trial\.2\.of: found .*{words}.*expected"):
        printed_sizes(wishes(*rows), OUTLINE)


def test_holes_of_the_coupon_count_and_rows_without_a_size_do_not() -> None:
    rows = (Trial("pilot", 2.4, "drove", printed=2.3), Trial("clearance", 6.4, "fits"), Trial("fit", 0.2, "fits", printed=0.1))
    assert [(row.drawn, row.printed, row.side) for row in printed_sizes(wishes(*rows), OUTLINE)] == [(2.4, 2.3, -1.0)]


def test_rows_of_another_filament_or_profile_are_of_another_printer() -> None:
    own, named = Trial("pilot", 2.4, "drove"), Trial("pilot", 2.45, "drove", material="petg", profile="Fine")
    other = replace(named, material="ASA")
    assert own_trials(wishes(own, named, other, profile="fine")) == (own, named)
    assert own_trials(wishes(own, named, other)) == (own,)


def test_only_a_hole_that_suited_is_settled() -> None:
    told = wishes(Trial("pilot", 2.4, "drove"), Trial("pilot", 2.3, "snapped"), Trial("fit", 0.3, "fits"),
                  Trial("clearance", 6.4, "fits", material="ASA"))
    assert is_settled(2.4, told) and not any(is_settled(d, told) for d in (2.3, 0.3, 6.4, 2.41))
