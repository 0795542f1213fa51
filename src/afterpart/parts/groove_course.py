"""A groove's size laid along its path, with everything that speaks against it.

Words: a *course* is the groove in its place: centre line, walls, corners, lands; a *complaint* says in words, with its place, why
it cannot stay there.  Along a recovered channel a round cord's groove keeps to that channel; on a path of our own, and for a
printed ring, every corner gets the radius the seal needs.
Conventions: drawing frame, mm.  Limits: complaints are gathered, not raised, so that one message can name them all.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.model.feature import Chain, Hole
from afterpart.model.outline import Outline
from afterpart.model.wishes import SealWish, Wishes
from afterpart.parts.groove_land import Lands, lands, obstacles_of
from afterpart.parts.groove_path import Bend, bends, centre_line, departure, eased, place, walls_of
from afterpart.parts.groove_size import LEAST_FLOOR, Size
from afterpart.words import tell

GIVES_WAY = 0.3
"""How far a cord's groove may leave the recovered channel to ease a corner, mm: about what a moulded channel and its photograph
leave open (judgement)."""

_SAME = 1e-6


@dataclass(frozen=True)
class Ground:
    """What a groove is laid in.  depth: of the recovered channel by depth rod, None where not told."""

    outline: Outline
    wishes: Wishes
    seal: SealWish
    bolts: tuple[Hole, ...]
    thickness: float
    depth: float | None


@dataclass(frozen=True)
class Course:
    """A size in its place.  bends: the tightest first; moved: how far easing the corners shifted the centre line."""

    size: Size
    centre: Chain
    outer: Chain
    inner: Chain
    bends: tuple[Bend, ...]
    lands: Lands
    moved: float
    complaints: tuple[str, ...]


def lay(ground: Ground, size: Size) -> Course:
    """The size along the wanted path.  JobError: the path leaves no groove at all."""
    given = centre_line(ground.outline, ground.seal, size.width, size.corner, ground.bolts).centre
    centre, complaints = _with_fitting_corners(ground, size, given)
    outer, inner = walls_of(centre, size.width, "seal.path")
    beside = lands(outer, inner, obstacles_of(ground.outline, ground.wishes, ground.bolts))
    complaints += [tell("it {hit}", hit=hit) for hit in beside.hits]
    complaints += [tell("land narrow: {width:.2f} mm beside {beside} at {place}, {land:g} mm needed", width=land.width,
                        beside=land.beside, place=place(land.at), land=size.land) for land in (beside.outside, beside.inside)
                   if land is not None and land.width < size.land - _SAME]
    if size.depth + LEAST_FLOOR > ground.thickness + _SAME:
        complaints.append(tell("floor through: cover.thickness is {thickness:g} mm, a groove {depth:.2f} mm deep over a floor of "
                               "{least_floor:g} mm needs {depth_2:.2f} mm", thickness=ground.thickness, depth=size.depth,
                               least_floor=LEAST_FLOOR, depth_2=size.depth + LEAST_FLOOR))
    return Course(size, centre, outer, inner, bends(centre, size.width), beside, departure(centre, given), tuple(complaints))


def _with_fitting_corners(ground: Ground, size: Size, given: Chain) -> tuple[Chain, list[str]]:
    """The centre line with the corners the seal needs, or as it came with the complaint that they cannot be had."""
    tight = tuple(bend for bend in bends(given, size.width) if bend.radius < size.corner - _SAME)
    if not tight:
        return given, []
    # A hair more than asked for, so that no rounding brings a corner below it again.
    radius = size.corner + size.width / 2 + 2 * _SAME
    if not size.cord or ground.seal.path != "channel":
        return eased(given, radius, "seal.cord" if size.cord else "seal.path"), []
    try:
        centre = eased(given, radius, "seal.cord")
    except JobError:
        return given, [_tight_in_words(tight, size)]
    return (given, [_tight_in_words(tight, size)]) if departure(centre, given) > GIVES_WAY else (centre, [])


def _tight_in_words(tight: tuple[Bend, ...], size: Size) -> str:
    return tell("corners too tight: {count} of the inner wall, the tightest is the corner at {place} with radius {radius:.2f} mm "
                "where a cord of {cord:g} mm needs {corner:.2f} mm (three diameters)", count=len(tight), place=place(tight[0].at),
                radius=tight[0].radius, cord=size.cord, corner=size.corner)
