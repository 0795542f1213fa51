"""The figures by which variants of a job are told apart, each read from the case and its report.

Conventions: a figure that cannot be known is None, never 0; one that the design does not have at all (no seal, no filter) is None
too.  Times, hand work and the printer's pace are estimates.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from afterpart.checks.air_way import air_way, breathes, demand
from afterpart.checks.inlet_pressure_drop import outside
from afterpart.checks.printable_by import CUT_NOT_PRINTED, printed_pieces
from afterpart.formulas.air_path import path_drop
from afterpart.formulas.airflow import power_loss, standard_air
from afterpart.model.case import Case
from afterpart.model.finding import VERDICTS, CheckReport, Finding
from afterpart.model.outline import Line
from afterpart.model.piece import Add, Prism
from afterpart.standards.fitting import drive
from afterpart.standards.hand_work import TASKS, hand_minutes
from afterpart.standards.materials import material
from afterpart.words import entry, symbol_words, tell, translated

FIT_CHECK = "fit_share"
SEAL_CHECKS = ("cord_squeeze", "cord_fill", "closing_force", "pressure_between_bolts", "leak_gap")
FASTENERS = ("bolt", "screw", "washer", "sleeve", "insert")
MOST_SEVERE = 10
PER_CENT = 100.0


@dataclass(frozen=True)
class Variant:
    """A job as built and judged."""

    name: str
    case: Case
    report: CheckReport


@dataclass(frozen=True)
class FigureKind:
    """name: also what weights are given by; better: more | less; value_of: None where not known."""

    name: str
    unit: str
    better: str
    value_of: Callable[[Variant], float | None]


def worst_in_words(variant: Variant) -> str:
    """The worst finding: verdict, check, subject."""
    worst = _worst(variant)
    return (tell("nothing was judged") if worst is None
            else f"{translated(worst.verdict)}: {symbol_words(worst.check)}, {worst.subject}")


def _worst(variant: Variant) -> Finding | None:
    return min(variant.report.findings, key=lambda f: (VERDICTS.index(f.verdict), -f.severity), default=None)


def _standing(variant: Variant) -> float | None:
    """Of the worst finding: one step for each better verdict, and within a verdict the milder severity."""
    worst = _worst(variant)
    return None if worst is None else VERDICTS.index(worst.verdict) + 1.0 - worst.severity / MOST_SEVERE


def _fit_share(variant: Variant) -> float | None:
    return min((f.value for f in variant.report.findings if f.check == FIT_CHECK and f.value is not None), default=None)


def _seal_margin(variant: Variant) -> float | None:
    return min((f.margin for f in variant.report.findings if f.check in SEAL_CHECKS and f.margin is not None), default=None)


def _drop_pa(variant: Variant) -> float | None:
    way, asked = air_way(variant.case), demand(variant.case)
    if way is None or asked.flow_m3_per_h is None or outside(way, asked) is not None:
        return None
    return path_drop(way.path(), asked.flow_m3_per_h, standard_air()).expected_pa


def _power_percent(variant: Variant) -> float | None:
    drop = _drop_pa(variant)
    fills = breathes(variant.case.job.wishes.machine.kind)
    return PER_CENT * power_loss(drop, standard_air()) if drop is not None and fills else None


def _open_area(variant: Variant) -> float | None:
    way = air_way(variant.case)
    return None if way is None else way.face_area


def _print_minutes(variant: Variant) -> float | None:
    return sum(piece.print_time.minutes for piece in printed_pieces(variant.case))


def _mass_g(variant: Variant) -> float | None:
    """Volume times density, summed; None where a piece was not measured or its filament has no density in the table."""
    volumes = {fact.piece: fact.volume for fact in variant.case.facts}
    total = 0.0
    for piece in printed_pieces(variant.case):
        try:
            density = material(piece.material or variant.case.job.wishes.printer.material).density.middle
            total += volumes[piece.file_stem] / 1000.0 * density
        except KeyError:
            return None
    return total


def _pieces(variant: Variant) -> float | None:
    """That stay on the machine; all where no assembly is known."""
    build = variant.case.build
    return float(len(build.assembly.places) or len(build.pieces))


def _fasteners(variant: Variant) -> float | None:
    """Bolts, screws, washers, sleeves and inserts, one by one; None where no assembly is known."""
    assembly = variant.case.build.assembly
    return float(sum(len(item.at) for item in assembly.items if item.kind in FASTENERS)) if assembly.places else None


def _tools(variant: Variant) -> float | None:
    return float(len(tools(variant.case)))


def tools(case: Case) -> tuple[str, ...]:
    """The tools that fitting it asks for, each once: by the heads' table, the screws' own driver, a blade, a soldering iron."""
    bolts, items = case.job.wishes.bolts, case.build.assembly.items
    kinds = {item.kind for item in items}
    found = {tell("driver for {rsplit}", rsplit=item.name.rsplit(" x ", 1)[0]) for item in items if item.kind == "screw"}
    if "bolt" in kinds and bolts is not None:
        try:
            found.add(f"{translated(drive(bolts.head, bolts.thread).tool)} {drive(bolts.head, bolts.thread).tool_size:g}")
        except KeyError:
            found.add(tell("tool for {head} {thread}", head=bolts.head, thread=bolts.thread))
    found |= {tell("soldering iron")} if "insert" in kinds else set()
    found |= {tell("blade")} if any(piece.kind == CUT_NOT_PRINTED for piece in case.build.pieces) or "cord" in kinds else set()
    return tuple(sorted(found))


def _cuts(case: Case) -> tuple[int, int]:
    """Straight and curved cuts of the element."""
    segments = [segment for piece in case.build.pieces if piece.kind == CUT_NOT_PRINTED for step in piece.steps
                if isinstance(step, Add) for body in step.prisms if isinstance(body, Prism) for segment in body.outer]
    straight = sum(isinstance(segment, Line) for segment in segments)
    return straight, len(segments) - straight


def _curved_cuts(variant: Variant) -> float | None:
    return float(_cuts(variant.case)[1])


def _hand_minutes(variant: Variant) -> float | None:
    """Prints cleaned, cuts made, and every bought thing put in its place.  Source: standards.hand_work."""
    case = variant.case
    straight, curved = _cuts(case)
    bought = sum(len(item.at) * hand_minutes(item.kind) for item in case.build.assembly.items if item.kind in TASKS)
    return (len(printed_pieces(case)) * hand_minutes("take a print off and clean it") + straight * hand_minutes("straight cut")
            + curved * hand_minutes("curved cut") + bought)


FIGURES: tuple[FigureKind, ...] = (FigureKind("fit_share", "%", entry("more"), _fit_share),
                                   FigureKind("pressure_drop", "Pa", entry("less"), _drop_pa),
                                   FigureKind("power_loss", "%", entry("less"), _power_percent),
                                   FigureKind("open_area", "mm2", entry("more"), _open_area),
                                   FigureKind("seal_margin", "-", entry("more"), _seal_margin),
                                   FigureKind("worst_finding", "-", entry("more"), _standing),
                                   FigureKind("print_time", "min", entry("less"), _print_minutes),
                                   FigureKind("mass", "g", entry("less"), _mass_g),
                                   FigureKind("pieces", "", entry("less"), _pieces),
                                   FigureKind("fasteners", "", entry("less"), _fasteners),
                                   FigureKind("tools", "", entry("less"), _tools),
                                   FigureKind("curved_cuts", "", entry("less"), _curved_cuts),
                                   FigureKind("hand_work", "min", entry("less"), _hand_minutes))
"""Every figure that decides, in the order of the table."""
