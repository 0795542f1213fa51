"""What is installed is the page as built and the phone's page, without sources and without anybody's libraries beside them; and
it works where nothing is installed but what it asks for: no Node, no compiler, no solid kernel."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterable
from importlib import metadata
from pathlib import Path

import httpx
import pytest
from packaging.markers import Marker

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, made from the checkout."""
    pytest.importorskip("hatchling")
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run([sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)], cwd=ROOT,
                          capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    return next(folder.glob("*.whl"))


def asked_for(requirements: Iterable[str], found: set[str]) -> set[str]:
    """The distributions asked for on this machine, and all that they ask for, extras left out."""
    for requirement in requirements:
        text, _, marker = requirement.partition(";")
        name = re.sub(r"[-_.]+", "-", re.split(r"[^\w.-]", text.strip())[0]).lower()
        if name not in found and "extra" not in marker and needed(marker):
            found.add(name)
            asked_for(metadata.requires(name) or (), found)
    return found


def needed(marker: str) -> bool:
    """Whether a requirement with this marker is asked for here."""
    return not marker.strip() or Marker(marker).evaluate()


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The surroundings of a process that sees the wheel's files and the libraries it asks for, and nothing else."""
    if sys.platform == "win32":
        pytest.skip("links to the installed libraries need rights there")
    site = tmp_path_factory.mktemp("site")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    own = metadata.Distribution.at(next(site.glob("afterpart-*.dist-info")))
    for name in asked_for(own.requires or (), set()):
        files = metadata.files(name) or ()
        for top in {file.parts[0] for file in files if file.parts[0] not in ("..", "__pycache__")}:
            if not (site / top).exists():
                (site / top).symlink_to(metadata.distribution(name).locate_file(top))
    return {"PYTHONPATH": str(site), "PATH": os.defpath, "HOME": str(site), "OMP_NUM_THREADS": "1"}


def run(installed: dict[str, str], folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """afterpart, without what is installed beside it (-S: no site-packages)."""
    return subprocess.run([sys.executable, "-S", "-m", "afterpart", *words], env=installed, cwd=folder, capture_output=True,
                          text=True, timeout=300)


def test_the_wheel_holds_the_built_page_and_none_of_its_sources(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    built = {path.name for path in (ROOT / "src" / "afterpart" / "web" / "built").iterdir()}
    assert {f"afterpart/web/built/{name}" for name in built} <= names and {"index.html", "app.js", "sheet.css"} <= built
    assert {f"afterpart/web/phone/phone.{kind}" for kind in ("html", "js", "css")} <= names
    assert not [name for name in names if "/page/" in name or "node_modules" in name]


def test_it_measures_and_says_what_building_needs(installed: dict[str, str], small_photo: bytes, tmp_path: Path) -> None:
    seen = subprocess.run([sys.executable, "-S", "-c", "import importlib.util as u, afterpart; print(afterpart.__file__, "
                           "*(u.find_spec(name) for name in ('OCP', 'pytest', 'distributed', 'hatchling')))"], env=installed,
                          capture_output=True, text=True, timeout=60)
    assert seen.stdout.split()[1:] == ["None"] * 4 and seen.stdout.startswith(installed["PYTHONPATH"]), seen.stderr
    job = tmp_path / "cover"
    shutil.copytree(ROOT / "examples" / "compressor_cover", job)
    (job / "inlet_cover.jpg").write_bytes(small_photo)
    measured = run(installed, tmp_path, "measure", str(job))
    assert measured.returncode == 0, measured.stderr
    assert {"outline.json", "drawing.pdf", "overlay.png"} <= {path.name for path in job.iterdir()}
    built = run(installed, tmp_path, "build", str(job))
    assert built.returncode != 0 and "afterpart[solid]" in built.stderr and "Traceback" not in built.stderr
    assert not (job / "pieces").exists()


def test_the_page_opens_from_it(installed: dict[str, str], tmp_path: Path) -> None:
    process = subprocess.Popen([sys.executable, "-S", "-m", "afterpart", "open", "--no-browser"], env=installed, cwd=tmp_path,
                               stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        address = next(line for line in process.stdout if "#key=" in line).split()[-1]
        url, _, key = address.partition("#key=")
        limit = time.monotonic() + 60.0
        while True:
            try:
                page = httpx.get(url, timeout=30.0)
                break
            except httpx.ConnectError:
                assert time.monotonic() < limit
        assert page.status_code == 200 and "app.js" in page.text
        assert page.content == (ROOT / "src" / "afterpart" / "web" / "built" / "index.html").read_bytes()
        assert httpx.get(f"{url}api/sheet", headers={"X-Afterpart-Key": key}, timeout=30.0).json()["has_job"] is False
    finally:
        process.kill()
        process.communicate()
