"""How long the work by hand takes that a design asks for, task by task.

Limits: from memory throughout, editable, for somebody who does it the first time; learning halves it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.standards.table import Figure, marked, rows

SOURCE = Source("Usual minutes of work by hand for a maker", from_memory=True)

TASKS: dict[str, Figure] = {row["task"]: Figure(float(row["low"]), float(row["high"]), row["unit"], marked(SOURCE, row["mark"]))
                            for row in rows("hand_work.csv")}


def hand_minutes(task: str) -> float:
    """Minutes for one task, middle of its band.  Raises KeyError, listing the tasks."""
    if task not in TASKS:
        raise KeyError(f"no task {task!r}: known are {', '.join(TASKS)}")
    return TASKS[task].middle
