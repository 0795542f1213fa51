"""Bolts that work loose at small torques: whether the cover can slip across them, and what would keep them."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.bolted_joint import Joint, Unknown, joint_and_torque
from afterpart.checks.joint_window import load_inputs, needed_of, rounded_up
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.relaxation import figures_hold, share_kept
from afterpart.checks.seal_load import Needed
from afterpart.formulas.bolted import preload_band
from afterpart.formulas.loosening import least_load_against_slip, slip_load
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.loosening import (
    FACE_FRICTION,
    FACE_SOURCE,
    JUNKER_SOURCE,
    PASSED_SHARE,
    SLIP_RESERVE,
    SLIP_SOURCE,
    TEST_SOURCE,
    VERIFICATION_TESTS,
)
from afterpart.words import entry, paragraph, symbol_words, tell, translated

NAME = "self_loosening"
KEY = "bolts.transverse_load_n"
FORMULA = entry("F_slip = mu (n F_least r - F_seal) >= 1.8 F_across")
SEVERITY = 7

KEPT_BY = entry("What keeps a bolt that has lost its load: a prevailing-torque nut or a thread with a nylon patch, wedge washers "
                "between metal faces (never on plastic), wire through the heads, or a second piece over them. Thread lock cracks "
                "many plastics. Mark each head with a line of paint and look at it after the first hour and at every service.")


def self_loosening(case: Case) -> tuple[Finding, ...]:
    """What the bolts hold across by friction, after a thousand hours, against the load that shakes the cover across them.

        F_slip = mu (n F_least r - F_seal) >= SLIP_RESERVE F_across
        mu friction of the faces (low end), n bolts, F_least clamp load of the torque, r share kept, F_seal closing force

    Bolts whose joint never slips do not turn loose by transverse strokes (Junker); in plastic the load goes first, by creep.
    How long a slipping bolt lasts no drawing tells: without bolts.transverse_load_n it is not judged, and what would keep it is
    named.  Screws that form their thread hold themselves by it and are not looked at.  Sources: standards.loosening.
    """
    found = joint_and_torque(case)
    if found is None:
        return ()
    if isinstance(found, Unknown):
        return (_unknown(found.reason, found.missing),)
    joint, torque = found
    unfit, needed = figures_hold(joint), needed_of(case, joint)
    if unfit is not None:
        return (_unknown(unfit.reason, unfit.missing),)
    if isinstance(needed, Unknown):
        return (_unknown(needed.reason, needed.missing),)
    across = case.job.wishes.bolts.transverse_load_n if case.job.wishes.bolts else None
    return (_untold(joint, torque, needed) if across is None else _against(joint, torque, needed, across),)


def _unknown(reason: str, missing: tuple[str, ...]) -> Finding:
    return not_judged(NAME, tell("bolts of the cover"), paragraph(reason, translated(KEPT_BY)), source=_source(), formula=FORMULA,
                      missing=missing, severity=SEVERITY)


def _test() -> str:
    return tell("A bolt's own hold is proven by a transverse vibration test only ({share:.0%} of the preload left, {count} "
                "tests); nothing here stands in for it.", share=PASSED_SHARE, count=VERIFICATION_TESTS)


def _values(joint: Joint, torque: float, needed: Needed) -> dict[str, float]:
    return {"count": float(len(joint.places)), "least_n": preload_band(torque, joint.bolt.nominal).least_n,
            "kept": share_kept(joint), "seal_n": needed.total_n, "friction": FACE_FRICTION.low}


def _untold(joint: Joint, torque: float, needed: Needed) -> Finding:
    held = slip_load(**_values(joint, torque, needed))
    told = tell("Whether the cover is shaken across its bolts is not told ({key}). After a thousand hours they hold about "
                "{held:.0f} N across by friction, {held_2:.0f} N with a reserve for loads that go to and fro.", key=KEY,
                held=held, held_2=held / SLIP_RESERVE)
    return not_judged(NAME, joint.name, paragraph(told, translated(KEPT_BY), _test()), source=f"{_source()}; {TEST_SOURCE}",
                      formula=FORMULA, missing=(KEY,), inputs=_inputs(joint, torque, needed), severity=SEVERITY)


def _against(joint: Joint, torque: float, needed: Needed, across: float) -> Finding:
    values = _values(joint, torque, needed)
    held, wanted = slip_load(**values), SLIP_RESERVE * across
    return judged(NAME, joint.name, held, "N", Limit(low=wanted), source=f"{_source()}; {TEST_SOURCE}", formula=FORMULA,
                  advice=paragraph(tell("The bolts hold {held:.0f} N across by friction; {across:g} N to and fro ask for "
                                        "{wanted:.0f} N.", held=held, across=across, wanted=wanted), translated(KEPT_BY),
                                   _test()), from_memory=True, severity=SEVERITY,
                  inputs=(Input(tell("load across"), across, "N", KEY), *_inputs(joint, torque, needed)),
                  sensitivity=strongest(slip_load, values), suggestions=_tighter(torque, values, across) if held < wanted else ())


def _tighter(torque: float, values: dict[str, float], across: float) -> tuple[Suggestion, ...]:
    """The torque that holds it: clamp load goes with torque."""
    others = {name: value for name, value in values.items() if name != "least_n"}
    enough = torque * least_load_against_slip(across, SLIP_RESERVE, **others) / values["least_n"]
    return (Suggestion("bolts.torque_n_m", torque, rounded_up(enough),
                       tell("holds the cover by friction; what is borne is told under \"{check}\"",
                            check=symbol_words("torque_stated"))),)


def _inputs(joint: Joint, torque: float, needed: Needed) -> tuple[Input, ...]:
    return (*load_inputs(joint, torque, preload_band(torque, joint.bolt.nominal)),
            Input(tell("share kept"), share_kept(joint), "-", tell("relaxation, after a thousand hours")),
            Input(tell("seal force"), needed.total_n, "N", tell("upper end, on all bolts")),
            Input(tell("friction of the faces"), FACE_FRICTION.low, "-", tell("low end: {face_source}", face_source=FACE_SOURCE)))


def _source() -> str:
    return f"{JUNKER_SOURCE}; {SLIP_SOURCE}; {FACE_SOURCE}"
