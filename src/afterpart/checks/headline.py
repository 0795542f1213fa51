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

from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, NUISANCE, PASSES, VERDICTS, Caution, Finding, Suggestion
from afterpart.words import counted, paragraph, symbol_words, tell, together

MOST_ACTIONS = 3
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
        return tell("Do not print it: {danger} is a use this program declines.", danger=declined[0].danger)
    if not findings:
        return tell("Print it if you have judged it yourself: no check applies to this job.")
    failed = [finding for finding in findings if finding.verdict == FAILS]
    barring = [finding for finding in failed if finding.severity > NUISANCE]
    if barring:
        return _in_one_line(lambda name: counted("Do not print it: 1 finding fails, the worst is {name}.",
                                                 "Do not print it: {count} findings fail, the worst is {name}.",
                                                 count=len(failed), name=name(barring[0])))
    if all(finding.verdict == PASSES for finding in findings):
        return tell("Print it.")
    return _in_one_line(lambda name: tell("Print it if you {conditions}.",
                                          conditions=together(_conditions(findings, failed, name))))


def _in_one_line(told: Callable[[Callable[[Finding], str]], str]) -> str:
    """The sentence with what was judged and of what; where that is too long for a line, without of what."""
    whole = told(spoken)
    return whole if len(whole) <= LINE else told(lambda finding: symbol_words(finding.check))


def _conditions(findings: tuple[Finding, ...], failed: list[Finding], name: Callable[[Finding], str]) -> list[str]:
    """What must be so: the worst that fails, and the gravest of the rest, each by name; the others by their number, so that what
    is lighter never hides what is graver."""
    rest = [finding for finding in findings if finding.verdict in (NOT_JUDGED, ATTENTION)]
    grave = [finding for finding in rest if finding.severity >= GRAVE]
    conditions = []
    if failed:
        conditions.append(_accept(name(failed[0]), len(failed) - 1))
    if grave:
        conditions.append(_make_sure(grave[0], name(grave[0]), len(grave) - 1))
    if not conditions:
        doubtful = [finding for finding in rest if finding.verdict == ATTENTION]
        first = name((doubtful or rest)[0])
        conditions.append(counted("have read {name} and {count} more", "have read {name} and {count} more", count=len(rest) - 1,
                                  name=first) if rest[1:] else tell("have read {name}", name=first))
    return conditions


def _accept(name: str, more: int) -> str:
    return (counted("accept {name} (fails, {count} more)", "accept {name} (fails, {count} more)", count=more, name=name) if more
            else tell("accept {name} (fails)", name=name))


def _make_sure(finding: Finding, name: str, more: int) -> str:
    if finding.verdict == NOT_JUDGED:
        return (counted("make sure of {name} (not judged, {count} more)", "make sure of {name} (not judged, {count} more)",
                        count=more, name=name) if more else tell("make sure of {name} (not judged)", name=name))
    severity = finding.severity
    return (counted("make sure of {name} (severity {severity}, {count} more)",
                    "make sure of {name} (severity {severity}, {count} more)", count=more, name=name, severity=severity) if more
            else tell("make sure of {name} (severity {severity})", name=name, severity=severity))


def spoken(finding: Finding) -> str:
    """What was judged and of what, in words."""
    return (tell("{check} of {subject}", check=symbol_words(finding.check), subject=finding.subject) if finding.subject
            else symbol_words(finding.check))


def _listed(findings: list[Finding]) -> str:
    told = [spoken(finding) for finding in findings[:_MOST_SUBJECTS]]
    rest = len(findings) - len(told)
    names = ", ".join(told)
    return counted("{names} and {count} more", "{names} and {count} more", count=rest, names=names) if rest else names


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
            return tell("{key} = {shown} cannot be right for all: {for_whom} ask for {shown_2} to {shown_3}; change something "
                        "else as well.", key=key, shown=shown(now), for_whom=for_whom, shown_2=shown(min(numbers)),
                        shown_3=shown(max(numbers)))
        target: float | str = max(numbers, key=lambda value: abs(value - now))
    else:
        target = first.to
    mends = any(one.finding.verdict == FAILS for one in asked)
    return paragraph(_set(key, shown(target), "" if first.now is None else shown(first.now), mends, for_whom),
                     _sentence(first.why) if first.why else "")


def _set(key: str, to: str, now: str, mends: bool, for_whom: str) -> str:
    """The change in a sentence.  now: "" where the key has no value."""
    if mends:
        return (tell("Set {key} to {to} (now {now}): mends {for_whom}.", key=key, to=to, now=now, for_whom=for_whom) if now
                else tell("Set {key} to {to}: mends {for_whom}.", key=key, to=to, for_whom=for_whom))
    return (tell("Set {key} to {to} (now {now}): gives more room to {for_whom}.", key=key, to=to, now=now, for_whom=for_whom)
            if now else tell("Set {key} to {to}: gives more room to {for_whom}.", key=key, to=to, for_whom=for_whom))


def shown(value: float | str | None) -> str:
    """A value as it may stand in the job file, numbers with four figures at most."""
    return f"{value:.4g}" if isinstance(value, float | int) and not isinstance(value, bool) else str(value)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentence(text: str) -> str:
    text = _capital(text.strip())
    return text if text.endswith((".", "!", "?")) else f"{text}."
