"""How long the maker waits at the page: a typed reading solved again, and a dropped photograph until its outline is there.

A real server on loopback and the demo's job, as `afterpart open` runs it.
Run: python benchmarks/page.py; prints one JSON line.  solve_ms: from sending one more reading to the answer with the drawing
(median, and the processor time of the server's process in it); photo_s: from sending the photograph and its keys until the
outline can be fetched; command_s: `afterpart measure` of the same job on the command line; ratio: of the two; crowd_p95_ms: of
200 requests at once (sheet, job, drawing, script) the time within which 95 of 100 are answered, counted from when all are let
go; crowd_cpu_ms: the processor time of the server for all 200; crowd_mb: what the server's memory grew by meanwhile.
Aims: 150 ms; 1.5 times the command line; the crowd's answers are held to be right in tests/web/test_load.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import http.client
import json
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx

COVER = Path(__file__).resolve().parents[1] / "examples" / "compressor_cover"
TOLD = {"sheet": "A4", "rule": "mm", "reference_height": 0.8, "face_height": 9.0, "channel_depth": 2.0}
RUNS = 9
AT_ONCE = 200
CROWD = ("/api/sheet", "/api/job", "/api/outline", "/api/schema", "/", "/app.js")


class Page:
    """A server in a process of its own, and the key to it."""

    def __init__(self, start: Path) -> None:
        self.process = subprocess.Popen([sys.executable, "-m", "afterpart", "open", "--no-browser"], cwd=start,
                                        stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        address = next(line for line in self.process.stdout if "#key=" in line).split()[-1]
        url, _, key = address.partition("/#key=")
        self.client = httpx.Client(base_url=url, headers={"X-Afterpart-Key": key, "Origin": url}, timeout=300.0)
        time.sleep(8.0)  # the maker looks at the page; the work's process gets warm

    def ask(self, method: str, path: str, **more: Any) -> Any:
        answer = self.client.request(method, path, **more)
        answer.raise_for_status()
        return answer.json()

    def cpu_s(self) -> float:
        """Processor time of the server's process, where the system tells it; else 0."""
        stat = Path(f"/proc/{self.process.pid}/stat")
        if not stat.exists():
            return 0.0
        fields = stat.read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / 100.0

    def resident_mb(self) -> float:
        """Memory of the server's process, where the system tells it; else 0."""
        status = Path(f"/proc/{self.process.pid}/status")
        lines = status.read_text().splitlines() if status.exists() else []
        return next((int(line.split()[1]) / 1000.0 for line in lines if line.startswith("VmRSS:")), 0.0)


def photo_to_outline(page: Page) -> float:
    """Seconds from sending the photograph to the outline."""
    begun = time.perf_counter()
    sheet = page.ask("POST", "/api/photo?name=inlet_cover.jpg", content=(COVER / "inlet_cover.jpg").read_bytes())
    page.ask("POST", "/api/edits", json={"stamp": sheet["stamp"], "edits": [{"do": "change", "table": "photo", "index": 0,
                                                                             "row": TOLD}]})
    page.ask("POST", "/api/tasks", json={"what": "measure"})
    while page.client.get("/api/outline").status_code == 404:
        time.sleep(0.02)
    return time.perf_counter() - begun


def readings(page: Page) -> tuple[list[float], list[float]]:
    """Wall and processor seconds of each typed reading."""
    wall, cpu = [], []
    for _ in range(RUNS):
        outline, sheet = page.ask("GET", "/api/outline"), page.ask("GET", "/api/sheet")
        while sheet["work"] or not sheet["settled"]:  # the files of the last one follow first
            time.sleep(0.2)
            sheet = page.ask("GET", "/api/sheet")
        time.sleep(1.0)
        asked = next(one["id"] for one in outline["next"])
        measured = next(row["measured"] for row in outline["rows"] if row["id"] == asked)
        edit = {"do": "add", "table": "reading", "row": {"id": asked, "value": round(measured, 2)}}
        before, begun = page.cpu_s(), time.perf_counter()
        page.ask("POST", "/api/edits", json={"stamp": sheet["stamp"], "edits": [edit]})
        wall.append(time.perf_counter() - begun)
        cpu.append(page.cpu_s() - before)
    return wall[1:], cpu[1:]  # the first one traces


def crowd(page: Page) -> tuple[float, float, float]:
    """Seconds within which 95 of 100 of the requests are answered, the server's processor seconds for all of them, and megabytes
    it grew by."""
    gate, before, cpu_before = threading.Barrier(AT_ONCE), page.resident_mb(), page.cpu_s()

    def ask(number: int) -> float:
        gate.wait(60.0)
        begun = time.perf_counter()
        # each on a connection of its own, without httpx, which reads the certificates anew for every one (80 ms of processor)
        line = http.client.HTTPConnection(page.client.base_url.host, page.client.base_url.port, timeout=300.0)
        line.request("GET", CROWD[number % len(CROWD)], headers=dict(page.client.headers))
        answer = line.getresponse()
        answer.read()
        line.close()
        assert answer.status == 200, answer.status
        return time.perf_counter() - begun

    with ThreadPoolExecutor(AT_ONCE) as hands:
        taken = sorted(hands.map(ask, range(AT_ONCE)))
    return taken[int(0.95 * AT_ONCE) - 1], page.cpu_s() - cpu_before, page.resident_mb() - before


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as place:
        page = Page(Path(place))
        try:
            photo_s = photo_to_outline(page)
            wall, cpu = readings(page)
            p95_s, crowd_s, grown_mb = crowd(page)
        finally:
            page.process.terminate()
            page.process.wait(timeout=30.0)
        job = Path(place) / "alone"
        job.mkdir()
        for name in ("job.toml", "inlet_cover.jpg"):
            shutil.copyfile(COVER / name, job / name)
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-m", "afterpart", "measure", job], check=True, capture_output=True)
        command_s = time.perf_counter() - begun
    print(json.dumps({"solve_ms": round(1000 * statistics.median(wall)), "solve_cpu_ms": round(1000 * statistics.median(cpu)),
                      "aim_ms": 150, "photo_s": round(photo_s, 2), "command_s": round(command_s, 2),
                      "ratio": round(photo_s / command_s, 2), "aim_ratio": 1.5, "crowd_p95_ms": round(1000 * p95_s),
                      "crowd_cpu_ms": round(1000 * crowd_s),
                      "crowd_mb": round(grown_mb)}))


if __name__ == "__main__":
    main()
