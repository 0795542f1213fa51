"""From pieces to findings: what was built is measured once more and judged, alone or beside its variants.

`say` is called with a few words before each step that takes time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from afterpart import __version__
from afterpart.checks.headline import actions
from afterpart.checks.passage_views import views_of
from afterpart.checks.passages import passages_of
from afterpart.checks.printed_pieces import alternatives
from afterpart.checks.stage import run_checks
from afterpart.checks.variant_figures import Variant
from afterpart.checks.variants import compare, weighed
from afterpart.errors import FolderError, UsageError
from afterpart.files import check_folder, write_files
from afterpart.model.assembly import Build
from afterpart.model.case import Case, Measured
from afterpart.model.codec import from_plain
from afterpart.model.comparison import Comparison
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job
from afterpart.model.mate import MateWish
from afterpart.model.piece import Piece
from afterpart.model.release import ReleaseWish
from afterpart.model.store import findings_json, job_json, measured_json, parse_build, parse_measured, read_stored, report_json
from afterpart.model.wishes import Wishes
from afterpart.pipeline.folder import FACTS_FILE, PIECES_FILE, Say, asked, job_beside, outline_in_mm, title
from afterpart.pipeline.making import Built, built_of, laid_out, write_build
from afterpart.pipeline.mating import case_with_mate, match_files
from afterpart.pipeline.measuring import measure_where_needed
from afterpart.pipeline.speaking import in_language
from afterpart.pipeline.trying import tried
from afterpart.release.findings_pdf import findings_pdf
from afterpart.release.marks import Drawing, drawing_png
from afterpart.release.passage_picture import passage_drawings
from afterpart.release.shown import spoken
from afterpart.solid.facts import facts_of
from afterpart.solid.worker import Workshop


@dataclass(frozen=True)
class Checked:
    """One finished check.  case: what was judged; files: name -> contents, complete, for the job folder; facts: the same for the
    folder of the pieces."""

    case: Case
    report: CheckReport
    files: dict[str, bytes]
    facts: dict[str, bytes]


def check_of(folder: Path, pieces: Path, say: Say) -> Checked:
    """The job in `folder` judged, with its report.  The pieces are those in the folder `pieces`; where there are none, or the job
    or its outline has changed since, they are built, and the build written there: it is finished in itself.  What was measured
    on the solids is kept beside them.

    Raises an AfterpartError when the job, the picture or a piece cannot be used; nothing of the check is written here.
    """
    check_folder(pieces)
    job, folder = asked(folder)
    with in_language(job, folder, say), Workshop() as workshop:
        measure_where_needed(job, folder, say)
        return checked_and_built(job, folder, pieces, workshop, say)[0]


def checked_and_built(job: Job, folder: Path, pieces: Path, workshop: Workshop, say: Say, later: tuple[Piece, ...] = ()
                      ) -> tuple[Checked, Built | None]:
    """The job judged, and what had to be built for it; None where the pieces were there.  later: what else will be asked of the
    workshop, to be built while this goes on."""
    built = None
    if not is_built(job, folder, pieces):
        workshop.start()
        built = built_of(laid_out(job, folder, say), job, say, workshop)
        say("writing the pieces")
        write_build(built, pieces)
    workshop.begin(later)
    data = read_stored(pieces / PIECES_FILE)
    build = parse_build(data, str(pieces / PIECES_FILE))
    measured = _measured(build, job, hashlib.sha256(data + job_json(_as_built(job))).hexdigest(), pieces, workshop, say)
    case = Case(job, outline_in_mm(folder), build, measured.facts, measured.clashes, measured.blocked, measured.passages,
                measured.views)
    case = case_with_mate(case, folder, say)
    say("judging")
    report = replace(run_checks(case), judged_sha256=judged_digest(job, data))
    if any(finding.change for finding in report.findings):
        say("trying what is suggested")
        findings = tried(report.findings, case)
        report = replace(report, findings=findings, actions=actions(findings))
    pictures = _pictures(case, report)
    files = {"findings.json": findings_json(report), "report.json": report_json(report),
             "findings.pdf": findings_pdf(report, title(job), pictures)}
    files |= {name: drawing_png(picture) for name, picture in pictures.items()}
    if case.mate is not None:
        files |= match_files(case.outline, case.mate)
    return Checked(case, report, files, {FACTS_FILE: measured_json(measured)}), built


def _pictures(case: Case, report: CheckReport) -> dict[str, Drawing]:
    """Name -> picture of what could come loose, of those that a finding names."""
    told = {finding.picture for finding in report.findings}
    drawn = passage_drawings(case.views, case.passages, case.job.wishes.machine.clean_port)
    return {name: picture for name, picture in drawn.items() if name in told}


def write_check(checked: Checked, out: Path, pieces: Path) -> None:
    """Put the report into `out` and what was measured beside the pieces.  Raises FolderError when that cannot be done."""
    write_files(pieces, checked.facts)
    write_files(out, checked.files)


def compare_of(checked: Mapping[str, Checked], weights: Mapping[str, float] | None) -> Comparison:
    """Variants side by side, by their names; weights by the figures' names, None: all alike.

    Raises UsageError for fewer than two, or a weight that names no figure."""
    return compare(tuple(Variant(name, one.case, one.report) for name, one in checked.items()), weights)


def reweighed(comparison: Mapping[str, Any], weights: Mapping[str, float]) -> Comparison:
    """A comparison, given as the plain values of its noun, under other weights.

    Raises UsageError when it is none, or a weight that cannot be used."""
    try:
        found = from_plain(Comparison, comparison)
        if any(len(row.values) != len(found.names) for row in found.rows):
            raise ValueError("not a value of each variant")
        return weighed(found, weights)
    except (KeyError, TypeError, ValueError, IndexError) as error:
        if isinstance(error, UsageError):
            raise
        raise UsageError(f"comparison: found something else ({error}), expected what comparing gave. Compare again.") from error


def is_built(job: Job, folder: Path, pieces: Path) -> bool:
    """Are the pieces there those of this job and of the outline as it is now?"""
    path = pieces / PIECES_FILE
    stored = job_beside(pieces) if path.exists() else None
    if stored is None or _as_built(stored) != _as_built(job):
        return False
    return path.stat().st_mtime_ns >= (folder / "outline.json").stat().st_mtime_ns


def judged_digest(job: Job, pieces: bytes) -> str:
    """What tells the job and the pieces.json that a report judges from any other."""
    return hashlib.sha256(job_json(job) + pieces).hexdigest()


def _as_built(job: Job) -> Job:
    """The job without what only the checks ask for: no piece changes with it."""
    plain = Wishes()
    # The pressure lifts the cover, and so is part of the torque that stands on it.
    machine = replace(plain.machine, gauge_pressure_kpa=job.wishes.machine.gauge_pressure_kpa)
    wishes = replace(job.wishes, machine=machine, fit=plain.fit, failure_modes=plain.failure_modes)
    return replace(job, shots=job.shots_of("part"), wishes=wishes, release=ReleaseWish(language=job.release.language),
                   mate=MateWish())


def _measured(build: Build, job: Job, sha256: str, pieces: Path, workshop: Workshop, say: Say) -> Measured:
    """What is measured on the solids, taken from an earlier check where it was of the same pieces and job."""
    stored = _stored_facts(pieces)
    if stored is not None and (stored.build_sha256, stored.version) == (sha256, __version__):
        return stored
    printer, facts, meshes = job.wishes.printer, [], {}
    others = alternatives(build)
    for piece in (one for one in build.pieces if one.file_stem not in others):
        say(f"measuring {spoken(piece)}")
        body = workshop.build(piece, circumscribed=printer.circumscribed)
        facts.append(facts_of(piece, body, printer, workshop))
        meshes[piece.file_stem] = body.mesh
    say("following what could come loose")
    passages = passages_of(build, job, meshes)
    views = views_of(build, job, meshes, passages)
    # a build whose pieces run into each other is refused, so that only ways in are left to tell
    blocked = tuple(note.text for note in build.notes if note.code == "blocked_way")
    return Measured(sha256, __version__, tuple(facts), (), blocked, passages, views)


def _stored_facts(pieces: Path) -> Measured | None:
    """What an earlier check measured; None when there is nothing, or nothing this version can read."""
    try:
        return parse_measured(read_stored(pieces / FACTS_FILE))
    except FolderError:
        return None
