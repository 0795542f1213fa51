"""What became of each of many jobs worked through in one go.

Words: a *shelf* is a folder with many jobs below it; a *stretch* is how far each is to be taken; a *job row* says how far one
came.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

STRETCHES = ("measure", "build", "check", "release")
"""In order; each includes those before."""

DONE, CURRENT, FAILED = "done", "up to date", "failed"


@dataclass(frozen=True)
class JobRow:
    """name: path below the shelf, with /; state: done | up to date | failed; reached: the last stretch whose results are those of
    the job as it is now, "" for none; text: what was found, or why it failed; place: folder of the results below the shelf;
    seconds: what it took."""

    name: str
    state: str
    reached: str
    text: str
    place: str
    seconds: float = 0.0
