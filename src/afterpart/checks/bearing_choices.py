"""What a torque does under the heads of other bolts and washers, against what each plastic bears: a table for the maker.

Conventions: greatest clamp load of the torque, clearance hole of the medium series, washers at their least diameter.
Limits: even stress; limits of plastics from memory.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.formulas.bolted import bearing_stress, k_band, load_of_torque
from afterpart.formulas.screws import breaking_torque
from afterpart.model.finding import Input
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.standards.fasteners import PropertyClass, bolt, head, washer
from afterpart.standards.friction import TOOL_SCATTER, friction
from afterpart.standards.materials import MATERIALS
from afterpart.words import tell

THREADS = ("M4", "M5", "M6")
WASHERS = ("", "ISO 7089", "ISO 7093")


@dataclass(frozen=True)
class Choice:
    """A thread with what presses ("" for the bare head): its stress in N/mm2, and whether the bolt itself stands the torque."""

    thread: str
    washer: str
    stress: float
    bolt_stands: bool

    @property
    def name(self) -> str:
        """As told to the maker."""
        return f"{self.thread} {self.washer or tell('bare head')}"


def bearing_choices(torque_n_m: float, head_standard: str, grade: PropertyClass, k: float | None = None) -> tuple[Choice, ...]:
    """Bearing stress of the torque for each thread and washer; k: torque over load and diameter, None for the lower end of K."""
    factor = k_band(friction())[0] if k is None else k
    found = []
    for thread in THREADS:
        load = load_of_torque(torque_n_m, bolt(thread).nominal, factor)
        breaks = breaking_torque(bolt(thread), grade)
        stands = breaks is None or torque_n_m * (1.0 + TOOL_SCATTER) <= breaks
        for standard in WASHERS:
            presses = washer(standard, thread).outside_least if standard else head(head_standard, thread).bearing_diameter
            found.append(Choice(thread, standard, bearing_stress(load, presses, clearance_hole(thread).medium), stands))
    return tuple(found)


def borne_by(choices: tuple[Choice, ...], temperature_c: float) -> dict[str, tuple[Choice, ...]]:
    """For each plastic with a bearing limit: the choices it bears for long at this temperature."""
    return {m.name: tuple(c for c in choices if c.bolt_stands and c.stress <= limit) for m in MATERIALS
            if (limit := m.bearing_limit(temperature_c)) is not None}


def table_in_words(torque_n_m: float, choices: tuple[Choice, ...], temperature_c: float) -> str:
    """One sentence for each group of plastics that bear the same."""
    groups: dict[str, list[str]] = {}
    for name, borne in borne_by(choices, temperature_c).items():
        groups.setdefault(", ".join(c.name for c in borne) or tell("none of them"), []).append(name)
    told = "; ".join(f"{', '.join(names)}: {what}" for what, names in groups.items())
    return tell("Of M4, M5 and M6 at {torque_n_m:g} N m, what plastics bear for long at {temperature_c:g} degC: {told}.",
                torque_n_m=torque_n_m, temperature_c=temperature_c, told=told)


def table_inputs(choices: tuple[Choice, ...], temperature_c: float) -> tuple[Input, ...]:
    """The table as figures: stress of every choice, limit of every plastic."""
    limits = ((m, m.bearing_limit(temperature_c)) for m in MATERIALS)
    return (*(Input(tell("stress under {c}", c=c.name), c.stress, "N/mm2", tell("greatest clamp load of bolts.torque_n_m"))
              for c in choices),
            *(Input(tell("limit of {m}", m=m.name), limit, "N/mm2", str(m.bearing_long.source) if m.bearing_long else "")
              for m, limit in limits if limit is not None))
