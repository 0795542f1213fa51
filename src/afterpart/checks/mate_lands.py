"""Does the cover meet the mate's face where it should: seal on land all round, lip with room, no hole without its partner?"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import COUNTED, judged, strongest
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.model.mate import MateEdge
from afterpart.words import entry, tell, translated

FORMULA = entry("least = min along the cover's edge of its distance to the mate's edge, negative on the wrong side")
SOURCE = entry("Geometry: the mate as photographed, laid on the cover (mate.json)")
SEVERITY_SEAL, SEVERITY_LIP, SEVERITY_LONE = 7, 6, 5


def mate_lands(case: Case) -> tuple[Finding, ...]:
    """Least room between edges that must keep off each other: seal and edges of the mate's face, lip and what it enters.

        least = min over s of distance(cover's edge at s, mate's edge), negative on the wrong side        >= 0

    Holds for: edges that the mate's picture shows; with the holes where the fit has them (bolts in the middle).  Source: SOURCE.
    """
    match = case.mate
    if match is None:
        return ()
    found = [_land(edge) for edge in match.edges if edge.must_clear]
    if match.lone_cover:
        names = ", ".join(match.lone_cover)
        found.append(judged("mate_lands", tell("holes {names}", names=names), float(len(match.lone_cover)), "holes",
                            Limit(high=0.0), source=translated(SOURCE),
                            formula=entry("holes of the cover without one behind <= 0"), severity=SEVERITY_LONE,
                            advice=tell("The mate shows no hole behind {names}: nothing holds a bolt there. Look at the "
                                        'machine, or drop the hole ([[change]] do = "drop").', names=names),
                            inputs=(Input(tell("holes laid together"), float(len(match.holes)), "holes", "mate.json"),),
                            insensitive=translated(COUNTED)))
    return tuple(found)


def _land(edge: MateEdge) -> Finding:
    place = f"({edge.at[0]:.1f}, {edge.at[1]:.1f})"
    is_seal = edge.cover == "seal"
    if edge.least >= 0:
        text = tell("Least {least:.2f} mm, at {place}; {most:.2f} mm where there is most.", least=edge.least, place=place,
                    most=edge.most)
    elif is_seal:
        text = tell("At {place} the seal lies {least:.2f} mm off the mate's face and leaks: move it (seal.path, seal.offset).",
                    place=place, least=-edge.least)
    else:
        text = tell("At {place} it stands {least:.2f} mm in the mate: give it more clearance (lip.clearance).", place=place,
                    least=-edge.least)
    return judged("mate_lands", edge.what.lower(), edge.least, "mm", Limit(low=0.0), source=translated(SOURCE),
                  formula=FORMULA, advice=text, u=edge.u, severity=SEVERITY_SEAL if is_seal else SEVERITY_LIP,
                  sensitivity=strongest(lambda least: least, {"least": edge.least}),
                  inputs=(Input(tell("largest room"), edge.most, "mm", "mate.json", edge.u),))
