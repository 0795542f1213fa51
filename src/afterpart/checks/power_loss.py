"""What the inlet's pressure drop costs a machine that fills itself by suction: thinner air, less power or delivery."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.air_way import air_way, breathes, demand, way_inputs
from afterpart.checks.inlet_pressure_drop import band_u, foam_inputs, outside
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.air_path import climb_m, path_drop
from afterpart.formulas.airflow import power_loss as share_lost
from afterpart.formulas.airflow import standard_air
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Limit
from afterpart.standards.air_judgement import NOTICED_POWER_SHARE
from afterpart.words import entry, tell, translated

NAME = "power_loss"
FORMULA = entry("P / P0 = rho / rho0 = 1 - dp / p0")
SUBJECT = entry("air behind the inlet")
SEVERITY = 2
PER_CENT = 100.0


def power_loss(case: Case) -> tuple[Finding, ...]:
    """Share of power (engines) or delivery (compressors) that the clean inlet costs.

        P / P0 = rho / rho0 = 1 - dp / p0      p0 pressure outside [Pa], air as warm as before

    Holds for piston machines that fill by suction; others do not lose so, and are not judged here.  A loss below
    NOTICED_POWER_SHARE is one that weather hides.
    """
    way, kind = air_way(case), case.job.wishes.machine.kind
    if way is None or (kind and not breathes(kind)):
        return ()
    asked = demand(case)
    missing = (*asked.missing, *(() if kind or "machine.kind" in asked.missing else ("machine.kind",)))
    reason = outside(way, asked) or (tell("Whether the machine fills by suction is not told.") if missing else None)
    if reason is not None or asked.flow_m3_per_h is None:
        return (not_judged(NAME, translated(SUBJECT), reason or "", source=_source(), formula=FORMULA, missing=missing,
                           inputs=way_inputs(way), severity=SEVERITY),)
    air = standard_air()
    drop = path_drop(way.path(), asked.flow_m3_per_h, air)
    value = PER_CENT * share_lost(drop.expected_pa, air)
    return (judged(NAME, translated(SUBJECT), value, "%", Limit(high=PER_CENT * NOTICED_POWER_SHARE.low), source=_source(),
                   formula=FORMULA, advice=_advice(kind, drop.expected_pa, value), u=PER_CENT * share_lost(band_u(drop), air),
                   from_memory=True, inputs=(*asked.inputs, *way_inputs(way), *foam_inputs(way, drop)), severity=SEVERITY,
                   sensitivity=strongest(lambda foam, fittings: PER_CENT * share_lost(foam + fittings, air),
                                         {"foam": drop.foam.expected_pa, "fittings": drop.fittings_pa})),)


def _advice(kind: str, drop_pa: float, value: float) -> str:
    what = tell("delivery") if kind == "compressor" else tell("power")
    return tell("The air behind the inlet is {value:.2g} % thinner, and {what} falls by about as much: like standing "
                "{climb_m:.0f} m higher. A loaded filter costs more: clean it in time.", value=value, what=what,
                climb_m=climb_m(drop_pa, standard_air()))


def _source() -> str:
    return tell("air of the same temperature at a lower pressure; limit: {source}", source=NOTICED_POWER_SHARE.source)
