"""The comparison as lines of text: a table of figures, scores, where the winner changes, and who can print what.

Conventions: the best of a line is marked with a star; a dash stands for what is not known.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.comparison import Comparison, FigureRow, Printability, Tipping

HEADINGS = ("figure", "better", "weight")


def comparison_lines(found: Comparison) -> tuple[str, ...]:
    """The whole comparison, line by line, columns aligned."""
    cells = [(*HEADINGS, *found.names), *(_cells(row, found.names) for row in found.rows),
             ("score", "more", "", *(f"{score:.2f}{'*' * (name in found.winners)}"
                                     for name, score in zip(found.names, found.scores, strict=True)))]
    widths = [max(len(row[i]) for row in cells) for i in range(len(cells[0]))]
    table = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]
    worst = [f"Worst finding of {name}: {words}." for name, words in zip(found.names, found.worst, strict=True)]
    return (*table, "", _winner(found), *map(_tipping, found.tippings), "", *worst, "", *map(_printable, found.printability))


def _cells(row: FigureRow, names: tuple[str, ...]) -> tuple[str, ...]:
    shown = ["-" if value is None else f"{value:.4g}{'*' * (name in row.winners)}"
             for name, value in zip(names, row.values, strict=True)]
    unit = "" if row.unit in ("", "-") else f" [{row.unit}]"
    return (row.figure.replace("_", " ") + unit, row.better, f"{row.weight:g}", *shown)


def _winner(found: Comparison) -> str:
    if not found.winners:
        return "No winner: nothing that has a weight is known of all variants."
    if len(found.winners) > 1:
        return f"Level under these weights: {', '.join(found.winners)}."
    return f"Best under these weights: {found.winners[0]}."


def _tipping(tip: Tipping) -> str:
    way = "above" if tip.weight > tip.weight_now else "below"
    return f"  {tip.winner} is best instead with a weight of {tip.figure.replace('_', ' ')} {way} {tip.weight:.3g}."


def _printable(one: Printability) -> str:
    if one.obstacles:
        return f"{one.variant} on {one.printer}: not as it is: {'; '.join(one.obstacles)}."
    if one.unknown:
        return f"{one.variant} on {one.printer}: not known: {'; '.join(one.unknown)}."
    return f"{one.variant} on {one.printer}: yes."
