"""Share of machines: the pair by hand, the whole by draws against it, and what more clearance does."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.checks.fit_contacts import longest, spots
from afterpart.checks.fit_share import fit_share
from afterpart.checks.fit_spread import mate_spread
from afterpart.model.case import Case
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED
from afterpart.model.outline import Point
from afterpart.model.wishes import FitWish, Trial
from afterpart.standards.tolerances import moulding_scatter
from tests.checks.fit_cases import PAIR, coupon, fitted, outer_lip, plate, round_lip

CORNERS = tuple((f"c{i}", at, 6.6, "locates" if i in (1, 3) else "clears")
                for i, at in enumerate(((-50.0, -25.0), (50.0, -25.0), (50.0, 25.0), (-50.0, 25.0)), start=1))


def _wider(holes: tuple[tuple[str, Point, float, str], ...], by: float) -> tuple[tuple[str, Point, float, str], ...]:
    return tuple((i, at, d + 2 * by, role) for i, at, d, role in holes)


def _share(case: Case) -> float:
    value = fit_share(case)[0].value
    assert value is not None
    return value


def test_the_pair_follows_the_closed_form() -> None:
    """Play 0.2 + 0.2 - 0.2 (undersize 0.1 to 0.3); distance: TG6 0.57 / 3, printer 0.1, outline 0.05, warmth 0.14 / sqrt(3);
    play: two holes of 0.05, undersize common, half width 0.1 together."""
    pair = fit_share(plate())[1]
    u_distance = math.sqrt((0.57 / 3) ** 2 + 0.1 ** 2 + 0.05 ** 2 + 0.14 ** 2 / 3)
    u_play = math.sqrt(2 * 0.05 ** 2 + 0.1 ** 2 / 3)
    assert pair.value == pytest.approx(100 * math.erf(0.2 / math.hypot(u_distance, u_play) / math.sqrt(2)))


def test_two_holes_by_draws_agree_with_the_closed_form() -> None:
    """Without the rectangular parts (no warmth, undersize measured) nothing but the standard error is between them."""
    case = plate(fit=FitWish(temperature_span_c=0.0, draws=400_000, seed=4), trials=coupon(0.1))
    whole, pair = fit_share(case)
    assert whole.u is not None and whole.value is not None and pair.value is not None
    assert abs(whole.value - pair.value) < 4.5 * whole.u


def test_the_whole_never_fits_more_often_than_its_pair() -> None:
    whole, pair = fit_share(plate(CORNERS))
    assert whole.value < pair.value


def test_more_clearance_never_lowers_the_share() -> None:
    shares = [_share(plate(_wider(CORNERS, by))) for by in (0.0, 0.05, 0.1, 0.2, 0.4, 1.0)]
    assert shares == sorted(shares) and shares[-1] > 99.99
    lips = [_share(plate(CORNERS, lip=outer_lip(c))) for c in (0.2, 0.4, 0.8, 3.0)]
    assert lips == sorted(lips) and lips[-1] <= _share(plate(CORNERS)) + 0.5


def test_a_better_printer_and_no_warmth_never_lower_the_share() -> None:
    assert _share(fitted(plate(CORNERS), printer_u=0.02)) > _share(plate(CORNERS))
    assert _share(fitted(plate(CORNERS), temperature_span_c=0.0)) > _share(plate(CORNERS))
    assert _share(fitted(plate(CORNERS), tool_specific=False)) < _share(plate(CORNERS))


def test_the_same_seed_gives_the_same_finding() -> None:
    case = plate(CORNERS)
    assert fit_share(case) == fit_share(case)
    assert _share(fitted(case, seed=2)) != _share(case)


def test_the_assumed_spread_stands_beside_the_share() -> None:
    found = fit_share(plate())[0]
    assert "Assumed spread over 100 mm" in found.advice and "mating part 0.19 mm" in found.advice
    assert "printer 0.10 mm" in found.advice and "0.10 to 0.30 mm narrow" in found.advice
    assert {i.name for i in found.inputs} >= {"mating part's tolerance, either way", "printer, standard deviation"}


def test_from_memory_it_gets_attention_at_best_and_suggests_nothing_when_it_passes() -> None:
    found = fit_share(plate(_wider(PAIR, 1.0)))[0]
    assert found.verdict == ATTENTION
    assert fit_share(plate())[0].verdict == FAILS


def test_opened_as_suggested_it_reaches_the_wanted_share() -> None:
    case = plate(CORNERS)
    suggestion = fit_share(case)[0].suggestions[0]
    assert suggestion.key == "role.clearance" and suggestion.now == pytest.approx(0.3)
    opened = plate(_wider(CORNERS, float(suggestion.to) - 0.3))
    assert 98.99 <= _share(opened) < 99.2


def test_the_strongest_inputs_push_the_right_way() -> None:
    found = {s.input: s.value_per_percent for s in fit_share(plate(CORNERS))[0].sensitivity}
    assert len(found) == 2 and found["clearance"] > 0


@pytest.mark.parametrize("length", (30.0, 100.0, 148.0, 250.0, 400.0))
def test_the_mating_parts_spread_is_the_tables_at_its_ends(length: float) -> None:
    near, strain = mate_spread(length, True)
    assert math.hypot(math.sqrt(2) * near, strain * length) == pytest.approx(moulding_scatter(length))
    assert math.sqrt(2) * near == pytest.approx(moulding_scatter(10.0))


@pytest.mark.parametrize("length", (92.0, 117.0, 148.0, 250.0))
def test_between_its_ends_the_mating_parts_spread_is_near_the_tables(length: float) -> None:
    near, strain = mate_spread(length, True)
    for between in (20.0, 30.0, 50.0, 80.0, 0.5 * length, 0.8 * length, 0.95 * length):
        assert 0.6 < math.hypot(math.sqrt(2) * near, strain * between) / moulding_scatter(between) < 1.4


def test_an_edge_that_goes_inside_is_counted_and_one_left_flush_is_not() -> None:
    inside = plate(edge="inside", body=0.4)
    walls = [s for s in spots(inside) if s.normal is not None]
    assert len(walls) == 8 and all(s.gap == pytest.approx(0.4) for s in walls)
    assert all(s.normal[0] * s.at[0] + s.normal[1] * s.at[1] < 0 for s in walls if s.normal)
    assert not [s for s in spots(plate()) if s.normal is not None]
    assert _share(inside) < _share(plate())


def test_a_round_lip_is_one_place_with_room_all_round() -> None:
    found = spots(plate((), lip=round_lip(0.3)))
    assert len(found) == 1 and found[0].normal is None and found[0].gap == 0.3 and longest(found) == pytest.approx(39.4)
    # Two diameters: TG6 0.31 / 3 at 39.4 mm, printer 0.1, outline u^2 = 0.05^2 - 0.03^2 + (3e-4 x 39.4)^2, warmth.
    u = 0.5 * math.sqrt((0.31 / 3) ** 2 + 0.1 ** 2 + 0.05 ** 2 - 0.03 ** 2 + (3e-4 * 39.4) ** 2 + (70e-6 * 20 * 39.4) ** 2 / 3)
    whole = fit_share(plate((), lip=round_lip(0.15)))[0]
    expected = 50 * (1 + math.erf(0.15 / u / math.sqrt(2)))
    assert whole.value is not None and whole.u is not None and abs(whole.value - expected) < 4.5 * whole.u


def test_one_bolt_alone_passes_its_hole_as_often_as_it_prints_wide_enough() -> None:
    """Gap 0.2 less 0.05 for the measured undersize, printer 0.1 / 2: Phi(3) = 0.998650."""
    found = fit_share(plate(PAIR[:1], trials=coupon(0.1)))[0]
    assert found.value is not None and found.u is not None and abs(found.value - 99.8650) < 4.5 * found.u


def test_what_is_not_known_is_not_judged() -> None:
    assert fit_share(fitted(plate(), mate_group="TG2"))[0].verdict == NOT_JUDGED
    assert fit_share(plate(material="moonstone"))[0].missing == ("printer.material",)
    assert fit_share(plate(())) == ()


def _plate_sizes(scale: float) -> tuple[Trial, ...]:
    """Six distances of the outline's holes on printed plates, 100 mm as drawn: scatter 0.02 (the calliper's)."""
    return tuple(Trial("size", 100.0, printed=100.0 * scale, of="d1") for _ in range(6))


def test_a_scale_that_is_off_acts_on_the_pair_as_the_closed_form_says() -> None:
    """Distance printed 0.3 short of 100: P = Phi((play - 0.3) / u) + Phi((play + 0.3) / u) - 1, the scale known to
    sqrt(5 / 3) s / sqrt(6) with s at the calliper's 0.02."""
    case = plate(trials=_plate_sizes(0.997))
    pair = fit_share(case)[1]
    scale_u = 0.02 / math.sqrt(6)
    u_distance = math.sqrt((0.57 / 3) ** 2 + 0.02 ** 2 + 0.05 ** 2 + scale_u ** 2 + 0.14 ** 2 / 3)
    spread = math.hypot(u_distance, math.sqrt(2 * 0.01 ** 2 + 0.1 ** 2 / 3)) * math.sqrt(2)
    assert pair.value == pytest.approx(50 * (math.erf((0.2 - 0.3) / spread) + math.erf((0.2 + 0.3) / spread)))
    whole = fit_share(case)[0].value
    assert whole is not None and abs(whole - pair.value) < 2.0


def test_corrected_files_take_the_scale_and_the_undersize_away() -> None:
    """With use_trials the pair is centred again: play 0.4, and of the trials only their uncertainty is left."""
    trials = (*_plate_sizes(0.997), *coupon(0.3, scatter=0.02, drawn=5.0, count=40))
    raw = plate(trials=trials)
    wishes = replace(raw.job.wishes, printer=replace(raw.job.wishes.printer, use_trials=True))
    corrected = replace(raw, job=replace(raw.job, wishes=wishes))
    before, after = fit_share(raw)[1].value, fit_share(corrected)[1].value
    u = math.sqrt((0.57 / 3) ** 2 + 0.02 ** 2 + 0.05 ** 2 + 0.14 ** 2 / 3 + 2 * 0.01 ** 2)
    assert before is not None and after is not None and before < 50.0
    assert after == pytest.approx(100 * math.erf(0.4 / u / math.sqrt(2)), abs=0.3)
    assert "corrected" in fit_share(corrected)[0].advice


def test_a_hole_that_a_bolt_was_tried_in_stays_narrow_in_corrected_files() -> None:
    """It is left as drawn there, so that its undersize goes on counting."""
    raw = plate(trials=coupon(0.3, scatter=0.02))
    wishes = replace(raw.job.wishes, printer=replace(raw.job.wishes.printer, use_trials=True))
    corrected = replace(raw, job=replace(raw.job, wishes=wishes))
    assert fit_share(corrected)[1].value == pytest.approx(fit_share(raw)[1].value)
    assert fit_share(corrected)[0].value == fit_share(raw)[0].value


def test_trials_of_another_filament_say_nothing_of_this_one() -> None:
    other = tuple(replace(trial, material="ASA") for trial in coupon(0.3))
    assert fit_share(plate(trials=other)) == fit_share(plate())
