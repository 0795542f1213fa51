"""Invented seats for tests: a rectangular cover with a channel, the job that goes with it, and its element.

Outer 120 x 90, four bolt holes of 6.6 mm, inner wall of the channel 96 x 66 with sharp corners, all about the origin.  With the
usual land (2.5), boss (7.5) and clearance (0.3) the pocket is 91 x 61 with corners of 4.05.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from afterpart.geometry.chain import polygon_chain
from afterpart.model.edges import Reference
from afterpart.model.feature import Seat
from afterpart.model.job import Height, Job
from afterpart.model.outline import Circle, Datum, Loop, Outline, Point
from afterpart.model.wishes import BoltWish, CoverWish, FilterWish, HolderWish, PrinterWish, ScrewWish, Wishes
from afterpart.parts.seat import lay_seat
from afterpart.solid.body import Mesh
from tests.parts.drawings import reversed_segments, rounded_rectangle

POCKET = (91.0, 61.0)
CORNER = 4.05


def box(width: float, depth: float) -> tuple[Point, ...]:
    x, y = width / 2, depth / 2
    return ((-x, -y), (x, -y), (x, y), (-x, y))


def outline(channel: bool = True, inner: tuple[Point, ...] = box(96, 66)) -> Outline:
    outer = rounded_rectangle(-60, -45, 60, 45, 6, "outer", 1)
    bolts = tuple(Loop("opening", 1, (Circle(f"c{i}", at, 3.3),)) for i, at in enumerate(box(108, 78), start=1))
    wide = rounded_rectangle(-51.5, -36.5, 51.5, 36.5, 2, "outer", 21).segments
    walls = (
        Loop("channel", 1, reversed_segments(list(wide)), "outer", 2.0),
        Loop("channel", 1, polygon_chain(inner), "inner", 2.0),
    )
    loops = (outer, *bolts, *(walls if channel else ()))
    return Outline("mm", Reference("sheet", 5.0, 0.001), Datum("middle", (0.0, 0.0), 0.0), loops, loops, (), ())


def job(kind: str = "frame", room: float | None = None, material: str = "PETG", **given: Any) -> Job:
    """given: keys as table__key, for example filter__rim = 4."""
    tables: dict[str, Any] = {
        "cover": CoverWish(),
        "bolts": BoltWish(thread="M6"),
        "filter": FilterWish(),
        "holder": HolderWish(kind=kind),
        "screws": ScrewWish(),
        "printer": PrinterWish(material=material),
    }
    for name, value in given.items():
        if "__" in name:
            table, key = name.split("__")
            tables[table] = replace(tables[table], **{key: value})
        else:
            tables[name] = value
    heights = (Height("room above", room),) if room is not None else ()
    return Job("probe", (), heights=heights, wishes=Wishes(**tables))


def seat(wanted: Job | None = None) -> Seat:
    return lay_seat(outline(), wanted or job(), None)


ELEMENT = box(73.0, 60.0)
"""A rectangle that keeps clear of the four bosses."""


def area(points: tuple[Point, ...]) -> float:
    return float(Polygon(points).area)


def genus(mesh: Mesh) -> int:
    """Ways through a closed mesh in one piece: 1 - (V - E + F) / 2, Euler's formula."""
    return 1 - (len(mesh.vertices) - len(mesh.triangles) * 3 // 2 + len(mesh.triangles)) // 2


def flat_area(mesh: Mesh, z: float, facing: int) -> float:
    """Area of the mesh's level faces at height z that look up (1) or down (-1)."""
    corners = mesh.vertices[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    level = np.all(np.abs(corners[:, :, 2] - z) < 1e-6, axis=1) & (np.sign(normals[:, 2]) == facing)
    return float(np.abs(normals[level, 2]).sum() / 2)


def steep_area(mesh: Mesh, angle_deg: float = 45.0) -> float:
    """Area of faces that look down and lean more than the angle from the upright, those on the bed left out."""
    corners = mesh.vertices[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normals, axis=1)
    down = normals[:, 2] < -(np.sin(np.radians(angle_deg)) + 1e-6) * size
    on_bed = np.all(corners[:, :, 2] < 1e-6, axis=1)
    return float(size[down & ~on_bed].sum() / 2)
