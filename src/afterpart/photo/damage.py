"""Damaged places the maker points at: the rims' points in them are left out.

A *damaged place* is a circle round a broken, chipped or bent stretch, told in pixels, carried into the face's plane.  A rim stays
a closed chain of points, with a step over the place; an opening that lies in it for the most part is left out as a whole.  What
the part looks like there is for the outline stage to say.  A round rim is one circle: it is fitted again to what its probes saw
outside the places.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from afterpart.errors import PhotoError
from afterpart.geometry.fit import fit_circle_robust
from afterpart.model.camera import Camera
from afterpart.model.edges import DamagedPlace, EdgeMap, Note, Rim
from afterpart.model.job import Damage
from afterpart.photo.projection import to_plane
from afterpart.photo.roundrim import circle_chain
from afterpart.photo.trace import TracedRim

LEAST_ROUND = 0.4
"""A circle is told from no smaller share of itself."""

LEAST_LEFT, LEAST_LEFT_POINTS = 0.3, 24
"""An opening of which no larger share, or no more points, lie outside the damaged places is left out as a whole."""


def leave_out_damage(edges: EdgeMap, damage: tuple[Damage, ...]) -> EdgeMap:
    """The edge map without the rims' points in the damaged places, and with a note of what each place took.

    The same places may be left out again after the rims were looked at once more.  Raises PhotoError when no part is left.
    """
    if not damage or edges.camera is None:
        return edges
    places = tuple(_in_plane(edges.camera, item, edges.face_height) for item in damage)
    rims, lost = [], np.zeros(len(places))
    for rim in edges.rims:
        inside = np.array([np.hypot(*(rim.points - place.center).T) < place.radius for place in places])
        steps = np.hypot(*(np.roll(rim.points, -1, axis=0) - np.roll(rim.points, 1, axis=0)).T) / 2
        lost += inside @ steps
        keep = ~inside.any(0)
        few = keep.sum() < max(LEAST_LEFT * len(keep), LEAST_LEFT_POINTS)
        if rim.role == "outer" and few:
            raise PhotoError("The circles round the damage leave too little of a part's outer rim to measure it; expected at "
                             f"least {100 * LEAST_LEFT:.0f} % of it outside. Draw them more tightly round the damage.")
        if rim.role == "opening" and few:
            continue
        rims.append(rim if keep.all() or few else _without(rim, keep))
    # a place whose points were left out before keeps its note
    before = [note for note in edges.notes if note.code.startswith("damage_")] if edges.damage else []
    said = before or [_note(item, place, float(length), edges.unit)
                      for item, place, length in zip(damage, places, lost, strict=True)]
    others = tuple(note for note in edges.notes if not note.code.startswith("damage_"))
    return replace(edges, rims=tuple(rims), damage=places, notes=(*others, *said))


def sound_circles(camera: Camera, traced: Sequence[TracedRim], damage: tuple[Damage, ...], height: float) -> list[TracedRim]:
    """The rims, round ones that pass through damaged places as the circles of the rest of them; those left with less than
    LEAST_ROUND of their probes stay as they are."""
    places = [_in_plane(camera, item, height) for item in damage]
    out = []
    for rim in traced:
        inside = np.zeros(len(rim.seen), bool)
        for place in places:
            inside |= np.hypot(*(rim.seen - place.center).T) < place.radius
        if rim.centre is None or not inside.any() or inside.mean() > 1 - LEAST_ROUND:
            out.append(rim)
            continue
        fit, _ = fit_circle_robust(rim.seen[~inside])
        points = circle_chain(np.array(fit.center), fit.radius, len(rim.points), rim.opening)
        out.append(replace(rim, points=points, centre=np.array(fit.center), radius=fit.radius))
    return out


def _in_plane(camera: Camera, damage: Damage, height: float) -> DamagedPlace:
    """The circle in the face's plane whose rim passes, in the mean, where the circle of pixels does."""
    angle = np.linspace(0.0, 2.0 * np.pi, 24, endpoint=False)
    ring = np.array([damage.x, damage.y]) + damage.radius * np.c_[np.cos(angle), np.sin(angle)]
    laid = to_plane(camera, ring, height)
    center = laid.mean(0)
    return DamagedPlace((float(center[0]), float(center[1])), float(np.hypot(*(laid - center).T).mean()), damage.source)


def _without(rim: Rim, keep: np.ndarray) -> Rim:
    """The rim's kept points, begun behind the longest stretch left out, so that no step lies between last and first but that."""
    runs = np.flatnonzero(keep & ~np.roll(keep, 1))
    kept = np.flatnonzero(keep)
    lengths = [(start - kept[np.searchsorted(kept, start) - 1]) % len(keep) for start in runs]
    order = np.roll(kept, -int(np.searchsorted(kept, runs[int(np.argmax(lengths))])))
    return replace(rim, points=rim.points[order], u=rim.u[order])


def _note(told: Damage, place: DamagedPlace, length: float, unit: str) -> Note:
    where = f"at pixel ({told.x:.0f}, {told.y:.0f})"
    if length == 0:
        return Note("damage_nowhere", f"Damage told {where}: no rim passes through this circle, so nothing was left out. "
                    "Check the pixel and the radius.")
    size = f"{length:.1f} {unit}" if unit == "mm" else f"a stretch of {length:.0f} px"
    comes = "the part's other side" if place.source == "mirror" else \
        "its neighbours, drawn on till they meet, a lost corner rounded as most of the others are"
    return Note("damage_left_out", f"Damage told {where}: {size} of rim left out; the shape there comes from {comes}.")
