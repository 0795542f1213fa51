"""Stored files that are damaged or changed by hand: read or refused with one message that names the file, never a bug; what is
read holds no number without end."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from afterpart.errors import FolderError
from tests.hostile.stored_corpus import damaged, stored_files
from tests.hostile.verdict import LONGEST_MESSAGE, listed, wrongs_of_refusal
from tests.hostile.warm_child import WarmChild


def endless(value: Any) -> bool:
    """Does it hold an infinite number?"""
    if dataclasses.is_dataclass(value):
        return any(endless(getattr(value, field.name)) for field in dataclasses.fields(value))
    if isinstance(value, tuple):
        return any(map(endless, value))
    return isinstance(value, float | np.ndarray) and bool(np.isinf(value).any())


@pytest.mark.parametrize("name", stored_files())
def test_damaged_stored_files_are_read_or_refused(name: str) -> None:
    data, read = stored_files()[name]
    assert not endless(read(data)), "as written it is read"
    wrong, refused = [], 0
    for what, bad in damaged(data):
        try:
            if endless(read(bad)):
                wrong.append(f"{what}: an endless number was taken")
        except FolderError as error:
            refused += 1
            if len(str(error)) > LONGEST_MESSAGE or "expected" not in str(error).lower():
                wrong.append(f"{what}: {str(error)[:200]}")
    assert not wrong, f"{len(wrong)}\n" + "\n".join(wrong[:20])
    assert refused >= 200, "most of the damage shows"


@pytest.mark.parametrize("data", [b"", b"[" * 100_000, b'{"format": 1}', b'{"format": 1, "unit": "mm", "measured": 7}'])
@pytest.mark.parametrize("command", ["plate", "build"])
def test_commands_on_a_damaged_outline_write_nothing(command: str, data: bytes, warm: WarmChild, tmp_path: Path) -> None:
    (tmp_path / "outline.json").write_bytes(data)
    (tmp_path / "job.json").write_bytes(stored_files()["job.json"][0])
    before = listed(tmp_path)
    run = warm.run(command, tmp_path)
    assert not wrongs_of_refusal(run, 3, ("outline.json",) if command == "plate" else ())
    assert listed(tmp_path) == before
