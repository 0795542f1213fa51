"""The locating lip, and the edge of the cover that goes with its fit.

Words: a cover is fitted *flush* (its edge is the old one), *over* the mating part (its edge lies outside) or *inside* it.
A lip of the outer loop *hangs* outside the mating part when the cover is flush or goes over, and *stands* along the cover's edge
when it goes inside; a lip of an opening stands in the machine's opening.  Its clearance lies on the side that meets the
machine: the inner side of a hanging lip, the outer side of a standing one.
The old outline is taken for the mating part's: a hanging lip is laid round it, so that the cover grows by clearance and
thickness.  The lip stands on the mating face and prints upwards without supports.
Limits: how high the machine's own edge or opening is, is not known: a lip higher than it would keep the cover off its face.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.geometry.chain import counter_clockwise, gap
from afterpart.geometry.offset import offset_chain
from afterpart.model.edges import Note
from afterpart.model.feature import Chain, Groove, Hole, Lip
from afterpart.model.wishes import CoverWish, LipWish
from afterpart.parts.face_room import circle_chain, is_in, place
from afterpart.words import tell

FITS = ("flush", "over", "inside")
OVER_WALL = LipWish().thickness
"""How far an edge that goes over stands out beyond its clearance where no lip says how thick."""

TWO_LINES = 0.8
"""Thinnest lip that prints as a wall, mm."""


@dataclass(frozen=True)
class Edge:
    """The body's edge; lip: None where none is wanted; opening: the opening's chain left when a lip stands in it, by its key."""

    chain: Chain
    lip: Lip | None = None
    narrowed: tuple[str, Chain] | None = None
    notes: tuple[Note, ...] = ()


def lay_edge(outer: Chain, openings: Mapping[str, Chain], cover: CoverWish, wish: LipWish | None, edge_clearance: float,
             lip_clearance: float, role: str = "locates", ids: Mapping[str, str] | None = None) -> Edge:
    """The cover's edge for its fit, and its lip.

    outer, openings: the old loops, openings by key; ids: the key of each segment id; edge_clearance, lip_clearance: the roles'
    own, used where the job's tables give none.  JobError: a fit, size or place that cannot work, with its key.
    """
    if cover.fit not in FITS:
        raise JobError(tell("cover.fit: found {fit!r}; expected one of {fits}", fit=cover.fit, fits=", ".join(FITS)))
    outer = counter_clockwise(outer)
    told = edge_clearance if cover.clearance is None else cover.clearance
    _refuse_number("cover.clearance", told, least=0.0)
    if wish is None:
        return _plain_edge(outer, cover, told)
    _refuse_sizes(wish)
    clearance = wish.clearance if wish.clearance is not None else lip_clearance
    if wish.of == "outer":
        clearance = clearance if wish.clearance is not None or cover.clearance is None else cover.clearance
        return _lip_of_outer(outer, cover, wish, clearance, role)
    return _lip_of_opening(outer, openings, cover, wish, clearance, told, role, ids or {})


def refuse_lip(lip: Lip, holes: tuple[Hole, ...], groove: Groove | None, pocket: Chain | None) -> None:
    """JobError: the lip stands over a hole, the seal groove or the filter's pocket."""
    for hole in holes:
        ring = circle_chain(hole.center, hole.diameter)
        if _meets(lip, ring, hole.center):
            raise JobError(tell("lip.thickness: a lip {thickness:g} mm thick stands over hole {hole_id} at {place}; the land "
                                "there is narrower: make the lip thinner, or put it elsewhere (lip.of)", thickness=lip.thickness,
                                hole_id=hole.id, place=place(hole.center)))
    walls = [(tell("seal groove"), wall) for wall in ((groove.outer, groove.inner) if groove is not None else ())]
    for name, chain in (*walls, *([(tell("filter's pocket"), pocket)] if pocket is not None else [])):
        near = min((gap(side, chain) for side in (lip.outer, lip.inner)), key=lambda g: g.distance)
        if near.distance <= 0 or _lies_between(near.on_b, lip):
            raise JobError(tell("lip.thickness: a lip {thickness:g} mm thick reaches into the {name} at {place}; the land there "
                                "is narrower: make the lip thinner, or put it elsewhere (lip.of)", thickness=lip.thickness,
                                name=name, place=place(near.on_b)))


def _plain_edge(outer: Chain, cover: CoverWish, clearance: float) -> Edge:
    if cover.fit == "flush":
        return Edge(outer)
    if cover.fit == "inside":
        return Edge(_single(outer, -clearance, "cover.clearance"))
    note = Note("nothing_goes_over",
                tell("The cover goes over, but no [lip] hangs from it: its edge stands out by "
                     '{clearance:g} mm and holds nothing. Add [lip] with of = "outer".', clearance=clearance + OVER_WALL))
    return Edge(_single(outer, clearance + OVER_WALL, "cover.clearance"), notes=(note,))


def _lip_of_outer(outer: Chain, cover: CoverWish, wish: LipWish, clearance: float, role: str) -> Edge:
    z = cover.thickness
    if cover.fit == "inside":
        edge, inner = _single(outer, -clearance, "lip.clearance"), _single(outer, -clearance - wish.thickness, "lip.thickness")
        return Edge(edge, Lip("outer", edge, inner, z, z + wish.height, wish.thickness, clearance, role), notes=_thin(wish))
    inner, edge = _single(outer, clearance, "lip.clearance"), _single(outer, clearance + wish.thickness, "lip.thickness")
    note = Note("edge_grows",
                tell("The lip hangs outside the mating part, so the cover's edge lies {clearance:g} mm outside the old one.",
                     clearance=clearance + wish.thickness))
    return Edge(edge, Lip("outer", edge, inner, z, z + wish.height, wish.thickness, clearance, role), notes=(note, *_thin(wish)))


def _lip_of_opening(outer: Chain, openings: Mapping[str, Chain], cover: CoverWish, wish: LipWish, clearance: float,
                    edge_clearance: float, role: str, ids: Mapping[str, str]) -> Edge:
    key = ids.get(wish.of, wish.of)
    if key not in openings:
        raise JobError(tell("lip.of: found {of!r}; the cover's openings are {openings}: name one of these, or \"outer\"",
                            of=wish.of, openings=", ".join(openings) or "none"))
    base = _plain_edge(outer, cover, edge_clearance)
    opening, z = counter_clockwise(openings[key]), cover.thickness
    wall = _single(opening, -clearance, "lip.clearance")
    inner = _single(opening, -clearance - wish.thickness, "lip.thickness")
    note = Note("opening_narrowed",
                tell("The lip stands in the machine's opening {key}, so the cover's own opening is {clearance:g} mm narrower all "
                     "round.", key=key, clearance=clearance + wish.thickness))
    return Edge(base.chain, Lip(key, wall, inner, z, z + wish.height, wish.thickness, clearance, role), (key, inner),
                (*base.notes, note, *_thin(wish)))


def _single(chain: Chain, distance: float, key: str) -> Chain:
    """The one parallel curve.  JobError: it vanishes or falls apart."""
    found = offset_chain(chain, distance)
    if len(found) != 1:
        raise JobError(tell("{key}: {distance:g} mm {distance_2} the loop of {chain_id} {found}: there is no room for it; make "
                            "clearance and thickness smaller", key=key, distance=abs(distance),
                            distance_2="inside" if distance < 0 else "outside", chain_id=chain[0].id or tell("the edge"),
                            found=tell("nothing is left") if not found else tell("lie {count} separate loops", count=len(found))))
    return found[0]


def _refuse_sizes(wish: LipWish) -> None:
    _refuse_number("lip.height", wish.height)
    _refuse_number("lip.thickness", wish.thickness)
    if wish.clearance is not None:
        _refuse_number("lip.clearance", wish.clearance, least=0.0)


def _refuse_number(key: str, value: float, least: float | None = None) -> None:
    if not math.isfinite(value) or (value <= 0 if least is None else value < least):
        raise JobError(tell("{key}: found {value:g} mm; expected {least}", key=key, value=value,
                            least=tell("more than 0") if least is None else tell("{least:g} or more", least=least)))


def _thin(wish: LipWish) -> tuple[Note, ...]:
    if wish.thickness >= TWO_LINES:
        return ()
    return (Note("thin_lip",
                 tell("A lip {thickness:g} mm thick is less than two printed lines ({two_lines:g} mm): it may break off.",
                      thickness=wish.thickness, two_lines=TWO_LINES)),)


def _meets(lip: Lip, ring: Chain, center: tuple[float, float]) -> bool:
    return min(gap(ring, lip.outer).distance, gap(ring, lip.inner).distance) <= 0 or _lies_between(center, lip)


def _lies_between(point: tuple[float, float], lip: Lip) -> bool:
    return is_in(point, lip.outer) and not is_in(point, lip.inner)
