"""README.md of a released folder, for somebody who has only the folder; and the list of sources.

Order: cautions before anything else, then what it is, what it fits, what it does not promise, what the calculations say, what was
tried, how to make it, the files, the licence, the fit report.  All words stand in words/readme.toml.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable

from afterpart.model.assembly import Build
from afterpart.model.finding import CheckReport
from afterpart.model.history import RevisionChanges
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.release import TitleBlock
from afterpart.release.fit_report import report_form, size_words, telling_sizes
from afterpart.release.history_files import readme_section
from afterpart.release.inspection_rows import expanded_u
from afterpart.release.manifest import purpose_of, unit_of
from afterpart.release.markdown import plain
from afterpart.release.old_part_sheet import ShownDimension
from afterpart.release.parts_list import bolts_of
from afterpart.release.proof_steps import page_words
from afterpart.release.shown import spoken
from afterpart.release.trial_words import report_words, trial_words
from afterpart.release.words import word, words
from afterpart.standards.tolerances import MOULDING_RANGE, moulding_tolerance
from afterpart.words import paragraph, symbol_words

_SECTION = "readme"


def readme(build: Build, outline: Outline, job: Job, report: CheckReport, title: TitleBlock, paths: Iterable[str],
           changes: RevisionChanges | None = None) -> bytes:
    """README.md, UTF-8.  paths: of all files of the folder, this one and the manifest too; changes: since the revision before,
    None for the first."""
    listed = sorted(paths)
    blocks = [
        _told("title", name=plain(title.name), revision=plain(title.revision)), _told("about"), *_pictures(listed),
        _issued(job, title), _told("cautions"), *_cautions(report), *_what_it_is(build),
        *_what_it_fits(build, outline, job, report),
        _told("promise"), _bullets(words(_SECTION, "promise_rows")), *_verdict(report), *_tried(job),
        *(readme_section(changes) if changes is not None else ()), *_how_to_make(build, job),
        *_files(listed), *_licence(job), _told("report"), report_form(job, outline)]
    return ("\n\n".join(blocks).rstrip() + "\n").encode()


def sources_page(report: CheckReport) -> bytes:
    """sources.md, UTF-8: every source of the findings with its checks."""
    users: dict[str, set[str]] = {}
    for finding in report.findings:
        memory = _told("sources_memory")
        is_marked = not finding.from_memory or f"({memory})" in finding.source
        if finding.source:
            users.setdefault(finding.source if is_marked else f"{finding.source} ({memory})", set()).add(
                symbol_words(finding.check))
    rows = [f"| {_cell(source)} | {', '.join(sorted(checks))} |" for source, checks in sorted(users.items())]
    table = "\n".join((_told("sources_head"), "|---|---|", *rows))
    return f"{_told('sources_title')}\n\n{_told('sources_about')}\n\n{table}\n".encode()


def modes_csv(report: CheckReport) -> bytes:
    """failure_modes.csv, UTF-8: the table of failure modes."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(words(_SECTION, "modes_head"))
    writer.writerows((mode.item, mode.mode, mode.effect, mode.cause, mode.today, mode.severity, mode.occurrence, mode.detection)
                     for mode in report.failure_modes)
    return stream.getvalue().encode()


def _told(key: str, **fields: object) -> str:
    return word(_SECTION, key, **fields)


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("<", "\\<")


def _bullets(rows: Iterable[str]) -> str:
    return "\n".join(f"- {row}" for row in rows)


def _numbered(rows: Iterable[str]) -> str:
    return "\n".join(f"{number}. {row}" for number, row in enumerate(rows, 1))


def _pictures(paths: list[str]) -> list[str]:
    shown = (("picture_assembly", "pieces/assembly.png"), ("picture_apart", "pieces/exploded.png"))
    return [_told(key, path=path) for key, path in shown if path in paths]


def _issued(job: Job, title: TitleBlock) -> str:
    author = _told("author", author=plain(job.release.author)) if job.release.author else _told("author_none")
    made_with = title.made_with[:1].upper() + title.made_with[1:]
    issued = (_told("issued_dated", made_with=made_with, date=plain(title.date)) if title.date
              else _told("issued", made_with=made_with))
    return paragraph(issued, author)


def _cautions(report: CheckReport) -> list[str]:
    """Declined uses first, then what always holds, then the rest."""
    told = [(one.declined, _told("declined" if one.declined else "caution", danger=plain(one.danger[:1].upper() + one.danger[1:]),
                                 text=plain(one.text))) for one in report.cautions]
    return [*(text for declined, text in told if declined), _told("caution_always"),
            *(text for declined, text in told if not declined)]


def _what_it_is(build: Build) -> list[str]:
    pieces = ", ".join(dict.fromkeys(plain(spoken(piece)) for piece in build.pieces))
    return [_told("is"), _told("is_pieces", pieces=pieces), paragraph(_told("is_plate"), _told("is_bought"))]


def _machine(build: Build, job: Job) -> str:
    """The machine's kind and what else is told of it, so that somebody may know theirs by it."""
    machine, bolts = job.wishes.machine, job.wishes.bolts
    count = sum(len(item.at) for item in bolts_of(build))
    return ", ".join(filter(None, (
        machine.kind,
        _told("fits_facts_swept", volume=machine.displacement_cm3) if machine.displacement_cm3 else "",
        _told("fits_facts_speed", speed=machine.speed_rpm) if machine.speed_rpm else "",
        _told("fits_facts_bolts", count=count, thread=bolts.thread) if bolts is not None and count else "")))


def _good(shown: ShownDimension) -> dict[str, str]:
    """How the size is measured, and between what a part of the same mould lies."""
    size = shown.dimension.design
    how = {"distance": "how_distance", "width": "how_width", "over": "how_width", "diameter": "how_diameter",
           "length": "how_length"}.get(shown.dimension.kind, "how_other")
    room = expanded_u(shown.dimension) + (moulding_tolerance(size) if MOULDING_RANGE.holds(size) else 0.0)
    return {"how": _told(how), "low": f"{size - room:.1f}", "high": f"{size + room:.1f}"}


def _what_it_fits(build: Build, outline: Outline, job: Job, report: CheckReport) -> list[str]:
    kind = job.wishes.machine.kind
    rows = [_told("fits_size", **size_words(shown), **_good(shown)) for shown in telling_sizes(outline)]
    shares = [finding.value for finding in report.findings if finding.check == "fit_share" and finding.value is not None]
    machine = _told("fits_kind", machine=plain(_machine(build, job))) if kind else _told("fits_unknown")
    return [_told("fits"), machine, _told("fits_how"),
            "\n".join((_told("fits_head"), "|---|---|---|---|---|", *rows)),
            *((_told("fits_share", share=math.floor(min(shares))),) if shares else ())]


def _verdict(report: CheckReport) -> list[str]:
    blocks = [_told("verdict"), f"**{plain(report.headline)}**", _told("verdict_reader")]
    if report.actions:
        blocks += [_told("verdict_actions"), _bullets(map(plain, report.actions))]
    return [*blocks, _told("verdict_more")]


def _tried(job: Job) -> list[str]:
    service, trials = job.wishes.service, job.wishes.trials
    key, count = "tried_hours_one" if service.tested_machines == 1 else "tried_hours", service.tested_machines
    blocks = [_told("tried"), _told(key, hours=f"{service.tested_hours:g}", count=count)
              if service.tested_hours else _told("tried_none")]
    if trials:
        blocks += [_told("tried_prints"), _bullets(plain(trial_words(trial)) for trial in trials)]
    if job.fit_reports:
        blocks += [_told("tried_reports"), _bullets(plain(report_words(report)) for report in job.fit_reports)]
    return blocks


def _how_to_make(build: Build, job: Job) -> list[str]:
    coupon = [_told("make_coupon")] * any(piece.kind == "hole_coupon" for piece in build.pieces)
    first = words(_SECTION, "make_rows", page=page_words(job))
    return [_told("make"), _numbered((*first, *coupon, *words(_SECTION, "make_rows_after")))]


def _files(paths: list[str]) -> list[str]:
    ordered = sorted(paths, key=lambda path: ("/" in path, path))
    rows = [_told("files_row", path=path, purpose=purpose_of(path), unit=unit_of(path)) for path in ordered]
    return [_told("files"), "\n".join((_told("files_head"), "|---|---|---|", *rows)), _told("verify")]


def _licence(job: Job) -> list[str]:
    given = job.release.licence
    return [_told("licence"), _told("licence_given", licence=plain(given)) if given else _told("licence_none")]
