"""The three examples as the measuring stages left them, so that pieces can be tested without measuring again.

outlines/NAME.json is outline.json of `afterpart measure examples/NAME`, frozen: numbers in it are the program's own, held
against the true drawings elsewhere (tests/truth, tests/journey).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

from afterpart.job.read import read_job
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.store import parse_outline

NAMES = ("compressor_cover", "pump_lid", "bracket")
ROOT = Path(__file__).parents[2]


def example(name: str) -> tuple[Outline, Job]:
    """Outline and job of an example."""
    data = (Path(__file__).parent / "outlines" / f"{name}.json").read_bytes()
    return parse_outline(data), read_job(ROOT / "examples" / name)
