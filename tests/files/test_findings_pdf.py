"""The report of the checks read by another PDF reader: the worst first, every finding told, bars true to their limit."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.checks.judge import judged, not_judged
from afterpart.checks.stage import report_of
from afterpart.model.finding import Caution, CheckReport, FailureMode, Finding, Input, Limit, Sensitivity, Suggestion
from afterpart.model.release import TitleBlock
from afterpart.release.findings_pdf import findings_pdf
from afterpart.release.marks import Area, Drawing, Words
from tests.files.pdf_reading import ink, read_pages

TITLE = TitleBlock("gauge lid", "B", "2026-01-02", "afterpart test")
PX_PER_MM = 8.0


def finding(check: str, value: float, limit: Limit, severity: int = 5, u: float | None = None) -> Finding:
    return judged(check, "lid", value, "N/mm2", limit, source="Invented table, page 3", formula="s = F / A", u=u,
                  advice="Lower the torque to 0.8 N m.", severity=severity,
                  inputs=(Input("torque", 2.5, "N m", "bolts.torque_n_m", 0.1),), sensitivity=(Sensitivity("torque", 0.3),),
                  suggestions=(Suggestion("bolts.torque_n_m", 2.5, 0.8, "the load falls with it"),))


@pytest.fixture(scope="module")
def report() -> CheckReport:
    found = (finding("seal_squeeze", 0.2, Limit(0.1, 0.3)), finding("bearing_stress", 38.0, Limit(high=15.0), 8, 2.0),
             finding("wall", 1.25, Limit(low=1.2), 4, 0.1), not_judged("face_velocity", "element", "The air is not known.",
                                                                     missing=("machine.flow_m3_per_h",)))
    modes = (FailureMode("cord", "shrinks", "leaks", "oil", "squeeze", 5, 3, 3),
             FailureMode("screw", "backs out", "falls in", "vibration", "the floor", 9, 1, 1))
    return report_of(found, modes, (Caution("heat", "It softens."), Caution("brakes", "Not for brakes.", True)))


@pytest.fixture(scope="module")
def data(report: CheckReport) -> bytes:
    return findings_pdf(report, TITLE)


def one_line(text: str) -> str:
    return " ".join(text.split())


def test_the_answer_and_the_worst_finding_stand_first_on_page_one(data: bytes, report: CheckReport) -> None:
    text = one_line(read_pages(data)[0].text)
    places = [text.index(word) for word in (report.headline, "Worst: Bearing stress: lid", "38 N/mm2, limit at most 15 N/mm2",
                                            "Cautions", "Brakes, declined", "Heat: It softens", "What to do",
                                            "What to find out", "Fails (1)")]
    assert places == sorted(places)


def test_every_finding_is_told_with_formula_inputs_source_and_change(data: bytes, report: CheckReport) -> None:
    text = one_line(" ".join(page.text for page in read_pages(data)))
    for one in report.findings:
        assert one.check.replace("_", " ").capitalize() + f": {one.subject}" in text
    for words in ("Formula: s = F / A", "torque 2.5 ± 0.1 N m (bolts.torque_n_m)", "Source: Invented table, page 3",
                  "Change: bolts.torque_n_m to 0.8, now 2.5 (the load falls with it)", "torque 0.3 N/mm2",
                  "Missing in the job file: machine.flow_m3_per_h", "local codes", "licensed practice", "153% beyond it"):
        assert words in text, words


def test_a_grave_failure_mode_leads_and_is_not_read_as_low(data: bytes) -> None:
    text = one_line(read_pages(data)[-1].text)
    assert text.index("9 / 1 / 1, medium") < text.index("5 / 3 / 3, medium") and ", low" not in text


def test_value_and_limit_stand_on_the_bar_to_one_scale(data: bytes, report: CheckReport) -> None:
    """Bearing stress 38 against at most 15: the limit's strong line and the value's mark stand from the bar's left end as 15 to
    38, which the ink shows: the longest box is the bar, the line is solid above it, the mark is the widest black run inside."""
    page = read_pages(data)[0]
    bars = [box for box in page.paths if box[2] - box[0] > 160 and 3.0 < box[3] - box[1] < 4.5]
    left, bottom, _, top = max(bars, key=lambda box: box[1])
    grey = ink(data, 0, PX_PER_MM)
    height = grey.shape[0]

    def row(y: float) -> np.ndarray:
        return np.flatnonzero(grey[height - 1 - round(y * PX_PER_MM)] < 90) / PX_PER_MM

    limit = np.mean(row(top + 0.6)) - left
    dark = grey[height - 1 - round((0.5 * (bottom + top) + 0.7) * PX_PER_MM)] < 40
    runs = np.split(np.flatnonzero(dark), np.flatnonzero(np.diff(np.flatnonzero(dark)) > 1) + 1)
    value = np.mean(max(runs, key=len)) / PX_PER_MM - left
    assert value / limit == pytest.approx(38.0 / 15.0, rel=0.01)


def test_the_same_report_gives_the_same_bytes_on_a4(data: bytes, report: CheckReport) -> None:
    assert findings_pdf(report, TITLE) == data
    assert all(page.size == pytest.approx((210.0, 297.0), abs=0.1) for page in read_pages(data))


def test_a_long_report_runs_over_pages_and_loses_nothing() -> None:
    found = tuple(judged(f"check_{n}", "cover", 1.0, "mm", Limit(high=0.5), source="s", formula="f", advice="word " * 60)
                  for n in range(30))
    pages = read_pages(findings_pdf(report_of(found, (), ()), TITLE))
    text = one_line(" ".join(page.text for page in pages))
    assert len(pages) > 4 and all(f"Check {n}: cover" in text for n in range(30))
    assert text.count("word") >= 30 * 60


def test_a_picture_stands_under_the_first_finding_that_names_it_and_its_words_can_be_searched() -> None:
    found = tuple(judged("loose_items", thing, 3.4, "mm", Limit(high=5.6), source="s", formula="f", advice="a", picture=picture)
                  for thing, picture in (("screw", "passage_1_screw.png"), ("screw again", "passage_1_screw.png"), ("nut", "")))
    square = ((10.0, 10.0), (40.0, 10.0), (40.0, 40.0), (10.0, 40.0))
    picture = Drawing(100.0, 50.0, (Area((square,), (200, 100, 0)), Words("way out 9.0 mm", (10.0, 4.0), 2.1)))
    data = findings_pdf(report_of(found, (), ()), TITLE, {"passage_1_screw.png": picture})
    text = one_line(" ".join(page.text for page in read_pages(data)))
    assert text.count("way out 9.0 mm") == 1
    assert text.index("Loose items: screw") < text.index("way out 9.0 mm") < text.index("Loose items: screw again")
    squares = [(x1 - x0, y1 - y0) for page in read_pages(data) for x0, y0, x1, y1 in page.paths
               if x1 - x0 == pytest.approx(y1 - y0, rel=0.01) and x1 - x0 > 20]
    assert len(squares) == 1, "drawn once, to one scale both ways"


def test_the_frame_of_the_headline_holds_the_beginning_of_a_long_advice_and_the_finding_all_of_it() -> None:
    told = [f"Then comes sentence number {n} with more to say." for n in range(20)]
    advice = " ".join(["First it is told.", *told, "Last words."])
    found = (judged("check", "cover", 1.0, "mm", Limit(high=0.5), source="s", formula="f", advice=advice),)
    text = one_line(" ".join(page.text for page in read_pages(findings_pdf(report_of(found, (), ()), TITLE))))
    frame, rest = text[:text.index("Fails (1)")], text[text.index("Fails (1)"):]
    assert "First it is told. Then comes sentence number 0" in frame and "number 19" not in frame.split("What to do")[0]
    assert "number 19" in rest and "Last words." in rest
