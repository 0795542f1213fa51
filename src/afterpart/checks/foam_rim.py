"""The squeezed rim of the element: does it keep contact, does it stay foam, and is enough foam in the air's way round it.

A squeezed foam rim is a restriction, not a gasket: air still passes it sideways.  Its area is taken off the open face, and its
own flow is told here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from shapely.geometry import Polygon

from afterpart.checks.air_way import AirWay, air_way, demand
from afterpart.checks.inlet_pressure_drop import outside
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.air_path import RimPath, foam_depth, path_drop, rim_flows
from afterpart.formulas.airflow import densification_strain, standard_air
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.air_judgement import LEAST_RIM_SQUEEZE
from afterpart.standards.foam import DENSIFY_SOURCE, POROSITY, POROSITY_SOURCE
from afterpart.words import entry, paragraph, tell, translated

NAME = "foam_rim"
SQUEEZE_FORMULA = entry("s <= 1 - 1.4 (1 - eps)")
DEPTH_FORMULA = entry("w / (1 - s) >= L")
DEPTH_SOURCE = entry("as much solid in the way round as in the face: closed form, not held against a test")
SEVERITY = 5
UNSQUEEZED = entry("Nothing squeezes the rim: it lies on its ledge under the holder's pull, and how tight that is no formula "
                   "here tells. Hold a lamp behind it: no light may show at the edge.")


def foam_rim(case: Case) -> tuple[Finding, ...]:
    """Squeeze of the rim, and the foam in the way round it.

        s <= 1 - 1.4 (1 - eps)      beyond it foam turns solid; least squeeze LEAST_RIM_SQUEEZE
        w / (1 - s) >= L            squeezed foam of width w holds as much solid as free foam of w / (1 - s)

    L: thickness of the foam.  Worst case: two printed faces, each off by the printer's spread.  Foam that has turned solid is
    not judged by what passes it.  Sources: standards.foam.
    """
    way = air_way(case)
    if way is None:
        return ()
    if way.squeeze is None:
        return (not_judged(NAME, tell("rim of the element"), translated(UNSQUEEZED), source=_squeeze_source(),
                           formula=SQUEEZE_FORMULA, severity=SEVERITY),)
    is_solid = way.squeeze > densification_strain(POROSITY)
    return (_squeeze(way, way.squeeze), *(() if is_solid else (_depth(case, way, way.squeeze),)))


def _squeeze(way: AirWay, squeeze: float) -> Finding:
    high = densification_strain(POROSITY)
    low = LEAST_RIM_SQUEEZE.low
    target = min(max(squeeze, low), high)
    better = (Suggestion("filter.squeeze", squeeze, target, tell("keeps contact and stays foam")),) if target != squeeze else ()
    told = tell("The rib flattens the rim by {squeeze:.0%}; from {low:.0%} to {high:.0%} it keeps contact and stays foam.",
                squeeze=squeeze, low=low, high=high)
    return judged(NAME, tell("squeeze of the rim"), squeeze, "-", Limit(low, high), source=_squeeze_source(),
                  formula=SQUEEZE_FORMULA, advice=told, inputs=_inputs(way, squeeze), u=_squeeze_u(way), from_memory=True,
                  suggestions=better, severity=SEVERITY,
                  sensitivity=strongest(lambda thickness, left: 1.0 - left / thickness,
                                        {"thickness": way.thickness, "left": way.thickness * (1.0 - squeeze)}))


def _depth(case: Case, way: AirWay, squeeze: float) -> Finding:
    value = foam_depth(way.rim, squeeze)
    u = foam_depth(2.0**0.5 * 2.0 * way.wall_u, squeeze)
    better = _wider(way, squeeze) if value - 2.0 * u < way.thickness else ()
    told = paragraph(tell("The rim takes {area:.0%} of the element's area. Air that goes round through it meets as much foam as "
                          "in {value:.1f} mm of face; the face has {thickness:g} mm.",
                          area=1.0 - way.face.area / way.element.area, value=value, thickness=way.thickness),
                     _own_flow(case, way, squeeze))
    return judged(NAME, tell("foam in the way round"), value, "mm", Limit(low=way.thickness), source=translated(DEPTH_SOURCE),
                  formula=DEPTH_FORMULA, advice=told, inputs=_inputs(way, squeeze), u=u, from_memory=True, suggestions=better,
                  severity=SEVERITY, sensitivity=strongest(foam_depth, {"width": way.rim, "squeeze": squeeze}))


def _wider(way: AirWay, squeeze: float) -> tuple[Suggestion, ...]:
    """The rim, or the squeeze, at which the way round holds as much foam as the face."""
    rim, tighter = way.thickness * (1.0 - squeeze), 1.0 - way.rim / way.thickness
    found = []
    if rim > way.rim:
        found.append(Suggestion("filter.rim", way.rim, rim, tell("more foam in the way round")))
    if squeeze < tighter <= densification_strain(POROSITY):
        found.append(Suggestion("filter.squeeze", squeeze, tighter, tell("denser foam in the way round")))
    return tuple(found)


def _own_flow(case: Case, way: AirWay, squeeze: float) -> str:
    """What the rim itself lets pass, in words; nothing where the flow is not known."""
    asked = demand(case)
    if outside(way, asked) is not None or asked.flow_m3_per_h is None:
        return ""
    air = standard_air()
    middle = way.element.buffer(-way.rim / 2.0, join_style="mitre")
    length = float(middle.length) if isinstance(middle, Polygon) else float(way.element.length)
    rim = RimPath(length, way.rim, way.thickness * (1.0 - squeeze), squeeze, way.gap)
    least, most = rim_flows(rim, way.pores_per_inch, path_drop(way.path(), asked.flow_m3_per_h, air).expected_pa, air)
    return tell("At most {least:.0%} to {most:.0%} of the air takes that way, where nothing else closes the gap behind it: a "
                "foam rim is a restriction, not a gasket.", least=least / asked.flow_m3_per_h, most=most / asked.flow_m3_per_h)


def _squeeze_u(way: AirWay) -> float:
    """Two printed faces, each off by the printer's spread, over the foam's thickness."""
    return math.sqrt(2.0) * 2.0 * way.wall_u / way.thickness


def _inputs(way: AirWay, squeeze: float) -> tuple[Input, ...]:
    return (Input(tell("squeeze"), squeeze, "-", tell("rib of the frame, as built"), _squeeze_u(way)),
            Input(tell("rim"), way.rim, "mm", tell("seat, as built"), 2.0 * way.wall_u),
            Input(tell("foam thickness"), way.thickness, "mm", "filter.thickness"),
            Input(tell("porosity"), POROSITY, "-", str(POROSITY_SOURCE)))


def _squeeze_source() -> str:
    return tell("{densify}; {porosity}; least: {least}", densify=DENSIFY_SOURCE, porosity=POROSITY_SOURCE,
                least=LEAST_RIM_SQUEEZE.source)
