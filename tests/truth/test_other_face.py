"""Both faces of a part from the photo booth: the other one, seen from its own side, lies on the drawn one.

The part is turned over between two photographs, so that its drawing is mirrored; walls are upright, heights told.  Limits:
registration of the faces within 0.03 mm (the middle one of the openings' offsets), single edges within 0.3 pixels rms of each
other, draft within three of its uncertainties of none.  Sheet and rule, 4 megapixels: a single small hole may stray by a tenth.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from afterpart.model.edges import EdgeMap
from afterpart.photo.roundrim import robust_circle
from afterpart.pipeline import edges_together
from tests.truth.drawings import DRAWINGS
from tests.truth.scenes import make_shoot
from tests.truth.several_photos import SIZE, photographs, turned_over

HEIGHT = 8.0


@cache
def both_faces() -> EdgeMap:
    """A flange photographed once from either side."""
    plate = next(d for d in DRAWINGS if d.name == "square_flange")
    shoots = [make_shoot(own, "sheet+rule", height=HEIGHT, edge_radius=0.4, size=SIZE, azimuth_deg=azimuth, turn_deg=turn)
              for own, azimuth, turn in ((plate, 40.0, 5.0), (turned_over(plate), 200.0, -7.0))]
    with TemporaryDirectory() as name:
        shots = [replace(shot, face=face, face_height=HEIGHT)
                 for shot, face in zip(photographs(shoots, Path(name), 5), ("mating", "other"), strict=True)]
        return edges_together(tuple(shots), Path(name), lambda words: None)[0]


def test_turning_over_twice_changes_nothing() -> None:
    for plate in DRAWINGS:
        assert turned_over(turned_over(plate)).loops == plate.loops


def test_the_other_face_lies_on_the_drawn_one() -> None:
    edges = both_faces()
    assert edges.other is not None
    assert [photo.contradicts for photo in edges.photos] == ["", ""]
    drawn, over = ([robust_circle(rim.points)[:2] for rim in rims if rim.role == "opening"]
                   for rims in (edges.rims, edges.other.rims))
    assert len(drawn) == len(over) == 5
    off = []
    for centre, radius in over:
        near, own = min(drawn, key=lambda other: float(np.hypot(*(other[0] - centre))))
        assert abs(own - radius) < 0.05
        off.append(near - centre)
    assert np.hypot(*np.median(off, axis=0)) < 0.03
    assert np.median(np.hypot(*np.transpose(off))) < 0.03
    assert edges.other.rms < 0.3 / edges.reference.px_per_mm
    assert abs(edges.other.growth - 1.0) < 5e-4
    assert abs(edges.other.draft_deg) < 3.0 * edges.other.draft_u_deg
