"""A circle from its sectors, on costs made by hand, and round rims of several views made one.

Checks in closed form: equal parabolas give the circle they were drawn about, and the covariance of a circle from evenly spread
normals (place 2 s2 / n, radius s2 / n); a sector that sees something else moves it little; a rim seen aslant is known worse along
the sight line; views that each know one direction give both; openings of a view that stand off together shift nothing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.camera import Camera
from afterpart.model.edges import EdgeMap, Reference, Rim
from afterpart.photo.pooled import Seen, match_rims, pool_rims
from afterpart.photo.rims import RimFit
from afterpart.photo.roundrim import RoundFit, circle_chain, robust_circle
from afterpart.photo.roundsectors import FAULT_PX, SLOPE_FAULT_PX, lowest_places, settle_by_sectors

PX, HEIGHT, RADIUS, COUNT = 0.09, 8.0, 3.3, 120
ABOVE = ((1, 0, 0), (0, -1, 0), (0, 0, -1))
TRUE = np.array([0.04, -0.03, 0.02])


def camera(x: float, y: float) -> Camera:
    """Looks straight down from 700 mm above the face."""
    return Camera(4000, 3000, 700.0 / PX, 0.0, 0.0, ABOVE, (x, y, HEIGHT + 700.0))


def fitted(width: float, strange: slice | None = None) -> RoundFit:
    """An opening's fit about the origin whose probes all have parabolas of this width (one standard uncertainty, mm) about the
    circle TRUE stands off; those of `strange` have theirs 0.25 mm away from it."""
    base = circle_chain(np.zeros(2), RADIUS, COUNT, True)
    normals = -base / RADIUS
    places = np.arange(-20, 21) * 0.025
    right = normals @ TRUE[:2] - TRUE[2]
    if strange is not None:
        right[strange] += 0.25
    costs = np.minimum(((places - right[:, None]) / width) ** 2, 20.0)
    none = np.zeros(COUNT)
    rim = RimFit(base, normals, none, none, none, places, costs, base, 30, 1.0)
    return RoundFit(TRUE[:2], RADIUS + TRUE[2], np.full(3, 0.01), 0.0, rim)


def test_even_sectors_give_their_circle_and_its_covariance() -> None:
    width = 0.05
    settled = settle_by_sectors(fitted(width), camera(0.0, 0.0), HEIGHT, PX)
    assert np.allclose([*settled.centre, settled.radius - RADIUS], TRUE, atol=2e-4)
    per_sector = width**2 / (COUNT / 24) + (FAULT_PX * PX) ** 2
    assert np.diag(settled.covariance) == pytest.approx(per_sector * np.array([2, 2, 1]) / 24, rel=0.03)


def test_a_sector_that_sees_something_else_moves_the_circle_little() -> None:
    settled = settle_by_sectors(fitted(0.03, slice(10, 20)), camera(0.0, 0.0), HEIGHT, PX)
    # by plain least squares two sectors of 24 that stand 0.25 mm off would move the centre by 0.25 / 6
    assert np.abs(np.array([*settled.centre, settled.radius - RADIUS]) - TRUE).max() < 0.003


def test_a_circle_seen_aslant_is_known_worse_along_the_sight_line() -> None:
    settled = settle_by_sectors(fitted(0.03), camera(350.0, 0.0), HEIGHT, PX)
    u = np.sqrt(np.diag(settled.covariance))
    assert u[0] > 1.3 * u[1]
    assert u[0] < SLOPE_FAULT_PX * 0.5 * PX
    assert settled.centre == pytest.approx(TRUE[:2], abs=1e-3)


def test_the_lowest_place_is_the_parabolas_and_of_its_own_valley() -> None:
    places = np.linspace(-1.0, 1.0, 81)
    two = np.minimum(((places - 0.113) / 0.1) ** 2, ((places + 0.71) / 0.1) ** 2 - 1.0)[None]
    place, u = lowest_places(two, places, np.array([0.2]))
    assert place[0] == pytest.approx(0.113, abs=1e-9)
    assert u[0] == pytest.approx(0.1, rel=1e-6)
    assert lowest_places(two, places, np.array([-0.6]))[0][0] == pytest.approx(-0.71, abs=1e-9)


OPENINGS = ((-40.0, 10.0, 3.3), (35.0, -20.0, 3.3), (5.0, 30.0, 3.3))


def view(at: tuple[float, float], off: np.ndarray, u: tuple[float, float, float]) -> Seen:
    """A view from above `at` whose openings stand off by off (3, 2), with these uncertainties of x, y and radius."""
    square = np.array([[-60, -45], [60, -45], [60, 45], [-60, 45]], float)
    sides = np.concatenate([square[k] + np.linspace(0, 1, 200, endpoint=False)[:, None] * (square[(k + 1) % 4] - square[k])
                            for k in range(4)])
    rims = [Rim("outer", 1, sides, np.full(len(sides), 0.01))]
    covariance = tuple(map(tuple, np.diag(np.square(u)).tolist()))
    for (x, y, r), shift in zip(OPENINGS, off, strict=True):
        rims.append(Rim("opening", 1, circle_chain(np.array([x, y]) + shift, r, 90, True), np.full(90, 0.05),
                        round_cov=covariance))
    return Seen(EdgeMap("mm", tuple(rims), Reference("sheet", 11.0, 1e-4), camera(*at), HEIGHT, 0.4), 0, (0.0, 0.0, 0.0))


def centres(views: list[Seen]) -> np.ndarray:
    """Centres (3, 2) of the pooled openings less the true ones."""
    pooled = pool_rims(views, match_rims(views, 0)).rims[1:]
    assert all(rim.round_cov == () for rim in pooled)
    return np.array([robust_circle(rim.points)[0] for rim in pooled]) - np.array(OPENINGS)[:, :2]


def test_views_that_each_know_one_direction_give_both() -> None:
    wild = np.array([[0.03, 0.0], [-0.04, 0.0], [0.02, 0.0]])
    found = centres([view((0.0, 0.0), wild, (0.1, 0.003, 0.01)), view((0.0, 0.0), wild[:, ::-1], (0.003, 0.1, 0.01))])
    assert np.abs(found).max() < 0.002


def test_openings_that_stand_off_together_in_a_steep_view_shift_nothing() -> None:
    shift = np.tile([0.05, -0.03], (3, 1))
    own = np.array([[0.012, 0.0], [-0.006, 0.0], [-0.006, 0.0]])
    straight, steep = view((0.0, 0.0), 0.0 * own, (0.005, 0.005, 0.005)), view((350.0, 0.0), shift + own, (0.005, 0.005, 0.005))
    found = centres([straight, steep])
    # as a whole they stay where the straight view sees them; of each by itself both views count alike
    assert np.abs(found.mean(axis=0)).max() < 0.004
    assert np.abs(found - found.mean(axis=0) - 0.5 * own).max() < 0.001


def test_a_rim_without_sectors_is_known_by_the_slope_of_its_sight_line() -> None:
    bare = [replace(one, edges=replace(one.edges, rims=tuple(replace(rim, round_cov=()) for rim in one.edges.rims)))
            for one in (view((0.0, 0.0), np.zeros((3, 2)), (1, 1, 1)), view((350.0, 0.0), np.full((3, 2), 0.03), (1, 1, 1)))]
    assert np.abs(centres(bare)).max() < 0.01
