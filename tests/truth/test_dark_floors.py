"""A hole of a black part whose shaded floor is in places as dark as the face: its rough contour runs through the hole there.

One scene of the study (a round flange 12 mm thick, seen 11 degrees aslant), photographed and measured.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from tests.truth.booth import photograph, save_jpeg
from tests.truth.compare import compare_edges
from tests.truth.matching import rims_motion
from tests.truth.varied import varied_shoot

SCENE, MEGAPIXELS = 135, 8.0


def test_every_hole_of_a_black_flange_is_found(tmp_path: Path) -> None:
    shoot, _ = varied_shoot(SCENE, MEGAPIXELS)
    said = replace(shoot.shot, file=str(tmp_path / "flange.jpg"))
    save_jpeg(photograph(shoot.scene, SCENE), Path(said.file))
    edges = edges_of(load_picture(Path(said.file), said), said, lambda words: None)
    motion = rims_motion(edges, shoot)
    score = compare_edges(edges, shoot.made, motion)
    assert (score.openings, score.openings_missed, score.openings_extra) == (7, 0, 0)
    small = [rim for rim in edges.rims if rim.role == "opening" and np.ptp(rim.points, axis=0).max() < 20.0]
    assert len(small) == 6 and all(abs(np.ptp(rim.points, axis=0).max() - 9.0) < 0.2 for rim in small)
