"""Two hundred requests at once: every answer is the one that is given alone, and the memory stays bounded.

How long they take is measured by benchmarks/page.py, not here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import shutil
import threading
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from tests.web.serving import KEY, Served, plain_request, served

COVER = Path(__file__).resolve().parents[2] / "examples" / "compressor_cover"
READ = ("/api/sheet", "/api/job", "/api/schema", "/api/file/job/job.toml", "/api/release", "/", "/app.js", "/api/photo/1",
        "/api/nothing")
AT_ONCE = 200
MOST_GROWTH = 300e6
"""Bytes the process may grow by while two hundred answers are under way: the page's script is 1.4 MB, a picture is read."""


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Served]:
    folder = tmp_path / "cover"
    folder.mkdir()
    for name in ("job.toml", "inlet_cover.jpg"):
        shutil.copyfile(COVER / name, folder / name)
    with served(tmp_path, folder) as running:
        yield running


def resident() -> float:
    """Bytes of this process in memory; 0 where the system does not tell."""
    stat = Path("/proc/self/statm")
    return int(stat.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") if stat.exists() else 0.0


def test_two_hundred_requests_at_once_are_answered_as_one_is(page: Served) -> None:
    def ask(path: str) -> tuple[int, bytes]:
        answer = plain_request("GET", page.url + path, headers={"X-Afterpart-Key": KEY}, timeout=120.0)
        return answer.status_code, answer.content

    alone = {path: ask(path) for path in READ}
    assert [status for status, _ in alone.values()] == [200] * (len(READ) - 1) + [404]
    before, gate = resident(), threading.Barrier(AT_ONCE)

    def together(number: int) -> bool:
        gate.wait(60.0)
        path = READ[number % len(READ)]
        return ask(path) == alone[path]

    with ThreadPoolExecutor(AT_ONCE) as hands:
        right = list(hands.map(together, range(AT_ONCE)))
    assert all(right), f"{right.count(False)} of {AT_ONCE} answers differ"
    assert resident() - before < MOST_GROWTH
    assert page.get("/api/sheet")["has_job"]


def test_fifty_changes_at_once_are_made_or_refused_and_none_is_lost(page: Served) -> None:
    """All with the same stamp: one is made, the others are told that the job has changed since."""
    stamp = page.get("/api/sheet")["stamp"]
    gate = threading.Barrier(50)

    def change(number: int) -> int:
        edit = {"do": "add", "table": "hole", "row": {"name": f"h{number}", "at": [0.0, 1.0 * number], "diameter": 3.0}}
        gate.wait(60.0)
        return plain_request("POST", f"{page.url}/api/edits", json={"stamp": stamp, "edits": [edit]}, timeout=120.0,
                          headers={"X-Afterpart-Key": KEY, "Origin": page.url}).status_code

    with ThreadPoolExecutor(50) as hands:
        told = list(hands.map(change, range(50)))
    assert sorted(told) == [200] + [409] * 49
    assert len(page.get("/api/job")["hole"]) == 1
