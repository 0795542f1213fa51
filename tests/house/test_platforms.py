"""The page of systems names every compiled library that is asked for, at the version pinned, with a wheel on each system."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import tomllib
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROWS = {cells[0]: cells[1:] for cells in
        ([cell.strip() for cell in line.strip("|").split("|")] for line in
         (ROOT / "docs" / "platforms.md").read_text(encoding="utf-8").splitlines() if line.startswith("| "))}


def is_compiled(name: str) -> bool:
    """Whether the library, as installed here, has files for this machine alone."""
    return "Root-Is-Purelib: false" in (metadata.distribution(name).read_text("WHEEL") or "")


def test_every_compiled_library_has_a_wheel_on_each_system() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [re.split(r"[^\w.-]", text)[0] for text in (*project["dependencies"], *project["optional-dependencies"]["solid"])]
    pinned = dict(re.findall(r"(?m)^([\w.-]+)==([^\s;\\]+)", (ROOT / "requirements.txt").read_text(encoding="utf-8")))
    compiled = [name for name in asked if is_compiled(name)]
    assert {"numpy", "opencv-python-headless", "cadquery-ocp-novtk"} <= set(compiled)
    named = {re.sub(r"[-_.]+", "-", row.split()[0]).lower(): row.split()[1] for row in ROWS if row != "library"}
    for name in compiled:
        key = re.sub(r"[-_.]+", "-", name).lower()
        assert named.get(key) == pinned[key], f"{name}: run docs/make_platforms.py"
    assert all(re.fullmatch(r"[a-z]+[\w]*", cell) for row, cells in ROWS.items() if row != "library" for cell in cells), ROWS
    assert len({len(cells) for cells in ROWS.values()}) == 1 and len(ROWS["library"]) == 5
