"""The quick writer of indented JSON against the standard library's."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.model.json_text import indented

SCALARS = st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text()
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.text(), inner, max_size=5))


@given(VALUES)
def test_it_writes_what_the_library_writes(value: object) -> None:
    assert indented(value) == json.dumps(value, ensure_ascii=False, allow_nan=False, indent=1)


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_a_number_without_end_is_refused(number: float) -> None:
    with pytest.raises(ValueError, match="no JSON form"):
        indented({"x": [number]})


def test_what_is_none_of_json_is_refused() -> None:
    with pytest.raises(TypeError, match="set has no JSON form"):
        indented([{1, 2}])
