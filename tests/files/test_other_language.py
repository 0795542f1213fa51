"""A release in another language, made up by a function: no paper of it holds an English sentence.

Words: in the *made-up language* every letter outside the gaps is an x, so that whatever else can be read was not translated.
What may be read: the maker's own words, names of standards and plastics, units, keys of the job file and ids.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import html
import io
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
from tests.parts.examples import NAMES, example

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
def language(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_language(tmp_path_factory.mktemp("words") / "xx")


@pytest.fixture(scope="module")
def papers(built_pieces: Workshop, language: Path) -> dict[str, str]:
    """Name -> text of every paper."""
    outline, job = example("bracket")
    job = replace(job, name=TITLE.name, revision="B", date=TITLE.date, release=ReleaseWish(page="letter"))
    with speaking(language):
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
    found = [f"{name}: {what}" for name, text in papers.items() for what in readable(text)]
    assert not found, "\n".join(found)


def test_columns_and_kinds_of_the_inspection_table_are_told(papers: dict[str, str]) -> None:
    head, *rows = csv.reader(io.StringIO(papers["inspection.csv"]))
    assert len(rows) > 10 and len(head) == 16
    for cell in (*head, *(row[2] for row in rows)):
        assert re.fullmatch(r"[xX0-9_ ,()+-]*|x.*qqq.*", cell), cell


@pytest.mark.parametrize("name", NAMES)
def test_findings_formulas_and_notes_are_told(language: Path, name: str) -> None:
    """Of every example, more than the papers of one hold."""
    outline, job = example(name)
    job = replace(job, name=TITLE.name)
    with speaking(language):
        outline = replace(outline, datum=replace(outline.datum, text=""))
        build = make_pieces(outline, job)
        report = run_checks(Case(job, outline, build))
    assert len(report.findings) > 15
    for finding in report.findings:
        assert not re.search(r"[a-wyzA-WYZ]{2}", finding.formula), (finding.check, finding.formula)
        assert not [*readable(finding.advice), *readable(finding.insensitive)], (finding.check, finding.advice)
    texts = (report.headline, *report.actions, *report.questions, *(note.text for piece in build.pieces for note in piece.notes))
    found = [what for text in texts for what in readable(text)]
    assert not found, "\n".join(found)


def test_the_papers_are_in_that_language(papers: dict[str, str]) -> None:
    for name in ("README.md", "guide.html", "findings.pdf", "failure_modes.csv"):
        assert len(re.findall(r"\bx{3,}\b", papers[name])) > 20, name
