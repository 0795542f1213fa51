"""Suggested changes tried before they are offered: a change is only told where the pieces can still be laid out with it.

A check sees what was built, not what else a new value would touch: a wider hole may break into the groove beside it.  So the
pieces are laid out once more with every change, as data alone; where that is refused, the finding says why and offers none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

from afterpart.errors import JobError
from afterpart.model.case import Case
from afterpart.model.finding import PASSES, Finding, KeyChange
from afterpart.model.job import Job
from afterpart.model.wishes import (
    BoltWish,
    CouponWish,
    CoverWish,
    FilterWish,
    HolderWish,
    InletWish,
    LipWish,
    RoleChoice,
    ScrewWish,
    SealWish,
)
from afterpart.parts.stage import make_pieces
from afterpart.words import entry, tell, translated

_OPEN_TABLES: dict[str, type] = {"cover": CoverWish, "bolts": BoltWish, "seal": SealWish, "lip": LipWish, "inlet": InletWish,
                                 "filter": FilterWish, "holder": HolderWish, "screws": ScrewWish, "coupon": CouponWish}
"""Nouns of the tables that a job may leave out."""

REFUSED = entry("tried, it cannot be built alone: the finding says why")
"""Why of a suggestion, where it was refused."""


def tried(findings: tuple[Finding, ...], case: Case) -> tuple[Finding, ...]:
    """The findings, in their order, each with its change where that can be built."""
    wanted = dict.fromkeys(finding.change for finding in findings if finding.change and finding.verdict != PASSES)
    refusals = {change: _refusal(case, change) for change in wanted}
    return tuple(_told(finding, refusals.get(finding.change, "")) for finding in findings)


def changed(job: Job, changes: tuple[KeyChange, ...]) -> Job:
    """The job as it reads once the changes stand in its file.  ValueError: a table of rows other than [[role]]."""
    for change in changes:
        table, _, key = change.at.partition(".")
        value = _plain(json.loads(change.value))
        if change.row:
            if table != "role" or change.row[0] != "of":
                raise ValueError(f"found {change.at} of the row {change.row}, expected a row of [[role]] by its `of`")
            wishes = replace(job.wishes, roles=_roles(job.wishes.roles, change, key, value))
        else:
            noun = getattr(job.wishes, table) or _OPEN_TABLES[table]()
            wishes = replace(job.wishes, **{table: replace(noun, **{key: value})})
        job = replace(job, wishes=wishes)
    return job


def _roles(rows: tuple[RoleChoice, ...], change: KeyChange, key: str, value: Any) -> tuple[RoleChoice, ...]:
    of = change.row[1]
    if all(row.of != of for row in rows):
        rows = (*rows, RoleChoice(of, **{name: json.loads(told) for name, told in change.also}))
    return tuple(replace(row, **{key: value}) if row.of == of else row for row in rows)


def _plain(value: Any) -> Any:
    return tuple(map(float, value)) if isinstance(value, list) else value


def _refusal(case: Case, change: tuple[KeyChange, ...]) -> str:
    """Why the pieces cannot be laid out with it; empty when they can."""
    try:
        make_pieces(case.outline, changed(case.job, change))
    except JobError as error:
        return str(error)
    return ""


def _told(finding: Finding, refusal: str) -> Finding:
    if not refusal:
        return finding
    wishes = tuple(replace(wish, why="; ".join(text for text in (wish.why, translated(REFUSED)) if text))
                   for wish in finding.suggestions[:1])
    return replace(finding, change=(), suggestions=(*wishes, *finding.suggestions[1:]),
                   advice=tell("{advice} Tried, that change alone cannot be built: {refusal}", advice=finding.advice,
                               refusal=refusal))
