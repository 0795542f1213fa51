"""Screws that form their thread: rules of a supplier, and what a twentieth of a millimetre does.

Sources: a screw supplier's installation guide (multiples of the nominal diameter), two further guides; ISO profile
d - d3 = 1.2269 P; ratios and cases computed by hand (σ_y 40 N/mm2, M3, L 6, mu 0.2; plate 3 mm, E 2000).  A fastener handbook,
page 701: 3.0 mm screws for plastic break in tension at 2.7 kN.  Tolerance: the last printed digit.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.formulas.bolted import bearing_stress, bolt_stiffness, part_stiffness
from afterpart.formulas.screws import (
    FormedThread,
    driving_ratio,
    force_after_snug,
    seating_limit,
    shear_strength,
    stripping_force,
    stripping_torque,
    thread_engagement,
)
from afterpart.standards.fasteners import bolt, property_class
from afterpart.standards.thread_forming import (
    FASTEST_RPM,
    GUIDES_SOURCE,
    PILOT_DEPTH,
    PILOT_PLUS,
    PRINTED_BOSS,
    PRINTED_ENGAGEMENT,
    RELIEF_BORE,
    RELIEF_DEPTH,
    SEATING_SHARE,
    START_HEIGHT,
    TENSION_BREAK_N,
    TENSION_SOURCE,
    boss_rule,
)

RULES = {"ABS": (0.80, 2.00, 2.00), "PC-ABS": (0.80, 2.0, 2.0), "ASA": (0.78, 2.0, 2.0), "PA6": (0.75, 1.85, 1.70),
         "PA6-GF": (0.80, 2.00, 1.90), "PA66": (0.75, 1.85, 1.70), "PA66-GF": (0.82, 2.0, 1.8), "PBT": (0.75, 1.85, 1.70)}
CORE = 3.0 - 1.226869 * 0.5


@pytest.mark.parametrize("name", RULES)
def test_rule_as_printed(name: str) -> None:
    rule = boss_rule(name)
    assert (rule.pilot, rule.boss, rule.engagement) == RULES[name] and not rule.source.from_memory


@pytest.mark.parametrize("name, pilot", [("ABS", 2.40), ("ASA", 2.34), ("PA6", 2.25)])
def test_pilot_of_a_three_millimetre_screw(name: str, pilot: float) -> None:
    assert 3.0 * boss_rule(name).pilot == pytest.approx(pilot, abs=0.0051)


def test_boss_and_engagement_of_a_three_millimetre_screw_in_abs() -> None:
    assert (3.0 * boss_rule("ABS").boss, 3.0 * boss_rule("ABS").engagement) == (6.0, 6.0)


def test_materials_without_a_published_rule_say_so() -> None:
    assert boss_rule("PETG").source.from_memory and boss_rule("PLA").source.from_memory
    with pytest.raises(KeyError, match="known are"):
        boss_rule("cheese")


@pytest.mark.parametrize("pilot, printed", [(2.50, 81.5), (2.55, 73.4), (2.60, 65.2)])
def test_engagement_as_computed(pilot: float, printed: float) -> None:
    assert 100 * thread_engagement(3.0, CORE, pilot) == pytest.approx(printed, abs=0.051)


def test_a_twentieth_costs_eight_points() -> None:
    lost = thread_engagement(3.0, CORE, 2.50) - thread_engagement(3.0, CORE, 2.55)
    assert 100 * lost == pytest.approx(8.2, abs=0.051)
    assert lost / thread_engagement(3.0, CORE, 2.50) == pytest.approx(0.10, abs=0.0051)


@pytest.mark.parametrize("other, printed", [(2.55, 0.908), (2.40, 1.178)])
def test_driving_ratio_as_computed(other: float, printed: float) -> None:
    assert driving_ratio(3.0, 2.50, other) == pytest.approx(printed, abs=0.00051)


def test_stripping_as_computed() -> None:
    """F 975 N with tau rounded to 23; T 0.813 N m with the basic pitch diameter 2.675 and 5.5 / 3.4 mm under the head."""
    strength = shear_strength(40.0)
    assert strength == pytest.approx(23, abs=0.51)
    force = stripping_force(3.0, 6.0, 23.0)
    assert force == pytest.approx(975, abs=0.51)
    mean_of_pitch = FormedThread(3.0, 2 * 2.675 - 3.0, 0.5, 2.5, 6.0, 0.5 * (5.5 + 3.4))
    torque = stripping_torque(mean_of_pitch, 23.0, 0.2)
    assert torque == pytest.approx(0.813, abs=0.00051)
    assert seating_limit(torque) == pytest.approx(0.7 * torque)


def test_angle_control_as_computed() -> None:
    """An eighth of a turn of M3: 0.0625 mm, 571 N, 38.9 N/mm2; stiffness 9786, 137 500 and together 9136 N/mm."""
    plate = part_stiffness(5.5, 3.4, 2000.0, 3.0)
    assert plate == pytest.approx(9786, abs=0.51)
    assert bolt_stiffness(5.03, 7.5) == pytest.approx(137_500, abs=51)
    assert 1 / (1 / plate + 1 / 137_500) == pytest.approx(9136, abs=0.51)
    force = force_after_snug(45.0, 0.5, plate, 137_500)
    assert 45.0 / 360.0 * 0.5 == 0.0625
    assert force == pytest.approx(571, abs=0.51)
    assert bearing_stress(force, 5.5, 3.4) == pytest.approx(38.9, abs=0.051)


@pytest.mark.parametrize("pitch, printed", [(1.10, 1260), (1.35, 1540)])
def test_coarse_pitch_passes_the_stripping_force(pitch: float, printed: float) -> None:
    """Self-tapping 3 mm screws: an eighth of a turn gives 1260 to 1540 N, above the 975 N that strip."""
    force = force_after_snug(45.0, pitch, 9786, 137_500)
    assert force == pytest.approx(printed, abs=5.1)
    assert force > stripping_force(3.0, 6.0, 23.0) > force_after_snug(45.0, 0.5, 9786, 137_500)


def test_further_guides_as_printed() -> None:
    """Engagement at least 2.5 d, seat at 70 % of what fails; boss 2.0 to 2.5 d, depth 2.7 d, relief bore 1.05 to 1.1 d and 0.25
    to 0.5 d deep, hole up to 3 mm + 0.08 mm."""
    assert (PRINTED_ENGAGEMENT, PRINTED_BOSS, SEATING_SHARE, PILOT_DEPTH, PILOT_PLUS) == (2.5, 2.5, 0.7, 2.7, 0.08)
    assert (RELIEF_BORE.low, RELIEF_BORE.high, RELIEF_DEPTH.low, RELIEF_DEPTH.high) == (1.05, 1.10, 0.25, 0.50)
    assert not GUIDES_SOURCE.from_memory


def test_where_trials_begin_and_how_fast_as_printed() -> None:
    """75 to 80 % of the thread's height, at most 600 turns a minute; of M3 x 0.5 that lies between 2.50 (81.5 %) and 2.55 mm
    (73.4 %)."""
    assert (START_HEIGHT.low, START_HEIGHT.high, FASTEST_RPM) == (0.75, 0.80, 600)
    assert [START_HEIGHT.holds(thread_engagement(3.0, CORE, pilot)) for pilot in (2.50, 2.52, 2.55)] == [False, True, False]


def test_pull_that_breaks_a_three_millimetre_screw_as_printed() -> None:
    assert TENSION_BREAK_N[3.0] == 2700 and not TENSION_SOURCE.from_memory


def test_plastic_strips_long_before_the_screw_breaks() -> None:
    """At 2.5 d in a plastic of 40 N/mm2 the thread tears at 1219 N, and no eighth of a turn comes near 2.7 kN."""
    stripping = stripping_force(3.0, 3.0 * PRINTED_ENGAGEMENT, 23.0)
    assert stripping == pytest.approx(1219, abs=0.51) and stripping < 0.5 * TENSION_BREAK_N[3.0]
    assert force_after_snug(45.0, 1.35, 9786, 137_500) < TENSION_BREAK_N[3.0]


def test_a_coarse_thread_leaves_less_core_than_a_metric_one() -> None:
    """2.7 kN lies below the 4020 N of an M3 of class 8.8, whose core is thicker."""
    grade = property_class("8.8")
    assert TENSION_BREAK_N[3.0] < grade.tensile * bolt("M3").stress_area
    thinnest = math.sqrt(TENSION_BREAK_N[3.0] / grade.tensile * 4.0 / math.pi)
    assert 1.9 < thinnest < bolt("M3").core_diameter
