"""The edges of the face that lies on the bed, and whether they carry a first-layer chamfer.

Words: an edge is *chamfered* when the face beyond it leans outwards as it rises, at about 45 degrees; the *height* of a
chamfer is how far that face rises.  An *engraving* is a recess in the bed's face whose walls end in a roof less than DEEP above
it: its edges need no chamfer and are left out.
Conventions: mm, z up; closed meshes.
Limits: read off the mesh: a chamfer along a curve counts facet by facet.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np

from afterpart.model.case import BedEdge
from afterpart.solid.body import Mesh
from afterpart.solid.mesh import components, edge_neighbours, triangle_normals
from afterpart.solid.overhang import BED

DEEP = 0.8
"""Depth from which a recess in the bed's face is no engraving, mm: four layers."""

LEAN_DEG = 15.0
"""Most that a chamfer may lean away from 45 degrees."""


def bed_edge(mesh: Mesh) -> BedEdge:
    """Edges between the face on the bed and what rises from it.  SolidError: the mesh is not closed."""
    normals, _ = triangle_normals(mesh)
    heights = mesh.vertices[mesh.triangles][:, :, 2] - mesh.vertices[:, 2].min()
    on_bed = (heights <= BED).all(axis=1)
    pairs = edge_neighbours(mesh)
    rim = pairs[on_bed[pairs[:, 0]] != on_bed[pairs[:, 1]]]
    beyond = np.where(on_bed[rim[:, 0]], rim[:, 1], rim[:, 0])
    length = _shared_lengths(mesh, rim)
    lean = np.degrees(np.arcsin(np.clip(-normals[beyond, 2], -1.0, 1.0)))
    chamfered = np.abs(lean - 45.0) <= LEAN_DEG
    kept = chamfered | ~_in_engravings(heights, normals, on_bed, pairs)[beyond]
    rises = _rises(heights, normals, on_bed, pairs)[beyond][chamfered & kept]
    return BedEdge(float(length[kept].sum()), float(length[kept & chamfered].sum()), float(rises.min(initial=math.inf))
                   if len(rises) else 0.0)


def _rises(heights: np.ndarray, normals: np.ndarray, on_bed: np.ndarray, pairs: np.ndarray) -> np.ndarray:
    """How high the chamfer rises that each triangle belongs to: facets along a curve may reach only part of the way."""
    lean = np.degrees(np.arcsin(np.clip(-normals[:, 2], -1.0, 1.0)))
    leans = ~on_bed & (np.abs(lean - 45.0) <= LEAN_DEG)
    label = components(len(heights), pairs[leans[pairs].all(axis=1)])
    highest = np.zeros(len(heights))
    np.maximum.at(highest, label, np.where(leans, heights.max(axis=1), 0.0))
    return highest[label]


def _shared_lengths(mesh: Mesh, pairs: np.ndarray) -> np.ndarray:
    """Length of the edge that each pair of triangles shares."""
    a, b = mesh.triangles[pairs[:, 0]], mesh.triangles[pairs[:, 1]]
    shared = (a[:, :, None] == b[:, None, :]).any(axis=2)
    ends = np.array([mesh.vertices[row[mask][:2]] for row, mask in zip(a, shared, strict=True)]).reshape(-1, 2, 3)
    return np.linalg.norm(ends[:, 0] - ends[:, 1], axis=1)


def _in_engravings(heights: np.ndarray, normals: np.ndarray, on_bed: np.ndarray, pairs: np.ndarray) -> np.ndarray:
    """Which triangles belong to the walls of a shallow recess: upright, and joined only to others below DEEP and a roof."""
    low = ~on_bed & (heights.max(axis=1) < DEEP)
    joined = pairs[~on_bed[pairs].any(axis=1)]
    label = components(len(heights), joined[low[joined].all(axis=1)])
    leads_up = np.zeros(label.max() + 1, bool) if len(label) else np.zeros(0, bool)
    mixed = joined[low[joined[:, 0]] != low[joined[:, 1]]]
    leads_up[label[np.where(low[mixed[:, 0]], mixed[:, 0], mixed[:, 1])]] = True
    has_roof = np.zeros_like(leads_up)
    has_roof[label[low & (normals[:, 2] < -0.99)]] = True
    return low & has_roof[label] & ~leads_up[label]
