"""Cases for the checks of loose things: a square lid with one hole over a square holder, and cases without solids.

The lid: 80 x 80, from z = -5 to the joint at 0, with one hole at (20, 0).  The holder: 60 x 60 x 4 on top of it, held by one
screw of 3 mm with a head of 5.6, 8 mm long: its tip stands 3 mm in the holder, which is the way it needs to come free.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import trimesh
from shapely.geometry import Point as Dot
from shapely.geometry import box

from afterpart.model.assembly import Assembly, Build, Item, Place, Point3
from afterpart.model.case import Case, Passage
from afterpart.model.edges import Reference
from afterpart.model.feature import Feature, Hole, Opening
from afterpart.model.job import Height, Job
from afterpart.model.outline import Circle, Datum, Outline
from afterpart.model.piece import Piece, PrintTime, Step
from afterpart.model.wishes import MachineFacts, Wishes
from afterpart.solid.body import Mesh
from afterpart.solid.hardware import foam_block

SCREW = Item("screw", "screw 3 x 8", ((20.0, 0.0, -5.0),), (0.0, 0.0, 1.0), 3.0, 8.0, 5.6, 2.2, (0.0, 0.0, -1.0),
             ("cover", "holder"), 3)
INLET = Opening("inlet", (Circle("", (0.0, 0.0), 10.0),), 0.0, 5.0)


def piece(kind: str, features: tuple[Feature, ...] = (), height: float = 5.0, steps: tuple[Step, ...] = (), stem: str = "",
          name: str = "") -> Piece:
    """A piece of which only what is given matters."""
    stem = stem or kind
    return Piece(kind, name or stem, stem, "A", steps, height, (), PrintTime(0.0, 0.0, ""), features=features, material="PETG")


def hole(diameter: float) -> Hole:
    return Hole("h", (20.0, 0.0), diameter, 0.0, 5.0, "screw", "screw 3 x 8")


def plate(side: float, bottom: float, top: float, bore: float = 0.0) -> Mesh:
    """A square plate about the origin, with a bore at (20, 0)."""
    flat = box(-side / 2, -side / 2, side / 2, side / 2)
    if bore:
        flat = flat.difference(Dot(20.0, 0.0).buffer(bore / 2, 64))
    made = trimesh.creation.extrude_polygon(flat, top - bottom)
    return Mesh(np.asarray(made.vertices) + (0.0, 0.0, bottom), np.asarray(made.faces, np.int32))


def block(x0: float, y0: float, z0: float, x1: float, y1: float, z1: float) -> Mesh:
    return foam_block(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), z0, z1)


def lid(bore: float = 3.4, screw: Item = SCREW, others: tuple[tuple[Piece, Mesh, Point3], ...] = (),
        features: tuple[Feature, ...] = (INLET,)) -> tuple[Build, dict[str, Mesh]]:
    """Build and meshes of the lid; others: further pieces as they lie in the assembly, with where they come from."""
    pieces = [piece("cover", (hole(bore), *features)), piece("clamp_frame", height=4.0, stem="holder")]
    places = [Place("cover", False, (0.0, 0.0, -5.0), (0.0, 0.0, -1.0), 1),
              Place("holder", False, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 2)]
    meshes = {"cover": plate(80.0, 0.0, 5.0, bore), "holder": plate(60.0, 0.0, 4.0, 2.4)}
    for other, mesh, comes_from in others:
        pieces.append(other)
        places.append(Place(other.file_stem, False, (0.0, 0.0, 0.0), comes_from, 4))
        meshes[other.file_stem] = mesh
    return Build(tuple(pieces), Assembly(tuple(places), (screw,))), meshes


def job(machine: MachineFacts | None = None, heights: Mapping[str, float] | None = None, **tables: object) -> Job:
    wishes = replace(Wishes(machine=machine or MachineFacts()), **tables)
    return Job("lid", (), heights=tuple(Height(level, value) for level, value in (heights or {}).items()), wishes=wishes)


def case(build: Build, machine: MachineFacts | None = None, passages: tuple[Passage, ...] = (), **tables: object) -> Case:
    outline = Outline("mm", Reference("rule", 10.0, 3e-4), Datum("", (0.0, 0.0), 0.0), (), (), (), ())
    return Case(job(machine, **tables), outline, build, passages=passages)
