"""What can come in through the air's inlet: stones and spray, above all when it was enlarged.

Words: the *inlet* is the opening of the built cover through which the air enters; what lies behind it is foam, which stops dust
but neither a stone nor a jet of water.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
from shapely import maximum_inscribed_circle
from shapely.geometry import Polygon

from afterpart.checks.judge import COUNTED, judged, not_judged, strongest
from afterpart.formulas.spray import greatest_dry_facing_deg, hood_length
from afterpart.geometry.chain import chain_polygon
from afterpart.model.case import Case
from afterpart.model.feature import Opening, Seat
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.outline import Circle
from afterpart.standards.ingress import INGRESS_SOURCE, SPRAY_REACH_DEG, STONE_SPHERE
from afterpart.words import entry, tell, translated

STONES = entry("largest sphere through the inlet <= 12.5 mm")
FACING = entry("facing <= 90 - 60 degrees from straight down")
DRAINS = entry("holes with purpose drain >= 1")
SEVERITY_STONES, SEVERITY_SPRAY, SEVERITY_DRAIN = 6, 6, 3
PRECISION = 0.01
"""Of the largest circle in an opening, mm."""

WASHER = entry("No open inlet keeps out a pressure washer: cover it before washing, and never aim at it.")


def inlet_exposure(case: Case) -> tuple[Finding, ...]:
    """What the cover's inlet lets in of that which service.exposed names.

        stones:  D <= STONE_SPHERE            D the largest circle in the opening, or the gap of a grid before it [mm]
        spray:   f <= 90 - SPRAY_REACH_DEG    f facing: the inlet's outward normal from straight down [degrees]
                 else a hood of L = H / tan(180 - f - s) over it, s = SPRAY_REACH_DEG, H the opening's height
        drain:   with spray and an inlet that is not dry by itself, one drain hole at the lowest place of the seat

    Holds for covers with a filter seat.  Sources: standards.ingress, from memory; formulas.spray.
    """
    inlet = _inlet(case)
    if inlet is None:
        return ()
    service = case.job.wishes.service
    if not service.exposed:
        return (not_judged("inlet_exposure", tell("inlet"),
                           tell("It is not told what the inlet meets (service.exposed): stones, spray ..."),
                           source=str(INGRESS_SOURCE), formula=STONES, missing=("service.exposed",),
                           severity=SEVERITY_STONES),)
    area = chain_polygon(inlet.chain, PRECISION)
    found: tuple[Finding, ...] = (_stones(case, area),) if "stones" in service.exposed else ()
    if "spray" not in service.exposed:
        return found
    if service.inlet_facing_deg is None:
        return (*found,
                not_judged("inlet_exposure", tell("inlet, spray"),
                           tell("It is not told which way the inlet looks in use (service.inlet_facing_deg: 0 down, 90 sideways, "
                                "180 up). {washer}", washer=translated(WASHER)), source=str(INGRESS_SOURCE),
                           formula=FACING, missing=("service.inlet_facing_deg",), severity=SEVERITY_SPRAY))
    dry = service.inlet_facing_deg <= greatest_dry_facing_deg(SPRAY_REACH_DEG)
    return (*found, _spray(area, service.inlet_facing_deg), *(() if dry else (_drain(case, service.inlet_facing_deg),)))


def _inlet(case: Case) -> Opening | None:
    """The widest opening of a cover that has a filter seat."""
    for piece in case.build.pieces:
        if piece.kind == "cover" and any(isinstance(f, Seat) for f in piece.features):
            openings = [f for f in piece.features if isinstance(f, Opening)]
            return max(openings, key=lambda f: chain_polygon(f.chain, PRECISION).area, default=None)
    return None


def _old_openings(case: Case, inlet: Polygon) -> tuple[Polygon, ...]:
    """The openings of the old part where the inlet is now, round bolt holes aside."""
    loops = (loop.segments for loop in case.outline.design if loop.role == "opening")
    polygons = (chain_polygon(s, PRECISION) for s in loops if not (len(s) == 1 and isinstance(s[0], Circle)))
    return tuple(p for p in polygons if p.intersects(inlet))


def sphere_through(area: Polygon) -> float:
    """Diameter of the largest circle in an opening, mm (to PRECISION)."""
    return 2.0 * float(maximum_inscribed_circle(area, PRECISION).length)


def _grown(case: Case, inlet: Polygon) -> tuple[str, tuple[Input, ...]]:
    old = _old_openings(case, inlet)
    if not old:
        return tell("The old part had no opening there."), ()
    before = sum(p.area for p in old)
    widest = max(sphere_through(p) for p in old)
    text = tell("The old opening had {before:.0f} mm2 and let through {widest:.1f} mm; this one has {area:.0f} mm2.",
                before=before, widest=widest, area=inlet.area)
    return text, (Input(tell("old opening"), before, "mm2", tell("outline, design")),
                  Input(tell("old sphere"), widest, "mm", tell("outline, design")))


def _stones(case: Case, area: Polygon) -> Finding:
    wish = case.job.wishes.inlet
    grid, (text, more) = wish.grid if wish is not None else None, _grown(case, area)
    sphere = min(sphere_through(area), grid if grid is not None else np.inf)
    seen = "inlet.grid" if grid is not None and sphere == grid else tell("inlet of the cover as built")
    return judged("inlet_exposure", tell("inlet, stones"), sphere, "mm", Limit(high=STONE_SPHERE), source=str(INGRESS_SOURCE),
                  formula=STONES, from_memory=True, severity=SEVERITY_STONES,
                  inputs=(Input(tell("largest sphere"), sphere, "mm", seen),
                          Input(tell("inlet"), area.area, "mm2", tell("as built")), *more),
                  advice=tell("A stone of {sphere:.1f} mm gets through to the foam. {text} Put a metal grid over its outside "
                              "with free gaps of {stone_sphere:g} mm or less (inlet.grid), fastened so that it cannot come loose "
                              "inwards.", sphere=sphere, text=text, stone_sphere=STONE_SPHERE),
                  sensitivity=strongest(lambda sphere: sphere, {"sphere": sphere}),
                  suggestions=(Suggestion("inlet.grid", grid, STONE_SPHERE, tell("stops stones before the foam")),)
                  if sphere > STONE_SPHERE else ())


def _spray(area: Polygon, facing: float) -> Finding:
    least_x, least_y, most_x, most_y = area.bounds
    height = float(np.hypot(most_x - least_x, most_y - least_y))
    limit, hood = greatest_dry_facing_deg(SPRAY_REACH_DEG), hood_length(height, facing, SPRAY_REACH_DEG)
    shade = (tell("Turn it down: no hood keeps spray out of an inlet that looks so far up.") if hood is None
             else tell("Turn it down, or give it a hood that stands out up to {hood:.0f} mm from its upper edge.", hood=hood)
             if hood else tell("That keeps it dry."))
    return judged("inlet_exposure", tell("inlet, spray"), facing, entry("degrees"), Limit(high=limit),
                  source=tell("{ingress_source}; straight drops", ingress_source=INGRESS_SOURCE), formula=FACING,
                  from_memory=True, severity=SEVERITY_SPRAY,
                  inputs=(Input(tell("facing"), facing, "degrees", "service.inlet_facing_deg"),
                          Input(tell("height"), height, "mm", tell("longest way across the inlet")),
                          Input(tell("reach of spray"), SPRAY_REACH_DEG, "degrees", str(INGRESS_SOURCE))),
                  advice=tell("Spray falls up to {spray_reach_deg:g} degrees from the vertical, so that it misses an inlet that "
                              "looks within {limit:g} degrees of straight down; this one is at {facing:g}. {shade} {washer}",
                              spray_reach_deg=SPRAY_REACH_DEG, limit=limit, facing=facing, shade=shade,
                              washer=translated(WASHER)), sensitivity=strongest(lambda facing: facing, {"facing": facing}))


def _drain(case: Case, facing: float) -> Finding:
    drains = sum("drain" in hole.purpose.lower() for hole in case.job.wishes.holes)
    return judged("inlet_exposure", tell("inlet, drain"), float(drains), entry("holes"), Limit(low=1.0),
                  source=tell("judgement: water that gets in must get out"), formula=DRAINS, from_memory=True,
                  severity=SEVERITY_DRAIN,
                  inputs=(Input(tell("drain holes"), float(drains), "holes", tell("[[hole]] rows with drain in their purpose")),
                          Input(tell("facing"), facing, "degrees", "service.inlet_facing_deg")),
                  advice=tell("Water that gets in stands in the seat and soaks the foam: give the lowest place of the seat a "
                              "drain hole " 'on the dirty side, as a [[hole]] with purpose = "drain", no wider than 3 mm.'),
                  insensitive=translated(COUNTED))
