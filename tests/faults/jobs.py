"""A small job in every state, and what its stages hand over to be written: computed once, written again for each fault.

The measurement is a real one of a painted photograph.  Of the build, the check and the release the nouns are real and the files
have names that a release of the bracket has; their contents stand in, as making them takes minutes and writing them does not look
at them.  `python -m tests.faults.kills` does the same with a whole release.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
import typer

from afterpart import cli, pipeline
from afterpart.cli import commands
from afterpart.model.assembly import Build
from afterpart.model.case import Case
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job
from afterpart.model.piece import Piece, PrintTime
from afterpart.model.store import build_json, job_json
from afterpart.pipeline import Built, Checked, Measurement, Release
from tests.pipeline.shelf import JOB, photograph

PIECE_FILES = ("bracket.3mf", "bracket.step", "assembly.png", "print_bed_PETG_1.3mf")
RELEASE_FILES = ("README.md", "data/outline.json", "pieces/bracket.step", "manifest.json")


def new_job(folder: Path) -> None:
    """The job of one painted photograph."""
    folder.mkdir()
    photograph(1).save(folder / "disc.jpg", quality=90)
    (folder / "job.toml").write_text(JOB.format(number=1))


def piece(stem: str) -> Piece:
    """A piece without steps: only its name is asked for."""
    return Piece("cover", stem, stem, "A", (), 5.0, (), PrintTime(0.0, 0.0, ""))


def build_of(job: Job, *stems: str, version: str = "") -> Built:
    """A finished build of pieces of these names."""
    made = Build(tuple(piece(stem) for stem in stems))
    files = {name: f"{name} {version}".encode() * 40 for name in PIECE_FILES}
    return Built(made, stems, (), (), {"pieces.json": build_json(made), "job.json": job_json(job), **files})


def check_of(measured: Measurement, version: str) -> Checked:
    """A finished check."""
    files = {name: f"{name} {version}".encode() * 40 for name in ("findings.json", "report.json", "findings.pdf")}
    case = Case(measured.job, measured.outline, Build(()))
    return Checked(case, CheckReport(version, (), (), ()), files, {"facts.json": f"facts {version}".encode()})


def release_of(measured: Measurement, folder: Path) -> Release:
    """A finished release of the job in that folder."""
    files = {name: name.encode() * 40 for name in RELEASE_FILES}
    return Release(folder / "release" / "disc_1_A", check_of(measured, "new"), files, b"zip" * 99)


def printing_nothing(patch: pytest.MonkeyPatch) -> None:
    """What the command line prints of results that stand in is left out."""
    for name in ("print_outline", "print_build", "print_report", "print_release"):
        patch.setattr(commands, name, lambda *_: None)


def ready(patch: pytest.MonkeyPatch, measured: Measurement, folder: Path) -> None:
    """Each command has computed already, and the command line has been put together."""
    if isinstance(cli.app, typer.Typer):
        patch.setattr(cli, "app", typer.main.get_command(cli.app))
    patch.setattr(pipeline, "measure", lambda *_: measured)
    patch.setattr(pipeline, "build_of", lambda *_: build_of(measured.job, "bracket", version="new"))
    patch.setattr(pipeline, "check_of", lambda *_: check_of(measured, "new"))
    patch.setattr(pipeline, "release_of", lambda *_: release_of(measured, folder))


def before(folder: Path, measured: Measurement) -> None:
    """The job as it stood: measured, built with one piece more, and checked."""
    new_job(folder)
    older = replace(measured, files={name: data + b" of before" for name, data in measured.files.items()})
    pipeline.write_measurement(older, folder)
    pipeline.write_build(build_of(measured.job, "bracket", "old_frame", version="old"), folder / "pieces")
    (folder / "pieces" / "old_frame.step").write_bytes(b"of a piece that is no more")
    pipeline.write_check(check_of(measured, "old"), folder, folder / "pieces")
