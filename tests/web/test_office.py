"""What every page is told of the sheet: in the order in which it was looked at, and a release only when it is whole."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from afterpart.files import write_new_folder
from afterpart.web import office as office_module
from afterpart.web.desk import Desk
from afterpart.web.made_views import release_view
from afterpart.web.office import Office
from afterpart.web.views import sheet_view
from afterpart.web.work import Running

MANIFEST = b'{"revision": "A", "date": "", "files": []}'


def test_a_release_is_shown_when_it_is_whole_and_again_when_its_zip_has_come(folder: Path) -> None:
    """Its folder is written under another name, put in place, and its zip after it; a page may look between any two of these.
    What it then shows must not stay: the stamp is another each time."""
    office, place = Office(folder.parent, folder), folder / "release"
    half = place / ".cover_A.4711.afterpart-new"
    half.mkdir(parents=True)
    (half / "manifest.json").write_bytes(MANIFEST[:9])
    assert office.sheet()["stations"]["release"] is None and not release_view(office.desk)["releases"]
    (half / "manifest.json").write_bytes(MANIFEST)
    assert office.sheet()["stations"]["release"] is None and not release_view(office.desk)["releases"]
    half.rename(place / "cover_A")
    without = office.sheet()["stations"]["release"]
    assert [one["zip"] for one in release_view(office.desk)["releases"]] == [None]
    (place / "cover_A.zip").write_bytes(b"PK")
    assert without is not None and office.sheet()["stations"]["release"] not in (None, without)
    assert [one["zip"] for one in release_view(office.desk)["releases"]] == ["cover_A.zip"]


def test_pages_that_look_while_releases_come_end_with_every_zip(folder: Path) -> None:
    """A page asks for the releases whenever the stamp is another; after each release it knows the zip."""
    desk, known, last = Office(folder.parent, folder), [], None
    stop = threading.Event()

    def look() -> None:
        nonlocal known, last
        while not stop.is_set():
            now = desk.sheet()["stations"]["release"]
            if now != last:
                last, known = now, [one["zip"] for one in release_view(desk.desk)["releases"]]

    page = threading.Thread(target=look)
    page.start()
    try:
        for name in "abcdefgh":
            write_new_folder(folder / "release" / name, {"manifest.json": MANIFEST.replace(b"A", name.encode())}, b"PK")
    finally:
        time.sleep(0.5)
        stop.set()
        page.join()
    assert known == [f"{name}.zip" for name in "abcdefgh"]


def test_sheets_are_told_in_the_order_in_which_they_were_looked_at(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Many threads look at once, each for another while: no page hears of an older sheet after a newer one."""
    count = itertools.count(1)
    told: list[dict[str, Any]] = []

    def slow_view(desk: Desk, running: Running | None) -> dict[str, Any]:
        if desk is not office.desk:  # another server of this process looks at its own
            return sheet_view(desk, running)
        number = next(count)
        time.sleep(0.004 * (number % 3))
        return {"number": number, "work": None}

    office = Office(folder.parent, folder)
    monkeypatch.setattr(office_module, "sheet_view", slow_view)
    monkeypatch.setattr(office, "publish", lambda kind, what: told.append(what))
    threads = [threading.Thread(target=office.changed) for _ in range(24)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [one["number"] for one in told] == list(range(1, 25))
    assert [one["turn"] for one in told] == list(range(1, 25))


def test_the_same_sheet_is_told_once_and_has_the_same_turn(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    office, told = Office(folder.parent, folder), []
    monkeypatch.setattr(office, "publish", lambda kind, what: told.append(what))
    first = office.changed()
    assert office.changed() == first == office.sheet() and told == [first]
    office.desk.edit(office.desk.stamp, [{"do": "set", "at": "revision", "value": "Q"}])
    assert office.changed()["turn"] == first["turn"] + 1 and len(told) == 2
