"""Verdicts on loose things, from ways written down by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.loose_items import loose_items
from afterpart.checks.passages import BOSS_SCREWS
from afterpart.model.assembly import Assembly, Build, Place
from afterpart.model.case import Case, Passage
from afterpart.model.feature import Boss, Latch, PrintedSeal
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, VERDICTS, Finding
from afterpart.model.outline import Circle
from afterpart.model.wishes import HolderWish, MachineFacts
from tests.checks.loose_cases import INLET, SCREW, case, lid, piece

BACK = Passage(SCREW.name, "straight back", True, 3.0, 3.0, "back", "", "outside")
SHUT = replace(BACK, is_open=False, room=1.0, by="guard")
INWARDS = replace(BACK, ends="clean side")
HEAD = Passage(SCREW.name, "on through its hole", False, 3.4, 5.6, "on", "its head", "clean side")
WIDE = replace(HEAD, is_open=True, room=6.0)
FOAM = Passage(SCREW.name, "in with the air", False, 0.0, 5.6, "air", "the filter element", "clean side")
OPEN_AIR = replace(FOAM, is_open=True, room=20.0, by="the opening")


def judged(*ways: Passage, machine: MachineFacts | None = None) -> Finding:
    build, _ = lid()
    build = replace(build, assembly=replace(build.assembly, places=build.assembly.places[:1]))
    found = loose_items(case(build, machine, ways))
    assert [finding.subject for finding in found] == [SCREW.name]
    return found[0]


def test_a_head_over_a_narrower_hole_passes_with_its_margin() -> None:
    finding = judged(BACK, HEAD, FOAM)
    assert finding.verdict == PASSES and finding.margin == pytest.approx((5.6 - 3.4) / 5.6)
    assert finding.picture and finding.u == 0.1 and "outside" in finding.advice


def test_a_hole_within_the_printer_s_spread_of_the_head_gets_attention() -> None:
    assert judged(BACK, replace(HEAD, room=5.5), FOAM).verdict == ATTENTION
    assert judged(BACK, replace(HEAD, room=5.3), FOAM).verdict == PASSES


def test_what_gets_behind_a_cover_nobody_told_about_is_not_judged_and_grave() -> None:
    finding = judged(BACK, WIDE, FOAM)
    assert finding.verdict == NOT_JUDGED and finding.severity == 9
    assert finding.missing == ("machine.swallows", "machine.clean_port")
    assert judged(BACK, WIDE, FOAM, machine=MachineFacts(swallows=True)).missing == ("machine.clean_port",)


@pytest.mark.parametrize("way", [WIDE, OPEN_AIR, INWARDS])
def test_one_open_way_and_a_port_wider_than_the_head_fail(way: Passage) -> None:
    ways = {passage.along: passage for passage in (BACK, HEAD, FOAM)} | {way.along: way}
    finding = judged(*ways.values(), machine=MachineFacts(swallows=True, clean_port=5.7))
    assert (finding.verdict, finding.severity, finding.value, finding.limit.low) == (FAILS, 9, 0.0, 2.0)
    narrow = judged(*ways.values(), machine=MachineFacts(swallows=True, clean_port=5.5))
    assert narrow.verdict == PASSES and narrow.margin == pytest.approx(0.1 / 5.6)


def test_what_is_blocked_before_it_is_free_never_comes_in_with_the_air() -> None:
    assert judged(SHUT, HEAD, OPEN_AIR, machine=MachineFacts(clean_port=50.0)).verdict == PASSES
    assert judged(BACK, HEAD, OPEN_AIR, machine=MachineFacts(clean_port=50.0)).verdict == FAILS


def test_a_machine_that_swallows_nothing_makes_it_a_nuisance() -> None:
    assert judged(BACK, WIDE, FOAM, machine=MachineFacts(swallows=False)).severity == 3


def test_ways_that_were_not_followed_are_not_judged() -> None:
    assert judged().verdict == NOT_JUDGED and judged().missing == ()


@given(st.floats(0.5, 40.0), st.floats(0.5, 40.0))
def test_a_wider_port_never_helps(a: float, b: float) -> None:
    narrow, wide = sorted((a, b))
    found = [judged(BACK, WIDE, FOAM, machine=MachineFacts(swallows=True, clean_port=port)) for port in (narrow, wide)]
    assert VERDICTS.index(found[0].verdict) >= VERDICTS.index(found[1].verdict)


def framed(screws: int, machine: MachineFacts) -> Finding:
    """A holder of 4 mm that can leave its seat, kept by that many screws."""
    build, _ = lid(screw=replace(SCREW, at=tuple((20.0, float(i), -5.0) for i in range(screws))))
    leaves = Passage("holder", "straight out of its seat", True, 6.0, 6.0, "back", "", "clean side")
    found = loose_items(case(build, machine, (BACK, HEAD, FOAM, leaves)))
    return next(finding for finding in found if "holder" in finding.subject)


@pytest.mark.parametrize(("screws", "verdict"), [(1, FAILS), (2, ATTENTION), (4, ATTENTION)])
def test_a_piece_kept_by_one_screw_fails_and_by_more_gets_attention_at_best(screws: int, verdict: str) -> None:
    finding = framed(screws, MachineFacts(swallows=True, clean_port=15.0))
    assert finding.verdict == verdict and finding.value == screws and finding.from_memory


def test_a_piece_wider_than_the_port_passes() -> None:
    assert framed(1, MachineFacts(swallows=True, clean_port=3.9)).verdict == PASSES


def test_foam_that_nothing_covers_fails_whatever_the_port_and_asks_for_a_frame() -> None:
    build, _ = lid()
    foam = piece("filter_element", height=10.0)
    build = Build((build.pieces[0], foam), Assembly((build.assembly.places[0],
                  Place("filter_element", False, (0, 0, 0), (0, 0, 1.0), 2))))
    leaves = Passage("filter_element", "straight out of its seat", True, 6.0, 6.0, "back", "", "clean side")
    held = replace(leaves, is_open=False, room=0.0, by="clamp_frame")

    def found(way: Passage) -> Finding:
        made = case(build, MachineFacts(swallows=True, clean_port=1.0), (way,), holder=HolderWish(kind="pins"))
        return loose_items(made)[-1]

    loose = found(leaves)
    assert loose.verdict == FAILS and [(s.key, s.to) for s in loose.suggestions] == [("holder.kind", "frame")]
    assert found(held).verdict == PASSES and "clamp frame is in its way" in found(held).advice


def test_a_plate_that_closes_nothing_is_not_asked() -> None:
    build, _ = lid(features=())
    assert loose_items(case(build)) == ()
    assert loose_items(case(build, MachineFacts(swallows=True))) != (), "told to swallow, it has a clean side"


def test_every_finding_has_a_subject_of_its_own() -> None:
    build, _ = lid()
    made: Case = case(build, passages=(BACK, HEAD, FOAM))
    subjects = [finding.subject for finding in loose_items(made)]
    assert len(set(subjects)) == len(subjects) == 2


def test_screws_in_bosses_on_the_machine_s_side_fail_where_the_port_takes_their_heads() -> None:
    boss = Boss("post", (-20.0, 0.0), 7.5, 5.0, 11.0, 2.4, 9.0, 8.0, 1)
    build, _ = lid(features=(INLET, boss))
    back = Passage(BOSS_SCREWS, "straight back", True, 8.0, 8.0, "back", "", "clean side")
    for port, verdict in ((5.5, PASSES), (5.7, FAILS)):
        found = loose_items(case(build, MachineFacts(swallows=True, clean_port=port), (back,)))
        assert found[-1].subject == f"1 x {BOSS_SCREWS}" and found[-1].verdict == verdict
    kept = loose_items(case(build, MachineFacts(clean_port=50.0), (replace(back, is_open=False, room=4.0),)))[-1]
    assert kept.verdict == PASSES and kept.margin == pytest.approx(0.5)


@pytest.mark.parametrize(("gap", "verdict"), [(18.0, PASSES), (24.9, PASSES), (25.1, FAILS)])
def test_the_gap_between_bars_as_built_is_held_against_the_wanted_span(gap: float, verdict: str) -> None:
    way = Passage("filter_element", "between the bars", False, gap, 50.0, "air", "the bars", "clean side")
    found = loose_items(case(lid()[0], MachineFacts(swallows=True), (way,), holder=HolderWish(free_span=25.0)))
    assert found[-1].subject == "foam between the bars" and found[-1].verdict == verdict


def test_a_hole_wider_than_its_screw_s_head_asks_for_the_head_that_passes_plainly() -> None:
    """6.0 of hole and 2 x 0.1 of the printer: a head of 6.2 leaves no doubt."""
    finding = judged(BACK, WIDE, FOAM, machine=MachineFacts(clean_port=20.0))
    (change,) = finding.suggestions
    assert (change.key, change.now) == ("screws.head_diameter", 5.6) and change.to == pytest.approx(6.2)
    assert judged(BACK, replace(HEAD, room=6.0, size=6.2 + 1e-9), FOAM).verdict == PASSES


@pytest.mark.parametrize(("depth", "verdict"), [(2.0, PASSES), (0.0, ATTENTION)])
def test_a_flat_seal_gets_attention_at_best(depth: float, verdict: str) -> None:
    ring = (Circle("", (0.0, 0.0), 30.0),)
    seal = PrintedSeal("flat", ring, 3.0, 2.4, 6.4, 188.5, 0.4, 3.6, depth, 0.2, 0.9, 85.0, "dust")
    build, _ = lid()
    build = Build((build.pieces[0], piece("gasket", (seal,), 2.4)), Assembly((build.assembly.places[0],
                  Place("gasket", False, (0, 0, 0), (0, 0, 1.0), 2))))
    shut = Passage("gasket", "out of the joint", False, 0.0, 2.4, "back", "the machine's face", "clean side")
    assert loose_items(case(build, passages=(shut,)))[-1].verdict == verdict


@pytest.mark.parametrize(("features", "verdict"), [((), PASSES), ((Latch((0.0, 9.0), 9.0, 1.6, 5.0, 0.5, 0.02),), ATTENTION)])
def test_what_only_hooks_keep_gets_attention_at_best(features: tuple[Latch, ...], verdict: str) -> None:
    build, _ = lid(features=(INLET, *features))
    kept = Passage("holder", "straight out of its seat", False, 0.0, 6.0, "back", "cover", "clean side")
    found = [one for one in loose_items(case(build, passages=(BACK, HEAD, FOAM, kept))) if "holder" in one.subject]
    assert [one.verdict for one in found] == [verdict]
