"""From what a finding suggests to the keys of the job file that a click can change.

Words: a *change* is one key and the value that shall stand there; a *table of rows* stands once per row in the job file, so
that a key alone does not say which row is meant.
Limits: the first suggestion alone is told; a key of a table of rows only by the check that knows its rows (fit_changes.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json

from afterpart.model.finding import KeyChange, Suggestion

ROW_TABLES = ("role", "change", "hole", "boss", "trial", "reading", "height", "failure_mode", "photo", "damage")
"""Tables of the job file that stand once per row."""

_PLAIN = ("true", "false")


def changes_of(suggestions: tuple[Suggestion, ...]) -> tuple[KeyChange, ...]:
    """The first suggestion as a change; () without one, or where its key stands in rows."""
    if not suggestions or suggestions[0].key.partition(".")[0] in ROW_TABLES:
        return ()
    return (KeyChange(suggestions[0].key, in_the_file(suggestions[0].to)),)


def in_the_file(value: float | str) -> str:
    """A suggested value as it stands in the job file: numbers, true and lists plain, other text in quotes."""
    if not isinstance(value, str):
        return repr(value)
    return value if value in _PLAIN or value.startswith("[") else json.dumps(value, ensure_ascii=False)
