"""The report of the checks on paper: the answer first, then what to do, then why.

Page one holds the headline with the worst finding under it, the cautions where any apply, the actions and the questions; the
findings follow, worst first, those that pass in short at the end; then the table of failure modes.  A4, black on white.
Reproducible: the same report, the same bytes.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from afterpart.formulas.failure_modes import GRAVE, ranking, reading
from afterpart.model.finding import (
    ATTENTION,
    FAILS,
    NOT_JUDGED,
    NUISANCE,
    PASSES,
    VERDICTS,
    Caution,
    CheckReport,
    FailureMode,
    Finding,
)
from afterpart.model.release import TitleBlock
from afterpart.release.findings_page import draw_finding, draw_sign, limit_words, named, number, readable, unit_words
from afterpart.release.flowing import LEFT, RIGHT, Flow
from afterpart.release.marks import Drawing
from afterpart.release.paper import BOLD, PLAIN, Paper
from afterpart.release.words import word, words
from afterpart.words import translated

_PAD = 4.0
_AT_A_GLANCE = 240
"""Letters of advice in the headline's frame."""
_COLUMNS = ((0.0, 26.0), (27.0, 50.0), (51.0, 80.0), (81.0, 108.0), (109.0, 143.0), (144.0, 174.0))
"""Of the failure-mode table: from, to (mm from LEFT)."""


def findings_pdf(report: CheckReport, title: TitleBlock, pictures: Mapping[str, Drawing] | None = None) -> bytes:
    """The report as a PDF.  pictures: name -> picture; each stands under the first finding that names it."""
    paper = Paper(title, _told("subject"))
    flow = Flow(paper, f"{title.name}  {title.revision}  {title.date}".rstrip() + f"  -  {_told('subject')}")
    _draw_headline(flow, report)
    _draw_cautions(flow, report.cautions)
    _draw_list(flow, _told("to_do"), report.actions, numbered=True)
    _draw_list(flow, _told("to_find_out"), report.questions, numbered=False)
    _draw_tally(flow, report.findings)
    _draw_findings(flow, report.findings, dict(pictures or {}))
    _draw_modes(flow, report.failure_modes)
    _draw_end(flow, title)
    return paper.finish()


def _told(key: str, **fields: object) -> str:
    return word("findings", key, **fields)


def _headings() -> tuple[str, ...]:
    return words("findings", "mode_heads")


def _draw_headline(flow: Flow, report: CheckReport) -> None:
    """The answer in a frame, with the worst finding in it."""
    verdict = _verdict_of(report)
    worst = report.findings[0] if report.findings and report.findings[0].verdict != PASSES else None
    until = RIGHT - _PAD
    height = flow.height_of(readable(report.headline), 5.6, BOLD, 16.0, until) + 2 * _PAD
    lines = [] if worst is None else _worst_lines(worst)
    height += sum(flow.height_of(readable(text), size, font, 16.0, until) for text, size, font in lines) + 1.5 * bool(lines)
    top = flow.cursor
    flow.paper.pen(0.7)
    flow.paper.box(LEFT, top - height, RIGHT - LEFT, height)
    draw_sign(flow.paper, verdict, (LEFT + 8.0, top - _PAD - 4.0), 3.8)
    flow.skip(_PAD)
    flow.paragraph(readable(report.headline), 5.6, BOLD, 16.0, until)
    flow.skip(1.5 * bool(lines))
    for text, size, font in lines:
        flow.paragraph(readable(text), size, font, 16.0, until)
    flow.cursor = top - height - 2.0


def _verdict_of(report: CheckReport) -> str:
    """What the headline's sign shows: declined uses and failures that bar the print as failures."""
    bars = any(one.verdict == FAILS and one.severity > NUISANCE for one in report.findings)
    if bars or any(caution.declined for caution in report.cautions):
        return FAILS
    return PASSES if report.findings and all(one.verdict == PASSES for one in report.findings) else ATTENTION


def _worst_lines(worst: Finding) -> list[tuple[str, float, str]]:
    told = [(_told("worst", what=named(worst)), 4.0, BOLD)]
    if worst.value is not None:
        unit = unit_words(worst.unit)
        told.append((_told("worst_value", value=number(worst.value), unit=unit, limit=limit_words(worst.limit)), 3.6, PLAIN))
    return [*told, (_beginning(worst.advice), 3.4, PLAIN)]


def _beginning(text: str) -> str:
    """Whole sentences up to _AT_A_GLANCE letters, the first one in any case; all of it stands with the finding."""
    kept, *rest = text.split(". ")
    for sentence in rest:
        if len(kept) + len(sentence) > _AT_A_GLANCE:
            return f"{kept}."
        kept += f". {sentence}"
    return kept


def _draw_cautions(flow: Flow, cautions: tuple[Caution, ...]) -> None:
    """Declined uses first."""
    if not cautions:
        return
    flow.heading_line(_told("cautions"))
    for caution in sorted(cautions, key=lambda one: not one.declined):
        danger = f"{caution.danger[:1].upper()}{caution.danger[1:]}"
        start = ", ".join((danger, _told("declined"))) if caution.declined else danger
        flow.paragraph(readable(f"{start}: {caution.text}"), 3.1, BOLD if caution.declined else PLAIN, 4.0)
        flow.skip(0.8)


def _draw_list(flow: Flow, heading: str, texts: tuple[str, ...], numbered: bool) -> None:
    if not texts:
        return
    flow.heading_line(heading)
    for place, text in enumerate(texts, start=1):
        flow.room(flow.height_of(readable(text), 3.5, PLAIN, 8.0))
        flow.paper.text((LEFT + 2.0, flow.cursor - 3.5), f"{place}" if numbered else "?", 3.5, BOLD)
        flow.paragraph(readable(text), 3.5, PLAIN, 8.0)
        flow.skip(1.2)


def _draw_tally(flow: Flow, findings: tuple[Finding, ...]) -> None:
    """How many of each verdict, with the signs explained by it."""
    counts = Counter(finding.verdict for finding in findings)
    flow.skip(2.0)
    flow.room(10.0)
    flow.cursor -= 6.0
    for place, verdict in enumerate(VERDICTS):
        x = LEFT + 3.0 + place * 0.25 * (RIGHT - LEFT)
        draw_sign(flow.paper, verdict, (x, flow.cursor), 2.2)
        flow.paper.text((x + 5.0, flow.cursor - 1.2), f"{counts[verdict]} {translated(verdict)}", 3.4,
                        BOLD if counts[verdict] else PLAIN)
    flow.skip(5.0)


def _draw_findings(flow: Flow, findings: tuple[Finding, ...], pictures: dict[str, Drawing]) -> None:
    """By verdict; pictures: those not drawn yet."""
    for verdict, key in ((FAILS, "fails"), (NOT_JUDGED, "not_judged"), (ATTENTION, "attention"), (PASSES, "passes")):
        group = [finding for finding in findings if finding.verdict == verdict]
        if group:
            flow.heading_line(_told(key, count=len(group)), 40.0)
        for finding in group:
            draw_finding(flow, finding, pictures.pop(finding.picture, None))


def _draw_modes(flow: Flow, modes: tuple[FailureMode, ...]) -> None:
    """Severity first; a row is kept on one page."""
    if not modes:
        return
    flow.heading_line(_told("modes"), 40.0)
    flow.paragraph(_told("modes_how", grave=GRAVE), 2.8)
    flow.skip(1.0)
    _draw_row(flow, _headings(), BOLD)
    for mode in sorted(modes, key=lambda one: ranking(one.severity, one.occurrence, one.detection), reverse=True):
        marks = (mode.severity, mode.occurrence, mode.detection)
        read_as = f"{marks[0]} / {marks[1]} / {marks[2]}, {translated(reading(*marks))}"
        _draw_row(flow, (mode.item, mode.mode, mode.effect, mode.cause, mode.today, read_as), PLAIN)


def _draw_row(flow: Flow, cells: tuple[str, ...], font: str) -> None:
    size, step = 2.5, 3.2
    columns = [flow.lines(readable(cell), size, font, right - left) for cell, (left, right) in
               zip(cells, _COLUMNS, strict=True)]
    height = step * max(map(len, columns)) + 1.4
    page = flow.page
    flow.room(height)
    if flow.page != page and cells != _headings():
        _draw_row(flow, _headings(), BOLD)
    for lines, (left, _) in zip(columns, _COLUMNS, strict=True):
        for place, line in enumerate(lines):
            flow.paper.text((LEFT + left, flow.cursor - size - step * place), line, size, font)
    flow.cursor -= height
    flow.paper.pen(0.1, grey=0.6)
    flow.paper.line((LEFT, flow.cursor), (RIGHT, flow.cursor))
    flow.paper.pen()
    flow.skip(0.6)


def _draw_end(flow: Flow, title: TitleBlock) -> None:
    flow.skip(3.0)
    flow.room(14.0)
    flow.paragraph(_told("end"), 2.8)
    flow.paragraph(title.made_with, 2.4)
