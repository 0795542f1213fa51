"""Bow of the cover between bolts once its plastic has crept, against what the seal can follow."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.bolted_joint import Unknown, cover_of
from afterpart.checks.cover_flange import Flange, flange_of
from afterpart.checks.judge import judged, strongest, value_that_passes
from afterpart.checks.printed_pieces import printed_pieces
from afterpart.formulas.gasket import BEAM, SET_RESERVE
from afterpart.formulas.sealed_joint import FLATNESS_SOURCE, unevenness
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.materials import material
from afterpart.words import entry, paragraph, tell

FORMULA = entry("delta = c (1 - R(E_t, k_t)) <= least closing - unevenness")
SEVERITY = 6

_REACH = 3.0
"""How many times as thick a cover is looked at for one that passes."""

_TENTHS = 10.0


def cover_bow(case: Case) -> tuple[Finding, ...]:
    """Bow midway between the two bolts farthest apart, after the plastic has crept, against what the seal can still follow.

        delta = c (1 - R)      c closing at the bolts [mm], R pressure ratio for beta s with E_t (0: lifted off)
        E_t = E kappa          kappa: share of the modulus that 1000 h leave (low ends)
        k_t = k / SET_RESERVE  what creep and set leave of the seal's stiffness (upper end)
        delta <= least closing - unevenness of the faces over the pitch

    Holds for straight strips, beam on an elastic foundation.
    Sources: BEAM, FLATNESS_SOURCE; standards.materials, from memory.
    """
    flange, cover = flange_of(case), cover_of(case)
    if flange is None or cover is None:
        return ()
    if isinstance(flange, Unknown):
        return (flange.finding("cover_bow", tell("seal"), SEVERITY),)
    return (_judged(case, flange),)


def _judged(case: Case, flange: Flange) -> Finding:
    kept, layer = _kept(case), case.job.wishes.printer.layer

    def bow(pitch: float, stiffness: float, modulus: float, thickness: float, retention: float) -> float:
        return flange.load.closing * (1.0 - flange.ratio(pitch, stiffness / SET_RESERVE, modulus * retention, thickness))

    told = {**flange.values, "retention": kept}
    value, limit = bow(**told), flange.load.closing_least - unevenness(layer, flange.pitch)
    found = value_that_passes(lambda h: limit - bow(**{**told, "thickness": h}), flange.thickness, _REACH * flange.thickness)
    thicker = math.ceil(found * _TENTHS) / _TENTHS if found is not None and found > flange.thickness else None
    low, high = (bow(**{**told, "pitch": flange.pitch + sign * flange.pitch_u}) for sign in (-1.0, 1.0))
    advice = tell("Crept, the cover bows by {value:.3f} mm between bolts {pitch:.0f} mm apart; the seal follows {most:.3f} mm.",
                  value=value, pitch=flange.pitch, most=max(limit, 0.0))
    middle = bow(**{**told, "stiffness": flange.stiffness / flange.load.band[1], "modulus": flange.modulus_middle})
    advice = paragraph(advice,
                       tell("At middle figures it would be {middle:.3f} mm; the strip is taken alone, the rest of the cover "
                            "helps.", middle=middle),
                       tell("A cover {thicker:g} mm thick keeps to it; so does a softer seal or a bolt in between.",
                            thicker=thicker) if thicker else "")
    return judged("cover_bow", tell("cover between bolts {pitch:.0f} mm apart", pitch=flange.pitch), value, "mm",
                  Limit(high=limit), source=f"{BEAM}; {FLATNESS_SOURCE}", formula=FORMULA, advice=advice,
                  from_memory=True, doubt=flange.load.doubt, severity=SEVERITY, u=abs(high - low) / 2.0,
                  inputs=(*flange.inputs, Input(tell("closing"), flange.load.closing, "mm", flange.load.kind),
                          Input(tell("share that creep leaves"), kept, "-", tell("low end of standards.materials")),
                          Input(tell("layer"), layer, "mm", "printer.layer")), sensitivity=strongest(bow, told),
                  suggestions=(Suggestion("cover.thickness", flange.thickness, thicker, tell("a stiffer cover bows less")),)
                  if thicker else ())


def _kept(case: Case) -> float:
    """Share of the modulus left after 1000 h, low end; the cover's plastic is known, or there would be no flange."""
    filament = next((p.filament for p in printed_pieces(case) if p.piece.kind == "cover"), case.job.wishes.printer.material)
    retention = material(filament).creep_retention
    return retention.low if retention is not None else 1.0
