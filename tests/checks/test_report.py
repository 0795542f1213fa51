"""Headline, actions and questions from invented findings: what bars a print, what is asked first, that order never matters."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import random
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.headline import NUISANCE, actions, headline, rounded, worst_first
from afterpart.checks.judge import judged, not_judged
from afterpart.checks.questions import WORDING, questions
from afterpart.checks.stage import report_of
from afterpart.job.layout import JobKeys
from afterpart.model.finding import ATTENTION, FAILS, PASSES, VERDICTS, Caution, Finding, Limit, Suggestion
from afterpart.model.job import LEVELS


def finding(name: str, value: float, *, severity: int = 5, key: str = "", now: float | None = 5.0, to: float = 1.0,
            memory: bool = False) -> Finding:
    """A value held against at most 1; 0.5 passes, 2 fails."""
    wish = (Suggestion(key, now, to, "less is enough"),) if key else ()
    return judged(name, "hole c1", value, "mm", Limit(high=1.0), source="invented", formula="v", advice="Make it less.",
                  severity=severity, suggestions=wish, from_memory=memory)


def unknown(name: str, *missing: str, severity: int = 5) -> Finding:
    return not_judged(name, "cover", f"needs {missing}", missing=missing, severity=severity)


def test_all_that_passes_may_be_printed_without_an_if() -> None:
    report = report_of((finding("a", 0.5), finding("b", 0.1)), (), ())
    assert report.headline == "Print it." and report.actions == () and report.questions == ()


def test_nothing_judged_is_not_a_clean_bill() -> None:
    assert report_of((), (), ()).headline.startswith("Print it if you have judged it yourself")


@pytest.mark.parametrize(("severity", "start"), [(NUISANCE, "Print it if"), (NUISANCE + 1, "Do not print it")])
def test_a_failure_bars_the_print_unless_it_is_a_nuisance(severity: int, start: str) -> None:
    assert headline(worst_first((finding("bearing_stress", 2.0, severity=severity), finding("b", 0.5)))).startswith(start)


def test_the_headline_names_the_worst_failure_not_the_first() -> None:
    found = worst_first((finding("scuffs", 9.0, severity=5), finding("falls_in", 1.1, severity=9)))
    assert "2 findings fail" in headline(found) and "falls in of hole c1" in headline(found)


def test_the_headline_names_the_worst_failure_and_the_gravest_of_the_rest_and_counts_the_others() -> None:
    """However many nuisances fail, what could end the machine is named beside them, in one line."""
    found = worst_first(tuple(finding(f"scuff_{n}", 2.0 + n, severity=NUISANCE) for n in range(9))
                        + tuple(finding(f"doubt_{n}", 0.5 + n / 10, memory=True, severity=9) for n in range(5))
                        + (unknown("u", "a.b"),))
    told = headline(found)
    assert told == "Print it if you accept scuff 8 (fails, 8 more) and make sure of doubt 4 (severity 9, 4 more)."
    assert headline(found[:1]) == "Print it if you accept scuff 8 of hole c1 (fails)."


def test_with_nothing_graver_the_first_that_wants_attention_is_named() -> None:
    found = worst_first((finding("creep", 0.5, memory=True), finding("fall", 0.5, memory=True, severity=8)))
    assert headline(found) == "Print it if you have read fall of hole c1 and 1 more."
    assert headline(found[:1]) == "Print it if you have read fall of hole c1."
    assert headline((unknown("u", "a.b"),)) == "Print it if you have read u of cover."


def test_what_could_not_be_judged_and_could_hurt_is_named_before_what_wants_attention() -> None:
    found = worst_first((finding("fall", 0.5, memory=True, severity=9), unknown("passage", "machine.clean_port", severity=9),
                         finding("b", 0.5)))
    assert headline(found) == "Print it if you make sure of passage of cover (not judged, 1 more)."


@given(st.lists(st.tuples(st.sampled_from(["fit_clearance_wanted", "screw_hole_sensitivity", "pressure_between_bolts"]),
                          st.floats(0, 3), st.integers(1, 10), st.booleans(), st.text("abc ", max_size=80)), max_size=12))
def test_a_headline_is_one_line_and_names_whatever_is_gravest(rows: list[tuple[str, float, int, bool, str]]) -> None:
    found = worst_first(tuple(replace(finding(name, value, severity=severity, memory=memory), subject=subject)
                              for name, value, severity, memory, subject in rows))
    told = headline(found)
    grave = [one for one in found if one.verdict == ATTENTION and one.severity >= 9]
    barring = [one for one in found if one.verdict == FAILS and one.severity > NUISANCE]
    named = barring or grave
    assert len(told) <= 130 and (not named or named[0].check.replace("_", " ") in told)


def test_a_declined_use_is_told_before_all_else() -> None:
    assert headline((finding("a", 2.0),), (Caution("brakes", "no", declined=True),)).startswith("Do not print it: brakes")


@given(st.lists(st.tuples(st.sampled_from(["a", "b", "c"]), st.floats(0, 3), st.integers(1, 10)), max_size=8), st.integers())
def test_the_order_of_the_catalogue_never_shows(rows: list[tuple[str, float, int]], seed: int) -> None:
    found = [replace(finding(name, value, severity=severity), subject=str(place))
             for place, (name, value, severity) in enumerate(rows)]
    mixed = random.Random(seed).sample(found, len(found))
    assert report_of(tuple(found), (), ()) == report_of(tuple(mixed), (), ())
    places = [VERDICTS.index(one.verdict) for one in worst_first(tuple(mixed))]
    assert places == sorted(places)


def test_one_change_of_a_key_mends_all_who_ask_for_it_with_the_farthest_value() -> None:
    found = worst_first((finding("bearing", 3.0, key="bolts.torque_n_m", to=1.2, severity=8),
                         finding("proof", 2.0, key="bolts.torque_n_m", to=0.9, severity=9),
                         finding("heat", 2.0, severity=7)))
    told = actions(found)
    assert told[0].startswith("Set bolts.torque_n_m to 0.9 (now 5): mends proof of hole c1, bearing of hole c1")
    assert told[1] == "Heat of hole c1: Make it less." and len(told) == 2


def test_keys_pulled_both_ways_are_not_given_a_value() -> None:
    found = worst_first((finding("less", 2.0, key="seal.cord", now=5.0, to=3.0), finding("more", 2.0, key="seal.cord", to=7.0)))
    assert "cannot be right for all" in actions(found)[0] and "3 to 7" in actions(found)[0]


def test_at_most_three_actions_and_none_for_what_passes() -> None:
    found = worst_first(tuple(finding(f"c{n}", 2.0, key=f"k{n}") for n in range(5)) + (finding("ok", 0.5, key="k9"),))
    assert len(actions(found)) == 3 and not any("k9" in told for told in actions(found))
    assert finding("ok", 0.5, key="k9").verdict == PASSES and finding("bad", 2.0).verdict == FAILS


def test_the_question_that_settles_most_for_each_key_comes_first() -> None:
    found = (unknown("a", "machine.displacement_cm3", "machine.speed_rpm"), unknown("b", "machine.displacement_cm3",
             "machine.speed_rpm"), unknown("c", "bolts.torque_n_m"), unknown("d", "bolts.torque_n_m"),
             unknown("e", "bolts.torque_n_m"), unknown("f", "screws.pitch"), unknown("g", "service.place"))
    told = questions(found)
    assert len(told) == 3
    assert "bolts.torque_n_m" in told[0] and "settles 3 findings" in told[0]
    assert "swept volume (machine.displacement_cm3) and the machine's highest speed (machine.speed_rpm): settles 2" in told[1]
    assert questions((finding("a", 0.5),)) == ()


def test_of_keys_that_stand_in_for_each_other_one_answer_is_enough() -> None:
    told, = questions((unknown("heat", "service.temperature_c", "service.place"),))
    assert "service.temperature_c), or else where the part serves (service.place): settles 1" in told
    told, = questions((unknown("exposure", "service.place"),))
    assert told == "Where the part serves (service.place): settles 1 finding."


def test_every_question_asks_for_a_key_of_the_job_file() -> None:
    schema = JobKeys.model_json_schema()
    tables = {name: set(schema["$defs"][named[1]]["properties"]) for name, hint in schema["properties"].items()
              if (named := re.search(r"\$defs/(\w+)", str(hint)))}
    wrong = [key for key in WORDING if "." in key and not key.startswith("height.")
             and key.partition(".")[2] not in tables[key.partition(".")[0]]]
    assert not wrong and {"height", "trial"} <= set(tables)
    assert {key.partition(".")[2] for key in WORDING if key.startswith("height.")} <= set(LEVELS)


@given(st.floats(1e-3, 1e4), st.floats(1e-3, 1e4))
def test_a_rounded_value_lies_beyond_the_one_that_passes(now: float, to: float) -> None:
    told = rounded(Suggestion("k", now, to)).to
    assert isinstance(told, float)
    assert (told >= to if to > now else told <= to) and abs(told - to) <= 0.01 * to
