"""The key's rib in the cover and its notch in the frame's web, as bodies.

The rib is left standing when the pocket is cut, so that no face of it coincides with another; where it must reach above the
mating face it goes on INSET smaller, clear of the machine's rim.
Frames: the rib in the cover's, the notch in the frame's own (clamp_frame.py); mm.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import intersect, subtract
from afterpart.model.feature import Chain, Seat, SeatKey
from afterpart.model.piece import Add, Prism
from afterpart.parts.screw_boss import rim_circle

INSET = 0.3
ROOTED = 1.0
"""How deep the upper part stands in the lower one."""


def pocket_beside(seat: Seat, key: SeatKey) -> Chain:
    """The pocket without the rib."""
    return subtract(seat.pocket, rim_circle(key.at, 2 * key.radius))[0].outer


def key_above(seat: Seat, key: SeatKey, face: float) -> tuple[Add, ...]:
    """What of the rib stands above the mating face at height `face`; nothing where it ends there."""
    if key.top <= face:
        return ()
    (rib, *_) = intersect(seat.pocket, rim_circle(key.at, 2 * key.radius))
    (smaller, *_) = offset_chain(rib.outer, -INSET)
    return (Add((Prism(smaller, (), max(seat.ledge, face - ROOTED), key.top),)),)


def notched(web: Chain, key: SeatKey) -> Chain:
    """The web's edge, in the frame's own frame, with the notch that goes over the rib."""
    at = (key.at[0], -key.at[1])
    return subtract(web, rim_circle(at, 2 * (key.radius + key.play)))[0].outer
