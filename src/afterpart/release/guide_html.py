"""The assembly guide as one page for a browser: no script, pictures within, to be read on a phone and printed.
On a narrow screen a table's rows stand one below the other, each cell beside the heading of its column.

Each line has a box to tick, which lasts as long as the page is open.  Colours keep a contrast of at least 4.5 to 1 (WCAG 2, AA):
INK, QUIET and DANGER on PAPER and SHADE.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import base64
from collections.abc import Mapping
from html import escape

from afterpart.model.release import TitleBlock
from afterpart.release.guide import Chapter, Guide, Step, Table
from afterpart.release.guide_pdf import caution_heading, png_size
from afterpart.release.words import word

INK, QUIET, DANGER, PAPER, SHADE = "#1c262b", "#4a565c", "#8c1d10", "#ffffff", "#f1f4f5"
_STYLE = f"""
:root {{ color-scheme: light; }}
* {{ box-sizing: border-box; }}
body {{ margin: 0 auto; padding: 1rem; max-width: 52rem; color: {INK}; background: {PAPER};
  font: 1.0625rem/1.5 system-ui, "Liberation Sans", Arial, sans-serif; overflow-wrap: break-word; }}
h1 {{ font-size: 1.7rem; line-height: 1.2; }}
h2 {{ font-size: 1.35rem; border-top: 2px solid {INK}; padding-top: .6rem; margin-top: 2.2rem; }}
h3 {{ font-size: 1.1rem; margin: 1.4rem 0 .3rem; }}
a {{ color: {INK}; }}
.frame {{ border: 2px solid {INK}; padding: .4rem 1rem; }}
.mind {{ border-left: .4rem solid {DANGER}; background: {SHADE}; padding: .4rem .8rem; margin: .5rem 0; }}
.mind strong {{ color: {DANGER}; }}
ul.do {{ list-style: none; padding: 0; margin: .3rem 0; }}
ul.do label {{ display: grid; grid-template-columns: 2rem 1fr; align-items: start; padding: .35rem 0; min-height: 2.75rem; }}
ul.do input {{ width: 1.35rem; height: 1.35rem; margin: .1rem 0 0; }}
figure {{ margin: .8rem 0; }}
img {{ max-width: 100%; height: auto; border: 1px solid {QUIET}; }}
figcaption, .quiet {{ color: {QUIET}; font-size: .95rem; }}
table {{ border-collapse: collapse; width: 100%; font-size: .95rem; margin: .6rem 0; }}
caption {{ text-align: left; font-weight: bold; padding: .3rem 0; }}
th, td {{ border: 1px solid {QUIET}; padding: .3rem .45rem; text-align: left; vertical-align: top; }}
th {{ background: {SHADE}; }}
@media screen and (max-width: 42rem) {{
  table, tbody, tr, td {{ display: block; }}
  thead {{ position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }}
  caption {{ display: block; }}
  tr {{ border: 1px solid {QUIET}; margin: 0 0 .6rem; }}
  td {{ border: 0; border-top: 1px solid {SHADE}; display: grid; grid-template-columns: 7rem 1fr; gap: .5rem; }}
  td::before {{ content: attr(data-head); color: {QUIET}; }}
  td:first-child {{ border-top: 0; background: {SHADE}; font-weight: bold; }} }}
@media print {{ body {{ max-width: none; padding: 0; font-size: 10.5pt; }} h2, h3 {{ break-after: avoid; }}
  figure, tr, .mind, ul.do li {{ break-inside: avoid; }} img {{ max-height: 8.5cm; }} }}
"""


def guide_html(guide: Guide, pictures: Mapping[str, bytes], title: TitleBlock) -> bytes:
    """The page, UTF-8.  pictures: PNG by name (step_pictures.py); a step's picture that is not there is left out."""
    heading = escape(f"{word('guide', 'title')}: {guide.name}")
    issued = " ".join(filter(None, (title.date, title.made_with)))
    parts = [
        f'<!DOCTYPE html>\n<html lang="{escape(word("drawing", "code"))}">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{heading}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n<header>\n<h1>{heading}</h1>\n</header>\n<main>",
        _verdict(guide), _cautions(guide), _contents(guide),
        *(_chapter(number, chapter, guide, pictures) for number, chapter in enumerate(guide.chapters)),
        f'</main>\n<footer><p class="quiet">{escape(issued)}</p></footer>\n</body>\n</html>\n']
    return "\n".join(parts).encode("utf-8")


def _verdict(guide: Guide) -> str:
    lines = "".join(f"<p>{escape(text)}</p>" for text in guide.actions)
    return (f'<section class="frame"><h2 style="border:0;margin:0">{escape(word("guide", "verdict_title"))}</h2>'
            f"<p><strong>{escape(guide.verdict)}</strong></p>{lines}</section>")


def _cautions(guide: Guide) -> str:
    told = []
    for caution in guide.cautions:
        heading = caution_heading(caution)
        strong = f"<strong>{escape(heading)}.</strong> " if heading else ""
        told.append(f'<p class="mind">{strong}{escape(caution.text)}</p>')
    return f'<section>\n<h2>{escape(word("guide", "cautions_title"))}</h2>\n' + "\n".join(told) + "\n</section>"


def _contents(guide: Guide) -> str:
    links = "\n".join(f'<li><a href="#part-{number}">{escape(chapter.title)}</a></li>'
                      for number, chapter in enumerate(guide.chapters))
    return (f'<nav aria-label="{escape(word("guide", "contents"))}">\n<h2>{escape(word("guide", "contents"))}</h2>\n'
            f'<ul>\n{links}\n</ul>\n<p class="quiet">{escape(word("guide", "tick"))}</p>\n</nav>')


def _chapter(number: int, chapter: Chapter, guide: Guide, pictures: Mapping[str, bytes]) -> str:
    intro = f"<p>{escape(chapter.intro)}</p>" if chapter.intro else ""
    notes = "\n".join(f"<p>{escape(note)}</p>" for note in chapter.notes)
    steps = "\n".join(_step(step, guide, pictures) for step in chapter.steps)
    tables = "\n".join(map(_table, chapter.tables))
    return (f'<section id="part-{number}">\n<h2>{escape(chapter.title)}</h2>\n{intro}\n{steps}\n{tables}\n{notes}\n</section>')


def _step(step: Step, guide: Guide, pictures: Mapping[str, bytes]) -> str:
    mind = (f'<p class="mind"><strong>{escape(word("guide", "warning"))}:</strong> {escape(step.warning)}</p>\n'
            if step.warning else "")
    lines = "\n".join(f'<li><label><input type="checkbox"><span>{escape(action)}</span></label></li>' for action in step.actions)
    figures = "\n".join(_figure(name, pictures[name], guide) for name in step.pictures if name in pictures)
    actions = f'<ul class="do">\n{lines}\n</ul>' if lines else ""
    return f"<h3>{escape(step.title)}</h3>\n{mind}{actions}\n{figures}"


def _figure(name: str, data: bytes, guide: Guide) -> str:
    """A picture with its caption; the caption says what an alternative text would."""
    columns, rows = png_size(data)
    caption = escape(word("guide", "picture_of", what=guide.captions.get(name, name)))
    inlined = base64.b64encode(data).decode("ascii")
    return (f'<figure><img src="data:image/png;base64,{inlined}" width="{columns}" height="{rows}" alt="{caption}">'
            f"<figcaption>{caption}</figcaption></figure>")


def _table(table: Table) -> str:
    head = "".join(f'<th scope="col" role="columnheader">{escape(cell)}</th>' for cell in table.head)
    rows = "\n".join('<tr role="row">' + "".join(
        f'<td role="cell" data-head="{escape(name)}">{escape(cell)}</td>' for name, cell in zip(table.head, row, strict=True))
        + "</tr>" for row in table.rows)
    caption = f"<caption>{escape(table.title)}</caption>" if table.title else ""
    # rows laid out as blocks are no table to a screen reader any more unless it is told
    return (f'<table role="table">{caption}<thead role="rowgroup"><tr role="row">{head}</tr></thead>\n'
            f'<tbody role="rowgroup">\n{rows}\n</tbody></table>')
