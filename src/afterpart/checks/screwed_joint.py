"""The thread-forming screws as the checks see them: each kind of boss with the screw, and what the screw passes on its way.

Words: bosses that are alike are one *joint*; the *seat* is the face under the screw's head, the *plate* what lies between
head and boss; a *row* is one [[trial]] of a pilot hole.
Limits: the coupon's own bosses are no joint; neither are those of a piece that is not in the assembly (other pilot sizes).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.checks.judge import not_judged
from afterpart.formulas.trial_sizes import own_trials
from afterpart.model.assembly import Place
from afterpart.model.case import Case
from afterpart.model.feature import BearingFace, Boss, Hole
from afterpart.model.finding import Finding, Input
from afterpart.model.outline import Point
from afterpart.model.piece import Piece
from afterpart.model.wishes import ScrewWish, Trial
from afterpart.standards.measuring_tools import calliper_error, rectangular_u
from afterpart.words import counted, entry, paragraph, tell, together, translated

SAME_AXIS = 0.5
"""A hole this near to a boss's axis is the way of its screw, mm."""

PITCHES = 10
"""The pitch is measured over this many threads."""

WORDS = {"outside": entry("outside diameter"), "core": entry("core diameter"), "pitch": entry("pitch")}


@dataclass(frozen=True)
class ScrewedJoint:
    """Bosses that are alike.  boss: one of them; count; piece: file_stem; material: of the bosses; screws: None where the job has
    no [screws]; seat, plate: under the head and its thickness, None where no cover is passed."""

    boss: Boss
    count: int
    piece: str
    material: str
    screws: ScrewWish | None
    seat: BearingFace | None
    plate: float | None

    @property
    def name(self) -> str:
        """For the subject of a finding."""
        return (tell("{count} bosses of {piece}", count=self.count, piece=self.piece) if self.count > 1
                else tell("boss of {piece}", piece=self.piece))

    def without(self, *wanted: str) -> tuple[str, ...]:
        """Job keys of the screw's figures (outside, core, pitch) that are not told."""
        return tuple(f"screws.{name}" for name in wanted if self.screws is None or getattr(self.screws, name) is None)

    def untold(self, check: str, missing: tuple[str, ...], *, source: str, formula: str, severity: int) -> Finding:
        """The finding that says which figures of the screw are missing."""
        asked = together(translated(WORDS[key.partition(".")[2]]) for key in missing)
        untold = counted("The screw's {asked} is not told ({missing}): measure one screw, the pitch over ten threads divided by "
                         "ten.",
                         "The screw's {asked} are not told ({missing}): measure one screw, the pitch over ten threads divided by "
                         "ten.", count=len(missing), asked=asked, missing=", ".join(missing))
        return not_judged(check, self.name,
                          paragraph(untold, tell("The pitch of an M thread is not assumed for a screw that forms its own.")),
                          source=source, formula=formula, missing=missing, severity=severity)


def screwed_joints(case: Case) -> tuple[ScrewedJoint, ...]:
    """Every kind of boss of the built pieces; () where nothing is held by thread-forming screws."""
    found: dict[tuple[str, float, float, float], list[tuple[Piece, Boss]]] = {}
    for piece in case.build.pieces:
        if piece.kind == "hole_coupon" or (case.build.assembly.places and _place(case, piece) is None):
            continue
        for boss in (f for f in piece.features if isinstance(f, Boss)):
            key = (piece.file_stem, boss.diameter, boss.pilot, boss.engagement)
            found.setdefault(key, []).append((piece, boss))
    return tuple(_joint(case, alike) for alike in found.values())


def pilot_rows(case: Case, result: str = "") -> tuple[Trial, ...]:
    """What the hole coupon showed of pilot holes, along growing diameters; with `result`, only these rows."""
    rows = [t for t in own_trials(case.job.wishes) if t.what == "pilot" and result in ("", t.result)]
    return tuple(sorted(rows, key=lambda t: t.drawn))


def pilot_input(joint: ScrewedJoint) -> Input:
    """The drawn pilot hole as a figure that went in."""
    return Input(tell("pilot"), joint.boss.pilot, "mm", tell("pilot hole of {piece} as drawn", piece=joint.piece))


def thread_inputs(screws: ScrewWish) -> tuple[Input, ...]:
    """The screw's own figures that are told, as figures that went in."""
    told = {"outside": screws.outside, "core": screws.core, "pitch": screws.pitch}
    return tuple(Input(name, value, "mm", tell("screws.{name}, by calliper", name=name),
                       thread_u(value, PITCHES if name == "pitch" else 1)) for name, value in told.items() if value is not None)


def thread_u(value: float, over: int = 1) -> float:
    """Standard uncertainty of a length by digital calliper, taken over so many of it, mm (DIN 862 limit, rectangular)."""
    return rectangular_u(calliper_error(over * value)) / over


def _place(case: Case, piece: Piece) -> Place | None:
    return next((p for p in case.build.assembly.places if p.piece == piece.file_stem), None)


def _joint(case: Case, alike: list[tuple[Piece, Boss]]) -> ScrewedJoint:
    piece, boss = alike[0]
    passed = [way for p, b in alike for way in _passed(case, p, b)]
    seats = [(seat, hole.top - seat.z if seat.facing < 0 else seat.z - hole.bottom) for hole, seat in passed]
    worst = min(seats, key=lambda s: s[0].outer**2 - s[0].inner**2) if seats else None
    return ScrewedJoint(boss, len(alike), piece.file_stem, piece.material or case.job.wishes.printer.material,
                        case.job.wishes.screws, worst[0] if worst else None, worst[1] if worst else None)


def _passed(case: Case, piece: Piece, boss: Boss) -> list[tuple[Hole, BearingFace]]:
    """Screw holes of other pieces on the boss's axis, with the face under the head."""
    axis = _in_assembly(boss.center, _place(case, piece))
    found = []
    for other in case.build.pieces:
        place = _place(case, other)
        if other is piece or place is None:
            continue
        seats = {f.of: f for f in other.features if isinstance(f, BearingFace)}
        for hole in (f for f in other.features if isinstance(f, Hole) and f.purpose == "screw" and f.id in seats):
            if math.dist(axis, _in_assembly(hole.center, place)) <= SAME_AXIS:
                found.append((hole, seats[hole.id]))
    return found


def _in_assembly(point: Point, place: Place | None) -> Point:
    if place is None:
        return point
    return point[0] + place.shift[0], (-point[1] if place.flipped else point[1]) + place.shift[1]
