"""Damaged parts in the booth: told where the damage is, the design is that of the sound part.

Each part is drawn twice: as it was designed, and as it lies on the table, chipped or bent.  The circle round the damage is told
in pixels, as a maker would point at it.  Limit: three parts; the circles take in all of the damage.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tempfile
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from afterpart.model.edges import EdgeMap
from afterpart.model.job import Damage
from afterpart.model.outline import Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from tests.truth.booth import project
from tests.truth.compare import OutlineScore, compare_outline, lay_on, to_segments
from tests.truth.drawings import Drawing, circle, polygon, ring
from tests.truth.field import depths_of, walk
from tests.truth.scenes import Shoot, make_shoot, take

Point = tuple[float, float]
SIX_MEGAPIXELS = (2816, 2112)

COVER_HOLES = (*(circle(x, y, 5.5) for x, y in ((-42, -22), (42, -22), (42, 10), (-42, 10))), circle(0, 0, 36))
COVER = Drawing("cover", (polygon([(-50, -30), (50, -30), (50, 24), (-50, 24)], 8), *COVER_HOLES))
CHIPPED = replace(COVER, loops=(polygon([(-50, -30), (-14, -30), (-9, -26.5), (-3, -28), (2, -30), (50, -30),
                                         (50, 17), (46, 19.5), (41.5, 20.5), (40, 24), (-50, 24)],
                                        [8, 0, 0.5, 0.5, 0, 8, 0, 0.5, 0.5, 0, 8]), *COVER_HOLES))
CHIPS = (("neighbours", (-6.0, -29.0), 9.5), ("neighbours", (47.0, 21.5), 8.5))


def _eared(right: list[Point], hole: Point) -> Drawing:
    """A plate with an ear on either side, each with a hole; the right ear as told."""
    outer = polygon([(-34, -24), (34, -24), *right, (34, 24), (-34, 24), (-34, 11), (-52, 11), (-52, -11), (-34, -11)],
                    [4, 4, 3, 7, 7, 3, 4, 4, 3, 7, 7, 3])
    return Drawing("eared_plate", (outer, circle(0, 0, 30), circle(-43, 0, 6.6), circle(*hole, 6.6),
                                   circle(-26, -17, 4.5), circle(26, -17, 4.5), circle(26, 17, 4.5), circle(-26, 17, 4.5)))


def _nicked(diameter: float, at_deg: float, width: float, depth: float) -> tuple:
    """A circle with a dent of so many mm along its rim towards at_deg, depth inwards (negative: outwards)."""
    r, half = diameter / 2, width / diameter
    at = np.radians(at_deg)
    start, end = at + half, at - half
    p, q, tip = ((k * float(np.cos(a)), k * float(np.sin(a))) for k, a in ((r, start), (r, end), (r - depth, at)))
    return (("arc", p, q, (0.0, 0.0), True), ("line", q, tip), ("line", tip, p))


RING_HOLES = ring(4, 66, 5.5, 45)
RING = Drawing("ring", (circle(0, 0, 84), circle(0, 0, 44), *RING_HOLES))
NICKED = replace(RING, loops=(_nicked(84, 0, 14, 3.5), _nicked(44, 180, 9, -2.5), *RING_HOLES))
NICKS = (("neighbours", (41.0, 0.0), 9.0), ("neighbours", (-23.0, 0.0), 6.5))

EARED = _eared([(34, -11), (52, -11), (52, 11), (34, 11)], (43, 0))
BENT = _eared([(34, -11), (51.3, -8.6), (49.6, 13.2), (34, 11)], (42.4, 1.9))
BEND = (("mirror", (43.5, 0.5), 16.5),)


def _told(shoot: Shoot, places: tuple) -> tuple[Damage, ...]:
    """The circles of the part's drawing as circles in the picture."""
    body = shoot.scene.parts[0]
    turn = np.radians(body.angle_deg)
    out = []
    for source, (x, y), radius in places:
        ring = np.array([(x, y), (x + radius, y), (x, y + radius)])
        world = ring @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + (body.x, body.y)
        (u, v), *edge = project(shoot.scene.camera, np.c_[world, np.full(3, body.height)])
        out.append(Damage(round(float(u), 1), round(float(v), 1),
                          round(float(np.mean([np.hypot(a - u, b - v) for a, b in edge])), 1), source))
    return tuple(out)


CASES = {"chipped": (COVER, CHIPPED, CHIPS, dict(height=6.0, turn_deg=4.0)),
         "nicked_ring": (RING, NICKED, NICKS, dict(height=6.0, turn_deg=3.0)),
         "bent_ear": (EARED, BENT, BEND, dict(height=5.0, turn_deg=-6.0, azimuth_deg=120.0))}


@cache
def measured(name: str, is_told: bool = True) -> tuple[EdgeMap, Outline, OutlineScore]:
    """Photographed damaged, measured as told, held against the drawing of the sound part."""
    sound, damaged, places, how = CASES[name]
    shoot = make_shoot(damaged, "sheet+rule", size=SIX_MEGAPIXELS, **how)
    with tempfile.TemporaryDirectory() as folder:
        _, shot = take(shoot, Path(folder), seed=11)
        shot = replace(shot, damage=_told(shoot, places) if is_told else ())
        edges = edges_of(load_picture(Path(shot.file), shot), shot, lambda words: None)
    outline = recover_outline(edges, OutlineSettings())
    return edges, outline, compare_outline(outline, sound)


def _farthest(outline: Outline, sound: Drawing) -> float:
    """Largest distance between the design's loops and the drawing's, each laid on the other, mm."""
    field = depths_of(sound.loops)
    truth = np.concatenate([walk(list(loop), 0.1) for loop in sound.loops])
    drawn = np.concatenate([walk(to_segments(loop), 0.1) for loop in outline.design])
    laid = lay_on(drawn, field, truth).apply(drawn)
    there = np.abs(field.depth(laid[:, 0].copy(), laid[:, 1].copy())[0]).max()
    back = cKDTree(laid).query(truth)[0].max()
    return float(max(there, back))


@pytest.mark.parametrize("name", CASES)
def test_told_of_its_damage_the_design_is_the_sound_drawing(name: str) -> None:
    _, outline, score = measured(name)
    sound = CASES[name][0]
    assert (score.found, score.invented) == (score.circles, 0)
    assert [len(loop.segments) for loop in outline.design if loop.role == "outer"] == [len(sound.loops[0])]
    # walked at steps of 0.1 mm, two like curves may lie half a step apart along themselves
    assert _farthest(outline, sound) < 0.06
    assert score.hits == score.asked


def test_untold_the_damage_is_drawn() -> None:
    _, outline, _ = measured("chipped", False)
    assert _farthest(outline, COVER) > 1.0


@pytest.mark.parametrize(("name", "left", "mirrored"), [("chipped", 2, 0), ("nicked_ring", 2, 0), ("bent_ear", 1, 1)])
def test_what_was_left_out_is_said(name: str, left: int, mirrored: int) -> None:
    _, outline, _ = measured(name)
    codes = [note.code for note in outline.notes]
    assert (codes.count("damage_left_out"), codes.count("damage_mirrored"), codes.count("damage_not_mirrored")) \
        == (left, mirrored, 0)
    assert all(" mm of rim" in note.text for note in outline.notes if note.code in ("damage_left_out", "damage_mirrored"))


@pytest.mark.parametrize("name", CASES)
def test_no_rim_has_a_point_in_a_damaged_place(name: str) -> None:
    edges, _, _ = measured(name)
    assert len(edges.damage) == len(CASES[name][2])
    for place in edges.damage:
        assert all(np.hypot(*(rim.points - place.center).T).min() >= place.radius for rim in edges.rims)
