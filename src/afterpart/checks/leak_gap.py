"""What remains open midway between two bolts: the seal must still be closed by more than the faces are uneven."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Unknown
from afterpart.checks.cover_flange import flange_of, ways_to_ratio
from afterpart.checks.judge import judged, strongest
from afterpart.formulas.gasket import BEAM
from afterpart.formulas.gasket import leak_gap as open_gap
from afterpart.formulas.sealed_joint import FLATNESS_SOURCE, unevenness
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.words import either, entry, paragraph, tell

FORMULA = entry("closing R >= unevenness of both faces")
SEVERITY = 8


def leak_gap(case: Case) -> tuple[Finding, ...]:
    """Closing of the seal midway between the bolts farthest apart, against roughness and want of flatness of both faces.

        closing R >= layer + flatness s      closing: least, at the bolts [mm]; R: see pressure_between_bolts
        gap = layer + flatness s - closing R, where positive

    Holds where R does.  Sources: BEAM, FLATNESS_SOURCE (judgement).
    """
    flange = flange_of(case)
    if flange is None:
        return ()
    if isinstance(flange, Unknown):
        return (flange.finding("leak_gap", tell("seal"), SEVERITY),)
    layer, closing = case.job.wishes.printer.layer, flange.load.closing_least
    uneven, ratio = unevenness(layer, flange.pitch), flange.ratio(**flange.values)
    gap = open_gap(closing, ratio, uneven)

    def kept(closing: float, **flange_values: float) -> float:
        return closing * flange.ratio(**flange_values)

    ways = ways_to_ratio(flange, uneven / closing) if 0.0 < uneven <= closing else ()
    told = tell("Midway between the bolts {pitch:.0f} mm apart the seal is closed by {closing:.2f} mm; the faces may be uneven "
                "by {uneven:.2f} mm.", pitch=flange.pitch, closing=closing * ratio, uneven=uneven)
    told = paragraph(told, _open(gap, ways))
    return (judged("leak_gap", tell("bolts {pitch:.0f} mm apart", pitch=flange.pitch), closing * ratio, "mm", Limit(low=uneven),
                   source=f"{BEAM}; {FLATNESS_SOURCE}", formula=FORMULA, advice=told, from_memory=True,
                   severity=SEVERITY, u=closing * flange.ratio_u, doubt=flange.load.doubt,
                   inputs=(Input(tell("closing"), closing, "mm",
                                 tell("{load_kind}, least, at the bolts", load_kind=flange.load.kind)),
                           Input(tell("layer"), layer, "mm", "printer.layer"), *flange.inputs),
                   sensitivity=strongest(kept, {"closing": closing, **flange.values}), suggestions=ways),)


def _open(gap: float, ways: tuple[Suggestion, ...]) -> str:
    if gap <= 0.0:
        return ""
    how = (tell("Set {ways}.", ways=either(f"{s.key} = {s.to}" for s in ways)) if ways
           else tell("Take a softer or a higher seal, or more bolts."))
    return paragraph(tell("A gap of {gap:.2f} mm stays open.", gap=gap), how)
