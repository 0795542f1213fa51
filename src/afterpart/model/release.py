"""What is written on every paper that leaves the house."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TitleBlock:
    """name of the part; revision; date as the job gives it (never the clock); made_with: program and version."""

    name: str
    revision: str = "A"
    date: str = ""
    made_with: str = "afterpart"
