"""What breaks off, and what a formed thread throws up: cracks counted and solid worked by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.fragments import fragments
from afterpart.checks.swarf import swarf
from afterpart.formulas.loose_parts import solid_behind
from afterpart.model.case import Case
from afterpart.model.feature import Bar, Boss, Feature, Groove, Latch, Lip
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, VERDICTS
from afterpart.model.outline import Circle
from afterpart.model.piece import Add, Cone, Step
from afterpart.model.wishes import HolderWish, MachineFacts
from tests.checks.loose_cases import INLET, case, lid, piece

BAR = Bar((0.0, -5.0), (0.0, 5.0), 2.4, 0.0, 3.0)
HOOK = Latch((10.0, 0.0), 9.0, 1.6, 5.0, 0.5, 0.02)
SWALLOWS = MachineFacts(swallows=True, clean_port=15.0)


def lip(radius: float) -> Lip:
    ring = (Circle("", (0.0, 0.0), radius),)
    return Lip("outer", ring, ring, 5.0, 6.0, 1.6, 0.2)


def groove(radius: float) -> Groove:
    ring = (Circle("", (0.0, 0.0), radius),)
    return Groove(ring, ring, ring, 3.6, 2.0, 0.3, 5.0, 0.0, 2.4, 5.0, (0, 0), 5.0, 5.0, "dust", "")


def with_holder(*features: Feature, machine: MachineFacts = SWALLOWS, height: float = 13.0, on_cover: tuple[Feature, ...] = (),
                steps: tuple[Step, ...] = (), kind: str = "frame") -> Case:
    build, _ = lid(features=(INLET, *on_cover))
    cover = replace(build.pieces[0], steps=steps)
    frame = piece("clamp_frame", features, height, stem="holder")
    return case(replace(build, pieces=(cover, frame)), machine, holder=HolderWish(kind=kind))


@pytest.mark.parametrize(("features", "breaks", "verdict"), [((BAR,), 2, ATTENTION), ((HOOK,), 1, FAILS)])
def test_a_bar_hangs_by_two_ends_and_a_hook_by_one(features: tuple[Feature, ...], breaks: int, verdict: str) -> None:
    (finding,) = fragments(with_holder(*features))
    assert (finding.value, finding.limit.low, finding.verdict, finding.severity) == (breaks, 2.0, verdict, 9)
    assert finding.picture == "holder.png"


def test_the_slimmest_bar_stands_for_all_and_its_least_side_counts() -> None:
    thin = replace(BAR, top=1.2)
    (finding,) = fragments(with_holder(BAR, thin, machine=MachineFacts(clean_port=1.1)))
    assert finding.subject.startswith("2 bars") and finding.limit.high == 1.2 and finding.verdict == PASSES
    (finding,) = fragments(with_holder(BAR, thin, machine=MachineFacts(clean_port=1.3)))
    assert finding.verdict == ATTENTION


def test_hooks_that_fail_ask_for_a_frame() -> None:
    (finding,) = fragments(with_holder(HOOK, kind="latches"))
    assert [(s.key, s.now, s.to) for s in finding.suggestions] == [("holder.kind", "latches", "frame")]


def test_a_lip_outside_the_seal_breaks_off_outside() -> None:
    for radius, verdict in ((30.0, PASSES), (10.0, FAILS)):
        (finding,) = fragments(with_holder(on_cover=(lip(radius), groove(20.0))))
        assert finding.verdict == verdict and finding.subject == "lip outer of cover"


def test_a_broken_pin_still_sits_in_its_foam() -> None:
    pins = (Add((Cone((0.0, 8.0), 2.0, 8.0, 1.6, 0.6), Cone((0.0, -8.0), 2.0, 8.0, 1.6, 0.6))),)
    (finding,) = fragments(with_holder(steps=pins, kind="pins"))
    assert finding.subject == "2 pins of cover" and finding.verdict == ATTENTION
    assert fragments(with_holder(steps=pins)) == (), "cones of another holder are no pins"


def test_untold_ports_are_asked_for_and_machines_that_swallow_nothing_are_not() -> None:
    (finding,) = fragments(with_holder(BAR, machine=MachineFacts()))
    assert finding.verdict == NOT_JUDGED and finding.missing == ("machine.swallows", "machine.clean_port")
    assert fragments(with_holder(BAR, machine=MachineFacts(swallows=False))) == ()


@given(st.floats(0.2, 30.0), st.floats(0.2, 30.0))
def test_a_wider_port_never_helps(a: float, b: float) -> None:
    narrow, wide = sorted((a, b))
    ranks = [VERDICTS.index(fragments(with_holder(HOOK, machine=MachineFacts(clean_port=port)))[0].verdict)
             for port in (narrow, wide)]
    assert ranks[0] >= ranks[1]


def boss(pilot_depth: float, opens: int = 1, bottom: float = 3.0, top: float = 13.0) -> Boss:
    return Boss("boss 1", (20.0, 0.0), 7.5, bottom, top, 2.4, pilot_depth, 8.0, opens)


def test_solid_behind_a_pilot_hole() -> None:
    """A boss to 13 with a hole of 10 leaves 3; the same upside down, opening at 0 in a piece of 13."""
    assert solid_behind(13.0, 10.0, 0.0) == 3.0 and solid_behind(0.0, 10.0, 13.0) == 3.0


@pytest.mark.parametrize(("hole", "verdict"), [(boss(10.0), ATTENTION), (boss(12.8), ATTENTION), (boss(12.9), FAILS),
                                               (boss(13.5), FAILS), (boss(12.9, -1, 0.0, 10.0), FAILS)])
def test_a_closed_hole_gets_attention_at_best_and_an_open_one_fails(hole: Boss, verdict: str) -> None:
    (finding,) = swarf(with_holder(hole))
    assert finding.verdict == verdict and "cover off the machine" in finding.advice
    assert finding.value == pytest.approx(13.0 - hole.pilot_depth)


def test_the_thicker_web_that_closes_the_hole_is_solved() -> None:
    """13 - 13.5 = -0.5 of solid; 0.7 more web leave one layer of 0.2."""
    (finding,) = swarf(with_holder(boss(13.5), boss(10.0)))
    (change,) = finding.suggestions
    assert change.key == "holder.thickness" and change.now == 3.0 and change.to == pytest.approx(3.7)


def test_swarf_is_only_asked_of_fitted_pieces_behind_a_cover() -> None:
    plain = with_holder(boss(10.0))
    loose = replace(plain, build=replace(plain.build, assembly=replace(plain.build.assembly, places=())))
    assert swarf(loose) == () and swarf(with_holder(BAR)) == ()
