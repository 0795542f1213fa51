"""findings.json and report.json: the published keys, and back without loss."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.errors import FolderError
from afterpart.model.case import GrooveSection, Hanging, Measured, Passage, PieceFacts
from afterpart.model.finding import (
    VERDICTS,
    Caution,
    CheckReport,
    FailureMode,
    Finding,
    Input,
    Limit,
    Sensitivity,
    Suggestion,
)
from afterpart.model.store import (
    findings_json,
    measured_json,
    parse_findings,
    parse_measured,
    parse_report,
    report_json,
)

KEYS = {"check", "subject", "verdict", "value", "unit", "limit", "margin", "source", "advice", "inputs"}
"""Of the contract."""

numbers = st.floats(-1e6, 1e6)
texts = st.text(max_size=8)
limits = st.one_of(st.just(Limit()), numbers.map(lambda v: Limit(low=v)), numbers.map(lambda v: Limit(high=v)),
                   st.tuples(numbers, numbers).map(lambda v: Limit(*sorted(v))))
inputs = st.lists(st.builds(Input, st.sampled_from(["a", "b", "c"]), numbers, texts, texts, numbers), max_size=3,
                  unique_by=lambda given: given.name).map(tuple)
made = st.builds(
    Finding, texts, texts, st.sampled_from(VERDICTS), st.none() | numbers, texts, limits, st.none() | numbers, texts, texts,
    inputs, st.none() | numbers, texts, st.booleans(), st.lists(texts, max_size=2).map(tuple),
    st.lists(st.builds(Sensitivity, texts, numbers), max_size=2).map(tuple),
    st.lists(st.builds(Suggestion, texts, st.none() | numbers | texts, numbers | texts, texts), max_size=2).map(tuple),
    st.integers(1, 10), texts)
reports = st.builds(
    CheckReport, texts, st.just(("do this",)), st.just(("is it so?",)), st.lists(made, max_size=4).map(tuple),
    st.just((FailureMode("screw", "backs out", "falls in", "vibration", "the floor", 9, 3, 4),)),
    st.lists(st.builds(Caution, texts, texts, st.booleans()), max_size=2).map(tuple))


@given(reports)
def test_a_report_reads_back_as_it_was(report: CheckReport) -> None:
    assert parse_report(report_json(report), findings_json(report)) == report


def report_of(*findings: Finding) -> CheckReport:
    return CheckReport("Print it.", (), (), findings)


def test_the_file_has_the_published_form() -> None:
    bearing = Finding("bearing_stress", "bolt hole c2", "passes", 9.5, "N/mm2", Limit(high=15.0), 0.37, "a handbook", "Fine.",
                      (Input("torque", 2.5, "N m", "bolts.torque_n_m", 0.1),))
    squeeze = Finding("cord_squeeze", "groove", "fails", 0.4, "-", Limit(0.1, 0.3), -1.0, "a standard", "Deeper.")
    wall = Finding("thinnest_wall", "cover", "attention", 1.3, "mm", Limit(low=1.2), 0.08, "a rule", "Thicker.")
    rows = json.loads(findings_json(report_of(bearing, squeeze, wall)))
    assert isinstance(rows, list) and all(set(row) >= KEYS for row in rows)
    assert (rows[0]["limit"], rows[0]["side"]) == (15.0, "max")
    assert rows[0]["inputs"] == {"torque": {"value": 2.5, "unit": "N m", "source": "bolts.torque_n_m", "u": 0.1}}
    assert rows[1]["limit"] == [0.1, 0.3] and "side" not in rows[1]
    assert (rows[2]["limit"], rows[2]["side"]) == (1.2, "min")


def test_two_inputs_of_one_name_are_both_kept() -> None:
    twice = Finding("fit", "holes", "passes", 1.0, "mm", Limit(low=0.5), 1.0, "", "", (Input("gap", 1.0, "mm", "c1"),
                                                                                       Input("gap", 2.0, "mm", "c2")))
    back, = parse_findings(findings_json(report_of(twice)))
    assert [(given.name, given.value) for given in back.inputs] == [("gap", 1.0), ("gap (2)", 2.0)]


@pytest.mark.parametrize("data", [b"{}", b"[1]", b"[{}]", b"nonsense",
                                  b'[{"check": "a", "verdict": "fine", "limit": null, "inputs": {}}]'])
def test_another_file_is_refused_with_its_name(data: bytes) -> None:
    with pytest.raises(FolderError, match="findings.json"):
        parse_findings(data)


def test_what_was_measured_reads_back() -> None:
    facts = PieceFacts("cover", 1234.5, (0.0, 0.0, 0.0), (10.0, 20.0, 9.0), 150.0,
                       (Hanging("bridge", 12.0, (1.0, 2.0, 3.0), 8.0),), 1.6, (GrooveSection((1.0, 2.0), 2.0, 3.6, 0.3),))
    measured = Measured("ab" * 32, "0.1", (facts,), (("cover", "frame", 0.2),), ("frame",),
                        (Passage("screw", "window", True, 40.0, 5.6),))
    assert parse_measured(measured_json(measured)) == measured
