"""What `check` and `mate` print: the answer first, then the findings or the places, the worst on top."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console
from rich.table import Table

if TYPE_CHECKING:
    from afterpart.model.finding import CheckReport, Finding
    from afterpart.model.mate import MateMatch


def print_report(console: Console, report: CheckReport, out: Path) -> None:
    """The answer, cautions, what to do and to find out, then every finding; out: where the report went."""
    console.print(f"\n{report.headline}")
    for caution in sorted(report.cautions, key=lambda one: not one.declined):
        console.print(f"Caution, {caution.danger}: {caution.text}")
    for heading, texts in (("What to do", report.actions), ("What to find out", report.questions)):
        if texts:
            console.print(f"\n{heading}:")
        for number, text in enumerate(texts, start=1):
            console.print(f"  {number}. {text}")
    table = Table(box=None, pad_edge=False)
    for heading in ("verdict", "severity", "check", "of", "value", "limit", "left"):
        is_number = heading in ("severity", "value", "limit", "left")
        table.add_column(heading, justify="right" if is_number else "left", no_wrap=heading != "of")
    for finding in report.findings:
        table.add_row(*_finding_cells(finding))
    console.print()
    console.print(table)
    counts = Counter(finding.verdict for finding in report.findings)
    console.print("\n" + ", ".join(f"{count} {verdict}" for verdict, count in counts.items()))
    console.print(f"Written to {out}: findings.pdf (what to change and why, with formulas and sources), findings.json, "
                  "report.json")


def _finding_cells(finding: Finding) -> tuple[str, ...]:
    low, high = finding.limit.low, finding.limit.high
    limit = f"{_figures(low)} to {_figures(high)}" if low is not None and high is not None else (
        f">= {_figures(low)}" if low is not None else f"<= {_figures(high)}" if high is not None else "")
    value = "" if finding.value is None else f"{_figures(finding.value)} {finding.unit}".rstrip("- ")
    left = "" if finding.margin is None else f"{finding.margin:+.0%}"
    return (finding.verdict, str(finding.severity), finding.check.replace("_", " "), finding.subject, value, limit, left)


def _figures(value: float | None) -> str:
    """Four figures, large numbers whole."""
    return "" if value is None else f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def print_mate(console: Console, match: MateMatch, home: Path) -> None:
    """Worst place first."""
    laid = "the cover as built" if match.of == "cover" else "the drawing (no cover is built yet)"
    console.print(f"\nThe mate, shown {match.way}, laid on {laid}; x and y of the drawing, mm.")
    table = Table(box=None, pad_edge=False)
    for heading in ("hole", "mate's", "off by x", "y", "away", "± 95 %", "bolt", "room", "left", ""):
        table.add_column(heading, justify="left" if heading in ("hole", "mate's", "") else "right", no_wrap=True)
    for hole in match.holes:
        verdict = [word for word, holds in (("MOVED", hole.moved), ("BLOCKED", hole.room is not None and hole.room < 0)) if holds]
        table.add_row(hole.cover, hole.mate, f"{hole.offset[0]:+.3f}", f"{hole.offset[1]:+.3f}", f"{hole.away:.3f}",
                      f"{2 * hole.away_u:.3f}", *("" if v is None else f"{v:.2f}" for v in (hole.bolt, hole.gap, hole.room)),
                      " ".join(verdict))
    console.print(table)
    table = Table(box=None, pad_edge=False)
    for heading in ("edge", "least", "± 95 %", "at", "most"):
        table.add_column(heading, justify="left" if heading in ("edge", "at") else "right", no_wrap=True)
    for edge in match.edges:
        table.add_row(edge.what, f"{edge.least:.2f}", f"{2 * edge.u:.2f}", f"({edge.at[0]:.1f}, {edge.at[1]:.1f})",
                      f"{edge.most:.2f}")
    console.print()
    console.print(table)
    for clash in match.clashes:
        console.print(f"Clash: {clash.text}, by {clash.by:.2f} mm at ({clash.at[0]:.1f}, {clash.at[1]:.1f}).")
    if match.pitches:
        surer = sum(pitch.probability >= pitch.alone for pitch in match.pitches)
        least = match.pitches[0]
        console.print(f"Design pitches by both pictures: {surer} of {len(match.pitches)} are surer than by the cover's alone; "
                      f"least sure is {least.id} ({' '.join(least.of)}), {least.design:.3f} mm, {least.probability:.0%} "
                      f"(alone {least.alone:.0%}).")
    for whose, ids in (("the cover", match.lone_cover), ("the mate", match.lone_mate)):
        if ids:
            console.print(f"Without a partner, on {whose}: {' '.join(ids)}")
    for note in match.notes:
        console.print(f"Note: {note.text}")
    console.print(f"\nWritten to {home}: mate.json, mate.svg, mate.png; the mate's own outline in {home / 'mate'}")
    console.print("The offsets are told where the holes that agree have it; the room where the tightest place has most. Try the "
                  "check plate on the machine before you trust either.")
