"""The history of a released folder: on paper, as a table, as Markdown and for other programs; and its section of the README.

All words stand in words/history.toml.  Same history, same bytes.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io

from afterpart.model.history import GROUPS, Change, History, RevisionChanges
from afterpart.model.release import TitleBlock
from afterpart.model.store import history_json
from afterpart.release.flow_table import draw_table
from afterpart.release.flowing import Flow
from afterpart.release.guide import Table
from afterpart.release.markdown import plain
from afterpart.release.paper import Paper
from afterpart.release.words import word, words

_SECTION = "history"
_SHARES, _TRIAL_SHARES = (0.28, 0.18, 0.18, 0.12, 0.24), (0.62, 0.38)
_README_ROWS = 12
_TITLE = 5.2
_LONG = 60
"""Letters beyond which a key's value is cut short in tables; the CSV has it whole."""


def history_files(history: History, title: TitleBlock) -> dict[str, bytes]:
    """history.md, history.pdf, history.csv, data/history.json."""
    return {"history.md": history_md(history, title), "history.pdf": history_pdf(history, title),
            "history.csv": history_csv(history), "data/history.json": history_json(history)}


def history_md(history: History, title: TitleBlock) -> bytes:
    """Markdown, UTF-8: one chapter a revision, the newest first."""
    blocks = [_told("title", name=plain(title.name)), _told("about")]
    for revision in history.revisions:
        blocks += [f"## {plain(heading(revision))}", *map(plain, summary(revision))]
        for table in tables(revision):
            rows = [f"| {' | '.join(plain(cell) for cell in row)} |" for row in table.rows]
            blocks += [f"### {table.title}",
                       "\n".join((f"| {' | '.join(table.head)} |", "|---" * len(table.head) + "|", *rows))]
    return ("\n\n".join(blocks) + "\n").encode()


def history_pdf(history: History, title: TitleBlock) -> bytes:
    """The same on A4."""
    name = _told("paper_title", name=title.name, revision=title.revision)
    paper = Paper(title, _told("subject"))
    flow = Flow(paper, name)
    flow.paragraph(name, _TITLE)
    flow.skip(1.5)
    flow.paragraph(_told("about"))
    for revision in history.revisions:
        flow.heading_line(heading(revision))
        for text in summary(revision):
            flow.paragraph(text)
        for table in tables(revision):
            draw_table(flow, table)
    return paper.finish()


def history_csv(history: History) -> bytes:
    """Every change as a row, UTF-8 (RFC 4180)."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(words(_SECTION, "csv_head"))
    for revision in history.revisions:
        writer.writerows((revision.revision, revision.before, change.group, change.what, change.before, change.now,
                          "" if change.by is None else f"{change.by:.4f}", change.unit, change.cause)
                         for change in revision.changes)
        writer.writerows((revision.revision, revision.before, "trial", what, "", "", "", "", leads_to)
                         for what, leads_to in revision.trials)
    return stream.getvalue().encode()


def readme_section(changes: RevisionChanges) -> tuple[str, ...]:
    """Blocks of Markdown for the README of the folder."""
    sizes, pieces, keys = (changes.of_group(group) for group in ("size", "piece", "key"))
    counts = {"count": len(sizes), "pieces": len(pieces), "keys": len(keys)}
    said = _told("readme_sizes", **counts) if sizes or pieces else _told("readme_none")
    blocks = [_told("readme", before=plain(changes.before)), f"{said} {_told('readme_print_again')}"]
    if sizes or pieces:
        rows = [f"| {' | '.join(map(plain, _cells(change)[:3]))} | {plain(change.cause)} |"
                for change in (*sizes, *pieces)[:_README_ROWS]]
        blocks.append("\n".join((_told("readme_head"), "|---|---|---|---|", *rows)))
    return tuple(blocks)


def revision_lines(history: History) -> tuple[str, ...]:
    """A line for each revision, the newest first, as the drawing's sheet has them."""
    return tuple(_told("sheet", heading=heading(revision), sizes=len(revision.of_group("size")),
                       places=len(revision.of_group("place")), pieces=len(revision.of_group("piece")))
                 for revision in history.revisions)


def heading(revision: RevisionChanges) -> str:
    """One revision's heading."""
    now, before = (_told("dated", revision=name, date=date) if date else name
                   for name, date in ((revision.revision, revision.date), (revision.before, revision.before_date)))
    return _told("revision", revision=now, before=before)


def summary(revision: RevisionChanges) -> tuple[str, ...]:
    """What is said before the tables."""
    found = []
    if not any(revision.of_group(group) for group in ("size", "place", "piece", "key")):
        found.append(_told("nothing"))
    if revision.sharper:
        found.append(_told("sharper_one") if revision.sharper == 1 else _told("sharper", count=revision.sharper))
    return tuple(found)


def tables(revision: RevisionChanges) -> tuple[Table, ...]:
    """Trials first, for they are the cause; then one table a group that changed."""
    found = []
    if revision.trials:
        found.append(Table(_told("group_trials"), words(_SECTION, "trials_head"), revision.trials, _TRIAL_SHARES))
    for group in GROUPS:
        rows = tuple(map(_cells, revision.of_group(group)))
        if rows:
            found.append(Table(_told(f"group_{group}"), words(_SECTION, "head"), rows, _SHARES))
    return tuple(found)


def _cells(change: Change) -> tuple[str, ...]:
    unit = f" {change.unit}" if change.unit and change.group != "place" else ""
    cut = _short if change.group == "key" else str
    before, now = (f"{cut(text)}{unit}" if text else "" for text in (change.before, change.now))
    by = "" if change.by is None else f"{change.by:+.3f} {change.unit}" if change.group != "place" else f"{change.by:.3f} mm"
    return change.what, before, now, by, change.cause


def _short(text: str) -> str:
    return text if len(text) <= _LONG else f"{text[:_LONG - 2]}.."


def _told(key: str, **fields: object) -> str:
    return word(_SECTION, key, **fields)
