"""The filter element: what straight cuts fit into the seat, which of them is taken, and the element itself.

Words: a *cut* is one straight stroke of the knife; the table counts the cuts beyond the four of a rectangle.  Its forms are the
rectangle, the rectangle with corners cut (sides stay parallel in pairs, so a square and a rule mark it out) and *free* convex
polygons, shown where they are worth it.  The *open area* is the element less the rim that the holder squeezes and less the bars
of the frame that lie on it: what the checks find free on the pieces as built.

        v = Q / A_open        v  face velocity [m/s], Q  flow [m3/s], A_open  open area [m2]
        pressure ratio = A_open of the rectangle / A_open       (laminar share of the drop, same flow and foam)

Choice: the maker's number of cuts; else the rectangle, with one corner cut where that gains WORTH_ONE_CUT; unless its face
velocity is above the job's limit: then the fewest further cuts that meet it, and the largest element where none does.
Frame: the drawing's x and y, the ledge's side at z = 0; mm.  Limits: area alone is compared here; the checks bring the physics.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from shapely.geometry import Polygon

from afterpart.errors import JobError
from afterpart.formulas.airflow import air_asked
from afterpart.geometry.bar_layout import BarRule, bars_shape
from afterpart.geometry.chain import chain_polygon, polygon_chain
from afterpart.geometry.inscribed import MOST_CUTS, Inscribed, largest_shapes
from afterpart.geometry.room import shape_area
from afterpart.model.edges import Note
from afterpart.model.feature import CutRow, Seat
from afterpart.model.outline import Point
from afterpart.model.piece import Add, Piece, PrintTime, Prism
from afterpart.model.wishes import FilterWish, MachineFacts
from afterpart.parts.seat import air_opening
from afterpart.words import paragraph, tell

CHORD_ERROR = 0.01
"""How far the chords of a seat's region may lie outside its curves."""
WORTH_ONE_CUT = 0.03
"""Gain of area from which one cut corner is taken without being asked for."""
WORTH_A_ROW = 0.001
"""A row stands in the table only if it gains this share over every row with no more cuts of its own form."""
WORTH_FREE = 0.005
"""A free polygon stands in the table only if it gains this share over what needs no more cuts."""
RECTANGLE, CORNERS_CUT, FREE = "rectangle", "corners cut", "free"

SECONDS_PER_HOUR = 3600.0
MM2_PER_M2 = 1e6


@dataclass(frozen=True)
class _Form:
    cuts: int
    form: str
    corners: np.ndarray

    @property
    def area(self) -> float:
        return shape_area(self.corners)


def cut_table(seat: Seat, wish: FilterWish, bars: BarRule | None = None) -> tuple[CutRow, ...]:
    """The rows of the table by number of cuts, one of them chosen.  bars: how the holder lays its bars, None where it has none.

    JobError naming the key: no straight-sided element fits, the rim leaves no open area, the flow or its limit is no positive
    number, or the wished number of cuts is none of the table's.
    """
    _refuse_unusable(wish)
    forms = _forms(seat)
    whole = Polygon(seat.region).area
    free = [_open_area(seat, form.corners, wish.rim, bars) for form in forms]
    rows = tuple(_row(form, forms[0].area, (area, free[0]), whole, wish) for form, area in zip(forms, free, strict=True))
    chosen = _choice(rows, wish)
    return tuple(replace(row, chosen=row is chosen) for row in rows)


def with_flow(wish: FilterWish, machine: MachineFacts) -> FilterWish:
    """The wish with the air that the machine asks for in it, where that is told: what the checks reckon with."""
    asked = air_asked((wish.flow_m3_per_h, machine.flow_m3_per_h), machine.kind, machine.displacement_cm3, machine.speed_rpm,
                      machine.volumetric_efficiency)
    return replace(wish, flow_m3_per_h=asked)


def chosen_row(rows: tuple[CutRow, ...]) -> CutRow:
    """The one row that is chosen.  ValueError: none or several are."""
    row, = (r for r in rows if r.chosen)
    return row


def make_element(seat: Seat, row: CutRow, wish: FilterWish, name: str, revision: str) -> Piece:
    """The element as a prism of the foam's free thickness, with what the maker must know of it.

    JobError: the row's polygon does not lie in the seat's region (a row of another seat).
    """
    if not Polygon(seat.region).buffer(1e-6).covers(Polygon(row.corners)):
        raise JobError(tell("filter: the element's polygon leaves the seat; choose it from this seat's own table of cuts"))
    return Piece(kind="filter_element", name=name, file_stem="filter_element", revision=revision,
                 steps=(Add((Prism(polygon_chain(row.corners), (), 0.0, wish.thickness),)),), thickness=wish.thickness, labels=(),
                 print_time=PrintTime(0.0, 0.0, tell("cut, not printed")), notes=tuple(_notes(row, wish)), through_holes=0,
                 material="foam",
                 orientation=tell("not printed: cut from a sheet of foam, the side at z = 0 lies on the seat's ledge"))


def blank_size(corners: tuple[Point, ...]) -> tuple[float, float]:
    """Length and width of the smallest rectangle of foam that the element can be cut from, mm."""
    ring = np.asarray(Polygon(corners).minimum_rotated_rectangle.exterior.coords)
    sides = sorted(float(np.hypot(*(ring[i + 1] - ring[i]))) for i in (0, 1))
    return sides[1], sides[0]


def _refuse_unusable(wish: FilterWish) -> None:
    figures = (("filter.thickness", wish.thickness, wish.thickness > 0, tell("a thickness above 0 mm")),
               ("filter.rim", wish.rim, wish.rim >= 0, tell("a width of 0 mm or more")),
               ("filter.flow_m3_per_h", wish.flow_m3_per_h, wish.flow_m3_per_h is None or wish.flow_m3_per_h > 0,
                tell("a flow above 0")),
               ("filter.face_velocity_limit_m_per_s", wish.face_velocity_limit_m_per_s,
                wish.face_velocity_limit_m_per_s is None or wish.face_velocity_limit_m_per_s > 0, tell("a speed above 0")))
    complaints = [tell("{key}: found {value:g}, expected {expected}; correct it or leave it out", key=key, value=value,
                       expected=expected) for key, value, is_good, expected in figures if not is_good and value is not None]
    if complaints:
        raise JobError("\n".join(complaints))


def _forms(seat: Seat) -> list[_Form]:
    """The shapes worth a row, by number of cuts, the rectangle first."""
    try:
        found = _largest_in(seat.region)
    except ValueError as error:
        raise JobError(tell("filter: no element with straight sides fits into the seat ({error}); give the filter more room "
                            "(filter.land, screws.boss) or leave it out", error=error)) from error
    forms = [_Form(0, RECTANGLE, found.cut_rectangles[0])]
    for cuts in range(1, MOST_CUTS + 1):
        cut = _Form(cuts, CORNERS_CUT, found.cut_rectangles[cuts])
        if cut.area > (1 + WORTH_A_ROW) * max(f.area for f in forms if f.form != FREE):
            forms.append(cut)
        free = _Form(cuts, FREE, found.polygons[4 + cuts])
        if free.area > (1 + WORTH_FREE) * max(f.area for f in forms):
            forms.append(free)
    return forms


@lru_cache(maxsize=16)
def _largest_in(region: tuple[Point, ...]) -> Inscribed:
    """Sought once a region: of the jobs tried one after the other, most leave the seat where it was."""
    return largest_shapes(np.array(region), CHORD_ERROR)


def _row(form: _Form, rectangle: float, opened: tuple[float, float], whole: float, wish: FilterWish) -> CutRow:
    """opened: open area of this form and of the rectangle."""
    area, (free, rectangle_open) = form.area, opened
    flow = wish.flow_m3_per_h
    return CutRow(
        cuts=form.cuts,
        corners=tuple((float(x), float(y)) for x, y in form.corners),
        area=area,
        gain=area / rectangle - 1.0,
        gap=1.0 - area / whole,
        pressure_ratio=rectangle_open / free,
        face_velocity_m_per_s=None if flow is None else flow / SECONDS_PER_HOUR / (free / MM2_PER_M2),
        form=form.form,
        open_area=free,
    )


def _open_area(seat: Seat, corners: np.ndarray, rim: float, bars: BarRule | None) -> float:
    if Polygon(corners).buffer(-rim, join_style="mitre").area <= 0.0:
        long, wide = blank_size(tuple((float(x), float(y)) for x, y in corners))
        raise JobError(tell("filter.rim: found {rim:g} mm, expected less than half the element's width; it leaves nothing open "
                            "of an element of {long:.1f} x {wide:.1f} mm; take a narrower rim or make the seat larger", rim=rim,
                            long=long, wide=wide))
    opening = chain_polygon(air_opening(seat, tuple((float(x), float(y)) for x, y in corners), rim))
    return float(opening.area - (bars_shape(opening, bars).area if bars is not None else 0.0))


def _choice(rows: tuple[CutRow, ...], wish: FilterWish) -> CutRow:
    if wish.cuts is not None:
        wanted = [row for row in rows if row.cuts == wish.cuts]
        if not wanted:
            raise JobError(tell("filter.cuts: found {cuts}, expected one of {map}: other counts gain nothing in this seat; "
                                "choose one of these, or leave the key out to have it chosen", cuts=wish.cuts,
                                map=", ".join(map(str, sorted({r.cuts for r in rows})))))
        return max(wanted, key=lambda row: row.area)
    one_cut = [row for row in rows if row.cuts == 1 and row.form == CORNERS_CUT and row.gain >= WORTH_ONE_CUT]
    usual = one_cut[0] if one_cut else rows[0]
    if not _is_too_fast(usual, wish):
        return usual
    meeting = [row for row in rows if row.cuts >= usual.cuts and not _is_too_fast(row, wish)]
    return meeting[0] if meeting else max(rows, key=lambda row: row.open_area)


def _is_too_fast(row: CutRow, wish: FilterWish) -> bool:
    velocity, limit = row.face_velocity_m_per_s, wish.face_velocity_limit_m_per_s
    return velocity is not None and limit is not None and velocity > limit


def _notes(row: CutRow, wish: FilterWish) -> list[Note]:
    notes = [Note("element_cutting",
                  tell("Cut from foam {thickness:g} mm thick, {pores_per_inch:g} pores per inch, with {count} straight cuts: a "
                       "long sharp blade, away from the body, in several light strokes; foam pressed flat while it is cut comes "
                       "out narrower in the middle.", thickness=wish.thickness, pores_per_inch=wish.pores_per_inch,
                       count=len(row.corners))),
             Note("element_foam",
                  tell("Use foam made for filtering air and fit for the heat, fuel and oil where it sits; upholstery or packing "
                       "foam sheds crumbs. Foam that its maker asks to oil filters only when oiled. Replace it when it crumbles "
                       "or stays flat."))]
    if _is_too_fast(row, wish):
        notes.append(Note("face_velocity_above_limit",
                          paragraph(tell("Face velocity {face_velocity_m_per_s:.2f} m/s with the chosen cuts, above the limit of "
                               "{face_velocity_limit_m_per_s:g} m/s (filter.face_velocity_limit_m_per_s).",
                               face_velocity_m_per_s=row.face_velocity_m_per_s,
                               face_velocity_limit_m_per_s=wish.face_velocity_limit_m_per_s),
                                    "" if wish.cuts is not None
                                    else tell("No straight cuts in this seat meet it: this is the largest element."),
                                    tell("A larger seat, a narrower rim or less flow would help."))))
    if wish.flow_m3_per_h is None and wish.face_velocity_limit_m_per_s is not None:
        notes.append(Note("flow_not_told",
                          tell("The limit of the face velocity stands against nothing: neither filter.flow_m3_per_h nor the "
                               "machine's own figures tell how much air passes.")))
    return notes
