"""What keeps a cover from being fitted wrongly: a word on the outside, and a lug to feel on the lip.

Bolts alone cannot tell the right way from a wrong one when their pattern covers itself, and nobody may drill the machine
unasked.  So the cover is marked: OUTSIDE where it could be turned over, TOP where it could be turned, and a lug on the lip's free
side, to be set against a mark on the machine.  Top is the side that is up when the outside's texts are read upright: seen from
below, that is the drawing's lowest y.
Limits: marks and lug warn, they do not block.  A turn is blocked only by what the machine really has: a peg in a hole of its own
(machine_peg.py), which leaves nothing to mark.  A cover whose machine is symmetric cannot be blocked by the cover alone.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.geometry.chain import chain_points
from afterpart.geometry.one_way import OneWay
from afterpart.geometry.segments import segment_middle
from afterpart.model.edges import Note
from afterpart.model.feature import Chain, Lip
from afterpart.model.outline import Point
from afterpart.model.piece import Add, Cone, Step
from afterpart.model.wishes import CoverWish
from afterpart.words import paragraph, tell, together

LUG = 2.0
"""Largest radius of the lug, mm: large enough to feel."""

LUG_SHARE = 0.9
"""Radius of the lug over the lip's thickness, so that it never reaches the side that meets the machine."""

OUTSIDE_WORD = "OUTSIDE"
TOP_WORD = "TOP"


@dataclass(frozen=True)
class OneWayKey:
    """words: to sink into the outside; top: the word for its upper side, "" for none; steps: that add the lug."""

    words: tuple[str, ...] = ()
    top: str = ""
    steps: tuple[Step, ...] = ()
    notes: tuple[Note, ...] = ()


def key_steps(ways: OneWay | None, cover: CoverWish, lip: Lip | None) -> OneWayKey:
    """The key for these wrong ways; nothing where there is none."""
    if ways is None or not ways.can_be_fitted_wrongly:
        return OneWayKey()
    turns = [m for m in ways.wrong if not m.turned_over]
    over = [m for m in ways.wrong if m.turned_over]
    words = (OUTSIDE_WORD,) if over else ()
    top = TOP_WORD if turns or ways.turns_freely else ""
    told = (tell("It can be turned freely on its bolts.") if ways.turns_freely
            else tell("The bolts also let it on {ways}.", ways="; ".join(m.words for m in ways.wrong)))
    steps: tuple[Step, ...] = ()
    advice = tell("Set the mark on the cover against a mark on the machine before drilling or notching anything; marks warn, "
                  "only a hole that the machine has beside the bolts blocks (cover.peg_in).")
    if lip is not None and top:
        at = lug_place(lip, cover.fit)
        steps = (_lug(lip, at, cover.fit),)
        advice = tell("A lug on the lip at ({at:.1f}, {at_2:.1f}) can be felt: set it against a mark on the machine.", at=at[0],
                      at_2=at[1])
    marked = tell("It is marked {marks}.", marks=together(w for w in (*words, top) if w))
    return OneWayKey(words, top, steps,
                     (Note("fits_wrongly", paragraph(told, marked, advice)),))


def lug_place(lip: Lip, fit: str) -> Point:
    """The uppermost point of the lip's free side as the outside is read, halfway along where it is straight there."""
    side = free_side(lip, fit)
    points = [*(segment_middle(s) for s in side), *((float(x), float(y)) for x, y in chain_points(side))]
    return min(points, key=lambda p: round(p[1], 6))


def free_side(lip: Lip, fit: str) -> Chain:
    """The side that meets nothing: the outer one of a lip that hangs outside the mating part, else the inner one."""
    return lip.outer if lip.of == "outer" and fit != "inside" else lip.inner


def _lug(lip: Lip, at: Point, fit: str) -> Add:
    """A round lug half sunk in the free side, not as deep as the lip is thick; it stands on the mating face where there is
    one below it, else on the bed."""
    radius = min(LUG, LUG_SHARE * lip.thickness)
    bottom = lip.bottom if lip.of == "outer" and fit == "inside" else 0.0
    return Add((Cone(at, bottom, lip.top, radius, radius),))
