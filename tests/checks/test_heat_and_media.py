"""Heat and surroundings: softening points as their sheets print them (tests/published/test_materials.py), reserves by rule."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from afterpart.checks.clamped_heat import clamped_heat
from afterpart.checks.material_media import material_media
from afterpart.checks.service_heat import service_heat
from afterpart.checks.surroundings import endures
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, VERDICTS
from afterpart.model.wishes import MachineFacts, ServiceFacts
from afterpart.standards.materials import MATERIALS, material, warm_stiffness
from afterpart.standards.service_places import PLACES
from tests.checks.screw_cases import bolted, ending, only, screwed


@pytest.mark.parametrize(("check", "edge"), [(service_heat, 56.2), (clamped_heat, 46.2)],
                         ids=lambda c: getattr(c, "__name__", ""))
def test_petg_at_the_edge(check, edge: float) -> None:
    """Softens at 76.2 degC: 56.2 free, 46.2 clamped."""
    at, beyond = (only(check(bolted(service=ServiceFacts(temperature_c=t)))) for t in (edge - 0.01, edge + 0.01))
    assert at.limit.high == pytest.approx(edge) and (at.verdict, beyond.verdict) == (PASSES, FAILS)
    assert at.sensitivity and beyond.suggestions[0].key == "printer.material"


@pytest.mark.parametrize("check", [service_heat, clamped_heat], ids=lambda c: c.__name__)
def test_heat_that_nobody_told_is_asked_for(check) -> None:
    finding = only(check(bolted()))
    assert finding.verdict == NOT_JUDGED and finding.missing == ("service.temperature_c", "service.place") and finding.formula


def test_a_place_stands_in_from_memory_and_a_reading_overrules_it() -> None:
    place = only(service_heat(bolted(service=ServiceFacts(place="bench"))))
    assert place.value == PLACES["bench"].high and place.verdict == ATTENTION and place.from_memory
    read = only(service_heat(bolted(service=ServiceFacts(place="near a motor", temperature_c=35.0))))
    assert read.value == 35.0 and read.verdict == PASSES


def test_pla_is_unfit_near_any_engine_and_what_is_told_instead_endures_it() -> None:
    case = bolted("PLA", service=ServiceFacts(place="near an engine", exposed=("fuel",)))
    for check in (service_heat, clamped_heat):
        finding = only(check(case))
        assert finding.verdict == FAILS
        other = next(s for s in finding.suggestions if s.key == "printer.material").to
        assert endures(case, material(other))
        assert other not in ("PC", "ABS", "ASA"), "these do not stand fuel"
        assert finding.advice.index("PA6-GF") < finding.advice.index("PC"), "what endures the whole job is named first"


def test_no_plastic_is_named_where_none_endures() -> None:
    finding = only(service_heat(bolted("PLA", service=ServiceFacts(temperature_c=250.0))))
    assert finding.verdict == FAILS and not finding.suggestions and "None in the tables" in finding.advice


def test_sleeves_take_the_clamp_load_off_the_plastic() -> None:
    hot = ServiceFacts(temperature_c=50.0)
    assert [s.key for s in only(clamped_heat(bolted(service=hot))).suggestions] == ["printer.material", "bolts.sleeve"]
    assert clamped_heat(bolted(sleeve=True, service=hot)) == ()
    screws = only(clamped_heat(screwed(service=hot)))
    assert screws.verdict == FAILS and [s.key for s in screws.suggestions] == ["printer.material"]


def test_nylon_that_sags_under_high_load_is_doubted_where_clamped() -> None:
    """PA6: 160 degC at 0.45 N/mm2 but 60 at 1.8; from 30 degC on clamped it gets attention, free it passes."""
    warm, cool = (bolted("PA6", service=ServiceFacts(temperature_c=t)) for t in (50.0, 25.0))
    assert only(clamped_heat(warm)).verdict == ATTENTION and "60 degC" in only(clamped_heat(warm)).advice
    assert only(clamped_heat(cool)).verdict == PASSES and only(service_heat(warm)).verdict == PASSES


@pytest.mark.parametrize(("celsius", "verdict"), [(20.0, ATTENTION), (60.0, ATTENTION), (60.5, FAILS)])
def test_rubber_is_held_against_its_usual_hottest_service(celsius: float, verdict: str) -> None:
    """60 to 80 degC by its grade, from memory: never a plain pass."""
    found = ending(service_heat(bolted(gasket=True, service=ServiceFacts(temperature_c=celsius))), "TPU (gasket)")
    assert (found.verdict, found.from_memory, found.limit.high) == (verdict, True, 60.0)
    assert ("stiffness is left" in found.advice) == (celsius > 23.0)


def test_warm_rubber_gives_way_straight_from_room_temperature() -> None:
    """0.5 to 0.8 of the stiffness at 60 degC, from memory; half of what is lost half the way, at 41.5."""
    tpu = material("TPU")
    assert warm_stiffness(tpu, 23.0) == warm_stiffness(tpu, -10.0) == (1.0, 1.0)
    assert warm_stiffness(tpu, 41.5) == pytest.approx((0.75, 0.9)) and warm_stiffness(tpu, 60.0) == pytest.approx((0.5, 0.8))
    assert warm_stiffness(tpu, 200.0)[0] == 0.0 and warm_stiffness(material("PETG"), 40.0) is None
    assert tpu.stiffness_at_60c.source.from_memory and tpu.rubber_heat_c.source.from_memory


def test_rubber_without_a_temperature_and_unknown_plastics_name_their_key() -> None:
    untold = ending(service_heat(bolted(gasket=True)), "TPU (gasket)")
    assert untold.verdict == NOT_JUDGED and "service.temperature_c" in untold.missing
    unknown = only(service_heat(bolted("HIPS", service=ServiceFacts(temperature_c=20.0))))
    assert (unknown.verdict, unknown.missing) == (NOT_JUDGED, ("printer.material",))


@given(st.floats(-20.0, 200.0), st.floats(-20.0, 200.0), st.sampled_from([m.name for m in MATERIALS if m.softens_c]))
@settings(max_examples=30, deadline=None)
def test_more_heat_never_mends_a_verdict(a: float, b: float, name: str) -> None:
    for check in (service_heat, clamped_heat):
        cool, hot = (only(check(bolted(name, service=ServiceFacts(temperature_c=t)))).verdict for t in sorted((a, b)))
        assert VERDICTS.index(hot) <= VERDICTS.index(cool)


# surroundings

def test_surroundings_nobody_told_are_asked_for() -> None:
    finding = only(material_media(bolted()))
    assert (finding.verdict, finding.missing) == (NOT_JUDGED, ("service.exposed",))


def test_good_and_fair_get_attention_and_poor_fails() -> None:
    """PETG: oil good, uv fair, fuel poor; the table is from memory, so that nothing passes."""
    found = material_media(bolted(service=ServiceFacts(exposed=("oil", "uv", "fuel"))))
    verdicts = {f.subject.rpartition(", ")[2]: f.verdict for f in found}
    assert verdicts == {"oil": ATTENTION, "uv": ATTENTION, "fuel": FAILS}
    assert "every service" in ending(found, "uv").advice and all(f.from_memory for f in found)
    assert "PA12" in ending(found, "fuel").advice


def test_what_the_machine_holds_and_what_the_place_brings_count_too() -> None:
    def told(**tables: object) -> set[str]:
        return {f.subject.rpartition(", ")[2] for f in material_media(bolted(**tables))}
    assert told(machine=MachineFacts(media=("water", "food"))) == {"moisture"}
    assert told(service=ServiceFacts(place="outdoors")) == {"moisture", "uv"}
    assert told(service=ServiceFacts(exposed=("spray",))) == {"moisture"}
    assert told(service=ServiceFacts(exposed=("stones",))) == set(), "told, and none of it touches the plastic"


def test_the_printed_seal_is_judged_too_and_never_told_to_be_rigid() -> None:
    found = material_media(bolted(gasket=True, service=ServiceFacts(exposed=("fuel",))))
    assert {f.subject for f in found} == {"PETG (cover), fuel", "TPU (gasket), fuel"}
    assert not ending(found, "TPU (gasket), fuel").suggestions


@pytest.mark.parametrize("name", [m.name for m in MATERIALS if m.softens_c])
def test_a_suggested_plastic_stands_everything_at_once(name: str) -> None:
    case = bolted(name, service=ServiceFacts(temperature_c=60.0, exposed=("fuel", "moisture", "uv")))
    for finding in (*service_heat(case), *clamped_heat(case), *material_media(case)):
        for change in (s for s in finding.suggestions if s.key == "printer.material"):
            better = bolted(change.to, service=case.job.wishes.service)
            again = (*service_heat(better), *clamped_heat(better), *material_media(better))
            assert all(f.verdict != FAILS for f in again), change
