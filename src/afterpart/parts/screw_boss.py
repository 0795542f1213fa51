"""Bosses for screws that form their own thread: pilot hole, diameter, engagement, and how deep the hole must be.

Words: a boss's *foot* is its free end, where the screw enters; the *floor* is what the screw passes before it reaches the foot;
the *relief* is a short wider mouth of the pilot hole, so that the rim thrown up by the first turn does not lift the foot.

        engagement = l - F - e          l  length of the screw under its head
        depth      = l - F + END        F  floor,  e  depth of the relief
Sizes are multiples of the screw's outside diameter d by material (standards/thread_forming.py), never less than 2.5 d for boss
and engagement in a print.  The job's own figures override the rule; a trial in which the screw drove overrides both for the
pilot hole.  mm.
Limits: nothing is said here about torques; that is for the checks.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.errors import JobError
from afterpart.formulas.trial_sizes import own_trials
from afterpart.model.edges import Note
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Point
from afterpart.model.piece import Cone, Solid
from afterpart.model.wishes import ScrewWish
from afterpart.parts.trials import clearance_from_trials, pilot_from_trials
from afterpart.standards.clearance_holes import CLEARANCE_HOLES
from afterpart.standards.thread_forming import (
    PRINTED_BOSS,
    PRINTED_ENGAGEMENT,
    RELIEF_BORE,
    RELIEF_DEPTH,
    BossRule,
    boss_rule,
)
from afterpart.words import entry, tell, translated

END = 1.0
"""Left below the screw's tip for swarf, mm."""
BLIND = 1.2
"""Least solid behind a pilot hole: it closes the way of a screw or swarf, mm (six usual layers)."""
WALL = 1.2
"""Least wall round a pilot hole: three usual lines, mm."""
LOOSEST_HOLE = 1.13
"""Clearance hole over screw where no standard size is near: as wide as an M3's of the medium series is, rounded."""


@dataclass(frozen=True)
class BossPlan:
    """A boss as the job wants it.  diameter; pilot; engagement: length of thread that carries; depth: of the pilot hole from the
    foot; relief: diameter of its mouth, relief_depth: how deep that is; notes: what the maker must know."""

    diameter: float
    pilot: float
    engagement: float
    depth: float
    relief: float
    relief_depth: float
    notes: tuple[Note, ...] = ()


def screws_of(job: Job) -> ScrewWish:
    """The job's screws, the usual 3.0 x 12 where it has no [screws]."""
    return job.wishes.screws or ScrewWish()


def boss_diameter(job: Job) -> float:
    """Outside diameter of a boss.  JobError: too slim for its pilot hole, or no rule for the material."""
    screws = screws_of(job)
    rule = None if screws.boss is not None else _rule(job)
    diameter = screws.boss if rule is None else max(rule.boss, PRINTED_BOSS) * screws.outside
    pilot = pilot_diameter(job)
    least = max(pilot, screws.outside) + 2 * WALL
    if diameter < least - 1e-9:
        raise JobError(tell("screws.boss: {diameter:g} mm found, at least {least:.2f} mm expected: three lines of print round a "
                            "screw of {outside:g} mm, or it splits; give a larger boss or a thinner screw", diameter=diameter,
                            least=least, outside=screws.outside))
    return diameter


def pilot_diameter(job: Job) -> float:
    """Diameter of the pilot hole: from trials, else from the job, else by the rule.

    JobError: not between the screw's core and outside diameter; trials contradict; no rule for the material.
    """
    screws = screws_of(job)
    trial = pilot_from_trials(own_trials(job.wishes))
    if trial is not None and trial.size is not None:
        pilot, key = trial.size, tell("[[trial]] drawn")
    elif screws.pilot is not None:
        pilot, key = screws.pilot, "screws.pilot"
    else:
        pilot, key = rule_pilot(job), "screws.outside"
    low = screws.core if screws.core is not None else 0.5 * screws.outside
    if not low < pilot < screws.outside:
        raise JobError(tell("{key}: a pilot hole of {pilot:g} mm found, one between the screw's core ({low:g} mm) and its "
                            "outside ({outside:g} mm) expected, or no thread is formed; measure the screw again or correct the "
                            "row", key=key, pilot=pilot, low=low, outside=screws.outside))
    return pilot


def rule_pilot(job: Job) -> float:
    """The pilot hole by the material's rule alone, to a hundredth of a millimetre.  JobError: no rule for the material."""
    return round(_rule(job).pilot * screws_of(job).outside, 2)


FRAME_ROOM = entry("a thicker element (filter.thickness), a thicker web (holder.thickness)")
"""What gives the screws of a clamp frame more room."""


def plan_boss(job: Job, floor: float, room: float, key: str = "screws.length", roomier: str = translated(FRAME_ROOM)) -> BossPlan:
    """The boss for a screw that passes `floor` first, with `room` from the foot to the far side of the solid behind it.

    key, roomier: what an error names first, and what would give more room, in words.
    JobError: the screw is too short to carry, or so long that the hole would break through.
    """
    screws = screws_of(job)
    wanted = screws.engagement if screws.engagement is not None else _least_engagement(job)
    relief_depth = round(RELIEF_DEPTH.low * screws.outside, 2)
    engagement = screws.length - floor - relief_depth
    shortest, longest = floor + relief_depth + wanted, floor + room - BLIND - END
    if screws.length < shortest - 1e-9 or screws.length > longest + 1e-9:
        fits = (tell("{shortest:.1f} to {longest:.1f} mm", shortest=shortest, longest=longest) if shortest <= longest
                else tell("at least {shortest:.1f} mm", shortest=shortest))
        more = "" if shortest <= longest else tell(", but the boss takes no more than {longest:.1f} mm: {roomier} or a smaller "
                                                   "screws.engagement is needed", longest=longest, roomier=roomier)
        raise JobError(tell("{key}: {length:g} mm found, {fits} expected{more}.  A floor of {floor:g} mm, a relief of "
                            "{relief_depth:g} mm and {wanted:g} mm of thread must fit, and {blind:g} mm must stay closed behind "
                            "the hole", key=key, length=screws.length, fits=fits, more=more, floor=floor,
                            relief_depth=relief_depth, wanted=wanted, blind=BLIND))
    return BossPlan(
        diameter=boss_diameter(job),
        pilot=pilot_diameter(job),
        engagement=engagement,
        depth=screws.length - floor + END,
        relief=round(RELIEF_BORE.high * screws.outside, 2),
        relief_depth=relief_depth,
        notes=_notes(job),
    )


def bore(plan: BossPlan, center: Point, foot: float) -> tuple[Solid, ...]:
    """What is cut from a boss whose foot looks up at height `foot`: the blind pilot hole, and the relief at its mouth."""
    bottom, r = foot - plan.depth, plan.pilot / 2
    mouth = Cone(center, foot - plan.relief_depth, foot, plan.relief / 2, plan.relief / 2)
    return (Cone(center, bottom, foot - plan.relief_depth / 2, r, r), mouth)


def screw_clearance(job: Job) -> float:
    """Diameter of the clearance hole for the job's screws: from trials, else ISO 273 medium for the next thread of that
    diameter, else the same share over the screw.  JobError: trials contradict, or fit no screw of this diameter."""
    outside = screws_of(job).outside
    trial = clearance_from_trials(own_trials(job.wishes), outside)
    if trial is not None and trial.size is not None:
        if trial.size <= outside:
            raise JobError(tell("[[trial]] drawn: a clearance hole of {size:g} mm found, more than the screw's {outside:g} mm "
                                "expected; correct the row, or screws.outside", size=trial.size, outside=outside))
        return trial.size
    return usual_clearance(outside)


def usual_clearance(outside: float) -> float:
    """Clearance hole of a screw of this diameter: ISO 273 medium where it has a row, else LOOSEST_HOLE times the screw."""
    for hole in CLEARANCE_HOLES:
        if abs(hole.nominal - outside) <= 0.05:
            return hole.medium
    return round(LOOSEST_HOLE * outside, 1)


def rim_circle(center: Point, diameter: float) -> tuple[Circle]:
    """A round boss seen from above, as a chain."""
    return (Circle("", center, diameter / 2),)


def _rule(job: Job) -> BossRule:
    material = job.wishes.printer.material
    try:
        return boss_rule(material)
    except KeyError as error:
        raise JobError(tell("printer.material: {material!r} found, for which there is no rule for screws ({args}); give "
                            "screws.pilot, screws.boss and screws.engagement from the screw's maker and a hole coupon",
                            material=material, args=error.args[0])) from error


def _least_engagement(job: Job) -> float:
    return max(_rule(job).engagement, PRINTED_ENGAGEMENT) * screws_of(job).outside


def _notes(job: Job) -> tuple[Note, ...]:
    trial = pilot_from_trials(own_trials(job.wishes))
    if trial is not None and trial.size is not None:
        return (Note("pilot_from_trial", tell("Pilot holes follow the job's trials: {why}.", why=trial.why)),)
    asked = tell("as the job says") if screws_of(job).pilot is not None else tell("by the rule for {material}",
                                                                                  material=job.wishes.printer.material)
    why = f" ({trial.why})" if trial is not None else ""
    return (Note("pilot_untried",
                 tell("Pilot holes are {pilot_diameter:g} mm {asked}, not yet tried on this printer{why}: print the hole coupon "
                      "in the same material, drive a screw into each hole and write a [[trial]] row for each.",
                      pilot_diameter=pilot_diameter(job), asked=asked, why=why)),)
