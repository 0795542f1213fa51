"""Foam that needs oil: dry it stops little, oiled it holds back more.  How much more the machine has room for."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.checks.air_way import air_way, demand, way_inputs
from afterpart.checks.inlet_pressure_drop import foam_inputs, outside
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.air_path import DRY, foam_room, path_drop
from afterpart.formulas.airflow import standard_air
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Limit
from afterpart.standards.foam import FOAM_SOURCE, WET_FACTOR, WET_SOURCE
from afterpart.words import entry, paragraph, tell, together, translated

NAME = "dry_foam"
FORMULA = entry("w = (dp_limit - dp_fittings) / dp_foam")
SUBJECT = entry("room for oil in the foam")
SEVERITY = 6
DRY_FOAM = entry("The foam is made to stay dry (filter.oiled): oil would clog it, and what dust it stops its maker must say.")
NEEDS_OIL = entry("Foam whose maker asks for oil filters only when oiled: dry, fine dust passes it. Oil it with filter oil, "
                  "wring it out until it no longer drips, and do so again after each washing; foam sold as dry filter foam stays "
                  "dry.")
WETTED_BY = ("oil", "fuel", "spray", "moisture")


def dry_foam(case: Case) -> tuple[Finding, ...]:
    """How many times its clean dry drop the foam may hold back before the machine's limit is met.

        w = (dp_limit - dp_fittings) / dp_foam      least 1 (dry); oil asks for 1.5 to 3 (WET_FACTOR, from memory)

    Foam that is used oiled (filter.oiled) must have room for the low end of that; foam made to stay dry is told not to be oiled.
    Where that is not told, says that foam made for oil must be oiled.  Validity as inlet_pressure_drop, whose band counts as two
    standard uncertainties here too.
    """
    way, asked = air_way(case), demand(case)
    if way is None:
        return ()
    told = paragraph(translated(DRY_FOAM) if way.oiled is False else translated(NEEDS_OIL), _wetted(case))
    reason, limit = outside(way, asked), case.job.wishes.machine.restriction_limit_pa
    missing = (*asked.missing, *(("machine.restriction_limit_pa",) if limit is None else ()))
    if reason is not None or limit is None or asked.flow_m3_per_h is None:
        why = reason or tell("What the machine may lose is not told, so that the room for oil is not known.")
        return (not_judged(NAME, translated(SUBJECT), paragraph(told, why), source=_source(), formula=FORMULA, missing=missing,
                           inputs=way_inputs(way), severity=SEVERITY),)
    drop = path_drop(replace(way.path(), oiled=False), asked.flow_m3_per_h, standard_air())
    value, worst = (foam_room(drop.fittings_pa, foam, limit) for foam in (drop.foam.expected_pa, drop.foam.greatest_pa))
    figures = {"fittings_pa": drop.fittings_pa, "foam_pa": drop.foam.expected_pa, "limit_pa": limit}
    return (judged(NAME, translated(SUBJECT), value, entry("times"), Limit(low=WET_FACTOR.low if way.oiled else DRY),
                   source=_source(), formula=FORMULA, advice=paragraph(told, _room(value, way.oiled)),
                   inputs=(*asked.inputs, *way_inputs(way), *foam_inputs(way, drop)), u=abs(value - worst) / 2.0,
                   from_memory=True, sensitivity=strongest(foam_room, figures), severity=SEVERITY),)


def _room(value: float, oiled: bool | None) -> str:
    if oiled is False:
        return tell("The machine has room for {value:.1f} times its clean drop, for the dust it will gather.", value=value)
    low, high = WET_FACTOR.low, WET_FACTOR.high
    if value >= high:
        return tell("The machine has room for {value:.1f} times the dry drop; oil asks for {low:g} to {high:g} times.",
                    value=value, low=low, high=high)
    if value >= DRY:
        return tell("The machine has room for {value:.1f} times the dry drop only; oil asks for {low:g} to {high:g} times: "
                    "before oiling, give it more face.", value=value, low=low, high=high)
    return tell("The machine has no room even for the dry foam: see the pressure drop of the clean inlet.")


def _wetted(case: Case) -> str:
    met = [what for what in case.job.wishes.service.exposed if what in WETTED_BY]
    return tell("Here {met} will wet it too.", met=together(map(translated, met))) if met else ""


def _source() -> str:
    return tell("{wet}; {foam}; limit: machine.restriction_limit_pa", wet=WET_SOURCE, foam=FOAM_SOURCE)
