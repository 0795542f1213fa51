"""The rooms that compute what a maker relies on are typed through and through, as mypy's strictest mode sees it.

The settings stand in pyproject.toml.  No rule is switched off for a file: where a line must be excused, it says which rule.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

from tests.house.tree import ROOT, modules

ROOMS = ("model", "geometry", "checks")
WITHOUT_TYPES = {"shapely.*", "scipy.*"}


def mypy(*arguments: str, cache: Path) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "mypy", "--cache-dir", str(cache), *arguments]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_three_rooms_pass_the_strictest_mode() -> None:
    found = mypy(cache=ROOT / ".mypy_cache")
    assert found.returncode == 0, found.stdout + found.stderr
    checked = re.search(r"no issues found in (\d+) source files", found.stdout)
    assert checked and int(checked.group(1)) >= sum(module.room in ROOMS for module in modules())


def test_the_strictest_mode_would_notice(tmp_path: Path) -> None:
    wrong = tmp_path / "wrong.py"
    wrong.write_text("def half(length: float) -> str:\n    return length / 2\n\n\ndef bare(x):\n    return x\n")
    found = mypy(str(wrong), cache=tmp_path / "cache")
    assert found.returncode == 1
    assert "[return-value]" in found.stdout and "[no-untyped-def]" in found.stdout


def test_nothing_is_excused_wholesale() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["mypy"]
    assert settings["strict"] is True and settings["packages"] == [f"afterpart.{room}" for room in ROOMS]
    assert {"exclude", "ignore_errors", "disable_error_code", "follow_imports"}.isdisjoint(settings)
    for override in settings["overrides"]:
        assert set(override) == {"module", "ignore_missing_imports"} and set(override["module"]) <= WITHOUT_TYPES
    blanket = [f"{module}:{number}" for module in modules() if module.room in ROOMS
               for number, line in enumerate(module.text.splitlines(), 1)
               if re.search(r"#\s*(mypy:|type:\s*ignore(?!\[))", line)]
    assert not blanket, blanket
