"""Every check there is, in one tuple.

A check is a function from the case to its findings; () where it does not apply to the job.  To add one: write its file, import
it here, add it to CHECKS, run docs/make_checks.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable

from afterpart.checks.bearing_stress import bearing_stress
from afterpart.checks.bolt_proof import bolt_proof
from afterpart.checks.clamp_load import clamp_load
from afterpart.checks.closing_force import closing_force
from afterpart.checks.cord_corner import cord_corner
from afterpart.checks.cord_fill import cord_fill
from afterpart.checks.cord_squeeze import cord_squeeze
from afterpart.checks.cord_stretch import cord_stretch
from afterpart.checks.dry_foam import dry_foam
from afterpart.checks.face_velocity import face_velocity
from afterpart.checks.foam_rim import foam_rim
from afterpart.checks.fragments import fragments
from afterpart.checks.inlet_pressure_drop import inlet_pressure_drop
from afterpart.checks.leak_gap import leak_gap
from afterpart.checks.loose_items import loose_items
from afterpart.checks.power_loss import power_loss
from afterpart.checks.pressure_between_bolts import pressure_between_bolts
from afterpart.checks.relaxation import relaxation
from afterpart.checks.sleeve_decision import sleeve_decision
from afterpart.checks.straight_or_curved import straight_or_curved
from afterpart.checks.swarf import swarf
from afterpart.checks.torque_stated import torque_stated
from afterpart.model.case import Case
from afterpart.model.finding import Finding

Check = Callable[[Case], tuple[Finding, ...]]

CHECKS: tuple[Check, ...] = (
    cord_squeeze, cord_fill, cord_stretch, cord_corner, closing_force, pressure_between_bolts, leak_gap, clamp_load, bolt_proof,
    bearing_stress, relaxation, sleeve_decision, torque_stated, face_velocity, inlet_pressure_drop, power_loss,
    straight_or_curved, foam_rim, dry_foam, loose_items, swarf, fragments,
)
