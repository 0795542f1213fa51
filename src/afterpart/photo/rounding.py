"""What a picture says of the rims' rounding beside other pictures of the same part: evidence that may be added up.

One picture settles its rounding for itself (shape.py), blur first; but from straight above a sharper edge in a more blurred
picture looks the same, and what is surely and wrongly told there would outvote pictures that see the rounding aslant.  Here each
rounding has the blur that suits it best, and the misfits (rimmisfit.py) know what they cannot know: a picture that does not tell
the rounding says so.  `agreed_looks` of shape.py adds the pictures up.
Limits: the sharpening is settled once, with the rounding found before.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import numpy as np

from afterpart.model.edges import EdgeMap
from afterpart.photo.profile import RimShape, Spread
from afterpart.photo.rimmisfit import CLOSE, judge_courses, with_faults
from afterpart.photo.rimprobe import Course, ProbeBlock, read_probes
from afterpart.photo.shape import (
    DRAFTS_DEG,
    ROUNDINGS_MM,
    RimLook,
    between,
    chosen_courses,
    evidence_of,
    least_spread,
    mean_slope,
    tangent,
)

BLURS_PX = tuple(0.5 * 2.0 ** (k / 6) for k in range(24))
"""Blurs so close that none between them would make another rounding likelier."""

BLUR_SHARES = (0.8, 0.9, 1.0, 1.12, 1.25)
"""Blurs that are tried with each rounding, as shares of the one settled."""

FINE_BLURS = 41

WEIGHT = 80.0
"""Log likelihood for a unit of the mean logarithmic misfit: with it the booth's roundings lie within what is claimed."""


def weighed_look(light: np.ndarray, edges: EdgeMap, look: RimLook) -> RimLook:
    """The look with its rounding weighed; as it is where that was told or could not be asked.  light: (h, w) linear; edges: as
    traced with this look."""
    shape = replace(look.shape, height=edges.face_height)
    roundings = [r for r in ROUNDINGS_MM if r < 0.9 * shape.height]
    if look.evidence is None or look.rounding_told or len(roundings) < 2 or edges.camera is None:
        return look
    camera, px = edges.camera, 1.0 / edges.reference.px_per_mm
    chains = [rim.points for rim in edges.rims if rim.part == 1 and rim.role in ("outer", "opening")]
    numbers, courses = chosen_courses(chains, px, max(roundings))

    def read(seen: RimShape) -> ProbeBlock:
        return with_faults(read_probes(light, camera, courses, seen, px, CLOSE))

    block = read(shape)
    spread = settle_spread(block, courses, shape, look.spread)
    gains = blur_gains(block, courses, shape, spread, roundings)
    table = []
    for draft in DRAFTS_DEG:
        leaning = replace(shape, draft=tangent(draft))
        block = read(leaning)
        table.append([judge_courses(block, courses, replace(leaning, rounding=r), spread) for r in roundings])
    is_round = np.array([course.normal_smooth == 0 for course in courses])
    evidence = evidence_of(table, roundings, is_round, numbers, len(chains), gains, WEIGHT)
    return replace(look, weighed=replace(evidence, slope=mean_slope(camera, chains[0], shape.height)))


def settle_spread(block: ProbeBlock, courses: list[Course], shape: RimShape, start: Spread) -> Spread:
    """Blur and sharpening of least misfit."""
    return least_spread(lambda spread: judge_courses(block, courses, shape, spread).misfit, BLURS_PX, start, stride=2)


def blur_gains(block: ProbeBlock, courses: list[Course], shape: RimShape, spread: Spread,
               roundings: list[float]) -> np.ndarray:
    """For each rounding how much its misfit gains (0 or less) by the blur that suits it best."""
    nodes = np.log(BLUR_SHARES)
    across = between(nodes, np.linspace(nodes[0], nodes[-1], FINE_BLURS))
    gains = []
    for rounding in roundings:
        rounded = replace(shape, rounding=rounding)
        misfit = np.array([judge_courses(block, courses, rounded, replace(spread, blur_px=share * spread.blur_px)).misfit
                           for share in BLUR_SHARES])
        gains.append(min(float((across @ misfit).min()) - float(misfit[BLUR_SHARES.index(1.0)]), 0.0))
    return np.array(gains)
