"""The guide: its commands and job keys exist, its pictures are small, used and described; it says when not to use it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import tomllib

from afterpart.cli import app
from tests.house.tree import ROOT

TEXT = (ROOT / "docs" / "guide.md").read_text()
KEYS = (ROOT / "docs" / "job_file.md").read_text()
MOST_BYTES = 120_000


def blocks() -> list[str]:
    return re.findall(r"```\n(.*?)```", TEXT, re.DOTALL)


def test_every_command_it_names_exists() -> None:
    known = {command.name or command.callback.__name__ for command in app.registered_commands if command.callback}
    named = set(re.findall(r"`afterpart (\w+)", TEXT)) | set(re.findall(r"(?m)^afterpart (\w+)", TEXT))
    assert {"new", "measure", "plate", "open", "build", "check", "release", "verify", "mate"} <= named <= known


def test_every_job_key_it_shows_is_one() -> None:
    shown = [tomllib.loads(block) for block in blocks() if block.startswith("[")]
    assert len(shown) == 3
    for tables in shown:
        for name, rows in tables.items():
            heading = f"## `[[{name}]]`" if isinstance(rows, list) else f"## `[{name}]`"
            assert heading in KEYS, heading
            section = KEYS.partition(heading)[2].partition("\n## ")[0]
            for row in rows if isinstance(rows, list) else [rows]:
                assert not [key for key in row if f"| `{key}` |" not in section]


def test_every_picture_is_small_and_says_what_it_shows() -> None:
    pictures = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", TEXT)
    assert len(pictures) >= 8
    assert all(len(words.split()) >= 5 for words, _ in pictures)
    assert all((ROOT / "docs" / place).stat().st_size <= MOST_BYTES for _, place in pictures)
    unused = {path.name for path in (ROOT / "docs" / "guide").iterdir()} - {place.rpartition("/")[2] for _, place in pictures}
    assert not unused


def test_it_begins_with_when_not_to_use_it_and_goes_through_every_step() -> None:
    headings = re.findall(r"(?m)^## (?:\d\. )?(.+)$", TEXT)
    assert headings[0] == "When not to use it"
    steps = ("Shoot", "Measure", "Prove", "The job sheet in the browser", "Build", "Judge", "Release", "Several photographs",
             "The mate")
    assert tuple(headings[1:10]) == steps
    for word in ("brakes", "pressure", "electricity", "local codes", "licensed practice"):
        assert word in TEXT.replace("\n", " ")
