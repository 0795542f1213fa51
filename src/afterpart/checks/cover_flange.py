"""The strip of cover over the seal as a beam between bolts: what the two checks of the pressure between bolts share.

        k      stiffness of the seal, N/mm per mm and mm (upper end of its band)
        I      second moment of the strip: narrowest land outside, groove, narrowest solid inside; the groove taken out [mm4]
        beta   (k / (4 E I))^(1/4),  R by formulas/gasket.py for beta s,  s the longest spacing of the bolts along the seal
Limits: low end of the plastic's modulus; the strip stands alone, the rest of the cover would stiffen it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

from afterpart.checks.bolted_joint import Joint, Unknown, cover_of, joint_of
from afterpart.checks.groove_limits import groove_of
from afterpart.checks.judge import value_that_passes
from afterpart.checks.seal_load import SealLoad, seal_load_of
from afterpart.formulas.gasket import GENT_RANGE, LIFT_OFF, beam_beta, pressure_ratio
from afterpart.formulas.sealed_joint import effective_land, even_width, grooved_moment
from afterpart.geometry.chain import gap
from afterpart.geometry.spacing import spacings
from afterpart.model.case import Case
from afterpart.model.feature import Groove, Opening, Seat
from afterpart.model.finding import Input, Suggestion
from afterpart.words import tell

_REACH = 2.0
"""How many times as thick a cover is looked at for one that passes."""

_TENTHS = 10.0


@dataclass(frozen=True)
class Flange:
    """width, thickness of the strip; groove_width, groove_depth taken out of it (0: none); modulus N/mm2, low end and middle;
    stiffness of the seal;
    pitch: longest spacing of the bolts, with its u."""

    load: SealLoad
    width: float
    thickness: float
    groove_width: float
    groove_depth: float
    modulus: float
    modulus_middle: float
    stiffness: float
    pitch: float
    pitch_u: float
    inputs: tuple[Input, ...]

    def beta(self, stiffness: float, modulus: float, thickness: float) -> float:
        """beta in 1/mm."""
        moment = grooved_moment(self.width, thickness, self.groove_width, self.groove_depth)
        return beam_beta(stiffness, modulus, even_width(moment, thickness), thickness)

    def ratio(self, pitch: float, stiffness: float, modulus: float, thickness: float) -> float:
        """R, 0 where the cover has lifted off."""
        beta_pitch = self.beta(stiffness, modulus, thickness) * pitch
        return pressure_ratio(beta_pitch) if beta_pitch < LIFT_OFF else 0.0

    @property
    def ratio_u(self) -> float:
        """Standard uncertainty of R, from the pitch's."""
        low, high = ({**self.values, "pitch": self.pitch + sign * self.pitch_u} for sign in (-1.0, 1.0))
        return abs(self.ratio(**high) - self.ratio(**low)) / 2.0

    @property
    def expected(self) -> float:
        """R with the middle of the seal's band and of the plastic's modulus, instead of the worst ends."""
        return self.ratio(self.pitch, self.stiffness / self.load.band[1], self.modulus_middle, self.thickness)

    @property
    def values(self) -> dict[str, float]:
        """What `ratio` takes, by name."""
        return {"pitch": self.pitch, "stiffness": self.stiffness, "modulus": self.modulus, "thickness": self.thickness}


def flange_of(case: Case) -> Flange | Unknown | None:
    """The strip; Unknown where a figure is missing; None where there is no seal or no bolt."""
    load, joint = seal_load_of(case), joint_of(case)
    if load is None or joint is None:
        return None
    if isinstance(load, Unknown):
        return load
    if isinstance(joint, Unknown):
        return joint
    cover = cover_of(case)
    assert cover is not None, "joint_of has found it"
    if joint.material.modulus is None:
        return Unknown(tell("{material} has no modulus in the tables: a cover of it bends as it likes; choose another "
                            "printer.material.", material=joint.material.name), ("printer.material",))
    groove, pitch = groove_of(case), max(spacings(load.path, joint.places))
    width = _strip(groove, cover.features, pitch) if groove else load.values.get("width", 0.0)
    return _flange(case, load, joint, groove, width, cover.thickness, pitch)


def _flange(case: Case, load: SealLoad, joint: Joint, groove: Groove | None, width: float, thickness: float,
            pitch: float) -> Flange:
    assert joint.material.modulus is not None
    modulus = joint.material.modulus
    u = case.outline.reference.relative_u * pitch
    told = (Input(tell("pitch"), pitch, "mm", tell("longest spacing of the bolts along the seal, as built"), u),
            Input(tell("flange width"), width, "mm",
                  tell("narrowest solid outside and inside the seal, no more than an eighth of the pitch each, with the groove")),
            Input(tell("thickness"), thickness, "mm", tell("cover.thickness, as built")),
            Input(tell("modulus"), modulus.low, "N/mm2",
                  tell("{material}, low end: {source}", material=joint.material.name, source=modulus.source)),
            Input(tell("stiffness"), load.stiffness, "N/mm2",
                  tell("{load_kind}, upper end: {source}", load_kind=load.kind, source=load.source)))
    return Flange(load, width, thickness, groove.width if groove else 0.0, groove.depth if groove else 0.0, modulus.low,
                  modulus.middle, load.stiffness, pitch, u, told)


def _strip(groove: Groove, features: tuple[object, ...], pitch: float) -> float:
    """Narrowest land outside, the groove, narrowest solid inside (pockets and openings inside counted); no land is wider than
    what bends along."""
    hollows = [f.pocket for f in features if isinstance(f, Seat)] + [f.chain for f in features if isinstance(f, Opening)]
    inside = min([groove.land_inside, *(gap(groove.inner, chain).distance for chain in hollows)])
    most = effective_land(pitch)
    return min(groove.land_outside, most) + groove.width + min(max(inside, 0.0), most)


def ways_to_ratio(flange: Flange, wanted: float) -> tuple[Suggestion, ...]:
    """A thicker cover within reach, a softer seal of the same section: each alone brings R to `wanted`; () where R is there."""
    load, values = flange.load, flange.values
    if flange.ratio(**values) >= wanted:
        return ()

    def room_thicker(thickness: float) -> float:
        return flange.ratio(**{**values, "thickness": thickness}) - wanted

    def room_softer(shore_a: float) -> float:
        softer = replace(load, values={**load.values, "shore_a": shore_a})
        return flange.ratio(**{**values, "stiffness": softer.stiffness}) - wanted

    thickness = value_that_passes(room_thicker, flange.thickness, _REACH * flange.thickness)
    shore_a = value_that_passes(room_softer, load.values["shore_a"], GENT_RANGE.low)
    ways = [] if thickness is None else [Suggestion("cover.thickness", flange.thickness, math.ceil(thickness * _TENTHS) / _TENTHS,
                                                    tell("a stiffer cover bows less"))]
    if shore_a is not None:
        ways.append(Suggestion("seal.shore_a", load.values["shore_a"], float(math.floor(shore_a)),
                               tell("a softer seal bows the cover less")))
    return tuple(ways)
