"""The first line of the report and the three things to do.

Words: the *headline* is "Print it.", "Print it if ...", or "Do not print it: ...".  A finding *bars* printing when it fails with
a severity above NUISANCE; a lesser failure, and what wants attention, is a condition.  An *action* is one change of a job key
with the value that mends every finding that asks for it, or the advice of a finding that no key can mend.
Conventions: where several findings want the same key moved the same way, the farthest value is told; where they want it moved
opposite ways, that is said and no value is given.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, VERDICTS, Caution, Finding, Suggestion

MOST_ACTIONS = 3
NUISANCE = 3
"""Up to this severity a failure costs time, looks or a print that does not fit, and only conditions the print (judgement)."""
GRAVE = 9
"""From this severity on, what wants attention or could not be judged is named in the headline (judgement)."""
LINE = 106
"""Letters of a headline that the page shows in one line."""

_MOST_SUBJECTS = 3
"""Named in an action; the headline names one, so that it is read at a glance."""
_FIGURES = 3


def rounded(suggestion: Suggestion) -> Suggestion:
    """The same with a value of three figures, rounded away from what it is now so that it still passes."""
    now, to = suggestion.now, suggestion.to
    if not isinstance(to, float) or not isinstance(now, float | int) or to == 0:
        return suggestion
    step = Decimal(1).scaleb(Decimal(repr(to)).adjusted() - _FIGURES + 1)
    whole = Decimal(repr(to)) / step
    towards = ROUND_CEILING if to > now else ROUND_FLOOR
    return replace(suggestion, to=float(whole.to_integral_value(towards) * step))


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """By verdict, then severity, then the least margin; names last, so that the order never depends on the catalogue's."""
    def rank(finding: Finding) -> tuple[int, int, float, str, str]:
        margin = finding.margin if finding.margin is not None else 0.0
        return VERDICTS.index(finding.verdict), -finding.severity, margin, finding.check, finding.subject
    return tuple(sorted(findings, key=rank))


def headline(findings: tuple[Finding, ...], cautions: tuple[Caution, ...] = ()) -> str:
    """print it, print it if ..., or do not, in one line; findings: worst first."""
    declined = [caution for caution in cautions if caution.declined]
    if declined:
        return f"Do not print it: {declined[0].danger} is a use this program declines."
    if not findings:
        return "Print it if you have judged it yourself: no check applies to this job."
    failed = [finding for finding in findings if finding.verdict == FAILS]
    barring = [finding for finding in failed if finding.severity > NUISANCE]
    if barring:
        count = f"{len(failed)} findings fail" if len(failed) > 1 else "1 finding fails"
        return _in_one_line(lambda name: f"Do not print it: {count}, the worst is {name(barring[0])}.")
    if all(finding.verdict == PASSES for finding in findings):
        return "Print it."
    return _in_one_line(lambda name: f"Print it if you {' and '.join(_conditions(findings, failed, name))}.")


def _in_one_line(told: Callable[[Callable[[Finding], str]], str]) -> str:
    """The sentence with what was judged and of what; where that is too long for a line, without of what."""
    whole = told(spoken)
    return whole if len(whole) <= LINE else told(lambda finding: finding.check.replace("_", " "))


def _conditions(findings: tuple[Finding, ...], failed: list[Finding], name: Callable[[Finding], str]) -> list[str]:
    """What must be so: the worst that fails, and the gravest of the rest, each by name; the others by their number, so that what
    is lighter never hides what is graver."""
    rest = [finding for finding in findings if finding.verdict in (NOT_JUDGED, ATTENTION)]
    grave = [finding for finding in rest if finding.severity >= GRAVE]
    conditions = []
    if failed:
        conditions.append(f"accept {name(failed[0])} (fails{_more(failed)})")
    if grave:
        why = "not judged" if grave[0].verdict == NOT_JUDGED else f"severity {grave[0].severity}"
        conditions.append(f"make sure of {name(grave[0])} ({why}{_more(grave)})")
    if not conditions:
        doubtful = [finding for finding in rest if finding.verdict == ATTENTION]
        more = f" and {len(rest) - 1} more" if len(rest) > 1 else ""
        conditions.append(f"have read {name((doubtful or rest)[0])}{more}")
    return conditions


def _more(findings: list[Finding]) -> str:
    """How many besides the one that is named."""
    return f", {len(findings) - 1} more" if len(findings) > 1 else ""


def spoken(finding: Finding) -> str:
    """What was judged and of what, in words."""
    return f"{finding.check.replace('_', ' ')} of {finding.subject}" if finding.subject else finding.check.replace("_", " ")


def _listed(findings: list[Finding]) -> str:
    told = [spoken(finding) for finding in findings[:_MOST_SUBJECTS]]
    rest = len(findings) - len(told)
    return ", ".join(told) + (f" and {rest} more" if rest else "")


@dataclass(frozen=True)
class _Asked:
    finding: Finding
    suggestion: Suggestion


def actions(findings: tuple[Finding, ...], most: int = MOST_ACTIONS) -> tuple[str, ...]:
    """At most `most` things to do: what mends the worst finding first, then what mends the next one that is left.

    findings: worst first.  Findings that pass and findings that could not be judged ask for nothing here."""
    told: list[str] = []
    mended: set[int] = set()
    wanting = [finding for finding in findings if finding.verdict not in (PASSES, NOT_JUDGED)]
    for place, finding in enumerate(wanting):
        if len(told) == most or place in mended:
            continue
        if finding.suggestions:
            key = finding.suggestions[0].key
            sharing = {other: _Asked(item, s) for other, item in enumerate(wanting) for s in item.suggestions if s.key == key}
            mended |= set(sharing)
            told.append(_change(key, list(sharing.values())))
        elif finding.verdict == FAILS:
            told.append(f"{_capital(spoken(finding))}: {finding.advice}")
    return tuple(told)


def _change(key: str, asked: list[_Asked]) -> str:
    """One change of a key, with the value that is far enough for all who ask."""
    first = asked[0].suggestion
    for_whom = _listed([one.finding for one in asked])
    values = [one.suggestion.to for one in asked]
    numbers = [value for value in values if isinstance(value, float | int)]
    now = first.now
    if isinstance(now, float | int) and len(numbers) == len(values):
        if min(numbers) < now < max(numbers):
            return (f"{key} = {shown(now)} cannot be right for all: {for_whom} ask for {shown(min(numbers))} "
                    f"to {shown(max(numbers))}; change something else as well.")
        target: float | str = max(numbers, key=lambda value: abs(value - now))
    else:
        target = first.to
    was = "" if first.now is None or first.now == "" else f" (now {shown(first.now)})"
    why = f" {_sentence(first.why)}" if first.why else ""
    does = "mends" if any(one.finding.verdict == FAILS for one in asked) else "gives more room to"
    return f"Set {key} to {shown(target)}{was}: {does} {for_whom}.{why}"


def shown(value: float | str | None) -> str:
    """A value as it may stand in the job file, numbers with four figures at most."""
    return f"{value:.4g}" if isinstance(value, float | int) and not isinstance(value, bool) else str(value)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentence(text: str) -> str:
    text = _capital(text.strip())
    return text if text.endswith((".", "!", "?")) else f"{text}."
