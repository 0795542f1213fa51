"""Every check that is written is run, documented and tested."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import ast
import inspect

import pytest

from afterpart.checks.catalogue import CHECKS, Check
from tests.house.tree import PACKAGE, ROOT

NAMES = [check.__name__ for check in CHECKS]


def written_checks() -> set[str]:
    """Public functions of checks/ from a case alone to findings."""
    found = set()
    for path in (PACKAGE / "checks").glob("*.py"):
        for node in ast.parse(path.read_text()).body:
            if isinstance(node, ast.FunctionDef) and not node.name.startswith("_") and node.returns is not None:
                takes = [ast.unparse(a.annotation) for a in node.args.args if a.annotation is not None]
                if takes == ["Case"] and ast.unparse(node.returns) == "tuple[Finding, ...]":
                    found.add(node.name)
    return found


def test_every_check_that_is_written_is_in_the_catalogue_once() -> None:
    assert sorted(NAMES) == sorted(written_checks()) and len(set(NAMES)) == len(NAMES)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_every_check_says_what_it_judges_and_its_formula(check: Check) -> None:
    lines = inspect.cleandoc(check.__doc__ or "").splitlines()
    assert lines and lines[0].endswith((".", "!", "?")), "a sentence first"
    assert any(line.startswith("    ") for line in lines), "its formula stands indented"


@pytest.mark.parametrize("name", NAMES)
def test_every_check_is_tested_by_name(name: str) -> None:
    texts = [path.read_text() for path in (ROOT / "tests" / "checks").glob("test_*.py")]
    assert any(f"import {name}" in text or f" {name}," in text or f"{name}(" in text for text in texts)
