"""Service temperature against the plastic's softening, for pieces that carry no clamp load."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import NO_TEMPERATURE, Temperature, temperature_of
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.plastic_parts import PlasticParts, plastic_parts
from afterpart.checks.surroundings import named, other_plastic, rigid_that
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.standards.materials import SERVICE_MARGIN_C, Material, warm_stiffness
from afterpart.words import entry, paragraph, tell

FORMULA = entry("T <= min(HDT at 0.45 N/mm2, glass transition if amorphous) - 20 K")
RUBBER_FORMULA = entry("T <= hottest service of the rubber")
SEVERITY, SEVERITY_RUBBER = 7, 4


def service_heat(case: Case) -> tuple[Finding, ...]:
    """Hottest service against the softening of each plastic, less a reserve of SERVICE_MARGIN_C.

        T <= min(HDT, T_g) - 20 K      HDT at 0.45 N/mm2, T_g of amorphous plastics only [degC]

    T measured, else the hot end of the place's range, which is from memory and editable.  Rubber has no softening point: its
    usual hottest service counts, low end, and what a warm seal has left of its stiffness is told (both from memory).
    Sources: standards.materials, standards.service_places.
    """
    return tuple(_finding(case, parts, temperature_of(case)) for parts in plastic_parts(case))


def _finding(case: Case, parts: PlasticParts, temperature: Temperature | None) -> Finding:
    if parts.material is None:
        return not_judged("service_heat", parts.name, parts.unknown, formula=FORMULA, missing=(parts.key,),
                          severity=SEVERITY)
    softens, limit = parts.material.softens_c, parts.material.service_limit_c()
    if softens is None or limit is None:
        return _rubber(parts, parts.material, temperature)
    if temperature is None:
        return not_judged("service_heat", parts.name, NO_TEMPERATURE.reason, source=str(softens.source),
                          formula=FORMULA, missing=NO_TEMPERATURE.missing, severity=SEVERITY)
    hottest = temperature.celsius

    def suits(plastic: Material) -> bool:
        other = plastic.service_limit_c()
        return other is not None and other >= hottest

    return judged("service_heat", parts.name, hottest, "degC", Limit(high=round(limit, 2)),
                  source=tell("{source}; reserve by rule of thumb", source=softens.source), formula=FORMULA,
                  from_memory=softens.from_memory or temperature.from_memory, severity=SEVERITY,
                  inputs=(temperature.as_input, Input(tell("softens"), softens.low, "degC", str(softens.source)),
                          Input(tell("reserve"), SERVICE_MARGIN_C, "K", tell("rule of thumb"))),
                  advice=tell("{filament} softens at {softens_low:g} degC and should stay below {limit:.0f}; it gets up to "
                              "{hottest:g}. {named} would do at that heat.", filament=parts.filament, softens_low=softens.low,
                              limit=limit, hottest=hottest, named=named(rigid_that(case, suits))),
                  sensitivity=strongest(lambda hottest: hottest, {"hottest": hottest}),
                  suggestions=other_plastic(case, parts.key, parts.filament, suits, tell("stands that heat")))


def _rubber(parts: PlasticParts, rubber: Material, temperature: Temperature | None) -> Finding:
    heat = rubber.rubber_heat_c
    if heat is None:
        return not_judged("service_heat", parts.name,
                          tell("{filament} is rubbery at every temperature and has no softening point in the tables: ask its "
                               "maker for the hottest service.", filament=parts.filament), formula=FORMULA,
                          severity=SEVERITY_RUBBER)
    if temperature is None:
        return not_judged("service_heat", parts.name, NO_TEMPERATURE.reason, source=str(heat.source),
                          formula=RUBBER_FORMULA, missing=NO_TEMPERATURE.missing, severity=SEVERITY_RUBBER)
    hottest, left = temperature.celsius, warm_stiffness(rubber, temperature.celsius)
    softer = "" if left is None or left[1] >= 1.0 else tell("At that heat about {left:.0%} to {left_2:.0%} of its stiffness is "
                                                            "left, and a seal of it presses by as much less.", left=left[0],
                                                            left_2=left[1])
    return judged("service_heat", parts.name, hottest, "degC", Limit(high=heat.low), source=str(heat.source),
                  formula=RUBBER_FORMULA, from_memory=True, severity=SEVERITY_RUBBER,
                  inputs=(temperature.as_input,
                          Input(tell("hottest service"), heat.low, "degC",
                                tell("low end of {heat_low:g} to {heat_high:g}: {source}", heat_low=heat.low, heat_high=heat.high,
                                     source=heat.source))),
                  advice=paragraph(tell("{filament} serves up to {heat_low:g} or {heat_high:g} degC, by its grade; it gets up to "
                                        "{hottest:g}.", filament=parts.filament, heat_low=heat.low, heat_high=heat.high,
                                        hottest=hottest), softer,
                                   tell("Ask its maker; hotter, a cord of nitrile, silicone or fluorocarbon rubber is bought, "
                                        "not printed.")), sensitivity=strongest(lambda hottest: hottest, {"hottest": hottest}))
