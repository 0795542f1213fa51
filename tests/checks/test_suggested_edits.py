"""The edits a finding's button sends are those its change means; the keys a question asks for are keys of the job file."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tomllib
from pathlib import Path

from afterpart.checks.questions import EITHER, WORDING, questions
from afterpart.job.edit import apply_edits
from afterpart.job.read import read_job
from afterpart.model.finding import NOT_JUDGED, Finding, KeyChange, Limit
from afterpart.pipeline.suggesting import change_edits, change_words, question_keys
from afterpart.pipeline.trying import changed

CHANGE = (KeyChange("role.clearance", "0.45", ("of", "c1"), (("role", '"locates"'),)),
          KeyChange("role.clearance", "0.45", ("of", "c2"), (("role", '"clears"'),)),
          KeyChange("cover.thickness", "15.2"), KeyChange("bolts.sleeve", "true"), KeyChange("printer.bed", "[300, 200]"))


def test_the_edits_make_the_job_the_change_means(root: Path, tmp_path: Path) -> None:
    text = (root / "examples" / "compressor_cover" / "job.toml").read_text()
    edited = apply_edits(text, change_edits(CHANGE, tomllib.loads(text)))
    (tmp_path / "job.toml").write_text(edited)
    assert read_job(tmp_path) == changed(read_job(root / "examples" / "compressor_cover"), CHANGE)
    # c1 has a row already, c2 gets one; comments stay
    assert edited.count("[[role]]") == text.count("[[role]]") + 1
    assert all(line in edited for line in text.splitlines() if line.startswith("#"))


def test_the_button_says_every_key_with_its_rows() -> None:
    assert change_words(CHANGE) == ("Set role.clearance of c1, c2 to 0.45; cover.thickness to 15.2; bolts.sleeve to yes; "
                                    "printer.bed to 300, 200")
    assert change_words(()) == ""


def test_every_question_names_its_keys() -> None:
    for key in WORDING:
        finding = Finding("x", "y", NOT_JUDGED, None, "", Limit(), None, "", "", missing=(key,))
        asked = question_keys(questions((finding,))[0])
        assert asked[0] == key and set(asked[1:]) <= set(EITHER)
    unknown = Finding("x", "y", NOT_JUDGED, None, "", Limit(), None, "", "", missing=("seal.duty",))
    assert question_keys(questions((unknown,))[0]) == ("seal.duty",)
