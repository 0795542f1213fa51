"""Whole fits by many draws: one gap against its closed form, the best placement against an independent solver, more clearance."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from afterpart.formulas import fit_montecarlo as fm
from afterpart.formulas.fit_montecarlo import Contact, Spread, fit_share, opening_for, pair_share

FAR = 4.5
"""Standard errors between simulation and closed form: a chance of one in 100 000, and the seed is fixed."""

SIX = tuple(Contact(at, gap, None, "", 0.08, 0.05, True) for at, gap in (
    ((-66.0, 40.0), 0.1), ((14.0, 41.0), 0.2), ((66.0, 24.0), 0.2), ((58.0, -29.0), 0.1), ((-66.0, -40.0), 0.2),
    ((-4.0, -41.0), 0.2)))
SPREAD = Spread(0.0018, 0.0003, 0.0014, 0.05)


def _box(gap: float = 0.2, place_u: float = 0.1) -> tuple[Contact, ...]:
    """Four walls about a rectangle 140 x 90, each by its two ends."""
    sides = (((70.0, 40.0), (70.0, -40.0), (1.0, 0.0)), ((-70.0, 40.0), (-70.0, -40.0), (-1.0, 0.0)),
             ((60.0, 45.0), (-60.0, 45.0), (0.0, 1.0)), ((60.0, -45.0), (-60.0, -45.0), (0.0, -1.0)))
    return tuple(Contact(at, gap, n, f"side {i}", place_u) for i, (a, b, n) in enumerate(sides) for at in (a, b))


def _pair(gap: float, place_u: float = 0.0, gap_u: float = 0.0, angle_deg: float = 0.0, common: bool = False
          ) -> tuple[Contact, Contact]:
    x, y = 50.0 * math.cos(math.radians(angle_deg)), 50.0 * math.sin(math.radians(angle_deg))
    return Contact((x, y), gap, None, "", place_u, gap_u, common), Contact((-x, -y), gap, None, "", place_u, gap_u, common)


@pytest.mark.parametrize("angle_deg", (0.0, 30.0, 90.0))
def test_two_holes_follow_the_closed_form_within_their_standard_error(angle_deg: float) -> None:
    """Distance deviates by sqrt(2) place_u along the line; the strain's spread is the same in every direction."""
    found = fit_share(_pair(0.2, 0.1, 0.03, angle_deg), Spread(0.0015, 0.0005), 400_000, 3)
    u_distance = math.sqrt(2 * 0.1 ** 2 + (100 * 0.0015) ** 2 + (100 * 0.0005) ** 2)
    expected = math.erf(0.4 / math.sqrt(2 * (u_distance ** 2 + 2 * 0.03 ** 2)))
    assert pair_share(0.4, u_distance, math.sqrt(2) * 0.03) == pytest.approx(expected, abs=1e-12)
    assert abs(found.share - expected) < FAR * found.standard_error


def test_a_rectangular_strain_alone_gives_the_ratio_of_room_to_its_half_width() -> None:
    """|e| L <= 2 g with e evenly in +-h: share 2 g / (h L) = 0.3 / 0.5."""
    found = fit_share(_pair(0.15), Spread(thermal=0.005), 400_000, 5)
    assert abs(found.share - 0.6) < FAR * found.standard_error


def test_one_hole_alone_only_needs_its_bolt_to_pass() -> None:
    """A shift takes up any deviation of place: P = Phi(gap / u_gap), Phi(2) = 0.977250 (tables of the normal distribution)."""
    found = fit_share((Contact((0.0, 0.0), 0.2, None, "", 5.0, 0.1),), Spread(), 400_000, 1)
    assert abs(found.share - 0.977250) < FAR * found.standard_error


def test_walls_that_face_each_other_resist_growth_only() -> None:
    """Machine grows by e L against 2 c of room: P = Phi(2 c / (u L)) when only one axis has walls."""
    walls = tuple(c for c in _box(0.1, 0.0) if c.normal is not None and c.normal[1] == 0.0)
    found = fit_share(walls, Spread(scale_u=0.002), 200_000, 2)
    expected = 0.5 * (1 + math.erf(0.2 / (0.002 * 140.0) / math.sqrt(2)))
    assert abs(found.share - expected) < FAR * found.standard_error


@pytest.mark.parametrize(("contacts", "opened"), ((SIX, 0.0), (SIX, 0.1), (_box(), 0.0), (_box(0.3) + SIX, 0.05)))
def test_every_draw_is_decided_as_an_independent_solver_decides_it(contacts: tuple[Contact, ...], opened: float) -> None:
    """scipy's SLSQP on: least x with every contact's overlap at most x."""
    scene, draws = fm._Scene(contacts, SPREAD), 60
    block = next(scene.blocks(draws, 11))
    decided = fm._fits(scene, iter([block]), draws, opened)
    rows, d = len(scene.motion), scene.count
    motion = scene.motion.astype(float)
    for column, fits in zip(block.T.astype(float), decided, strict=True):
        w, g = column[:rows], column[rows:] + opened

        def room(x: np.ndarray, w: np.ndarray = w, g: np.ndarray = g) -> np.ndarray:
            v = w + motion @ x[:3]
            return np.concatenate([g[:d] - np.hypot(v[:d], v[d:2 * d]), g[d:] - v[2 * d:]]) + x[3]

        best = minimize(lambda x: x[3], [0.0, 0.0, 0.0, 1.0], constraints=[{"type": "ineq", "fun": room}], method="SLSQP",
                        options={"ftol": 1e-10, "maxiter": 300})
        assert abs(best.fun) < 1e-4 or (best.fun < 0.0) == fits
    assert 0 < np.count_nonzero(decided) < draws


def test_only_draws_at_the_very_edge_of_fitting_stay_open() -> None:
    """Whatever is proved neither way after all steps is off by less than the aim, a fifth of a thousandth of a millimetre."""
    scene = fm._Scene(SIX + _box(0.3), SPREAD)
    block = np.concatenate(list(scene.blocks(20_000, 4)), axis=1)
    rows = len(scene.motion)
    move, left = np.zeros((3, block.shape[1]), np.float32), block
    for _ in range(fm._STEPS):
        state = fm._State(scene, left[:rows], left[rows:], move)
        going = ~((state.worst <= 0.0) | state.hopeless())
        move, left = (move + state.newton())[:, going], left[:, going]
    state = fm._State(scene, left[:rows], left[rows:], move)
    assert left.shape[1] < 20
    assert np.all(np.abs(state.worst) < fm._AIM)


def test_more_clearance_never_lowers_the_share() -> None:
    rng = np.random.default_rng(8)
    for seed in range(4):
        gaps = rng.uniform(0.02, 0.4, len(SIX))
        contacts = tuple(Contact(c.at, float(g), None, "", 0.1, 0.05, True) for c, g in zip(SIX, gaps, strict=True))
        for some in (contacts, contacts + _box(0.25)):
            shares = [fit_share(some, SPREAD, 20_000, seed, opened).share for opened in (-0.1, 0.0, 0.05, 0.1, 0.2, 0.4, 2.0)]
            assert shares == sorted(shares)
            assert shares[-1] == 1.0


def test_one_gap_wider_never_lowers_the_share() -> None:
    base = fit_share(SIX, SPREAD, 50_000, 1).share
    for i, c in enumerate(SIX):
        wider = (*SIX[:i], Contact(c.at, c.gap + 0.1, None, "", c.place_u, c.gap_u, True), *SIX[i + 1:])
        assert fit_share(wider, SPREAD, 50_000, 1).share >= base - 3 * math.sqrt(2 * 0.25 / 50_000)


def test_the_opening_found_reaches_the_wanted_share_and_hardly_more() -> None:
    for wanted in (0.5, 0.9, 0.99):
        x = opening_for(SIX, SPREAD, wanted, 30_000, 6)
        assert fit_share(SIX, SPREAD, 30_000, 6, x).share >= wanted
        assert fit_share(SIX, SPREAD, 30_000, 6, x - 0.001).share < wanted + 0.002


def test_what_few_draws_say_first_changes_no_opening() -> None:
    """The same as halving the whole way with all draws."""
    scene = fm._Scene((*SIX, *_box()), SPREAD)
    drawn = np.concatenate(list(scene.blocks(80_000, 11)), axis=1)
    assert fm._guessed(scene, drawn, 0.999) is None
    for wanted in (0.1, 0.5, 0.95, 0.99):
        needed = math.ceil(wanted * 80_000)
        guessed = fm._guessed(scene, drawn, wanted)
        assert guessed is not None and guessed[1] - guessed[0] < 0.2
        halved = fm._narrowed(scene, drawn, needed, *fm._octave(scene, drawn, needed))
        assert opening_for((*SIX, *_box()), SPREAD, wanted, 80_000, 11) == halved
        # a wrong guess is found out
        assert fm._narrowed(scene, drawn, needed, halved + 0.5, halved + 0.6) == halved


def test_what_fits_too_well_may_be_closed() -> None:
    loose = _pair(1.0, 0.05)
    x = opening_for(loose, Spread(), 0.95, 100_000, 2)
    # Phi^-1(0.975) = 1.959964: 2 (1 + x) = 1.959964 sqrt(2) 0.05
    assert x == pytest.approx(1.959964 * math.sqrt(2) * 0.05 / 2 - 1.0, abs=0.001)


def test_the_same_seed_gives_the_same_answer_and_another_seed_another() -> None:
    first = fit_share(SIX, SPREAD, 10_000, 7)
    assert fit_share(SIX, SPREAD, 10_000, 7) == first
    assert opening_for(SIX, SPREAD, 0.9, 10_000, 7) == opening_for(SIX, SPREAD, 0.9, 10_000, 7)
    other = fit_share(SIX, SPREAD, 10_000, 8)
    assert other != first
    assert abs(other.share - first.share) < FAR * math.sqrt(2) * first.standard_error


def test_turning_and_shifting_the_whole_changes_nothing() -> None:
    """The strain is alike in all directions and the placement is free."""
    base = fit_share(SIX, SPREAD, 100_000, 1)
    c, s = math.cos(0.7), math.sin(0.7)
    turned = tuple(Contact((c * k.at[0] - s * k.at[1] + 500.0, s * k.at[0] + c * k.at[1] - 90.0), k.gap, None, "", k.place_u,
                           k.gap_u, k.common) for k in SIX)
    # Not the same strain tensor (independent along x and y), only the same spread in each direction: close, not equal.
    assert abs(fit_share(turned, SPREAD, 100_000, 2).share - base.share) < 0.03


def test_a_bolt_thicker_than_its_hole_never_fits() -> None:
    assert fit_share((*SIX, Contact((0.0, 0.0), -0.01)), Spread(), 100, 1).share == 0.0


@pytest.mark.parametrize(("contacts", "spread", "draws"), (
    ((), Spread(), 10), (SIX, Spread(), 0), (SIX, Spread(strain_u=-1.0), 10),
    ((Contact((0.0, 0.0), 0.1, None, "", -1.0),), Spread(), 10)))
def test_unusable_figures_are_refused(contacts: tuple[Contact, ...], spread: Spread, draws: int) -> None:
    with pytest.raises(ValueError, match="at least one|0 or more"):
        fit_share(contacts, spread, draws, 1)


def test_a_share_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        opening_for(SIX, SPREAD, 1.0, 100, 1)
