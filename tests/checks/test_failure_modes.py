"""The failure-mode table: drawn up from the build, worst effect first, edited by the maker."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.failure_modes import NOTHING, failure_modes
from afterpart.checks.passages import BOSS_SCREWS
from afterpart.errors import JobError
from afterpart.formulas.failure_modes import GRAVE, reading
from afterpart.model.edges import Note
from afterpart.model.finding import FailureMode
from afterpart.model.wishes import FailureRow, HolderWish, MachineFacts, SealWish
from afterpart.standards.failure_modes import USUAL_FAILURES, usual_failures
from tests.checks.loose_cases import SCREW, case, lid, piece
from tests.checks.test_fragments import BAR, boss

MARK = st.integers(1, 10)


def table(*rows: FailureRow, machine: MachineFacts | None = None, **wishes: object) -> tuple[FailureMode, ...]:
    build, _ = lid()
    frame = piece("clamp_frame", (BAR, boss(10.0)), 13.0, stem="holder")
    build = replace(build, pieces=(build.pieces[0], frame))
    return failure_modes(case(build, machine, holder=HolderWish(), failure_modes=rows, **wishes))


def row(modes: tuple[FailureMode, ...], item: str, mode: str) -> FailureMode:
    (found,) = [one for one in modes if (one.item, one.mode) == (item, mode)]
    return found


def test_rows_are_drawn_up_from_what_is_there_and_nothing_else() -> None:
    items = {mode.item for mode in table()}
    assert items == {SCREW.name, "cover", "holder: clamp frame", "bars of holder: clamp frame", "thread of holder: clamp frame",
                     "opening of cover"}
    assert row(table(), "thread of holder: clamp frame", "leaves swarf behind").today == "3.0 mm solid behind the hole"
    assert row(table(), "bars of holder: clamp frame", "break").today == "2.4 x 3 mm, held at both ends"
    assert "not tried" in row(table(), "cover", "cracks").today


def test_severity_comes_first_then_its_product_with_occurrence_then_the_priority_number() -> None:
    keys = [(m.severity, m.severity * m.occurrence, m.severity * m.occurrence * m.detection) for m in table()]
    assert keys == sorted(keys, reverse=True) and len(set(keys)) > 5


def test_a_rare_fault_that_ends_the_machine_stands_above_a_daily_nuisance() -> None:
    modes = table(FailureRow("cover", "rattles", severity=2, occurrence=10, detection=10),
                  FailureRow("cover", "flies off", severity=10, occurrence=1, detection=1))
    assert modes[0].mode == "flies off" and modes[-1].mode == "rattles", "200 against 10 by the product alone"


@given(st.integers(GRAVE, 10), MARK, MARK)
def test_grave_rows_never_read_as_low(severity: int, occurrence: int, detection: int) -> None:
    mode = row(table(FailureRow("cover", "flies off", "", "", "", severity, occurrence, detection)), "cover", "flies off")
    assert reading(mode.severity, mode.occurrence, mode.detection) != "low"


def test_a_machine_that_swallows_nothing_has_milder_effects() -> None:
    worst = {kind: max(mode.severity for mode in table(machine=MachineFacts(swallows=kind))) for kind in (True, False, None)}
    assert worst[True] == worst[None] == 9 and worst[False] < GRAVE


def test_the_maker_s_row_replaces_what_it_gives_and_keeps_the_rest() -> None:
    before = row(table(), SCREW.name, "backs out")
    told = FailureRow(SCREW.name.upper(), " Backs  out", today="wire through the heads", occurrence=1)
    after = row(table(told), SCREW.name, "backs out")
    assert after == replace(before, today="wire through the heads", occurrence=1)
    assert len(table(told)) == len(table())


@pytest.mark.parametrize(("told", "found"), [
    (FailureRow("cover", "sings", severity=2), "occurrence, detection"), (FailureRow("cover", "sings"), "severity"),
    (FailureRow("cover", "cracks", severity=11), "severity = 11"), (FailureRow("cover", "cracks", detection=0), "detection = 0")])
def test_rows_that_cannot_be_used_are_refused_by_name(told: FailureRow, found: str) -> None:
    with pytest.raises(JobError, match=found) as caught:
        table(told)
    assert "failure_mode 1 (cover," in str(caught.value) and "expected" in str(caught.value)


@pytest.mark.parametrize(("machine", "severity"), [(MachineFacts(media=("fuel",)), 10), (MachineFacts(media=("mains",)), 10),
                                                   (MachineFacts(gauge_pressure_kpa=20.0), 10),
                                                   (MachineFacts(media=("food",)), 8)])
def test_what_is_about_the_part_adds_its_rows(machine: MachineFacts, severity: int) -> None:
    added = [mode for mode in table(machine=machine) if mode.item == "lid"]
    assert [mode.severity for mode in added] == [severity]
    assert [mode for mode in table(seal=SealWish(duty="pressure")) if mode.item == "lid"]


def test_screws_in_bosses_on_the_machine_s_side_are_in_the_table() -> None:
    build, _ = lid(features=(replace(boss(9.0), center=(-20.0, 0.0), id="post"),))
    modes = failure_modes(case(build, MachineFacts(swallows=True)))
    assert row(modes, f"1 x {BOSS_SCREWS}", "backs out").severity == 9


def test_a_plain_plate_fails_as_one() -> None:
    build, _ = lid(features=())
    modes = failure_modes(case(build))
    assert row(modes, "cover", "breaks").severity == 6 and not any("dust" in mode.effect for mode in modes)


def test_the_usual_rows_are_whole_and_being_swallowed_is_never_milder() -> None:
    for usual in USUAL_FAILURES:
        assert usual.severity_swallowed >= usual.severity, usual
        assert all(1 <= mark <= 10 for mark in (usual.severity, usual.severity_swallowed, usual.occurrence, usual.detection))
        assert usual.mode and usual.effect and usual.effect_swallowed and usual.cause
    assert len({(usual.about, usual.mode) for usual in USUAL_FAILURES}) == len(USUAL_FAILURES)
    with pytest.raises(KeyError, match="known are screw"):
        usual_failures("nonsense")


def test_what_shows_the_right_way_stands_in_the_row() -> None:
    """The frame is held by its place in the cover, unless the build says that it also goes in turned."""
    mode = "is fitted the wrong way round"
    assert "one way only" in row(table(), "holder: clamp frame", mode).today
    build, _ = lid()
    warned = replace(build.pieces[0], notes=(Note("seat_fits_wrongly", "also turned"), Note("fits_wrongly", "also turned")))
    frame = piece("clamp_frame", (BAR, boss(10.0)), 13.0, stem="holder")
    turned = failure_modes(case(replace(build, pieces=(warned, frame)), None, holder=HolderWish()))
    assert row(turned, "holder: clamp frame", mode).today == row(turned, "cover", mode).today == NOTHING
