"""One finding as it stands in the report: its sign and verdict, its value on a bar against the limit, what to do, where from.

Words: the *sign* tells the verdict by shape (filled square with a cross: fails; ring with a question mark: not judged; diamond:
attention; ring with a tick: passes), beside the word itself.  On the *bar* the hatched part lies beyond the limit; the mark is
the value, its whiskers two standard uncertainties.
Limits: the bar is drawn to the scale of limit and value; a value many limits away is drawn at its end, with an arrow.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, Finding, Input, Limit
from afterpart.model.outline import Point
from afterpart.release.flowing import LEFT, RIGHT, Flow
from afterpart.release.marks import Drawing, draw_marks
from afterpart.release.paper import BOLD, Paper, Placement
from afterpart.release.words import word
from afterpart.words import plain_name, symbol_words, translated

INDENT = 9.0
_SMALL = 2.7
_BAR_LEFT, _BAR_RIGHT, _BAR_HEIGHT = LEFT + INDENT, RIGHT - 2.0, 3.6
_PICTURE, _UNDER = 0.85, 2.0
"""Scale of a picture on the page, and its distance from the words over it."""
_FARTHEST = 5.0
"""Values beyond so many limits are drawn at the end of the bar."""
_READABLE = {"≤": "<=", "≥": ">=", "√": "sqrt ", "π": "pi", "Δ": "d", "µ": "u", "∞": "inf", "−": "-", "≈": "about ", "σ": "s",
             "η": "eta", "ρ": "rho", "→": "to"}
"""What the paper's fonts do not have, in letters they have."""


def draw_sign(paper: Paper, verdict: str, at: Point, size: float = 2.6) -> None:
    """The sign of a verdict with its middle at `at`, `size` from the middle to its edge."""
    x, y = at
    arm = 0.5 * size
    if verdict == FAILS:
        paper.solid_box(x - size, y - size, 2 * size, 2 * size)
        paper.pen(0.27 * size, grey=1.0)
        paper.line((x - arm, y - arm), (x + arm, y + arm))
        paper.line((x - arm, y + arm), (x + arm, y - arm))
        paper.pen()
        return
    paper.pen(0.35)
    if verdict == ATTENTION:
        paper.polygon([(x - 1.15 * size, y), (x, y - 1.15 * size), (x + 1.15 * size, y), (x, y + 1.15 * size)])
        paper.text((x, y - 0.36 * 1.5 * size), "!", 1.5 * size, BOLD, align="middle")
    elif verdict == NOT_JUDGED:
        paper.circle(at, size)
        paper.text((x, y - 0.36 * 1.4 * size), "?", 1.4 * size, BOLD, align="middle")
    else:
        paper.circle(at, size)
        paper.pen(0.5)
        paper.line((x - arm, y), (x - 0.15 * size, y - arm))
        paper.line((x - 0.15 * size, y - arm), (x + arm, y + arm))
    paper.pen()


def draw_finding(flow: Flow, finding: Finding, picture: Drawing | None = None) -> None:
    """The whole finding with the picture that shows it, not torn apart where it fits a page; of one that passes the figures
    without the advice."""
    flow.room(min(_height(flow, finding) + (picture.height * _PICTURE + _UNDER if picture else 0.0), 240.0))
    flow.skip(2.0)
    top = flow.cursor
    draw_sign(flow.paper, finding.verdict, (LEFT + 3.2, top - 3.0))
    flow.paper.text((RIGHT, top - 3.4), _told("marked", verdict=translated(finding.verdict), severity=finding.severity), _SMALL,
                    align="right")
    flow.paragraph(readable(named(finding)), 3.6, BOLD, INDENT, RIGHT - 44.0)
    if finding.value is not None:
        flow.paragraph(readable(_value_line(finding)), 3.2, indent=INDENT)
        _draw_bar(flow, finding, finding.value)
    if finding.verdict != PASSES:
        flow.paragraph(readable(finding.advice), 3.2, indent=INDENT)
    for text in _small_print(finding):
        flow.paragraph(readable(text), _SMALL, indent=INDENT)
    if picture is not None:
        flow.skip(_UNDER + picture.height * _PICTURE)
        draw_marks(flow.paper, picture, Placement((LEFT + INDENT, flow.cursor), _PICTURE))
    flow.skip(1.6)
    flow.paper.pen(0.1, grey=0.6)
    flow.paper.line((LEFT, flow.cursor), (RIGHT, flow.cursor))
    flow.paper.pen()


def _height(flow: Flow, finding: Finding) -> float:
    height = 4.0 + flow.height_of(readable(named(finding)), 3.6, BOLD, INDENT, RIGHT - 44.0)
    if finding.value is not None:
        height += flow.height_of(readable(_value_line(finding)), 3.2, indent=INDENT) + _BAR_HEIGHT + 6.0
    if finding.verdict != PASSES:
        height += flow.height_of(readable(finding.advice), 3.2, indent=INDENT)
    return height + sum(flow.height_of(readable(text), _SMALL, indent=INDENT) for text in _small_print(finding))


def named(finding: Finding) -> str:
    """What was judged and of what."""
    check = symbol_words(finding.check)
    check = check[:1].upper() + check[1:]
    return f"{check}: {finding.subject}" if finding.subject else check


def readable(text: str) -> str:
    """The text in letters the paper's fonts have."""
    return "".join(_READABLE.get(letter, letter) for letter in text)


def number(value: float) -> str:
    """With four figures, large ones whole."""
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def limit_words(limit: Limit) -> str:
    """at most, at least, or from to."""
    if limit.low is not None and limit.high is not None:
        return _told("from_to", low=number(limit.low), high=number(limit.high))
    if limit.high is not None:
        return _told("at_most", high=number(limit.high))
    return "" if limit.low is None else _told("at_least", low=number(limit.low))


def unit_words(unit: str) -> str:
    """The unit with a blank before it; nothing for pure numbers."""
    return "" if unit in ("", "-", "1") else f" {translated(unit)}"


def _told(key: str, **fields: object) -> str:
    return word("findings", key, **fields)


def _value_line(finding: Finding) -> str:
    assert finding.value is not None
    unit = unit_words(finding.unit)
    figures = {"value": number(finding.value), "unit": unit, "limit": limit_words(finding.limit)}
    told = _told("value_line_u", u=number(finding.u), **figures) if finding.u else _told("value_line", **figures)
    margin = "" if finding.margin is None else _told("margin_left" if finding.margin >= 0 else "margin_beyond",
                                                     share=abs(finding.margin))
    return ", ".join(filter(None, (told, margin)))


def _small_print(finding: Finding) -> list[str]:
    """Suggestions, formula, inputs, sensitivities, missing keys, source."""
    told = []
    for wish in finding.suggestions:
        change = (_told("change", name=wish.key, to=_plain(wish.to)) if wish.now in (None, "")
                  else _told("change_now", name=wish.key, to=_plain(wish.to), now=_plain(wish.now)))
        told.append(f"{change} ({wish.why})" if wish.why else change)
    if finding.missing:
        told.append(_told("missing", keys=", ".join(finding.missing)))
    if finding.formula:
        told.append(_told("formula", formula=finding.formula))
    if finding.inputs:
        told.append(_told("inputs", inputs="; ".join(map(_input_words, finding.inputs))))
    if finding.sensitivity and finding.verdict != PASSES:
        told.append(_told("sensitivity", moves="; ".join(
            _told("sensitivity_one", input=translated(plain_name(one.input)), by=number(one.value_per_percent),
                  unit=unit_words(finding.unit))
            for one in finding.sensitivity)))
    if finding.insensitive and finding.verdict != PASSES:
        told.append(_told("insensitive", why=finding.insensitive))
    source = finding.source or _told("no_source")
    return [*told, _told("source_memory" if finding.from_memory else "source", source=source)]


def _plain(value: float | str | None) -> str:
    return number(value) if isinstance(value, float | int) and not isinstance(value, bool) else str(value)


def _input_words(given: Input) -> str:
    spread = f" ± {number(given.u)}" if given.u else ""
    return f"{translated(given.name)} {number(given.value)}{spread}{unit_words(given.unit)} ({given.source})"


@dataclass(frozen=True)
class _Scale:
    """The bar's ends in the finding's unit."""

    low: float
    high: float

    def at(self, value: float) -> float:
        """Place of the value on the page, kept on the bar."""
        share = (value - self.low) / (self.high - self.low)
        return _BAR_LEFT + min(max(share, 0.0), 1.0) * (_BAR_RIGHT - _BAR_LEFT)


def _scale(value: float, limit: Limit) -> _Scale:
    """From zero where that makes sense, to a little beyond limit and value."""
    edges = [edge for edge in (limit.low, limit.high) if edge is not None]
    reach = _FARTHEST * max(max(map(abs, edges)), 1e-12)
    told = [*edges, min(max(value, -reach), reach)]
    low, high = min(*told, 0.0), max(*told, 0.0)
    span = max(high - low, 1e-12)
    return _Scale(low - (0.08 * span if low < 0 else 0.0), high + 0.15 * span)


def _draw_bar(flow: Flow, finding: Finding, value: float) -> None:
    paper, limit, scale = flow.paper, finding.limit, _scale(value, finding.limit)
    flow.skip(1.6)
    flow.cursor -= _BAR_HEIGHT
    y = flow.cursor
    if limit.low is not None:
        _hatch(paper, _BAR_LEFT, scale.at(limit.low), y)
    if limit.high is not None:
        _hatch(paper, scale.at(limit.high), _BAR_RIGHT, y)
    paper.pen(0.18)
    paper.box(_BAR_LEFT, y, _BAR_RIGHT - _BAR_LEFT, _BAR_HEIGHT)
    for edge in (limit.low, limit.high):
        if edge is not None:
            paper.pen(0.6)
            paper.line((scale.at(edge), y - 0.9), (scale.at(edge), y + _BAR_HEIGHT + 0.9))
    _draw_value(paper, finding, value, scale, y + 0.5 * _BAR_HEIGHT)
    paper.pen()
    flow.skip(1.8)


def _draw_value(paper: Paper, finding: Finding, value: float, scale: _Scale, y: float) -> None:
    """A filled mark at the value with its whiskers; an arrow where it lies beyond the bar."""
    x = scale.at(value)
    if finding.u:
        paper.pen(0.35)
        ends = [scale.at(value - 2 * finding.u), scale.at(value + 2 * finding.u)]
        paper.line((ends[0], y), (ends[1], y))
        for end in ends:
            paper.line((end, y - 0.8), (end, y + 0.8))
    paper.pen(0.2)
    beyond = value > scale.high or value < scale.low
    if beyond and not math.isclose(scale.high, scale.low):
        turn = 1.0 if value > scale.high else -1.0
        paper.polygon([(x, y), (x - 2.6 * turn, y - 1.4), (x - 2.6 * turn, y + 1.4)], is_filled=True)
    else:
        paper.polygon([(x - 1.2, y), (x, y - 1.2), (x + 1.2, y), (x, y + 1.2)], is_filled=True)


def _hatch(paper: Paper, left: float, right: float, y: float) -> None:
    """Lines at 45 degrees over what lies beyond the limit."""
    paper.solid_box(left, y, max(right - left, 0.0), _BAR_HEIGHT, grey=0.9)
    paper.pen(0.12, grey=0.45)
    x = left - _BAR_HEIGHT
    while x < right:
        start, end = max(x, left), min(x + _BAR_HEIGHT, right)
        if end > start:
            paper.line((start, y + start - x), (end, y + end - x))
        x += 1.8
    paper.pen()
