"""Making it at home: how many kinds of fasteners and tools, nothing special to buy, straight cuts only."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import COUNTED, judged
from afterpart.model.assembly import Item
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.outline import Line
from afterpart.model.piece import Add, Prism
from afterpart.standards.bolt_lengths import BOLT_LENGTHS, bolt_length
from afterpart.standards.fasteners import HEADS, SLEEVES, WASHERS
from afterpart.standards.fitting import drive
from afterpart.standards.making import MAKING_SOURCE, MOST_FASTENERS, MOST_TOOLS
from afterpart.words import entry, tell, translated

FORMULA = entry("count")
SEVERITY = 2

FASTENERS = ("bolt", "screw", "washer", "sleeve", "insert")


def making_it(case: Case) -> tuple[Finding, ...]:
    """Counts that decide whether an evening is enough: kinds of fasteners, tools, special hardware, curved cuts.

        kinds of fasteners <= MOST_FASTENERS, tools <= MOST_TOOLS (judgement, from memory)
        hardware that no standard or table knows <= 0;  curved sides of the filter element <= 0

    Printer and slicer aside.  Source: standards.making; heads, washers, sleeves and lengths of standards.fasteners.
    """
    items = [item for item in case.build.assembly.items if item.kind in FASTENERS]
    return (_fasteners(items) + _special(case, items) if items else ()) + _tools(case, items) + _cuts(case)


def _fasteners(items: list[Item]) -> tuple[Finding, ...]:
    names = tuple(dict.fromkeys(item.name for item in items))
    counts = {name: sum(len(item.at) for item in items if item.name == name) for name in names}
    return (judged("making_it", tell("kinds of fasteners"), float(len(names)), entry("kinds"), Limit(high=MOST_FASTENERS.high),
                   source=str(MAKING_SOURCE), formula=FORMULA, from_memory=True, severity=SEVERITY,
                   insensitive=translated(COUNTED),
                   advice=tell("To buy: {things}.", things="; ".join(f"{counts[name]} x {name}" for name in names)),
                   inputs=(Input(tell("kinds"), float(len(names)), "kinds", tell("the assembly as built")),)),)


def _special(case: Case, items: list[Item]) -> tuple[Finding, ...]:
    special = [item for item in items if not _is_sold(case, item)]
    lengths = [item for item in special if item.kind == "bolt" and item.length not in BOLT_LENGTHS]
    better = tuple(Suggestion("bolts.length", item.length, sold, tell("a length that is sold")) for item in lengths[:1]
                   if (sold := bolt_length(item.length)) is not None)
    told = (tell("Not off the shelf: {special}.", special="; ".join(i.name for i in special)) if special
            else tell("Everything is generic hardware."))
    return (judged("making_it", tell("special hardware"), float(len(special)), entry("kinds"), Limit(high=0.0),
                   source=tell("Sizes of the tables in standards.fasteners and standards.bolt_lengths"), formula=FORMULA,
                   advice=told, severity=SEVERITY, insensitive=translated(COUNTED),
                   inputs=(Input(tell("kinds"), float(len(items)), "kinds", tell("the assembly as built")),),
                   suggestions=better),)


def _is_sold(case: Case, item: Item) -> bool:
    """Bolts and washers by their standard and length, sleeves by the usual sizes; screws and inserts are taken as the maker's."""
    wish = case.job.wishes.bolts
    if item.kind == "bolt" and wish is not None:
        return item.length in BOLT_LENGTHS and any((h.standard, h.thread) == (wish.head, wish.thread) for h in HEADS)
    if item.kind == "washer" and wish is not None:
        return any((w.standard, w.thread) == (wish.washer, wish.thread) for w in WASHERS)
    if item.kind == "sleeve":
        return any((s.inside, s.outside) == (item.diameter, item.head_diameter) for s in SLEEVES)
    return True


def _tools(case: Case, items: list[Item]) -> tuple[Finding, ...]:
    tools = tuple(dict.fromkeys((*(tool for item in items if (tool := _tool(case, item))), *_cutting_tools(case))))
    if not tools:
        return ()
    return (judged("making_it", tell("tools"), float(len(tools)), entry("tools"), Limit(high=MOST_TOOLS.high),
                   source=str(MAKING_SOURCE), formula=FORMULA, advice=tell("Tools: {tools}.", tools=", ".join(tools)),
                   from_memory=True, severity=SEVERITY, insensitive=translated(COUNTED),
                   inputs=(Input(tell("tools"), float(len(tools)), "tools", tell("the assembly as built")),)),)


def _tool(case: Case, item: Item) -> str:
    """What it is driven with; "" for what needs none."""
    wish = case.job.wishes.bolts
    if item.kind == "bolt" and wish is not None:
        try:
            found = drive(wish.head, wish.thread)
        except KeyError:
            return tell("driver for {item}", item=item.name)
        return tell("{tool} {tool_size:g} mm", tool=translated(found.tool), tool_size=found.tool_size)
    return {"screw": tell("driver for {item}", item=item.name), "insert": tell("soldering iron"),
            "sleeve": tell("hacksaw and file")}.get(item.kind, "")


def _cutting_tools(case: Case) -> tuple[str, ...]:
    return (tell("long sharp blade"),) if any(piece.kind == "filter_element" for piece in case.build.pieces) else ()


def _cuts(case: Case) -> tuple[Finding, ...]:
    sides = [segment for piece in case.build.pieces if piece.kind == "filter_element" for step in piece.steps
             if isinstance(step, Add) for solid in step.prisms if isinstance(solid, Prism) for segment in solid.outer]
    if not sides:
        return ()
    curved = [segment for segment in sides if not isinstance(segment, Line)]
    return (judged("making_it", tell("curved cuts of the filter element"), float(len(curved)), entry("cuts"), Limit(high=0.0),
                   source=tell("Geometry: sides of the element as built"), formula=FORMULA, severity=SEVERITY,
                   insensitive=translated(COUNTED),
                   advice=tell("The element has {count} sides, {count_2} of them curved; a blade along a straight guide cuts the "
                               "rest.", count=len(sides), count_2=len(curved)),
                   inputs=(Input(tell("sides"), float(len(sides)), "sides", tell("the element as built")),)),)
