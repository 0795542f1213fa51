"""The values of a job file's text, read once for the same text: an edit asks for them four times.

Limits: what `parsed` gives is shared; copy it before you change it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import functools
import tomllib
from typing import Any


@functools.lru_cache(maxsize=4)
def parsed(text: str) -> dict[str, Any]:
    """The plain values.  Raises tomllib.TOMLDecodeError (a ValueError) where the text is no TOML."""
    return tomllib.loads(text)
