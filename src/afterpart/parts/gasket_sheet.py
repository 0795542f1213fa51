"""The plan of a loose flat seal: a loop along a path with ears round the bolts, or the whole face.

Words: the *loop* is a strip of constant width; an *ear* is what is added round a bolt's hole; a *rib* runs along the seal on its
upper face, on the clean side of every bolt.
Conventions: drawing frame, closed chains, mm.
Limits: one sheet in one piece, no wider than the part itself.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.errors import JobError
from afterpart.geometry.chain import contains, counter_clockwise, gap
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import Region, combine
from afterpart.model.edges import TWO_WALLS
from afterpart.model.feature import Chain, Hole
from afterpart.model.outline import Circle, Outline
from afterpart.model.wishes import SealWish, Wishes
from afterpart.parts.groove_land import Obstacle, lands, obstacles_of
from afterpart.parts.groove_path import channel_path, eased, least_inset, opening_of, place, rim_of
from afterpart.words import tell

BOLT_PLAY = 0.5
"""How much larger than the cover's own holes the holes of a loose seal are, mm in diameter: it must not creep into the thread."""

EAR = 3.0
"""Width of the ear round a bolt's hole, mm."""

EAR_FILLET = 3.0
"""Radius of the hollow corners between an ear and the loop, mm."""

LEAST_WEB = 1.2
"""Narrowest strip of a flat seal beside a hole, mm: three printed lines (judgement)."""

RIB_LAND = 0.8
"""Between a rib and the nearest edge, mm: two printed lines."""

RIB_CORNER = 1.0
"""Least radius of a rib's inner edge, mm."""


@dataclass(frozen=True)
class Sheet:
    """region: of the sheet, holes cut; centre: of the loop, () for a whole face; width: of the loop, 0 for a whole face."""

    region: Region
    centre: Chain
    width: float


def lay_sheet(outline: Outline, wishes: Wishes, seal: SealWish, bolts: tuple[Hole, ...],
              passages: tuple[Chain, ...] = ()) -> Sheet:
    """The plan of the flat seal that [seal] asks for.

    A recovered channel or an opening as path gives a loop; the outer edge a loop where seal.width is told, else the whole face.
    JobError, naming key and place: the path does not exist, the loop falls apart, or a hole leaves too narrow a web.
    """
    rim = counter_clockwise(rim_of(outline).segments)
    holes = tuple((Circle(hole.id, hole.center, (hole.diameter + BOLT_PLAY) / 2),) for hole in bolts)
    cut = (*(thing.chain for thing in obstacles_of(outline, wishes, bolts) if _is_cut(thing, bolts)), *passages, *holes)
    path = _path_taken(outline, seal)
    if path == "outline" and seal.width is None:
        region = _one(combine((rim, *cut), lambda inside: inside[:, 0] & ~inside[:, 1:].any(axis=1)), "seal.kind")
        centre, width = (), 0.0
    else:
        centre, width, outer, inner = _loop(outline, seal, path, rim)
        region = _eared(rim, outer, inner, bolts, cut)
    _require_webs(region)
    return Sheet(region, centre, width)


def rib_line(sheet: Sheet, outline: Outline, seal: SealWish, bolts: tuple[Hole, ...], width: float) -> Chain:
    """Centre line of a rib on the sheet: along the loop's middle, or inside every bolt.

    JobError with the place: the rib would leave the sheet or run into a hole.
    """
    if sheet.centre and _path_taken(outline, seal) != "outline":
        line = sheet.centre
    else:
        rim = counter_clockwise(rim_of(outline).segments)
        clear = tuple(Hole(b.id, b.center, b.diameter + BOLT_PLAY, b.bottom, b.top, b.purpose) for b in bolts)
        inset = max(least_inset(rim, width, clear, RIB_LAND), sheet.width / 2)
        found = offset_chain(rim, -inset)
        if len(found) != 1:
            raise JobError(tell('seal.section: a rib {inset:.2f} mm inside the outer edge {found}; set seal.section = "flat"',
                                inset=inset, found="vanishes" if not found else tell("falls apart")))
        line = found[0]
    line = eased(line, RIB_CORNER + width / 2, "seal.section")
    _require_room(line, sheet, width)
    return line


def _path_taken(outline: Outline, seal: SealWish) -> str:
    """A flat seal needs no channel: without one it follows the outer edge."""
    has_channel = any(loop.wall in TWO_WALLS for loop in outline.design)
    return "outline" if seal.path == "channel" and not has_channel else seal.path


def _is_cut(thing: Obstacle, bolts: tuple[Hole, ...]) -> bool:
    """Openings of the part; the bolts' holes come in a size of their own."""
    return not thing.is_rim and not any(thing.chain == (Circle(b.id, b.center, b.diameter / 2),) for b in bolts)


def _loop(outline: Outline, seal: SealWish, path: str, rim: Chain) -> tuple[Chain, float, Chain, Chain]:
    """Centre line, width, outer and inner edge."""
    if path == "channel":
        channel = channel_path(outline)
        width = seal.width if seal.width is not None else channel.width or EAR
        line = channel.centre
    elif path == "outline":
        width = seal.width if seal.width is not None else 2 * EAR
        return (_only(rim, -width / 2, width), width, rim, _only(rim, -width, width))
    else:
        width = seal.width if seal.width is not None else 2 * EAR
        opening = counter_clockwise(opening_of(outline, path).segments)
        return (_only(opening, width / 2, width), width, _only(opening, width, width), opening)
    return line, width, _only(line, width / 2, width), _only(line, -width / 2, width)


def _only(chain: Chain, distance: float, width: float) -> Chain:
    found = offset_chain(chain, distance)
    if len(found) != 1:
        raise JobError(tell("seal.width: a flat seal {width:.2f} mm wide {found} along seal.path; set a smaller seal.width",
                            width=width, found='vanishes' if not found else tell('closes on itself')))
    return counter_clockwise(found[0])


def _eared(rim: Chain, outer: Chain, inner: Chain, bolts: tuple[Hole, ...], cut: tuple[Chain, ...]) -> Region:
    """The loop with an ear at every bolt that the ear reaches it from, holes cut, kept within the rim."""
    discs = [(Circle("", bolt.center, (bolt.diameter + BOLT_PLAY) / 2 + EAR),) for bolt in bolts]
    ears = tuple(disc for disc in discs if any(gap(disc, edge).distance == 0 for edge in (outer, inner)) or
                 (contains(outer, disc) and not contains(inner, disc)))
    whole = combine((rim, outer, *ears), lambda inside: inside[:, 0] & inside[:, 1:].any(axis=1))
    body = _filleted(_one(whole, "seal.width").outer)
    count = len(ears)

    def is_sheet(inside: np.ndarray) -> np.ndarray:
        kept = ~inside[:, 2] | inside[:, 3:3 + count].any(axis=1)
        return inside[:, 0] & inside[:, 1] & kept & ~inside[:, 3 + count:].any(axis=1)

    return _one(combine((rim, body, inner, *ears, *cut), is_sheet), "seal.width")


def _filleted(body: Chain) -> Chain:
    """Hollow corners between ears and loop rounded, since a sharp one starts a tear; as it is where that would close a gap."""
    grown = offset_chain(body, EAR_FILLET)
    shrunk = offset_chain(grown[0], -EAR_FILLET) if len(grown) == 1 else ()
    return shrunk[0] if len(shrunk) == 1 else body


def _one(regions: tuple[Region, ...], key: str) -> Region:
    if len(regions) != 1:
        what = tell("nothing is left of the flat seal") if not regions else tell("the flat seal falls apart into {count} pieces",
                                                                                 count=len(regions))
        raise JobError(tell("{key}: {what}: holes cut through it; set a larger seal.width or another seal.path", key=key,
                            what=what))
    return regions[0]


def _require_webs(region: Region) -> None:
    """JobError: two edges of the sheet come nearer than LEAST_WEB."""
    edges = (region.outer, *region.openings)
    for k, edge in enumerate(edges):
        for other in edges[:k]:
            apart = gap(edge, other)
            if apart.distance < LEAST_WEB:
                raise JobError(tell("seal.width: the flat seal is only {distance:.2f} mm wide at {place}, {least_web:g} mm are "
                                    "needed to hold together; set a larger seal.width or drop that hole", distance=apart.distance,
                                    place=place(apart.on_a), least_web=LEAST_WEB))


def _require_room(line: Chain, sheet: Sheet, width: float) -> None:
    outer, inner = _only(line, width / 2, width), _only(line, -width / 2, width)
    things = (Obstacle(tell("the sheet's edge"), sheet.region.outer, True),
              *(Obstacle(tell("an opening of the sheet"), counter_clockwise(o)) for o in sheet.region.openings))
    beside = lands(outer, inner, things)
    narrow = [land for land in (beside.outside, beside.inside) if land is not None and land.width < RIB_LAND - 1e-6]
    if beside.hits or narrow:
        where = (beside.hits[0] if beside.hits else tell("comes within {width:.2f} mm of {beside} at {place}",
                                                         width=narrow[0].width, beside=narrow[0].beside,
                                                         place=place(narrow[0].at)))
        raise JobError(tell('seal.section = "beaded": the rib {where}, {rib_land:g} mm of sheet must be left beside it; set a '
                            'larger seal.width or seal.section = "flat"', where=where, rib_land=RIB_LAND))
