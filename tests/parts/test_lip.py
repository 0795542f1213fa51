"""Lips and fitted edges: clearance on the side that meets the machine, exact sizes, and what has no room refused."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, contains, gap
from afterpart.model.feature import Chain, Groove, Hole, Lip
from afterpart.model.outline import Circle
from afterpart.model.wishes import CoverWish, LipWish
from afterpart.parts.lip import OVER_WALL, Edge, lay_edge, refuse_lip
from tests.parts import drawings

OUTER: Chain = drawings.rounded_rectangle(-60, -40, 60, 40, 8, "outer", 1).segments
WINDOW: Chain = drawings.rounded_rectangle(-20, -10, 20, 10, 4, "opening", 20).segments
OPENINGS = {"s20": WINDOW}
IDS = {f"s{i}": "s20" for i in range(20, 28)}


def edge(cover: CoverWish, lip: LipWish | None = None, edge_clearance: float = 0.2, lip_clearance: float = 0.2) -> Edge:
    return lay_edge(OUTER, OPENINGS, cover, lip, edge_clearance, lip_clearance, ids=IDS)


def apart(a: Chain, b: Chain) -> float:
    return gap(a, b).distance


def rounded_area(grown: float) -> float:
    """Of the 120 x 80 rectangle with R 8 grown by this much, in closed form."""
    w, h, r = 120 + 2 * grown, 80 + 2 * grown, 8 + grown
    return w * h - (4 - math.pi) * r * r


def test_flush_keeps_the_old_edge() -> None:
    made = edge(CoverWish())
    assert made.chain == OUTER and made.lip is None and not made.notes


@pytest.mark.parametrize("clearance", [None, 0.35])
def test_inside_shrinks_by_the_clearance_the_jobs_own_first(clearance: float | None) -> None:
    made = edge(CoverWish(fit="inside", clearance=clearance))
    told = 0.2 if clearance is None else clearance
    assert chain_area(made.chain) == pytest.approx(rounded_area(-told), abs=1e-9)
    assert contains(OUTER, made.chain) and apart(OUTER, made.chain) == pytest.approx(told)


def test_over_without_a_lip_says_that_nothing_goes_over() -> None:
    made = edge(CoverWish(fit="over"))
    assert chain_area(made.chain) == pytest.approx(rounded_area(0.2 + OVER_WALL), abs=1e-9)
    assert [n.code for n in made.notes] == ["nothing_goes_over"]


@pytest.mark.parametrize("fit", ["flush", "over"])
def test_a_hanging_lip_clears_the_old_edge_on_its_inner_side(fit: str) -> None:
    made = edge(CoverWish(thickness=6.0, fit=fit), LipWish(height=1.5, thickness=2.0, clearance=0.3))
    lip = made.lip
    assert lip is not None and made.chain == lip.outer
    assert (lip.bottom, lip.top, lip.clearance) == (6.0, 7.5, 0.3)
    assert apart(lip.inner, OUTER) == pytest.approx(0.3) and contains(lip.inner, OUTER)
    assert apart(lip.outer, lip.inner) == pytest.approx(2.0)
    ring = chain_area(lip.outer) - chain_area(lip.inner)
    assert ring == pytest.approx(rounded_area(2.3) - rounded_area(0.3), abs=1e-9)
    assert "edge_grows" in [n.code for n in made.notes]


def test_a_lip_inside_stands_along_the_shrunk_edge() -> None:
    made = edge(CoverWish(fit="inside"), LipWish(), lip_clearance=0.25)
    lip = made.lip
    assert lip is not None and lip.outer == made.chain and apart(lip.outer, OUTER) == pytest.approx(0.25)
    assert contains(OUTER, lip.outer) and contains(lip.outer, lip.inner)


def test_a_lip_in_an_opening_narrows_it_and_clears_its_wall() -> None:
    made = edge(CoverWish(), LipWish(of="s23", thickness=1.6, clearance=0.2))
    lip = made.lip
    assert lip is not None and lip.of == "s20" and made.narrowed == ("s20", lip.inner) and made.chain == OUTER
    assert apart(lip.outer, WINDOW) == pytest.approx(0.2) and contains(WINDOW, lip.outer)
    assert apart(lip.inner, lip.outer) == pytest.approx(1.6)


@pytest.mark.parametrize(("lip", "words"), [
    (LipWish(height=0.0), "lip.height: found 0"), (LipWish(thickness=-1.0), "lip.thickness: found -1"),
    (LipWish(clearance=-0.1), "lip.clearance: found -0.1"), (LipWish(height=float("nan")), "lip.height"),
    (LipWish(of="s99"), "lip.of: found 's99'.*s20"), (LipWish(of="s20", thickness=10.0), "lip.thickness: 10.2 mm inside"),
    (LipWish(of="s20", clearance=11.0), "lip.clearance: 11 mm inside")])
def test_a_lip_that_cannot_be_names_its_key(lip: LipWish, words: str) -> None:
    with pytest.raises(JobError, match=words):
        edge(CoverWish(), lip)


def test_unknown_fit_and_negative_clearance_are_refused() -> None:
    with pytest.raises(JobError, match="cover.fit: found 'snug'"):
        edge(CoverWish(fit="snug"))
    with pytest.raises(JobError, match="cover.clearance: found -0.2"):
        edge(CoverWish(fit="inside", clearance=-0.2))


def test_a_thin_lip_is_told() -> None:
    assert "thin_lip" in [n.code for n in edge(CoverWish(), LipWish(thickness=0.6)).notes]


def groove(inset: float) -> Groove:
    outer = drawings.rounded_rectangle(-60 + inset, -40 + inset, 60 - inset, 40 - inset, 4, "outer", 60).segments
    inner = drawings.rounded_rectangle(-57 + inset, -37 + inset, 57 - inset, 37 - inset, 2, "outer", 70).segments
    return Groove(inner, outer, inner, 3.0, 2.0, 0.3, 6.0, 0.0, 2.4, 2.0, (0, 0), inset, 9.0, "dust", "test")


def test_a_lip_thicker_than_the_land_names_the_place_it_breaks_into() -> None:
    def lip(thickness: float) -> Lip:
        made = edge(CoverWish(fit="inside"), LipWish(thickness=thickness)).lip
        assert made is not None
        return made
    hole = Hole("c1", (-50.0, 0.0), 6.0, 0.0, 6.0, "bolt")
    refuse_lip(lip(3.0), (hole,), groove(6.0), None)
    with pytest.raises(JobError, match=r"lip.thickness: a lip 8 mm thick stands over hole c1 at \(-50.0, 0.0\)"):
        refuse_lip(lip(8.0), (hole,), None, None)
    with pytest.raises(JobError, match="lip.thickness: a lip 8 mm thick reaches into the seal groove"):
        refuse_lip(lip(8.0), (), groove(6.0), None)
    with pytest.raises(JobError, match="lip.thickness: a lip 8 mm thick reaches into the filter's pocket"):
        refuse_lip(lip(8.0), (), None, groove(6.0).outer)
    swallowed = (Circle("", (-57.0, 0.0), 1.0),)
    with pytest.raises(JobError, match="filter's pocket"):
        refuse_lip(lip(8.0), (), None, swallowed)
