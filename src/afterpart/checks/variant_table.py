"""The comparison as lines of text: a table of figures, scores, where the winner changes, and who can print what.

Conventions: the best of a line is marked with a star; a dash stands for what is not known.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.comparison import Comparison, FigureRow, Printability, Tipping
from afterpart.words import entry, symbol_words, tell, translated

HEADINGS = (entry("figure"), entry("better"), entry("weight"))


def comparison_lines(found: Comparison) -> tuple[str, ...]:
    """The whole comparison, line by line, columns aligned."""
    cells = [(*map(translated, HEADINGS), *found.names), *(_cells(row, found.names) for row in found.rows),
             (tell("score"), tell("more"), "",
              *(f"{score:.2f}{'*' * (name in found.winners)}" for name, score in zip(found.names, found.scores, strict=True)))]
    widths = [max(len(row[i]) for row in cells) for i in range(len(cells[0]))]
    table = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]
    worst = [tell("Worst finding of {name}: {words}.", name=name, words=words)
             for name, words in zip(found.names, found.worst, strict=True)]
    return (*table, "", _winner(found), *map(_tipping, found.tippings), "", *worst, "", *map(_printable, found.printability))


def _cells(row: FigureRow, names: tuple[str, ...]) -> tuple[str, ...]:
    shown = ["-" if value is None else f"{value:.4g}{'*' * (name in row.winners)}"
             for name, value in zip(names, row.values, strict=True)]
    unit = "" if row.unit in ("", "-") else f" [{row.unit}]"
    return (symbol_words(row.figure) + unit, translated(row.better), f"{row.weight:g}", *shown)


def _winner(found: Comparison) -> str:
    if not found.winners:
        return tell("No winner: nothing that has a weight is known of all variants.")
    if len(found.winners) > 1:
        return tell("Level under these weights: {winners}.", winners=", ".join(found.winners))
    return tell("Best under these weights: {winners}.", winners=found.winners[0])


def _tipping(tip: Tipping) -> str:
    figure = symbol_words(tip.figure)
    told = (tell("{winner} is best instead with a weight of {figure} above {weight:.3g}.", winner=tip.winner, figure=figure,
                 weight=tip.weight) if tip.weight > tip.weight_now
            else tell("{winner} is best instead with a weight of {figure} below {weight:.3g}.", winner=tip.winner, figure=figure,
                      weight=tip.weight))
    return f"  {told}"


def _printable(one: Printability) -> str:
    if one.obstacles:
        return tell("{variant} on {printer}: not as it is: {obstacles}.", variant=one.variant, printer=one.printer,
                    obstacles="; ".join(one.obstacles))
    if one.unknown:
        return tell("{variant} on {printer}: not known: {unknown}.", variant=one.variant, printer=one.printer,
                    unknown="; ".join(one.unknown))
    return tell("{variant} on {printer}: yes.", variant=one.variant, printer=one.printer)
