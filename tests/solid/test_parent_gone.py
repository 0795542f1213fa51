"""The kernel's process ends with its parent, whatever it was told before."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import afterpart


@pytest.mark.parametrize("is_idle", [True, False])
def test_the_kernel_ends_when_its_input_does(is_idle: bool) -> None:
    """Half a request stands for a parent that was killed while it spoke."""
    environment = {"PYTHONPATH": str(Path(afterpart.__file__).parents[1])}
    child = subprocess.Popen([sys.executable, "-m", "afterpart.solid.child"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                             env=environment)
    assert child.stdin is not None and child.stdout is not None
    assert child.stdout.read(8), "it says that it is ready"
    if not is_idle:
        child.stdin.write(b"\x10")
    child.stdin.close()
    assert child.wait(timeout=20.0) == 0
    child.stdout.close()
