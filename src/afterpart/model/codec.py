"""Frozen nouns to plain JSON values and back, told by their type hints.

Words: *plain* values are what JSON holds: dict, list, str, float, int, bool, None.  A value whose hint is a union of several
nouns carries the noun's name in lower case under "type".  Arrays become lists; a number that is not finite becomes null,
and a null where a number must stand becomes NaN; a stored number without end is refused.
Limits: hints may be nouns (dataclasses), tuples, arrays, Literal-free scalars and unions of these; anything else is a bug.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import functools
import math
import types
import typing
from typing import Any, TypeVar

import numpy as np

T = TypeVar("T")
LARGEST = 10**300
"""Numbers beyond it, in either direction, are none of ours."""


class PlainError(ValueError):
    """A plain value that does not fit; the text begins with its place, for example pieces[1].steps[0].prisms[0].top."""

    def __init__(self, place: str, text: str) -> None:
        super().__init__(f"{place}: {text}")
        self.place, self.text = place, text


def to_plain(value: Any, tagged: bool = False) -> Any:
    """The plain value of a noun, tuple, array or scalar; `tagged` nouns carry their "type"."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _noun_to_plain(value, tagged)
    return _field_to_plain(value, False)


def _noun_to_plain(value: Any, tagged: bool) -> dict[str, Any]:
    plain: dict[str, Any] = {"type": type(value).__name__.lower()} if tagged else {}
    noun: Any = type(value)
    for name, is_choice in _fields(noun):
        plain[name] = _field_to_plain(getattr(value, name), is_choice)
    return plain


def _field_to_plain(value: Any, is_choice: bool) -> Any:
    """is_choice: a noun in it may be of several kinds, and carries its own."""
    if type(value) is float:
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, str):
        return value
    if type(value) is int:
        return value
    if isinstance(value, tuple | list):
        return [_field_to_plain(item, is_choice) for item in value]
    if dataclasses.is_dataclass(value):
        return _noun_to_plain(value, is_choice)
    if isinstance(value, np.ndarray):
        return _field_to_plain(value.tolist(), False)
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    raise TypeError(f"a {type(value).__name__} has no JSON form")


def from_plain(hint: type[T], plain: Any) -> T:
    """The value of type `hint` that `plain` stands for.  Keys the noun does not know are passed over; keys it has a default for
    may be missing.  Raises PlainError (or KeyError, TypeError, ValueError for the value as a whole) when it does not fit."""
    value: T = _read(hint, plain)
    return value


def _read(hint: Any, plain: Any) -> Any:
    origin = typing.get_origin(hint)
    if origin in (typing.Union, types.UnionType):
        return _read_union(typing.get_args(hint), plain)
    if _is_noun(hint):
        return _read_noun(hint, plain)
    if origin is tuple:
        return _read_tuple(typing.get_args(hint), plain)
    if hint is np.ndarray:
        return _read_array(plain)
    if hint is float:
        if plain is None:
            return math.nan
        if isinstance(plain, bool) or not isinstance(plain, int | float):
            raise TypeError(f"found {plain!r} where a number must stand")
        return _finite(float(plain) if abs(plain) < LARGEST else math.inf)
    if hint in (int, bool, str) and type(plain) is hint:
        return plain
    if hint is type(None) and plain is None:
        return None
    raise TypeError(f"found {plain!r} where {getattr(hint, '__name__', hint)} must stand")


def _finite(value: float) -> float:
    if math.isinf(value):
        raise ValueError("found a number without end where a finite one must stand")
    return value


def _read_array(plain: Any) -> np.ndarray:
    """Numbers, in rows of equal length; a null is NaN."""
    try:
        array = np.array(plain, dtype=float)
    except OverflowError as error:  # a whole number of hundreds of figures
        raise ValueError("found a number too large to be one") from error
    if np.isinf(array).any():
        raise ValueError("found a number without end where finite ones must stand")
    return array


def _read_noun(noun: type, plain: Any) -> Any:
    if not isinstance(plain, dict):
        raise TypeError(f"found {type(plain).__name__} where a {noun.__name__} must stand")
    hints = _hints(noun)
    missing = [field.name for field in dataclasses.fields(noun) if field.name not in plain and _is_required(field)]
    if missing:
        raise PlainError(missing[0], f"found nothing where this key of a {noun.__name__} must stand")
    return noun(**{field.name: _read_at(field.name, hints[field.name], plain[field.name])
                   for field in dataclasses.fields(noun) if field.name in plain})


def _read_at(place: str, hint: Any, plain: Any) -> Any:
    """Read what stands at this key or index; a complaint about it is told with its place."""
    try:
        return _read(hint, plain)
    except PlainError as error:
        inner = error.place if error.place.startswith("[") else f".{error.place}"
        raise PlainError(place + inner, error.text) from error
    except (TypeError, ValueError) as error:
        raise PlainError(place, str(error)) from error


def _read_union(choices: tuple[Any, ...], plain: Any) -> Any:
    if plain is None and type(None) in choices:
        return None
    nouns = [choice for choice in choices if _is_noun(choice)]
    if len(nouns) > 1:
        found = plain.get("type") if isinstance(plain, dict) else None
        for noun in nouns:
            if found == noun.__name__.lower():
                return _read_noun(noun, plain)
        raise ValueError(f"found type {found!r}, expected one of {[n.__name__.lower() for n in nouns]}")
    if isinstance(plain, str) and str in choices:
        return plain
    return _read(next((choice for choice in choices if choice not in (type(None), str)), str), plain)


def _read_tuple(items: tuple[Any, ...], plain: Any) -> tuple[Any, ...]:
    if not isinstance(plain, list):
        raise TypeError(f"found {type(plain).__name__} where a list must stand")
    if len(items) == 2 and items[1] is Ellipsis:
        return tuple(_read_at(f"[{index}]", items[0], item) for index, item in enumerate(plain))
    if len(items) != len(plain):
        raise ValueError(f"found {len(plain)} values where {len(items)} must stand")
    return tuple(map(_read, items, plain))


def _is_required(field: dataclasses.Field[Any]) -> bool:
    return field.default is dataclasses.MISSING and field.default_factory is dataclasses.MISSING


def _is_noun(hint: Any) -> typing.TypeGuard[type[Any]]:
    return isinstance(hint, type) and dataclasses.is_dataclass(hint)


def _nouns(hint: Any) -> list[Any]:
    """The nouns a hint's union offers, looked for inside tuples too."""
    if dataclasses.is_dataclass(hint):
        return [hint]
    return [noun for arg in typing.get_args(hint) for noun in _nouns(arg)]


@functools.cache
def _fields(noun: type) -> tuple[tuple[str, bool], ...]:
    """Names of a noun's fields, each with whether it offers several nouns."""
    hints = _hints(noun)
    return tuple((field.name, len(_nouns(hints[field.name])) > 1) for field in dataclasses.fields(noun))


@functools.cache
def _hints(noun: type) -> dict[str, Any]:
    return typing.get_type_hints(noun)
