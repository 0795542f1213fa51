"""Without the extra `solid`: everything but building works, and building says what to install.

Absence is simulated by two modules, found before the installed ones, that fail as a missing library does.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from tests.house.tree import ROOT

MISSING = 'raise ModuleNotFoundError("No module named \'{name}\'", name="{name}")\n'
LIBRARIES = ("OCP", "manifold3d")
LIMIT_S = 300


@pytest.fixture(scope="module")
def without(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """An environment in which neither library can be imported."""
    folder = tmp_path_factory.mktemp("absent")
    for name in LIBRARIES:
        (folder / name).mkdir()
        (folder / name / "__init__.py").write_text(MISSING.format(name=name))
    path = os.pathsep.join(part for part in (str(folder), os.environ.get("PYTHONPATH", "")) if part)
    return {**os.environ, "PYTHONPATH": path}


def run(environment: dict[str, str], *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *arguments], env=environment, capture_output=True, encoding="utf-8", timeout=LIMIT_S,
                          check=False)


def run_code(environment: dict[str, str], code: str) -> subprocess.CompletedProcess[str]:
    return run(environment, "-c", code)


@pytest.mark.parametrize("name", LIBRARIES)
def test_the_simulation_hides_the_library(without: dict[str, str], name: str) -> None:
    assert f"No module named '{name}'" in run_code(without, f"import {name}").stderr


def test_every_command_and_the_page_can_be_imported(without: dict[str, str]) -> None:
    code = "import afterpart.cli, afterpart.pipeline, afterpart.web.app, afterpart.web.child, afterpart.web.serve"
    found = run_code(without, code)
    assert found.returncode == 0, found.stderr


def test_a_photograph_is_measured_and_a_plate_refused_in_words(without: dict[str, str], tmp_path: Path) -> None:
    out = tmp_path / "bracket"
    measured = run(without, "-m", "afterpart", "measure", str(ROOT / "examples" / "bracket"), "--out", str(out))
    assert measured.returncode == 0, measured.stdout + measured.stderr
    assert {"outline.json", "outline.dxf", "drawing.pdf", "overlay.png"} <= {path.name for path in out.iterdir()}
    refused = run(without, "-m", "afterpart", "plate", str(out))
    told = " ".join((refused.stdout + refused.stderr).split())
    assert refused.returncode == 3, told
    assert "the solid kernel cannot be loaded (No module named 'OCP')" in told and 'pip install "afterpart[solid]"' in told
    assert "Traceback" not in told and not (out / "plate").exists()


def test_an_absent_mesh_library_is_told_the_same_way(without: dict[str, str]) -> None:
    found = run_code(without, "from afterpart.errors import SolidError\n"
                              "from afterpart.solid.hardware import foam_block\n"
                              "try:\n    foam_block(((0, 0), (1, 0), (1, 1)), 0, 1)\n"
                              "except SolidError as error:\n    print(error)\n")
    assert "the mesh library manifold3d cannot be loaded" in found.stdout and "afterpart[solid]" in found.stdout, found.stderr


def test_the_extra_brings_them_and_nothing_else_does() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert project["optional-dependencies"]["solid"] == ["cadquery-ocp-novtk", "manifold3d"]
    assert not {"cadquery-ocp-novtk", "manifold3d"} & set(project["dependencies"])
    locked = {line.split("==")[0] for line in (ROOT / "requirements.txt").read_text().splitlines() if "==" in line}
    assert {"cadquery-ocp-novtk", "manifold3d"} <= locked
    assert "--extra solid" in (ROOT / "Makefile").read_text()
