"""A sample of the Monte Carlo study: do the stated uncertainties hold, is what is called sure right; and the study's own sums.

The whole study (300 scenes, 8 megapixels) is one command, tests/truth/study.py, its figures kept in docs/accuracy.md; here six
of its scenes are photographed small.  Aims of the study: 92 to 98 % within 2 u, at most 1 in 200 sure and wrong, no opening
missed or invented.  Limits here: the dimensions of a scene share its scale, so six scenes tell a share only to some hundredths;
they are set two standard errors off the aims.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from functools import cache
from pathlib import Path

import pytest

from tests.truth.study import stored, study_scene
from tests.truth.tables import coverage, dimensions, figures, reliability, tables

SCENES = tuple(range(401, 407))
MEGAPIXELS = 3.0


@cache
def _records() -> tuple[dict, ...]:
    return tuple(study_scene(seed, MEGAPIXELS, with_readings=True) for seed in SCENES)


def test_every_scene_is_measured() -> None:
    assert [(r["scene"], r["state"], r.get("error")) for r in _records()] == [(seed, "measured", None) for seed in SCENES]


def test_no_opening_is_missed_or_invented() -> None:
    assert [(r["scene"], r["missed"], r["invented"]) for r in _records()] == [(seed, 0, 0) for seed in SCENES]


def test_stated_uncertainties_hold() -> None:
    found = figures(list(_records()))["all"]
    assert found["n"] > 100
    assert found["within_2u"] >= 0.92 - 2 * found["se"]
    assert found["ratio"] <= 1.5


def test_what_is_called_sure_is_right() -> None:
    """At most 1 in 200, and one more that six scenes may hold by chance."""
    found = figures(list(_records()))
    assert found["sure_wrong"] <= 1 + found["sure"] / 200


def test_three_readings_asked_for_gain_more_than_three_random_ones() -> None:
    found = figures(list(_records()))["readings"]
    asked, random = found["asked"], found["random"]
    assert found["scenes"] == len(SCENES) and random["taken"] == 3 * len(SCENES) and asked["taken"] >= 2.5 * len(SCENES)
    assert asked["bits_u"] > random["bits_u"] > 0
    assert asked["right_after"] > max(random["right_after"], asked["right_before"])
    assert asked["rms_after"] < asked["rms_before"]


def test_a_good_reading_is_not_called_wrong() -> None:
    found = figures(list(_records()))["readings"]
    assert (found["asked"]["refused"], found["random"]["refused"]) == (0, 0)


def _record(scene: int, rows: list[list]) -> dict:
    return {"scene": scene, "label": "made up", "kind": "sheet", "megapixels": 1.0, "state": "measured", "openings": 2,
            "missed": 0, "invented": 0, "circles": 2, "circles_measured": 2, "scale_error": 0.001, "relative_u": 0.001,
            "notes": [], "dimensions": rows}


MADE_UP = [
    _record(1, [["d1", "diameter", 6.53, 0.02, 6.50, 6.5, 6.5, 0.97, "inferred"],
                ["d2", "diameter", 6.55, 0.02, 6.50, 6.6, 6.5, 0.96, "inferred"],
                ["d3", "distance", 40.10, 0.10, 40.00, 40.0, 40.1, 0.00, "free"]]),
    _record(2, [["d1", "diameter", 5.00, 0.02, 5.01, 5.0, 5.0, 0.42, "inferred"],
                ["d2", "width", 20.0, 0.02, None, None, 20.0, 1.00, "inferred"]]),
]
"""Four dimensions with a true partner, one of them outside 2 u; two said to be sure, one of these wrong."""


def test_sums_of_a_made_up_study() -> None:
    found = figures(MADE_UP)
    assert found["all"]["n"] == 4 and found["all"]["within_2u"] == 0.75
    assert found["all"]["se"] == pytest.approx(((0.75 - 0.5 + 0.0) ** 2 * 2) ** 0.5 / 4, rel=1e-3)
    assert (found["sure"], found["sure_wrong"], found["sure_wrong_scenes"]) == (2, 1, 1)
    assert (found["judged"], found["judged_right"], found["free"], found["free_right"]) == (3, 2, 1, 0)
    assert (found["exact"], found["with_nominal"], found["without_partner"]) == (2, 4, 1)
    assert found["sure_without_partner"] == 1
    assert found["scale"] == {"n": 2, "within_2u": 1.0, "rms_z": 1.0}


def test_reliability_of_a_made_up_study() -> None:
    assert reliability(dimensions(MADE_UP)) == [{"from": 0.4, "n": 1, "stated": 0.42, "right": 1.0},
                                                {"from": 0.9, "n": 2, "stated": 0.965, "right": 0.5}]


def test_errors_twice_their_uncertainty_read_as_a_ratio_of_two() -> None:
    rows = [[f"d{k}", "diameter", 10 + (0.02 if k % 2 else -0.02), 0.01, 10.0, 10.0, 10.0, 0.5, "inferred"] for k in range(50)]
    found = coverage(dimensions([_record(1, rows)]))
    assert found["ratio"] == pytest.approx(2.0) and found["bias"] == pytest.approx(0.0, abs=1e-9)


def test_a_contradiction_that_is_none_is_counted_once_a_scene() -> None:
    plain, named = _record(1, MADE_UP[0]["dimensions"]), _record(2, MADE_UP[1]["dimensions"])
    named = {**named, "notes": ["camera", "scale_conflict", "sheet_not_flat"]}
    shrunk = {**named, "scene": 3, "notes": ["scale_conflict"], "draw": {"shrink_x": 0.005}}
    found = figures([plain, named, shrunk])["alarms"]
    assert found == {"scenes": 1, "of": 3, "by_note": {"scale_conflict": 1, "sheet_not_flat": 1}}


def test_the_tables_name_what_went_wrong() -> None:
    refused = {"scene": 3, "label": "another", "kind": "rule", "megapixels": 1.0, "state": "refused", "error": "no part"}
    text = tables([*MADE_UP, refused])
    assert "refused: scene 3 another: no part" in text
    assert "0.95 or more and wrong: 1 of 2 (in 1 scenes)" in text
    assert "sure and wrong: scene 1 d2 diameter" in text


def test_a_broken_line_of_the_file_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "study.json"
    path.write_text(json.dumps(MADE_UP[1]) + "\n" + json.dumps(MADE_UP[0]) + "\n" + '{"scene": 3, "labe')
    assert stored(path) == MADE_UP
    assert stored(tmp_path / "none.json") == []
