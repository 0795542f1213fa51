"""The page in the browser: built from these sources, with its licences, without an address, without script in its markup."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

import pytest

from tests.house.tree import PACKAGE

PAGE, BUILT = PACKAGE / "web" / "page", PACKAGE / "web" / "built"
KINDS = {".js", ".mjs", ".css", ".html", ".json", ".svg"}
NAMESPACES = {"www.w3.org"}
"""Names of XML vocabularies that a library needs to make its elements; nothing is asked of them."""
LONGEST_FILE, LONGEST_LINE = 300, 130


def sources() -> list[Path]:
    return sorted(path for path in PAGE.rglob("*") if path.suffix in KINDS and "node_modules" not in path.parts)


def built_markup() -> list[Path]:
    return sorted(BUILT.glob("*.html"))


def test_what_is_shipped_was_built_from_these_sources() -> None:
    told = dict(reversed(line.split("  ", 1)) for line in (BUILT / "sources.sha256").read_text().splitlines())
    now = {path.relative_to(PAGE).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in sources()}
    assert told == now, "run make page"


def test_the_files_the_page_asks_for_are_there() -> None:
    asked = {name for path in built_markup() for name in re.findall(r'(?:src|href)="([\w./]+)"', path.read_text())}
    assert {"sheet.css", "app.js", "icon.svg"} <= asked
    missing = [name for name in asked if not (BUILT / name).is_file()]
    assert not missing, missing


def test_no_address_stands_anywhere_in_it() -> None:
    """The page asks nobody but the program that served it; the lock of its libraries names no registry."""
    found = {(path.name, host) for path in (*sources(), PAGE / ".npmrc", *BUILT.iterdir())
             for host in re.findall(r"https?://([\w.-]+)", path.read_text(encoding="utf-8"))}
    assert not {(name, host) for name, host in found if host not in NAMESPACES}, found


@pytest.mark.parametrize("name", ["index.html"])
def test_markup_holds_no_script_no_style_and_no_listener(name: str) -> None:
    text = (BUILT / name).read_text()
    assert re.findall(r"<script(?![^>]*\bsrc=)[^>]*>", text) == [] and "<style" not in text
    assert not re.search(r"\s(style|on\w+)=", text) and "javascript:" not in text


def test_text_is_never_set_as_markup() -> None:
    """What a file name or a note holds is shown, never run."""
    ways = re.compile(r"\b(innerHTML|outerHTML|insertAdjacentHTML|document\.write|eval|new Function)\b"
                      r"|setAttribute\(\s*[\"']style")
    wrong = [f"{path.name}:{number}" for path in sources() if path.suffix == ".js"
             for number, line in enumerate(path.read_text().splitlines(), 1) if ways.search(line)]
    assert not wrong, wrong


def test_every_library_inside_stands_with_its_licence() -> None:
    notices = (BUILT / "notices.txt").read_text()
    for name, version in json.loads((PAGE / "package.json").read_text())["dependencies"].items():
        assert f"{name} {version}" in notices
    assert notices.count("Permission is hereby granted") + notices.count("Redistribution and use in source and binary forms") >= 2


def test_every_source_says_its_purpose_and_licence_and_keeps_its_size() -> None:
    wrong = []
    for path in sources():
        if path.suffix not in (".js", ".mjs", ".css", ".html"):
            continue
        text = path.read_text()
        opens = {".html": "<!doctype html>"}.get(path.suffix, "/*")
        if "SPDX-License-Identifier: Apache-2.0" not in text or not text.lower().startswith(opens):
            wrong.append(f"{path.relative_to(PAGE)}: purpose or licence line")
        wrong += [f"{path.relative_to(PAGE)}:{number}: {len(line)} characters"
                  for number, line in enumerate(text.splitlines(), 1) if len(line) > LONGEST_LINE]
        if len(text.splitlines()) > LONGEST_FILE:
            wrong.append(f"{path.relative_to(PAGE)}: {len(text.splitlines())} lines")
    assert not wrong, wrong
