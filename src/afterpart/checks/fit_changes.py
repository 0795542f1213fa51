"""What opens or frees the places of a cover, as changes of the job file: rows of [[role]], and the clearance of lip or edge.

Conventions: clearances are rounded up to a hundredth of a millimetre, so that what asked for them still passes.
Limits: a metal sleeve has the clearance it has; where one is among the places, no change can be told.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import math

from afterpart.checks.fit_contacts import Spot, cover_of, spots
from afterpart.model.case import Case
from afterpart.model.feature import Hole
from afterpart.model.finding import KeyChange
from afterpart.words import tell

_HUNDREDTHS = 100.0
_SLACK = 1e-9
"""Of a hundredth, so that a figure that is one already is not raised by its own rounding."""


def opening_changes(case: Case, opening: float, only: tuple[str, ...] = ()) -> tuple[KeyChange, ...]:
    """Every place opened by `opening` mm all round; only: ids of holes, () for all places.  () where nothing is to be opened, or
    a place has a clearance that no key of the job says."""
    places = [spot for spot in spots(case) if not only or spot.name in only]
    if opening <= 0.0 or not places:
        return ()
    told = {spot.name: _opened(case, spot, opening) for spot in places}
    changes = tuple(change for change in told.values() if change is not None)
    return changes if len(changes) == len(told) else ()


def _opened(case: Case, spot: Spot, opening: float) -> KeyChange | None:
    value = repr(math.ceil((spot.gap + opening) * _HUNDREDTHS - _SLACK) / _HUNDREDTHS)
    if spot.name == "edge":
        return KeyChange("cover.clearance", value)
    if spot.name.startswith(tell("lip on {of}", of="")):
        return KeyChange("lip.clearance", value)
    cover = cover_of(case)
    role = next((f.role for f in cover.features if isinstance(f, Hole) and f.id == spot.name), "") if cover else ""
    if not spot.printed or not role:
        return None
    return KeyChange("role.clearance", value, ("of", spot.name), (("role", json.dumps(role)),))


def clearing_changes(ids: tuple[str, ...]) -> tuple[KeyChange, ...]:
    """The features with these ids let clear."""
    return tuple(KeyChange("role.role", json.dumps("clears"), ("of", name)) for name in ids)
