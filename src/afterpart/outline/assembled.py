"""The solved parts of a picture put together: everything in the datum frame, every dimension judged."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.uncertainty import coverage_factor
from afterpart.model.edges import Note, Reference
from afterpart.model.job import DatumChoice
from afterpart.model.outline import ByMate, Datum, Dimension, Loop, Outline, Relation, Share
from afterpart.outline.budget import total
from afterpart.outline.datum import Place, place_datum
from afterpart.outline.design import Design
from afterpart.outline.dimensions import Ends, slope_of, value_of
from afterpart.outline.drawing import draw
from afterpart.outline.free import free_segments
from afterpart.outline.part import move_points, move_state, part_corners
from afterpart.outline.readings import how_to_take, next_readings
from afterpart.outline.traced import TracedPart, TracedPicture, size_open
from afterpart.outline.verdicts import Verdict, grounds_of, judge_dimension, list_relations
from afterpart.outline.witness import Heard
from afterpart.standards.clearance_holes import screws_through

SAME_VALUE = 1e-6
"""Two designs have a dimension alike when they differ by less, mm."""

MOST_DOF = 1000.0
"""More degrees of freedom than this are as good as endless."""

EDGE_PLAY = 0.2
"""A design value further from the measured one than this is asked about, mm (judgement)."""

LEAST_SHARE = 0.02
"""A cause that adds less than this share of a dimension's uncertainty is not listed."""


@dataclass(frozen=True)
class Solved:
    """Parts after the readings and their designs; used: ids of the readings taken in; sized: in mm; heard: what the mate's
    picture says of the first part, alone: the design of that without it."""

    traced: list[TracedPart]
    designs: list[Design]
    reference: Reference
    used: set[str]
    notes: list[Note]
    sized: bool
    heard: Heard | None = None
    alone: Design | None = None


def assembled_outline(picture: TracedPicture, solved: Solved, datum: DatumChoice, out: float, unit: float) -> Outline:
    """Everything in the datum frame.  out: factor from house units to the outline's; unit: house units per edge-map unit."""
    traced, designs, used = solved.traced, solved.designs, solved.used
    main = designs[0]
    place = datum_of(traced[0], main, datum)
    origin, angle = datum_in_photo(main, place)
    measured: list[Loop] = []
    design: list[Loop] = []
    dimensions: list[Dimension] = []
    relations: list[Relation] = []
    options: list[tuple[str, np.ndarray, str]] = []
    asks: list[Note] = []
    free: list[str] = []
    lonely = _verdicts_alone(traced[0], solved.alone, used, main) if solved.alone is not None else {}
    for item, own in zip(traced, designs, strict=True):
        is_arc = item.part.is_arc
        measured += draw(item.part, item.layout, move_state(is_arc, item.part.state, origin, angle, out),
                         [move_points(c, origin, angle, out) for c in item.ends.corners])
        # the lattice frame of this part, seen from the datum
        gap = move_points(np.array([own.origin]), origin, angle, own.scale * out)[0]
        turn = own.angle_rad - angle
        back = (
            -(gap[0] * math.cos(turn) + gap[1] * math.sin(turn)) / out,
            -(gap[1] * math.cos(turn) - gap[0] * math.sin(turn)) / out,
        )
        own_ends = Ends(own.part, [move_points(n, own.origin, own.angle_rad, own.scale) for n in item.near])
        design += draw(own.part, item.layout, move_state(is_arc, own.part.state, back, -turn, out),
                       [move_points(c, back, -turn, out) for c in own_ends.corners])
        grounds = grounds_of(own)
        # a pad is gripped from outside, as the outline is
        walls = zip(item.part.roles, item.part.walls, strict=True)
        roles = {row: "outer" if wall == "pad" else role for i, (role, wall) in enumerate(walls) for row in item.part.rows(i)}
        fixed = {wish.name for wish in own.wishes if wish.name}
        asks += own.notes
        free += free_segments(grounds, item.layout.ids, own_ends.corners)
        design_slopes = [slope_of(dimension, own.part, own_ends) for dimension in item.items]
        rooms, weights = grounds.of(np.array(design_slopes).reshape(len(item.items), own.part.state.size))
        budgets = item.part.errors.contributions(np.array(item.slopes).reshape(len(item.items), item.part.state.size))
        for at, (name, dimension, slope) in enumerate(zip(item.names, item.items, item.slopes, strict=True)):
            value, shares = item.value(at), budgets[at]
            u, dof = total(shares)
            factor = out if dimension.kind != "angle" else 1.0
            intended = value_of(dimension, own.part, own_ends)
            verdict = judge_dimension(dimension, grounds, intended, float(rooms[at]), weights[at], name in used)
            both: ByMate | None = None
            if own is main and solved.heard is not None and name in lonely:
                both = solved.heard.says(dimension, lonely[name].probability)
                if both is not None and both.used:
                    verdict = _by_both(verdict, lonely[name], both.moved)
            if name in fixed:
                verdict = Verdict(1.0, None, "maker")
            if verdict.origin == "inferred":
                asks += far_from_measured(name, dimension.kind, value * own.scale, intended)
            dimensions.append(
                Dimension(
                    name,
                    dimension.kind,
                    tuple(item.layout.ids[row] for row in dimension.rows),
                    round(value * factor, 6),
                    round(u * factor, 6),
                    round(intended * factor, 9) + 0.0,
                    round(verdict.probability, 4),
                    verdict.runner_up,
                    verdict.origin,
                    round(coverage_factor(round(dof, 1)) * u * factor, 6),
                    round(dof, 1) if dof < MOST_DOF else None,
                    tuple(
                        Share(share.name, round(share.u * factor, 6)) for share in shares if share.u > LEAST_SHARE * u
                    ),
                    both,
                )
            )
            how = how_to_take(dimension, item.layout.ids, roles[dimension.rows[0]])
            if how and name not in used and own is main:
                options.append((name, slope, how))
        relations += list_relations(own, item.layout.ids, place if own is main else Place((0.0, 0.0), 0.0, ""))
    photo_origin = np.asarray(origin) / unit + picture.middle
    open_part = traced[0] if solved.sized else size_open(traced[0])
    return Outline(
        "mm" if solved.sized else picture.edges.unit,
        solved.reference,
        Datum(place.text, (float(photo_origin[0]), float(photo_origin[1])), math.degrees(angle)),
        tuple(measured),
        tuple(design),
        tuple(dimensions),
        tuple(relations),
        next_readings(open_part.part.errors.covariance, options),
        (*solved.notes, *asks),
        free=tuple(free),
    )


def _verdicts_alone(item: TracedPart, alone: Design, used: set[str], both: Design) -> dict[str, Verdict]:
    """What the part's own picture by itself makes of the values that the design by both pictures has: their probabilities, none
    for a value it would not draw."""
    near = [move_points(n, alone.origin, alone.angle_rad, alone.scale) for n in item.near]
    ends, grounds = Ends(alone.part, near), grounds_of(alone)
    theirs = Ends(both.part, [move_points(n, both.origin, both.angle_rad, both.scale) for n in item.near])
    out = {}
    for name, dimension in zip(item.names, item.items, strict=True):
        if dimension.kind == "distance":
            value = value_of(dimension, alone.part, ends)
            rooms, weights = grounds.of(slope_of(dimension, alone.part, ends)[None])
            verdict = judge_dimension(dimension, grounds, value, float(rooms[0]), weights[0], name in used)
            same = abs(value - value_of(dimension, both.part, theirs)) < SAME_VALUE
            out[name] = verdict if same else Verdict(0.0, round(value, 6), verdict.origin)
    return out


def _by_both(together: Verdict, alone: Verdict, moved: float) -> Verdict:
    """The mean over both hypotheses: no hole was moved, and one was, so that the other picture says nothing."""
    if together.origin == "free":
        return together
    probability = (1.0 - moved) * together.probability + moved * alone.probability
    return Verdict(probability, together.runner_up if together.runner_up is not None else alone.runner_up, together.origin)


def datum_of(item: TracedPart, design: Design, datum: DatumChoice) -> Place:
    """The datum in the design's frame.  Raises UsageError for a datum that names nothing in the outline."""
    rows = {name: row for row, name in item.layout.ids.items()}
    near = [move_points(n, design.origin, design.angle_rad, design.scale) for n in item.near]
    part = design.part
    return place_datum(part, part_corners(part, near), design.pattern or design.equal, datum, rows, bool((~part.is_arc).any()))


def datum_in_photo(design: Design, place: Place) -> tuple[tuple[float, float], float]:
    """Origin and direction (radians) of the datum in the photo's frame, house units."""
    cos, sin = math.cos(design.angle_rad), math.sin(design.angle_rad)
    ox, oy = place.origin[0] / design.scale, place.origin[1] / design.scale
    origin = (design.origin[0] + ox * cos - oy * sin, design.origin[1] + ox * sin + oy * cos)
    return origin, design.angle_rad + place.angle_rad


def far_from_measured(name: str, kind: str, measured: float, design: float) -> list[Note]:
    """A question to the maker where the design value would leave the part: by more than a quarter of a clearance hole's play, or
    by EDGE_PLAY between edges or centres.  measured: at the design's scale."""
    play = EDGE_PLAY
    if kind == "diameter":
        play = min((0.25 * (design - nominal) for nominal in screws_through(design)), default=EDGE_PLAY)
    if kind not in ("diameter", "distance", "width", "gap") or abs(measured - design) <= play:
        return []
    return [
        Note(
            "design_far",
            f"{name}: measured {measured:.3f}, the design value would be {design:.3f}; that is more than {play:.2f} mm apart. "
            f"Which is right? Measure it and say --reading {name}=VALUE.",
        )
    ]
