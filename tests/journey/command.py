"""Runs the command line as a maker would: another process, its exit status and what it printed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from afterpart.lock import LOCK_FILE

TIME_LIMIT_S = 180


def afterpart(*arguments: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """`python -m afterpart ARGUMENTS...`, finished."""
    return subprocess.run([sys.executable, "-m", "afterpart", *map(str, arguments)], capture_output=True, text=True, cwd=cwd,
                          timeout=TIME_LIMIT_S, check=False)


def assert_refused(result: subprocess.CompletedProcess[str], status: int, *words: str) -> None:
    """It ended with this status and one message on stderr that holds these words; no traceback."""
    assert result.returncode == status, (result.returncode, result.stdout, result.stderr)
    assert "Traceback" not in result.stderr and "Traceback" not in result.stdout
    for word in words:
        assert word.lower() in result.stderr.lower(), (word, result.stderr)


def assert_empty(folder: Path) -> None:
    """Nothing was written there; the empty file that keeps two programs apart is no result."""
    found = [path for path in folder.rglob("*") if path.name != LOCK_FILE] if folder.exists() else []
    assert not found, found
