"""A bounded number of coverage-guided runs of every target, seeded; longer by hand with tests/fuzz/run.py."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

from afterpart.errors import AfterpartError
from tests.fuzz.targets import TARGETS, survives
from tests.hostile.job_corpus import LEAST_JOB
from tests.hostile.picture_corpus import sound, written
from tests.hostile.stored_corpus import stored_files

ROOT = Path(__file__).resolve().parents[2]
RUNS = {"job": 2000, "outline": 3000, "edges": 3000, "build": 3000, "header": 3000, "reference": 500}


def beginnings() -> dict[str, bytes]:
    """A sound input of each target, to begin with."""
    stored = {name: stored_files()[file][0]
              for name, file in (("outline", "outline.json"), ("edges", "edges.json"), ("build", "pieces.json"))}
    return stored | {"job": LEAST_JOB.encode(), "header": written(sound().resize((9, 7)), "JPEG"), "reference": bytes(range(9))}


@pytest.mark.parametrize("name", TARGETS)
def test_no_input_ends_in_a_bug(name: str, tmp_path: Path) -> None:
    if importlib.util.find_spec("atheris") is None:
        pytest.skip("atheris, which guides the inputs by coverage, is not installed here")
    inputs = tmp_path / "inputs"
    inputs.mkdir()
    (inputs / "sound").write_bytes(beginnings()[name])
    result = subprocess.run([sys.executable, "-m", "tests.fuzz.run", name, f"-runs={RUNS[name]}", "-seed=1", "-max_len=4096",
                             f"-artifact_prefix={tmp_path}/", str(inputs)], cwd=ROOT, capture_output=True, text=True,
                            timeout=300, check=False)
    assert result.returncode == 0, result.stderr[-3000:]
    assert f"Done {RUNS[name]} runs" in result.stderr, result.stderr[-500:]


def test_a_target_that_raises_what_it_may_not_is_told() -> None:
    def refuses(_: bytes) -> None:
        raise AfterpartError("found nothing, expected a part")

    def breaks(_: bytes) -> None:
        raise KeyError("x")
    survives(refuses, b"")
    with pytest.raises(KeyError):
        survives(breaks, b"")
