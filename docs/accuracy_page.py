"""The text of docs/accuracy.md, from the figures that docs/make_accuracy.py measures.

Pure: `page` takes the figures and the page as it stands and returns the new page.  It holds no figure of its own but the aims
and what the study draws (tests/truth/varied.py).  In the section *Speed* the first paragraph is written here, what follows
it is kept.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import textwrap

WIDTH = 128


def prose(text: str) -> str:
    """One paragraph, wrapped; what stands between backticks is not broken."""
    held = re.sub(r"`[^`]*`", lambda found: found[0].replace(" ", "\0"), " ".join(text.split()))
    return textwrap.fill(held, WIDTH, break_long_words=False, break_on_hyphens=False).replace("\0", " ") + "\n"


def table(head: str, rows: list[list[object]]) -> str:
    """A table; head: its titles, joined by ` | `."""
    lines = [f"| {head} |", "|" + "---|" * (head.count(" | ") + 1), *(f"| {' | '.join(map(str, row))} |" for row in rows)]
    return "\n".join(lines) + "\n"


def page(found: dict, old: str) -> str:
    """The whole text.  found: figures by section, absent ones left out; old: the page as it stands."""
    writers = {"photographs": photographs, "study": study, "heights": heights, "steps": steps, "real": real,
               "speed": lambda f: speed(f, kept_speed(old))}
    sections = [head(), *(write(found[name]) for name, write in writers.items() if found.get(name))]
    if not found.get("speed"):
        sections.append("".join(old.partition("## Speed\n")[1:]))
    return "\n".join(sections)


def head() -> str:
    """What the words mean."""
    return "# How well it measured\n\n" + prose("""
        Every figure here was measured by `python docs/make_accuracy.py`, which writes this page; none is an aim or an estimate
        unless it says so. They describe these photographs, not yours: overlay, paper and check plate are the proof for your part.
        *Dimension error*: hole diameters and distances between hole centres as measured, against the true drawing. *Design hits*:
        hole diameters, distances and arc radii of the design outline that are exactly the drawing's. *Within 2 u*: dimensions of
        all kinds whose measured value is no farther from the true one than twice its stated standard uncertainty; where
        uncertainty is stated right, about 95 of 100.""")


def photographs(f: dict) -> str:
    """Seven photographs with known drawings."""
    rows = []
    for way, w in f["ways"].items():
        told = re.sub(r"^`(--span) (.*)`$", r"`\1` \2", f"`{w['options']}`")
        rows.append([way.split()[0], told, f"{w['found']} of {w['holes']}", w["invented"],
                     f"{w['median']:.3f} / {w['largest']:.3f}", f"{w['hits']} of {w['asked']}",
                     f"{w['hits_after']} of {w['asked']}", f"{w['within_2u']} of {w['dimensions']}"])
    return "\n".join([
        "## Seven photographs with known drawings\n",
        prose("""Rendered, physically based, 12 megapixels, JPEG; kept beside the checkout in `../shared/photos`, not in it. Told
              to `measure`: the kind of reference, its height and the face height, as in the table; never the camera, the lens or
              the rounding of the edges. *After three*: with the three readings the program asks for, each the true value with an
              error of 0.015 mm (one standard deviation)."""),
        table("photograph | options | holes found | circles invented | dimension error, median / largest, mm | design hits | "
              "after three | within 2 u", rows),
        prose(f"""The seven (calliper included) together: median {f['median']:.3f} mm, 95th percentile {f['p95']:.3f} mm of
              {f['n']}, design hits {f['hits'] / f['asked']:.3f}, after three readings {f['hits_after'] / f['asked']:.3f}, within
              2 u {f['within_2u'] / f['dimensions']:.3f}. To repeat by hand, for each photograph
              `.venv/bin/python -m afterpart measure ../shared/photos/NAME.jpg --out RESULTS/NAME OPTIONS`, then
              `.venv/bin/python ../shared/photos/score.py ../shared/photos RESULTS`. `tests/truth/test_shared_photos.py` holds
              the limits.""")])


def study(f: dict) -> str:
    """The Monte Carlo study."""
    rows = [[name, k["n"], f"{k['within_2u']:.3f}", f"{k['se']:.3f}", f"{k['ratio']:.2f}", f"{k['median']:.3f}",
             f"{k['p95']:.3f}"]
            for name, k in (("all lengths", f["all"]), *f["by_kind"].items(), *f["by_reference"].items()) if k["n"]]
    tenths = [[f"{r['from']:.1f} to {r['from'] + 0.1:.1f}", r["n"], f"{r['stated']:.3f}", f"{r['right']:.3f}"]
              for r in f["reliability"]]
    states = ", ".join(f"{n} {state}" for state, n in f["states"].items())
    wrong, shrunk = (", ".join(f"{k} {w} of {n}" for k, (w, n) in f[f"sure_by_{by}"].items()) for by in ("reference", "moulding"))
    exact, size = (", ".join(f"{k} {ok / n:.2f}" for k, (ok, n) in f[f"exact_by_{by}"].items() if n)
                   for by in ("reference", "moulding"))
    return "\n".join([
        "## Does the stated uncertainty hold\n",
        prose(f"""`python -m tests.truth.study` photographs invented parts by calculation, {f['scenes']} of them at
              {' and '.join(f'{m:g}' for m in f['megapixels'])} megapixels, and everything that can be off is off by a drawn
              amount: pose, lens, the focal length the file tells, light, blur, noise, sharpening with its halo, JPEG quality
              70 to
              97; the face height as typed (standard deviation 0.05 mm); sheets 0.7 mm off a side, cut at the tolerance of
              ISO 216,
              rules off by 3 in 10 000, callipers by 0.02 mm, picked points by half a pixel; and the part itself: draft up to 1.5
              degrees, shrinkage of 0.2 to 1 % on half of them and not alike in x and y, openings 0.03 mm off their place, sizes
              0.02 mm off, faces bowed by up to 0.3 mm. Measured values are held against the part, design values against its
              drawing."""),
        prose(f"""Scenes: {states}. Openings: {f['missed']} of {f['openings']} missed, {f['invented']} invented. Of
              {f['dimensions']} dimensions {f['without_partner']} belong to segments that do not lie along a true one and are not
              counted ({f['sure_without_partner']} of these are given 0.95 or more)."""),
        table("dimensions | n | within 2 u | its standard error | rms error / rms u | error, median, mm | 95 % below, mm", rows),
        prose("""Aim: 0.92 to 0.98 within 2 u. The standard error counts scenes, not dimensions, since those of one picture share
              its scale; angles are in degrees and not among all lengths."""),
        prose(f"""Contradictions named where there is none (what was misread stays within its tolerance; the scale of a shrunk
              part is none of them): in {f['alarms']['scenes']} of {f['alarms']['of']} scenes (aim: under 2 of 100)."""),
        table("stated probability of a design value | n | stated, mean | share right", tenths),
        prose(f"""The primary figure: of {f['sure']} dimensions given 0.95 or more, {f['sure_wrong']} are wrong, in
              {f['sure_wrong_scenes']} scenes (aim: at most 1 in 200); by reference: {wrong}; by part: {shrunk}. Called free,
              and not counted there:
              {f['free']}. Exactly the drawing's, of all {f['with_nominal']} with a nominal:
              {f['exact'] / max(1, f['with_nominal']):.2f} ({exact}; {size})."""),
        *([prose(readings(f["readings"]))] if f.get("readings") else [])])


def readings(r: dict) -> str:
    """Asked-for readings against random ones."""
    a, b = r["asked"], r["random"]
    gained, lucky = (w["right_after"] - w["right_before"] for w in (a, b))
    return f"""Three readings asked for against three random ones of the same kinds, each the true value with an error of 0.015 mm
        ({r['scenes']} scenes): {gained:+.0f} design values right against {lucky:+.0f}, of {a['dimensions']:.0f};
        {a['bits_u']:.0f} bits of uncertainty less against {b['bits_u']:.0f} (sum of log2 of u before over u after);
        {a['bits_design']:.0f} bits of better verdicts against {b['bits_design']:.0f} (sum of log2 of the probability given
        to what
        is the case, after over before)."""


def heights(f: dict) -> str:
    """Several photographs: heights, and the other face."""
    rows = [[name, h["n"], f"{h['mean']:+.3f} ({h['mean_u']:.3f})", f"{h['median']:.3f}", f"{h['z_rms']:.2f}",
             f"{h['within_2u']:.2f}", f"{h['dimension']:.3f}"] for name, h in f["heights"].items() if "mean" in h]
    faces = f["faces"]
    other = "" if faces is None else f"""The other face of {faces['fit']} of {faces['n']} plates, photographed once from either
        side: its openings stand {faces['median']:.3f} mm (middle one) and at most {faces['largest']:.3f} mm off the drawn face's
        as a whole (aim 0.03); draft of upright walls, rms error / u: {faces['draft_z']:.2f}."""
    return "\n".join([
        "## Heights from several photographs\n",
        prose("""`python -m tests.truth.heights_study` photographs invented parts from nearly above and once or twice aslant, at 4
              megapixels, with nothing told of heights, standing on sharp bottom edges; the table holds the face's height as the
              photographs tell it against the true one. *Dimension error*: round openings' diameters and distances, median. What
              tells a height is the face's far edge, which hides as much as the edge is rounded: a rounding judged too large by
              0.1 mm makes the height too large by about as much, and most of what is stated of a height is how well the rounding
              is known."""),
        table("reference | sets | mean error (its u), mm | median error, mm | rms error / u | within 2 u | "
              "dimension error, mm", rows),
        prose(f"Aim: no mean error beyond its uncertainty, 0.90 to 0.99 within 2 u; a larger `-n` is a larger sample. {other}")])


def steps(f: dict) -> str:
    """Pockets and pads."""
    a, h = f["all"], f["higher"]
    return "\n".join([
        "## Pockets and pads\n",
        prose(f"""`python -m tests.truth.steps_study` photographs {a['n']} plates, each with one stretch of its face sunk or
              raised by 0.6 to 3 mm, 7.5 pixels to the millimetre, its depth told. {a['found']} of {a['n']} are found as what they
              are ({h['found']} of the {h['n']} of {f['least']:g} mm and more), {a['mistaken']} are mistaken for something else,
              and {a['invented']} openings are invented beside them, {a['missed']} missed. Their walls stand {a['off']:.3f} mm off
              as a whole (middle one; at most {a['off_most']:.3f}), 95 of 100 points within {a['off_95']:.3f} mm. Of {a['sizes']}
              widths, diameters and corner radii the design has {a['exact']} exactly.""")])


def real(f: dict) -> str:
    """Coins, ruled paper."""
    coins = [(got, mm) for got, mm in f["coins"].values() if got is not None]
    good = sum(abs(got - mm) <= f["limit"] for got, mm in coins)
    listed = ", ".join(f"{got:.2f} of {mm:.2f}" for got, mm in coins)
    return "\n".join([
        "## Real photographs\n",
        prose(f"""`tests/real` (pictures in `../shared/real`): ruled paper, {f['paper_lines']} lines, has a uniform pitch to
              {f['paper_worst']:.3f} mm after correction, and a phone's HEIC file decodes upright with its focal length. Of
              {len(f['coins'])} euro coins on a curled stack of sheets (4.6 pixels to the millimetre) {good} come out within
              {f['limit']:g} mm of their published diameter ({listed}); seen aslant, the {f['distances']} distances between their
              centres differ by up to {f['worst_distance']:.2f} mm (limit {f['distance_limit']:g}). What misses its limit is
              marked
              in the tests as a failure that is expected.""")])


def speed(f: dict, kept: str) -> str:
    """Benchmarks; kept: what stands on the page below them."""
    m, s = f["measure"], f["startup"]
    return "\n".join([
        "## Speed\n",
        prose(f"""`make bench`, a {m['megapixels']:g} megapixel photograph, one thread, both looks and the outline, files not
              written: {m['measure_ratio']:g} times the time to decode the same file to grey (aim {m['aim_ratio']:g}),
              {m['outline_ratio']:g} of these for the outline. Largest memory {m['peak_memory_mb']:g} MB (aim
              {m['aim_memory_mb']:g}). `afterpart --help` takes {s['ratio']:g} times as long as starting the bare interpreter
              ({s['interpreter_s']:g} s)."""), *([kept] if kept else [])])


def kept_speed(text: str) -> str:
    """What stands in the page's section Speed below its first paragraph."""
    section = text.partition("## Speed\n")[2].strip("\n")
    rest = section.partition("\n\n")[2].strip("\n")
    return rest + "\n" if rest else ""
