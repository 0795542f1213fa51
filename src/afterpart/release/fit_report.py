"""The form by which others tell how the part fitted: machine, year, three readings, photograph.

Words: the *three sizes* are those of the old part that tell best whether another is the same: outside widths first, then the
longest distance of holes, then others, each with its number on the inspection sheet.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.release.markdown import plain
from afterpart.release.old_part_sheet import ShownDimension, shown_dimensions
from afterpart.release.words import word, words

COUNT = 3
_SECTION = "readme"


def telling_sizes(outline: Outline) -> tuple[ShownDimension, ...]:
    """At most three dimensions of the old part, the most telling first."""
    lengths = [shown for shown in shown_dimensions(outline) if shown.dimension.kind != "angle"]
    by_size = sorted(lengths, key=lambda shown: (-shown.dimension.design, shown.number))
    widths, distances, rest = ([shown for shown in by_size if shown.dimension.kind in kinds] for kinds in
                               (("width", "over"), ("distance",), ("length", "diameter", "gap", "radius", "depth", "height")))
    return (*widths[:2], *distances[:1], *distances[1:], *rest)[:COUNT]


def size_words(shown: ShownDimension) -> dict[str, str]:
    """number, what and size of one dimension, as texts."""
    dimension = shown.dimension
    what = f"{word('drawing', f'kind_{dimension.kind}')} {', '.join(dimension.of)}"
    return {"number": str(shown.number), "what": what, "size": f"{dimension.design:.2f}".rstrip("0").rstrip(".")}


def report_form(job: Job, outline: Outline) -> str:
    """The form as Markdown, without a heading."""
    sizes = [word(_SECTION, "report_reading", **size_words(shown)) for shown in telling_sizes(outline)]
    rows = (*words(_SECTION, "report_rows"), *sizes, *words(_SECTION, "report_rows_after"))
    reports = job.release.reports
    sent_to = word(_SECTION, "report_to", reports=plain(reports)) if reports else word(_SECTION, "report_to_nobody")
    lines = "\n".join(f"- [ ] {row} ______" for row in rows)
    return f"{word(_SECTION, 'report_how')} {sent_to}\n\n{lines}\n\n{word(_SECTION, 'report_private')}\n"


def fit_report(job: Job, outline: Outline) -> bytes:
    """fit_report.md, UTF-8."""
    heading = word(_SECTION, "report_title", name=plain(job.name), revision=plain(job.revision))
    return f"{heading}\n\n{report_form(job, outline)}".encode()
