"""A sample of the study of heights (tests/truth/heights_study.py), and the study's own sums.

The whole study is one command, its figures kept in docs/accuracy.md; here one of its sets is photographed.  Limits: the height
within two stated uncertainties (wide here: a thin part on a sheet alone, its rounding hardly known); sums against closed forms.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from tests.truth.drawings import DRAWINGS
from tests.truth.heights_study import figures, heights, opening_errors, set_record, stored
from tests.truth.ideal import ideal_edges

SET = 5


def test_a_set_tells_its_height_within_what_is_stated() -> None:
    record = set_record(SET)
    assert record["sheet_alone"] and record["contradicts"] == 0
    assert abs(record["found"] - record["true"]) < 2 * record["u"] < 0.4


def test_sums_of_heights_are_those_of_their_definitions() -> None:
    records = [{"true": 8.0, "found": 8.0 + e, "u": 0.05, "errors": [0.01, -0.03]} for e in (0.02, -0.04, 0.11, 0.03)]
    found = heights([*records, {"true": 5.0, "errors": [0.2]}])
    assert (found["n"], found["told"]) == (5, 4)
    assert found["mean"] == pytest.approx(0.03)
    assert found["mean_u"] == pytest.approx(np.std([0.02, -0.04, 0.11, 0.03], ddof=1) / 2)
    assert found["z_rms"] == pytest.approx(np.sqrt(np.mean(np.square([0.4, -0.8, 2.2, 0.6]))))
    assert found["within_2u"] == 0.75
    assert found["dimension"] == pytest.approx(0.03)


def test_figures_keep_references_and_faces_apart() -> None:
    sets = [{"set": k, "true": 5.0, "found": 5.1, "u": 0.1, "sheet_alone": k % 2 == 1, "errors": []} for k in range(4)]
    faces = [{"faces": 0, "apart": 0.01, "draft_z": 1.0}, {"faces": 1, "apart": 0.03, "draft_z": -1.0},
             {"faces": 2, "error": "x"}]
    found = figures([*sets, *faces])
    assert [found["heights"][name]["n"] for name in ("all", "sheet", "sheet+rule")] == [4, 2, 2]
    assert found["faces"] == {"n": 3, "fit": 2, "median": 0.02, "largest": 0.03, "draft_z": 1.0}
    assert found["errors"] == 1


def test_true_rims_have_no_errors() -> None:
    plate = next(drawing for drawing in DRAWINGS if drawing.name == "square_flange")
    rims = ideal_edges(plate, np.random.default_rng(3))
    assert max(map(abs, opening_errors(rims, plate)), default=1.0) < 1e-3


def test_records_are_read_back(tmp_path: Path) -> None:
    path = tmp_path / "records.json"
    assert stored(path) == []
    path.write_text(json.dumps({"set": 1}) + "\n" + json.dumps({"set": 2}) + "\n")
    assert [record["set"] for record in stored(path)] == [1, 2]
