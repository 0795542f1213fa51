"""What can break off and fall in: bars, lips, pins and hooks of the printed pieces."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from shapely import Polygon
from shapely.geometry import Point as Dot

from afterpart.checks.judge import COUNTED, MEASURED, judged, not_judged, strongest
from afterpart.checks.machine_side import (
    has_clean_side,
    missing_port,
    port_input,
    port_width,
    severity_inside,
    spoken_piece,
)
from afterpart.checks.passages import sealed_area
from afterpart.formulas.loose_parts import CAPTIVE_SOURCE, LEAST_HOLDS, SINGLE_FAILURE_SOURCE
from afterpart.model.case import Case
from afterpart.model.feature import Bar, Latch, Lip
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.outline import Circle, Point
from afterpart.model.piece import Add, Cone, Piece
from afterpart.words import counted, entry, paragraph, tell, together, translated

_BAR_BREAKS, _LIP_BREAKS, _HOOK_BREAKS, _PIN_BREAKS = 2, 1, 1, 2
"""Cracks until it is loose: a bar hangs by two ends; a broken pin still sits in the foam it was pushed through."""


@dataclass(frozen=True)
class _Fragment:
    """width: its least; breaks: until it is loose; at: a place of it in the drawing; key: of the job that changes it."""

    subject: str
    width: float
    breaks: int
    at: Point
    picture: str
    change: tuple[Suggestion, ...] = ()


def fragments(case: Case) -> tuple[Finding, ...]:
    """Does one crack free a part of a print that fits into the moving parts?

        n_breaks >= 2   or   w_port < w_fragment      n_breaks    cracks that must run through before it is loose
                                                      w_fragment  least width of the fragment [mm]
                                                      w_port      the way into the moving parts [mm]
    A fragment outside the seal is on the maker's side and passes.  How strong a bar or a hook is, other checks say.
    Holds for: parts that close off a room of a machine that may swallow it.  Source: SINGLE_FAILURE_SOURCE (attention at
    best)."""
    if not has_clean_side(case) or case.job.wishes.machine.swallows is False:
        return ()
    inside = sealed_area(case.build)
    return tuple(_finding(case, fragment, inside) for fragment in _fragments(case))


def _fragments(case: Case) -> list[_Fragment]:
    pieces = {piece.file_stem: piece for piece in case.build.pieces}
    found = []
    for place in case.build.assembly.places:
        piece = pieces.get(place.piece)
        if piece is not None:
            mirror = -1.0 if place.flipped else 1.0
            found += [_Fragment(f.subject, f.width, f.breaks, (f.at[0], mirror * f.at[1]), f.picture, f.change)
                      for f in _of_piece(case, piece)]
    return found


def _of_piece(case: Case, piece: Piece) -> list[_Fragment]:
    """Bars together, each lip and the hooks together, pins of a holder of pins."""
    picture, wish = f"{piece.file_stem}.png", case.job.wishes.holder
    frame = ((Suggestion("holder.kind", wish.kind, "frame", tell("screws from outside hold without hooks or pins")),) if wish
             else ())
    found = []
    bars = [f for f in piece.features if isinstance(f, Bar)]
    if bars:
        slim = min(bars, key=lambda bar: min(bar.width, bar.top - bar.bottom))
        found.append(_Fragment(tell("{count} bars of {spoken_piece}", count=len(bars), spoken_piece=spoken_piece(piece)),
                               min(slim.width, slim.top - slim.bottom), _BAR_BREAKS, slim.start, picture))
    for lip in (f for f in piece.features if isinstance(f, Lip)):
        found.append(_Fragment(tell("lip {of} of {spoken_piece}", of=lip.of, spoken_piece=spoken_piece(piece)),
                               min(lip.thickness, lip.top - lip.bottom), _LIP_BREAKS, _on(lip), picture))
    hooks = [f for f in piece.features if isinstance(f, Latch)]
    if hooks:
        slim_hook = min(hooks, key=lambda hook: hook.thickness)
        found.append(_Fragment(tell("{count} hooks of {spoken_piece}", count=len(hooks), spoken_piece=spoken_piece(piece)),
                               slim_hook.thickness, _HOOK_BREAKS, slim_hook.root, picture, frame))
    pins = [solid for step in piece.steps if isinstance(step, Add) for solid in step.prisms
            if isinstance(solid, Cone) and 0 < solid.top_radius < solid.bottom_radius]
    if pins and wish is not None and wish.kind == "pins":
        found.append(_Fragment(tell("{count} pins of {spoken_piece}", count=len(pins), spoken_piece=spoken_piece(piece)),
                               2 * min(pin.top_radius for pin in pins), _PIN_BREAKS, pins[0].center, picture, frame))
    return found


def _on(lip: Lip) -> Point:
    first = lip.outer[0]
    return (first.center[0] + first.radius, first.center[1]) if isinstance(first, Circle) else first.start


def _finding(case: Case, fragment: _Fragment, inside: Polygon | None) -> Finding:
    port, missing, severity = port_width(case), missing_port(case), severity_inside(case)
    width = Input(tell("least width of the fragment"), fragment.width, "mm", tell("features of the built piece"))
    if inside is not None and not inside.contains(Dot(fragment.at)):
        return judged("fragments", fragment.subject, 0.0, "mm", Limit(high=fragment.width), source=str(CAPTIVE_SOURCE),
                      formula=entry("w_way < w_fragment"),
                      advice=tell("It lies outside the seal: what breaks off stays outside."), inputs=(width,), severity=severity,
                      picture=fragment.picture, insensitive=translated(MEASURED))
    if missing:
        return not_judged("fragments", fragment.subject,
                          tell("It stands on the clean side; whether a fragment gets into moving parts is not told: tell "
                               "{missing}.", missing=together(missing)), source=str(SINGLE_FAILURE_SOURCE),
                          missing=missing, inputs=(width,), severity=severity)
    if port is not None and port < fragment.width:
        return judged("fragments", fragment.subject, port, "mm", Limit(high=fragment.width), source=str(CAPTIVE_SOURCE),
                      formula=entry("w_port < w_fragment"),
                      advice=tell("Even its thinnest part is wider than the way into the moving parts."),
                      inputs=(width, *port_input(case)), severity=severity, picture=fragment.picture,
                      sensitivity=strongest(lambda port: port, {"port": port}))
    return judged("fragments", fragment.subject, float(fragment.breaks), entry("breaks"), Limit(low=float(LEAST_HOLDS)),
                  source=str(SINGLE_FAILURE_SOURCE), from_memory=SINGLE_FAILURE_SOURCE.from_memory,
                  formula=entry("n_breaks >= 2"),
                  advice=paragraph(counted("It is loose after 1 crack, and a fragment of {width:.1f} mm fits into the machine.",
                                           "It is loose after {count} cracks, and a fragment of {width:.1f} mm fits into the "
                                           "machine.", count=fragment.breaks, width=fragment.width),
                                   tell("Bend each by hand before fitting, look for white or cracked roots at every service, or "
                                        "put a metal gauze over the way in.")), inputs=(width, *port_input(case)),
                  suggestions=fragment.change, severity=severity, picture=fragment.picture, insensitive=translated(COUNTED))
