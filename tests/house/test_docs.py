"""The documents tell the truth about the tree."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

from tests.house.tree import NAME, PACKAGE, ROOT, imports, modules, read

WORDS = """nominal, deviation, limits of size, clearance, interference, datum, measured value, standard uncertainty, residual,
reading, relation, loop, outline, opening, channel, rim, face height, pitch circle, clearance hole, pilot hole, boss, counterbore,
groove, cord, squeeze, groove fill, clamp load, bearing stress, engagement length, driving torque, stripping torque,
breaking torque, face velocity, pressure drop, overhang, check plate, hole coupon"""


def script(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, ROOT / "docs" / f"{name}.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_file_and_folder_the_architecture_page_names_exists() -> None:
    text = (ROOT / "ARCHITECTURE.md").read_text()
    named = {word.rstrip("/") for quoted in re.findall(r"`([^`\n]+)`", text) for word in quoted.split()
             if re.fullmatch(r"[\w./-]+(?:/|\.py|\.md)", word)}
    assert len(named) > 15
    missing = [word for word in sorted(named) if not (ROOT / word).exists() and not (PACKAGE / word).exists()]
    assert not missing, missing


def test_every_room_and_noun_is_on_the_architecture_page() -> None:
    text = (ROOT / "ARCHITECTURE.md").read_text()
    missing = [module.room for module in modules() if not module.room.startswith("__") and module.room not in text]
    assert not missing, missing


def test_the_architecture_page_is_one_page() -> None:
    assert len((ROOT / "ARCHITECTURE.md").read_text().splitlines()) <= 90


@pytest.mark.parametrize("word", [" ".join(word.split()) for word in WORDS.split(",")])
def test_every_word_of_the_house_is_in_the_glossary(word: str) -> None:
    assert f"**{word}**" in (ROOT / "docs" / "glossary.md").read_text()


@pytest.mark.parametrize("name", ["sources", "job_keys", "checks"])
def test_written_pages_are_up_to_date(name: str) -> None:
    page = {"sources": "sources.md", "job_keys": "job_file.md", "checks": "checks.md"}[name]
    assert (ROOT / "docs" / page).read_text() == script(f"make_{name}").page(), f"run python docs/make_{name}.py"


def test_every_link_leads_somewhere() -> None:
    missing = []
    for page in (*ROOT.glob("*.md"), *ROOT.glob("docs/*.md"), *ROOT.glob("examples/*/*.md")):
        for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", page.read_text()):
            if not (page.parent / target).exists():
                missing.append(f"{page.relative_to(ROOT)}: {target}")
    assert not missing, missing


def test_the_readme_says_the_job_first_and_how_to_start() -> None:
    text = (ROOT / "README.md").read_text()
    first = text.split("\n\n")[1]
    for word in ("photograph", "outline", "lines, arcs and circles", "dimensions", "true scale", "check plate"):
        assert word in first.replace("\n", " "), word
    for heading in ("How to shoot", "What it will not do", "Cautions"):
        assert f"## {heading}" in text
    for danger in ("pressure", "heat", "fuel", "brakes", "electricity", "engine", "local codes", "licensed practice"):
        assert danger in text.replace("\n", " "), danger
    assert "make demo" in text and "make test" in text


def test_the_change_page_announces_moved_numbers_first() -> None:
    headings = re.findall(r"(?m)^### (.+)$", (ROOT / "CHANGELOG.md").read_text())
    assert headings[0] == "Changed results"


def test_every_option_of_the_command_line_is_documented_or_a_job_key() -> None:
    text = (PACKAGE / "cli" / "commands.py").read_text() + (ROOT / "README.md").read_text()
    for key in ("sheet", "rule", "target", "calliper", "span", "scan", "reference_height", "focal_35mm", "face_height",
                "edge_radius", "part"):
        assert key in text and f"`{key}`" in (ROOT / "docs" / "job_file.md").read_text()


def test_requirements_are_locked_with_hashes_and_name_no_place() -> None:
    text = (ROOT / "requirements.txt").read_text()
    for word in ("http:", "https:", "://", "file:", "index" + "-url", "find" + "-links", "trusted", "@ "):
        assert word not in text, word
    entries = re.split(r"(?m)^(?=\S)", text)[1:]
    assert len(entries) > 50
    for entry in entries:
        assert re.match(r"[\w.-]+==[\w.]+( ; [^\\]+)? \\\n", entry) and "--hash=sha256:" in entry, entry[:60]


def test_every_library_that_is_used_is_declared_and_locked() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    declared = {re.split(r"[<>=~ ;\[]", item)[0].lower() for item in
                (*project["dependencies"], *(x for extra in project["optional-dependencies"].values() for x in extra))}
    locked = {line.split("==")[0] for line in (ROOT / "requirements.txt").read_text().splitlines() if "==" in line}
    assert declared <= locked, declared - locked
    known_as = {"cv2": "opencv-python-headless", "PIL": "pillow", "pi_heif": "pi-heif", "OCP": "cadquery-ocp-novtk",
                "fontTools": "fonttools", "GTC": "gtc", "axe_playwright_python": "axe-playwright-python",
                "pytest_benchmark": "pytest-benchmark"}
    files = (*modules(), *(read(path) for folder in ("tests", "benchmarks", "docs") for path in (ROOT / folder).rglob("*.py")))
    ours = {NAME, "tests", "docs", "benchmarks", "score"}
    used = {found.name.split(".")[0] for module in files for found in imports(module)} - ours - set(sys.stdlib_module_names)
    missing = {name for name in used if known_as.get(name, name) not in declared}
    assert not missing, missing


def test_the_check_runs_the_documented_command() -> None:
    assert "make test" in (ROOT / ".ci" / "run").read_text()
    assert (ROOT / ".ci" / "run").stat().st_mode & 0o111
    assert "Apache License" in (ROOT / "LICENSE").read_text() and "Version 2.0" in (ROOT / "LICENSE").read_text()


def test_no_tracked_file_names_a_place_of_one_machine() -> None:
    listed = subprocess.run(["git", "-C", str(ROOT), "ls-files"], capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    places = [str(ROOT.parent) + "/", "/opt/" + "ap/", "py" + "pi.org", "pythonhosted" + ".org", "/ro" + "ot/"]
    wrong = []
    for name in listed.stdout.splitlines():
        path = ROOT / name
        if path.suffix in (".jpg", ".png", ".ttf", ".pdf", ".heic") or not path.is_file() or name == "LICENSE":
            continue
        text = Path(path).read_text(errors="replace")
        wrong += [f"{name}: {place}" for place in places if place in text]
    assert not wrong, wrong
