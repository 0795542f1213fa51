"""Cuts through a body by a plane, as the kernel sees them.

Conventions: mm, z up.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import build123d as b

from afterpart.solid.step_file import shape_from_step


def section_area(data: bytes, z: float) -> float:
    """Area of the cut through a STEP file's body at height z, mm2.  SolidError: not readable."""
    shape = shape_from_step(data)
    box = shape.bounding_box()
    reach = 2 * (box.diagonal + 1)
    plane = b.Face.make_rect(reach, reach, b.Plane((box.center().X, box.center().Y, z)))
    cut = plane.intersect(shape)
    return float(sum(face.area for face in cut.faces())) if cut is not None else 0.0
