"""The torque that may stand on the cover: only what the clamp load's window gives.

The window (formulas/bolted.py) runs from what the seal needs for good to what bolt, plastic or sleeve bear.  A torque from the
machine's own book was meant for the old part and is never carried over.
Words: the *needed load* is what closes the seal, of the bolt that holds the longest share of it; it is taken at its upper end.
        cord:    Lindley's force per length, upper end of its band
        bead:    the same for a cord of twice the crown's radius;  hollow ring: a thin arch (formulas/printed_ring.py), both at
                 the upper end of the same band
        load of a bolt = (f + pressure's lift per length) x half the way along the seal to each of its neighbours
The cord is taken as thick as its tolerance allows; the bolt whose seat has the least area bears for all.
Limits: service temperature, material and seal must be known; what is missing is named, and then nothing is written.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.formulas.bolted import TorqueWindow, torque_limits, torque_window
from afterpart.formulas.gasket import gent_modulus
from afterpart.formulas.printed_ring import arch_force, bead_force
from afterpart.formulas.seal import FORCE_BAND, closing_force_band
from afterpart.formulas.sealed_joint import bolt_shares, pressure_load
from afterpart.geometry.chain import chain_area, chain_length
from afterpart.geometry.spacing import spacings
from afterpart.model.edges import Note
from afterpart.model.feature import Groove, Hole
from afterpart.model.wishes import BoltWish, PrinterWish, SealWish, ServiceFacts, Wishes
from afterpart.parts.bolt_holes import Bolts
from afterpart.parts.gasket_section import section_for
from afterpart.standards.fasteners import SleeveSize, bolt, property_class, sleeve
from afterpart.standards.materials import material
from afterpart.standards.orings import cord
from afterpart.standards.service_places import PLACES
from afterpart.words import paragraph, tell


@dataclass(frozen=True)
class CoverTorque:
    """window: None where there is none, and then the note says why."""

    window: TorqueWindow | None
    notes: tuple[Note, ...] = ()


def cover_torque(bolts: Bolts, wishes: Wishes, groove: Groove | None) -> CoverTorque:
    """The torque window of the cover's bolts, or why there is none.  No bolts: no window and nothing to say."""
    wish = wishes.bolts
    if wish is None or not bolts.bearing:
        return CoverTorque(None)
    missing = _missing(wish, wishes, groove)
    if missing:
        return CoverTorque(None, (Note("no_torque_text", tell("No torque stands on the cover: {missing}.", missing=missing)),))
    needed = _needed_load(groove, wishes.seal, bolts.holes, wishes) if groove is not None and wishes.seal is not None else 0.0
    face = min(bolts.bearing, key=lambda ring: ring.outer**2 - ring.inner**2)
    temperature = service_temperature_c(wishes.service)
    assert temperature is not None, "_missing has asked for it"
    facts = (bolt(wish.thread), property_class(wish.property_class), face.outer, face.inner, material(wishes.printer.material),
             temperature, needed)
    tube = _sleeve(wish, bolts)
    window = torque_window(*facts, sleeve=tube)
    if window is None:
        limits = torque_limits(*facts, sleeve=tube)
        why = tell("from {low_n_m:.2f} N m ({low_set_by}) but only up to {high_n_m:.2f} N m ({high_set_by})",
                   low_n_m=limits.low_n_m, low_set_by=limits.low_set_by, high_n_m=limits.high_n_m, high_set_by=limits.high_set_by)
        return CoverTorque(None,
                           (Note("no_torque_text",
                                 tell("No torque stands on the cover, for none works: {why}. A larger washer or a metal sleeve "
                                      "(bolts.sleeve) opens the window.", why=why)),))
    told = ("" if wish.torque_n_m is None or window.low_n_m <= wish.torque_n_m <= window.high_n_m
            else tell("The {torque_n_m:g} N m of bolts.torque_n_m lie outside it and are not written on the cover.",
                      torque_n_m=wish.torque_n_m))
    memory = tell("It rests on figures from memory: prove it before relying on it.") if window.from_memory else ""
    return CoverTorque(window,
                       (Note("torque_window",
                             paragraph(tell("Torque of the {thread} bolts, {why}.", thread=wish.thread, why=window.why), told,
                                       memory)),))


def torque_line(window: TorqueWindow, thread: str) -> str:
    """The window as a line of text, both ends rounded into it: "M6 1.2-2.4 Nm", or "M6 max 2.4 Nm" from nothing."""
    if window.low_n_m < 0.05:
        return tell("{thread} max {floor} Nm", thread=thread, floor=_floor(window.high_n_m, 1))
    for digits in (1, 2):
        low, high = _ceiling(window.low_n_m, digits), _floor(window.high_n_m, digits)
        if float(low) < float(high):
            return tell("{thread} {low}-{high} Nm", thread=thread, low=low, high=high)
    return tell("{thread} {floor} Nm", thread=thread, floor=_floor((window.low_n_m + window.high_n_m) / 2, 2))


def service_temperature_c(service: ServiceFacts) -> float | None:
    """The hottest the cover gets: as measured, else the upper end of its place's range; None where neither is known."""
    if service.temperature_c is not None:
        return service.temperature_c
    return PLACES[service.place].high if service.place in PLACES else None


def _floor(value: float, digits: int) -> str:
    return f"{math.floor(value * 10**digits + 1e-9) / 10**digits:.{digits}f}"


def _ceiling(value: float, digits: int) -> str:
    return f"{math.ceil(value * 10**digits - 1e-9) / 10**digits:.{digits}f}"


def _missing(wish: BoltWish, wishes: Wishes, groove: Groove | None) -> str:
    """What is not known, in words, "" when all is."""
    if service_temperature_c(wishes.service) is None:
        return tell("the temperature in service is not told (service.temperature_c or service.place), and plastics go by it")
    known = (("bolts.thread", bolt, wish.thread), ("bolts.property_class", property_class, wish.property_class),
             ("printer.material", material, wishes.printer.material))
    for key, find, name in known:
        try:
            find(name)
        except KeyError as error:
            return f"{key}: {error.args[0]}"
    if groove is not None and wishes.seal is not None and not 0 < wishes.seal.shore_a < 100:
        return tell("seal.shore_a: a hardness of {shore_a:g} Shore A is not one", shore_a=wishes.seal.shore_a)
    return ""


def _needed_load(groove: Groove, seal: SealWish, holes: tuple[Hole, ...], wishes: Wishes) -> float:
    """Load of the bolt with the longest share of the seal, N (formulas in the module's head)."""
    share = max(bolt_shares(spacings(groove.centre, tuple(hole.center for hole in holes))))
    lift = pressure_load(wishes.machine.gauge_pressure_kpa or 0.0, abs(chain_area(groove.centre)))
    return (_force_per_length(groove, seal, wishes.printer) + lift / chain_length(groove.centre)) * share


def _force_per_length(groove: Groove, seal: SealWish, printer: PrinterWish) -> float:
    modulus, closing = gent_modulus(seal.shore_a), max(groove.height - groove.depth, 0.0)
    if groove.cord > 0:
        thickest = _greatest(groove.cord)
        return closing_force_band(thickest, (thickest - groove.depth) / thickest, modulus)[1]
    section = section_for(seal, groove.width, groove.depth, printer)
    if section.cavity:
        wall = (section.width - section.cavity) / 2
        return FORCE_BAND[1] * arch_force((section.width - wall) / 2, wall, closing, modulus)
    return FORCE_BAND[1] * bead_force(section.crown, closing, modulus)


def _greatest(diameter: float) -> float:
    """The thickest a cord of this size may be, as nominal where the table does not know it."""
    try:
        return cord(diameter).greatest
    except KeyError:
        return diameter


def _sleeve(wish: BoltWish, bolts: Bolts) -> SleeveSize | None:
    if not bolts.sleeves:
        return None
    usual = sleeve(wish.thread)
    return SleeveSize(usual.thread, bolts.sleeves[0].inside, bolts.sleeves[0].outside, usual.yield_stress, usual.source)
