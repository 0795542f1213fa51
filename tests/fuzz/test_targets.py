"""A bounded number of coverage-guided runs of every target, seeded; longer by hand with tests/fuzz/run.py."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
from pathlib import Path

import cv2
import numpy as np
import pytest

from afterpart.errors import AfterpartError
from afterpart.photo.calliper import find_jaws
from afterpart.photo.edgeprofile import linear_light
from afterpart.photo.rule import find_rules
from afterpart.photo.sheet import find_sheet
from afterpart.photo.table import reduced
from afterpart.photo.target import find_target
from tests.fuzz.scenes import KINDS, harmed, whole
from tests.fuzz.targets import TARGETS, survives
from tests.hostile.job_corpus import LEAST_JOB
from tests.hostile.picture_corpus import sound, written
from tests.hostile.stored_corpus import stored_files

ROOT = Path(__file__).resolve().parents[2]
RUNS = {"job": 1000, "outline": 1500, "edges": 1500, "build": 1500, "header": 1500, "sheet": 10, "rule": 10,
        "calliper": 6, "target": 6, "reference": 4}


def beginnings() -> dict[str, bytes]:
    """A sound input of each target, to begin with."""
    stored = {name: stored_files()[file][0]
              for name, file in (("outline", "outline.json"), ("edges", "edges.json"), ("build", "pieces.json"))}
    return stored | {"job": LEAST_JOB.encode(), "header": written(sound().resize((9, 7)), "JPEG")} | dict.fromkeys(
        (*KINDS, "reference"), bytes(range(0, 250, 10)))


@pytest.fixture(scope="module")
def ended(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[int, str]]:
    """How each target's process ended and what it said, all of them begun by one process that has loaded them."""
    if importlib.util.find_spec("atheris") is None:
        pytest.skip("atheris, which guides the inputs by coverage, is not installed here")
    folder, rows = tmp_path_factory.mktemp("fuzz"), []
    for name, sound_input in beginnings().items():
        inputs = folder / name
        inputs.mkdir()
        (inputs / "sound").write_bytes(sound_input)
        rows.append((name, [f"-runs={RUNS[name]}", "-seed=1", "-max_len=4096", f"-artifact_prefix={folder}/{name}_", str(inputs)],
                     str(folder / f"{name}.txt")))
    plan = folder / "plan.json"
    plan.write_text(json.dumps(rows))
    result = subprocess.run([sys.executable, "-m", "tests.fuzz.run", "--together", str(plan)], cwd=ROOT, capture_output=True,
                            text=True, timeout=900, check=False)
    assert result.returncode == 0, result.stderr[-3000:]
    return {name: (status, Path(said).read_text(errors="replace"))
            for (name, _, said), status in zip(rows, json.loads(result.stdout), strict=True)}


@pytest.mark.parametrize("name", TARGETS)
def test_no_input_ends_in_a_bug(name: str, ended: dict[str, tuple[int, str]]) -> None:
    status, said = ended[name]
    assert status == 0, said[-3000:]
    assert f"Done {RUNS[name]} runs" in said, said[-500:]


def test_the_pictures_that_are_harmed_show_their_reference() -> None:
    """Else the finders would be given what they leave at once."""
    light = {kind: whole(kind).astype(np.float32) for kind in KINDS}
    assert find_sheet(linear_light(light["sheet"]), *reduced(cv2.merge([whole("sheet")] * 3))) is not None
    assert find_rules(light["rule"]) and find_jaws(light["calliper"]) is not None and find_target(light["target"]) is not None
    assert len({harmed("rule", bytes([0, what, 50, 20, 99, 99, 77])).tobytes() for what in range(7)}) == 7


def test_a_target_that_raises_what_it_may_not_is_told() -> None:
    def refuses(_: bytes) -> None:
        raise AfterpartError("found nothing, expected a part")

    def breaks(_: bytes) -> None:
        raise KeyError("x")
    survives(refuses, b"")
    with pytest.raises(KeyError):
        survives(breaks, b"")
