"""Every table and key of a job file as data, for forms: what it means, of which kind, within which limits, what stands for it
when left out.  Taken from the same fields that read the file, so that a form and the file accept the same things.

Kinds: number, integer, text, choice (one of `choices`), flag (true or false), list (texts, or choices), point ([x, y] on the
drawing or in the picture), pair (two lengths), numbers (several, in the order the meaning says).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import types
import typing
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from afterpart.job.layout import JobKeys
from afterpart.job.options import LIMITS
from afterpart.job.typed import FromNumbers, FromText

_UNITS = {"_deg": "°", "_n_m": "N m", "_kpa": "kPa", "_pa": "Pa", "_m3_per_h": "m³/h", "_m_per_s": "m/s", "_cm3": "cm³",
          "_rpm": "1/min", "_c": "°C", "_35mm": "mm", "_per_inch": "1/in", "_n": "N"}
_WORDED = (("pixels", "px"), ("dots per inch", "dpi"), ("per inch", "1/in"))


@dataclass(frozen=True)
class KeyInfo:
    """One key.  unit: "mm", or another, "" for none; least, most, above, below: limits of a number, None where open; default: as
    it would stand in the file, None: nothing; must: it has to be given."""

    key: str
    meaning: str
    type: str
    unit: str
    least: float | None
    most: float | None
    above: float | None
    below: float | None
    choices: tuple[str, ...] | None
    default: Any
    must: bool


@dataclass(frozen=True)
class TableKeys:
    """One table; "" is the job itself.  repeats: it stands once per row ([[table]])."""

    table: str
    repeats: bool
    title: str
    keys: tuple[KeyInfo, ...]


def job_schema() -> tuple[TableKeys, ...]:
    """All tables, the job's own keys first."""
    own: list[KeyInfo] = []
    tables: list[TableKeys] = []
    for name, field in JobKeys.model_fields.items():
        key = field.alias or name
        row, repeats = _table_of(field.annotation)
        if row is None:
            own.append(_key(key, field, False))
        else:
            limited = key in ("photo", "plate")
            keys = tuple(_key(inner.alias or at, inner, limited) for at, inner in row.model_fields.items())
            tables.append(TableKeys(key, repeats, field.description or "", keys))
    return TableKeys("", False, "the job itself", tuple(own)), *tables


def _table_of(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    """The row's keys where the field is a table, and whether it repeats."""
    is_list = typing.get_origin(annotation) is list
    inner = typing.get_args(annotation)[0] if is_list else _without_none(annotation)
    is_table = isinstance(inner, type) and issubclass(inner, BaseModel)
    return (inner if is_table else None), is_list and is_table


def _without_none(annotation: Any) -> Any:
    if typing.get_origin(annotation) in (typing.Union, types.UnionType):
        kept = [one for one in typing.get_args(annotation) if one is not type(None)]
        return kept[0] if len(kept) == 1 else typing.Union[tuple(kept)]  # noqa: UP007 - built at run time
    return annotation


def _key(key: str, field: FieldInfo, limited: bool) -> KeyInfo:
    meaning = field.description or ""
    kind, choices = _kind(key, field)
    limits = {name: getattr(limit, name) for limit in field.metadata for name in ("ge", "le", "gt", "lt") if hasattr(limit, name)}
    if limited and key in LIMITS:
        limits = {"ge": LIMITS[key][0], "le": LIMITS[key][1]}
    default = None if field.is_required() else _plain(field.get_default(call_default_factory=True))
    unit = _unit(key, meaning) if kind in ("number", "integer", "point", "pair", "numbers") else ""
    return KeyInfo(key, meaning, kind, unit, limits.get("ge"), limits.get("le"), limits.get("gt"), limits.get("lt"), choices,
                   default, field.is_required())


def _kind(key: str, field: FieldInfo) -> tuple[str, tuple[str, ...] | None]:
    if any(isinstance(one, FromText) for one in field.metadata):
        return "text", None
    for one in field.metadata:
        if isinstance(one, FromNumbers):
            return ("numbers" if one.count != 2 else "point" if key in ("at", "origin") else "pair"), None
    annotation = _without_none(field.annotation)
    if typing.get_origin(annotation) is list:
        return "list", _choices(typing.get_args(annotation)[0])
    choices = _choices(annotation)
    if choices is not None:
        return "choice", choices
    return {bool: "flag", int: "integer", float: "number", str: "text"}.get(annotation, "numbers"), None


def _choices(annotation: Any) -> tuple[str, ...] | None:
    return tuple(map(str, typing.get_args(annotation))) if typing.get_origin(annotation) is Literal else None


def _unit(key: str, meaning: str) -> str:
    for ending, unit in _UNITS.items():
        if key.endswith(ending):
            return unit
    for words, unit in _WORDED:
        if words in meaning:
            return unit
    if key == "u":
        return "mm"
    return "mm" if "mm" in meaning.replace(",", " ").replace(";", " ").split() else ""


def _plain(value: Any) -> Any:
    """A default as it would stand in the file; None where nothing would."""
    if isinstance(value, tuple | list):
        return [_plain(item) for item in value]
    return value if isinstance(value, bool | int | float | str) else None
