"""Load across layers at lips and hooks that stand upright in the print: their roots are only as strong as layer on layer."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.checks.printed_pieces import Printed, printed_pieces
from afterpart.formulas.printing import lip_root_stress
from afterpart.model.case import Case
from afterpart.model.feature import Latch, Lip
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.materials import SHORT_TERM_FACTOR, Material, material
from afterpart.standards.printing import rule
from afterpart.words import entry, tell

LIP_FORMULA = entry("sigma = 6 f h / t^2 <= phi sigma_y / 1.5")
LATCH_FORMULA = entry("sigma = E epsilon <= phi sigma_y / 1.5")
SEVERITY = 6

_HUNDREDTHS = 100.0
_REACH = 10.0
"""How many times as thick a lip is looked at for one that passes."""


def load_across_layers(case: Case) -> tuple[Finding, ...]:
    """Bending stress at the root of each upright lip and hook, against the strength across layers.

        lip    sigma = 6 f h / t^2      f push per length [N/mm], h height, t thickness [mm]
        hook   sigma = E epsilon        E modulus (high end), epsilon strain at the root when it snaps in
        limit  phi sigma_y / 1.5        phi share of strength across layers, sigma_y yield stress (low ends) [N/mm2]

    A lip locates and must carry no load: f is a hand's push (standards.printing "lip_push").  Bosses are judged by the checks of
    screws; bars lie in their layers and bend along them.  Sources: standards.materials, from memory but for PLA.
    """
    return tuple(finding for printed in printed_pieces(case) for finding in _of_piece(case, printed))


def _of_piece(case: Case, printed: Printed) -> list[Finding]:
    upright = [f for f in printed.piece.features if isinstance(f, Lip | Latch)]
    if not upright:
        return []
    try:
        plastic = material(printed.filament)
    except KeyError as error:
        return [_untold(printed, tell("printer.material: {args}", args=error.args[0]))]
    if plastic.yield_stress is None or plastic.modulus is None:
        return [_untold(printed, tell("{plastic} has no yield stress in the tables.", plastic=plastic.name))]
    lips = [f for f in upright if isinstance(f, Lip)]
    latches = [f for f in upright if isinstance(f, Latch)]
    found = []
    if lips:
        found.append(_lip(case, printed, max(lips, key=lambda lip: (lip.top - lip.bottom) / lip.thickness**2), plastic))
    if latches:
        found.append(_latch(printed, max(latches, key=lambda latch: latch.strain), plastic))
    return found


def _untold(printed: Printed, reason: str) -> Finding:
    return not_judged("load_across_layers", printed.name, reason, missing=("printer.material",), severity=SEVERITY)


def _strength(plastic: Material) -> float:
    assert plastic.yield_stress is not None
    return plastic.interlayer_factor.low * plastic.yield_stress.low / SHORT_TERM_FACTOR


def _sources(plastic: Material) -> str:
    assert plastic.yield_stress is not None
    return f"{plastic.yield_stress.source}; {plastic.interlayer_factor.source}"


def _lip(case: Case, printed: Printed, lip: Lip, plastic: Material) -> Finding:
    push = rule("lip_push")
    limit, height = _strength(plastic), lip.top - lip.bottom

    def stress(push_n_per_mm: float, height: float, thickness: float) -> float:
        return lip_root_stress(push_n_per_mm, height, 1.0, thickness)

    value = stress(push.high, height, lip.thickness)
    found = value_that_passes(lambda t: limit - stress(push.high, height, t), lip.thickness, _REACH * lip.thickness)
    return judged("load_across_layers", tell("lip of {printed} along {of}", printed=printed.name, of=lip.of), value, "N/mm2",
                  Limit(high=limit), source=f"{push.source}; {_sources(plastic)}", formula=LIP_FORMULA, from_memory=True,
                  severity=SEVERITY,
                  advice=tell("The lip locates and must not carry load: bring the cover to its seat by hand, and do not lever it "
                              "off."),
                  inputs=(Input(tell("push"), push.high, "N/mm", str(push.source)),
                          Input(tell("height"), height, "mm", tell("lip as built")),
                          Input(tell("thickness"), lip.thickness, "mm", tell("lip as built")),
                          Input(tell("strength across layers"), limit, "N/mm2", _sources(plastic))),
                  sensitivity=strongest(stress, {"push_n_per_mm": push.high, "height": height, "thickness": lip.thickness}),
                  suggestions=(Suggestion("lip.thickness", lip.thickness, math.ceil(found * _HUNDREDTHS) / _HUNDREDTHS,
                                          tell("a thicker root")),) if found is not None and value > limit else ())


def _latch(printed: Printed, latch: Latch, plastic: Material) -> Finding:
    assert plastic.modulus is not None
    limit, modulus = _strength(plastic), plastic.modulus

    def stress(modulus: float, strain: float) -> float:
        return modulus * strain

    longest = latch.length * math.sqrt(stress(modulus.high, latch.strain) / limit) if limit > 0 else math.inf
    value = stress(modulus.high, latch.strain)
    return judged("load_across_layers", tell("hooks of {printed}", printed=printed.name), value, "N/mm2", Limit(high=limit),
                  source=f"{modulus.source}; {_sources(plastic)}", formula=LATCH_FORMULA, from_memory=True,
                  severity=SEVERITY,
                  advice=tell("Upright hooks bend across their layers; {longest:.1f} mm long instead of {length:.1f} mm (strain "
                              "goes with one over length squared) they stand at the limit. A frame with screws "
                              '(holder.kind = "frame") or pins need no hooks.', longest=longest, length=latch.length),
                  inputs=(Input(tell("modulus"), modulus.high, "N/mm2", str(modulus.source)),
                          Input(tell("strain"), latch.strain, "-", tell("hook as built"))),
                  sensitivity=strongest(stress, {"modulus": modulus.high, "strain": latch.strain}),
                  suggestions=(Suggestion("holder.kind", "latches", "frame", tell("screws instead of hooks")),))
