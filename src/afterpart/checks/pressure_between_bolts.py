"""Seal pressure midway between two bolts: the cover bows, and the seal is pressed least where no bolt is near."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Unknown
from afterpart.checks.cover_flange import flange_of, ways_to_ratio
from afterpart.checks.judge import judged, strongest
from afterpart.formulas.gasket import BEAM, largest_pitch
from afterpart.formulas.sealed_joint import RATIO_SOURCE, WANTED_RATIO
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Limit
from afterpart.words import either, entry, paragraph, tell

FORMULA = entry("R = 2 (cosh l sin l + sinh l cos l) / (sinh 2 l + sin 2 l), l = beta s / 2")
SEVERITY = 7


def pressure_between_bolts(case: Case) -> tuple[Finding, ...]:
    """Pressure midway between the two bolts farthest apart, over that at the bolts: beam on an elastic foundation.

        R = 2 (cosh l sin l + sinh l cos l) / (sinh 2 l + sin 2 l),   l = beta s / 2,   beta = (k / 4 E I)^(1/4)

    s spacing along the seal, k stiffness of the seal (upper end), E modulus (low end), I of the strip over the seal; 0: the cover
    lifts off.  Holds for straight strips, small bow.  Source: BEAM; the wanted ratio is judgement.
    """
    flange = flange_of(case)
    if flange is None:
        return ()
    if isinstance(flange, Unknown):
        return (flange.finding("pressure_between_bolts", tell("seal"), SEVERITY),)
    ratio = flange.ratio(**flange.values)
    widest = largest_pitch(WANTED_RATIO, flange.beta(flange.stiffness, flange.modulus, flange.thickness))
    ways = ways_to_ratio(flange, WANTED_RATIO)
    told = paragraph(_kept(flange.pitch, ratio, widest),
                     tell("At middle figures it would be {expected:.0%}; the strip over the seal is taken alone, the rest of the "
                          "cover helps. Leak gap and cover bow rest on the same beam: what is coarse in it is coarse in all "
                          "three.", expected=flange.expected),
                     tell("Otherwise set {ways}.", ways=either(f"{s.key} = {s.to}" for s in ways)) if ways else "")
    return (judged("pressure_between_bolts", tell("bolts {pitch:.0f} mm apart", pitch=flange.pitch), ratio, "-",
                   Limit(low=WANTED_RATIO), source=f"{BEAM}; {RATIO_SOURCE}", formula=FORMULA, advice=told,
                   doubt=flange.load.doubt, u=flange.ratio_u, from_memory=True, inputs=(*flange.inputs, *flange.load.inputs),
                   severity=SEVERITY, sensitivity=strongest(flange.ratio, flange.values), suggestions=ways),)


def _kept(pitch: float, ratio: float, widest: float) -> str:
    if ratio <= 0.0:
        return tell("Midway between the bolts {pitch:.0f} mm apart the seal keeps {ratio:.0%} of the pressure at the bolts, and "
                    "the cover lifts off; for {wanted:.0%} they may be {widest:.0f} mm apart.", pitch=pitch, ratio=ratio,
                    wanted=WANTED_RATIO, widest=widest)
    return tell("Midway between the bolts {pitch:.0f} mm apart the seal keeps {ratio:.0%} of the pressure at the bolts; for "
                "{wanted:.0%} they may be {widest:.0f} mm apart.", pitch=pitch, ratio=ratio, wanted=WANTED_RATIO, widest=widest)
