"""A flexible gasket under a cover: how stiff it is, and how much of its pressure is left between the bolts.

Words: *shape factor* is loaded area over free area; *bonded* faces do not slide (a printed gasket between rough faces comes
close, a greased one does not); *R* is the pressure midway between two bolts over that at the bolts; *lift-off* is where it
reaches zero; *leak gap* is what remains open.
Book letters: S hardness Shore A, E modulus [N/mm2], w strip width, t its thickness, S_f shape factor, E_c compression modulus,
k foundation [N/mm per mm of length and mm of closing], I second moment [mm4], beta = (k / 4 E I)^(1/4) [1/mm], s bolt pitch,
a flange width, b gasket width, h cover thickness [mm], P pressure [N/mm2].
Limits: small strain (`STRAIN_RANGE`), elastic, full infill; a print with less is softer.  The two forms for the modulus differ by
1.6 at 60 Shore A: their band is `MODULUS_BAND`.  Creep and set take half in the end: keep a reserve of 2.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.sources import Source
from afterpart.standards.table import Range

GENT = Source("A. N. Gent, On the relation between indentation hardness and Young's modulus, Rubber Chem. Technol. 31", "1958",
              "page 896; constants as printed in three public codes")
RUESS = Source("Published fit of modulus to Shore A hardness, attributed to Ruess", place="log10 E = 0.0235 S - 0.6403")
SHAPE_FACTOR = Source("P. B. Lindley, Engineering Design with Natural Rubber; Gent and Lindley", "1959",
                      "bonded strips and blocks", from_memory=True)
BEAM = Source("M. Hetenyi, Beams on Elastic Foundation", "1946",
              "differential equation; the ratio between bolts derived here from it", from_memory=True)
HANDBOOK_PITCH = Source("Engineering handbook page on gasket cover compression",
                        place="list of variables and (a / b)^(1/4); constants proven in tests/published")
SLOT_FLOW = Source("Laminar flow between parallel plates", place="cubic law", from_memory=True)

GENT_RANGE = Range(20.0, 80.0, "Shore A")
ORDER_OF_MAGNITUDE_ABOVE = 85.0
RUESS_RANGE = Range(30.0, 60.0, "Shore A")
MODULUS_BAND = (0.4, 1.6)
"""The modulus from the hardness times these."""

STRAIN_RANGE = Range(0.0, 0.15, "of the thickness")
SET_RESERVE = 2.0
"""First pressure over the pressure wanted for good (judgement)."""

LIFT_OFF = 4.730040744862704
"""beta s at which the pressure midway between bolts is zero: first root of cosh x cos x = 1, as for the free vibrating bar."""


def gent_modulus(shore_a: float) -> float:
    """E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)), N/mm2.  Source: GENT, held in GENT_RANGE.

    Raises ValueError outside 0 to below 100.
    """
    s = _hardness(shore_a)
    return 0.0981 * (56.0 + 7.62336 * s) / (0.137505 * (254.0 - 2.54 * s))


def ruess_modulus(shore_a: float) -> float:
    """log10 E = 0.0235 S - 0.6403, N/mm2.  Source: RUESS, held in RUESS_RANGE."""
    return 10.0 ** (0.0235 * _hardness(shore_a) - 0.6403)


def strip_shape_factor(width: float, thickness: float) -> float:
    """S_f = w / (2 t) of a long strip."""
    return width / (2.0 * thickness)


def strip_modulus(modulus: float, shape: float, bonded: bool = True) -> float:
    """E_c = (4/3) E (1 + S_f^2) of a long bonded strip, N/mm2; sliding faces: (4/3) E.  Source: SHAPE_FACTOR."""
    return 4.0 / 3.0 * modulus * (1.0 + shape**2 if bonded else 1.0)


def block_modulus(modulus: float, shape: float, hardness_factor: float) -> float:
    """E_c = E (1 + 2 k S_f^2) of a bonded block, N/mm2; hardness_factor k from about 1 (soft) to 0.5 (hard)."""
    return modulus * (1.0 + 2.0 * hardness_factor * shape**2)


def strip_force(compression_modulus: float, strain: float, width: float) -> float:
    """Force per length, N/mm: f = E_c strain w."""
    return compression_modulus * strain * width


def foundation(compression_modulus: float, width: float, thickness: float) -> float:
    """k = E_c w / t, N/mm per mm of length and mm of closing."""
    return compression_modulus * width / thickness


def beam_beta(stiffness: float, cover_modulus: float, flange_width: float, cover_thickness: float) -> float:
    """beta = (k / (4 E I))^(1/4) with I = a h^3 / 12, in 1/mm."""
    return (stiffness / (4.0 * cover_modulus * flange_width * cover_thickness**3 / 12.0)) ** 0.25


def pressure_ratio(beta_pitch: float) -> float:
    """R: pressure midway between bolts over that at the bolts, for beta s.

        R = 2 (cosh l sin l + sinh l cos l) / (sinh 2 l + sin 2 l),   l = beta s / 2

    Falls from 1 to 0 at beta s = 4.730 and below (lifted off).  Source: BEAM.  Raises ValueError for a negative beta s.
    """
    if beta_pitch < 0.0:
        raise ValueError(f"beta s must be 0 or more, found {beta_pitch!r}")
    half = 0.5 * beta_pitch
    if half < 1e-6:
        return 1.0
    rise = math.cosh(half) * math.sin(half) + math.sinh(half) * math.cos(half)
    return 2.0 * rise / (math.sinh(2.0 * half) + math.sin(2.0 * half))


def mean_pressure_ratio(beta_pitch: float) -> float:
    """Pressure averaged along the pitch over that at the bolts: bolt load = mean pressure times width times pitch.

        M = (cosh 2 l - cos 2 l) / (l (sinh 2 l + sin 2 l)),   l = beta s / 2.  Source: BEAM, integrated.
    """
    half = 0.5 * beta_pitch
    if half < 1e-6:
        return 1.0
    return (math.cosh(2 * half) - math.cos(2 * half)) / (half * (math.sinh(2 * half) + math.sin(2 * half)))


def beta_pitch_for(wanted_ratio: float) -> float:
    """beta s at which R falls to the wanted ratio (0 to below 1)."""
    if not 0.0 <= wanted_ratio < 1.0:
        raise ValueError(f"the wanted ratio must lie from 0 to below 1, found {wanted_ratio!r}")
    low, high = 0.0, LIFT_OFF + 1e-9
    for _ in range(60):  # halving; R falls all the way
        middle = 0.5 * (low + high)
        low, high = (middle, high) if pressure_ratio(middle) > wanted_ratio else (low, middle)
    return 0.5 * (low + high)


def largest_pitch(wanted_ratio: float, beta: float) -> float:
    """Largest bolt pitch (mm) that keeps the wanted ratio R; beta in 1/mm."""
    return beta_pitch_for(wanted_ratio) / beta


def handbook_pitch(flange_width: float, gasket_width: float, cover_modulus: float, cover_thickness: float, closing_left: float,
                   least_pressure: float, greatest_pressure: float) -> float:
    """Bolt pitch of the handbook form: s = [480 (a/b) E h^3 dH / (13 P_min + 2 P_max)]^(1/4), mm.

    closing_left dH: by how much the closing may differ between bolt and midspan, mm.  Source: HANDBOOK_PITCH.
    """
    load = 13.0 * least_pressure + 2.0 * greatest_pressure
    return (480.0 * flange_width / gasket_width * cover_modulus * cover_thickness**3 * closing_left / load) ** 0.25


def cover_bow(force_per_length: float, pitch: float, cover_modulus: float, flange_width: float, cover_thickness: float) -> float:
    """Bow (mm) of the cover midway between bolts under an even seal force: f s^4 / (384 E I), clamped at the bolts."""
    return force_per_length * pitch**4 / (384.0 * cover_modulus * flange_width * cover_thickness**3 / 12.0)


def leak_gap(closing_at_bolt: float, ratio: float, roughness: float) -> float:
    """Gap (mm) left midway between bolts: roughness and flatness less the closing there (closing at the bolt times R)."""
    return max(roughness - closing_at_bolt * ratio, 0.0)


def slot_leak(pressure_pa: float, gap: float, land: float, viscosity_pa_s: float) -> float:
    """Leak in mm3/s per mm of length: q = dp g^3 / (12 mu L), gap g and land L in mm.  Source: SLOT_FLOW."""
    return pressure_pa * gap**3 / (12.0 * viscosity_pa_s * land)


def _hardness(shore_a: float) -> float:
    if not 0.0 <= shore_a < 100.0:
        raise ValueError(f"Shore A hardness runs from 0 to below 100, found {shore_a!r}")
    return shore_a
