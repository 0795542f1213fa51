"""Every check there is, in one tuple.

A check is a function from the case to its findings; () where it does not apply to the job.  To add one: write its file, import
it here, add it to CHECKS, run docs/make_checks.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable

from afterpart.checks.bar_bending import bar_bending
from afterpart.checks.bearing_stress import bearing_stress
from afterpart.checks.bed_fit import bed_fit
from afterpart.checks.bolt_length import bolt_length
from afterpart.checks.bolt_proof import bolt_proof
from afterpart.checks.bolt_room import bolt_room
from afterpart.checks.bridges import bridges
from afterpart.checks.clamp_load import clamp_load
from afterpart.checks.clamped_heat import clamped_heat
from afterpart.checks.closing_force import closing_force
from afterpart.checks.cord_corner import cord_corner
from afterpart.checks.cord_fill import cord_fill
from afterpart.checks.cord_squeeze import cord_squeeze
from afterpart.checks.cord_stretch import cord_stretch
from afterpart.checks.coupon_result import coupon_result
from afterpart.checks.cover_bow import cover_bow
from afterpart.checks.double_location import double_location
from afterpart.checks.driver_access import driver_access
from afterpart.checks.dry_foam import dry_foam
from afterpart.checks.face_velocity import face_velocity
from afterpart.checks.first_layer_chamfer import first_layer_chamfer
from afterpart.checks.fit_clearance_wanted import fit_clearance_wanted
from afterpart.checks.fit_share import fit_share
from afterpart.checks.foam_rim import foam_rim
from afterpart.checks.fragments import fragments
from afterpart.checks.gap_at_locating import gap_at_locating
from afterpart.checks.inlet_exposure import inlet_exposure
from afterpart.checks.inlet_pressure_drop import inlet_pressure_drop
from afterpart.checks.leak_gap import leak_gap
from afterpart.checks.load_across_layers import load_across_layers
from afterpart.checks.loose_items import loose_items
from afterpart.checks.making_it import making_it
from afterpart.checks.mate_holes import mate_holes
from afterpart.checks.mate_lands import mate_lands
from afterpart.checks.material_media import material_media
from afterpart.checks.one_way_fit import one_way_fit
from afterpart.checks.overhangs import overhangs
from afterpart.checks.power_loss import power_loss
from afterpart.checks.pressure_between_bolts import pressure_between_bolts
from afterpart.checks.print_effort import print_effort
from afterpart.checks.print_true import print_true
from afterpart.checks.relaxation import relaxation
from afterpart.checks.reported_fits import reported_fits
from afterpart.checks.rubbed_places import rubbed_places
from afterpart.checks.screw_boss import screw_boss
from afterpart.checks.screw_engagement import screw_engagement
from afterpart.checks.screw_extra_turn import screw_extra_turn
from afterpart.checks.screw_hole_sensitivity import screw_hole_sensitivity
from afterpart.checks.screw_pilot import screw_pilot
from afterpart.checks.screw_thread_told import screw_thread_told
from afterpart.checks.screw_torque_window import screw_torque_window
from afterpart.checks.self_loosening import self_loosening
from afterpart.checks.service_heat import service_heat
from afterpart.checks.sleeve_decision import sleeve_decision
from afterpart.checks.straight_or_curved import straight_or_curved
from afterpart.checks.swarf import swarf
from afterpart.checks.thinnest_wall import thinnest_wall
from afterpart.checks.torque_stated import torque_stated
from afterpart.model.case import Case
from afterpart.model.finding import Finding

Check = Callable[[Case], tuple[Finding, ...]]

CHECKS: tuple[Check, ...] = (
    cord_squeeze, cord_fill, cord_stretch, cord_corner, closing_force, pressure_between_bolts, leak_gap, clamp_load, bolt_proof,
    bearing_stress, relaxation, self_loosening, sleeve_decision, torque_stated, screw_thread_told, screw_pilot, screw_boss,
    screw_engagement, screw_torque_window, screw_hole_sensitivity, screw_extra_turn, coupon_result, gap_at_locating,
    double_location, mate_holes, mate_lands, fit_share, fit_clearance_wanted, face_velocity, inlet_pressure_drop, power_loss,
    straight_or_curved, foam_rim, dry_foam, overhangs, bridges, thinnest_wall, first_layer_chamfer, bed_fit, print_effort,
    load_across_layers, bar_bending, service_heat, clamped_heat, material_media, inlet_exposure, bolt_length, bolt_room,
    driver_access, cover_bow, making_it, one_way_fit, loose_items, swarf, fragments, print_true, rubbed_places, reported_fits,
)
