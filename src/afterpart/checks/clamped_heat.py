"""Service temperature against the plastic's softening where bolts or screws clamp it: warm plastic creeps from under them."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import NO_TEMPERATURE, Temperature, temperature_of
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.plastic_parts import PlasticParts, plastic_parts
from afterpart.checks.surroundings import high_load_doubt, named, other_plastic, rigid_that
from afterpart.model.case import Case
from afterpart.model.feature import BearingFace, Boss, Sleeve
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.piece import Piece
from afterpart.standards.materials import CLAMPED_MARGIN_C, Material
from afterpart.words import entry, paragraph, tell

FORMULA = entry("T <= min(HDT at 0.45 N/mm2, glass transition if amorphous) - 30 K")
SEVERITY = 7


def clamped_heat(case: Case) -> tuple[Finding, ...]:
    """Hottest service against the softening of each clamped plastic, less a reserve of CLAMPED_MARGIN_C.

        T <= min(HDT, T_g) - 30 K      HDT at 0.45 N/mm2, T_g of amorphous plastics only [degC]

    A plastic that sags under high load (1.8 N/mm2) within the same reserve gets attention.  Pieces whose bolts all stand in
    metal sleeves, and which hold no screws, are not clamped.  Sources: standards.materials, standards.service_places.
    """
    found = []
    for parts in plastic_parts(case):
        clamped = tuple(piece for piece in parts.pieces if _is_clamped(piece))
        if clamped:
            found.append(_finding(case, PlasticParts(parts.filament, clamped, parts.material), temperature_of(case)))
    return tuple(found)


def _is_clamped(piece: Piece) -> bool:
    sleeves = {f.of for f in piece.features if isinstance(f, Sleeve)}
    return any(isinstance(f, Boss) or (isinstance(f, BearingFace) and f.of not in sleeves) for f in piece.features)


def _finding(case: Case, parts: PlasticParts, temperature: Temperature | None) -> Finding:
    if parts.material is None:
        return not_judged("clamped_heat", parts.name, parts.unknown, formula=FORMULA, missing=(parts.key,),
                          severity=SEVERITY)
    softens, limit = parts.material.softens_c, parts.material.service_limit_c(clamped=True)
    if softens is None or limit is None:
        return not_judged("clamped_heat", parts.name,
                          tell("{filament} is rubbery and should not be clamped hard.", filament=parts.filament),
                          formula=FORMULA, severity=SEVERITY)
    if temperature is None:
        return not_judged("clamped_heat", parts.name, NO_TEMPERATURE.reason, source=str(softens.source),
                          formula=FORMULA, missing=NO_TEMPERATURE.missing, severity=SEVERITY)
    hottest, creep = temperature.celsius, parts.material.creep_retention

    def suits(plastic: Material) -> bool:
        other = plastic.service_limit_c(clamped=True)
        return other is not None and other >= hottest and not high_load_doubt(plastic, hottest)

    kept = tell("Of the clamp load {creep_low:.0%} to {creep_high:.0%} is left after 1000 h even in the cool.",
                creep_low=creep.low, creep_high=creep.high) if creep else ""
    return judged("clamped_heat", parts.name, hottest, "degC", Limit(high=round(limit, 2)),
                  source=tell("{source}; reserve by rule of thumb", source=softens.source), formula=FORMULA,
                  from_memory=softens.from_memory or temperature.from_memory, severity=SEVERITY,
                  doubt=high_load_doubt(parts.material, hottest),
                  inputs=(temperature.as_input, Input(tell("softens"), softens.low, "degC", str(softens.source)),
                          Input(tell("reserve"), CLAMPED_MARGIN_C, "K", tell("rule of thumb for clamped joints"))),
                  advice=paragraph(tell("Clamped {filament} should stay below {limit:.0f} degC; it gets up to {hottest:g}.",
                                        filament=parts.filament, limit=limit, hottest=hottest), kept,
                                   tell("{named} would do, or a metal sleeve round each bolt (bolts.sleeve).",
                                        named=named(rigid_that(case, suits)))),
                  sensitivity=strongest(lambda hottest: hottest, {"hottest": hottest}),
                  suggestions=(*other_plastic(case, parts.key, parts.filament, suits, tell("stands that heat")),
                               *_sleeves(case, parts)))


def _sleeves(case: Case, parts: PlasticParts) -> tuple[Suggestion, ...]:
    """Metal sleeves, where bolts are all that clamps."""
    bolts = case.job.wishes.bolts
    screwed = any(isinstance(f, Boss) for piece in parts.pieces for f in piece.features)
    if bolts is None or bolts.sleeve or screwed:
        return ()
    return (Suggestion("bolts.sleeve", "false", "true", tell("metal carries the clamp load")),)
