"""What torque works for the cover's bolts: one place for the checks that ask it.

Words: see formulas/bolted.py; the *needed load* is what the seal asks of the bolt with the longest share of it.
Limits: a cover without a seal needs no clamp load that is known here: its window begins at nothing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.bolted_joint import NO_TEMPERATURE, Joint, Temperature, Unknown
from afterpart.checks.seal_load import Needed, needed_load, seal_load_of
from afterpart.formulas.bolted import LoadBand, TorqueLimits, load_of_torque, torque_limits, vdi_torque
from afterpart.model.case import Case
from afterpart.model.finding import Input
from afterpart.standards.fasteners import SleeveSize
from afterpart.standards.friction import TOOL_SCATTER, friction
from afterpart.standards.materials import STRESS_RANGE
from afterpart.words import tell

DIGITS = 2
"""Of a torque in words, N m."""


def needed_of(case: Case, joint: Joint) -> Needed | Unknown:
    """What the seal needs of the bolts; nothing where the job has no seal."""
    load = seal_load_of(case)
    if isinstance(load, Unknown):
        return load
    return Needed(0.0, 0.0, ()) if load is None else needed_load(case, joint, load)


def known_temperature(joint: Joint) -> Temperature | Unknown:
    """The hottest service, or why the plastic's figures do not reach to it."""
    if joint.temperature is None:
        return NO_TEMPERATURE
    if not STRESS_RANGE.holds(joint.temperature.celsius):
        return Unknown(tell("{celsius:g} degC lies outside {stress_range}, where the plastics' figures hold: check "
                            "service.temperature_c.", celsius=joint.temperature.celsius, stress_range=STRESS_RANGE),
                       ("service.temperature_c",))
    if joint.material.bearing_limit(joint.temperature.celsius) is None:
        return Unknown(tell("{material} has no bearing limit: nothing of it should carry a clamp load; choose another "
                            "printer.material.", material=joint.material.name), ("printer.material",))
    return joint.temperature


def limits_of(joint: Joint, temperature: Temperature, needed_n: float, tube: SleeveSize | None) -> TorqueLimits:
    """Both ends of the torque with this sleeve (None: the plastic bears)."""
    return torque_limits(joint.bolt, joint.grade, joint.face.outer, joint.face.inner, joint.material, temperature.celsius,
                         needed_n,
                         sleeve=tube, mating_yield=joint.face_limit)


def window_in_words(limits: TorqueLimits) -> str:
    """The torque that works, to follow "a torque", or what stands in its way."""
    if limits.least_load_n <= 0.0:
        return tell("up to {high_n_m:.{digits}f} N m ({high_set_by})", high_n_m=limits.high_n_m, digits=DIGITS,
                    high_set_by=limits.high_set_by)
    low = f"{limits.low_n_m:.{DIGITS}f} N m ({limits.low_set_by})"
    high = f"{limits.high_n_m:.{DIGITS}f} N m ({limits.high_set_by})"
    if 0.0 < limits.high_n_m and limits.low_n_m <= limits.high_n_m:
        return tell("from {low} to {high}", low=low, high=high)
    return tell("that does not exist: the seal needs {low}, but only {high} is borne", low=low, high=high)


def friction_band(joint: Joint, torque_n_m: float) -> LoadBand:
    """Clamp load by coefficients of friction in thread and under the head (VDI 2230), beside the one by K, N."""
    state = friction()
    bearing, hole = joint.head.bearing_diameter, joint.face.inner
    low, middle, high = (1e3 * vdi_torque(joint.bolt, 1.0, mu, mu, bearing, hole) / joint.bolt.nominal for mu in (
        state.friction_low, 0.5 * (state.friction_low + state.friction_high), state.friction_high))
    least, expected, greatest = high / (1.0 - TOOL_SCATTER), middle, low / (1.0 + TOOL_SCATTER)
    return LoadBand(*(load_of_torque(torque_n_m, joint.bolt.nominal, k) for k in (least, expected, greatest)))


def rounded_up(torque_n_m: float) -> float:
    """A torque that is at least this, to DIGITS."""
    return math.ceil(torque_n_m * 10.0**DIGITS) / 10.0**DIGITS


def rounded_down(torque_n_m: float) -> float:
    """A torque that is at most this, to DIGITS."""
    return math.floor(torque_n_m * 10.0**DIGITS) / 10.0**DIGITS


def load_inputs(joint: Joint, torque_n_m: float, band: LoadBand) -> tuple[Input, ...]:
    """Torque, clamp load by K, and by friction beside it."""
    other = friction_band(joint, torque_n_m)
    return (Input(tell("torque"), torque_n_m, "N m", "bolts.torque_n_m"),
            Input(tell("least clamp load"), band.least_n, "N", tell("K of a thread as received, with the wrench's scatter")),
            Input(tell("expected clamp load"), band.expected_n, "N", tell("middle K")),
            Input(tell("greatest clamp load"), band.greatest_n, "N",
                  tell("K of a thread as received, with the wrench's scatter")),
            Input(tell("least clamp load by friction"), other.least_n, "N", tell("VDI 2230, tool's scatter; for comparison")),
            Input(tell("greatest clamp load by friction"), other.greatest_n, "N",
                  tell("VDI 2230, tool's scatter; for comparison")))
