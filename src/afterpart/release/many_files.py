"""The summary of many jobs: one table as CSV (for a spreadsheet) and as one page for a browser, without script.

Conventions: CSV as in RFC 4180 (from memory), UTF-8, a text that begins like a formula gets a ' before it, so that a spreadsheet
shows it and does not reckon it.  Failed jobs stand first.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Sequence
from html import escape
from urllib.parse import quote

from afterpart.model.many import CURRENT, DONE, FAILED, JobRow
from afterpart.release.words import words

ORDER = (FAILED, DONE, CURRENT)
LIKE_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
MARKS = {FAILED: "✕", DONE: "✓", CURRENT: "="}
"""Results are told by word and shape, and by colour last."""
_STYLE = """
:root { color-scheme: light; }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 1rem; max-width: 75rem; color: #1c262b; background: #fff;
  font: 1rem/1.45 system-ui, "Liberation Sans", Arial, sans-serif; overflow-wrap: break-word; }
h1 { font-size: 1.5rem; line-height: 1.2; }
a { color: #1c262b; }
table { border-collapse: collapse; width: 100%; font-size: .95rem; }
caption { text-align: left; padding: .3rem 0; }
th, td { border: 1px solid #4a565c; padding: .3rem .45rem; text-align: left; vertical-align: top; }
th { background: #f1f4f5; }
td.number { text-align: right; white-space: nowrap; }
td.result { white-space: nowrap; }
td.job, td.text { overflow-wrap: anywhere; min-width: 10rem; }
tr.failed td.result { color: #8c1d10; font-weight: bold; }
@media screen and (max-width: 42rem) {
  table, tbody, tr, td { display: block; }
  thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
  tr { border: 1px solid #4a565c; margin: 0 0 .6rem; }
  td, td.number { border: 0; border-top: 1px solid #f1f4f5; text-align: left; display: grid;
    grid-template-columns: 6rem 1fr; gap: .5rem; }
  td::before { content: attr(data-head); color: #4a565c; }
  td:first-child { border-top: 0; background: #f1f4f5; font-weight: bold; } }
@media print { body { max-width: none; padding: 0; } tr { break-inside: avoid; } }
"""


def in_order(rows: Sequence[JobRow]) -> tuple[JobRow, ...]:
    """Failed first, then what was done, then what was up to date; by name."""
    return tuple(sorted(rows, key=lambda row: (ORDER.index(row.state), row.name)))


def tally(rows: Sequence[JobRow]) -> str:
    """How many of each, in words."""
    counts = Counter(row.state for row in rows)
    return f"{len(rows)} jobs: " + ", ".join(f"{counts[state]} {state}" for state in ORDER)


def many_csv(rows: Sequence[JobRow]) -> bytes:
    """The table, one row a job, with its heading."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(("job", "result", "reached", "text", "folder", "seconds"))
    for row in in_order(rows):
        cells = (row.name, row.state, row.reached, row.text.replace("\n", " "), row.place)
        writer.writerow((*map(_harmless, cells), f"{row.seconds:.1f}"))
    return stream.getvalue().encode("utf-8")


def many_html(rows: Sequence[JobRow], stretch: str) -> bytes:
    """The page, UTF-8; its links lead to the results beside it.  stretch: how far the jobs were to be taken."""
    lines = ["<!DOCTYPE html>", '<html lang="en">', "<head>", '<meta charset="utf-8">',
             '<meta name="viewport" content="width=device-width, initial-scale=1">', "<title>Many jobs</title>",
             f"<style>{_STYLE}</style>", "</head>", "<body>", "<main>", f"<h1>{escape(tally(rows))}</h1>",
             f"<p>Each was to be taken as far as: {escape(stretch)}. What has failed stands first; the other results are not "
             "touched by it. Nothing here is proven until it has been tried on the machine.</p>",
             "<table>", "<thead><tr>", *(f'<th scope="col">{escape(text)}</th>' for text in words("many", "headings")),
             "</tr></thead>", "<tbody>"]
    lines += [_line(row) for row in in_order(rows)]
    return "\n".join((*lines, "</tbody>", "</table>", "</main>", "</body>", "</html>", "")).encode("utf-8")


def _line(row: JobRow) -> str:
    name = escape(row.name)
    linked = f'<a href="{escape(quote(row.place), quote=True)}/">{name}</a>' if row.reached else name
    cells = ((linked, "job"), (f"{MARKS[row.state]} {escape(row.state)}", "result"), (escape(row.reached) or "nothing", ""),
             (escape(row.text).replace("\n", "<br>"), "text"), (f"{row.seconds:.1f}", "number"))
    inner = "".join(f'<td data-head="{escape(head)}"{f" class={kind!r}" if kind else ""}>{text}</td>'
                    for (text, kind), head in zip(cells, words("many", "headings"), strict=True))
    return f'<tr class="{escape(row.state.replace(" ", "-"))}">{inner}</tr>'


def _harmless(text: str) -> str:
    return f"'{text}" if text.startswith(LIKE_A_FORMULA) else text
