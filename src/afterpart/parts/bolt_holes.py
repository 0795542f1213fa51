"""The holes that bolts go through, what presses round them, metal sleeves and heat-set inserts.

Words: the *seat* is how the head sits in the outside face (z = 0, on the bed): plain on the face, in a counterbore, or in a
countersink; what *presses* is the washer, else the head's bearing face; the *roof* of a counterbore is its upper end.
Size of a hole: the thread's clearance hole of ISO 273 in the job's series.  A hole that locates takes the fine series, or the
old hole where that is tighter and the bolt still passes; a [[role]] row with a clearance makes it bolt + 2 clearance.  A
[[trial]] of a clearance coupon overrides both where a hole locates (the smallest hole, as drawn, that the bolt went through on
this printer), and no hole is drawn smaller than it; one of the check plate or cover on the machine that names the hole comes
before the coupon.
Printing: a flat roof would hang in the air, so it leans at 45 degrees; a flat head then touches it along its rim only, which is
said and counted so.  Countersinks are cones by nature.
Sleeve: bore SLEEVE_FIT wider than the sleeve, and the sleeve SLEEVE_SHORT shorter than the plastic beside it, so that the head
first grips the plastic and then stands on metal (engineering practice of compression limiters, from memory).
Limits: whether the plastic bears the load is a check's business.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from afterpart.errors import JobError
from afterpart.formulas.trial_sizes import own_trials
from afterpart.model.edges import Note
from afterpart.model.feature import BearingFace, Hole, Sleeve
from afterpart.model.outline import Circle, Outline
from afterpart.model.piece import Cone
from afterpart.model.wishes import BoltWish, Wishes
from afterpart.parts.bolt_circles import bolt_circles, hole_row
from afterpart.parts.roles import FeatureRole, Roles, kept_outline
from afterpart.parts.trials import clearance_from_trials, fit_from_trials
from afterpart.standards import fasteners
from afterpart.words import tell

SLEEVE_FIT = 0.1
"""How much wider the bore is than the sleeve, mm on the diameter."""

SLEEVE_SHORT = 0.05
"""How much shorter the sleeve is than the plastic beside it."""

HEAD_ROOM = 0.5
"""Free all round a head or washer in its counterbore."""

SUNK = 0.2
"""How far a head lies below the outside in its counterbore."""

LEAST_UNDER_HEAD = 2.0
"""Plastic that must be left under a counterbore or in front of an insert's pocket: ten layers."""

LEAST_FLOOR = 1.0
"""Plastic left behind a blind pocket."""

BEDDED_RIM = 0.5
"""Width of the ring that a flat head has bedded into a leaning roof (judgement)."""

PASSES = 0.1
"""Least play of a bolt in a hole, mm on the diameter."""

COUNTERSUNK = "ISO 10642"
Row = TypeVar("Row")
SEATS = ("plain", "counterbore", "countersink")
BEYOND = 1.0
"""How far cutting bodies reach out of the piece."""


@dataclass(frozen=True)
class Bolts:
    """holes in the drawing's order; cuts: everything but the straight bores, which are the holes themselves; heads: diameter
    that the head or its counterbore takes up on the outside, one per hole."""

    holes: tuple[Hole, ...] = ()
    bearing: tuple[BearingFace, ...] = ()
    sleeves: tuple[Sleeve, ...] = ()
    cuts: tuple[Cone, ...] = ()
    heads: tuple[float, ...] = ()
    notes: tuple[Note, ...] = ()


@dataclass(frozen=True)
class _Seat:
    """What is the same for every bolt: presses: diameter of what presses; sweep: of head and washer together; stack: their
    height; cone_deg: of a countersunk head."""

    presses: float
    sweep: float
    head_diameter: float
    stack: float
    cone_deg: float


def place_bolts(outline: Outline, wishes: Wishes, roles: Roles, thickness: float, part: int = 1) -> Bolts:
    """The bolts' holes with everything round them, in a cover of this thickness.

    JobError: bolts.holes names a dropped or unknown hole, a size the tables do not know, a seat, sleeve or pocket that does not
    fit the thickness.  No [bolts] table: no bolts.
    """
    wish = wishes.bolts
    if wish is None:
        return Bolts()
    _refuse_contradictions(wish, roles)
    circles = bolt_circles(kept_outline(outline, roles), wish, part)
    if wish.insert:
        return _inserts(circles, wish, roles, thickness)
    seat = _seat(wish)
    sleeve = _sleeve(wish)
    tried = clearance_from_trials(own_trials(wishes), hole_row(wish).nominal)
    size = tried.size if tried is not None else None
    made = [_one(c, wish, seat, sleeve, roles.of(c.id), thickness, _tried(wishes, c, size)) for c in circles]
    return Bolts(tuple(m[0] for m in made), tuple(m[1] for m in made), tuple(m[2] for m in made if m[2] is not None),
                 tuple(cut for m in made for cut in m[3]), (_taken_up(wish, seat),) * len(made),
                 tuple(_notes(wishes, seat, sleeve, [m[0] for m in made], circles, size)))


def _refuse_contradictions(wish: BoltWish, roles: Roles) -> None:
    gone = [i for i in wish.holes if i in roles.dropped]
    if gone:
        raise JobError(tell("bolts.holes: {gone} is dropped by a [[change]] row; take it out of one of the two",
                            gone=", ".join(gone)))
    if wish.seat not in SEATS:
        raise JobError(tell("bolts.seat: found {seat!r}; expected one of {seats}", seat=wish.seat, seats=", ".join(SEATS)))
    if wish.insert and (wish.sleeve or wish.washer or wish.seat != "plain"):
        raise JobError(tell("bolts.insert: a heat-set insert takes the place of the clearance hole; leave out bolts.sleeve, "
                            "bolts.washer and bolts.seat, or set insert = false"))
    if wish.seat == "countersink" and (wish.washer or wish.sleeve):
        raise JobError(tell('bolts.seat = "countersink": a countersunk head takes no washer and stands on no sleeve; leave out '
                            "bolts.washer and bolts.sleeve, or choose another seat"))


def _table(key: str, find: Callable[..., Row], *words: str) -> Row:
    """A row of the fasteners' tables.  JobError with the key when the table has none."""
    try:
        return find(*words)
    except KeyError as error:
        raise JobError(tell("{key}: {args}; give one of these", key=key, args=error.args[0])) from None


def _seat(wish: BoltWish) -> _Seat:
    standard = COUNTERSUNK if wish.seat == "countersink" else wish.head
    head = _table("bolts.head", fasteners.head, standard, wish.thread)
    if not wish.washer:
        return _Seat(head.bearing_diameter, head.diameter, head.diameter, head.height, head.cone_angle_deg)
    washer = _table("bolts.washer", fasteners.washer, wish.washer, wish.thread)
    return _Seat(washer.outside_least, max(washer.outside, head.diameter), head.diameter,
                 head.height + washer.thickness_greatest, 0.0)


def _sleeve(wish: BoltWish) -> fasteners.SleeveSize | None:
    if not wish.sleeve:
        return None
    usual = _table("bolts.sleeve", fasteners.sleeve, wish.thread)
    outside = usual.outside if wish.sleeve_outside is None else wish.sleeve_outside
    if outside < usual.inside + 1.0:
        raise JobError(tell("bolts.sleeve_outside: found {outside:g} mm; a sleeve for {thread} is {inside:g} mm inside and needs "
                            "a wall of half a millimetre: give at least {inside_2:g} mm", outside=outside, thread=wish.thread,
                            inside=usual.inside, inside_2=usual.inside + 1.0))
    return replace(usual, outside=outside)


def _one(circle: Circle, wish: BoltWish, seat: _Seat, sleeve: fasteners.SleeveSize | None, role: FeatureRole, thickness: float,
         tried: float | None) -> tuple[Hole, BearingFace, Sleeve | None, tuple[Cone, ...]]:
    diameter = _diameter(circle, wish, role, tried) if sleeve is None else sleeve.outside + SLEEVE_FIT
    where = _where(circle)
    cuts, presses_from, z = _seat_cuts(circle, wish, seat, diameter, thickness, where)
    hole = Hole(circle.id, circle.center, diameter, 0.0, thickness, "bolt", wish.thread, True, role.role)
    if seat.presses <= diameter:
        raise JobError(tell("{sleeve}: what presses at {where} is {presses:g} mm wide and the {sleeve_2} {diameter:g} mm: no "
                            "plastic would be gripped; give a washer that reaches over it (ISO 7093 is the widest)",
                            sleeve="bolts.sleeve" if sleeve else "bolts.washer", where=where, presses=seat.presses,
                            sleeve_2=tell("bore of the sleeve") if sleeve else "hole", diameter=diameter))
    face = BearingFace(circle.id, circle.center, presses_from, seat.presses, z, -1, seat.presses)
    tube = None
    if sleeve is not None:
        plastic = thickness - z
        tube = Sleeve(circle.id, circle.center, sleeve.inside, sleeve.outside, plastic - SLEEVE_SHORT, plastic)
    return hole, face, tube, cuts


def _tried(wishes: Wishes, circle: Circle, coupon: float | None) -> float | None:
    """The hole that trial prints settled: on the machine at this very hole, else on the coupon; None without one."""
    fit = fit_from_trials(own_trials(wishes), (circle.id,))
    if fit is None or fit.size is None:
        return coupon
    assert wishes.bolts is not None
    return hole_row(wishes.bolts).nominal + 2 * fit.size


def _diameter(circle: Circle, wish: BoltWish, role: FeatureRole, tried: float | None) -> float:
    """tried: the smallest hole, as drawn, that a trial print let the bolt through; None without one."""
    row = hole_row(wish)
    if role.told_clearance is not None:
        diameter = row.nominal + 2 * role.told_clearance
        if diameter < row.nominal + PASSES:
            raise JobError(tell("[[role]] of = {circle_id!r}: clearance {told_clearance:g} mm leaves {thread} no play at "
                                "{where}; give at least {passes:g} mm", circle_id=circle.id, told_clearance=role.told_clearance,
                                thread=wish.thread, where=_where(circle), passes=PASSES / 2))
        return diameter
    if role.role == "locates":
        old = 2 * circle.radius
        if tried is not None:
            return tried
        return old if row.nominal + PASSES <= old < row.fine else row.fine
    if wish.series not in ("fine", "medium", "coarse"):
        raise JobError(tell("bolts.series: found {series!r}; expected fine, medium or coarse (ISO 273)", series=wish.series))
    return max(float(getattr(row, wish.series)), tried or 0.0)


def _taken_up(wish: BoltWish, seat: _Seat) -> float:
    """Diameter on the outside face, mm."""
    return {"plain": seat.sweep, "counterbore": seat.sweep + 2 * HEAD_ROOM}.get(wish.seat, seat.head_diameter + 2 * SUNK)


def _seat_cuts(circle: Circle, wish: BoltWish, seat: _Seat, diameter: float, thickness: float, where: str
               ) -> tuple[tuple[Cone, ...], float, float]:
    """What is cut for the seat, the inner diameter of the bearing ring, and the height at which it lies."""
    c = circle.center
    if wish.seat == "plain":
        return (), diameter, 0.0
    if wish.seat == "countersink":
        wide = seat.head_diameter + 2 * SUNK
        deep = (wide - diameter) / 2
        _refuse_deep("countersink", deep, thickness, where)
        # A little below the face, so that no sliver stays on the bed.
        return (Cone(c, -BEYOND, deep, wide / 2 + BEYOND, diameter / 2),), diameter, deep
    wide = seat.sweep + 2 * HEAD_ROOM
    # The outermost rim meets the leaning roof at `rim`, which leaves head and washer just below the outside.
    rim = seat.stack + SUNK
    deep = rim - HEAD_ROOM
    roof = deep + (wide - diameter) / 2
    _refuse_deep("counterbore", roof, thickness, where)
    bore = Cone(c, -BEYOND, deep, wide / 2, wide / 2)
    return (bore, Cone(c, deep, roof, wide / 2, diameter / 2)), max(diameter, seat.presses - 2 * BEDDED_RIM), rim


def _refuse_deep(what: str, deep: float, thickness: float, where: str) -> None:
    if deep > thickness - LEAST_UNDER_HEAD:
        raise JobError(tell('bolts.seat = "{what}": the {what} at {where} reaches {deep:.1f} mm into a cover {thickness:g} mm '
                            "thick and {least_under_head:g} mm must stay; make cover.thickness at least {deep_2:.1f} mm, take "
                            'a lower head, or set bolts.seat = "plain"', what=what, where=where, deep=deep, thickness=thickness,
                            least_under_head=LEAST_UNDER_HEAD, deep_2=deep + LEAST_UNDER_HEAD))


def _inserts(circles: tuple[Circle, ...], wish: BoltWish, roles: Roles, thickness: float) -> Bolts:
    """Pockets for heat-set inserts, open at the mating face; blind where enough stays behind them."""
    insert = _table("bolts.insert", fasteners.heat_set_insert, wish.thread)
    deep = insert.length + LEAST_FLOOR
    if thickness < insert.length:
        raise JobError(tell("bolts.insert: the insert for {thread} is {length:g} mm long and the cover {thickness:g} mm thick at "
                            "{where}; make cover.thickness at least {length:g} mm, or take a thinner thread", thread=wish.thread,
                            length=insert.length, thickness=thickness, where=_where(circles[0])))
    through = thickness - deep < LEAST_FLOOR
    bottom = 0.0 if through else thickness - deep
    holes = tuple(Hole(c.id, c.center, insert.pocket, bottom, thickness, "insert", wish.thread, through, roles.of(c.id).role)
                  for c in circles)
    note = Note("insert",
                tell("Pockets of {pocket:g} mm for heat-set inserts {thread}, {length:g} mm long, open at the mating face; leave "
                     "{least_wall:g} mm of plastic round them. {source}: the insert's own sheet rules.", pocket=insert.pocket,
                     thread=wish.thread, length=insert.length, least_wall=insert.least_wall, source=insert.source))
    return Bolts(holes, (), (), (), (insert.outside + 2 * insert.least_wall,) * len(holes), (note,))


def _notes(wishes: Wishes, seat: _Seat, sleeve: fasteners.SleeveSize | None, holes: list[Hole], circles: tuple[Circle, ...],
           tried: float | None) -> list[Note]:
    wish = wishes.bolts or BoltWish()
    notes: list[Note] = []
    if sleeve is None:
        for hole, circle in zip(holes, circles, strict=True):
            if hole.role == "locates":
                why = (tell("the old hole, tighter than the fine series") if hole.diameter == 2 * circle.radius
                       else tell("fine series"))
                why = tell("as the trial print settled") if hole.diameter == _tried(wishes, circle, tried) else why
                notes.append(Note("locating_hole",
                                  tell("Bolt hole {where} locates: {diameter:g} mm ({why}); it was {radius:g} mm.",
                                       where=_where(circle), diameter=hole.diameter, why=why, radius=2 * circle.radius)))
    elif sleeve.outside + 1.0 > seat.presses:
        notes.append(Note("sleeve_overhang",
                          tell("What presses is {presses:g} mm wide over a sleeve of {outside:g} mm: less than half a millimetre "
                               "of plastic is gripped all round. A washer reaches farther (bolts.washer).", presses=seat.presses,
                               outside=sleeve.outside)))
    if wish.seat == "counterbore":
        notes.append(Note("leaning_roof",
                          tell("The counterbores' roofs lean at 45 degrees so that they print without supports; a flat head "
                               "touches them along its rim only and beds itself in until it stands on the sleeve.") if sleeve
                          else tell("The counterbores' roofs lean at 45 degrees so that they print without supports; a flat head "
                                    "touches them along its rim only and beds itself in. A metal sleeve (bolts.sleeve) carries "
                                    "better.")))
    if wish.seat == "countersink":
        notes.append(Note("wedge",
                          tell("A countersunk head wedges plastic apart as it is tightened: keep the torque low, and the edge "
                               "far off.")))
    return notes


def _where(circle: Circle) -> str:
    return f"{circle.id} ({circle.center[0]:.1f}, {circle.center[1]:.1f})"
