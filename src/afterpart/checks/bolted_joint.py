"""The cover's bolts as the clamp load checks see them: read once from the built cover, the job and the tables.

Words: the *pressing face* is the ring of plastic under head or washer with the least area of all the cover's bolts; what is not
known is an `Unknown` that names the key.
Limits: bolts of one kind; screws of a frame and bolts into inserts are not looked at here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from afterpart.checks.judge import not_judged
from afterpart.formulas.bolted import bearing_area
from afterpart.formulas.sealed_joint import FACE_PRESSURE
from afterpart.geometry.chain import distance_to_chain
from afterpart.model.case import Case
from afterpart.model.feature import BearingFace, Groove, Hole, Sleeve
from afterpart.model.finding import Finding, Input
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.model.wishes import BoltWish
from afterpart.standards.fasteners import (
    SLEEVES,
    Bolt,
    Head,
    PropertyClass,
    SleeveSize,
    Washer,
    bolt,
    head,
    property_class,
    sleeve,
    washer,
)
from afterpart.standards.materials import Material, material
from afterpart.standards.printing import rule
from afterpart.standards.service_places import PLACES
from afterpart.standards.table import Range
from afterpart.words import entry, tell, translated

TORQUE_RANGE = Range(0.05, 200.0, "N m")
"""Torques of the threads in the tables: beyond, a slip of the key."""


@dataclass(frozen=True)
class Unknown:
    """Why something is not known, and the job keys that would tell it."""

    reason: str
    missing: tuple[str, ...] = ()

    def finding(self, check: str, subject: str, severity: int) -> Finding:
        """The finding that says so."""
        return not_judged(check, subject, translated(self.reason), missing=self.missing, severity=severity)


@dataclass(frozen=True)
class Temperature:
    """Hottest service, degC: as told, or the upper end of the place's range (then from memory)."""

    celsius: float
    source: str
    from_memory: bool

    @property
    def as_input(self) -> Input:
        """As a figure that went in."""
        return Input(tell("temperature"), self.celsius, "degC", self.source)


@dataclass(frozen=True)
class Joint:
    """bolt, class, head and washer (None: bare head); face: the pressing face with the least area; plastic: thickness under it;
    places: middles of the bolts; tube: of a metal sleeve, None without; usual: the sleeve
    that could be fitted, None where there is none or the groove leaves it no room; face_limit: N/mm2 the machine's face bears,
    None where
    its material is not in the list."""

    bolt: Bolt
    grade: PropertyClass
    head: Head
    washer: Washer | None
    face: BearingFace
    plastic: float
    places: tuple[Point, ...]
    material: Material
    temperature: Temperature | None
    tube: SleeveSize | None
    usual: SleeveSize | None
    face_limit: float | None
    torque_n_m: float | None
    proud: float = 0.0
    """By how much the longest sleeve is longer than the plastic beside it, mm; 0 where none is."""

    @property
    def name(self) -> str:
        """For the subject of a finding."""
        return tell("{count} bolts {thread} {grade}", count=len(self.places), thread=self.bolt.thread, grade=self.grade.name)

    @property
    def presser(self) -> str:
        """What presses on the plastic."""
        return tell("washer {standard}", standard=self.washer.standard) if self.washer else tell("bare head {standard}",
                                                                                                 standard=self.head.standard)

    @property
    def can_have_sleeves(self) -> bool:
        """Are metal sleeves a way out: is there room for them, and none yet?"""
        return self.usual is not None and self.tube is None

    @property
    def grip(self) -> float:
        """Length of bolt between head and machine, mm."""
        return self.plastic + (self.washer.thickness if self.washer else 0.0)

    @property
    def face_inputs(self) -> tuple[Input, ...]:
        """Diameters of the pressing face."""
        return (Input(tell("outer diameter"), self.face.outer, "mm",
                      tell("{presser}, least size; hole {of}", presser=self.presser, of=self.face.of)),
                Input(tell("hole diameter"), self.face.inner, "mm", tell("hole {of} as built", of=self.face.of)))


def cover_of(case: Case) -> Piece | None:
    """The cover among the built pieces."""
    return next((piece for piece in case.build.pieces if piece.kind == "cover"), None)


def joint_of(case: Case) -> Joint | Unknown | None:
    """The cover's bolts; Unknown where a table lacks what the job names; None where no bolt presses on plastic."""
    wish, cover = case.job.wishes.bolts, cover_of(case)
    if wish is None or cover is None or wish.insert:
        return None
    holes = {f.id: f for f in cover.features if isinstance(f, Hole) and f.purpose == "bolt"}
    faces = [f for f in cover.features if isinstance(f, BearingFace) and f.of in holes and f.outer > f.inner]
    if not faces:
        return None
    rows = _rows(wish, case.job.wishes.printer.material)
    if isinstance(rows, Unknown):
        return rows
    face = min(faces, key=lambda f: bearing_area(f.outer, f.inner))
    hole = holes[face.of]
    plastic = hole.top - face.z if face.facing < 0 else face.z - hole.bottom
    sleeves = [f for f in cover.features if isinstance(f, Sleeve) and f.of in holes]
    stands_on = case.job.wishes.machine.face_material.strip().lower()
    return Joint(*rows[:4], face, plastic, tuple(h.center for h in holes.values()), rows[4], temperature_of(case),
                 _tube(wish, sleeves), _usual(wish, cover, holes), FACE_PRESSURE.get(stands_on), wish.torque_n_m,
                 max((s.length - s.plastic for s in sleeves), default=0.0))


def temperature_of(case: Case) -> Temperature | None:
    """The hottest the cover gets; None where neither temperature nor place is told."""
    service = case.job.wishes.service
    if service.temperature_c is not None:
        return Temperature(service.temperature_c, "service.temperature_c", False)
    place = PLACES.get(service.place)
    if place is None:
        return None
    return Temperature(place.high, tell('service.place "{place}": {source}', place=service.place, source=place.source),
                       place.from_memory)


NO_TEMPERATURE = Unknown(entry("The temperature in service is not told, and what plastic bears goes by it: measure the old part "
                               "after an hour's work (service.temperature_c), or say where it serves (service.place)."),
                         ("service.temperature_c", "service.place"))


def torque_of(joint: Joint) -> float | Unknown:
    """The torque the job states; Unknown without one, or where it is none that these threads ever see."""
    torque = joint.torque_n_m
    if torque is None:
        return Unknown(tell("No torque is told (bolts.torque_n_m), so that the clamp load is not known."), ("bolts.torque_n_m",))
    if not TORQUE_RANGE.holds(torque):
        return Unknown(tell("bolts.torque_n_m = {torque:g} N m lies outside {torque_range}, the torques of threads M2 to M12: "
                            "give N m.", torque=torque, torque_range=TORQUE_RANGE), ("bolts.torque_n_m",))
    return torque


def joint_and_torque(case: Case) -> tuple[Joint, float] | Unknown | None:
    """The joint with the torque the job states; Unknown where either is not known; None without bolts."""
    joint = joint_of(case)
    if joint is None or isinstance(joint, Unknown):
        return joint
    torque = torque_of(joint)
    return torque if isinstance(torque, Unknown) else (joint, torque)


def _rows(wish: BoltWish, filament: str) -> tuple[Bolt, PropertyClass, Head, Washer | None, Material] | Unknown:
    key = ""
    try:
        key = "bolts.thread"
        thread = bolt(wish.thread)
        key = "bolts.property_class"
        grade = property_class(wish.property_class)
        key = "bolts.head"
        top = head(wish.head, wish.thread)
        key = "bolts.washer"
        under = washer(wish.washer, wish.thread) if wish.washer else None
        key = "printer.material"
        return thread, grade, top, under, material(filament)
    except KeyError as error:
        return Unknown(f"{key}: {error.args[0]}.", (key,))


def _usual(wish: BoltWish, cover: Piece, holes: dict[str, Hole]) -> SleeveSize | None:
    """The usual sleeve of the thread, where the groove leaves a printable wall beside it at every bolt."""
    tube = next((s for s in SLEEVES if s.thread == wish.thread), None)
    grooves = [f for f in cover.features if isinstance(f, Groove)]
    if tube is None or not grooves:
        return tube
    places = np.array([hole.center for hole in holes.values()])
    walls = [chain for groove in grooves for chain in (groove.outer, groove.inner)]
    wall = min(float(distance_to_chain(places, chain).min()) for chain in walls) - tube.outside / 2.0
    return tube if wall >= rule("wall_least").low else None


def _tube(wish: BoltWish, sleeves: list[Sleeve]) -> SleeveSize | None:
    """The sleeve with the smallest end, in the built cover; its yield is that of the usual one."""
    if not sleeves:
        return None
    least = min(sleeves, key=lambda s: s.outside**2 - s.inside**2)
    usual = sleeve(wish.thread)
    return SleeveSize(wish.thread, least.inside, least.outside, usual.yield_stress, usual.source)
