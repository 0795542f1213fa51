"""JSON text as the standard library writes it with one blank per level, in less than half the time.

The library's quick writer knows no indentation; its other one goes through a generator for every value.
Limits: plain values only, as codec.py makes them: dict with str keys, list, str, float, int, bool, None.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from json.encoder import encode_basestring
from typing import Any


def indented(value: Any) -> str:
    """The text of json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1).

    ValueError: a number that is not finite.  TypeError: a value that is none of JSON's."""
    return _text(value, "\n ")


def _text(value: Any, margin: str) -> str:
    """margin: line break and indentation of what stands inside the value."""
    kind = type(value)
    if kind is float:
        if not math.isfinite(value):
            raise ValueError(f"{value} has no JSON form")
        return float.__repr__(value)
    if kind is str:
        return encode_basestring(value)
    if kind is dict:
        if not value:
            return "{}"
        deeper = margin + " "
        inside = f",{margin}".join([f"{encode_basestring(key)}: {_text(item, deeper)}" for key, item in value.items()])
        return f"{{{margin}{inside}{margin[:-1]}}}"
    if kind is list or kind is tuple:
        if not value:
            return "[]"
        deeper = margin + " "
        return f"[{margin}{f',{margin}'.join([_text(item, deeper) for item in value])}{margin[:-1]}]"
    if value is None or kind is bool:
        return {None: "null", True: "true", False: "false"}[value]
    if kind is int:
        return int.__repr__(value)
    raise TypeError(f"a {kind.__name__} has no JSON form")
