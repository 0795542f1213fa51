"""What the tables of a job file share: strictness, texts and lists read by options.py, limits of numbers, defaults of nouns.

A *limit* is pydantic's own ge, gt, le, lt, so that the documentation can print it; outside it is a typing mistake or a wrong
unit.  A default is always that of the noun the table becomes, so that a job file that leaves a key out and a noun made without
it say the same.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from afterpart.errors import UsageError
from afterpart.job.options import parse_bed

T = TypeVar("T")


class Keys(BaseModel):
    """One table of a job file: unknown keys are refused, types are taken strictly, numbers are finite."""

    model_config = ConfigDict(extra="forbid", strict=True, arbitrary_types_allowed=True, allow_inf_nan=False)


@dataclass(frozen=True)
class FromText(BeforeValidator):
    """Reads a quoted text."""


@dataclass(frozen=True)
class FromNumbers(BeforeValidator):
    """Reads a list of `count` numbers."""

    count: int = 0


def from_text(parse: Callable[[str], Any]) -> FromText:
    """Read a quoted text with `parse`."""
    def read(value: Any) -> Any:
        if not isinstance(value, str):
            raise UsageError(f"text: found {value!r}, expected a text in quotes. Put it in quotes.")
        return parse(value)
    return FromText(read)


def from_numbers(count: int, what: str, make: Callable[..., Any]) -> FromNumbers:
    """Read a list of `count` numbers with `make`."""
    def read(value: Any) -> Any:
        numbers = isinstance(value, list) and all(isinstance(v, int | float) and not isinstance(v, bool) for v in value)
        if not numbers or len(value) != count:
            raise UsageError(f"list: found {value!r}, expected {count} numbers {what}. Give them all, in this order.")
        try:
            return make(*map(float, value))
        except OverflowError as error:  # a whole number of hundreds of figures
            raise UsageError(f"list: found a number too large to be one, expected {count} numbers {what}. "
                             "Check the numbers.") from error
    return FromNumbers(read, count=count)


def bed_size(width: float, depth: float) -> tuple[float, float]:
    """Width and depth of a printer's bed, mm.  Raises UsageError."""
    return parse_bed(f"{width!r}x{depth!r}")


def pair(x: float, y: float) -> tuple[float, float]:
    """The two numbers as they are."""
    return x, y


def defaults_of(noun: type) -> Callable[..., Any]:
    """A maker of fields for the table of this noun: field(name, description, limits...) with the noun's own default."""
    known = noun.__dataclass_fields__

    def told(name: str, description: str, **limits: Any) -> Any:
        return Field(known[name].default, description=description, **limits)
    return told


def to_noun(noun: type[T], keys: Keys | None) -> T | None:
    """The noun with the values of its table (lists as tuples); None for a table not given."""
    if keys is None:
        return None
    told = {name: getattr(keys, name) for name in type(keys).model_fields}
    return noun(**{name: tuple(value) if isinstance(value, list) else value for name, value in told.items()})
