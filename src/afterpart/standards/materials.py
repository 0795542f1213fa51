"""Filaments: strength, heat, creep and what the surroundings do to them, each figure with its source.

Words: *HDT* is the temperature at which a bar sags under 0.45 N/mm2 (high load: 1.8 N/mm2); *glass transition* softens an
amorphous plastic; *bearing limit* is the stress a clamped face may carry, for long or for a short time; *retention* is the
share of the stiffness that is left after 1000 hours under load; *interlayer factor* is strength across layers over strength
along them.
Conventions: N/mm2, g/cm3, degrees Celsius; a figure is a band, its low end is the safe one unless a docstring says otherwise.
Limits: almost every figure of a print depends on printer, filament and setting; most rows are from memory and may be edited.
Elastomers (TPU) have no bearing limit, modulus or yield here: see `formulas/gasket.py` for their modulus from the hardness.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import Figure, Range, marked, rows

SOURCES = {
    "print": Source("Usual data sheet values of filaments, printed flat", from_memory=True),
    "filament": Source("Public data base of filament data sheets", place="HDT at 0.45 MPa and glass transition"),
    "print_service": Source("Print service's table of heat deflection temperatures", place="ABS, PC, PC-ABS, PA12 powder bed"),
    "plastics_guide": Source("Plastics supplier's guide to glass transition temperatures", place="ABS"),
    "nylon": Source("Polyamide supplier's guide to heat deflection", place="PA6 unfilled, 0.45 and 1.8 MPa"),
    "glass_nylon": Source("Compounder's data sheet of PA6 with 30 % glass", place="density, HDT at 0.45 and 1.8 MPa"),
    "encyclopaedia": Source("Encyclopaedia of plastics, page 459",
                            place="PA66: density; HDT at high load, plain and with 30 % glass"),
    "bearing": Source("Working limits of bearing stress under bolts in plastic, 23 degC, long term", from_memory=True),
    "creep": Source("Creep modulus after 1000 h over the short-term one (ISO 899-1 data)", from_memory=True),
    "interlayer": Source("Study of printed PLA across layers, DOI 10.1089/3dp.2020.0109", "2020",
                         "abstract: 0.52 printed upright, 0.773 at the interface"),
    "layers": Source("Usual strength across layers over strength along them", from_memory=True),
    "rubbery": Source("Usual continuous service temperatures of thermoplastic polyurethane, 85 to 95 Shore A", from_memory=True),
    "warm_rubber": Source("Usual stiffness of thermoplastic polyurethane at 60 degC over that at 23 degC", from_memory=True),
    "surroundings": Source("Usual resistance tables of plastics against water, oil, fuel and sunlight", from_memory=True),
}

SERVICE_MARGIN_C = 20.0
CLAMPED_MARGIN_C = 30.0
"""Kelvin to stay below the softening temperature, free and clamped (rule of thumb, judgement)."""

SHORT_TERM_FACTOR = 1.5
"""Yield stress over the short-term bearing limit (from memory)."""

HALVED_AT_C = 60.0
ROOM_C = 23.0
"""Bearing limits hold at room temperature and are halved at 60 degC, straight between (from memory)."""

STRESS_RANGE = Range(-20.0, 200.0, "degC")


@dataclass(frozen=True)
class Material:
    """One filament.  kind: amorphous | semicrystalline | elastomer; moisture, oil, fuel, uv: good | fair | poor.

    Figures that are not known or make no sense (TPU's bearing limit) are None.
    """

    name: str
    kind: str
    density: Figure
    expansion_per_k: Figure
    interlayer_factor: Figure
    modulus: Figure | None
    yield_stress: Figure | None
    hdt_c: Figure | None
    hdt_high_load_c: Figure | None
    glass_transition_c: Figure | None
    bearing_long: Figure | None
    creep_retention: Figure | None
    moisture: str
    oil: str
    fuel: str
    uv: str
    surroundings_source: Source
    rubber_heat_c: Figure | None = None
    """Hottest service of an elastomer, which has no softening temperature."""
    stiffness_at_60c: Figure | None = None
    """Of an elastomer, over its stiffness at room temperature."""

    @property
    def softens_c(self) -> Figure | None:
        """HDT, or the glass transition of an amorphous plastic where that is lower; None where unknown."""
        known = [f for f in (self.hdt_c, self.glass_transition_c if self.kind == "amorphous" else None) if f]
        return min(known, key=lambda f: f.low) if known else None

    def service_limit_c(self, clamped: bool = False) -> float | None:
        """Hottest service (degC): softening less 20 K, less 30 K for a clamped joint; None where unknown."""
        softens = self.softens_c
        return None if softens is None else softens.low - (CLAMPED_MARGIN_C if clamped else SERVICE_MARGIN_C)

    def bearing_limit(self, temperature_c: float = ROOM_C, long_term: bool = True) -> float | None:
        """Stress (N/mm2) a clamped face may carry: long term from the table's low end, short term yield / 1.5.

        Halved at 60 degC, straight in between and beyond; 0 from 20 K below softening.  None where the material has no limit.
        """
        figure = self.bearing_long if long_term else self.yield_stress
        limit_c = self.service_limit_c()
        if figure is None or limit_c is None:
            return None
        if temperature_c > limit_c:
            return 0.0
        cold = figure.low if long_term else figure.low / SHORT_TERM_FACTOR
        lost = 0.5 * max(temperature_c - ROOM_C, 0.0) / (HALVED_AT_C - ROOM_C)
        return max(cold * (1.0 - lost), 0.0)


def warm_stiffness(item: Material, temperature_c: float) -> tuple[float, float] | None:
    """Low and high share of an elastomer's stiffness that is left: 1 up to room temperature, straight to the table's at 60 degC
    and on; never below 0.  None where the material tells none.  From memory."""
    figure = item.stiffness_at_60c
    if figure is None:
        return None
    way = max(temperature_c - ROOM_C, 0.0) / (HALVED_AT_C - ROOM_C)
    return max(1.0 - (1.0 - figure.low) * way, 0.0), max(1.0 - (1.0 - figure.high) * way, 0.0)


_FIGURES = rows("material_figures.csv")


def _material(row: dict[str, str]) -> Material:
    figures = {r["quantity"]: Figure(float(r["low"]), float(r["high"]), r["unit"], marked(SOURCES[r["source"]], r["mark"]))
               for r in _FIGURES if r["material"] == row["material"]}
    names = ("density", "expansion_per_k", "interlayer_factor")
    rest = ("modulus", "yield_stress", "hdt_c", "hdt_high_load_c", "glass_transition_c", "bearing_long", "creep_retention")
    return Material(row["material"], row["kind"], *(figures[n] for n in names), *(figures.get(n) for n in rest),
                    row["moisture"], row["oil"], row["fuel"], row["uv"], marked(SOURCES["surroundings"], row["mark"]),
                    figures.get("rubber_heat_c"), figures.get("stiffness_at_60c"))


MATERIALS: tuple[Material, ...] = tuple(_material(row) for row in rows("material_surroundings.csv"))


def material(name: str) -> Material:
    """The filament of this name, letter case ignored ("PETG", "PA6-GF").  Raises KeyError, listing the known ones."""
    for item in MATERIALS:
        if item.name.lower() == name.strip().lower():
            return item
    raise KeyError(f"unknown material {name!r}: known are {', '.join(m.name for m in MATERIALS)}")
