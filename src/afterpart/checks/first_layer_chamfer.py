"""First-layer chamfers: the bed widens the first layer, and edges there must stand back for it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import MEASURED, judged
from afterpart.checks.printed_pieces import Printed, printed_pieces
from afterpart.model.case import BedEdge, Case
from afterpart.model.feature import PrintedSeal
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.printing import rule
from afterpart.words import entry, tell, translated

FORMULA = entry("least chamfer on the edges of the bed's face >= first_layer_flare; 0 where an edge is sharp")
SEVERITY = 3

SHARP = 1.0
"""Length of sharp edge that is left out of account, mm: a seam's corner."""

_SHARP_ON_PURPOSE = ("cutting_guide",)
"""Its edge leads a blade, which a chamfer would let run in under it."""


def first_layer_chamfer(case: Case) -> tuple[Finding, ...]:
    """The least chamfer of the edges on the bed, over all printed pieces; the piece with the least is told.

        c >= flare        c height of the chamfer, 0 where more than SHARP mm of edge has none;  flare: of a first layer [mm]

    Left out: engravings, cutting guides, flat seals (a chamfer would take their sealing width), and hollow rings, whose foot's
    inner edges bulge into the hollow and touch nothing.
    Source: standards.printing "first_layer_flare", from memory.
    """
    measured = [(printed, printed.facts.bed_edge) for printed in printed_pieces(case)
                if printed.facts and printed.facts.bed_edge and _needs_one(printed)]
    if not measured:
        return ()
    printed, edge = min(measured, key=lambda pair: _least(pair[1]))
    flare, asked = rule("first_layer_flare"), case.job.wishes.cover.first_layer_chamfer if case.job.wishes.cover else None
    sharp = edge.length - edge.chamfered
    told = (tell("{sharp:.0f} of {length:.0f} mm of edge on the bed are sharp: trim the first layer's bulge there with a knife.",
                 sharp=sharp, length=edge.length) if sharp > SHARP else tell("Every edge on the bed stands back by "
                                                                             "{least_chamfer:.2f} mm or more, hole mouths too.",
                                                                             least_chamfer=edge.least_chamfer))
    short = asked is not None and asked < flare.high
    return (judged("first_layer_chamfer", printed.name, _least(edge), "mm", Limit(low=flare.high), source=str(flare.source),
                   formula=FORMULA, advice=told, from_memory=flare.from_memory, severity=SEVERITY,
                   insensitive=translated(MEASURED),
                   inputs=(Input(tell("sharp edge"), sharp, "mm", tell("measured on {printed}", printed=printed.name)),
                           Input(tell("flare"), flare.high, "mm", str(flare.source))),
                   suggestions=(Suggestion("cover.first_layer_chamfer", asked, flare.high,
                                           tell("the most a first layer flares")),) if short else ()),)


def _least(edge: BedEdge) -> float:
    return 0.0 if edge.length - edge.chamfered > SHARP else round(edge.least_chamfer, 3)


def _needs_one(printed: Printed) -> bool:
    spared = any(isinstance(f, PrintedSeal) and f.section in ("flat", "beaded", "hollow") for f in printed.piece.features)
    return printed.piece.kind not in _SHARP_ON_PURPOSE and not spared
