"""The light on a picture's round openings, found from all of them together, and the openings fitted again in it.

A small opening seen aslant gives each probe a narrow shaded rounding before a floor that may be as bright as the face; its edge
is told only when the rounding's shade is known.  All probes have one law of light (rimlight.py); its weights are a linear least
squares problem once each probe's own levels (face, floor and their falling off) are eliminated.  Light and places are found by
turns: what is taken for light at first is partly the circles' own error.
Limits: openings of one size, for the light that comes into a narrow one is less; walls of one colour.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from afterpart.model.camera import Camera
from afterpart.photo.profile import GLINT, SHEEN, WALL, RimShape, Spread, rim_patterns
from afterpart.photo.rimlight import TERMS, RimLight, harmonics
from afterpart.photo.rimprobe import Grain, ProbeBlock, read_probes
from afterpart.photo.roundrim import RoundFit, circle_course, fit_round_rims

FEWEST, ONE_SIZE = 4, 1.15
"""Openings of one size (within this factor) that there must be before light is told from shape."""

LEAST_ROUNDING_PX = 1.5
"""A rounding narrower than so many pixels is hardly seen."""

TURNS, ROUNDS = 4, 4
"""How often light and circles are found by turns; how often strange probes are weighed anew."""

SETTLED_PX = 0.05
"""Circles that moved by less are where they belong."""

REACH_PX, VOID_PX = 3.0, 12.0
STRANGE = 3.0
"""A probe explained so many times worse than the middle one counts half (a channel or a mark beside the rim)."""

USUAL, USUAL_U = (0.3, 0.0, 0.0), (0.45, 0.3, 0.3)
"""Wall, glint and sheen of moulded openings as shares of the face, and what each harmonic may be (judgement)."""

SHARED, OWN = [WALL, GLINT, SHEEN], [0, 2, 4, 5, 6]


def fit_in_common_light(light: np.ndarray, camera: Camera, fits: Sequence[RoundFit], shape: RimShape, px: float, spread: Spread,
                        grain: Grain) -> list[RoundFit]:
    """Circles of openings fitted anew in the light that those of one size have in common; others as they are."""
    found = list(fits)
    if shape.rounding < LEAST_ROUNDING_PX * px:
        return found
    for numbers in _alike([fitted.radius for fitted in found]):
        own = [found[k] for k in numbers]
        for k, fitted in zip(numbers, _by_turns(light, camera, own, shape, px, spread, grain), strict=True):
            found[k] = fitted
    return found


def _alike(radii: Sequence[float]) -> list[list[int]]:
    """Groups of FEWEST and more circles of one size: how dark a wall is hangs on an opening's width."""
    groups: list[list[int]] = []
    for k in sorted(range(len(radii)), key=lambda k: radii[k]):
        if groups and radii[k] < ONE_SIZE * radii[groups[-1][0]]:
            groups[-1].append(k)
        else:
            groups.append([k])
    return [sorted(group) for group in groups if len(group) >= FEWEST]


def _by_turns(light: np.ndarray, camera: Camera, fits: Sequence[RoundFit], shape: RimShape, px: float, spread: Spread,
              grain: Grain) -> list[RoundFit]:
    """Light and circles of one group by turns."""
    found = list(fits)
    for _ in range(TURNS):
        before, circles = found, [(fitted.centre, fitted.radius, True) for fitted in found]
        lit = replace(shape, light=settle_light(light, camera, circles, shape, px, spread, grain))
        found = fit_round_rims(light, camera, circles, lit, px, spread, (REACH_PX,), grain=grain)
        if max(float(np.abs(a.centre - b.centre).max()) for a, b in zip(found, before, strict=True)) < SETTLED_PX * px:
            break
    return found


def settle_light(light: np.ndarray, camera: Camera, circles: Sequence[tuple[np.ndarray, float, bool]], shape: RimShape, px: float,
                 spread: Spread, grain: Grain) -> RimLight:
    """The law of light that explains the probes of all circles (centre, radius, True) best where they stand."""
    # the patterns of a probe that knows of sheen; what the light is said to be does not enter them
    open_light = replace(shape, light=RimLight(*(np.zeros(count) for count in TERMS)))
    courses = [replace(circle_course(*circle, px, REACH_PX, VOID_PX), every=2) for circle in circles]
    return law_of_light(read_probes(light, camera, courses, open_light, px, grain), open_light, spread)


def law_of_light(block: ProbeBlock, shape: RimShape, spread: Spread) -> RimLight:
    """The law that explains the block's probes best with every rim where its course is laid; shape.light must not be None."""
    gram, right, least = _common_part(block, shape, spread)
    waves = harmonics(block.normals[block.order])
    columns = np.zeros((len(waves), 3, sum(TERMS)))
    ends = np.cumsum((0, *TERMS))
    for row, (start, stop) in enumerate(zip(ends[:-1], ends[1:], strict=True)):
        columns[:, row, start:stop] = waves[:, :stop - start] * block.face[:, None]
    usual, stiff = np.zeros(sum(TERMS)), np.repeat(1 / np.array(USUAL_U) ** 2, TERMS)
    usual[ends[:-1]] = USUAL
    counts, weights = np.ones(len(waves)), usual
    for _ in range(ROUNDS):
        share = counts / block.correlation
        hessian = np.einsum("n,nsc,nst,ntd->cd", share, columns, gram, columns, optimize=True) + np.diag(stiff)
        weights = np.linalg.solve(hessian, np.einsum("n,nsc,ns->c", share, columns, right) + stiff * usual)
        levels = columns @ weights
        misfit = least + np.einsum("ns,nst,nt->n", levels, gram, levels) - 2 * (levels * right).sum(1)
        counts = 1 / (1 + np.maximum(misfit, 0.0) / (STRANGE * float(np.median(misfit)) + 1e-9))
    return RimLight(*(weights[start:stop] for start, stop in zip(ends[:-1], ends[1:], strict=True)))


def _common_part(block: ProbeBlock, shape: RimShape, spread: Spread) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Each probe's least-squares problem in wall, glint and sheen alone, its own levels eliminated: matrix (n, 3, 3), right side
    (n, 3) and what is left with none of the three (n,)."""
    patterns = rim_patterns(shape, block.slope, block.foot, block.px, spread, block.t0, block.step, block.values.shape[1])
    whole = patterns.astype(float)
    gram = np.einsum("gak,gk,gbk->gab", whole, block.weights, whole, optimize=True)
    ridge = np.zeros((len(gram), shape.levels))
    ridge[:, OWN] = 1 / block.prior_u[:, OWN] ** 2
    gram += ridge[:, :, None] * np.eye(shape.levels)
    kind = block.kind
    given = ridge[kind] * (block.given @ block.gives)
    right = np.einsum("nk,nak->na", block.values * block.weights[kind], whole[kind], optimize=True) + given
    inverse = np.linalg.inv(gram[:, OWN][:, :, OWN])
    across = gram[:, SHARED][:, :, OWN] @ inverse
    common = gram[:, SHARED][:, :, SHARED] - across @ gram[:, OWN][:, :, SHARED]
    least = block.total + (given * (block.given @ block.gives)).sum(1)
    least = least - np.einsum("na,nab,nb->n", right[:, OWN], inverse[kind], right[:, OWN])
    return common[kind], right[:, SHARED] - np.einsum("nsa,na->ns", across[kind], right[:, OWN]), least
