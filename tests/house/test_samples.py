"""What make test leaves out is a short list of cases that are there, beside others of the same files that it keeps."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re

import pytest

from tests.conftest import BEYOND_SAMPLES, ROOT


@pytest.mark.parametrize("line", BEYOND_SAMPLES)
def test_what_is_left_out_is_there(line: str) -> None:
    """A case that was renamed would be run again unnoticed."""
    path, name = line.split("::")
    function, _, given = name.partition("[")
    text = (ROOT / path).read_text()
    assert re.search(rf"^def {function}\(", text, re.MULTILINE), "this test has another name now"
    assert given or len(re.findall(r"^def test_", text, re.MULTILINE)) > 1, "nothing of the file would stay"


def test_no_line_stands_twice_or_within_another() -> None:
    assert [a for a in BEYOND_SAMPLES for b in BEYOND_SAMPLES if a is not b and a.startswith(b)] == []


def test_the_page_about_the_tests_tells_of_the_list() -> None:
    assert "beyond_samples.txt" in (ROOT / "docs" / "testing.md").read_text()
