"""What changed from one released revision to the next: worked out from the two outlines, jobs, builds and reports.

Words: a *release* here is what a released folder's data holds; a dimension is the same in both when id, kind and segments are.
Conventions: mm; a size has moved when its design value has, by more than MOVED.
Limits: another photograph numbers its dimensions anew, so that what does not agree in kind and segments counts as gone and come.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from afterpart.formulas.print_scale import PrintFigures
from afterpart.formulas.trial_sizes import own_trials, printer_figures
from afterpart.model.assembly import Build
from afterpart.model.codec import to_plain
from afterpart.model.feature import BearingFace, Boss, Feature, Hole
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, CheckReport
from afterpart.model.history import Change, RevisionChanges
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Dimension, Outline, Point
from afterpart.model.piece import Piece
from afterpart.release.inspection_rows import expanded_u
from afterpart.release.shown import spoken
from afterpart.release.trial_words import report_leads_to, report_words, trial_leads_to, trial_words
from afterpart.release.words import word
from afterpart.words import symbol_words

MOVED = 1e-3
"""The last digit that papers show, mm."""

SHARPER = 0.95
"""A dimension is known better when its uncertainty falls below this share of what it was."""

_SECTION = "history"
_FOLLOWS = ("bottom", "top", "z", "face", "room", "plastic", "inner", "outer", "area", "contact", "squeeze", "fill", "strain",
            "bend", "land_outside", "land_inside", "shore_a")
"""Numbers of a feature that are no size of its own: where it lies, and what follows from other sizes."""
_ASKED_BY = {"thickness": ("cover.thickness", "holder.thickness", "filter.thickness"), "hole": ("role", "bolts", "hole"),
             "sleeve": ("bolts", "cover.thickness"), "boss": ("screws", "coupon", "boss", "holder"), "groove": ("seal",),
             "printedseal": ("seal",), "seat": ("filter", "holder", "screws"), "opening": ("inlet", "filter"), "lip": ("lip",),
             "bar": ("holder",), "rib": ("holder", "filter"), "latch": ("holder",)}
"""Keys that decide sizes of a feature, by its kind."""
_TABLES = {"changes": "change", "roles": "role", "holes": "hole", "bosses": "boss", "failure_modes": "failure_mode",
           "heights": "height"}
"""Job keys by the nouns' names, where they differ."""
_NAMED_BY = ("of", "feature", "name", "level", "item", "id")
_TOLD_APART = ("trials", "fit_reports", "readings", "shots", "revision", "date", "name")
"""What of a job is no key of its own here: it stands in tables of its own, or in the title."""


@dataclass(frozen=True)
class Released:
    """made_with: program and version."""

    job: Job
    outline: Outline
    build: Build
    report: CheckReport
    made_with: str


def changes_since(before: Released, now: Released) -> RevisionChanges:
    """Everything that changed, in the order of GROUPS.  JobError: a trial of either job names nothing in its outline."""
    sizes, sharper = _sizes(before, now)
    keys = _keys(before.job, now.job)
    pieces = _pieces(before, now, tuple(change.what for change in keys), bool(sizes))
    changes = (*sizes, *_places(before, now), *pieces, *keys, *_printer(before, now), *_judgement(before.report, now.report))
    return RevisionChanges(now.job.revision, now.job.date, before.job.revision, before.job.date, changes, _trials(before, now),
                           sharper)


def _sizes(before: Released, now: Released) -> tuple[list[Change], int]:
    """Dimensions that moved, came or went, and the count of those that are only known better."""
    old, new = ({_same(d): d for d in one.outline.dimensions} for one in (before, now))
    found, sharper = [], 0
    for key in (*new, *(key for key in old if key not in new)):
        was, is_now = old.get(key), new.get(key)
        if was is not None and is_now is not None and abs(was.design - is_now.design) <= MOVED:
            sharper += expanded_u(is_now) < SHARPER * expanded_u(was)
            continue
        shown = is_now or was
        assert shown is not None
        by = is_now.design - was.design if was is not None and is_now is not None else None
        found.append(Change("size", f"{shown.id}, {word('drawing', f'kind_{shown.kind}')} {', '.join(shown.of)}", _size(was),
                            _size(is_now), by, "deg" if shown.kind == "angle" else "mm", _cause(shown, before, now)))
    return found, sharper


def _same(dimension: Dimension) -> tuple[str, str, tuple[str, ...]]:
    return dimension.id, dimension.kind, dimension.of


def _size(dimension: Dimension | None) -> str:
    return "" if dimension is None else f"{dimension.design:.3f}"


def _cause(dimension: Dimension, before: Released, now: Released) -> str:
    """What moved a dimension: its own reading or report, else those of others, else the photograph, else the program."""
    new_readings = [reading for reading in now.job.readings if reading not in before.job.readings]
    new_reports = [report for report in now.job.fit_reports if report not in before.job.fit_reports]
    if any(reading.id == dimension.id for reading in new_readings):
        return _told("cause_reading", id=dimension.id)
    for report in new_reports:
        if any(size.id == dimension.id for size in report.sizes):
            return _told("cause_report", machine=report.machine)
    ids = dict.fromkeys([*(r.id for r in new_readings), *(size.id for report in new_reports for size in report.sizes)])
    if ids:
        return _told("cause_solved", ids=", ".join(ids))
    told = [[dataclasses.replace(shot, file="") for shot in one.job.shots] for one in (before, now)]
    if told[0] != told[1] or before.job.datum != now.job.datum:
        return _told("cause_photo")
    return "" if before.made_with == now.made_with else _told("cause_program", before=before.made_with, now=now.made_with)


def _places(before: Released, now: Released) -> list[Change]:
    """Round features whose middle moved in the drawing's frame."""
    old, new = _circles(before.outline), _circles(now.outline)
    found = []
    for name, (role, at) in new.items():
        was = old.get(name, ("", at))[1]
        apart = ((at[0] - was[0]) ** 2 + (at[1] - was[1]) ** 2) ** 0.5
        if apart > MOVED:
            found.append(Change("place", _told("place", kind=role, id=name), _at(was), _at(at), apart, "mm"))
    return found


def _circles(outline: Outline) -> dict[str, tuple[str, Point]]:
    return {segment.id: (loop.role, segment.center) for loop in outline.design for segment in loop.segments
            if isinstance(segment, Circle)}


def _at(point: Point) -> str:
    return f"({point[0]:.3f}, {point[1]:.3f})"


def _pieces(before: Released, now: Released, keys: tuple[str, ...], has_moved: bool) -> list[Change]:
    """Pieces that came or went, and sizes of their features.  keys: that are told otherwise; has_moved: some size of the
    drawing."""
    old, new = ({piece.file_stem: piece for piece in one.build.pieces} for one in (before, now))
    found = [Change("piece", spoken(piece), "", _told("piece_new")) for stem, piece in new.items() if stem not in old]
    found += [Change("piece", spoken(piece), _told("piece_gone"), "") for stem, piece in old.items() if stem not in new]
    for stem in (stem for stem in new if stem in old):
        was = dict(_piece_sizes(old[stem]))
        for key, size in _piece_sizes(new[stem]):
            if key in was and abs(was[key] - size) > MOVED:
                what = _told("thickness" if key[0] == "thickness" else "feature", piece=spoken(new[stem]),
                             feature=key[1] if key[1].startswith(key[0]) else f"{key[0]} {key[1]}", size=key[2])
                cause = _trial_cause(size, key, now) or _key_cause(key, keys) or (_told("cause_drawing") if has_moved else "")
                found.append(Change("piece", what, f"{was[key]:.3f}", f"{size:.3f}", size - was[key], "mm", cause))
    return found


def _piece_sizes(piece: Piece) -> Iterator[tuple[tuple[str, str, str], float]]:
    """Every size that a piece's features hold, by kind, name and size in words."""
    count = Counter[str]()
    yield ("thickness", "", ""), piece.thickness
    for feature in (f for f in piece.features if not isinstance(f, BearingFace)):
        kind = type(feature).__name__.lower()
        count[kind] += 1
        for field in dataclasses.fields(feature):
            value = getattr(feature, field.name)
            if isinstance(value, float) and field.name not in _FOLLOWS:
                yield (kind, _label(feature) or str(count[kind]), symbol_words(field.name)), value


def _key_cause(key: tuple[str, str, str], keys: tuple[str, ...]) -> str:
    """The keys told otherwise that decide sizes of such a feature; a row about another hole does not."""
    kind, name, _ = key
    named = [told for told in keys if told.startswith(_ASKED_BY.get(kind, ()))
             and (" " not in told or told.split(" ", 1)[1].rpartition(".")[0] == name)]
    return _told("cause_keys", keys=", ".join(named)) if named else ""


def _label(feature: Feature) -> str:
    return feature.id if isinstance(feature, Hole | Boss) else str(getattr(feature, "of", ""))


def _trial_cause(value: float, key: tuple[str, str, str], now: Released) -> str:
    """The trial a diameter was taken from."""
    if key[2] not in ("diameter", "pilot"):
        return ""
    found = [trial for trial in own_trials(now.job.wishes) if trial.what in ("pilot", "clearance")
             and trial.result in ("drove", "fits") and abs(trial.drawn - value) <= MOVED]
    return _told("cause_trial", trial=trial_words(found[0])) if found else ""


def _keys(before: Job, now: Job) -> list[Change]:
    """Keys of the job that are told otherwise."""
    old, new = dict(_flat_job(before)), dict(_flat_job(now))
    return [Change("key", key, old.get(key, ""), new.get(key, "")) for key in dict.fromkeys((*new, *old))
            if old.get(key, "") != new.get(key, "")]


def _flat_job(job: Job) -> Iterator[tuple[str, str]]:
    plain = to_plain(job)
    plain |= plain.pop("wishes")
    for name, value in plain.items():
        if name not in _TOLD_APART:
            yield from _flat(_TABLES.get(name, name), value)


def _flat(key: str, value: object) -> Iterator[tuple[str, str]]:
    """A plain value as pairs of key and text; rows of a table by what names them."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _flat(f"{key}.{name}", inner)
    elif isinstance(value, list) and value and all(isinstance(row, dict) for row in value):
        for row in value:
            by = next((name for name in _NAMED_BY if name in row), None)
            yield from _flat(f"{key} {row[by]}" if by else key, {n: v for n, v in row.items() if n != by})
    elif value is not None and value != "" and value != []:
        yield key, ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def _printer(before: Released, now: Released) -> list[Change]:
    """The printer's figures by the trials of either job."""
    old, new = (dict(_figures(printer_figures(one.job, one.outline))) for one in (before, now))
    return [Change("printer", what, old.get(what, ""), new.get(what, "")) for what in dict.fromkeys((*new, *old))
            if old.get(what) != new.get(what)]


def _figures(told: PrintFigures | None) -> Iterator[tuple[str, str]]:
    if told is None:
        return
    if told.is_scale_told:
        yield _told("printer_scale"), _told("figure_u", value=f"{told.scale:.4f}", u95=f"{2 * told.scale_u:.4f}")
    for key, value, u in (("undersize", told.undersize, told.undersize_u), ("oversize", told.oversize, told.oversize_u)):
        if value is not None:
            yield _told(f"printer_{key}"), _told("figure_u", value=f"{value:.3f}", u95=f"{2 * u:.3f}") + " mm"
    if told.is_scatter_told:
        yield _told("printer_scatter"), f"{told.scatter:.3f} mm"


def _judgement(before: CheckReport, now: CheckReport) -> list[Change]:
    """Headline, share of machines, and findings counted."""
    found = [Change("judgement", _told("headline"), before.headline, now.headline)]
    was, is_now = (next((f.value for f in report.findings if f.check == "fit_share" and f.value is not None), None)
                   for report in (before, now))
    by = is_now - was if was is not None and is_now is not None else None
    told = ["" if share is None else f"{share:.1f}" for share in (was, is_now)]
    found.append(Change("judgement", _told("fit_share"), told[0], told[1], by, "%"))
    found.append(Change("judgement", _told("counts"), _counts(before), _counts(now)))
    return [change for change in found if change.before != change.now]


def _counts(report: CheckReport) -> str:
    count = Counter(finding.verdict for finding in report.findings)
    return ", ".join(str(count[verdict]) for verdict in (FAILS, ATTENTION, NOT_JUDGED))


def _trials(before: Released, now: Released) -> tuple[tuple[str, str], ...]:
    """What was read, tried or reported since, with what it decides."""
    old, new = before.job, now.job
    readings = [(_told("reading", id=r.id, value=f"{r.value:g}", u=f"{r.u:g}"), _told("leads_reading"))
                for r in new.readings if r not in old.readings]
    trials = [(trial_words(t), trial_leads_to(t)) for t in new.wishes.trials if t not in old.wishes.trials]
    reports = [(report_words(r), report_leads_to(r)) for r in new.fit_reports if r not in old.fit_reports]
    return (*readings, *trials, *reports)


def _told(key: str, **fields: object) -> str:
    return word(_SECTION, key, **fields)
