"""What is installed is the page as built and the phone's page, without sources and without anybody's libraries beside them."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def test_the_wheel_holds_the_built_page_and_none_of_its_sources(tmp_path: Path) -> None:
    pytest.importorskip("hatchling")
    done = subprocess.run([sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)], cwd=ROOT,
                          capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        names = set(wheel.namelist())
    built = {path.name for path in (ROOT / "src" / "afterpart" / "web" / "built").iterdir()}
    assert {f"afterpart/web/built/{name}" for name in built} <= names and {"index.html", "app.js", "sheet.css"} <= built
    assert {f"afterpart/web/phone/phone.{kind}" for kind in ("html", "js", "css")} <= names
    assert not [name for name in names if "/page/" in name or "node_modules" in name]
