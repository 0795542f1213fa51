"""Mass and hours of the whole set, from the volume of its solids and the filament's density."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.checks.printed_pieces import Printed, alternatives, printed_pieces
from afterpart.formulas.printing import extrusion_rate, print_minutes
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit
from afterpart.model.wishes import PrinterWish
from afterpart.standards.materials import material
from afterpart.standards.printing import rule
from afterpart.standards.table import Figure
from afterpart.words import counted, entry, paragraph, tell

FORMULA = entry("m = rho V;  t = V / (w h v eta), w h v no more than the nozzle melts")
SEVERITY = 1

_MM3_PER_CM3 = 1000.0
_MINUTES_PER_HOUR = 60.0


def print_effort(case: Case) -> tuple[Finding, ...]:
    """Mass of all pieces printed from one filament against one spool, with the hours they take, one finding a filament.

        m = rho V                                  rho density [g/cm3], V volume of the solids [mm3 / 1000]
        t = V / (min(w h v, melt rate) eta)        w line width, h layer [mm], v speed [mm/s], eta share of time that prints

    Holds for solid prints (no infill pattern): less infill is lighter and quicker.  Speed, share and spool are from memory.
    """
    found = []
    pieces = [printed for printed in printed_pieces(case) if printed.facts]
    for filament in dict.fromkeys(printed.filament for printed in pieces):
        found.append(_judged(case, filament, [printed for printed in pieces if printed.filament == filament]))
    return tuple(found)


def _judged(case: Case, filament: str, pieces: list[Printed]) -> Finding:
    try:
        density = material(filament).density
    except KeyError as error:
        return not_judged("print_effort", filament, tell("printer.material: {args}", args=error.args[0]),
                          formula=FORMULA, missing=("printer.material",), severity=SEVERITY)
    volumes = {p.name: p.facts.volume for p in pieces if p.facts}
    volume, spool = sum(volumes.values()), rule("spool")
    quick, slow = hours(volume, case.job.wishes.printer)
    each = ", ".join(f"{name} {_mass(density.high, v):.0f} g" for name, v in volumes.items())
    return judged("print_effort", filament, _mass(density.high, volume), "g", Limit(high=spool.low),
                  source=f"{density.source}; {spool.source}", formula=FORMULA, severity=SEVERITY,
                  advice=paragraph(tell("{each}; printed solid that takes {quick:.1f} to {slow:.1f} h.", each=each, quick=quick,
                                        slow=slow), _besides(case)), from_memory=density.from_memory or spool.from_memory,
                  inputs=(Input(tell("volume"), volume, "mm3", tell("measured on the solids")),
                          Input(tell("density"), density.high, "g/cm3", str(density.source)),
                          Input(tell("layer"), case.job.wishes.printer.layer, "mm", "printer.layer"),
                          Input(tell("nozzle"), case.job.wishes.printer.nozzle, "mm", "printer.nozzle")),
                  sensitivity=strongest(_mass, {"density": density.high, "volume": volume}))


def _besides(case: Case) -> str:
    others = alternatives(case.build)
    return (counted("{count} further size lies beside them, which may be printed instead.",
                    "{count} further sizes lie beside them, of which one may be printed instead.", count=len(others)) if others
            else "")


def hours(volume: float, printer: PrinterWish) -> tuple[float, float]:
    """Least and most hours for a volume in mm3: both ends of every figure."""
    width, speed, melt, share = (rule(name) for name in ("line_width", "speed", "melt_rate", "time_efficiency"))

    def at(end: str) -> float:
        def of(figure: Figure) -> float:
            return figure.high if end == "quick" else figure.low

        rate = extrusion_rate(of(width) * printer.nozzle, printer.layer, of(speed), of(melt))
        return print_minutes(volume, rate, of(share)) / _MINUTES_PER_HOUR

    return at("quick"), at("slow")


def _mass(density: float, volume: float) -> float:
    return density * volume / _MM3_PER_CM3
