"""Faces laid on each other: closed forms of the placing, Monte Carlo of the offsets' uncertainty, one moved hole in six."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.errors import FitError
from afterpart.geometry.chain import chain_area, chain_points
from afterpart.geometry.matching import Motion, fit_places, own_uncertainties, pairings, roomiest
from afterpart.model.outline import Arc, Line

HOLES = np.array([(-66.0, -38.0), (-4.0, -39.0), (58.0, -27.0), (66.0, 26.0), (14.0, 43.0), (-66.0, 42.0)])
NONE, NO_GAPS = np.zeros((0, 2)), np.zeros(0)
U = 0.03


def _seen(holes: np.ndarray, mirrored: bool, angle_deg: float, shift: tuple[float, float]) -> np.ndarray:
    """The holes as a picture of the other face has them: what Motion undoes."""
    a = math.radians(angle_deg)
    back = (holes - np.array(shift)) @ np.array([[math.cos(a), -math.sin(a)], [math.sin(a), math.cos(a)]])
    return back * np.array([1.0, -1.0 if mirrored else 1.0])


@pytest.mark.parametrize("mirrored", [False, True])
@pytest.mark.parametrize("angle_deg", [0.0, 100.0, 181.0])
def test_holes_find_their_partners_turned_mirrored_and_shuffled(mirrored: bool, angle_deg: float) -> None:
    order = np.array([3, 0, 5, 1, 4, 2])
    other = _seen(HOLES, mirrored, angle_deg, (7.0, -3.0))[order]
    best = pairings(HOLES, other, mirrored)[0]
    assert [order[k] for _, k in best.pairs] == [i for i, _ in best.pairs] == list(range(6))
    np.testing.assert_allclose(best.motion.of(other[[k for _, k in best.pairs]]), HOLES, atol=1e-9)
    assert len(pairings(HOLES, other, not mirrored)[0].pairs) < 6


def test_a_chain_moves_as_its_points_do() -> None:
    chain = (Line("a", (0.0, 0.0), (10.0, 0.0)), Arc("b", (10.0, 0.0), (0.0, 0.0), (5.0, 0.0), 5.0, True))
    motion = Motion(True, 0.7, (3.0, 4.0), 0.01)
    moved = motion.of_chain(chain)
    np.testing.assert_allclose(chain_points(moved, 0.02)[0], motion.of(np.array([(0.0, 0.0)]))[0])
    assert chain_area(moved) == pytest.approx(-(1.01**2) * chain_area(chain))


def test_one_moved_hole_shows_its_whole_offset_and_pulls_no_other() -> None:
    moved = HOLES.copy()
    moved[3] += (0.3, 0.2)
    other = _seen(moved, False, 2.0, (0.4, 0.1))
    fit = fit_places(HOLES, other, np.full(6, U), 4e-4, pairings(HOLES, other, False)[0].motion)
    assert fit.kept.tolist() == [True, True, True, False, True, True]
    np.testing.assert_allclose(fit.off[3], (0.3, 0.2), atol=1e-6)
    assert np.abs(fit.off[fit.kept]).max() < 1e-6


def test_offsets_are_as_sure_as_they_say() -> None:
    """Normal draws: the squares of offsets by their covariance follow chi-square with two degrees of freedom (mean 2)."""
    rng = np.random.default_rng(3)
    moved = HOLES.copy()
    moved[3] += (0.5, -0.4)
    ratios, called = [], []
    for _ in range(300):
        other = moved * (1.0 + 4e-4 * rng.standard_normal()) + U * rng.standard_normal((6, 2))
        fit = fit_places(HOLES, other, np.full(6, U), 4e-4, Motion(False, 0.0, (0.0, 0.0)))
        truth = moved - HOLES
        away = fit.off - np.where(fit.kept[:, None], 0.0, truth)
        ratios.append([float(a @ np.linalg.inv(c) @ a) for a, c in zip(away, fit.covariance, strict=True)])
        called.append(~fit.kept)
    called = np.array(called)
    assert called[:, 3].all()
    assert called[:, [0, 1, 2, 4, 5]].any(axis=1).mean() < 0.04
    assert np.mean(ratios) == pytest.approx(2.0, abs=0.25)


def test_two_holes_share_what_their_distance_is_off() -> None:
    """Closed form: play g at both, distance off by d: g - d / 2 is left at each end."""
    at, off = np.array([(-50.0, 0.0), (50.0, 0.0)]), np.array([(0.05, 0.0), (0.25, 0.0)])
    placed = roomiest(at, off, np.full(2, 0.3), NONE, NONE, NO_GAPS)
    np.testing.assert_allclose(placed.room, 0.3 - 0.2 / 2, atol=1e-3)
    assert placed.shift[0] == pytest.approx(0.15, abs=1e-3)


def test_three_offsets_on_a_circle_keep_their_place() -> None:
    """Offsets of the same size in three directions 120 degrees apart, all at one place nearly: nothing can be gained."""
    angle = np.radians([90.0, 210.0, 330.0])
    off = 0.2 * np.column_stack([np.cos(angle), np.sin(angle)])
    at = np.column_stack([np.cos(angle), np.sin(angle)])
    placed = roomiest(at, off, np.full(3, 0.5), NONE, NONE, NO_GAPS)
    np.testing.assert_allclose(placed.room, 0.3, atol=1e-3)


def test_roomiest_beats_every_placing_of_a_fine_grid() -> None:
    rng = np.random.default_rng(5)
    off, gaps = 0.2 * rng.standard_normal((6, 2)), rng.uniform(0.2, 0.5, 6)
    walls, normals, room = np.array([(70.0, 0.0), (0.0, 50.0)]), np.array([(1.0, 0.0), (0.0, 1.0)]), np.array([0.1, 0.15])
    placed = roomiest(HOLES, off, gaps, walls, normals, room)
    best = min(placed.room.min(), placed.walls.min())
    x, y, turn = np.meshgrid(np.linspace(-0.3, 0.3, 41), np.linspace(-0.3, 0.3, 41), np.linspace(-0.006, 0.006, 41))
    arm, wall_arm = HOLES - placed.amid, walls - placed.amid
    left = np.full(x.shape, np.inf)
    for (ox, oy), (px, py), g in zip(off, arm, gaps, strict=True):
        left = np.minimum(left, g - np.hypot(ox - x + turn * py, oy - y - turn * px))
    for (nx, ny), (px, py), w in zip(normals, wall_arm, room, strict=True):
        left = np.minimum(left, w - nx * (x - turn * py) - ny * (y + turn * px))
    assert left.max() <= best + 2e-3
    assert left.max() > best - 0.03


def test_uncertainties_of_places_come_back_from_their_distances() -> None:
    u = np.array([0.02, 0.03, 0.025, 0.04])
    ends = [(i, j) for i in range(4) for j in range(i + 1, 4)]
    found = own_uncertainties(4, ends, [math.hypot(u[i], u[j]) for i, j in ends])
    np.testing.assert_allclose(found, u, rtol=1e-9)


def test_one_hole_is_refused() -> None:
    with pytest.raises(FitError, match="two or more on each face"):
        pairings(HOLES[:1], HOLES, False)
