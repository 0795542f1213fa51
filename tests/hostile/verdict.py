"""What every run on unusable input must be: the documented status, one clear message, no trace of a bug, nothing written."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

from tests.hostile.warm_child import Run

LONGEST_MESSAGE = 8000
"""Letters of one message: what a maker can read."""


def listed(folder: Path) -> dict[str, int]:
    """Everything below a folder with its size."""
    return {str(path.relative_to(folder)): path.stat().st_size for path in sorted(folder.rglob("*"))}


def wrongs_of_refusal(run: Run, status: int = 3, words: tuple[str, ...] = ()) -> list[str]:
    """What is not as it must be in a refusal; empty where all is well."""
    wrong = [] if run.status == status else [f"status {run.status}, expected {status}"]
    if "Traceback" in run.stderr + run.stdout or "this is a bug" in run.stderr:
        wrong.append(f"a bug: {run.stderr[-600:]}")
    elif not run.stderr.startswith("afterpart: "):
        wrong.append(f"no message of ours: {run.stderr[:200]!r}")
    if run.stderr.count("afterpart: ") > 1:
        wrong.append("more than one message")
    if not run.stderr.strip() or len(run.stderr) > LONGEST_MESSAGE:
        wrong.append(f"a message of {len(run.stderr)} letters")
    wrong += [f"does not say {word!r}: {run.stderr[:300]!r}" for word in words if word not in run.stderr]
    return wrong
