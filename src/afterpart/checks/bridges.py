"""Bridges: how far filament must span between two walls with nothing below."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.judge import MEASURED, judged, not_judged
from afterpart.checks.printed_pieces import Printed, place_in_words, printed_pieces
from afterpart.model.case import Case, Hanging
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.printing import rule
from afterpart.words import entry, tell, translated

FORMULA = entry("longest span of a bridged face <= printer.bridge")
SEVERITY = 3

_TENTHS = 10.0


def bridges(case: Case) -> tuple[Finding, ...]:
    """Longest bridge of each piece that has one, against the longest this printer spans.

        span <= printer.bridge     span: least over directions of the longest run between held rims [mm]

    Holds for printer.bridge up to the high end of the guides, 30 mm; they contradict each other from 5 mm on, so that a longer
    span gets attention.  Source: standards.printing "bridge".
    """
    found = []
    for printed in printed_pieces(case):
        spans = [h for h in printed.facts.hanging if h.kind == "bridge"] if printed.facts else []
        if printed.facts is None:
            found.append(printed.unmeasured("bridges", SEVERITY))
        elif spans:
            found.append(_judged(case, printed, max(spans, key=lambda h: h.span)))
    return tuple(found)


def _judged(case: Case, printed: Printed, longest: Hanging) -> Finding:
    most, guides = case.job.wishes.printer.bridge, rule("bridge")
    if most > guides.high:
        return not_judged("bridges", printed.name,
                          tell("printer.bridge = {most:g} mm is beyond what any guide was written for ({guides_low:g} to "
                               "{guides_high:g} mm): prove it on your printer.", most=most, guides_low=guides.low,
                               guides_high=guides.high), source=str(guides.source), formula=FORMULA,
                          missing=("printer.bridge",), severity=SEVERITY)
    span = longest.span
    doubt = "" if span <= guides.low else tell("Guides disagree from {guides_low:g} mm on (up to {guides_high:g} mm): print a "
                                               "bridge of {span:.1f} mm first.", guides_low=guides.low, guides_high=guides.high,
                                               span=span)
    return judged("bridges", printed.name, span, "mm", Limit(high=most), source=str(guides.source), formula=FORMULA,
                  advice=tell("The longest bridge spans {span:.1f} mm at {place}.", span=span, place=place_in_words(longest.at)),
                  severity=SEVERITY, from_memory=guides.from_memory, doubt=doubt, insensitive=translated(MEASURED),
                  inputs=(Input(tell("longest bridge"), most, "mm", "printer.bridge"),),
                  suggestions=(Suggestion("printer.bridge", most, math.ceil(span * _TENTHS) / _TENTHS,
                                          tell("only once a test bridge of that length came out well; else put supports there")),)
                  if span > most else ())
