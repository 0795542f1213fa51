"""Answers that the program keeps while it runs are forgotten before each round: timed is what a maker's first run costs."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import sys

ROOMS = tuple(f"afterpart.{room}" for room in ("geometry", "formulas", "parts", "checks", "outline", "photo"))
"""Where kept answers are results; elsewhere they are fonts, words and files."""


def forget() -> None:
    """Clear what the loaded modules of these rooms keep."""
    for name, module in tuple(sys.modules.items()):
        if name.startswith(ROOMS):
            for value in tuple(vars(module).values()):
                if callable(getattr(value, "cache_clear", None)):
                    value.cache_clear()
