"""The hole coupon: a ladder of holes of stepped sizes, to learn what this printer makes of them, and pieces in four pilot sizes.

Words: the *ladder* is the row of holes, each one step wider than the one before; pilot holes stand in bosses of the job's own
diameter and depth, clearance holes in plain posts as high as the plate they are for, open at both ends.
Frame: base on the bed, bosses up, as the clamp frame prints; the smallest hole on the left.  mm.
Limits: a coupon tells about one printer, one material and one setting; it is driven to destruction and thrown away.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

from afterpart.errors import JobError
from afterpart.model.edges import Note
from afterpart.model.feature import Boss, Feature, Hole
from afterpart.model.job import Job
from afterpart.model.outline import Line, Point
from afterpart.model.piece import (
    Add,
    ChamferFirstLayer,
    Cone,
    Cut,
    Deboss,
    HoleLabel,
    Lettering,
    Piece,
    PrintTime,
    Prism,
    Solid,
    Step,
)
from afterpart.model.wishes import CouponWish, CoverWish, HolderWish
from afterpart.parts.bolt_circles import hole_row
from afterpart.parts.print_time import pace_in_words, print_minutes
from afterpart.parts.screw_boss import BLIND, BossPlan, bore, plan_boss, rule_pilot, screws_of, usual_clearance
from afterpart.solid.lettering import plain_text, text_width
from afterpart.words import entry, paragraph, tell, translated

BASE = 2.4
"""Thickness of the base: it must not bend under the driver."""
TEXT = 3.2
TEXT_DEPTH = 0.4
MARGIN = 2.0
CHAMFER = 0.4
FIRST_BELOW = 0.1
"""The ladder starts this much under the rule's hole where the job gives no start."""
VARIANTS = (-0.05, 0.0, 0.05, 0.10)
"""By how much the pilot holes of a piece differ in the four sizes it can be written in."""
MOST = 24
_ENGRAVED = {"pilot": entry("PILOT"), "clearance": entry("CLEARANCE")}
"""What kind of holes they are, as it is sunk into the base."""

RULE = entry("Of the holes in which the screw drove take the middle one; of an even number, the wider of the two in the middle.")
"""As trials.pilot_from_trials chooses."""
BESIDE = 2.4
"""Wall round a clearance hole."""


@dataclass(frozen=True)
class _Layout:
    """Where things stand.  at: middles of the holes; size: length and depth of the base; texts: what is written, and where."""

    at: tuple[Point, ...]
    size: tuple[float, float]
    texts: tuple[Lettering, ...]


@dataclass(frozen=True)
class _Post:
    """The round post about each hole: its diameter, height over the bed, what goes into it, and the boss's plan, None where the
    hole goes through."""

    diameter: float
    height: float
    screw: str
    plan: BossPlan | None


def make_coupon(job: Job) -> Piece:
    """The coupon that the job's [coupon] asks for (a ladder of pilot holes where it has none).

    JobError naming the key: a step or count that makes no ladder, holes larger than the screw, a coupon larger than the bed.
    """
    wish = job.wishes.coupon or CouponWish()
    sizes = ladder(job)
    post = _pilot_post(job) if wish.hole == "pilot" else _clearance_post(job, sizes)
    layout = _lay_out(job, sizes, post.diameter, wish.hole)
    posts = tuple(Cone(at, BASE, post.height, post.diameter / 2, post.diameter / 2) for at in layout.at)
    holes = tuple(hole for at, d in zip(layout.at, sizes, strict=True) for hole in _hole(post, at, d))
    steps: tuple[Step, ...] = (
        Add((Prism(_box(layout.size), (), 0.0, BASE), *posts)),
        Cut(holes),
        ChamferFirstLayer(CHAMFER),
        Deboss(layout.texts, BASE, TEXT_DEPTH),
    )
    share = BASE / post.height
    area = layout.size[0] * layout.size[1] * share + len(sizes) * math.pi * post.diameter**2 / 4 * (1 - share)
    minutes = print_minutes(area, post.height)
    return Piece(kind="hole_coupon", name=tell("{job} hole coupon", job=job.name), file_stem="hole_coupon", revision=job.revision,
                 steps=steps, thickness=post.height,
                 labels=tuple(HoleLabel(i, f"h{i}", at, text.at)
                              for i, (at, text) in enumerate(zip(layout.at, layout.texts, strict=False), start=1)),
                 print_time=PrintTime(minutes, minutes, pace_in_words(area, post.height)), notes=_notes(job, post, sizes),
                 features=_features(post, layout.at, sizes), through_holes=0 if post.plan is not None else len(sizes),
                 material=job.wishes.printer.material,
                 orientation=tell("base on the bed, bosses up, as the clamp frame prints: holes print the same way round as in "
                                  "the part"))


def ladder(job: Job) -> tuple[float, ...]:
    """Diameters of the coupon's holes, drawn.  JobError naming coupon.step, coupon.count or coupon.start."""
    wish = job.wishes.coupon or CouponWish()
    if wish.step <= 0 or not 2 <= wish.count <= MOST:
        raise JobError(tell("coupon.step, coupon.count: {step:g} mm and {count} found, a step above 0 and 2 to {most} holes "
                            "expected", step=wish.step, count=wish.count, most=MOST))
    _, outside, clearance = _through(job)
    usual = rule_pilot(job) if wish.hole == "pilot" else clearance
    start = wish.start if wish.start is not None else usual - FIRST_BELOW
    sizes = tuple(round(start + i * wish.step, 3) for i in range(wish.count))
    if wish.hole == "pilot" and not 0.5 * outside < sizes[0] < sizes[-1] < outside:
        raise JobError(tell("coupon.start, coupon.step, coupon.count: pilot holes from {sizes:g} to {sizes_2:g} mm found; all "
                            "must lie between half the screw's outside diameter and the whole of it ({outside:g} to "
                            "{outside_2:g} mm)", sizes=sizes[0], sizes_2=sizes[-1], outside=outside / 2, outside_2=outside))
    if wish.hole == "clearance" and not outside < sizes[0] + 1e-9:
        raise JobError(tell("coupon.start: clearance holes from {sizes:g} mm found, no less than the screw's {outside:g} mm "
                            "expected", sizes=sizes[0], outside=outside))
    return sizes


def pilot_variants(piece: Piece) -> tuple[Piece, ...]:
    """The piece with its pilot holes 0.05 mm narrower, as drawn, 0.05 and 0.10 mm wider, for printers of others.

    The size stands in each file_stem, with a - for its point.  A piece without pilot holes comes back alone, unchanged.
    """
    bosses = tuple(f for f in piece.features if isinstance(f, Boss))
    if not bosses:
        return (piece,)
    return tuple(_variant(piece, bosses, delta) for delta in VARIANTS)


def _variant(piece: Piece, bosses: tuple[Boss, ...], delta: float) -> Piece:
    radii = {b.center: b.pilot / 2 for b in bosses}

    def widened(solid: Solid) -> Solid:
        if isinstance(solid, Cone) and solid.center in radii and math.isclose(solid.bottom_radius, radii[solid.center]):
            return replace(solid, bottom_radius=solid.bottom_radius + delta / 2, top_radius=solid.top_radius + delta / 2)
        return solid

    steps = tuple(Cut(tuple(map(widened, s.prisms))) if isinstance(s, Cut) else s for s in piece.steps)
    features = tuple(replace(f, pilot=round(f.pilot + delta, 3)) if isinstance(f, Boss) else f for f in piece.features)
    size = "_".join(f"{d:.2f}" for d in sorted({round(b.pilot + delta, 3) for b in bosses}))
    note = Note("pilot_variant",
                paragraph(tell("Pilot holes {size} mm ({delta:+.2f} mm): print the hole coupon first, then the piece whose pilot "
                               "holes it tells.", size=size.replace("_", ", "), delta=delta), translated(RULE)))
    return replace(piece, name=tell("{piece} pilot {size}", piece=piece.name, size=size.replace("_", " ")),
                   file_stem=f"{piece.file_stem}_pilot_{size.replace('.', '-')}", steps=steps, features=features,
                   notes=(*piece.notes, note))


def _through(job: Job) -> tuple[str, float, float]:
    """What goes into the holes, its diameter, and its usual clearance hole: the job's screws, else its bolts (ISO 273).

    A job that gives no [screws] but [bolts] wants to know about its bolts."""
    wishes = job.wishes
    hole = wishes.coupon.hole if wishes.coupon is not None else "pilot"
    if hole == "pilot" or wishes.screws is not None or wishes.bolts is None:
        screws = screws_of(job)
        return translated(screws.name), screws.outside, usual_clearance(screws.outside)
    row = hole_row(wishes.bolts)
    usual = {"fine": row.fine, "medium": row.medium, "coarse": row.coarse}[wishes.bolts.series]
    return tell("{thread} bolt", thread=wishes.bolts.thread), row.nominal, usual


def _pilot_post(job: Job) -> _Post:
    plan = plan_boss(job, _floor(job), room=max(_room(job), screws_of(job).length))
    height = math.ceil((plan.depth + BLIND) * 5 - 1e-9) / 5
    return _Post(plan.diameter, max(height, BASE + 1.0), translated(screws_of(job).name), plan)


def _clearance_post(job: Job, sizes: tuple[float, ...]) -> _Post:
    """As high as the plate that the screw passes is thick."""
    name, outside, _ = _through(job)
    cover = job.wishes.cover or CoverWish()
    plate = cover.floor if name == translated(screws_of(job).name) else cover.thickness
    return _Post(max(sizes[-1] + 2 * BESIDE, 2 * outside), max(plate, BASE + 1.0), name, None)


def _floor(job: Job) -> float:
    return (job.wishes.cover or CoverWish()).floor


def _room(job: Job) -> float:
    """From a boss's foot to the far side of the clamp frame's web; 0 without a filter: then as deep as the screw is long."""
    wishes = job.wishes
    return wishes.filter.thickness + (wishes.holder or HolderWish()).thickness if wishes.filter is not None else 0.0


def _hole(post: _Post, at: Point, diameter: float) -> tuple[Solid, ...]:
    if post.plan is not None:
        return bore(replace(post.plan, pilot=diameter), at, post.height)
    return (Cone(at, -1.0, post.height + 1.0, diameter / 2, diameter / 2),)


def _lay_out(job: Job, sizes: tuple[float, ...], boss: float, kind: str) -> _Layout:
    """Rows as long as the bed allows; each hole's drawn diameter in front of it, kind, material and revision before all."""
    names = [f"{d:.2f}" for d in sizes]
    pitch = max(boss + MARGIN, max(text_width(n, TEXT) for n in names) + 1.6)
    deep = boss + TEXT + 2 * MARGIN
    bed = job.wishes.printer.bed
    per_row = max(1, min(len(sizes), math.floor((bed[0] - 2 * MARGIN) / pitch)))
    rows = math.ceil(len(sizes) / per_row)
    title, title_width = _title(job, kind, per_row * pitch)
    size = (max(per_row * pitch, title_width) + 2 * MARGIN, rows * deep + TEXT + 2 * MARGIN)
    if size[0] > bed[0] or size[1] > bed[1]:
        raise JobError(tell("coupon.count: {count} holes make a coupon of {size:.0f} x {size_2:.0f} mm, larger than printer.bed "
                            "({bed:g} x {bed_2:g} mm); take fewer holes", count=len(sizes), size=size[0], size_2=size[1],
                            bed=bed[0], bed_2=bed[1]))
    at, texts = [], []
    for i, name in enumerate(names):
        x, y = MARGIN + (i % per_row + 0.5) * pitch, size[1] - MARGIN - boss / 2 - (i // per_row) * deep
        at.append((x, y))
        texts.append(Lettering(name, (x, y - boss / 2 - MARGIN / 2 - TEXT / 2), TEXT, 0.0))
    return _Layout(tuple(at), size, (*texts, Lettering(title, (size[0] / 2, MARGIN + TEXT / 2), TEXT, 0.0)))


def _title(job: Job, kind: str, room: float) -> tuple[str, float]:
    """As much of kind, material and revision as stands in the room, and its width."""
    what = plain_text(translated(_ENGRAVED[kind]))
    full = plain_text(f"{what} {job.wishes.printer.material} {job.revision}").strip()
    text = full if text_width(full, TEXT) <= room else what
    return text, text_width(text, TEXT)


def _features(post: _Post, at: tuple[Point, ...], sizes: tuple[float, ...]) -> tuple[Feature, ...]:
    numbered = [(f"h{i}", p, d) for i, (p, d) in enumerate(zip(at, sizes, strict=True), start=1)]
    if post.plan is None:
        return tuple(Hole(name, p, d, 0.0, post.height, "screw", post.screw) for name, p, d in numbered)
    depth, engagement = post.plan.depth, post.plan.engagement
    return tuple(Boss(name, p, post.diameter, BASE, post.height, d, depth, engagement, 1) for name, p, d in numbered)


def _notes(job: Job, post: _Post, sizes: tuple[float, ...]) -> tuple[Note, ...]:
    table = ", ".join(f"h{i} {d:.2f}" for i, d in enumerate(sizes, start=1))
    printer = job.wishes.printer
    use = tell("Print it in the same {material}, layers of {layer:g} mm, walls and heat as the part.",
               material=printer.material, layer=printer.layer)
    if post.plan is None:
        use = paragraph(use,
                        tell('Put the {screw} through each hole and write a [[trial]] row for each: what = "clearance", tight, '
                             "rubs, fits or loose.", screw=post.screw))
    else:
        use = paragraph(use,
                        tell("Lay a scrap {floor:g} mm thick with a free hole under the screw's head, as the cover's floor will "
                             "be; drive the screw in by hand until its head sits, {engagement:.1f} mm of thread carry, and on by "
                             "the few degrees that the part's screws get.", floor=_floor(job), engagement=post.plan.engagement),
                        translated(RULE),
                        tell('Write a [[trial]] row for each: what = "pilot", snapped, drove or stripped, and the turns. Wear '
                             'eye protection: ' "screws snap."))
    measure = tell("Measure each hole with a pin or calliper first and write it as printed: it tells what the printer adds or "
                   "takes.")
    return (Note("coupon_table", tell("Holes as drawn, left to right, back row first: {table} mm.", table=table)),
            Note("coupon_use", use), Note("coupon_measure", measure))


def _box(size: tuple[float, float]) -> tuple[Line, ...]:
    corners = ((0.0, 0.0), (size[0], 0.0), size, (0.0, size[1]))
    return tuple(Line("", a, corners[(i + 1) % 4]) for i, a in enumerate(corners))
