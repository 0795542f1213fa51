"""The keys as data say what the reader accepts: every table and key of the layout, with its limits and defaults."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.errors import JobError
from afterpart.job.edit import apply_edits
from afterpart.job.layout import JobKeys
from afterpart.job.read import parse_job
from afterpart.job.schema import KeyInfo, TableKeys, job_schema

PLAIN = 'name = "x"\n[[photo]]\nfile = "a.jpg"\n'
KINDS = {"number", "integer", "text", "choice", "flag", "list", "point", "pair", "numbers"}
TABLES = {table.table: table for table in job_schema()}
NUMBERS = [(table, key) for table in job_schema() for key in table.keys if key.type in ("number", "integer")
           and not table.repeats and table.table not in ("", "fit", "cover", "bolts")]


def test_every_table_and_key_is_told_once_with_its_meaning() -> None:
    assert {field.alias or name for name, field in JobKeys.model_fields.items()} == {
        *(key.key for key in TABLES[""].keys), *(name for name in TABLES if name)}
    for table in job_schema():
        assert table.title and len({key.key for key in table.keys}) == len(table.keys)
        for key in table.keys:
            assert key.meaning and key.type in KINDS, (table.table, key)
            assert (key.choices is not None) == (key.type == "choice") or key.type == "list"


def test_what_is_known_from_the_layout() -> None:
    cover = {key.key: key for key in TABLES["cover"].keys}
    assert (cover["thickness"].least, cover["thickness"].most, cover["thickness"].unit) == (0.8, 100, "mm")
    assert cover["fit"].choices == ("flush", "over", "inside") and cover["arrow"].type == "flag"
    photo = {key.key: key for key in TABLES["photo"].keys}
    assert photo["sheet"].type == "text" and photo["span"].type == "numbers" and photo["file"].must
    assert photo["calliper"].most == 2000.0 and TABLES["photo"].repeats and not TABLES["cover"].repeats
    assert {key.key: key for key in TABLES["bolts"].keys}["torque_n_m"].unit == "N m"


@pytest.mark.parametrize(("table", "key"), NUMBERS, ids=lambda one: getattr(one, "table", None) or getattr(one, "key", ""))
def test_limits_are_those_of_the_reader(table: TableKeys, key: KeyInfo) -> None:
    """Just outside each limit the reader refuses, and names the key."""
    for limit, way in ((key.least, -1), (key.most, 1), (key.above, 0), (key.below, 0)):
        if limit is None:
            continue
        value = limit + way * max(abs(limit) * 1e-6, 1e-6)
        outside = math.floor(value) if way < 0 else math.ceil(value)
        wrong = outside if key.type == "integer" else value
        with pytest.raises(JobError, match=rf"{table.table}\.{key.key}"):
            parse_job(apply_edits(PLAIN, [{"do": "set", "at": f"{table.table}.{key.key}", "value": wrong}]))
