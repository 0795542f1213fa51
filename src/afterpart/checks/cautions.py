"""Which cautions apply to this job, the declined uses first."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.declined_uses import declined_uses
from afterpart.checks.machine_side import has_clean_side
from afterpart.model.case import Case
from afterpart.model.finding import Caution
from afterpart.standards.cautions import DEFERS, wording
from afterpart.standards.service_places import PLACES, service_place
from afterpart.words import counted, entry, paragraph, tell, translated

_TAKEN = entry("Whether the machine swallows what comes loose is not told (machine.swallows), so it is taken that it does.")


def cautions(case: Case) -> tuple[Caution, ...]:
    """Every caution that applies, each deferring to local codes and licensed practice; the declined uses first.

    What is not told is taken for the worse: an untold temperature gives the caution of heat, an untold machine behind a cover
    that of loose items.  A caution is no verdict: it applies or not, however well the part is made."""
    told = {key: True for keys in (_service(case), _machine(case), ("rights", "proof")) for key in keys}
    return (*declined_uses(case), *(_caution(case, key) for key in told))


def _service(case: Case) -> tuple[str, ...]:
    """Heat, and what is about the part."""
    service, machine = case.job.wishes.service, case.job.wishes.machine
    media = {*machine.media, *service.exposed}
    cool = service_place("bench").high
    hottest = service.temperature_c if service.temperature_c is not None else \
        PLACES[service.place].high if service.place in PLACES else None
    heat = ("heat",) if hottest is None or hottest > cool else ()
    exhaust = ("exhaust",) if service.place == "on an exhaust side" else ()
    fuel = ("fuel",) if "fuel" in media or _is_engine(case) else ()
    return (*heat, *exhaust, *fuel, *(key for key in ("oil", "food", "mains") if key in media))


def _machine(case: Case) -> tuple[str, ...]:
    """Pressure, loose items, and what more air does."""
    wishes = case.job.wishes
    gauge, behind = wishes.machine.gauge_pressure_kpa, has_clean_side(case)
    found = []
    if gauge is not None and gauge != 0:
        found.append("pressure" if gauge > 0 else "vacuum")
    elif gauge is None and wishes.seal is not None and wishes.seal.duty == "pressure":
        found.append("pressure untold")
    if behind and wishes.machine.swallows is not False:
        found.append("swallows")
    if behind:
        found.append("moving")
    if wishes.filter is not None:
        found.append("dry foam")
    if _is_engine(case):
        found += ["lean"] * _breathes(case) + ["road"]
    return tuple(found)


def _is_engine(case: Case) -> bool:
    return "engine" in case.job.wishes.machine.kind.lower()


def _breathes(case: Case) -> bool:
    """Is the part in the way of the air that is drawn in?"""
    return case.job.wishes.inlet is not None or case.job.wishes.filter is not None


def _caution(case: Case, key: str) -> Caution:
    row = wording(key)
    before = _tested(case) if key == "proof" else ""
    taken = translated(_TAKEN) if key == "swallows" and not case.job.wishes.machine.swallows else ""
    return Caution(translated(row.danger), paragraph(before, taken, translated(row.text), translated(DEFERS)), row.declined)


def _tested(case: Case) -> str:
    """What was tried, on how many machines, for how long, in one sentence."""
    service = case.job.wishes.service
    if not service.tested_machines:
        return tell("This design has not been tried on any machine (service.tested_machines).")
    if not service.tested_hours:
        return counted("By the job's own account it has been tried on one machine, for a time that is not told; no more than "
                       "that is shown.",
                       "By the job's own account it has been tried on {count} machines, for a time that is not told; no more "
                       "than that is shown.", count=service.tested_machines)
    return counted("By the job's own account it has been tried on one machine, for {hours:g} hours in all; no more than that is "
                   "shown.",
                   "By the job's own account it has been tried on {count} machines, for {hours:g} hours in all; no more than "
                   "that is shown.", count=service.tested_machines, hours=service.tested_hours)
