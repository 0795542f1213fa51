"""Mates for the checks: the plate of fit_cases with six holes, and its mate as a perfect picture would give it, moved about.

The mate's drawing lies mirrored, turned by 30 degrees and shifted, as its own picture would have it; places known to 0.02 mm,
scale to 2e-4.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from afterpart.checks.mate_face import Face, face_of_cover
from afterpart.checks.mate_match import match_mate
from afterpart.geometry.chain import reversed_chain
from afterpart.geometry.matching import Motion
from afterpart.model.case import Case
from afterpart.model.edges import Reference
from afterpart.model.feature import Chain, Lip
from afterpart.model.mate import MateMatch
from afterpart.model.outline import Circle, Datum, Dimension, Loop, Outline, Point
from tests.checks.fit_cases import plate, rectangle

PLACES = ((-50.0, -22.0), (0.0, -24.0), (52.0, -20.0), (50.0, 21.0), (5.0, 24.0), (-48.0, 22.0))
U, SCALE_U = 0.02, 2e-4
AWAY = Motion(True, math.radians(30.0), (11.0, -7.0))


def holes(diameter: float = 6.6, locating: tuple[int, int] = (1, 3)) -> tuple[tuple[str, Point, float, str], ...]:
    return tuple((f"c{k}", at, diameter, "locates" if k in locating else "clears") for k, at in enumerate(PLACES, start=1))


def mate_outline(moved: dict[int, Point] | None = None, outer: Chain | None = None, growth: float = 0.0,
                 openings: tuple[Chain, ...] = (), motion: Motion = AWAY) -> Outline:
    """The mate's drawing.  moved: by which its holes (counted from 0) are off, in the cover's axes."""
    places = [(x + dx, y + dy) for k, (x, y) in enumerate(PLACES) for dx, dy in ((moved or {}).get(k, (0.0, 0.0)),)]
    rim = outer or rectangle(120.0, 60.0)
    loops = [Loop("outer", 1, rim), *(Loop("opening", 1, (Circle(f"m{k}", at, 2.5),)) for k, at in enumerate(places, start=1)),
             *(Loop("opening", 1, reversed_chain(chain)) for chain in openings)]
    motion = replace(motion, growth=growth)
    laid = tuple(replace(loop, segments=motion.of_chain(loop.segments)) for loop in loops)
    known = tuple(Dimension(f"d{i}{j}", "distance", (f"m{i + 1}", f"m{j + 1}"), length := math.dist(places[i], places[j]),
                            math.hypot(math.sqrt(2.0) * U, SCALE_U * length), length, 0.0, None, "free")
                  for i in range(6) for j in range(i + 1, 6))
    return Outline("mm", Reference("rule", 10.0, SCALE_U), Datum("", (0.0, 0.0), 0.0), laid, laid, known, ())


def laid(mate: Outline, lip: Lip | None = None, diameter: float = 6.6, shown: str = "mating", edge: str = "flush",
         face: Face | None = None) -> tuple[Case, MateMatch]:
    """The plate with this mate laid on it, and how it lies."""
    case = plate(holes(diameter), lip=lip, edge=edge)
    face = face or face_of_cover(case)
    assert face is not None
    match = match_mate(face, case.outline, mate, "alone", shown)
    return replace(case, mate=match), match


def offsets(match: MateMatch) -> np.ndarray:
    """(6, 2) by the cover's ids."""
    found = {hole.cover: hole.offset for hole in match.holes}
    return np.array([found[f"c{k}"] for k in range(1, 7)])
