"""How many mating parts a part fits, all its contacts together, each pair in its best place.

Words: a *contact* is a place where the two parts may touch: a pin or bolt in a round hole (room all round), or a wall that stops
the part in one direction (room along its normal).  Contacts of one *group* share the deviation of their place (both ends of a
straight wall).  A *draw* is one pair of parts; the pair *fits* when some small motion of the part (two shifts and a turn) leaves
every contact room; *opened* is clearance added to every contact.
Formula: a draw fits when min over (t, phi) of max over i of (|w_i + t + phi k x p_i| - g_i) <= 0, with w_i the deviation of the
contact's place, g_i its room; that minimum is a convex problem, linear in small motions.
How it is decided: the least squares motion is tried first; then Newton steps on the sum of squared overlaps.  A motion without
overlap proves that the pair fits; at a balance of overlaps their weighted mean bounds the minimum from below, which proves that
it does not (weights and gradients of a convex function).  What is left open after all steps (minima within 0.0002 mm of 0) counts
as not fitting.
Spread: places deviate on their own (place_u), by a strain with the same spread in every direction (strain_u; the two directions
of a diagonal stretch independent), by a common scale (scale_u about scale_off) and by warmth (thermal, rectangular).  Normal
where not said.
Conventions: mm; strains are shares; the same seed gives the same answer.
Limits: motions in the plane, turns so small that arcs are straight; rigid parts; independent causes.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from afterpart.formulas.montecarlo import Share
from afterpart.words import tell

Point = tuple[float, float]

BLOCK = 4096
"""Draws worked on at once: few enough to stay near the processor."""

OPENING_DRAWS = 200_000
"""Most draws kept in memory to find how far to open."""

_STEPS = 40
_AIM = np.float32(2e-4)
"""Newton steps aim this far inside (mm), so that they end without overlap where there is room."""
_DAMPING = np.float32(2e-3)
_TINY = np.float32(1e-10)
_LOOSE = np.float32(6.0)
_LEAST_GAP = 0.02
_RESOLUTION = 2e-4
"""How finely the opening is found, mm."""
_SCOUTS = 16_384
"""Draws that are asked first where the opening about lies."""
_SURELY = 5.0
"""Standard errors of the scouts' share beyond which they are believed."""
_ANSWERS_KEPT = 32
"""Two findings ask for the same opening."""


@dataclass(frozen=True)
class Contact:
    """at: its place; gap: room at nominal sizes (radial in a hole); normal: unit vector along which the mating part's feature is
    stopped, None for room all round; group: contacts of one group share the deviation of their place; place_u: of that place,
    mm in each direction; gap_u: of the gap; common: whether the gap follows Spread.gap_common; off: how far the mating part's
    feature stands off on average, mm."""

    at: Point
    gap: float
    normal: Point | None = None
    group: str = ""
    place_u: float = 0.0
    gap_u: float = 0.0
    common: bool = False
    off: Point = (0.0, 0.0)


@dataclass(frozen=True)
class Spread:
    """What is common to all contacts.  strain_u, scale_u: standard deviations; thermal: half width of a rectangular strain;
    gap_common: half width, mm, of a rectangular deviation of all gaps marked common; scale_off: what the common scale is off
    by on average, as a share, either sign."""

    strain_u: float = 0.0
    scale_u: float = 0.0
    thermal: float = 0.0
    gap_common: float = 0.0
    scale_off: float = 0.0


class _Scene:
    """The contacts as matrices: how motions and chance move each of them.

    Rows of deviations: x of every round contact, y of them, then the walls along their normals; rows of a block of draws: these,
    then the gaps of round contacts and of walls.  One column a draw."""

    def __init__(self, contacts: Sequence[Contact], spread: Spread) -> None:
        ordered = sorted(contacts, key=lambda c: c.normal is not None)
        self.contacts, self.spread = ordered, spread
        self.count = d = sum(c.normal is None for c in ordered)
        owner = np.concatenate([np.arange(d), np.arange(len(ordered))])
        along = np.array([*[(1.0, 0.0)] * d, *[c.normal or (0.0, 1.0) for c in ordered]])
        places = np.array([c.at for c in ordered])
        arm = (places - (places[:d] if d else places).mean(axis=0))[owner]
        reach = math.sqrt(float((arm ** 2).sum(axis=1).mean())) or 1.0
        self.motion = np.column_stack([along, (arm[:, 0] * along[:, 1] - arm[:, 1] * along[:, 0]) / reach])
        weight = 1.0 / np.maximum(np.array([c.gap for c in ordered])[owner], _LEAST_GAP)
        stay = np.eye(len(owner)) - self.motion @ np.linalg.pinv(self.motion * weight[:, None]) * weight
        chance = stay @ np.column_stack([_own(ordered, owner, along), _shared(along, arm, spread)])
        self.chance = chance.astype(np.float32)
        stretch = stay @ (along * arm).sum(axis=1)
        self.warmth = (stretch * spread.thermal).astype(np.float32)
        # a scale that prints too long moves the part outwards, which is the mating part's features inwards
        standing = stay @ (along * np.array([c.off for c in ordered])[owner]).sum(axis=1)
        self.off = (standing - stretch * spread.scale_off).astype(np.float32)
        self.bends = _bends(self.motion, d).astype(np.float32)
        self.bounds = _bounds(self.motion[:2 * d], d)
        self.motion = self.motion.astype(np.float32)

    def blocks(self, draws: int, seed: int) -> Iterator[np.ndarray]:
        """The draws in blocks; the same seed gives the same blocks."""
        rng = np.random.default_rng(seed)
        rows = len(self.motion)
        for first in range(0, draws, BLOCK):
            size = min(BLOCK, draws - first)
            block = np.empty((rows + len(self.contacts), size), np.float32)
            np.matmul(self.chance, rng.standard_normal((self.chance.shape[1], size), np.float32), out=block[:rows])
            if self.off.any():
                block[:rows] += self.off[:, None]
            if self.spread.thermal:
                block[:rows] += np.outer(self.warmth, 2.0 * rng.random(size, np.float32) - 1.0)
            _draw_gaps(block[rows:], self.contacts, self.spread.gap_common, rng)
            yield block


def fit_share(contacts: Sequence[Contact], spread: Spread, draws: int, seed: int, opened: float = 0.0) -> Share:
    """Share of pairs that fit with `opened` mm added to every contact, and its standard error.

    ValueError: no contacts, no draws, or a negative spread."""
    _refuse(contacts, spread, draws)
    scene = _Scene(contacts, spread)
    p = int(np.count_nonzero(_fits(scene, scene.blocks(draws, seed), draws, opened))) / draws
    return Share(p, math.sqrt(p * (1.0 - p) / draws), draws)


def opening_for(contacts: Sequence[Contact], spread: Spread, wanted: float, draws: int, seed: int) -> float:
    """Clearance (mm) to add to every contact so that this share of pairs fits; negative where some can be taken away.

    At most OPENING_DRAWS draws are looked at; found to 0.0002 mm.  ValueError: as fit_share, or wanted not between 0 and 1."""
    return _opening(tuple(contacts), spread, wanted, min(draws, OPENING_DRAWS), seed)


@lru_cache(maxsize=_ANSWERS_KEPT)
def _opening(contacts: tuple[Contact, ...], spread: Spread, wanted: float, draws: int, seed: int) -> float:
    if not 0.0 < wanted < 1.0:
        raise ValueError(f"share must lie between 0 and 1, found {wanted!r}")
    _refuse(contacts, spread, draws)
    scene = _Scene(contacts, spread)
    drawn = np.concatenate(list(scene.blocks(draws, seed)), axis=1)
    narrow = _guessed(scene, drawn, wanted) if draws > 4 * _SCOUTS else None
    return _narrowed(scene, drawn, math.ceil(wanted * draws), *(narrow or _octave(scene, drawn, math.ceil(wanted * draws))))


def _octave(scene: _Scene, drawn: np.ndarray, needed: int) -> tuple[float, float]:
    """The step of a doubling ladder in which the opening lies: too little, and enough."""
    low, high = -max(c.gap for c in scene.contacts) - 1.0, 0.0
    while np.count_nonzero(_fits(scene, _slices(drawn), drawn.shape[1], high)) < needed:
        low, high = high, max(2.0 * high, 0.25)
    return low, high


def _guessed(scene: _Scene, drawn: np.ndarray, wanted: float) -> tuple[float, float] | None:
    """The same step halved, and halved again, as often as some of the draws say surely in which half the opening lies; None where
    they are too few to say a step.  `_narrowed` looks at all draws there, and would find out a wrong guess."""
    few = drawn[:, :_SCOUTS]
    doubt = _SURELY * math.sqrt(wanted * (1.0 - wanted) / _SCOUTS)
    if wanted - doubt <= 0.0 or wanted + doubt >= 1.0:
        return None
    least, most = (math.ceil(share * _SCOUTS) for share in (wanted - doubt, wanted + doubt))
    low, high = _octave(scene, few, most)
    if np.count_nonzero(_fits(scene, _slices(few), _SCOUTS, low)) >= least:
        return None
    while high - low > _RESOLUTION:
        middle = 0.5 * (low + high)
        count = np.count_nonzero(_fits(scene, _slices(few), _SCOUTS, middle))
        if least <= count < most:
            break
        low, high = (low, middle) if count >= most else (middle, high)
    return low, high


def _narrowed(scene: _Scene, drawn: np.ndarray, needed: int, low: float, high: float) -> float:
    """The least opening of the halvings of (low, high) at which so many draws fit.

    Draws that fit at `low` always fit; draws that do not at `high` never matter: only those between are tried again."""
    at_low, at_high = (_fits(scene, _slices(drawn), drawn.shape[1], opened) for opened in (low, high))
    sure = int(np.count_nonzero(at_low))
    if sure >= needed or np.count_nonzero(at_high) < needed:
        return _narrowed(scene, drawn, needed, *_octave(scene, drawn, needed))
    drawn = drawn[:, at_high & ~at_low]
    while high - low > _RESOLUTION:
        middle = 0.5 * (low + high)
        fits = _fits(scene, _slices(drawn), drawn.shape[1], middle)
        count = sure + int(np.count_nonzero(fits))
        if count >= needed:
            high = middle
        else:
            low, sure, fits = middle, count, ~fits
        drawn = drawn[:, fits]
    return high


def pair_share(play: float, u_distance: float, u_play: float, off: float = 0.0) -> float:
    """Share of pairs in which two contacts, whose gaps add up to `play`, take a deviation of their distance: closed form.

    P(-G <= d <= G) with d ~ N(off, u_distance), G ~ N(play, u_play), independent, s = sqrt(u_d^2 + u_p^2):
    Phi((play - off) / s) + Phi((play + off) / s) - 1, which is 2 Phi(play / s) - 1 for off = 0, where the draws with G < 0 < |d|
    that this counts twice are left out (their share is below Phi(-play / u_play)).  mm."""
    spread = math.hypot(u_distance, u_play)
    if spread == 0.0:
        return float(play >= abs(off))
    return max(0.5 * sum(math.erf((play + side) / (math.sqrt(2.0) * spread)) for side in (off, -off)), 0.0)


def _refuse(contacts: Sequence[Contact], spread: Spread, draws: int) -> None:
    if not contacts or draws < 1:
        raise ValueError(f"at least one contact and one draw are needed, found {len(contacts)} and {draws}")
    spreads = [u for c in contacts for u in (c.place_u, c.gap_u)]
    if min([*spreads, spread.strain_u, spread.scale_u, spread.thermal, spread.gap_common]) < 0.0:
        raise ValueError("a spread must be 0 or more")


def _slices(drawn: np.ndarray) -> Iterator[np.ndarray]:
    return (drawn[:, first:first + BLOCK] for first in range(0, drawn.shape[1], BLOCK))


def _own(ordered: Sequence[Contact], owner: np.ndarray, along: np.ndarray) -> np.ndarray:
    """How each group's own deviation (two columns a group) moves the rows."""
    names = [c.group or tell("contact {i}", i=i) for i, c in enumerate(ordered)]
    groups = {name: i for i, name in enumerate(dict.fromkeys(names))}
    found = np.zeros((len(owner), 2 * len(groups)))
    for row, i in enumerate(owner):
        column = 2 * groups[names[i]]
        found[row, column:column + 2] = ordered[i].place_u * along[row]
    return found


def _shared(along: np.ndarray, arm: np.ndarray, spread: Spread) -> np.ndarray:
    """Columns: strain along x, along y, shear, scale.  A shear of half the variance makes the strain alike in all directions."""
    stretch = along * arm
    shear = (along * arm[:, ::-1]).sum(axis=1)
    return np.column_stack([spread.strain_u * stretch, spread.strain_u / math.sqrt(2.0) * shear,
                            spread.scale_u * stretch.sum(axis=1)])


def _draw_gaps(rows: np.ndarray, contacts: Sequence[Contact], common: float, rng: np.random.Generator) -> None:
    """Fills the rows with draws of the gaps, in place."""
    shift = np.float32(common) * (2.0 * rng.random(rows.shape[1], np.float32) - 1.0) if common else np.float32(0.0)
    for row, contact in zip(rows, contacts, strict=True):
        if contact.gap_u:
            rng.standard_normal(out=row, dtype=np.float32)
            row *= np.float32(contact.gap_u)
        else:
            row[:] = 0.0
        row += np.float32(contact.gap)
        if contact.common:
            row += shift


def _bends(motion: np.ndarray, count: int) -> np.ndarray:
    """(6, rows) that sums the 2 x 2 curvatures (xx, xy, yy of round contacts, nn of walls) to xx, xy, xt, yy, yt, tt."""
    jx, jy = motion[:count, 2], motion[count:2 * count, 2]
    one, nil = np.ones(count), np.zeros(count)
    n = motion[2 * count:].T
    return np.array([np.concatenate(row) for row in (
        (one, nil, nil, n[0] * n[0]), (nil, one, nil, n[0] * n[1]), (jx, jy, nil, n[0] * n[2]),
        (nil, nil, one, n[1] * n[1]), (nil, jx, jy, n[1] * n[2]), (jx * jx, 2.0 * jx * jy, jy * jy, n[2] * n[2]))])


def _bounds(motion: np.ndarray, count: int) -> np.ndarray | None:
    """(3, count): how far each freedom can move for 1 mm at each round contact; None: they do not hold all three."""
    if count == 0 or np.linalg.matrix_rank(motion, tol=1e-6) < 3:
        return None
    back = np.abs(np.linalg.pinv(motion))
    return (back[:, :count] + back[:, count:]).astype(np.float32)


def _fits(scene: _Scene, source: Iterator[np.ndarray], draws: int, opened: float) -> np.ndarray:
    """For every draw, in order, whether the pair fits.  Decided draws leave the workbench, new ones take their place."""
    result = np.zeros(draws, bool)
    rows, extra = len(scene.motion), len(scene.contacts)
    bench = np.empty((rows + extra + 3, 0), np.float32)
    number, steps, taken = np.empty(0, np.int64), np.empty(0, np.int16), 0
    while True:
        while bench.shape[1] < BLOCK // 2 and (block := next(source, None)) is not None:
            size = block.shape[1]
            fresh = np.concatenate([block, np.zeros((3, size), np.float32)])
            fresh[rows:rows + extra] += np.float32(opened)
            bench = np.concatenate([bench, fresh], axis=1)
            number = np.concatenate([number, np.arange(taken, taken + size)])
            steps = np.concatenate([steps, np.zeros(size, np.int16)])
            taken += size
        if bench.shape[1] == 0:
            return result
        state = _State(scene, bench[:rows], bench[rows:-3], bench[-3:])
        fits = state.worst <= 0.0
        result[number[fits]] = True
        going = np.flatnonzero(~(fits | state.hopeless() | (steps >= _STEPS)))
        bench[-3:] += state.newton()
        bench, number, steps = bench.take(going, axis=1), number[going], steps[going] + np.int16(1)


class _State:
    """Overlaps and their slopes at a motion, for a block of draws."""

    def __init__(self, scene: _Scene, places: np.ndarray, gaps: np.ndarray, move: np.ndarray) -> None:
        d = scene.count
        self.scene, self.gaps = scene, gaps
        v = scene.motion @ move
        v += places
        self.v = v
        self.far = np.sqrt(v[:d] * v[:d] + v[d:2 * d] * v[d:2 * d])
        self.far += _TINY
        self.over = np.concatenate([self.far, v[2 * d:]])
        self.over -= gaps
        self.worst = self.over.max(axis=0)

    def hopeless(self) -> np.ndarray:
        """Draws proved not to fit: a bolt thicker than its hole, or overlaps whose weighted mean stays above 0 wherever a motion
        without overlap could lie."""
        d, v = self.scene.count, self.v
        self.pushed = np.maximum(self.over + _AIM, 0.0)
        self.unit = v[:2 * d].reshape(2, d, v.shape[1]) / self.far
        push = np.concatenate([(self.unit * self.pushed[:d]).reshape(2 * d, v.shape[1]), self.pushed[d:]])
        self.gradient = self.scene.motion.T @ push
        weighted = (self.pushed * self.over).sum(axis=0)
        # Where nothing overlaps, a round contact is off by its room at most: so far can the motion be from here.
        if self.scene.bounds is not None:
            reach = self.scene.bounds @ (self.far + np.abs(self.gaps[:d]))
        else:
            reach = _LOOSE * (np.abs(self.over).max(axis=0) + np.abs(self.gaps).max(axis=0))[None, :]
        doomed = weighted > (np.abs(self.gradient) * reach).sum(axis=0)
        return doomed | (self.gaps[:d].min(axis=0, initial=0.0) < 0.0)

    def newton(self) -> np.ndarray:
        """The step that would end the sum of squared overlaps, were it quadratic."""
        d = self.scene.count
        active = np.sign(self.pushed)
        ux, uy = self.unit
        curve = np.empty((3 * d + len(self.pushed) - d, self.far.shape[1]), np.float32)
        bend = self.pushed[:d] / self.far
        slack = active[:d] - bend
        a, b, c = curve[:d], curve[d:2 * d], curve[2 * d:3 * d]
        np.multiply(slack, ux, out=b)
        np.multiply(b, ux, out=a)
        a += bend
        b *= uy
        np.add(active[:d], bend, out=c)
        c -= a
        curve[3 * d:] = active[d:]
        return _solved(self.scene.bends @ curve, -self.gradient)


def _solved(curvature: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Solutions of the symmetric 3 x 3 systems, a little damped, by cofactors."""
    xx, xy, xt, yy, yt, tt = curvature
    xx, yy, tt = xx + _DAMPING, yy + _DAMPING, tt + _DAMPING
    c11, c12, c13 = yy * tt - yt * yt, xt * yt - xy * tt, xy * yt - xt * yy
    c22, c23, c33 = xx * tt - xt * xt, xt * xy - xx * yt, xx * yy - xy * xy
    r0, r1, r2 = right / np.maximum(xx * c11 + xy * c12 + xt * c13, _TINY)
    return np.stack([c11 * r0 + c12 * r1 + c13 * r2, c12 * r0 + c22 * r1 + c23 * r2, c13 * r0 + c23 * r1 + c33 * r2])
