"""Which cautions apply, that each defers to those who know, and what is declined."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest

from afterpart.checks.cautions import cautions
from afterpart.checks.declined_uses import declined_uses
from afterpart.checks.headline import headline
from afterpart.model.case import Case
from afterpart.model.wishes import CoverWish, FilterWish, InletWish, MachineFacts, SealWish, ServiceFacts
from afterpart.standards.cautions import DECLINED_WORDS, DEFERS, VESSEL_KPA, WORDINGS, wording
from tests.checks.loose_cases import case, lid

COOL = ServiceFacts(temperature_c=30.0)


def plain(machine: MachineFacts | None = None, name: str = "lid", features: tuple = (), **wishes: object) -> Case:
    made = case(lid(features=features)[0], machine, **{"service": COOL, **wishes})
    return replace(made, job=replace(made.job, name=name))


def dangers(made: Case) -> list[str]:
    return [caution.danger for caution in cautions(made)]


def test_a_cool_bracket_has_only_the_cautions_of_every_job() -> None:
    assert dangers(plain()) == ["the original's rights", "proof"]


@pytest.mark.parametrize(("change", "danger"), [
    ({"service": ServiceFacts()}, "heat"), ({"service": ServiceFacts(temperature_c=41.0)}, "heat"),
    ({"service": ServiceFacts(place="near an engine")}, "heat"), ({"service": ServiceFacts(30.0, exposed=("fuel",))}, "fuel"),
    ({"machine": MachineFacts(media=("fuel",))}, "fuel"), ({"machine": MachineFacts(kind="engine two-stroke")}, "fuel"),
    ({"machine": MachineFacts(kind="engine two-stroke")}, "emissions and noise"),
    ({"machine": MachineFacts(media=("food",))}, "food"), ({"machine": MachineFacts(media=("mains",))}, "electricity"),
    ({"machine": MachineFacts(media=("oil",))}, "oil"), ({"machine": MachineFacts(gauge_pressure_kpa=10.0)}, "pressure"),
    ({"machine": MachineFacts(gauge_pressure_kpa=-10.0)}, "pressure"), ({"seal": SealWish(duty="pressure")}, "pressure"),
    ({"machine": MachineFacts(swallows=True)}, "a machine that swallows loose items"), ({"filter": FilterWish()}, "dry foam"),
    ({"machine": MachineFacts(kind="Engine four-stroke"), "inlet": InletWish()}, "a leaner mixture")])
def test_each_danger_is_told_where_it_is_and_not_elsewhere(change: dict, danger: str) -> None:
    assert danger in dangers(plain(**change)) and danger not in dangers(plain())


def test_a_compressor_gets_no_caution_of_mixture_or_road() -> None:
    told = dangers(plain(MachineFacts(kind="compressor"), inlet=InletWish(), filter=FilterWish()))
    assert "a leaner mixture" not in told and "emissions and noise" not in told


def test_what_is_not_told_is_taken_for_the_worse() -> None:
    from_nothing = [c for c in cautions(plain(features=(lid()[0].pieces[0].features[-1],))) if "swallows" in c.danger]
    assert len(from_nothing) == 1 and "is not told" in from_nothing[0].text
    told = [c for c in cautions(plain(MachineFacts(swallows=True))) if "swallows" in c.danger]
    assert "is not told" not in told[0].text
    assert not [c for c in dangers(plain(MachineFacts(swallows=False))) if "swallows" in c]


@pytest.mark.parametrize(("service", "words"), [
    (COOL, "not been tried on any machine"), (replace(COOL, tested_machines=1, tested_hours=20.0), "one machine, for 20 hours"),
    (replace(COOL, tested_machines=3), "3 machines, for a time that is not told")])
def test_what_was_tried_is_said_as_the_job_tells_it(service: ServiceFacts, words: str) -> None:
    assert words in cautions(plain(service=service))[-1].text


@pytest.mark.parametrize(("pressure", "declined"), [(VESSEL_KPA, False), (VESSEL_KPA + 0.1, True), (-90.0, False), (None, False)])
def test_pressure_above_the_limit_is_declined(pressure: float | None, declined: bool) -> None:
    assert bool(declined_uses(plain(MachineFacts(gauge_pressure_kpa=pressure)))) == declined


@pytest.mark.parametrize("made", [
    plain(name="Brake lever"), plain(name="clamp", cover=CoverWish(called="steering arm")), plain(MachineFacts(media=("brake",))),
    plain(MachineFacts(kind="boiler")), plain(MachineFacts(gauge_pressure_kpa=800.0))])
def test_declined_uses_come_first_and_bar_the_print(made: Case) -> None:
    told = cautions(made)
    assert told[0].declined and headline((), told).startswith("Do not print it")
    assert [c.declined for c in told] == sorted((c.declined for c in told), reverse=True)
    assert "fit" in told[0].text.lower() or "codes" in told[0].text


@pytest.mark.parametrize("name", ["breaker box", "inlet cover", "receiver dish", "steeringwheel", "handbrakeless"])
def test_only_whole_words_decline(name: str) -> None:
    assert declined_uses(plain(name=name)) == ()


def test_every_caution_defers_and_no_place_is_left_unfilled() -> None:
    everything = MachineFacts(kind="engine", gauge_pressure_kpa=80.0, swallows=None,
                              media=("fuel", "oil", "food", "mains", "brake"))
    for made in (plain(everything, features=(lid()[0].pieces[0].features[-1],), service=ServiceFacts(place="on an exhaust side"),
                       inlet=InletWish(), filter=FilterWish(), name="boiler brake"), plain()):
        for caution in cautions(made):
            assert caution.text.endswith(DEFERS) and "{" not in caution.text and caution.danger
    assert "codes" in DEFERS and "licensed practice" in DEFERS


def test_the_wordings_are_whole() -> None:
    assert set(DECLINED_WORDS) <= set(WORDINGS) and all(WORDINGS[key].declined for key in DECLINED_WORDS)
    assert all(row.text.endswith(".") or row.text.endswith(("{tested}",)) for row in WORDINGS.values())
    with pytest.raises(KeyError, match="known are pressure"):
        wording("nonsense")
