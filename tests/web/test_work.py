"""Long work and quick solving through a real server: the same files as the command line makes, and an end at any time."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
import json
import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from afterpart.model.store import parse_outline
from afterpart.web.work import SETTLED, Work
from tests.journey.command import afterpart
from tests.web.serving import Served, served

COVER = Path(__file__).resolve().parents[2] / "examples" / "compressor_cover"


def command(*arguments: str | Path) -> None:
    result = afterpart(*arguments)
    assert result.returncode == 0, result.stderr


def finished(page: Served, what: str, **more: Any) -> tuple[list[str], dict[str, Any]]:
    """Do some work; what was said, and how it ended."""
    with page.events() as events:
        answer = page.client.post("/api/tasks", json={"what": what, **more})
        assert answer.status_code == 200, answer.text
        task, said = answer.json()["id"], []
        for kind, told in events:
            if told.get("id") == task and kind == "said":
                said.append(told["text"])
            elif told.get("id") == task:
                return said, {"kind": kind, **told}
    raise AssertionError("the events ended first")


@pytest.fixture(scope="module")
def page(small_photo: bytes, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The cover's job open and measured, from its photograph at 3 megapixels."""
    folder = tmp_path_factory.mktemp("jobs") / "cover"
    folder.mkdir()
    shutil.copyfile(COVER / "job.toml", folder / "job.toml")
    (folder / "inlet_cover.jpg").write_bytes(small_photo)
    with served(folder.parent, folder) as running:
        said, end = finished(running, "measure")
        assert end["kind"] == "done" and "writing the measurement" in said
        yield running


def folder_of(page: Served) -> Path:
    assert page.office.desk.folder is not None
    return page.office.desk.folder


def settled(page: Served) -> None:
    """Wait until the files have followed."""
    limit = time.monotonic() + 120.0
    while not page.get("/api/sheet")["settled"]:
        assert time.monotonic() < limit
        time.sleep(0.2)
    assert page.office.work.wait()


def test_what_was_measured_is_shown(page: Served) -> None:
    sheet, outline, photo = page.get("/api/sheet"), page.get("/api/outline"), page.get("/api/photo/1")
    assert sheet["stations"]["outline"] and sheet["stations"]["pieces"] is None and sheet["outdated"] == []
    assert outline["outline"] == json.loads((folder_of(page) / "outline.json").read_bytes())
    ids = [row["id"] for row in outline["rows"]]
    assert ids == [dimension["id"] for dimension in outline["outline"]["dimensions"]]
    segments = {s["id"] for loop in outline["outline"]["design"]["loops"] for s in loop["segments"]}
    assert {path["segment"] for path in outline["paths"]} == segments == {one["id"] for one in photo["segments"]}
    assert {one["id"] for one in photo["balloons"]} == {one["id"] for one in outline["balloons"]} <= set(ids)
    assert all(0 <= x <= photo["width"] and 0 <= y <= photo["height"] for rim in photo["rims"] for x, y in rim)
    borders = {one["kind"]: one["polyline_px"] for one in photo["references"]}
    assert set(borders) == {"sheet", "rule"} and all(border[0] == border[-1] and len(border) > 4 for border in borders.values())
    left, right = (extreme(x for x, _ in borders["sheet"]) for extreme in (min, max))
    assert all(left < x < right for rim in photo["rims"] for x, _ in rim), "the part lies on the sheet"
    assert photo["camera"]["distance"] == pytest.approx(760.0, abs=15.0), "the example's photograph was taken from 760 mm"


def test_a_reading_solves_at_once_what_the_command_line_finds_too(page: Served, tmp_path: Path) -> None:
    """The answer's outline, the files that follow and `afterpart measure` of the same job file: the same bytes."""
    first = page.get("/api/outline")["next"][0]
    measured = next(row["measured"] for row in page.get("/api/outline")["rows"] if row["id"] == first["id"])
    answer = page.edit({"do": "add", "table": "reading", "row": {"id": first["id"], "value": round(measured + 0.05, 2)}}).json()
    row = next(row for row in answer["outline"]["rows"] if row["id"] == first["id"])
    assert row["state"] == "measured by hand" and row["reading"]["value"] == round(measured + 0.05, 2)
    settled(page)
    files = {name: (folder_of(page) / name).read_bytes() for name in ("outline.json", "drawing.pdf", "outline.dxf", "job.json")}
    assert json.loads(files["outline.json"]) == answer["outline"]["outline"]
    other = tmp_path / "cover"
    other.mkdir()
    for name in ("job.toml", "inlet_cover.jpg"):
        shutil.copyfile(folder_of(page) / name, other / name)
    command("measure", other)
    assert {name: (other / name).read_bytes() for name in files} == files
    answer = page.client.post("/api/undo", json={"stamp": answer["sheet"]["stamp"]}).json()
    assert next(row for row in answer["outline"]["rows"] if row["id"] == first["id"])["reading"] is None
    settled(page)


def test_a_change_that_is_tried_is_refused_where_it_cannot_be_built(page: Served) -> None:
    """Well written, within its limits, and yet no washer would reach over such a hole: told only by laying the pieces out."""
    before, stamp = (folder_of(page) / "job.toml").read_bytes(), page.get("/api/sheet")["stamp"]

    def tried(clearance: float) -> httpx.Response:
        edit = {"do": "change", "table": "role", "index": 0, "row": {"clearance": clearance}}
        return page.client.post("/api/edits", json={"stamp": stamp, "edits": [edit], "tried": True})

    refused = tried(3.0)
    assert refused.status_code == 422 and "no plastic would be gripped" in refused.json()["message"], refused.text
    assert (folder_of(page) / "job.toml").read_bytes() == before and page.get("/api/sheet")["stamp"] == stamp
    made = tried(0.4)
    assert made.status_code == 200 and b"clearance = 0.4" in (folder_of(page) / "job.toml").read_bytes()
    page.client.post("/api/undo", json={"stamp": made.json()["sheet"]["stamp"]})
    assert (folder_of(page) / "job.toml").read_bytes() == before
    settled(page)


def test_a_reading_that_names_nothing_is_refused_and_nothing_is_written(page: Served) -> None:
    before = (folder_of(page) / "job.toml").read_bytes()
    answer = page.edit({"do": "add", "table": "reading", "row": {"id": "d999", "value": 6.5}})
    assert answer.status_code == 422 and answer.json()["where"] == "reading d999" and "d1 to d" in answer.json()["message"]
    assert (folder_of(page) / "job.toml").read_bytes() == before


def test_a_change_made_by_hand_reaches_every_page(page: Served) -> None:
    path = folder_of(page) / "job.toml"
    text = path.read_text()
    with page.events() as one, page.events() as other:
        assert next(one)[0] == next(other)[0] == "sheet"
        path.write_text(text.replace('revision = "A"', 'revision = "Q"'))
        for events in (one, other):
            assert next(told for kind, told in events if kind == "sheet" and told["revision"] == "Q")["undo"] > 0
    path.write_text(text)
    limit = time.monotonic() + 10.0
    while page.get("/api/sheet")["revision"] != "A":
        assert time.monotonic() < limit
        time.sleep(0.1)


def test_one_task_at_a_time_and_only_what_is_known(page: Served) -> None:
    assert page.client.post("/api/tasks", json={"what": "burn"}).status_code == 422
    assert page.client.post("/api/tasks", json={"what": "compare", "folders": ["../cover", "nothing"]}).status_code == 422
    assert page.client.post("/api/tasks", json={"what": "verify", "release": "../x"}).status_code == 422
    assert page.client.delete("/api/tasks/77").json() == {"stopped": False}


def digests(folder: Path) -> dict[Path, str]:
    """Every file below a folder, hidden ones too."""
    return {path: hashlib.sha256(path.read_bytes()).hexdigest() for path in folder.rglob("*") if path.is_file()}


def processes() -> dict[int, tuple[int, str]]:
    """Every process of this machine: its parent and its command."""
    found = {}
    for path in Path("/proc").glob("[0-9]*"):
        try:
            parent = int((path / "stat").read_text().rpartition(")")[2].split()[1])
            found[int(path.name)] = (parent, (path / "cmdline").read_text().replace("\0", " "))
        except OSError:
            continue
    return found


def descendants(of: int) -> set[int]:
    known, grown = {of}, True
    table = processes()
    while grown:
        more = {pid for pid, (parent, _) in table.items() if parent in known} - known
        known, grown = known | more, bool(more)
    return known - {of}


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="the processes are counted where this system lists them")
def test_stopping_ends_every_process_and_leaves_nothing_half_written(page: Served) -> None:
    settled(page)
    folder = folder_of(page)
    before = digests(folder)
    child = page.office.work._child
    assert child is not None
    with page.events() as events:
        task = page.client.post("/api/tasks", json={"what": "build"}).json()["id"]
        assert page.client.post("/api/tasks", json={"what": "check"}).status_code == 409
        for kind, told in events:
            assert kind != "failed", told
            if kind == "said" and told["text"].startswith("making"):
                break
        limit = time.monotonic() + 60.0
        while not any("solid.child" in processes().get(pid, (0, ""))[1] for pid in descendants(child.pid)):
            assert time.monotonic() < limit
            time.sleep(0.1)
        family = descendants(child.pid) | {child.pid}
        assert page.client.delete(f"/api/tasks/{task}").json() == {"stopped": True}
        end = next(told for kind, told in events if kind in ("done", "failed"))
    assert end["id"] == task and end["stopped"]
    limit = time.monotonic() + 30.0
    while family & processes().keys():
        assert time.monotonic() < limit, "the kernel's processes end with it"
        time.sleep(0.1)
    assert digests(folder) == before
    fresh = page.office.work._child
    assert fresh is not None and fresh.pid != child.pid and fresh.poll() is None, "a new one is warm"


def test_a_child_that_dies_is_told_and_replaced(page: Served) -> None:
    child = page.office.work._child
    assert child is not None
    with page.events() as events:
        task = page.client.post("/api/tasks", json={"what": "plate"}).json()["id"]
        next(told for kind, told in events if kind == "said")
        os.kill(child.pid, 9)
        end = next(told for kind, told in events if kind in ("done", "failed"))
    assert end["id"] == task and not end["stopped"] and "not in your input" in end["message"]
    said, end = finished(page, "plate")
    assert end["kind"] == "done" and (folder_of(page) / "plate" / "check_plate.pdf").exists()


def test_a_picture_without_a_part_is_refused_in_the_words_of_the_command_line(page: Served, tmp_path: Path) -> None:
    """A plain grey picture: measuring fails with what, where and the way out; the old outline stays."""
    cv2 = pytest.importorskip("cv2")
    numpy = pytest.importorskip("numpy")
    before = (folder_of(page) / "outline.json").read_bytes()
    blank = cv2.imencode(".png", numpy.full((800, 1000, 3), 128, numpy.uint8))[1].tobytes()
    assert page.client.post("/api/photo?name=blank.png", content=blank).status_code == 200
    assert "outline" in page.get("/api/sheet")["outdated"] and not page.get("/api/photo/1")["fresh"]
    _, end = finished(page, "measure")
    assert end["kind"] == "failed" and end["message"] and end["way_out"]
    assert (folder_of(page) / "outline.json").read_bytes() == before
    assert page.client.post("/api/undo", json={"stamp": page.get("/api/sheet")["stamp"]}).status_code == 200
    assert page.get("/api/sheet")["outdated"] == []
    parse_outline((folder_of(page) / "outline.json").read_bytes())


class Unheard(Work):
    """Work whose child is played by the test."""

    def __init__(self) -> None:
        super().__init__(lambda kind, what: self.told.append(kind))
        self.told: list[str] = []
        self.sent: list[str] = []

    def _line(self, message: dict[str, Any]) -> None:
        self.sent.append(message["what"])

    def end(self) -> None:
        """What is being done is done."""
        self._hear({"id": str(len(self.sent)), "done": {}})


def test_a_second_look_waits_for_settling_and_nobody_waits_for_it(tmp_path: Path) -> None:
    """It is wished for and begins by itself, shown; settling that is wished for meanwhile is part of it."""
    work = Unheard()
    work.settle(tmp_path)
    work.measure_next(tmp_path)
    work.settle(tmp_path)
    assert work.sent == ["settle"] and work.running is None
    work.end()
    assert work.sent == ["settle", "measure"] and work.running is not None and work.running.what == "measure"
    assert work.told == [SETTLED]
    work.measure_next(tmp_path)
    work.end()
    assert work.running is None and work.wait(0.0) and work.sent == ["settle", "measure"]
