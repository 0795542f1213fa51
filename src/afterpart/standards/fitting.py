"""What fitting a bolt asks for: thread in the machine, a tool and the room for it (lengths: `bolt_lengths.py`).

Words: *access* is the diameter free of everything above the head that lets the
tool on; *engagement* the length of thread that carries.
Limits: from memory throughout, editable; long keys and ball ends need less room.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import Range, rows

ENGAGEMENT_SOURCE = Source("Usual least engagement of a steel bolt's thread, in bolt diameters", from_memory=True)
DRIVE_SOURCE = Source("Usual drives and the room round the tool", from_memory=True)

LEAST_ENGAGEMENT = {"steel": 1.0, "cast iron": 1.25, "aluminium": 1.5, "brass": 1.25}
"""In bolt diameters, for a bolt of class 8.8 used to the full; less load needs less."""

TIP_ROOM = Range(1.0, 3.0, "pitches")
"""Thread to leave free below the tip in a blind hole."""


@dataclass(frozen=True)
class Drive:
    """tool with its size (mm, key or spanner width); access: free diameter above the head, mm."""

    standard: str
    thread: str
    tool: str
    tool_size: float
    access: float
    source: Source = DRIVE_SOURCE


DRIVES: tuple[Drive, ...] = tuple(
    Drive(row["standard"], row["size"], row["tool"], float(row["tool_size"]), float(row["access"]))
    for row in rows("driving.csv"))


def drive(standard: str, thread: str) -> Drive:
    """Tool and room for a head.  Raises KeyError for a head not in the table."""
    for item in DRIVES:
        if (item.standard, item.thread) == (standard, thread):
            return item
    raise KeyError(f"no tool known for {standard} {thread}: known are {', '.join(f'{d.standard} {d.thread}' for d in DRIVES)}")

