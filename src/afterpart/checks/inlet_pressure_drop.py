"""What the clean inlet costs the machine in pressure: entry, foam and bars together, against what it may cost."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from afterpart.checks.air_way import AirWay, Demand, air_way, demand, way_inputs
from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.formulas.air_path import AirPath, PathDrop, path_drop, path_holds
from afterpart.formulas.airflow import standard_air
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Sensitivity, Suggestion
from afterpart.standards.foam import FOAM_SOURCE, PORES_RANGE, SPEED_EXPONENT, SPEED_RANGE, SPEED_SOURCE
from afterpart.standards.inlets import GRID_OPEN_RANGE, TEST_FLOW
from afterpart.standards.printing import rule
from afterpart.words import entry, paragraph, tell, translated

NAME = "inlet_pressure_drop"
FORMULA = entry("dp = (K_entry + K_bars + 1) rho V_o^2 / 2 + dp0 (ppi / ppi0)^n (L / L0) (V / V0)^1.6")
SUBJECT = entry("clean inlet")
SEVERITY = 6


def inlet_pressure_drop(case: Case) -> tuple[Finding, ...]:
    """Drop of the clean, dry inlet at the mean flow.

        dp = (K_entry + K_bars + 1) rho V_o^2 / 2 + dp0 (ppi / ppi0)^n (L / L0) (V / V0)^1.6
            V_o in the opening, V in the open face [m/s]; ppi, L pores per inch and thickness of the foam

    Worst case: the foam's band (half as much to half again, exponent of speed 1.3 to 1.9) counts as two standard uncertainties.
    Holds for 20 to 100 pores per inch and 0.2 to 4 m/s.  Air at sea level.  Sources: airflow.ENTRY, standards.foam, inlets.
    """
    way, asked = air_way(case), demand(case)
    if way is None:
        return ()
    reason = outside(way, asked)
    if reason is not None or asked.flow_m3_per_h is None:
        return (not_judged(NAME, translated(SUBJECT), reason or "", source=_source(), formula=FORMULA, missing=asked.missing,
                           inputs=way_inputs(way), severity=SEVERITY),)
    drop, limit = path_drop(way.path(), asked.flow_m3_per_h, standard_air()), case.job.wishes.machine.restriction_limit_pa
    told, inputs = in_words(drop, way.oiled is True), (*asked.inputs, *way_inputs(way), *foam_inputs(way, drop))
    if limit is None:
        return (not_judged(NAME, translated(SUBJECT), paragraph(told, tell("What the machine may lose is not told.")),
                           source=_source(), formula=FORMULA, missing=("machine.restriction_limit_pa",), inputs=inputs,
                           severity=SEVERITY),)
    return (judged(NAME, translated(SUBJECT), drop.expected_pa, "Pa", Limit(high=limit), source=_source(), formula=FORMULA,
                   inputs=inputs, advice=paragraph(told, _pulses(way, asked, limit)), u=band_u(drop), from_memory=True,
                   sensitivity=_sensitivity(way.path(), asked.flow_m3_per_h),
                   suggestions=_better(way, asked.flow_m3_per_h, limit), severity=SEVERITY),)


def outside(way: AirWay, asked: Demand) -> str | None:
    """Why no drop can be told: the flow is missing, or a range is left; None when it can."""
    if asked.flow_m3_per_h is None:
        return tell("The air that the machine draws is not told.")
    if not path_holds(way.path()):
        return tell("The bars leave {open_share:.2f} of the opening free; grids are tabled from {grid_open_range}.",
                    open_share=way.open_share, grid_open_range=GRID_OPEN_RANGE)
    if not path_drop(way.path(), asked.flow_m3_per_h, standard_air()).foam.in_range:
        return tell("Foam of {pores_per_inch:g} pores per inch at {flow_m3_per_h:.2f} m/s lies outside what is known: "
                    "{pores_range} at {speed_range}.", pores_per_inch=way.pores_per_inch,
                    flow_m3_per_h=asked.flow_m3_per_h / 0.0036 / way.face_area, pores_range=PORES_RANGE, speed_range=SPEED_RANGE)
    return None


def band_u(drop: PathDrop) -> float:
    """Standard uncertainty of a drop: half the way up to the end of the foam's band."""
    return (drop.greatest_pa - drop.expected_pa) / 2.0


def in_words(drop: PathDrop, oiled: bool = False) -> str:
    """The drop with its band and its largest share, and how well a measurement would know it (it grows with V^1.9 at most)."""
    likely, least, most = drop.expected_pa, drop.least_pa, drop.greatest_pa
    share = drop.foam.expected_pa / drop.expected_pa
    costs = (tell("Clean and oiled, the inlet costs about {likely:.0f} Pa ({least:.0f} to {most:.0f}), {share:.0%} of it the "
                  "foam; foam is known by two published points only.", likely=likely, least=least, most=most, share=share)
             if oiled else tell("Clean and dry, the inlet costs about {likely:.0f} Pa ({least:.0f} to {most:.0f}), {share:.0%} "
                                "of it the foam; foam is known by two published points only.", likely=likely, least=least,
                                most=most, share=share))
    return paragraph(costs,
                     tell("Measured, with the flow held within {test_flow_high:.0%} as ISO 5011 asks, it would be known to "
                          "{speed_exponent_high:.0%}.", test_flow_high=TEST_FLOW.high,
                          speed_exponent_high=SPEED_EXPONENT.high * TEST_FLOW.high))


def foam_inputs(way: AirWay, drop: PathDrop) -> tuple[Input, ...]:
    """What the foam and the fittings bring in."""
    return (Input(tell("pores per inch"), way.pores_per_inch, "1/in", "filter.pores_per_inch"),
            Input(tell("foam thickness"), way.thickness, "mm", "filter.thickness"),
            Input(tell("entry rounding"), way.bellmouth, "mm", tell("the cover, as built")),
            Input(tell("entry, bars and exit"), drop.fittings_pa, "Pa", tell("entry and grid losses of the opening")))


def _pulses(way: AirWay, asked: Demand, limit: float) -> str:
    if asked.pulse is None or asked.flow_m3_per_h is None:
        return ""
    peak = path_drop(way.path(), asked.flow_m3_per_h * asked.pulse.high, standard_air()).expected_pa
    if peak > limit:
        return tell("One cylinder breathes in pulses, up to {pulse_high:g} times the mean flow: {peak:.0f} Pa at the peak, "
                    "beyond the limit; a volume behind the filter evens that out.", pulse_high=asked.pulse.high, peak=peak)
    return tell("One cylinder breathes in pulses, up to {pulse_high:g} times the mean flow: {peak:.0f} Pa at the peak.",
                pulse_high=asked.pulse.high, peak=peak)


def _sensitivity(path: AirPath, flow: float) -> tuple[Sensitivity, ...]:
    def drop(flow: float, face: float, pores: float, thickness: float) -> float:
        changed = replace(path, face_area=face, pores_per_inch=pores, thickness=thickness)
        return path_drop(changed, flow, standard_air()).expected_pa
    return strongest(drop, {"flow": flow, "face": path.face_area, "pores": path.pores_per_inch, "thickness": path.thickness})


def _better(way: AirWay, flow: float, limit: float) -> tuple[Suggestion, ...]:
    """More cuts, a narrower rim, coarser foam: each far enough to bring the whole band within the limit, else its middle."""
    def rooms(path: AirPath) -> tuple[float, float]:
        drop = path_drop(path, flow, standard_air())
        return limit - drop.greatest_pa, limit - drop.expected_pa

    path = way.path()
    if rooms(path)[0] >= 0.0:
        return ()
    found = _more_cuts(way, rooms)
    narrow, coarse = min(way.rim, rule("wall_least").low), PORES_RANGE.low
    for key, now, reach, at, why in (
            ("filter.rim", way.rim, narrow, lambda width: way.with_rim(width).path(),
             tell("less of the element lies under the rim")),
            ("filter.pores_per_inch", way.pores_per_inch, coarse, lambda pores: replace(path, pores_per_inch=pores),
             tell("coarser foam, which stops less dust"))):
        solved = (value_that_passes(_room_left(rooms, at, end), now, reach) for end in (0, 1))
        to = next((value for value in solved if value is not None and value != now), None)
        if to is not None:
            found.append(Suggestion(key, now, to, why))
    return tuple(found)


def _room_left(rooms: Callable[[AirPath], tuple[float, float]], at: Callable[[float], AirPath], end: int,
               ) -> Callable[[float], float]:
    """What is left to the limit, as a function of the value changed: of the band's upper end (0) or of its middle (1)."""
    return lambda value: rooms(at(value))[end]


def _more_cuts(way: AirWay, rooms: Callable[[AirPath], tuple[float, float]]) -> list[Suggestion]:
    path = way.path()
    faces = [(row.cuts, replace(path, face_area=path.face_area * row.open_area / way.row.open_area))
             for row in sorted(way.rows, key=lambda one: one.cuts) if row.cuts > way.row.cuts]
    for end in (0, 1):
        enough = [cuts for cuts, face in faces if rooms(face)[end] >= 0.0 > rooms(path)[end]]
        if enough:
            return [Suggestion("filter.cuts", way.row.cuts, enough[0], tell("more open face in the same seat"))]
    return []


def _source() -> str:
    return tell("{foam}; {speed}; limit: machine.restriction_limit_pa", foam=FOAM_SOURCE, speed=SPEED_SOURCE)
