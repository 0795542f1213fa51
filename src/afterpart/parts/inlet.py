"""The way of the air through the cover: which opening, and its rounded entry on the outside.

Words: a *bellmouth* of radius R is the entry's rounding, a quarter circle from the outside face into the wall.  Printed with the
outside on the bed its lower half would hang in the air, so that half is a 45 degree bevel tangent to the rest:
        s = (2 - sqrt 2) R      width and height of the bevel at the bed        (then a round of radius R where it ends)
        R                       height of the whole entry, from the bed to the plain wall
It widens the opening by s on the outside.  Above it LIP_LEFT of plain wall stays.
Limits: the entry's loss of pressure is a formula's business (formulas/airflow.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.geometry.chain import contains, counter_clockwise, gap
from afterpart.geometry.corners import tightest_corner
from afterpart.geometry.offset import offset_chain
from afterpart.model.edges import Note
from afterpart.model.feature import Chain, Opening, Seat
from afterpart.model.outline import Circle
from afterpart.model.piece import TreatLoop
from afterpart.model.wishes import InletWish
from afterpart.parts.face_room import place
from afterpart.words import tell

LIP_LEFT = 0.6
"""Plain wall that stays above a bellmouth: three layers."""

LEAST_BELLMOUTH = 0.5
"""A smaller radius is no entry but a broken edge."""

BEVEL_SHARE = 2.0 - math.sqrt(2.0)
"""Width of the bevel over the bellmouth's radius."""


@dataclass(frozen=True)
class AirWay:
    """opening: the way through; entry: its outline on the outside; steps: that round its entry; key: of the old opening it is,
    "" where it is the seat's."""

    opening: Opening
    entry: Chain
    steps: tuple[TreatLoop, ...]
    key: str
    notes: tuple[Note, ...] = ()


def lay_air_way(wish: InletWish | None, openings: Mapping[str, Chain], ids: Mapping[str, str], seat: Seat | None,
                thickness: float) -> AirWay | None:
    """The air's opening, None where the job asks for none and there is no filter seat.

    openings: the old openings that stay, by key; ids: the key of each segment id.
    JobError: inlet.opening = "seat" without a filter, inlet.of names no opening or one that misses the seat, or no bellmouth of
    any use fits.
    """
    if wish is None:
        return None if seat is None else _way("inlet", seat.opening, "", 0.0, seat.ledge, ())
    if not math.isfinite(wish.bellmouth) or wish.bellmouth < 0:
        raise JobError(tell("inlet.bellmouth: found {bellmouth:g} mm; expected 0 or more", bellmouth=wish.bellmouth))
    if wish.opening not in ("seat", "keep"):
        raise JobError(tell("inlet.opening: found {opening!r}; expected seat or keep", opening=wish.opening))
    if wish.opening == "seat":
        if seat is None:
            raise JobError(tell('inlet.opening = "seat": the job has no [filter], so there is no seat for the air; set '
                                'inlet.opening = "keep" and inlet.of, or add [filter]'))
        chain, key, height = seat.opening, "", seat.ledge
    else:
        key = _kept_key(wish, openings, ids)
        chain, height = openings[key], thickness if seat is None else seat.ledge
        if seat is not None:
            _refuse_past_the_seat(key, chain, seat)
    radius, notes = _radius(wish.bellmouth, chain, height)
    return _way(key or "inlet", chain, key, radius, height, notes)


def _way(name: str, chain: Chain, key: str, radius: float, top: float, notes: tuple[Note, ...]) -> AirWay:
    chain = counter_clockwise(chain)
    if radius <= 0:
        return AirWay(Opening(name, chain, 0.0, top, 0.0), chain, (), key, notes)
    bevel = BEVEL_SHARE * radius
    entry = offset_chain(chain, bevel)
    if len(entry) != 1:
        raise JobError(tell("inlet.bellmouth: an entry widened by {bevel:.2f} mm does not keep the form of opening {name}; make "
                            "the bellmouth smaller", bevel=bevel, name=name))
    steps = (TreatLoop(chain, 0.0, "bevel", bevel), TreatLoop(chain, bevel, "round", radius))
    return AirWay(Opening(name, chain, 0.0, top, radius), entry[0], steps, key, notes)


def _kept_key(wish: InletWish, openings: Mapping[str, Chain], ids: Mapping[str, str]) -> str:
    if wish.of:
        key = ids.get(wish.of, wish.of)
        if key not in openings:
            raise JobError(tell("inlet.of: found {of!r}; the openings that stay are {openings}: name one of these", of=wish.of,
                                openings=", ".join(openings) or "none"))
        return key
    shaped = [key for key, chain in openings.items() if not isinstance(chain[0], Circle)]
    if len(shaped) != 1:
        raise JobError(tell("inlet.of: not told, and {count} openings that are not round stay ({shaped}); name one of {openings}",
                            count=len(shaped), shaped=", ".join(shaped) or "none", openings=", ".join(openings) or "none"))
    return shaped[0]


def _refuse_past_the_seat(key: str, chain: Chain, seat: Seat) -> None:
    if not contains(seat.pocket, chain):
        raise JobError(tell("inlet.of: opening {key} leaves the filter's pocket at {place}, so air would pass beside the "
                            'filter; set inlet.opening = "seat", or make filter.land smaller', key=key,
                            place=place(gap(chain, seat.pocket).on_a)))
    near = gap(chain, seat.pocket)
    if near.distance < seat.rim:
        raise JobError(tell("inlet.of: opening {key} leaves {distance:.1f} mm of ledge at {place} and the element's rim needs "
                            '{rim:g} mm; set inlet.opening = "seat", or make filter.rim smaller', key=key, distance=near.distance,
                            place=place(near.on_a), rim=seat.rim))


def _radius(wanted: float, chain: Chain, height: float) -> tuple[float, tuple[Note, ...]]:
    """The bellmouth that fits the height, and a note where it is smaller than wanted."""
    if wanted == 0:
        return 0.0, ()
    corner = tightest_corner(chain)
    if corner.radius <= 0:
        raise JobError(tell("inlet.bellmouth: the opening has a sharp corner at {place}, where no entry can be rounded; set "
                            "bellmouth = 0, or take the seat's opening", place=place(corner.at)))
    most = height - LIP_LEFT
    if wanted <= most:
        return wanted, ()
    if most < LEAST_BELLMOUTH:
        raise JobError(tell("inlet.bellmouth: {wanted:g} mm wanted, but the floor is {height:g} mm thick and {lip_left:g} mm of "
                            "it must stay plain; make cover.floor at least {least_bellmouth:g} mm, or set bellmouth = 0",
                            wanted=wanted, height=height, lip_left=LIP_LEFT, least_bellmouth=LEAST_BELLMOUTH + LIP_LEFT))
    note = Note("bellmouth_reduced",
                tell("The entry is rounded with {most:g} mm instead of {wanted:g} mm: the floor is {height:g} mm thick and "
                     "{lip_left:g} mm of it stays plain. A floor of {wanted_2:g} mm (cover.floor) takes it whole.", most=most,
                     wanted=wanted, height=height, lip_left=LIP_LEFT, wanted_2=wanted + LIP_LEFT))
    return most, (note,)
