"""What can fall in: every bought item and every piece that sits on another, followed out of its place and into the machine."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.checks.judge import COUNTED, COVERAGE, MEASURED, judged, not_judged, strongest
from afterpart.checks.machine_side import (
    has_clean_side,
    missing_port,
    port_input,
    port_width,
    severity_inside,
    spoken_piece,
)
from afterpart.checks.passages import BOSS_SCREWS, SOFT_ITEMS, SOFT_PIECES, boss_screws, smallest_width
from afterpart.formulas.loose_parts import CAPTIVE_SOURCE, LEAST_HOLDS, SINGLE_FAILURE_SOURCE
from afterpart.model.assembly import Item, Place
from afterpart.model.case import AIR, BACK, BARS, CLEAN_SIDE, MACHINE_FACE, ON, Case, Passage
from afterpart.model.feature import Latch, PrintedSeal
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.wishes import ScrewWish
from afterpart.words import counted, entry, paragraph, symbol_words, tell, together, translated

PICTURE = "exploded.png"
"""Where nothing was cut, of a build without solids."""

_FORMULA = entry("w_way < w_thing")


@dataclass(frozen=True)
class _Thing:
    """A loose thing.  width: its smallest; is_soft: it squeezes through anything; holds: what keeps it by itself, one by one;
    stem: of a piece's file, empty for an item; is_forming: a screw that forms its thread."""

    name: str
    subject: str
    width: float
    is_soft: bool
    holds: int
    stem: str = ""
    is_forming: bool = False


def loose_items(case: Case) -> tuple[Finding, ...]:
    """Can an item come free, get behind the cover and into the moving parts?  One finding for each row of the parts list.

        w_way < w_thing    w_way    narrowest opening in its way [mm]: the hole it sits in, the opening for air, the port
                           w_thing  least width of the thing in any posture [mm]

    A thing is kept where any one of these holds: it is blocked before it comes free; it comes free outside and no way leads in;
    an opening in its way is narrower than itself.  A piece kept by several screws is kept while two of them are (attention at
    best).  Foam: the largest ball between its bars against holder.free_span.  Straight ways only; see passages.py.
    Holds for: parts that close off a room of the machine.  Source: CAPTIVE_SOURCE, SINGLE_FAILURE_SOURCE."""
    if not has_clean_side(case):
        return ()
    return tuple(_finding(case, thing) for thing in _things(case)) + _between_bars(case)


def _things(case: Case) -> list[_Thing]:
    """Items by their name, and the pieces that go in from the machine's side, in order of assembly."""
    pieces = {piece.file_stem: piece for piece in case.build.pieces}
    boxes = {fact.piece: min(h - low for h, low in zip(fact.high, fact.low, strict=True)) for fact in case.facts}
    found: dict[str, _Thing] = {}
    things: tuple[Item | Place, ...] = (*case.build.assembly.places, *case.build.assembly.items)
    for one in sorted(things, key=lambda thing: thing.order):
        if isinstance(one, Item):
            count = sum(len(item.at) for item in case.build.assembly.items if item.name == one.name)
            subject = one.name if count == 1 else f"{count} x {one.name}"
            found[one.name] = _Thing(one.name, subject, smallest_width(one), one.kind in SOFT_ITEMS, 1,
                                     is_forming=one.kind == "screw")
        elif one.comes_from[2] > 0 and one.piece in pieces:
            piece = pieces[one.piece]
            found[one.piece] = _Thing(one.piece, spoken_piece(piece), boxes.get(one.piece, piece.thickness),
                                      piece.kind in SOFT_PIECES, _holds(case, one.piece), one.piece)
    screws = boss_screws(case.build)
    if screws:
        width = (case.job.wishes.screws or ScrewWish()).head_diameter
        found[translated(BOSS_SCREWS)] = _Thing(translated(BOSS_SCREWS), f"{len(screws)} x {translated(BOSS_SCREWS)}", width,
                                                False, 1)
    return list(found.values())


def _between_bars(case: Case) -> tuple[Finding, ...]:
    """The widest gap that the foam must span by itself, as built, against the span the job allows."""
    holder = case.job.wishes.holder
    gaps = [way for way in case.passages if way.along == AIR and way.by == BARS]
    if holder is None or not gaps:
        return ()
    widest = max(gaps, key=lambda way: way.room)
    return (judged("loose_items", tell("foam between the bars"), widest.room, "mm", Limit(high=holder.free_span),
                   source=str(CAPTIVE_SOURCE), formula=entry("largest ball between bars <= free span"),
                   advice=tell("The largest ball that passes between the bars is {room:.1f} mm; torn foam smaller than that goes "
                               "through, so look at the element at every service.", room=widest.room),
                   inputs=(Input(tell("widest gap"), widest.room, "mm", tell("bars of the built piece")),
                           Input(tell("free span"), holder.free_span, "mm", "holder.free_span")), severity=severity_inside(case),
                   picture=_picture(case, widest.item), insensitive=translated(MEASURED)),)


def _holds(case: Case, stem: str) -> int:
    screws = sum(len(item.at) for item in case.build.assembly.items if stem in item.through)
    hooks = sum(isinstance(f, Latch) for piece in case.build.pieces if piece.file_stem == stem for f in piece.features)
    return screws + hooks


def _finding(case: Case, thing: _Thing) -> Finding:
    ways = [passage for passage in case.passages if passage.item == thing.name]
    if not any(way.along == BACK for way in ways):
        return not_judged("loose_items", thing.subject,
                          tell("Its way out was not followed on the solids; build the pieces and check again."),
                          source=str(CAPTIVE_SOURCE), formula=_FORMULA, severity=severity_inside(case))
    into = _ways_in(ways)
    if not any(way.is_open for way in into):
        return _kept(case, thing, ways, into)
    return _into_the_port(case, thing, [way for way in into if way.is_open])


def _picture(case: Case, name: str) -> str:
    """The picture that shows the thing's ways, where they were looked at."""
    return next((view.picture for view in case.views if view.item == name), PICTURE)


def _ways_in(ways: list[Passage]) -> list[Passage]:
    """The ways that end on the clean side: on through its hole; back, if that leads there; with the air, once it is free."""
    is_free = any(way.along == BACK and way.is_open for way in ways)
    return [way for way in ways if way.ends == CLEAN_SIDE and (way.along != AIR or is_free)]


def _kept(case: Case, thing: _Thing, ways: list[Passage], into: list[Passage]) -> Finding:
    """No way in is open: the one with the least to spare is told."""
    way = max(into or ways, key=lambda one: one.room / one.size)
    is_printed = way.along == ON and way.room > 0
    u = case.job.wishes.fit.printer_u if is_printed else None
    word = tell("free way") if way.along == BACK else tell("width of the way")
    seen = tell("the joint is bolted shut") if way.by == MACHINE_FACE else tell("measured on the pieces: {through}",
                                                                                through=way.through)
    inputs = (Input(word, way.room, "mm", seen, u or 0.0),
              Input(tell("way it needs to come free") if way.along == BACK else tell("width of the thing"), way.size, "mm",
                    tell("parts list")))
    return judged("loose_items", thing.subject, way.room, "mm", Limit(high=way.size), source=str(CAPTIVE_SOURCE),
                  formula=_FORMULA, advice=_told(thing, ways, way), inputs=inputs, u=u,
                  doubt=_flat(case, thing) or _hooked(case, ways), severity=severity_inside(case),
                  sensitivity=strongest(lambda width: width, {"width": way.room}), insensitive=translated(MEASURED),
                  picture=_picture(case, thing.name))


def _flat(case: Case, thing: _Thing) -> str:
    """Why a flat seal never passes plainly: no wall stands between it and the clean side."""
    lies_flat = any(isinstance(f, PrintedSeal) and f.channel_depth <= 0 for piece in case.build.pieces
                    if piece.file_stem == thing.stem for f in piece.features)
    return (tell("It lies in no groove: only the bolts' load keeps a torn edge from moving to the clean side.") if lies_flat
            else "")


def _hooked(case: Case, ways: list[Passage]) -> str:
    """Why what only hooks keep never passes plainly: they are in its way as drawn, and bend aside when it pulls."""
    by = {way.by for way in ways if way.along == BACK and not way.is_open}
    hooks = sum(isinstance(f, Latch) for piece in case.build.pieces if piece.file_stem in by for f in piece.features)
    return (tell("What is in its way are {hooks} hooks, which bend aside when it is pulled hard or when they creep.", hooks=hooks)
            if hooks else "")


def _told(thing: _Thing, ways: list[Passage], way: Passage) -> str:
    back = next(one for one in ways if one.along == BACK)
    stopped = (tell("{through} it is stopped by {by}.", through=way.through, by=translated(way.by)) if way.by and way is not back
               else "")
    if not back.is_open:
        return paragraph(tell("It cannot back out: {by} is in its way.", by=symbol_words(back.by)), stopped)
    first = (tell("It can back out to the outside ({through}).", through=back.through) if back.ends != CLEAN_SIDE
             else tell("It can back out towards the machine ({through}).", through=back.through))
    return paragraph(first, stopped, tell("Look at it whenever the machine is serviced."))


def _into_the_port(case: Case, thing: _Thing, open_ways: list[Passage]) -> Finding:
    """It can get behind the cover: the port decides, and where that lets it through, how many holds must go first."""
    way, port = open_ways[0], port_width(case)
    missing = missing_port(case)
    how = tell("It can get behind the cover ({through}).", through=way.through)
    if missing and not (thing.is_soft and case.job.wishes.machine.swallows):
        return not_judged("loose_items", thing.subject,
                          paragraph(how, tell("Whether it then gets into moving parts is not told: tell {missing}; the thing is "
                                              "{width:.1f} mm at its narrowest.", missing=together(missing),
                                              width=thing.width)), source=str(CAPTIVE_SOURCE), formula=_FORMULA, missing=missing,
                          severity=severity_inside(case))
    if port is not None and port < thing.width and not thing.is_soft:
        return judged("loose_items", thing.subject, port, "mm", Limit(high=thing.width), source=str(CAPTIVE_SOURCE),
                      formula=_FORMULA,
                      advice=tell("It can get behind the cover ({through}), but not through the way into the moving parts.",
                                  through=way.through), inputs=port_input(case), severity=severity_inside(case),
                      sensitivity=strongest(lambda port: port, {"port": port}), picture=_picture(case, thing.name))
    return _held(case, thing, way, how)


def _held(case: Case, thing: _Thing, way: Passage, how: str) -> Finding:
    """Nothing stops it but what holds it; a screw or washer that is loose in itself has no hold to spare."""
    holds = thing.holds if thing.stem else 0
    kept = (counted("It is kept only by the one that holds it.", "It is kept only by the {count} that hold it, all of one kind.",
                    count=holds) if holds else tell("Nothing holds it by itself."))
    lies = (tell("There it could lie loose.") if case.job.wishes.machine.swallows is False
            else tell("From there it could go on into the moving parts."))
    wish = case.job.wishes.holder
    change = ((Suggestion("holder.kind", wish.kind, "frame", tell("a frame over its rim keeps the element in its seat")),)
              if thing.stem and wish is not None and wish.kind != "frame" else ())
    if way.along == ON and thing.is_forming:
        wider = way.room + COVERAGE * case.job.wishes.fit.printer_u
        change = (Suggestion("screws.head_diameter", way.size, wider, tell("a head that its hole cannot let through")),)
    inputs = (Input(tell("holds"), float(holds), "", tell("screws and hooks of the built pieces")), *port_input(case))
    return judged("loose_items", thing.subject, float(holds), entry("holds"), Limit(low=float(LEAST_HOLDS)),
                  source=str(SINGLE_FAILURE_SOURCE), formula=entry("n_holds >= 2"), from_memory=SINGLE_FAILURE_SOURCE.from_memory,
                  advice=paragraph(how, lies, kept,
                                   tell("Give it at least {least_holds} holds, look at each of them after the first hour and at "
                                        "every service, or put a metal gauze over the way into the machine.",
                                        least_holds=LEAST_HOLDS)), inputs=inputs, suggestions=change,
                  severity=severity_inside(case), picture=_picture(case, thing.name), insensitive=translated(COUNTED))
