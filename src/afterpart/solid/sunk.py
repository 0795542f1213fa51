"""Letters sunk into a plane face without a boolean: the face gets their outlines as holes, and walls and floors are sewn in.

Words: the *host* is the face that letters are sunk into; an *island* is what stands inside a letter (in A, 8, 0).
A boolean works out where the tools meet the body; here that is known beforehand, and the sewing takes a third of its time.
Limits: each letter lies wholly inside one plane host; where it does not, or the result is not valid or not the body less the
letters, None is answered and the caller cuts in the usual way.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import build123d as b

from afterpart.solid.refusals import KERNEL_REFUSALS

SAME = 1e-6
"""Heights this near are one, mm."""

VOLUME_SHARE = 1e-9
"""Most the sewn body's volume may differ from the body less the letters, as a share."""


def sunk(body: b.Solid, letters: list[b.Face], top: float, depth: float, looks: int) -> b.Solid | None:
    """The body with these faces (lying in the plane z = top) sunk by depth into its face there.

    looks: 1 for a face that looks up, -1 for one that looks down.  None: see the module's limits.
    """
    hosts = [face for face in body.faces() if _is_host(face, top, looks)]
    shares = [[letter for letter in letters if host.is_inside(letter.outer_wire().edges()[0] @ 0.5)] for host in hosts]
    if sum(map(len, shares)) != len(letters):
        return None
    into = b.Vector(0, 0, -looks * depth)
    try:
        new = [b.Face(host.outer_wire(), [*host.inner_wires(), *(letter.outer_wire() for letter in own)])
               for host, own in zip(hosts, shares, strict=True) if own]
        new += [face for letter in letters for face in _lining(letter, into)]
        kept = [face for face in body.faces() if not any(own and face.is_same(h) for h, own in zip(hosts, shares, strict=True))]
        made = b.Solid(b.Shell([*kept, *new]))
    except KERNEL_REFUSALS:
        return None
    wanted = body.volume - depth * sum(letter.area for letter in letters)
    is_right = made.is_valid and abs(made.volume - wanted) <= VOLUME_SHARE * body.volume
    return made if is_right else None


def _is_host(face: b.Face, top: float, looks: int) -> bool:
    if face.geom_type != b.GeomType.PLANE:
        return False
    box = face.bounding_box()
    return abs(box.min.Z - top) < SAME and abs(box.max.Z - top) < SAME and face.normal_at().Z * looks > 0


def _lining(letter: b.Face, into: b.Vector) -> list[b.Face]:
    """A letter's walls, floor and islands."""
    wires = [letter.outer_wire(), *letter.inner_wires()]
    walls = [b.Face.extrude(edge, into) for wire in wires for edge in wire.edges()]
    return [*walls, letter.moved(b.Location(into)), *(b.Face(wire) for wire in letter.inner_wires())]
