"""Suggested changes are tried on what earlier layouts left in memory: the pieces are, to the byte, those laid out from nothing.

The sample here is the pump lid, one suggestion that can be built and one that cannot; `python -m tests.pipeline.test_trying`
tries every suggestion of all four examples.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import sys
from functools import _lru_cache_wrapper
from types import ModuleType

from afterpart.errors import JobError
from afterpart.geometry import chain, offset, region
from afterpart.model.case import Case
from afterpart.model.finding import PASSES, KeyChange
from afterpart.model.store import build_json
from afterpart.parts import filter_element
from afterpart.parts.stage import make_pieces
from afterpart.pipeline.trying import changed, tried
from tests.parts.examples import case_of, report_on

EXAMPLES = ("compressor_cover", "pump_lid", "bracket", "bad_cover")
KEEPERS: tuple[ModuleType, ...] = (chain, offset, region, filter_element)
"""Modules that keep answers."""


def forget() -> int:
    """Throw every kept answer away; how many there were."""
    kept = [one for module in KEEPERS for one in vars(module).values() if isinstance(one, _lru_cache_wrapper)]
    count = sum(one.cache_info().currsize for one in kept)
    for one in kept:
        one.cache_clear()
    return count


def laid_out(case: Case, change: tuple[KeyChange, ...]) -> bytes:
    """The pieces with a change, as they are written; the refusal's text where there are none."""
    try:
        return build_json(make_pieces(case.outline, changed(case.job, change)))
    except JobError as error:
        return str(error).encode()


def changes_of(name: str) -> list[tuple[KeyChange, ...]]:
    return list(dict.fromkeys(f.change for f in report_on(name).findings if f.change and f.verdict != PASSES))


def assert_same_from_nothing(name: str, changes: list[tuple[KeyChange, ...]]) -> None:
    """Each is laid out after all the others, then with nothing kept."""
    case = case_of(name)
    make_pieces(case.outline, case.job)
    warm = [laid_out(case, change) for change in changes]
    for change, before in zip(changes, warm, strict=True):
        assert forget() > 0
        assert laid_out(case, change) == before, (name, change)


def test_what_was_laid_out_before_leaves_no_trace() -> None:
    changes = changes_of("pump_lid")
    assert len(changes) >= 2
    assert_same_from_nothing("pump_lid", changes)


def test_a_change_that_cannot_be_laid_out_is_told_and_not_offered() -> None:
    """The pump lid's wider holes would break into its groove; the other suggestions stay as they are."""
    found = report_on("pump_lid").findings
    after = tried(found, case_of("pump_lid"))
    refused = [(old, new) for old, new in zip(found, after, strict=True) if old != new]
    assert refused and all(old.change and not new.change and "Tried, that change alone" in new.advice for old, new in refused)
    assert any(new.change for new in after)


if __name__ == "__main__":
    for each in EXAMPLES:
        found_changes = changes_of(each)
        assert_same_from_nothing(each, found_changes)
        sys.stdout.write(f"{each}: {len(found_changes)} suggestions, the same from nothing\n")
