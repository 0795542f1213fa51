"""The mating part laid on the cover: offsets hole by hole, room all round, clashes; the worst place first.

Words: as in model/mate.py and geometry/matching.py.  The cover's face looks at the mate's, so that a mate seen from its outside
is mirrored on the cover's drawing; where the drawing shows the cover's other face, or the mate is an ink print, it is not.  Both
senses are tried: where only the other one fits, it is taken, and told.
Two placings: the offsets are told where the holes that agree have it (a moved hole is seen whole); room is told in the placing
that leaves the tightest place most, for that is what the bolts will find.
Conventions: mm; drawing frame of the cover.
Limits: a bolt is taken to stand in the middle of the mate's hole, as a thread holds it; play in a mate's through hole is not
counted.  What stands out of the mate's face is not seen in its outline.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from afterpart.checks.mate_edges_round import Walls, edges_of
from afterpart.checks.mate_face import Face, FaceHole, edge_uncertainty, outer_of, place_uncertainties, round_holes
from afterpart.checks.mate_pitches import shared_pitches
from afterpart.errors import JobError
from afterpart.geometry.chain import chain_points, distance_to_chain
from afterpart.geometry.matching import WITHIN, Pairing, PlaceFit, Roomiest, fit_places, pairings, roomiest
from afterpart.model.edges import Note
from afterpart.model.mate import Clash, Laying, MateEdge, MateHole, MateMatch, MateWall
from afterpart.model.outline import Circle, Outline
from afterpart.words import tell

TRIED = 6
"""Best pairings of either sense whose outlines are compared, too."""

CLEARLY = 4.0
"""The sense that is not expected must fit so many times better to be taken (mean squares)."""

AS_GOOD = 0.03
"""Mean square, mm2, by which another turn may fit worse and still be called as good."""

LIKELIER = 0.5
"""Probability of a pitch's design value by both pictures below which its runner-up is told."""

EDGE_STEP = 0.05
FEW = 4
"""Holes from which on a moved one can be told from the others."""


def match_mate(face: Face, outline: Outline, mate: Outline, way: str, shown: str, part: int = 1) -> MateMatch:
    """The mate's measured outline laid on the cover's face.

    outline: the cover's drawing, for the uncertainty of its scale; way: of model.mate.WAYS; shown: the face the cover's drawing
    shows, "mating" or "other".  JobError: too few holes, or none that agree."""
    loops = [loop for loop in mate.measured if loop.part == part]
    circles = round_holes(loops)
    _refuse_few(face, circles)
    own, other = (np.array([c.at for c in face.holes]), np.array([c.center for c in circles]))
    expected = (shown == "mating") != (way == "ink print")
    best, notes = _chosen(face, own, other, chain_points(outer_of(loops), EDGE_STEP), expected)
    ours, theirs = np.array(best.pairs).T
    u = np.hypot([face.holes[i].u for i in ours], place_uncertainties(mate, tuple(c.id for c in circles))[theirs])
    fit = fit_places(own[ours], other[theirs], u, math.hypot(mate.reference.relative_u, _scale_u(face, outline)), best.motion)
    laid = tuple(replace(loop, segments=fit.motion.of_chain(loop.segments)) for loop in loops)
    place_u = edge_uncertainty(mate)
    edges, walls = edges_of(face, laid, place_u)
    pairs = [(face.holes[i], circles[k]) for i, k in zip(ours, theirs, strict=True)]
    placed = _placed(pairs, fit, walls)
    holes = _holes(pairs, fit, placed)
    lone = tuple(h.id for k, h in enumerate(face.holes) if k not in ours)
    clashes = _clashes(face, holes, edges, lone)
    laying = Laying(fit.motion.mirrored, math.degrees(fit.motion.angle_rad), fit.motion.shift, fit.motion.growth, fit.growth_u,
                    fit.motion.mirrored == expected)
    pitches = shared_pitches(outline, mate, holes)
    notes += [Note("mate_pitch",
                   tell("Pitch {one_id} ({of}) is drawn as {design:g} mm; with the mate's picture {runner_up:g} is likelier "
                        "({cover:.2f} and {mate:.2f} measured): take it by calliper (reading {one_id}).", one_id=one.id,
                        of=" ".join(one.of), design=one.design, runner_up=one.runner_up, cover=one.cover, mate=one.mate))
              for one in pitches if one.probability < LIKELIER]
    notes += _notes(laying, mate, outline, fit, len(pairs))
    worst_first = tuple(sorted(edges, key=lambda e: (not e.must_clear, e.least)))
    rooms = tuple(MateWall(spot.name, spot.at, float(room), place_u) for spot, room in zip(face.spots, walls[2], strict=True))
    return MateMatch(face.of, way, laying, holes, worst_first, clashes, place_u,
                     placed.shift if placed else (0.0, 0.0), math.degrees(placed.turn_rad) if placed else 0.0,
                     placed.amid if placed else (0.0, 0.0), lone,
                     tuple(c.id for k, c in enumerate(circles) if k not in theirs), laid, tuple(notes), rooms, pitches)


def _refuse_few(face: Face, circles: tuple[Circle, ...]) -> None:
    for count, whose in ((len(face.holes), tell("the cover")), (len(circles), tell("the mate"))):
        if count < 2:
            raise JobError(f"photo.shows = \"mate\": found {count} round hole(s) on {whose}, expected two or more to lay one on "
                           "the other. Photograph the whole face with its bolt holes, free of grease and gasket.")


def _scale_u(face: Face, outline: Outline) -> float:
    """Of the cover's places as they are laid: a drawing whose holes are all settled by numbers is as exact as its numbers."""
    return outline.reference.relative_u if any(hole.u for hole in face.holes) else 0.0


def _chosen(face: Face, own: np.ndarray, other: np.ndarray, edge: np.ndarray, expected: bool) -> tuple[Pairing, list[Note]]:
    """The pairing whose holes and edges fit best, in the expected sense unless only the other one fits."""
    ranked = {sense: sorted(((_score(face, own, other, edge, p), p) for p in pairings(own, other, sense)[:TRIED]),
                            key=lambda one: one[0]) for sense in (expected, not expected)}
    tried = [ranked[sense] for sense in (expected, not expected) if ranked[sense]]
    if not tried or len(tried[0][0][1].pairs) < 2:
        raise JobError(f"photo.shows = \"mate\": no two holes of the mate lie as two of the cover's do, within {WITHIN:g} mm. "
                       "Is it the face this cover is bolted to? Check face_height, reference_height and [mate] way.")
    if len(tried) == 2 and tried[0][0][0] > CLEARLY * tried[1][0][0] + AS_GOOD:
        tried.reverse()
    score, best = tried[0][0]
    notes = [Note("mate_turned",
                  tell("The mate fits about as well turned by {degrees:.0f} degrees: mark which side is up.",
                       degrees=math.degrees(again.motion.angle_rad - best.motion.angle_rad) % 360.0))
             for worse, again in tried[0][1:] if worse < score + AS_GOOD and len(again.pairs) == len(best.pairs)][:1]
    return best, notes


def _score(face: Face, own: np.ndarray, other: np.ndarray, edge: np.ndarray, pairing: Pairing) -> float:
    """Mean square of what holes and edge are off by, each at most WITHIN; a hole without a partner counts as that much."""
    apart = np.full(len(own), WITHIN)
    for i, k in pairing.pairs:
        apart[i] = min(math.dist(own[i], pairing.motion.of(other[k])[0]), WITHIN)
    off = np.minimum(distance_to_chain(pairing.motion.of(edge), face.outer), WITHIN)
    return float((apart ** 2).mean() + (off ** 2).mean())


def _placed(pairs: list[tuple[FaceHole, Circle]], fit: PlaceFit, walls: Walls) -> Roomiest | None:
    """The placing that leaves most room; None where neither bolts nor walls are known."""
    known = [k for k, (hole, _) in enumerate(pairs) if hole.gap is not None]
    if not known and not len(walls[0]):
        return None
    at = np.array([pairs[k][0].at for k in known]).reshape(-1, 2)
    gaps = np.array([pairs[k][0].gap for k in known], float)
    return roomiest(at, fit.off[known], gaps, *walls)


def _holes(pairs: list[tuple[FaceHole, Circle]], fit: PlaceFit, placed: Roomiest | None) -> tuple[MateHole, ...]:
    """Hole by hole, the least room first, then the largest offset."""
    rooms = iter(placed.room.tolist() if placed else ())
    found = []
    for (hole, circle), kept, off, covariance in zip(pairs, fit.kept, fit.off, fit.covariance, strict=True):
        ux, uy = math.sqrt(covariance[0, 0]), math.sqrt(covariance[1, 1])
        room = next(rooms) if placed and hole.gap is not None else None
        found.append(MateHole(hole.id, circle.id, hole.at, hole.diameter, 2.0 * circle.radius * (1.0 + fit.motion.growth),
                              (float(off[0]), float(off[1])), (ux, uy), float(covariance[0, 1]) / (ux * uy), not bool(kept),
                              hole.bolt, hole.gap, room))
    return tuple(sorted(found, key=lambda h: (not h.moved, h.room if h.room is not None else math.inf, -h.away)))


def _clashes(face: Face, holes: tuple[MateHole, ...], edges: tuple[MateEdge, ...], lone: tuple[str, ...]) -> tuple[Clash, ...]:
    found = [Clash(tell("The bolt of hole {cover} does not pass beside the others", cover=h.cover), -h.room, h.at) for h in holes
             if h.room is not None and h.room < 0.0]
    found += [Clash(tell("{what} has no room", what=e.what), -e.least, e.at) for e in edges if e.must_clear and e.least < 0.0]
    found += [Clash(tell("Behind hole {h_id} the mate has no hole", h_id=h.id), h.diameter, h.at) for h in face.holes
              if h.id in lone and face.of == "cover"]
    return tuple(sorted(found, key=lambda clash: -clash.by))


def _notes(laying: Laying, mate: Outline, outline: Outline, fit: PlaceFit, count: int) -> list[Note]:
    notes = []
    if not laying.as_expected:
        notes.append(Note("mate_sense",
                          tell("The two pictures fit only in the sense that was not expected: cover and mate face each other, so "
                               "that one of them must look mirrored. Check that the cover's "
                               'picture shows the face it says (face = "mating" or "other"), and [mate] way, '
                               "before anything is printed.")))
    prior = math.hypot(mate.reference.relative_u, outline.reference.relative_u)
    if abs(laying.growth) > 3.0 * prior:
        notes.append(Note("mate_size",
                          tell("The mate's picture had to be grown by {growth:+.2f} %, more than the two scales allow "
                               "({prior:.2f} %): is its face_height right?", growth=100.0 * laying.growth, prior=100.0 * prior)))
    if count < FEW:
        notes.append(Note("mate_few",
                          tell("Only {count} holes belong together: which of them is off cannot be told.", count=count)))
    if fit.spread > 2.0:
        notes.append(Note("mate_spread",
                          tell("The holes scatter {spread:.1f} times as much as their uncertainties say; those of the offsets "
                               "are widened by that.", spread=fit.spread)))
    return notes
