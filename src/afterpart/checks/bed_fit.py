"""Do the pieces fit the printer's bed, and how many beds do they fill?"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.judge import judged, strongest
from afterpart.checks.printed_pieces import Printed, printed_pieces
from afterpart.geometry.bed_layout import Laid, lay_out
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.printing import rule
from afterpart.words import entry, paragraph, tell, translated

FORMULA = entry("min over both ways to turn it of max(w / W, d / D) <= 1")
SEVERITY = 6
SOURCE = entry("Geometry: the piece's box as it lies on the bed against the bed")


def bed_fit(case: Case) -> tuple[Finding, ...]:
    """Share of the bed that the largest printed piece takes, and how all of them lie, one plan for each filament.

        share = min(max(w / W, d / D), max(d / W, w / D)) <= 1     w, d of the piece, W, D of the bed [mm]

    Holds for pieces laid square to the bed.  The gap between pieces is the rule "bed_gap" of standards.printing.
    """
    pieces = [printed for printed in printed_pieces(case) if printed.facts]
    if not pieces:
        return tuple(printed.unmeasured("bed_fit", SEVERITY) for printed in printed_pieces(case))
    bed = case.job.wishes.printer.bed
    return tuple(_judged(printed, bed, _plan_in_words(pieces, bed)) for printed in
                 [max(pieces, key=lambda p: _share(*_size(p), *bed))])


def _judged(printed: Printed, bed: tuple[float, float], plan: str) -> Finding:
    width, depth = _size(printed)
    share = _share(width, depth, *bed)
    to = math.ceil(max(bed) * share)
    return judged("bed_fit", printed.name, share, "-", Limit(high=1.0), source=translated(SOURCE), formula=FORMULA,
                  severity=SEVERITY,
                  advice=tell("The largest piece, {width:.0f} x {depth:.0f} mm, takes {share:.0%} of a bed of {bed:g} x "
                              "{bed_2:g} mm. {plan}", width=width, depth=depth, share=share, bed=bed[0], bed_2=bed[1], plan=plan),
                  inputs=(Input(tell("width"), width, "mm", tell("{printed} as built", printed=printed.name)),
                          Input(tell("depth"), depth, "mm", tell("{printed} as built", printed=printed.name)),
                          Input(tell("bed width"), bed[0], "mm", "printer.bed"),
                          Input(tell("bed depth"), bed[1], "mm", "printer.bed")),
                  sensitivity=strongest(_share, {"width": width, "depth": depth, "bed_width": bed[0], "bed_depth": bed[1]}),
                  suggestions=(Suggestion("printer.bed", f"[{bed[0]:g}, {bed[1]:g}]", f"[{to}, {to}]",
                                          tell("a square bed of that side takes it; or split the piece")),) if share > 1.0
                  else ())


def _share(width: float, depth: float, bed_width: float, bed_depth: float) -> float:
    return min(max(width / bed_width, depth / bed_depth), max(depth / bed_width, width / bed_depth))


def _size(printed: Printed) -> tuple[float, float]:
    assert printed.facts is not None
    return printed.facts.high[0] - printed.facts.low[0], printed.facts.high[1] - printed.facts.low[1]


def _plan_in_words(pieces: list[Printed], bed: tuple[float, float]) -> str:
    told = []
    for filament in dict.fromkeys(printed.filament for printed in pieces):
        alike = tuple((printed.name, _size(printed)) for printed in pieces if printed.filament == filament)
        plan = lay_out(alike, bed, rule("bed_gap").low)
        beds = ["; ".join(_where(laid) for laid in plan.laid if laid.bed == number + 1) for number in range(plan.beds)]
        told.append(tell("{filament}: {beds}.", filament=filament,
                         beds=" | ".join(tell("bed {number}: {line}", number=number, line=line)
                                         for number, line in enumerate(beds, 1))))
    return paragraph(*told)


def _where(laid: Laid) -> str:
    if laid.turned:
        return tell("{laid} at ({at:.0f}, {at_2:.0f}) turned", laid=laid.name, at=laid.at[0], at_2=laid.at[1])
    return tell("{laid} at ({at:.0f}, {at_2:.0f})", laid=laid.name, at=laid.at[0], at_2=laid.at[1])
