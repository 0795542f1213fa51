"""The turn after snug: what it pulls on the formed thread, and what it presses on the plastic under the head."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.checks.judge import judged, not_judged, strongest, value_that_passes
from afterpart.checks.screwed_joint import ScrewedJoint, screwed_joints, thread_inputs
from afterpart.formulas.bolted import bearing_stress
from afterpart.formulas.screws import STRIP_SOURCE, force_after_snug, shear_strength, stripping_force
from afterpart.formulas.snug_turn import EIGHTH_DEG, HAND_DEG, screw_stiffness, turned_force
from afterpart.model.case import Case
from afterpart.model.feature import BearingFace
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.wishes import ScrewWish
from afterpart.standards.materials import Material, material
from afterpart.standards.thread_forming import GUIDES_SOURCE, SEATING_SHARE
from afterpart.standards.threads import THREADS
from afterpart.words import entry, paragraph, tell, translated

THREAD = entry("F = (angle / 360) P k <= 0.7 tau pi d L eta")
BEARING = entry("p = F / A <= short-term bearing limit")
SEVERITY_THREAD, SEVERITY_BEARING = 6, 5
RIGID = entry("What the screw holds is no piece of this job: it is taken as rigid, so that the true pull is smaller; what it "
              "bears under the head its maker must say.")


@dataclass(frozen=True)
class _Turn:
    """All that the pull of a turn depends on, and what bounds it: the seating share of the stripping force, and the short-term
    bearing limit.  seat: under the head, None where the screw holds a part of the machine's, taken as rigid: then the pull is at
    its greatest, and what that part bears is not known."""

    screws: ScrewWish
    seat: BearingFace | None
    plate: float
    engagement: float
    modulus: float
    tau: float
    pull_limit: float
    stress_limit: float
    plastic: Material

    def force(self, angle: float, pitch: float, core: float, plate: float, **seat: float) -> float:
        """F of the turn, N; seat: head, hole and modulus of what the head presses, () where that is rigid."""
        screw = screw_stiffness(self.screws.outside, core, plate)
        if not seat:
            return force_after_snug(angle, pitch, screw)
        return turned_force(angle, pitch, screw, seat["head"], seat["hole"], seat["modulus"], plate)

    def given(self, angle_deg: float) -> dict[str, float]:
        """The inputs of `force`."""
        assert self.screws.pitch is not None and self.screws.core is not None
        screw = {"angle": angle_deg, "pitch": self.screws.pitch, "core": self.screws.core, "plate": self.plate}
        if self.seat is None:
            return screw
        return {**screw, "head": self.seat.outer, "hole": self.seat.inner, "modulus": self.modulus}

    def pull(self, angle_deg: float) -> float:
        """Force of this turn, N."""
        return self.force(**self.given(angle_deg))

    def stress(self, angle_deg: float) -> float:
        """Bearing stress of this turn, N/mm2; 0 on a part that is not ours."""
        return 0.0 if self.seat is None else bearing_stress(self.pull(angle_deg), self.seat.outer, self.seat.inner)


def screw_extra_turn(case: Case) -> tuple[Finding, ...]:
    """Pull on the thread and bearing stress under the head of the turn after snug.

    The turn is screws.angle_deg; where that is not told, the one that the guide then tells: as far as thread and plastic bear, at
    least HAND_DEG and at most the usual eighth, whose pull is told beside it.

        F = (angle / 360) P k,   1 / k = l / (A E) + 1 / k_screw       an upper bound: hard plastic, no roughness
        thread:   F <= SEATING_SHARE tau pi d L eta                   weak plastic, layers across the screw
        bearing:  p = F / ((pi / 4)(D^2 - d_h^2)) <= yield / 1.5       short term, at room temperature

    P pitch, l plate, D head, d_h hole, L thread that carries [mm].  Core and pitch from the screw, else not judged.  A boss that
    holds a part of the machine's: that part is taken as rigid, l is the screw's length less its thread in the boss, and only the
    thread is judged.
    Sources: formulas.screws, formulas.snug_turn, standards.materials; strengths from memory.
    """
    return tuple(finding for joint in screwed_joints(case) for finding in _findings(joint))


def _findings(joint: ScrewedJoint) -> tuple[Finding, ...]:
    name, source = "screw_extra_turn", f"{STRIP_SOURCE}; {GUIDES_SOURCE}"
    missing = joint.without("outside", "core", "pitch")
    if missing:
        return (joint.untold(name, missing, source=source, formula=THREAD, severity=SEVERITY_THREAD),)
    if joint.seat is None and _held_by(joint) is None:
        return (not_judged(name, joint.name,
                           tell("What these screws hold is no piece of this job, and screws.length does not tell how far it lets "
                                "them stretch: give a length that reaches beyond the thread in the boss."), source=source,
                           formula=THREAD, missing=("screws.length",), severity=SEVERITY_THREAD),)
    turn = _turn(joint)
    if isinstance(turn, str):
        return (not_judged(name, joint.name, turn, source=source, formula=THREAD, missing=("printer.material",),
                           severity=SEVERITY_THREAD),)
    angle = turn.screws.angle_deg if turn.screws.angle_deg is not None else max(_greatest(turn), HAND_DEG)
    return (_thread(joint, turn, angle),) if turn.seat is None else (_thread(joint, turn, angle), _bearing(joint, turn, angle))


def _held_by(joint: ScrewedJoint) -> float | None:
    """Length of screw between head and thread, mm: the plate it passes, else what its length leaves over; None where neither is
    known."""
    if joint.plate is not None:
        return joint.plate
    left = joint.screws.length - joint.boss.engagement if joint.screws is not None else 0.0
    return left if left > 0.0 else None


def _turn(joint: ScrewedJoint) -> _Turn | str:
    screws, seat, plate = joint.screws, joint.seat, _held_by(joint)
    assert screws is not None and plate is not None
    try:
        plastic = material(joint.material)
    except KeyError as error:
        return tell("printer.material: {args}.", args=error.args[0])
    stress = plastic.bearing_limit(long_term=False)
    if plastic.modulus is None or plastic.yield_stress is None or stress is None:
        return tell("{plastic} has no stiffness and strength in the tables that a screw could be reckoned with.",
                    plastic=plastic.name)
    tau = shear_strength(plastic.yield_stress.low, plastic.interlayer_factor.low)
    pull = SEATING_SHARE * stripping_force(screws.outside, joint.boss.engagement, tau)
    return _Turn(screws, seat, plate, joint.boss.engagement, plastic.modulus.high, tau, pull, stress, plastic)


def _thread(joint: ScrewedJoint, turn: _Turn, angle: float) -> Finding:
    return judged("screw_extra_turn", tell("{joint}, thread", joint=joint.name), turn.pull(angle), "N",
                  Limit(high=turn.pull_limit), formula=THREAD, source=f"{STRIP_SOURCE}; {GUIDES_SOURCE}",
                  from_memory=True, severity=SEVERITY_THREAD,
                  inputs=(*_inputs(turn, angle),
                          Input(tell("tau"), turn.tau, "N/mm2",
                                tell("shear of {plastic}, weak end, across layers", plastic=turn.plastic.name)),
                          Input(tell("engagement"), turn.engagement, "mm", tell("boss of {piece} as built", piece=joint.piece)),
                          *_compared(turn, angle)),
                  advice=paragraph(tell("{angle:g} degrees after snug pull up to {pull:.0f} N; {pull_limit:.0f} N is what this "
                                        "thread should see.", angle=angle, pull=turn.pull(angle), pull_limit=turn.pull_limit),
                                   _instruction(turn), _eighth(turn, angle), translated(RIGID) if turn.seat is None else ""),
                  sensitivity=strongest(turn.force, turn.given(angle)), suggestions=_smaller(turn, angle))


def _bearing(joint: ScrewedJoint, turn: _Turn, angle: float) -> Finding:
    def stress(**given: float) -> float:
        return bearing_stress(turn.force(**given), given["head"], given["hole"])

    assert turn.seat is not None, "only a face of ours is judged"
    plastic, creep = turn.plastic, turn.plastic.creep_retention
    kept = (tell("After a thousand hours {creep_low:.0%} to {creep_high:.0%} of the pull is left: do not turn on to make up for "
                 "it.", creep_low=creep.low, creep_high=creep.high) if creep else "")
    return judged("screw_extra_turn", tell("{joint}, under the head", joint=joint.name), turn.stress(angle), "N/mm2",
                  Limit(high=turn.stress_limit), source=str(plastic.yield_stress.source if plastic.yield_stress else ""),
                  formula=BEARING, from_memory=True, severity=SEVERITY_BEARING,
                  inputs=(*_inputs(turn, angle),
                          Input(tell("pull"), turn.pull(angle), "N", translated(THREAD).partition(" <=")[0])),
                  advice=paragraph(tell("{angle:g} degrees after snug press up to {stress:.0f} N/mm2 on the {plastic} under the "
                                        "head; it bears {stress_limit:.0f} for a short time.", angle=angle,
                                        stress=turn.stress(angle), plastic=plastic.name, stress_limit=turn.stress_limit),
                                   _instruction(turn), _eighth(turn, angle), kept),
                  sensitivity=strongest(stress, turn.given(angle)), suggestions=_smaller(turn, angle))


def _greatest(turn: _Turn) -> float:
    """The largest turn, up to the usual eighth, that keeps thread and plastic within their limits, whole degrees."""
    def room(angle: float) -> float:
        return min(turn.pull_limit - turn.pull(angle), turn.stress_limit - turn.stress(angle))

    found = value_that_passes(room, EIGHTH_DEG, 0.0)
    assert found is not None
    return float(math.floor(found))


def _instruction(turn: _Turn) -> str:
    greatest = _greatest(turn)
    if greatest < HAND_DEG:
        return tell("Thread and plastic bear {greatest:g} degrees after snug, less than a hand can give: stop where the head "
                    "touches, or give the screws a longer thread and larger heads.", greatest=greatest)
    return tell("Stop where the head touches, then turn no more than {greatest:g} degrees (a minute on a clock's face is 6).",
                greatest=greatest)


def _eighth(turn: _Turn, angle: float) -> str:
    if EIGHTH_DEG <= max(_greatest(turn), angle):
        return ""
    return tell("The usual eighth of a turn is too much for this screw: with its pitch of {pitch:g} mm it would pull up to "
                "{pull:.0f} N and press {stress:.0f} N/mm2.", pitch=turn.screws.pitch, pull=turn.pull(EIGHTH_DEG),
                stress=turn.stress(EIGHTH_DEG))


def _smaller(turn: _Turn, angle: float) -> tuple[Suggestion, ...]:
    greatest = _greatest(turn)
    if angle <= greatest:
        return ()
    return (Suggestion("screws.angle_deg", turn.screws.angle_deg, greatest,
                       tell("the turn after snug that thread and plastic bear")),)


def _inputs(turn: _Turn, angle: float) -> tuple[Input, ...]:
    told = "screws.angle_deg" if turn.screws.angle_deg is not None else tell("solved from both limits: screws.angle_deg is not "
                                                                             "told")
    return (Input(tell("angle"), angle, "degrees", told), *thread_inputs(turn.screws), *_seat_inputs(turn))


def _seat_inputs(turn: _Turn) -> tuple[Input, ...]:
    if turn.seat is None:
        return (Input(tell("plate"), turn.plate, "mm",
                      tell("screws.length less the thread in the boss: a part of the machine's")),)
    return (Input(tell("head"), turn.seat.outer, "mm", tell("what presses, as built")),
            Input(tell("hole"), turn.seat.inner, "mm", tell("as built")),
            Input(tell("plate"), turn.plate, "mm", tell("under the head, as built")),
            Input(tell("modulus"), turn.modulus, "N/mm2", tell("{plastic}, stiff end", plastic=turn.plastic.name)))


def _compared(turn: _Turn, angle: float) -> tuple[Input, ...]:
    """What the usual eighth pulls, and what the same turn would pull with the pitch of the M thread of that size."""
    eighth = Input(tell("pull of an eighth of a turn"), turn.pull(EIGHTH_DEG), "N", tell("for comparison"))
    pitch = next((t.coarse_pitch for t in THREADS if abs(t.nominal - turn.screws.outside) < 0.1), None)
    if pitch is None:
        return (eighth,)
    pull = turn.force(**{**turn.given(angle), "pitch": pitch})
    return eighth, Input(tell("pull with an M thread's pitch"), pull, "N",
                         tell("pitch {pitch:g} mm, for comparison: not this screw's", pitch=pitch))
