"""What a finding suggests, as edits of the job file and in words; what a question asks for, as keys.

An edit is a mapping as job/edit.py takes it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

from afterpart.checks.changes import changes_of
from afterpart.errors import JobError
from afterpart.job.schema import job_schema
from afterpart.model.finding import Finding, KeyChange
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.parts.stage import make_pieces

_KEY = re.compile(r"\(((?!heights\.pdf)[a-z_]+(?:\.[a-z_0-9 ]+)?)\)|[Tt]he job key ([a-z_.]+)")
"""A key as the questions name it: in brackets behind its wording, or after `the job key`."""


def changes_by_suggestion(finding: Finding) -> tuple[tuple[KeyChange, ...], ...]:
    """For each suggestion of a finding, in their order, the change of the job file it is; () where no key alone can be set to
    it.  The first one is the finding's own, which was tried."""
    if not finding.suggestions:
        return (finding.change,) if finding.change else ()
    known = {f"{table.table}.{key.key}".lstrip(".") for table in job_schema() for key in table.keys}
    others = (changes_of((one,)) for one in finding.suggestions[1:])
    return (finding.change, *(change if all(one.at in known for one in change) else () for change in others))


def change_edits(change: Sequence[KeyChange], plain: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The change as edits of the job file whose plain values are given; rows that are not there yet are added."""
    edits: list[dict[str, Any]] = []
    for one in change:
        table, _, key = one.at.partition(".")
        value = json.loads(one.value)
        if not one.row:
            edits.append({"do": "set", "at": one.at, "value": value})
            continue
        rows = plain.get(table, [])
        found = [index for index, row in enumerate(rows) if row.get(one.row[0]) == one.row[1]]
        if found:
            edits.append({"do": "change", "table": table, "index": found[0], "row": {key: value}})
        else:
            also = {name: json.loads(told) for name, told in one.also}
            edits.append({"do": "add", "table": table, "row": {one.row[0]: one.row[1], **also, key: value}})
    return edits


def lay_out(outline: Outline, job: Job) -> None:
    """Lay the pieces out as data alone, to see that they can be built.  Raises JobError where they cannot, or where the size of
    the part is not known."""
    if outline.unit != "mm":
        raise JobError("Found a part of unknown size, expected one in mm. Tell its size at station 1 first.")
    make_pieces(outline, job)


def change_words(change: Sequence[KeyChange]) -> str:
    """The change in a few words, as a button says it: each key with its rows and values."""
    told: dict[tuple[str, str], list[str]] = {}
    for one in change:
        told.setdefault((one.at, _spoken(one.value)), []).extend(one.row[1:])
    parts = [f"{at}{' of ' + ', '.join(rows) if rows else ''} to {value}" for (at, value), rows in told.items()]
    return f"Set {'; '.join(parts)}" if parts else ""


def question_keys(question: str) -> tuple[str, ...]:
    """The job keys a question of the report asks for, the one that settles most first."""
    return tuple(first or second.rstrip(".") for first, second in _KEY.findall(question))


def _spoken(value: str) -> str:
    plain = json.loads(value)
    return plain if isinstance(plain, str) else "yes" if plain is True else "no" if plain is False else value.strip("[]")
