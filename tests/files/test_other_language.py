"""A release in another language, made up by a function: no paper of it holds an English sentence.

Words: in the *made-up language* every letter outside the gaps is an x, so that whatever else can be read was not translated.
What may be read: the maker's own words, names of standards and plastics, units, keys of the job file, ids, and formulas.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import html
import json
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from afterpart.checks.stage import run_checks
from afterpart.model.case import Case
from afterpart.model.release import ReleaseWish, TitleBlock
from afterpart.parts.plate import make_plate
from afterpart.parts.stage import make_pieces
from afterpart.release import words as word_files
from afterpart.release.build_files import build_files
from afterpart.release.release_files import Made, release_files
from afterpart.solid.worker import Workshop
from afterpart.words import speaking
from tests.files.pdf_reading import read_pages
from tests.parts.examples import example

ENGLISH = Path(word_files.__file__).parent
GAP = re.compile(r"(\{\{|\}\}|\{[^{}]*(?:\{[^{}]*\}[^{}]*)*\})")
TITLE = TitleBlock("qqq", "B", "2026-01-02", "afterpart test")
READABLE = re.compile(r"(?<![\w.])[A-Za-z]*[a-wyz][A-Za-z]*(?:[ ,;:]+(?=[A-Za-z]*[a-wyz])[A-Za-z]{2,})+(?![\w.])")
"""Two words or more, each with a letter that is no x."""
MAKERS = re.compile(r"(?i)afterpart test|bracket|\bqqq\b")
"""What made it, and job and piece as the maker names them."""
PAPERS = (".pdf", ".html", ".md", ".csv", ".txt")


def made_up(text: str) -> str:
    return "".join(part if GAP.fullmatch(part) else re.sub(r"[a-z]", "x", re.sub(r"[A-Z]", "X", part))
                   for part in GAP.split(text))


def write_language(folder: Path) -> Path:
    """Every word file in the made-up language."""
    folder.mkdir()
    for path in ENGLISH.glob("*.toml"):
        lines = []
        for key, value in tomllib.loads(path.read_text(encoding="utf-8")).items():
            if isinstance(value, dict):
                lines += [f"[{json.dumps(key)}]", *(f"{_quoted(one)} = {_quoted(made_up(text))}" for one, text in value.items())]
            elif isinstance(value, list):
                lines.append(f"{_quoted(key)} = [{', '.join(_quoted(made_up(text)) for text in value)}]")
            else:
                lines.append(f"{_quoted(key)} = {_quoted(made_up(value))}")
        (folder / path.name).write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)


@pytest.fixture(scope="module")
def papers(built_pieces: Workshop, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Name -> text of every paper."""
    outline, job = example("bracket")
    job = replace(job, name=TITLE.name, revision="B", date=TITLE.date, release=ReleaseWish(page="letter"))
    with speaking(write_language(tmp_path_factory.mktemp("words") / "xx")):
        # the stored outline tells its datum in the language it was measured in
        outline = replace(outline, datum=replace(outline.datum, text=""))
        build = make_pieces(outline, job)
        report = run_checks(Case(job, outline, build))
        made = build_files(build, TITLE, built_pieces, job.wishes.printer)
        plate = make_plate(outline, job.plate, job.name, job.revision)
        files = release_files(Made(build, outline, job, TITLE, report, made.files, made.bodies, plate), built_pieces)
    return {name: _text(name, data) for name, data in files.items() if name.endswith(PAPERS) and not name.startswith("data/")}


def _text(name: str, data: bytes) -> str:
    if name.endswith(".pdf"):
        return "\n".join(page.text for page in read_pages(data))
    text = data.decode()
    if name.endswith(".html"):
        text = re.sub(r"<(style|script).*?</\1>", "", text, flags=re.DOTALL)
        text = html.unescape(re.sub(r"<[^>]+>", "\n", text))
    return text


def readable(text: str) -> Iterator[str]:
    """Words beside each other that are not translated, the maker's own aside."""
    for line in text.splitlines():
        yield from (found.group() for found in READABLE.finditer(MAKERS.sub("", line)))


def test_no_paper_holds_an_english_sentence(papers: dict[str, str]) -> None:
    assert {"README.md", "guide.html", "guide.pdf", "findings.pdf", "failure_modes.csv", "inspection.pdf", "drawing.pdf",
            "print_settings.txt", "parts_list.csv"} <= set(papers)
    # the columns of inspection.csv are named for programs
    told = papers | {"inspection.csv": papers["inspection.csv"].partition("\n")[2]}
    found = [f"{name}: {what}" for name, text in told.items() for what in readable(text)]
    assert not found, "\n".join(found)


def test_the_papers_are_in_that_language(papers: dict[str, str]) -> None:
    for name in ("README.md", "guide.html", "findings.pdf", "failure_modes.csv"):
        assert len(re.findall(r"\bx{3,}\b", papers[name])) > 20, name
