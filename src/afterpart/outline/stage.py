"""Stage 3: the rims of a picture -> the drawing, measured and designed."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import UsageError
from afterpart.geometry.uncertainty import coverage_factor
from afterpart.model.edges import EdgeMap, Note, Reference
from afterpart.model.job import Reading
from afterpart.model.outline import Datum, Dimension, Loop, Outline, Relation, Share
from afterpart.outline.budget import SIZE, scale_alone, total
from afterpart.outline.chain import Chain
from afterpart.outline.contradictions import reference_conflict
from afterpart.outline.datum import Place, place_datum
from afterpart.outline.design import Design, design_part, free_design, main_direction
from afterpart.outline.dimensions import Item, list_dimensions, slope_of, value_of
from afterpart.outline.drawing import Layout, draw, lay_out
from afterpart.outline.part import Part, assemble, growth_slope, move_points, moved, part_corners, touching, with_errors
from afterpart.outline.readings import Taken, how_to_take, next_readings, take_readings
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.trace import trace_rims
from afterpart.outline.verdicts import grounds_of, judge_dimension, list_relations

UNSCALED_EXTENT = 100.0
"""Size given to a part of unknown size while it is traced, so that settings in mm keep their meaning."""

UNSCALED_RELATIVE_U = 0.05
"""Scale uncertainty left open around the readings that settle an unknown size."""

MOST_DOF = 1000.0
"""More degrees of freedom than this are as good as endless."""

LEAST_SHARE = 0.02
"""A cause that adds less than this share of a dimension's uncertainty is not listed."""


@dataclass(frozen=True)
class _Traced:
    """One part before readings: photo frame about `middle`, house units."""

    number: int
    part: Part
    layout: Layout
    items: list[Item]
    names: list[str]
    points: list[np.ndarray]
    near: list[np.ndarray]


def recover_outline(edges: EdgeMap, settings: OutlineSettings) -> Outline:
    """The outline of all parts in the picture.

    Raises FitError when a rim cannot be drawn, UsageError for a datum or reading that names nothing in the outline.
    """
    if not edges.rims:
        raise UsageError("Found no rims in the edge map, expected at least the outer one; measure the photo again.")
    everything = np.concatenate([rim.points for rim in edges.rims])
    middle = 0.5 * (everything.min(axis=0) + everything.max(axis=0))
    sized = edges.unit == "mm"
    unit = 1.0 if sized else UNSCALED_EXTENT / float(np.ptp(everything, axis=0).max())
    settings = _with_bias(settings, edges.rim_bias_u * unit)
    traced = _trace_parts(edges, middle, unit, settings)
    _check_ids(traced, settings)
    reference, notes, growth = edges.reference, list(edges.notes), 1.0
    if not sized and settings.readings:
        growth = _settled_size(traced, settings.readings)
        traced = [_size_open(_grown(item, growth)) for item in traced]
        reference, sized = Reference("readings", edges.reference.px_per_mm, UNSCALED_RELATIVE_U), True
    settled = take_readings([item.part for item in traced], _taken(traced, settings.readings))
    notes += settled.notes
    traced = [replace(item, part=touching(part)) for item, part in zip(traced, settled.parts, strict=True)]
    if settled.against_reference is not None:
        camera_height = edges.camera.position[2] if edges.camera is not None and edges.unit == "mm" else None
        notes.append(
            reference_conflict(reference.kind, settled.against_reference, reference.relative_u, settled.used, camera_height)
        )
    if settled.used:
        kind = reference.kind if "readings" in reference.kind else f"{reference.kind}+readings"
        reference = replace(reference, relative_u=traced[0].part.scale_u, kind=kind)
    designs = [design_part(item.part, item.points, settings) if sized else free_design(item.part) for item in traced]
    if edges.unit != "mm" and sized:
        reference = replace(reference, px_per_mm=1.0 / (unit * growth))
    if not sized:
        notes.append(
            Note(
                "size_unknown",
                "Nothing in the picture told the size: all lengths are in pixels. "
                "Enter the readings named as next and measure again.",
            )
        )
    notes += _scale_notes(designs[0], traced[0].part.scale_u)
    return _assembled(
        edges,
        settings,
        traced,
        designs,
        reference,
        set(settled.used),
        notes,
        middle,
        1.0 if sized else 1.0 / unit,
        unit * growth,
        sized,
    )


def _with_bias(settings: OutlineSettings, rim_bias_u: float) -> OutlineSettings:
    """The settings with what the photo stage adds to the error common to a whole rim."""
    return replace(settings, edge_bias_u=math.hypot(settings.edge_bias_u, rim_bias_u))


def _trace_parts(edges: EdgeMap, middle: np.ndarray, unit: float, settings: OutlineSettings) -> list[_Traced]:
    rims = edges.rims
    points = [(np.asarray(rim.points, float) - middle) * unit for rim in rims]
    chains, _, _ = trace_rims(points, [np.asarray(rim.u, float) * unit for rim in rims], settings)
    traced: list[_Traced] = []
    centre = (float(middle[0]), float(middle[1]))
    lines = circles = names = 0
    for number in sorted({rim.part for rim in rims}):
        own = [i for i, rim in enumerate(rims) if rim.part == number]
        part = assemble(
            [chains[i] for i in own],
            [rims[i].role for i in own],
            settings,
            [points[i] for i in own],
            edges.shared or scale_alone(edges.reference.relative_u if edges.unit == "mm" else 0.0, centre),
            centre,
            unit,
            [rims[i].doubts for i in own],
        )
        turned = moved(part, (0.0, 0.0), main_direction(part))
        corners = part_corners(turned, [move_points(chain.corners, (0.0, 0.0), main_direction(part)) for chain in part.chains])
        layout = lay_out(turned, corners, [rims[i].wall for i in own], number, lines, circles)
        circles += sum(chain.is_circle for chain in part.chains)
        lines += sum(chain.size for chain in part.chains if not chain.is_circle)
        items = list_dimensions(turned, layout, corners)
        labels = [f"d{names + k + 1}" for k in range(len(items))]
        names += len(items)
        traced.append(
            _Traced(number, part, layout, items, labels, [points[i] for i in own], [chain.corners for chain in part.chains])
        )
    return traced


def _check_ids(traced: list[_Traced], settings: OutlineSettings) -> None:
    known = {name for item in traced for name in item.names}
    unknown = [reading.id for reading in settings.readings if reading.id not in known]
    if unknown:
        raise UsageError(
            f"reading {', '.join(unknown)}: found no such dimension in this outline, expected one of d1 to d{len(known)}; "
            "take the ids from outline.json."
        )


def _taken(traced: list[_Traced], readings: tuple[Reading, ...]) -> list[Taken]:
    """The readings at their dimensions."""
    out = []
    for reading in readings:
        for k, item in enumerate(traced):
            if reading.id in item.names:
                dimension = item.items[item.names.index(reading.id)]
                value = value_of(dimension, item.part, item.part.state, item.near)
                out.append(Taken(reading, k, dimension, value, slope_of(dimension, item.part, item.part.state, item.near)))
    return out


def _settled_size(traced: list[_Traced], readings: tuple[Reading, ...]) -> float:
    """Middle ratio of reading over measured, over all length readings."""
    ratios = [taken.reading.value / taken.value for taken in _taken(traced, readings) if taken.item.kind != "angle"]
    if not ratios:
        raise UsageError("Found only angle readings, expected at least one length to settle the size of the part.")
    return float(np.median(ratios))


def _size_open(item: _Traced) -> _Traced:
    """The part with its size left open round what the readings make of it."""
    growth = UNSCALED_RELATIVE_U * growth_slope(item.part)
    return replace(item, part=with_errors(item.part, item.part.errors.with_common(SIZE, growth)))


def _grown(item: _Traced, factor: float) -> _Traced:
    part = moved(item.part, (0.0, 0.0), 0.0, factor)
    chains = tuple(_grown_chain(chain, factor) for chain in part.chains)
    return replace(
        item, part=replace(part, chains=chains), points=[p * factor for p in item.points], near=[n * factor for n in item.near]
    )


def _grown_chain(chain: Chain, factor: float) -> Chain:
    state = chain.state * factor
    state[~chain.is_arc, 0] = chain.state[~chain.is_arc, 0]
    return replace(chain, state=state, corners=chain.corners * factor, residuals=chain.residuals * factor)


def _scale_notes(design: Design, relative_u: float) -> list[Note]:
    if design.lattice is None or design.lattice.margin < 3.0:
        return []
    off = design.scale - 1.0
    notes = [
        Note(
            "lattice",
            f"The part's dimensions lie on {design.lattice.profile.name} steps; its true size is taken as "
            f"{100.0 * off:+.3f} % of the photo's.",
        )
    ]
    if abs(off) > 3.0 * relative_u + 0.001:
        notes.append(
            Note(
                "scale_conflict",
                f"Whole dimensions want the part {100.0 * off:+.2f} % larger than the reference says "
                f"(standard uncertainty {100.0 * relative_u:.2f} %): a mis-stated sheet, a wrong height, or a "
                "moulding that shrank. One outside reading settles it.",
            )
        )
    return notes


def _assembled(
    edges: EdgeMap,
    settings: OutlineSettings,
    traced: list[_Traced],
    designs: list[Design],
    reference: Reference,
    used: set[str],
    notes: list[Note],
    middle: np.ndarray,
    out: float,
    unit: float,
    sized: bool,
) -> Outline:
    """Everything in the datum frame.  out: factor from house units to the outline's; unit: house units per edge-map unit."""
    main = designs[0]
    rows = {name: row for row, name in traced[0].layout.ids.items()}
    near = [move_points(n, main.origin, main.angle_rad, main.scale) for n in traced[0].near]
    place = place_datum(
        main.part, part_corners(main.part, near), main.equal, settings.datum, rows, bool((~main.part.is_arc).any())
    )
    cos, sin = math.cos(main.angle_rad), math.sin(main.angle_rad)
    ox, oy = place.origin[0] / main.scale, place.origin[1] / main.scale
    origin = (main.origin[0] + ox * cos - oy * sin, main.origin[1] + ox * sin + oy * cos)
    angle = main.angle_rad + place.angle_rad
    measured: list[Loop] = []
    design: list[Loop] = []
    dimensions: list[Dimension] = []
    relations: list[Relation] = []
    options = []
    for item, own in zip(traced, designs, strict=True):
        here = moved(item.part, origin, angle, out)
        here_near = [move_points(n, origin, angle, out) for n in item.near]
        measured += draw(here, item.layout, here_near)
        # the lattice frame of this part, seen from the datum
        gap = move_points(np.array([own.origin]), origin, angle, own.scale * out)[0]
        turn = own.angle_rad - angle
        back = (
            -(gap[0] * math.cos(turn) + gap[1] * math.sin(turn)) / out,
            -(gap[1] * math.cos(turn) - gap[0] * math.sin(turn)) / out,
        )
        placed = moved(own.part, back, -turn, out)
        placed_near = [move_points(n, origin, angle, own.scale * out) for n in item.near]
        design += draw(placed, item.layout, placed_near)
        grounds = grounds_of(own)
        own_near = [move_points(n, own.origin, own.angle_rad, own.scale) for n in item.near]
        for name, dimension in zip(item.names, item.items, strict=True):
            value = value_of(dimension, item.part, item.part.state, item.near)
            slope = slope_of(dimension, item.part, item.part.state, item.near)
            shares = item.part.errors.contributions(slope)
            u, dof = total(shares)
            intended = value_of(dimension, placed, placed.state, placed_near)
            factor = out if dimension.kind != "angle" else 1.0
            verdict = judge_dimension(
                dimension, grounds, slope_of(dimension, own.part, own.part.state, own_near), name in used
            )
            dimensions.append(
                Dimension(
                    name,
                    dimension.kind,
                    tuple(item.layout.ids[row] for row in dimension.rows),
                    round(value * factor, 6),
                    round(u * factor, 6),
                    round(intended, 9) + 0.0,
                    round(verdict.probability, 4),
                    verdict.runner_up,
                    verdict.origin,
                    round(coverage_factor(dof) * u * factor, 6),
                    round(dof, 1) if dof < MOST_DOF else None,
                    tuple(
                        Share(share.name, round(share.u * factor, 6)) for share in shares if share.u > LEAST_SHARE * u
                    ),
                )
            )
            role = _role_of(item.part, dimension.rows[0])
            how = how_to_take(dimension, item.layout.ids, role)
            if how and name not in used and own is main:
                options.append((name, slope, how))
        relations += list_relations(own, item.layout.ids, place if own is main else Place((0.0, 0.0), 0.0, ""))
    photo_origin = np.asarray(origin) / unit + middle
    return Outline(
        "mm" if sized else edges.unit,
        reference,
        Datum(place.text, (float(photo_origin[0]), float(photo_origin[1])), math.degrees(angle)),
        tuple(measured),
        tuple(design),
        tuple(dimensions),
        tuple(relations),
        next_readings((traced[0] if sized else _size_open(traced[0])).part.errors.covariance, options),
        tuple(notes),
    )


def _role_of(part: Part, row: int) -> str:
    for i in range(len(part.chains)):
        if row in part.rows(i):
            return part.roles[i]
    return "opening"
