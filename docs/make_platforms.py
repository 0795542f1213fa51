"""Makes docs/platforms.md: for each system the wheels that pip would take, so that no compiler is needed there.

Run by hand where an index of packages can be reached: `python docs/make_platforms.py`; tests/house/test_platforms.py holds the
table to pyproject.toml and requirements.txt.  Pip is asked (`--dry-run`, wheels only); nothing is downloaded but metadata.
Limits: a wheel that is there is not a program that was tried there.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SYSTEMS = {
    "Windows, 64 bit": ("win_amd64",),
    "macOS 14, Apple silicon": tuple(f"macosx_{n}_{kind}" for n in ("14_0", "13_0", "12_0", "11_0", "10_13", "10_9")
                                     for kind in ("arm64", "universal2")),
    "macOS 14, Intel": tuple(f"macosx_{n}_{kind}" for n in ("14_0", "13_0", "12_0", "11_0", "10_15", "10_14", "10_13", "10_12",
                                                            "10_10", "10_9") for kind in ("x86_64", "universal2")),
    "Linux, x86-64": tuple(f"manylinux{n}_x86_64" for n in ("2014", "_2_17", "_2_24", "_2_26", "_2_27", "_2_28")),
    "Linux, ARM 64": tuple(f"manylinux{n}_aarch64" for n in ("2014", "_2_17", "_2_24", "_2_26", "_2_27", "_2_28")),
}
"""Name of the system -> tags of the wheels it takes."""

HEAD = """# Where it runs

Made by docs/make_platforms.py; do not edit. For each system the compiled wheels that pip takes for `afterpart[solid]` with
Python 3.11 and the pinned versions: with all of them there, nothing is compiled and no system library is asked for. Libraries of
plain Python are left out. **Tried**: only Linux, x86-64 (Debian), where every test runs. On the other systems nothing
was tried by us; code that runs on POSIX systems only is kept out by a test (`tests/house/test_portable.py`).
"""


def main() -> None:
    """Ask pip for each system, write the page."""
    found = {name: wheels_for(tags) for name, tags in SYSTEMS.items()}
    names = sorted({name for wheels in found.values() for name in wheels})
    rows = [f"| {name} | {' | '.join(found[system].get(name, '**none**') for system in SYSTEMS)} |" for name in names]
    table = "\n".join((f"| library | {' | '.join(SYSTEMS)} |", "|---" * (len(SYSTEMS) + 1) + "|", *rows))
    (ROOT / "docs" / "platforms.md").write_text(f"{HEAD}\n{table}\n", encoding="utf-8")


def wheels_for(tags: tuple[str, ...]) -> dict[str, str]:
    """Library and version -> tag of its compiled wheel on a system that takes these tags."""
    pinned = re.findall(r"(?m)^([\w.-]+==[^\s;\\]+)", (ROOT / "requirements.txt").read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as place:
        report, limits = Path(place) / "report.json", Path(place) / "limits.txt"
        limits.write_text("\n".join(pinned), encoding="utf-8")
        accepted = [word for tag in (*tags, "any") for word in ("--platform", tag)]
        subprocess.run([sys.executable, "-m", "pip", "install", "--quiet", "--dry-run", "--ignore-installed", "--target", place,
                        *accepted, "--python-version", "3.11", "--implementation", "cp", "--abi", "cp311", "--abi", "abi3",
                        "--abi", "none", "--only-binary=:all:", "--constraint", str(limits), "--report", str(report), *wanted()],
                       check=True)
        rows = json.loads(report.read_text(encoding="utf-8"))["install"]
    wheels = {f"{row['metadata']['name']} {row['metadata']['version']}": row["download_info"]["url"].rpartition("/")[2]
              for row in rows}
    return {name: wheel.removesuffix(".whl").split("-")[-1].split(".")[-1] for name, wheel in wheels.items()
            if not wheel.endswith("-any.whl")}


def wanted() -> list[str]:
    """What pyproject.toml asks for to measure, open the page and build."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return [*project["dependencies"], *project["optional-dependencies"]["solid"]]


if __name__ == "__main__":
    main()
