"""What a finding suggests, way by way, as changes of the job file; a comparison given as plain values under other weights."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from dataclasses import asdict, replace

import pytest

from afterpart.checks.variants import compare
from afterpart.errors import UsageError
from afterpart.model.finding import FAILS, Finding, KeyChange, Limit, Suggestion
from afterpart.pipeline import change_edits, changes_by_suggestion, edited, reweighed
from tests.checks.variant_cases import variant

JOB = 'name = "lid"\nmake = ["cover"]\n\n[[photo]]\nfile = "a.jpg"\n\n[cover]\nthickness = 6.0\n'
OWN = (KeyChange("bolts.torque_n_m", "0.8"),)
WAYS = (Suggestion("bolts.torque_n_m", 5.0, 0.8), Suggestion("cover.thickness", 6.0, 8.0, "stiffer"),
        Suggestion("role.clearance", 0.3, 0.5), Suggestion("printer.no_such_key", None, 1.0))
FOUND = Finding("cover_bow", "it", FAILS, 1.0, "mm", Limit(high=0.5), -1.0, "invented", "", suggestions=WAYS, change=OWN)


def test_every_way_that_a_key_can_go_is_a_change() -> None:
    """The first is the finding's own, as it was tried; a key of rows does not say which row, an unknown key is none."""
    assert changes_by_suggestion(FOUND) == (OWN, (KeyChange("cover.thickness", "8.0"),), (), ())
    assert changes_by_suggestion(replace(FOUND, suggestions=())) == (OWN,)
    assert changes_by_suggestion(replace(FOUND, suggestions=(), change=())) == ()


def test_every_change_told_is_one_that_the_job_file_takes() -> None:
    for change in changes_by_suggestion(FOUND)[1:]:
        text, job = edited(JOB, change_edits(change, {}))
        assert (job.wishes.cover is not None and job.wishes.cover.thickness == 8.0) == bool(change), text


def test_other_weights_give_what_comparing_with_them_gives() -> None:
    """Through JSON and back, as the page sends it."""
    variants = variant("a"), variant("b", bolts=4), variant("c", volume=15_000.0)
    plain = json.loads(json.dumps(asdict(compare(variants))))
    for weights in ({"mass": 1.0}, {"fasteners": 3.0, "mass": 0.5}, {"print_time": 2.0, "tools": 1.0, "mass": 0.1}):
        assert reweighed(plain, weights) == compare(variants, weights)
    assert reweighed(plain, {"mass": 1.0}).winners == ("c",) and reweighed(plain, {"fasteners": 1.0}).winners == ("b",)


@pytest.mark.parametrize("weights", [{}, {"mass": 0.0}, {"mass": -1.0}, {"mass": float("nan")}, {"beauty": 1.0}])
def test_weights_that_cannot_be_used_are_refused(weights: dict[str, float]) -> None:
    plain = json.loads(json.dumps(asdict(compare((variant("a"), variant("b", bolts=4))))))
    with pytest.raises(UsageError, match="weight"):
        reweighed(plain, weights)


@pytest.mark.parametrize("damage", [{}, {"rows": 3}, {"names": ["a"]}, {"rows": [{"figure": "mass"}]}])
def test_what_is_no_comparison_is_refused(damage: dict[str, object]) -> None:
    plain = json.loads(json.dumps(asdict(compare((variant("a"), variant("b", bolts=4))))))
    with pytest.raises(UsageError, match="Compare again|weight"):
        reweighed({**plain, **damage} if damage else {}, {"mass": 1.0})
