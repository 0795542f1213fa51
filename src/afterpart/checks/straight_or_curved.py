"""Is the area a curved cut would add worth the work: the straight-cut element against the seat's full outline."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.checks.air_way import AirWay, air_way, demand, way_inputs
from afterpart.checks.inlet_pressure_drop import band_u, outside
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.air_path import path_drop
from afterpart.formulas.airflow import standard_air
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.air_judgement import NOTICED_POWER_SHARE, WORTH_A_CURVE
from afterpart.words import entry, symbol_words, tell, translated

NAME = "straight_or_curved"
FORMULA = entry("saved = dp(straight) - dp(full outline)")
SUBJECT = entry("straight cuts of the element")
SEVERITY = 2


def straight_or_curved(case: Case) -> tuple[Finding, ...]:
    """Pressure that an element along the full outline of the seat would save over the straight-cut one.

        saved = dp(straight) - dp(full outline)      same rim, the bars' same open share [Pa]

    Limit: all that the machine may lose (machine.restriction_limit_pa, else what NOTICED_POWER_SHARE of the pressure outside
    is); from WORTH_A_CURVE of that on the curved cut is called worth it.  Validity as inlet_pressure_drop.
    """
    way, asked = air_way(case), demand(case)
    if way is None:
        return ()
    full = way.with_element(way.region)
    more = full.face_area / way.face_area - 1.0
    area = Input(tell("open face, full outline"), full.face_area, "mm2", tell("seat's free region less rim, same share of bars"))
    reason = outside(way, asked)
    if reason is not None or asked.flow_m3_per_h is None:
        told = tell("A curved cut along the seat would open {more:.0%} more face.", more=more)
        return (not_judged(NAME, translated(SUBJECT), f"{told} {reason}", source=_source(), formula=FORMULA,
                           missing=asked.missing, inputs=(*way_inputs(way), area), severity=SEVERITY),)
    air, flow, most = standard_air(), asked.flow_m3_per_h, _allowed_pa(case)
    straight, curved = path_drop(way.path(), flow, air), path_drop(full, flow, air)
    saved = max(straight.expected_pa - curved.expected_pa, 0.0)
    told = tell("A curved cut would open {more:.0%} more face and save {saved:.0f} Pa, {saved_2:.0%} of what the clean inlet "
                "holds back and {saved_3:.1%} of what the machine may lose.", more=more, saved=saved,
                saved_2=saved / straight.expected_pa, saved_3=saved / most)
    is_worth = saved > WORTH_A_CURVE.low * most
    return (judged(NAME, translated(SUBJECT), saved, "Pa", Limit(high=most), source=_source(), formula=FORMULA,
                   from_memory=True, advice=f"{told} {_verdict(is_worth)}", u=saved * band_u(straight) / straight.expected_pa,
                   inputs=(*asked.inputs, *way_inputs(way), area), severity=SEVERITY,
                   sensitivity=strongest(lambda straight, curved: straight - curved,
                                         {"straight": straight.expected_pa, "curved": curved.expected_pa}),
                   suggestions=_more_cuts(way, flow, curved.expected_pa + WORTH_A_CURVE.low * most) if is_worth else ()),)


def _allowed_pa(case: Case) -> float:
    told = case.job.wishes.machine.restriction_limit_pa
    return told if told is not None else NOTICED_POWER_SHARE.low * standard_air().pressure_pa


def _verdict(is_worth: bool) -> str:
    if is_worth:
        return tell("That is worth a curved cut, or a few more straight ones.")
    return tell("That is not worth a curved cut: straight cuts do.")


def _more_cuts(way: AirWay, flow: float, enough_pa: float) -> tuple[Suggestion, ...]:
    """The fewest further straight cuts that leave a curved one not worth it."""
    path = way.path()
    for row in sorted(way.rows, key=lambda one: one.cuts):
        face = path.face_area * row.open_area / way.row.open_area
        if row.cuts > way.row.cuts and path_drop(replace(path, face_area=face), flow, standard_air()).expected_pa <= enough_pa:
            return (Suggestion("filter.cuts", way.row.cuts, row.cuts, tell("nearly as much face with straight cuts")),)
    return ()


def _source() -> str:
    return tell("pressure drop as under \"{check}\"; threshold: {source}", check=symbol_words("inlet_pressure_drop"),
                source=WORTH_A_CURVE.source)
