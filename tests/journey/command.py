"""Runs the command line as a maker would: another process, its exit status and what it printed.

`afterpart` takes a child of a warm process (tests/journey/nursery.py), `fresh_afterpart` starts Python anew, as a shell does.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import tempfile
import threading
from functools import cache
from pathlib import Path

from afterpart.lock import LOCK_FILE

ROOT = Path(__file__).resolve().parents[2]
TIME_LIMIT_S = 600
"""Only what never ends is ended: other work may share the machine."""


def fresh_afterpart(*arguments: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """`python -m afterpart ARGUMENTS...`, finished."""
    return subprocess.run([sys.executable, "-m", "afterpart", *map(str, arguments)], capture_output=True, text=True, cwd=cwd,
                          timeout=TIME_LIMIT_S, check=False)


def afterpart(*arguments: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """The same in a process that need not load the program's libraries first."""
    if not hasattr(os, "fork"):
        return fresh_afterpart(*arguments, cwd=cwd)
    told = [str(one) for one in arguments]
    with tempfile.TemporaryDirectory() as folder:
        said = {name: Path(folder) / name for name in ("stdout", "stderr")}
        status = _asked({"arguments": told, "folder": str(cwd or Path.cwd()), **{name: str(path) for name, path in said.items()}})
        stdout, stderr = (path.read_text() if path.exists() else "" for path in said.values())
    return subprocess.CompletedProcess(["afterpart", *told], status, stdout, stderr)


def _asked(told: dict[str, object]) -> int:
    nursery = _nursery()
    assert nursery.stdin is not None and nursery.stdout is not None
    timer = threading.Timer(TIME_LIMIT_S, os.killpg, (nursery.pid, signal.SIGKILL))
    timer.start()
    try:
        nursery.stdin.write(json.dumps(told) + "\n")
        nursery.stdin.flush()
        answer = nursery.stdout.readline()
    finally:
        timer.cancel()
    if not answer:
        _nursery.cache_clear()
        nursery.wait()
        raise AssertionError(f"no answer within {TIME_LIMIT_S} s to {told['arguments']}")
    return int(answer)


@cache
def _nursery() -> subprocess.Popen[str]:
    """The warm process of these tests: it ends when they do, with its standard input."""
    return subprocess.Popen([sys.executable, "-m", "tests.journey.nursery"], cwd=ROOT, text=True, stdin=subprocess.PIPE,
                            stdout=subprocess.PIPE, process_group=0)


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
