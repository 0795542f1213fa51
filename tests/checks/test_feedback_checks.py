"""What trials and reports say of printer and fit: by hand on a plate with two holes 100 mm apart (ISO 2768-1 m: 0.3 mm)."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.checks.print_true import print_true
from afterpart.checks.reported_fits import reported_fits
from afterpart.checks.rubbed_places import rubbed_places
from afterpart.model.case import Case
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES
from afterpart.model.fit_report import FitReport
from afterpart.model.wishes import Trial
from tests.checks.fit_cases import coupon, plate


def sizes(scale: float, count: int = 6) -> tuple[Trial, ...]:
    """Printed distances of the holes, 100 mm as drawn."""
    return tuple(Trial("size", 100.0, printed=100.0 * scale, of="d1") for _ in range(count))


def corrected(case: Case) -> Case:
    wishes = case.job.wishes
    return replace(case, job=replace(case.job, wishes=replace(wishes, printer=replace(wishes.printer, use_trials=True))))


@pytest.mark.parametrize(("scale", "verdict"),
                         [(1.0, PASSES), (0.998, PASSES), (0.9971, ATTENTION), (0.996, FAILS), (1.004, FAILS)])
def test_a_scale_is_held_against_the_general_tolerance(scale: float, verdict: str) -> None:
    """u = 0.02 / sqrt(6) = 0.008 mm over 100 mm: attention within 0.016 of the limit of 0.3."""
    found = print_true(plate(trials=sizes(scale)))
    assert len(found) == 1 and found[0].value == pytest.approx(100.0 * (scale - 1.0)) and found[0].verdict == verdict
    assert found[0].u == pytest.approx(0.02 / math.sqrt(6))


def test_corrected_files_leave_nothing_of_the_scale() -> None:
    found = print_true(corrected(plate(trials=sizes(0.99))))[0]
    assert found.value == 0.0 and found.verdict == PASSES and "corrected" in found.advice
    raw = print_true(plate(trials=sizes(0.99)))[0]
    assert [s.key for s in raw.suggestions] == ["printer.use_trials"]


def test_without_sizes_nothing_is_said_and_with_the_coupon_alone_no_scale() -> None:
    assert print_true(plate()) == ()
    found = print_true(plate(trials=coupon(0.1, count=6)))[0]
    assert found.verdict == NOT_JUDGED and found.missing == ("trial",) and "two distances" in found.advice


def test_few_sizes_say_how_many_more_tell_the_scatter() -> None:
    assert "measure 2 more" in print_true(plate(trials=sizes(1.0, 2)))[0].advice


@pytest.mark.parametrize(("drawn", "verdict"), [(0.1, ATTENTION), (0.2, FAILS), (0.3, FAILS)])
def test_what_rubbed_must_have_more_room_now(drawn: float, verdict: str) -> None:
    """The plate's holes of 6.4 leave a bolt M6 0.2 mm all round."""
    rows = (Trial("fit", drawn, "rubs", of="c2"), Trial("fit", 0.05, "tight", of="c2"), Trial("fit", 0.4, "fits", of="c1"))
    found = rubbed_places(plate(trials=rows))
    assert [(f.subject, f.verdict) for f in found] == [("hole c2", verdict)]
    assert found[0].value == pytest.approx(0.2 - drawn)


def test_a_place_that_is_none_is_said_and_no_place_means_the_tightest() -> None:
    assert rubbed_places(plate(trials=(Trial("fit", 0.1, "rubs", of="s77"),)))[0].verdict == NOT_JUDGED
    assert rubbed_places(plate(trials=(Trial("fit", 0.15, "rubs"),)))[0].value == pytest.approx(0.05)
    assert rubbed_places(plate(trials=(Trial("fit", 0.15, "fits"),))) == ()


def test_reports_are_counted_and_where_it_rubs_is_told() -> None:
    reports = (FitReport("pump of 1990", "fits"), FitReport("pump of 1994", "after work", 1994, rubs=("c2", "the rim")))
    case = plate()
    told = replace(case, job=replace(case.job, fit_reports=reports))
    found = reported_fits(told)
    assert len(found) == 1 and found[0].value == 1.0 and found[0].verdict == FAILS
    assert "c2, the rim" in found[0].advice and "1994" in found[0].advice
    later = replace(told, job=replace(told.job, revision="C", fit_reports=tuple(replace(r, revision="A") for r in reports)))
    assert (reported_fits(later)[0].value, reported_fits(later)[0].verdict) == (0.0, ATTENTION)
    good = replace(case, job=replace(case.job, fit_reports=reports[:1]))
    assert reported_fits(good)[0].verdict == PASSES and reported_fits(case) == ()
