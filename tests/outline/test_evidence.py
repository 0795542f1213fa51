"""The lattice search: the same sums as by the formula, value by value, and single precision only where it cannot matter."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import numpy as np
import pytest

from afterpart.outline import evidence, frame
from afterpart.outline.evidence import ANCHOR_OFFSETS, ANCHOR_WEIGHTS, ANCHORS, Values, family_evidence
from afterpart.outline.frame import find_lattice
from afterpart.outline.nominals import PROFILES, WIDE_FACTOR, WIDE_SHARE

STEPS, FREE = (1.0, 0.5, 0.25, 0.1), 0.06
SHARES = np.array([p.shares for p in PROFILES if p.steps == STEPS])


def invented(seed: int, count: int, step: float = 1.0) -> Values:
    """Values on whole steps, made 0.3 % small, with errors; the last of each kind lies off the lattice."""
    rng = np.random.default_rng(seed)

    def values(offset: float) -> tuple[np.ndarray, np.ndarray]:
        u = rng.uniform(0.006, 0.06, count)
        true = rng.integers(1, 160, count) * step
        true[-1] += 0.37 * step
        return 0.997 * (true + offset) + rng.normal(0.0, u), u

    return Values(*values(0.21), *values(-3.4), *values(0.0))


def ratio(place: float, u: float, step: float) -> float:
    """Likelihood ratio of one value and one step (nominals.py, first lines), without any shortcut."""
    if u > 0.4 * step:
        return 1.0
    z = (place - round(place / step) * step) / u
    wide = WIDE_SHARE / WIDE_FACTOR * math.exp(-0.5 * (z / WIDE_FACTOR) ** 2)
    return step * ((1.0 - WIDE_SHARE) * math.exp(-0.5 * z * z) + wide) / (u * math.sqrt(2.0 * math.pi))


def mixture(places: np.ndarray, u: np.ndarray, shares: np.ndarray) -> float:
    return sum(math.log(FREE + sum(share * ratio(p, v, step) for step, share in zip(STEPS, shares, strict=True)))
               for p, v in zip(places.tolist(), u.tolist(), strict=True))


def by_the_formula(values: Values, scale: float, shares: np.ndarray) -> float:
    total = mixture(scale * values.sizes, values.sizes_u, shares)
    for own, u in ((values.x, values.x_u), (values.y, values.y_u)):
        terms, anchors = [], sorted(range(len(own)), key=lambda i: u[i])[:ANCHORS]
        for a in anchors:
            rest = [i for i in range(len(own)) if i != a]
            terms += [weight * math.exp(mixture(scale * (own[rest] - own[a] - offset * u[a]), u[rest], shares))
                      for offset, weight in zip(ANCHOR_OFFSETS, ANCHOR_WEIGHTS, strict=True)]
        total += math.log(sum(terms) / len(anchors))
    return total


@pytest.mark.parametrize("count", [3, 9, 31])
def test_all_scales_and_profiles_at_once_are_the_formula_one_by_one(count: int) -> None:
    values, scales = invented(count, count), np.array([0.992, 1.0, 1.00301, 1.0102])
    found = family_evidence(values, scales, STEPS, SHARES, FREE, np.float64)
    assert found.shape == (len(SHARES), len(scales))
    told = [[by_the_formula(values, scale, shares) for scale in scales.tolist()] for shares in SHARES]
    assert found == pytest.approx(np.array(told), abs=1e-8)


@pytest.mark.parametrize("seed", range(6))
def test_single_precision_errs_less_than_a_hundredth(seed: int) -> None:
    values, scales = invented(seed, 12), np.linspace(0.992, 1.014, 300)
    fine, rough = (family_evidence(values, scales, STEPS, SHARES, FREE, kind) for kind in (np.float64, np.float32))
    assert np.ptp(fine) > 20.0 and np.abs(fine - rough).max() < 0.01


@pytest.mark.parametrize("much", [0, math.inf])
@pytest.mark.parametrize(("seed", "step"), [(0, 1.0), (1, 0.5), (2, 25.4 / 8), (3, 2.54)])
def test_what_is_looked_at_roughly_changes_nothing(seed: int, step: float, much: float, monkeypatch: pytest.MonkeyPatch) -> None:
    values = invented(seed, 11, step)
    monkeypatch.setattr(frame, "MUCH", much)
    quick = find_lattice(values, 0.002, FREE, "unknown")
    monkeypatch.setattr(frame, "MUCH", math.inf)
    monkeypatch.setattr(frame, "FAR_BEHIND", math.inf)
    monkeypatch.setattr(frame, "NO_WEIGHT", math.inf)
    whole = find_lattice(values, 0.002, FREE, "unknown")
    assert quick.profile.name == whole.profile.name
    assert [quick.scale, quick.phase_x, quick.phase_y, quick.evidence, quick.margin] == pytest.approx(
        [whole.scale, whole.phase_x, whole.phase_y, whole.evidence, whole.margin], rel=1e-12)
    assert quick.probability == pytest.approx(whole.probability, abs=1e-7)
    assert quick.scale == pytest.approx(1.0 / 0.997, abs=3e-4)


def test_blocks_of_any_size_tell_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    values, scales = invented(8, 30), np.linspace(0.992, 1.014, 70)
    found = []
    for at_once in (1, 30 * 70, 10**9):
        monkeypatch.setattr(evidence, "AT_ONCE", at_once)
        found.append(family_evidence(values, scales, STEPS, SHARES, FREE, np.float64))
    assert np.allclose(found[0], found[1], rtol=1e-13, atol=0) and np.allclose(found[0], found[2], rtol=1e-13, atol=0)


def looks(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, int]]:
    """What is asked of the evidence from now on: precision and number of scales."""
    asked: list[tuple[str, int]] = []

    def telling(values: Values, scales: np.ndarray, *rest: object) -> np.ndarray:
        asked.append((np.dtype(rest[-1]).name, len(scales)))
        return family_evidence(values, scales, *rest)

    monkeypatch.setattr(frame, "family_evidence", telling)
    return asked


def test_where_every_scale_stays_likely_none_is_looked_at_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Coordinates that lie on no lattice, many of them: one scale in eight is looked at, then all, once."""
    rng = np.random.default_rng(11)
    values = Values(rng.uniform(0, 90, 30), np.full(30, 0.03), np.zeros(0), np.zeros(0), np.zeros(0), np.zeros(0))
    asked = looks(monkeypatch)
    monkeypatch.setattr(frame, "MUCH", 0)
    find_lattice(values, 0.002, FREE, "metric")
    (first, some), (second, every) = asked
    assert (first, second) == ("float32", "float64") and some < every / 7


def test_a_lattice_not_good_enough_is_not_asked_for_its_digits(monkeypatch: pytest.MonkeyPatch) -> None:
    values = invented(4, 11, 1.0)
    whole = find_lattice(values, 0.002, FREE, "unknown")
    assert find_lattice(values, 0.002, FREE, "unknown", None, whole.margin - 1e-6) == whole
    asked = looks(monkeypatch)
    assert find_lattice(values, 0.002, FREE, "unknown", None, whole.margin + 12.0).margin < whole.margin + 12.0
    assert {name for name, _ in asked} == {"float32"}


def test_the_share_of_the_only_system_is_no_more_than_all() -> None:
    """Summed in another order one row of weights may be more than itself in the last digit; odds of it would be negative."""
    rng = np.random.default_rng(7)
    rows = [[("metric", float(score)) for score in rng.normal(0.0, 3.0, 4)] + [("inch", -900.0)] * 4 for _ in range(400)]
    assert max(frame._share_of_system("metric", scores) for scores in rows) == 1.0
