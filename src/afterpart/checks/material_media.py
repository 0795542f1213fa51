"""Each plastic against moisture, oil, fuel and sunlight, as far as it is exposed to them."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.plastic_parts import PlasticParts, plastic_parts
from afterpart.checks.surroundings import LEAST, RATINGS, exposures, named, other_plastic, rating, rigid_that
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.standards.materials import Material
from afterpart.words import entry, paragraph, tell, translated

FORMULA = entry("rating (good 3, fair 2, poor 1) >= fair")
SEVERITY = 6

HOW = {"good": entry("{filament} stands {column} well."), "fair": entry("{filament} stands {column} fairly."),
       "poor": entry("{filament} stands {column} poorly.")}
DOES = {"moisture": entry("Moisture swells or weakens it in time."), "oil": entry("Oil softens or cracks it in time."),
        "fuel": entry("Fuel dissolves or cracks it in time."), "uv": entry("UV makes it brittle in time.")}


def material_media(case: Case) -> tuple[Finding, ...]:
    """The rating of each plastic against each thing it is exposed to.

        rating >= fair      good 3, fair 2, poor 1

    Exposed to: service.exposed, machine.media, and what the place brings with it.  With none of these told: not judged.
    Source: standards.materials, usual resistance tables, from memory.
    """
    met = exposures(case)
    parts = plastic_parts(case)
    if not met and not case.job.wishes.service.exposed:
        return tuple(not_judged("material_media", group.name,
                                tell("It is not told what the part meets (service.exposed): moisture, oil, fuel, uv."),
                                formula=FORMULA, missing=("service.exposed",), severity=SEVERITY) for group in parts)
    return tuple(_finding(case, group, column, source) for group in parts for column, source in met.items())


def _finding(case: Case, parts: PlasticParts, column: str, source: str) -> Finding:
    subject = f"{parts.name}, {column}"
    if parts.material is None:
        return not_judged("material_media", subject, parts.unknown, formula=FORMULA, missing=(parts.key,),
                          severity=SEVERITY)
    plastic, word = parts.material, rating(parts.material, column)

    def suits(other: Material) -> bool:
        return RATINGS[rating(other, column)] > RATINGS[word]

    better = other_plastic(case, parts.key, parts.filament, suits, tell("stands {column} better", column=column))
    return judged("material_media", subject, RATINGS[word], entry("rating"), Limit(low=LEAST),
                  source=str(plastic.surroundings_source), formula=FORMULA,
                  from_memory=plastic.surroundings_source.from_memory, severity=SEVERITY,
                  inputs=(Input(column, RATINGS[word], "rating", f"{parts.filament}: {translated(word)}; {source}"),),
                  doubt=paragraph(translated(DOES[column]), tell("Look at it at every service.")) if word == "fair" else "",
                  advice=paragraph(translated(HOW[word]).format(filament=parts.filament, column=translated(column)),
                                   *((translated(DOES[column]), tell("{named} would stand it better.",
                                                                     named=named(rigid_that(case, suits))))
                                     if word == "poor" else ())),
                  sensitivity=strongest(lambda rating: rating, {"rating": RATINGS[word]}), suggestions=better)
