"""The force it takes to close the seal, whatever its kind: what the clamp load and gasket checks have in common.

Words: *closing* is by how much the seal is flattened when the faces meet, mm; the force is per length of seal, N/mm, as a band.
        round cord      f = d E (1.25 C^1.5 + 50 C^6)                            x FORCE_BAND
        bead            the same for d = 2 r, C = closing / r                    x FORCE_BAND
        hollow ring     f = 2 closing E I / (0.1488 R^3),  I = t^3 / 12          x FORCE_BAND
        flat strip      f = (4/3) E (1 + (w / 2 t)^2) strain w                   x MODULUS_BAND
        E of the hardness Shore A (Gent)
Limits: each formula's range of closing, and hardness up to ORDER_OF_MAGNITUDE_ABOVE; outside nothing is judged.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from afterpart.checks.bolted_joint import Joint, Unknown, cover_of
from afterpart.checks.groove_limits import groove_limits, groove_of, whole_layers
from afterpart.formulas.gasket import (
    GENT,
    GENT_RANGE,
    MODULUS_BAND,
    ORDER_OF_MAGNITUDE_ABOVE,
    SHAPE_FACTOR,
    STRAIN_RANGE,
    gent_modulus,
    strip_force,
    strip_modulus,
    strip_shape_factor,
)
from afterpart.formulas.printed_ring import ARCH_SOURCE, BEAD_SOURCE, CLOSING_RANGE, arch_force, bead_force
from afterpart.formulas.seal import FORCE_BAND, FORCE_RANGE, LINDLEY, closing_force
from afterpart.formulas.sealed_joint import bolt_shares, pressure_load
from afterpart.geometry.chain import chain_area, chain_length
from afterpart.geometry.spacing import spacings
from afterpart.model.case import Case
from afterpart.model.feature import Chain, Groove, PrintedSeal
from afterpart.model.finding import Input
from afterpart.sources import Source
from afterpart.standards.orings import cord, groove_for_cord
from afterpart.words import entry, tell, translated

_STEP = 0.01
"""Share of the closing over which its slope is taken."""


@dataclass(frozen=True)
class SealLoad:
    """The seal as a spring.  formula: force per length [N/mm] of the inputs by name, one of which is `closing` and one
    `shore_a`; band: factors of it; path: the line it seals along; closing: greatest and least, mm."""

    kind: str
    text: str
    formula: Callable[..., float]
    values: Mapping[str, float]
    band: tuple[float, float]
    path: Chain
    closing_least: float
    sources: tuple[Source, ...]
    inputs: tuple[Input, ...]
    doubt: str

    @property
    def closing(self) -> float:
        """Greatest closing, mm."""
        return self.values["closing"]

    @property
    def expected(self) -> float:
        """Force per length at the greatest closing, N/mm."""
        return self.formula(**self.values)

    @property
    def greatest(self) -> float:
        """Upper end of its band, N/mm."""
        return self.band[1] * self.expected

    @property
    def stiffness(self) -> float:
        """Greatest rise of the force with closing, N/mm per mm of length and mm of closing: the tangent at the greatest "
          "closing."""
        below = self.formula(**{**self.values, "closing": self.closing * (1.0 - _STEP)})
        return self.band[1] * (self.expected - below) / (self.closing * _STEP)

    @property
    def length(self) -> float:
        """Of the seal, mm."""
        return chain_length(self.path)

    @property
    def source(self) -> str:
        """Where the formula and the modulus come from."""
        return "; ".join(str(source) for source in self.sources)


def seal_load_of(case: Case) -> SealLoad | Unknown | None:
    """The seal of the built cover; Unknown where no formula holds; None where the job has no seal."""
    seal = case.job.wishes.seal
    groove = groove_of(case)
    if seal is None or seal.kind == "none" or cover_of(case) is None:
        return None
    hardness = _hardness(seal.shore_a)
    if isinstance(hardness, Unknown):
        return hardness
    if groove is not None and groove.cord:
        return _cord_load(case, groove, seal.shore_a, hardness)
    printed = next((f for piece in case.build.pieces for f in piece.features if isinstance(f, PrintedSeal)), None)
    if printed is None:
        return Unknown(tell('The printed seal is not among the pieces, so that its section is not known: add "gasket" to make.'),
                       ("make",))
    return _printed_load(case, printed, hardness)


def _hardness(shore_a: float) -> str | Unknown:
    """A word of doubt about the hardness, or why it cannot be used."""
    if not GENT_RANGE.low <= shore_a <= ORDER_OF_MAGNITUDE_ABOVE:
        return Unknown(tell("seal.shore_a = {shore_a:g} lies outside {gent_range_low:g} to {order_of_magnitude_above:g} Shore A, "
                            "where hardness tells the modulus: give the hardness from the filament's or cord's sheet, or measure "
                            "the force on a short piece.", shore_a=shore_a, gent_range_low=GENT_RANGE.low,
                            order_of_magnitude_above=ORDER_OF_MAGNITUDE_ABOVE), ("seal.shore_a",))
    if GENT_RANGE.holds(shore_a):
        return ""
    return tell("Above {gent_range_high:g} Shore A the modulus is good to its order of magnitude only.",
                gent_range_high=GENT_RANGE.high)


def _cord_load(case: Case, groove: Groove, shore_a: float, doubt: str) -> SealLoad | Unknown:
    try:
        size, table = cord(groove.cord), groove_for_cord(groove.cord)
    except KeyError as error:
        return Unknown(tell("seal.cord: {args}, so that its tolerance is not known.", args=error.args[0]), ("seal.cord",))
    limits = groove_limits(case, groove, table.depth_plus)
    closing, least = size.greatest - limits.depth[0], size.least - limits.depth[1]
    if not FORCE_RANGE.holds(closing / size.greatest):
        return Unknown(tell("The cord is flattened by {closing:.0%} at most; its force is known for {force_range}.",
                            closing=closing / size.greatest, force_range=FORCE_RANGE), ("seal.squeeze",))
    return SealLoad(tell("round cord"), entry("f = d E (1.25 C^1.5 + 50 C^6)"), _cord_force,
                    {"cord": size.greatest, "closing": closing, "shore_a": shore_a}, FORCE_BAND, groove.centre, max(least, 0.0),
                    (LINDLEY, GENT),
                    (Input(tell("cord"), size.greatest, "mm", tell("greatest: {source}", source=size.source)),
                     Input(tell("closing"), closing, "mm", tell("greatest: {depth_source}", depth_source=limits.depth_source)),
                     _shore(shore_a)), doubt)


def _printed_load(case: Case, seal: PrintedSeal, doubt: str) -> SealLoad | Unknown:
    if not seal.centre or not seal.width:
        return Unknown(tell("The flat seal covers the whole face and has no one width, so that its force along a line is not "
                            "known: give seal.width for a strip along the edge, or prove it by a trial."), ("seal.width",))
    if seal.section in ("bead", "hollow"):
        return _ring_load(case, seal, doubt)
    strain = seal.squeeze
    if seal.section != "flat" or not STRAIN_RANGE.holds(strain):
        return Unknown(tell("A {section} seal flattened by {strain:.0%} lies outside what the formula of a flat strip holds for "
                            "({strain_range}, no rib): take a flat one with a smaller seal.squeeze, or prove it by a trial "
                            "print.", section=seal.section, strain=strain, strain_range=STRAIN_RANGE), ("seal.squeeze",))
    values = {"width": seal.width, "thickness": seal.height, "closing": strain * seal.height, "shore_a": seal.shore_a}
    return SealLoad(tell("flat strip"), entry("f = (4/3) E (1 + (w / 2 t)^2) strain w"), _strip, values, MODULUS_BAND,
                    seal.centre, strain * seal.height, (SHAPE_FACTOR, GENT), _told(values, seal.shore_a), doubt)


def _ring_load(case: Case, seal: PrintedSeal, doubt: str) -> SealLoad | Unknown:
    shallow, deep = whole_layers(seal.channel_depth, case.job.wishes.printer.layer, 0.0)
    closing, least = seal.height - shallow, seal.height - deep
    bead = seal.section == "bead"
    radius = 0.5 * (seal.width - (seal.contact if bead else seal.wall))
    if radius <= 0.0 or not CLOSING_RANGE.holds(closing / radius):
        return Unknown(tell("The {section} is flattened by {closing:.2f} mm on a radius of {radius:.2f} mm; its force is known "
                            "for {closing_range}: set a smaller seal.squeeze.", section=seal.section, closing=closing,
                            radius=radius, closing_range=CLOSING_RANGE), ("seal.squeeze",))
    if bead:
        values = {"crown": radius, "closing": closing, "shore_a": seal.shore_a}
        return SealLoad(tell("bead"), entry("f = 2 r E (1.25 C^1.5 + 50 C^6), C = closing / r"), _bead, values, FORCE_BAND,
                        seal.centre, max(least, 0.0), (BEAD_SOURCE, LINDLEY, GENT), _told(values, seal.shore_a), doubt)
    if seal.wall <= 0.0:
        return Unknown(tell("The wall of the hollow ring is not among its figures: build the pieces again."))
    values = {"radius": radius, "wall": seal.wall, "closing": closing, "shore_a": seal.shore_a}
    return SealLoad(tell("hollow ring"), entry("f = 2 closing E I / (0.1488 R^3)"), _arch, values, FORCE_BAND, seal.centre,
                    max(least, 0.0), (ARCH_SOURCE, GENT), _told(values, seal.shore_a), doubt)


def _told(values: Mapping[str, float], shore_a: float) -> tuple[Input, ...]:
    return (*(Input(name, value, "mm", tell("printed seal as built")) for name, value in values.items() if name != "shore_a"),
            _shore(shore_a))


def _shore(shore_a: float) -> Input:
    return Input("shore_a", shore_a, "Shore A", "seal.shore_a")


def _cord_force(cord: float, closing: float, shore_a: float) -> float:
    return closing_force(cord, closing / cord, gent_modulus(shore_a))


def _bead(crown: float, closing: float, shore_a: float) -> float:
    return bead_force(crown, closing, gent_modulus(shore_a))


def _arch(radius: float, wall: float, closing: float, shore_a: float) -> float:
    return arch_force(radius, wall, closing, gent_modulus(shore_a))


def _strip(width: float, thickness: float, closing: float, shore_a: float) -> float:
    stiff = strip_modulus(gent_modulus(shore_a), strip_shape_factor(width, thickness))
    return strip_force(stiff, closing / thickness, width)


@dataclass(frozen=True)
class Needed:
    """Load (N) that the bolt with the longest share of the seal needs to close it, and what all of them need."""

    worst_bolt_n: float
    total_n: float
    inputs: tuple[Input, ...]


def needed_load(case: Case, joint: Joint, load: SealLoad) -> Needed:
    """Upper end of the seal's force times the longest share of a bolt, and the pressure inside on top where one is told."""
    share = max(bolt_shares(spacings(load.path, joint.places)))
    pressure = case.job.wishes.machine.gauge_pressure_kpa
    lift = pressure_load(pressure or 0.0, abs(chain_area(load.path)))
    told: tuple[Input, ...] = (Input(tell("seal force"), load.greatest, "N/mm",
                                     tell("upper end for a {load_kind}: {load}", load_kind=load.kind,
                                          load=translated(load.text))),
                               Input(tell("longest share of a bolt"), share, "mm", tell("seal as built, bolts as built")))
    if pressure is not None:
        told += (Input(tell("lift by pressure"), lift, "N", tell("machine.gauge_pressure_kpa over the area inside the seal")),)
    total = load.greatest * load.length + lift
    return Needed(load.greatest * share + lift * share / load.length, total, told)
