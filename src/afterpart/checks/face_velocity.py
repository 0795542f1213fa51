"""Speed of the air in the open face of the filter, against the speed its foam is made for."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.air_way import AirWay, air_way, demand, way_inputs
from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.formulas.airflow import face_velocity as speed_through
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Limit, Suggestion
from afterpart.standards.printing import rule
from afterpart.standards.table import Range
from afterpart.words import entry, paragraph, tell, translated

NAME = "face_velocity"
FORMULA = entry("V = Q / A")
SOURCE = entry("flow over open area; limit: filter.face_velocity_limit_m_per_s, of the foam's maker")
SUBJECT = entry("filter element")
SEVERITY = 5


def face_velocity(case: Case) -> tuple[Finding, ...]:
    """Mean face velocity against the limit that the foam's maker gives.

        V = Q / A      Q flow [m3/s], A element less rim and bars, inside the opening [m2]

    Holds for any foam: only the limit is the foam's.  No limit is filled in: it is the sheet's that the foam is cut from.
    """
    way, asked, limit = air_way(case), demand(case), _limit(case)
    if way is None:
        return ()
    if asked.flow_m3_per_h is None:
        return (not_judged(NAME, translated(SUBJECT), tell("The air that passes the filter is not told."),
                           source=translated(SOURCE), formula=FORMULA, missing=asked.missing, inputs=way_inputs(way),
                           severity=SEVERITY),)
    flow, area = asked.flow_m3_per_h, way.face_area
    value, inputs = speed_through(flow, area), (*asked.inputs, *way_inputs(way))
    told = _told(area / 100.0, value, asked.pulse)
    if limit is None:
        return (not_judged(NAME, translated(SUBJECT),
                           paragraph(told, tell("How fast this foam may be passed, its maker must say.")),
                           source=translated(SOURCE), formula=FORMULA, missing=("filter.face_velocity_limit_m_per_s",),
                           inputs=inputs, severity=SEVERITY),)
    better = _better(way, flow, limit)
    return (judged(NAME, translated(SUBJECT), value, "m/s", Limit(high=limit), source=translated(SOURCE), formula=FORMULA,
                   inputs=inputs, advice=paragraph(told, _advice(value, limit, better)), u=value * way.face_area_u / area,
                   from_memory=asked.from_memory, sensitivity=strongest(speed_through, {"flow_m3_per_h": flow, "area": area}),
                   suggestions=better, severity=SEVERITY),)


def _limit(case: Case) -> float | None:
    wish = case.job.wishes.filter
    return wish.face_velocity_limit_m_per_s if wish else None


def _told(area_cm2: float, value: float, pulse: Range | None) -> str:
    if pulse is None:
        return tell("The air passes the open face of {area:.1f} cm2 at {value:.2f} m/s.", area=area_cm2, value=value)
    return tell("The air passes the open face of {area:.1f} cm2 at {value:.2f} m/s on average, in pulses of one cylinder up to "
                "{pulse_high:g} times as fast.", area=area_cm2, value=value, pulse_high=pulse.high)


def _advice(value: float, limit: float, better: tuple[Suggestion, ...]) -> str:
    if value <= limit:
        return ""
    short = tell("That is {limit:.0%} above its limit: {limit:.0%} more open face is needed.", limit=value / limit - 1.0)
    none = tell("Neither more straight cuts nor a narrower rim gives that: a larger seat or less flow would.")
    return paragraph(short, "" if better else none)


def _better(way: AirWay, flow: float, limit: float) -> tuple[Suggestion, ...]:
    """More straight cuts, or a narrower rim, that bring the speed to the limit."""
    found = []
    wanted = speed_through(flow, limit) * way.row.open_area / way.face_area
    enough = [row for row in way.rows if row.cuts > way.row.cuts and row.open_area >= wanted]
    if enough:
        found.append(Suggestion("filter.cuts", way.row.cuts, min(row.cuts for row in enough),
                                tell("more open face in the same seat")))
    rim = value_that_passes(lambda width: limit - speed_through(flow, way.with_rim(width).face_area), way.rim,
                            min(way.rim, rule("wall_least").low))
    if rim is not None and rim < way.rim:
        found.append(Suggestion("filter.rim", way.rim, rim, tell("less of the element lies under the rim")))
    return tuple(found)
