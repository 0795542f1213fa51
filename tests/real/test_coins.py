"""Euro coins on a sheet of paper, photographed by a phone from above and from about 40 degrees.

Pictures: shared/real (licences and origin in its truth.json; not part of the project, so these tests skip where it is absent).
Published diameters: Council Regulation (EC) 975/98 as summarised by EUR-Lex (LSU l25028): 2 euro 25.75 mm, 1 euro 23.25 mm;
20 cent 22.25 mm and 10 cent 19.75 mm from secondary tables that agree, as truth.json records.  Thickness 1.93 to 2.33 mm:
one face height of 2.2 mm serves all four; 0.2 mm of it is worth 0.05 % of a diameter here.  What misses its limit is marked as a
failure that is expected, with the value measured; should it come right, the mark fails.
A coin is measured at its rim, so the whole chain is on trial: sheet, lens, pose, contact shadow.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from afterpart.geometry.fit import fit_circle_robust
from afterpart.model.edges import EdgeMap
from afterpart.model.job import Shot
from afterpart.photo.load import load_picture
from afterpart.photo.projection import project_plane
from afterpart.photo.stage import recover_edges
from afterpart.standards.paper import sheet_size

FOLDER = Path(__file__).parents[3] / "shared" / "real"
FACE_HEIGHT = 2.2
DIAMETER_LIMIT, DISTANCE_LIMIT = 0.3, 0.5
PICK_PX = 25.0

pytestmark = pytest.mark.skipif(not (FOLDER / "truth.json").exists(), reason="the real photographs (../shared/real) are not here")


def _known(name: str) -> list[dict]:
    truth = json.loads((FOLDER / "truth.json").read_text())
    known = next(t for t in truth if t["file"] == name)["known"]
    return [k for k in known if k["kind"] == "coin" and k["denomination_from"] == "read"]


@cache
def _edges(name: str) -> EdgeMap:
    path = FOLDER / name
    shot = Shot(file=str(path), sheet=sheet_size("A4"), face_height=FACE_HEIGHT)
    return recover_edges(load_picture(path, shot), shot)


@cache
def _coins(name: str) -> dict[str, tuple[float, float, float]]:
    """Centre x, y and diameter in mm of every "read" coin found, by denomination."""
    edges = _edges(name)
    assert edges.unit == "mm" and edges.camera is not None
    coins = {}
    for rim in edges.rims:
        if rim.role != "outer":
            continue
        circle, _ = fit_circle_robust(rim.points, rim.u)
        at = project_plane(edges.camera, np.array([circle.center]), FACE_HEIGHT)[0]
        for coin in _known(name):
            if math.dist(at, coin["centre_px"]) < PICK_PX:
                coins[coin["denomination"]] = (*circle.center, 2 * circle.radius)
    return coins


TOO_SMALL = ("measured {:.2f} mm of {:.2f}: the sheet is the top of a stack whose sides rise 1 to 5 mm above the place where the "
             "coins lie, by 2.6 mm in the mean, 0.8 % of the camera's distance, which a picture from straight above cannot tell "
             "from a larger sheet. Both pictures together, with the grain of the table as ties and free sides, give 25.43, "
             "23.00, 22.07 and 19.50 mm: a rest of 0.25 mm belongs to the polished rims and the sheet's own size")


@pytest.mark.parametrize("denomination,published", [
    pytest.param("2e", 25.75, marks=pytest.mark.xfail(strict=True, reason=TOO_SMALL.format(25.18, 25.75))),
    ("1e", 23.25), ("20c", 22.25),
    pytest.param("10c", 19.75, marks=pytest.mark.xfail(strict=True, reason=TOO_SMALL.format(19.39, 19.75)))])
def test_diameter_from_above(denomination, published):
    assert denomination in _coins("coins_sheet_flat.jpg"), "this coin was not found as a part"
    assert _coins("coins_sheet_flat.jpg")[denomination][2] == pytest.approx(published, abs=DIAMETER_LIMIT)


def test_published_diameters_are_those_of_the_truth_file():
    known = {c["denomination"]: c["diameter_mm"] for c in _known("coins_sheet_flat.jpg")}
    assert known == {"2e": 25.75, "1e": 23.25, "20c": 22.25, "10c": 19.75}


@pytest.mark.xfail(strict=True, reason="one of six distances differs by 0.51 mm, the others by at most 0.49 (1.28 before the "
                                       "lifted sides of the tilted picture were solved for): the picture from above "
                                       "does not know the lift of the stack's sides")
def test_centre_distances_are_the_same_from_the_tilted_picture():
    flat, tilted = _coins("coins_sheet_flat.jpg"), _coins("coins_sheet_tilt.jpg")
    assert len(flat) == 4 and len(tilted) == 4, f"coins found: {sorted(flat)} and {sorted(tilted)}"
    names = sorted(flat)
    for k, a in enumerate(names):
        for b in names[k + 1:]:
            here, there = math.dist(flat[a][:2], flat[b][:2]), math.dist(tilted[a][:2], tilted[b][:2])
            assert here == pytest.approx(there, abs=DISTANCE_LIMIT), f"{a} to {b}"


def test_every_coin_is_a_part_of_its_own_and_round():
    edges = _edges("coins_sheet_flat.jpg")
    outers = [rim for rim in edges.rims if rim.role == "outer"]
    assert len({rim.part for rim in outers}) == len(outers)
    for rim in outers:
        circle, _ = fit_circle_robust(rim.points, rim.u)
        if 15 < 2 * circle.radius < 30:
            assert circle.rms < 0.25
