"""Both walls of a channel, on the shared photograph and on booth scenes; no channel where there is none.

Limit: a whole wall within 0.03 mm, its points within 0.1 mm.  The picture rounds the walls' sharp corners: on the shared
photograph (11 px per mm) 1 point of 100 may lie farther off, on the coarser booth scenes (9 px per mm, eight sharp corners of
about 2 mm on 350 mm of wall) 1 of 20.
Shared photographs lie beside the checkout (../shared/photos) and are skipped where absent.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from afterpart.model.edges import EdgeMap
from afterpart.model.job import Shot
from afterpart.photo.load import load_picture
from afterpart.photo.stage import recover_edges
from tests.truth.compare import lay_on
from tests.truth.drawings import Drawing, box, circle, corner_holes
from tests.truth.field import depths_of, walk
from tests.truth.light import Light
from tests.truth.scenes import make_shoot, take

PHOTOS = Path(__file__).resolve().parents[3] / "shared" / "photos"
WITH_CHANNEL = PHOTOS / "dev_inlet_cover_sheet.jpg"
LID = (box(120, 80, 12), *corner_holes(104, 64, 5.5), circle(0, 0, 24))


def _off(edges: EdgeMap, loops: list, channel: tuple[float, float, float]) -> dict[str, np.ndarray]:
    """Distance of each wall's points from the true wall, mm, by wall; channel: inset of the outer wall, width, depth."""
    whole, outline = depths_of(tuple(map(tuple, loops))), depths_of((tuple(loops[0]),))
    points = np.concatenate([rim.points for rim in edges.rims if rim.role != "channel"])
    motion = lay_on(points, whole, np.concatenate([walk(loop, 0.1) for loop in loops]))
    out = {}
    for rim in edges.rims:
        if rim.role == "channel":
            x, y = motion.apply(rim.points).T
            out[rim.wall] = outline.depth(x.copy(), y.copy())[0] - channel[0] - (rim.wall == "inner") * channel[1]
    return out


def _assert_walls(off: dict[str, np.ndarray]) -> None:
    assert set(off) == {"outer", "inner"}
    for wall in off.values():
        assert abs(np.median(wall)) < 0.03
        assert np.quantile(np.abs(wall), 0.95) < 0.1


@pytest.mark.skipif(not WITH_CHANNEL.exists(), reason="../shared/photos is not here")
def test_both_walls_on_the_shared_photograph() -> None:
    truth = json.loads(WITH_CHANNEL.with_suffix(".json").read_text())
    shot = Shot(file=str(WITH_CHANNEL), sheet=(210.0, 297.0), face_height=9.0)
    edges = recover_edges(load_picture(WITH_CHANNEL, shot), shot)
    loops = [[tuple(tuple(v) if isinstance(v, list) else v for v in segment) for segment in loop] for loop in truth["loops"]]
    off = _off(edges, loops, tuple(truth["grooves"][0]))
    _assert_walls(off)
    assert all(np.quantile(np.abs(wall), 0.99) < 0.1 for wall in off.values())
    assert [note.code for note in edges.notes if note.code.startswith("channel")] == ["channel"]


@pytest.mark.parametrize(("paint", "width", "depth", "tilt"),
                         [("dark", 3.6, 2.0, 3.0), ("grey", 2.4, 1.2, 8.0), ("dark", 5.0, 3.0, 10.0)])
def test_both_walls_on_booth_scenes(paint: str, width: float, depth: float, tilt: float, tmp_path: Path) -> None:
    channel = (13.0, width, depth)
    shoot = make_shoot(Drawing("lid", LID, (channel,)), "sheet", paint=paint, tilt_deg=tilt, size=(3264, 2448),
                       light=Light(azimuth_deg=150.0, elevation_deg=50.0))
    _, shot = take(shoot, tmp_path, 5)
    edges = recover_edges(load_picture(Path(shot.file), shot), shot)
    _assert_walls(_off(edges, [list(loop) for loop in LID], channel))


def test_no_channel_where_there_is_none(tmp_path: Path) -> None:
    _, shot = take(make_shoot(Drawing("lid", LID), "sheet", size=(3264, 2448)), tmp_path, 5)
    edges = recover_edges(load_picture(Path(shot.file), shot), shot)
    assert all(rim.role != "channel" for rim in edges.rims)
    assert not [note for note in edges.notes if note.code.startswith("channel")]
