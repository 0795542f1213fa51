"""Fixed values and corrections of the drawing: read into their nouns, kept in job.json, refused in place."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import typing

import pytest

from afterpart.errors import JobError
from afterpart.job.drawing_keys import EditKeys
from afterpart.job.read import parse_job
from afterpart.model.job import CORRECTIONS, Correction, Fixed
from afterpart.model.store import job_json, parse_job_json

HEAD = 'name = "lid"\n[[photo]]\nfile = "a.jpg"\n'
ROWS = HEAD + """
[[fixed]]
id = "d22"
value = 148

[[edit]]
what = "split"
of = ["s6"]
at = [74.0, 3]

[[edit]]
what = "hole"
at_px = [1520, 830.5]
id = "vent"

[[edit]]
what = "equal"
of = ["c1", "c2", "c3"]
"""


def test_rows_become_nouns_in_their_order_and_come_back_from_json() -> None:
    job = parse_job(ROWS)
    assert job.fixed == (Fixed("d22", 148.0),)
    assert job.corrections == (Correction("split", ("s6",), at=(74.0, 3.0)),
                               Correction("hole", at_px=(1520.0, 830.5), id="vent"), Correction("equal", ("c1", "c2", "c3")))
    assert parse_job_json(job_json(job)) == job


def test_every_correction_the_keys_take_is_explained() -> None:
    assert set(typing.get_args(EditKeys.model_fields["what"].annotation)) == set(CORRECTIONS)


@pytest.mark.parametrize(("rows", "line", "words"), [
    ('[[fixed]]\nid = "d1"\nvalue = 0', 6, "above 0"),
    ('[[fixed]]\nid = "d1"\nvalue = 3\n[[fixed]]\nid = "d1"\nvalue = 4', 8, "second time"),
    ('[[edit]]\nwhat = "bend"\nof = ["s1"]', 5, "found 'bend'"),
    ('[[edit]]\nwhat = "join"\nof = ["s1"]', 6, "found 1 ids, expected 2"),
    ('[[edit]]\nwhat = "equal"\nof = ["c1"]', 6, "expected 2 or more"),
    ('[[edit]]\nwhat = "join"\nof = ["s1", "s1"]', 6, "twice"),
    ('[[edit]]\nwhat = "split"\nof = ["s1"]', 4, "Add the key at"),
    ('[[edit]]\nwhat = "hole"', 4, "Add the key at_px"),
    ('[[edit]]\nwhat = "line"\nof = ["s1"]\nat = [1, 2]', 7, "expected none there"),
    ('[[edit]]\nwhat = "line"\nof = ["s1"]\nid = "x"', 7, "Leave it out"),
    ('[[edit]]\nwhat = "hole"\nat_px = [1, 2]\nid = "1 x"', 7, "edit.1.id"),
    ('[[edit]]\nwhat = "hole"\nat_px = [1, 2]\nphoto = 2', 7, "found photo 2, expected 1 to 1"),
])
def test_what_cannot_be_is_told_with_line_and_key(rows: str, line: int, words: str) -> None:
    with pytest.raises(JobError) as raised:
        parse_job(HEAD + rows)
    told = [text for text in str(raised.value).splitlines() if words in text]
    assert told and told[0].startswith(f"job.toml:{line}: "), str(raised.value)
