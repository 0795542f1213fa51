"""What the airflow checks share: how much air the machine asks for, and the way it takes through the pieces as built.

Words: *demand* is the mean flow; a *pulse* is its peak over its mean, where one cylinder breathes alone.
How: the opening comes from the cover, the element's polygon from the table of cuts, bars from the clamp frame (whose own frame
has y mirrored).  Foam that lies under rim or bars passes no air here: its flow is judged by itself in foam_rim.
Conventions: mm, mm2, m3/h.  Air of the standard atmosphere at sea level.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

from shapely import unary_union
from shapely.affinity import scale
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.formulas.air_path import AirPath
from afterpart.formulas.airflow import FOUR_STROKE, engine_demand, tells_strokes
from afterpart.geometry.bar_layout import BarRule, bars_shape
from afterpart.geometry.chain import chain_polygon
from afterpart.model.case import Case
from afterpart.model.feature import Bar, CutRow, Opening, Rib, Seat
from afterpart.model.finding import Input
from afterpart.model.wishes import HolderWish, InletWish, MachineFacts
from afterpart.standards.inlets import PULSE_FACTOR
from afterpart.standards.table import Range
from afterpart.words import tell

_QUARTER = 64
"""Chords of a rounded corner."""

_STRAIGHT = 1e-6
"""Radians below which a corner is none."""

PISTONS = ("compressor", "engine")
"""First words of the kinds of machine whose fill follows the pressure before them."""



def breathes(kind: str) -> bool:
    """Whether this kind of machine fills itself by suction, stroke by stroke."""
    return kind.split(" ")[0] in PISTONS


@dataclass(frozen=True)
class Demand:
    """flow_m3_per_h: None when the keys in `missing` are not told; pulse: peak over mean, None for an even flow; from_memory:
    it rests on a usual value."""

    flow_m3_per_h: float | None
    inputs: tuple[Input, ...] = ()
    pulse: Range | None = None
    from_memory: bool = False
    missing: tuple[str, ...] = ()


def demand(case: Case) -> Demand:
    """Mean flow: the largest that is stated, else Q = V_d n eta / j with j = 2 for four strokes, 1 for all others."""
    machine, wish = case.job.wishes.machine, case.job.wishes.filter
    pulse = PULSE_FACTOR if breathes(machine.kind) and machine.single_cylinder else None
    stated = [Input(tell("stated flow"), flow, "m3/h", key) for key, flow in (("filter.flow_m3_per_h",
                                                                               wish.flow_m3_per_h if wish else None),
                                                                              ("machine.flow_m3_per_h", machine.flow_m3_per_h))
              if flow is not None]
    if stated:
        most = max(stated, key=lambda one: one.value)
        return Demand(most.value, (replace(most, name=tell("flow")),), pulse)
    return _from_displacement(machine, pulse)


def _from_displacement(machine: MachineFacts, pulse: Range | None) -> Demand:
    volume, speed, filling = machine.displacement_cm3, machine.speed_rpm, machine.volumetric_efficiency
    if volume is None and speed is None:
        return Demand(None, missing=("filter.flow_m3_per_h",))
    told = {"machine.displacement_cm3": volume is not None, "machine.speed_rpm": speed is not None,
            "machine.kind": tells_strokes(machine.kind)}
    if volume is None or speed is None or not all(told.values()):
        return Demand(None, missing=tuple(key for key, is_told in told.items() if not is_told))
    flow = engine_demand(volume, speed, filling, machine.kind == FOUR_STROKE)
    usual = filling == MachineFacts().volumetric_efficiency
    return Demand(flow,
                  (Input(tell("flow"), flow, "m3/h", tell("displacement, speed and filling")),
                   Input(tell("displacement"), volume, "cm3", "machine.displacement_cm3"),
                   Input(tell("speed"), speed, "1/min", "machine.speed_rpm"),
                   Input(tell("filling"), filling, "",
                         tell("machine.volumetric_efficiency (the usual value)") if usual
                         else "machine.volumetric_efficiency")), pulse, usual)


@dataclass(frozen=True)
class AirWay:
    """The way as built.  element: its polygon in the seat; region: all that is free for one; opening, bars: plane shapes; rim:
    width squeezed; moves: the opening follows the rim; squeeze: None where nothing squeezes the rim; gap: where air
    that came through the rim gets out; wall_u: standard uncertainty of a printed wall's place; bar_rule: how the frame lays its
    bars, None where it has none; oiled: the foam is used oiled, None when not told."""

    row: CutRow
    rows: tuple[CutRow, ...]
    element: Polygon
    region: Polygon
    opening: Polygon
    bars: BaseGeometry
    rim: float
    bellmouth: float
    moves: bool
    pores_per_inch: float
    thickness: float
    squeeze: float | None
    gap: float
    wall_u: float
    bar_rule: BarRule | None = None
    oiled: bool | None = None

    @property
    def face(self) -> BaseGeometry:
        """The foam between rim and opening, bars not yet taken off."""
        return _face(self.element, self.opening, self.rim)

    @property
    def open_share(self) -> float:
        """What the bars leave free of the face."""
        return float(self.face.difference(self.bars).area / self.face.area)

    @property
    def face_area(self) -> float:
        """Foam that air passes, mm2."""
        return float(self.face.area) * self.open_share

    @property
    def face_area_u(self) -> float:
        """Its standard uncertainty: every printed wall of the windows off by wall_u."""
        return float(self.face.difference(self.bars).length) * self.wall_u

    def path(self) -> AirPath:
        """The way in figures."""
        return AirPath(float(self.opening.area), float(self.opening.length), self.bellmouth, self.open_share, self.face_area,
                       self.pores_per_inch, self.thickness, self.oiled is True)

    def with_rim(self, rim: float) -> AirWay:
        """The same with another width of rim, as it would be built: the frame's window, its bars, and an opening laid by the rim
        go with it."""
        window = _rounded(_inset(self.element, rim), self.corner)
        bars = self.bars if self.bar_rule is None else bars_shape(window, self.bar_rule)
        return replace(self, rim=rim, opening=window if self.moves else self.opening, bars=bars)

    @property
    def corner(self) -> float:
        """Radius of the built window's corners: a corner of angle a rounded by r loses r^2 (cot(a/2) - (pi - a) / 2)."""
        sharp = _inset(self.element, self.rim)
        lost = float(sharp.area - self.opening.area) if self.moves else 0.0
        per_square = sum(1.0 / math.tan(a / 2.0) - (math.pi - a) / 2.0 for a in _corner_angles(sharp))
        return math.sqrt(max(lost, 0.0) / per_square) if per_square > 0.0 else 0.0

    def with_element(self, element: Polygon) -> AirPath:
        """The way through another element with the same rim and the bars' same share."""
        opening = _whole(element.buffer(-self.rim, join_style="mitre")) if self.moves else self.opening
        face = float(_face(element, opening, self.rim).area)
        return replace(self.path(), opening_area=float(opening.area), opening_perimeter=float(opening.length),
                       face_area=face * self.open_share)


def air_way(case: Case) -> AirWay | None:
    """The way of the air; None where the job has no filter, or no cover with a seat and an open face was built."""
    wish = case.job.wishes.filter
    seat = _first(case, Seat)
    rows = tuple(row for row in case.build.cuts if row.chosen)
    if wish is None or not isinstance(seat, Seat) or not rows:
        return None
    opening, rib = chain_polygon(seat.opening), _first(case, Rib)
    entries = (f.bellmouth for f in _features(case) if isinstance(f, Opening) and f.chain == seat.opening)
    holder, inlet = case.job.wishes.holder or HolderWish(), case.job.wishes.inlet or InletWish()
    squeeze, gap = rib.squeeze if isinstance(rib, Rib) else None, max(holder.clearance, wish.thickness - seat.depth)
    way = AirWay(rows[0], case.build.cuts, Polygon(rows[0].corners), Polygon(seat.region), opening, _bars(case), seat.rim,
                 next(entries, 0.0), inlet.opening == "seat", wish.pores_per_inch, wish.thickness,
                 squeeze, gap, case.job.wishes.fit.printer_u / 2.0, _bar_rule(case, holder), wish.oiled)
    return way if way.face.area > 0.0 and way.face_area > 0.0 else None


def way_inputs(way: AirWay) -> tuple[Input, ...]:
    """What of the way goes into a finding."""
    return (Input(tell("open face"), way.face_area, "mm2", tell("element less rim and bars, as built"), way.face_area_u),
            Input(tell("opening"), float(way.opening.area), "mm2", tell("the cover, as built"),
                  float(way.opening.length) * way.wall_u))


def _features(case: Case) -> tuple[object, ...]:
    return tuple(feature for piece in case.build.pieces for feature in piece.features)


def _first(case: Case, kind: type) -> object | None:
    return next((feature for feature in _features(case) if isinstance(feature, kind)), None)


def _bars(case: Case) -> BaseGeometry:
    """The frame's bars in the drawing's frame."""
    bars = [LineString((bar.start, bar.end)).buffer(bar.width / 2.0, cap_style="flat")
            for piece in case.build.pieces if piece.file_stem == "clamp_frame" for bar in piece.features if isinstance(bar, Bar)]
    return scale(unary_union(bars), 1.0, -1.0, origin=(0.0, 0.0)) if bars else Polygon()


def _bar_rule(case: Case, holder: HolderWish) -> BarRule | None:
    framed = any(piece.kind == "clamp_frame" for piece in case.build.pieces)
    return BarRule(holder.free_span, holder.bar_width, holder.thickness) if framed else None


def _inset(element: Polygon, rim: float) -> Polygon:
    return _whole(element.buffer(-rim, join_style="mitre"))


def _rounded(shape: Polygon, radius: float) -> Polygon:
    """With outward corners rounded by this radius."""
    return _whole(shape.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=_QUARTER)) if radius > 0.0 else shape


def _corner_angles(shape: Polygon) -> list[float]:
    """Inner angles at the corners of a convex polygon, radians."""
    ring = list(shape.exterior.coords)[:-1]
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    turns = [abs(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))
             for a, b in zip(sides, sides[1:] + sides[:1], strict=True)]
    return [math.pi - turn for turn in turns if turn > _STRAIGHT]


def _face(element: Polygon, opening: Polygon, rim: float) -> BaseGeometry:
    return element.buffer(-rim, join_style="mitre").intersection(opening)


def _whole(shape: BaseGeometry) -> Polygon:
    """The largest piece of a shape that a rim may have cut in two."""
    return max(getattr(shape, "geoms", (shape,)), key=lambda one: one.area)
