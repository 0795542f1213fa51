"""The maker's corrections of a traced picture: which rims there are, and of what lines and arcs they are made.

Words: a *correction* is one row `[[edit]]` of the job; what concerns the rims (line, arc, circle, split, join, tangent, hole,
drop) is carried out here, what concerns the design (symmetric, equal, parallel, perpendicular, concentric, free) is handed on as
a *wish* on rows (maker.py).  Ids: halves of s6 are s6a and s6b, joined again they are s6; s5 and s6 joined are s5_s6; what is not
touched keeps its ids, and so do the dimensions between untouched segments; new ones are numbered on, those of earlier corrections
first.
Limits: a join of a line and an arc of very different shape leaves the rim; it is drawn, and said with figures.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from afterpart.errors import FitError, UsageError
from afterpart.model.edges import TWO_WALLS, Note
from afterpart.model.job import Correction
from afterpart.outline.budget import scale_alone
from afterpart.outline.channelsizes import channel_dimensions
from afterpart.outline.dimensions import Ends, Item, list_dimensions, slope_of
from afterpart.outline.directions import main_direction
from afterpart.outline.drawing import Layout
from afterpart.outline.maker import Relation, Told
from afterpart.outline.part import Part, assemble, move_points, moved, part_corners
from afterpart.outline.redraw import Drawn, Stretch, joined_at, parted, redrawn, stretches_of, with_kind
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.trace import rope_of, seen_noise, trace_rims
from afterpart.outline.traced import TracedPart, TracedPicture

RIM_KINDS = ("line", "arc", "circle", "split", "join", "tangent", "hole", "drop")
"""Corrections that change rims; the others are wishes on the design."""

MISFIT, MISFIT_NOISE = 0.15, 4.0
"""A corrected stretch that leaves its rim by more than so many mm, and so many times the rims' noise, is told (judgement)."""

_Key = tuple[str, tuple[str, ...]]


@dataclass(frozen=True)
class _Sheet:
    """All rims of the picture while they are corrected.  born: id -> number of the row that made it; wholes: what parted segments
    were; touched: ids the maker spoke of, with the row's words."""

    loops: tuple[Drawn, ...]
    born: dict[str, int]
    wholes: dict[str, Stretch]
    touched: dict[str, str]

    def find(self, name: str, row: int) -> tuple[int, int]:
        """Loop and place of a segment.  Raises UsageError with the ids there are."""
        for i, loop in enumerate(self.loops):
            for k, stretch in enumerate(loop.stretches):
                if stretch.id == name:
                    return i, k
        known = ", ".join(stretch.id for loop in self.loops for stretch in loop.stretches)
        raise UsageError(f"edit.{row}.of: found {name!r}, expected an id of a segment that is drawn then: {known}. "
                         "Take the ids from outline.json, or take this row out.")

    def with_loop(self, i: int, loop: Drawn, row: int, words: str) -> _Sheet:
        """The sheet with loop i replaced; what is new in it was made by this row."""
        before = {s.id: s for s in self.loops[i].stretches}
        new = {s.id: row for s in loop.stretches if before.get(s.id) != s}
        loops = (*self.loops[:i], loop, *self.loops[i + 1:])
        return replace(self, loops=loops, born={**self.born, **new}, touched={**self.touched, **dict.fromkeys(new, words)})


def corrected_picture(picture: TracedPicture, corrections: Sequence[tuple[int, Correction]], middle_of: dict[int, np.ndarray],
                      settings: OutlineSettings) -> TracedPicture:
    """The picture with the maker's corrections carried out, in their order.

    corrections: with the numbers (from 1) of their rows; middle_of: for each split, by its row, its place in the photo's frame,
    house units.  A hole must have been
    looked for in the picture (EdgeMap.asked).  Raises UsageError for a row that cannot be carried out, with its number.
    """
    sheet = _Sheet(tuple(loop for part in picture.parts for loop in _loops(picture, part)), {}, {}, {})
    wishes: list[tuple[int, Correction]] = []
    holes = 0
    for row, correction in corrections:
        if correction.what == "hole":
            holes += 1
            sheet = _with_hole(sheet, picture, correction, row, correction.id or f"h{holes}", settings)
        elif correction.what in RIM_KINDS:
            sheet = _changed(sheet, correction, row, middle_of.get(row))
        else:
            for name in correction.of:
                sheet.find(name, row)
            wishes.append((row, correction))
    return _settled(picture, sheet, wishes, settings)


def _loops(picture: TracedPicture, part: TracedPart) -> list[Drawn]:
    """The rims of one part as they were traced."""
    rims = [rim for rim in picture.edges.rims if rim.part == part.number]
    out = []
    for i, (chain, rim) in enumerate(zip(part.part.chains, rims, strict=True)):
        ids = tuple(part.layout.ids[row] for row in part.part.rows(i))
        out.append(Drawn(rim, part.points[i], np.asarray(rim.u, float) * picture.unit, chain, ids, ids[part.layout.start[i]],
                         stretches_of(chain, ids), chain.is_circle))
    return out


def _changed(sheet: _Sheet, correction: Correction, row: int, place: np.ndarray | None) -> _Sheet:
    """One correction of a rim that is there."""
    what, name = correction.what, correction.of[0]
    i, k = sheet.find(name, row)
    loop, words = sheet.loops[i], f"edit {row} ({what} of {', '.join(correction.of)})"
    if what == "drop":
        return _dropped(sheet, i, row)
    if what == "circle":
        circle = Stretch(name, 0, True, None, False)
        if loop.is_circle:
            return sheet
        return sheet.with_loop(i, replace(loop, is_circle=True, start=name, stretches=(circle,)), row, words)
    if loop.is_circle:
        raise UsageError(f"edit.{row}.of: found {name}, a whole circle, expected a segment of a rim of several for {what!r}. "
                         "Drop it and add the opening anew where it is no circle.")
    if what in ("line", "arc"):
        return sheet.with_loop(i, with_kind(loop, k, what == "arc"), row, words)
    if what == "split":
        assert place is not None
        try:
            return replace(sheet.with_loop(i, parted(loop, k, place), row, words),
                           wholes={**sheet.wholes, name: loop.stretches[k]})
        except FitError as error:
            raise UsageError(f"edit.{row}.at: {error} Choose another place.") from error
    return _about_two(sheet, correction, row, words)


def _about_two(sheet: _Sheet, correction: Correction, row: int, words: str) -> _Sheet:
    """A join, or a smooth junction, of two neighbours."""
    (i, k), (j, m) = (sheet.find(name, row) for name in correction.of)
    loop, count = sheet.loops[i], len(sheet.loops[i].stretches)
    if i != j or (m - k) % count not in (1, count - 1) or count < 3:
        raise UsageError(f"edit.{row}.of: found {' and '.join(correction.of)}, expected two neighbours on one rim for "
                         f"{correction.what!r}. Neighbours of {correction.of[0]}: "
                         f"{loop.stretches[k - 1].id}, {loop.stretches[(k + 1) % count].id}.")
    if (m - k) % count != 1:
        k, m = m, k
    one, two = loop.stretches[k], loop.stretches[m]
    if correction.what == "join":
        original = sheet.wholes.get(one.twin) if one.twin and one.twin == two.twin else None
        return sheet.with_loop(i, joined_at(loop, k, original), row, words)
    if not one.is_arc and not two.is_arc:
        raise UsageError(f"edit.{row}.of: found two lines, {one.id} and {two.id}, expected an arc among the two for 'tangent'. "
                         "Two lines that run into each other are one: join them.")
    rows = list(loop.stretches)
    rows[k] = replace(one, tangent=True, bound=True)
    return sheet.with_loop(i, replace(loop, stretches=tuple(rows)), row, words)


def _dropped(sheet: _Sheet, i: int, row: int) -> _Sheet:
    """The sheet without loop i; a channel goes with both its walls."""
    rim = sheet.loops[i].rim
    if rim.role == "outer":
        raise UsageError(f"edit.{row}.of: found the part's outline, expected an opening, a channel, a pocket or a pad to drop. "
                         "Where a whole part is none, say which one to keep (photo.part).")
    gone = {i}
    if rim.wall in TWO_WALLS:
        gone.add(i + 1 if rim.wall == "outer" else i - 1)
    return replace(sheet, loops=tuple(loop for k, loop in enumerate(sheet.loops) if k not in gone))


def _with_hole(sheet: _Sheet, picture: TracedPicture, correction: Correction, row: int, name: str,
               settings: OutlineSettings) -> _Sheet:
    """The sheet with the opening that was looked for at the correction's pixel, behind the part's other openings."""
    assert correction.at_px is not None
    place = correction.at_px, correction.photo
    rim = next((item.rim for item in picture.edges.asked if (item.at_px, item.photo) == place), None)
    if rim is None:
        raise UsageError(f"edit.{row}.at_px: no opening has been looked for at this pixel yet. Measure the photo again.")
    if any(stretch.id == name for loop in sheet.loops for stretch in loop.stretches):
        raise UsageError(f"edit.{row}.id: found {name!r}, which another segment is called, expected an id of its own. "
                         "Choose another.")
    points, u = (np.asarray(rim.points, float) - picture.middle) * picture.unit, np.asarray(rim.u, float) * picture.unit
    chain = trace_rims([points], [u], settings)[0][0]
    ids = (name,) if chain.is_circle else tuple(f"{name}.{k + 1}" for k in range(chain.size))
    drawn = Drawn(rim, points, u, chain, ids, ids[0], stretches_of(chain, ids), chain.is_circle, row=row)
    at = next((k for k, loop in enumerate(sheet.loops) if loop.rim.part == rim.part and loop.rim.role == "channel"),
              max(k for k, loop in enumerate(sheet.loops) if loop.rim.part == rim.part) + 1)
    return replace(sheet, loops=(*sheet.loops[:at], drawn, *sheet.loops[at:]), born={**sheet.born, **dict.fromkeys(ids, row)})


def _settled(picture: TracedPicture, sheet: _Sheet, wishes: list[tuple[int, Correction]],
             settings: OutlineSettings) -> TracedPicture:
    """The picture of the corrected rims, those that changed fitted again."""
    plain = [(loop.points, loop.chain) for part in picture.parts for loop in _loops(picture, part) if loop.rim.role != "channel"]
    noise, length = seen_noise([points for points, _ in plain], [chain for _, chain in plain], settings)
    _check_apart(sheet)
    loops, notes = [], []
    for loop in sheet.loops:
        rope = rope_of(loop.points, loop.u, noise, length, settings)
        try:
            drawn = redrawn(loop, rope)
        except FitError as error:
            words = ", ".join(sorted({sheet.touched[s.id] for s in loop.stretches if s.id in sheet.touched}))
            raise UsageError(f"{words}: the rim cannot be drawn so: {error} Take the correction back.") from error
        loops.append(drawn)
        if drawn.chain is not loop.chain:
            notes += _misfits(drawn, sheet, noise)
    names = {_key(item, part.layout): name for part in picture.parts for item, name in zip(part.items, part.names, strict=True)}
    parts = [_part(picture, part, [loop for loop in loops if loop.rim.part == part.number], wishes, settings)
             for part in picture.parts]
    halves = {f"{name}{end}": name for name in sheet.wholes for end in "ab"}
    return replace(picture, parts=tuple(_named(parts, names, sheet.born, halves)), notes=(*picture.notes, *notes))


def _check_apart(sheet: _Sheet) -> None:
    """Raises UsageError where an opening that was added is one that is drawn already."""
    for loop in sheet.loops:
        row = loop.row
        if not row:
            continue
        middle, size = loop.points.mean(axis=0), float(np.ptp(loop.points, axis=0).max())
        for other in sheet.loops:
            off = float(np.hypot(*(other.points.mean(axis=0) - middle)))
            if other is not loop and other.rim.role == "opening" and off < 0.5 * size:
                raise UsageError(f"edit.{row}.at_px: found the opening that is drawn as {other.ids[0]} already, expected one "
                                 f"that was missed. Drop {other.ids[0]} where this one is to stand for it, or take the row out.")


def _misfits(drawn: Drawn, sheet: _Sheet, noise: float) -> list[Note]:
    """What corrections make a rim leave by: the figures of each stretch the maker spoke of that no longer fits."""
    chain, notes = drawn.chain, []
    for k, name in enumerate(drawn.ids):
        words = sheet.touched.get(name)
        if words is None:
            continue
        begin, end = int(chain.first[k]), int(chain.first[(k + 1) % chain.size])
        own = (begin + np.arange((end - begin - 1) % len(drawn.points) + 1)) % len(drawn.points)
        off = float(np.quantile(np.abs(chain.residuals[own]), 0.95))
        if off > max(MISFIT, MISFIT_NOISE * noise):
            notes.append(Note("edit_misfit", f"{words}: {name} leaves its rim by up to {off:.2f} mm (the rims' own noise is "
                              f"{noise:.2f} mm). Look at it on overlay.png; take the correction back if the rim is right."))
    return notes


def _part(picture: TracedPicture, old: TracedPart, loops: list[Drawn], wishes: list[tuple[int, Correction]],
          settings: OutlineSettings) -> TracedPart:
    """One part of corrected rims, its dimensions not named yet."""
    edges = picture.edges
    middle = (float(picture.middle[0]), float(picture.middle[1]))
    shared = edges.shared or scale_alone(edges.reference.relative_u if edges.unit == "mm" else 0.0, middle)
    rims = [replace(loop.rim, doubts=doubts) for loop, doubts in zip(loops, _doubts(loops), strict=True)]
    part = assemble([loop.chain for loop in loops], rims, settings, [loop.points for loop in loops], shared, middle, picture.unit)
    ids = {row: name for i, loop in enumerate(loops) for row, name in zip(part.rows(i), loop.ids, strict=True)}
    layout = Layout(_order(old, loops), tuple(loop.ids.index(loop.start) for loop in loops), ids,
                    tuple(loop.rim.wall for loop in loops), old.number, tuple(loop.rim.depth for loop in loops))
    angle = main_direction(old.part)
    turned = moved(part, (0.0, 0.0), angle)
    corners = part_corners(turned, [move_points(loop.chain.corners, (0.0, 0.0), angle) for loop in loops])
    items = list_dimensions(turned, layout, corners) + channel_dimensions(turned, layout)
    near = [loop.chain.corners for loop in loops]
    return TracedPart(old.number, part, layout, items, [], _slopes(old, part, layout, items, near),
                      [loop.points for loop in loops], near, _told(ids, loops, wishes))


def _doubts(loops: list[Drawn]) -> list[tuple[float, ...]]:
    return [loop.rim.doubts for loop in loops]


def _order(old: TracedPart, loops: list[Drawn]) -> tuple[int, ...]:
    """Drawing order of the loops: as before, what is new behind the openings."""
    rank = {}
    for place, i in enumerate(old.layout.loops):
        for row in old.part.rows(i):
            rank[old.layout.ids[row]] = (1 if old.part.roles[i] == "channel" else 0, place)
    first = []
    for loop in loops:
        stems = [found[0] for name in loop.ids if (found := re.match(r"[cs]\d+", name)) and found[0] in rank]
        first.append(rank[stems[0]] if stems else (0, len(rank)))
    return tuple(sorted(range(len(loops)), key=lambda i: (*first[i], i)))


def _slopes(old: TracedPart, part: Part, layout: Layout, items: list[Item], near: list[np.ndarray]) -> list[np.ndarray]:
    """Slopes of all dimensions, those of rims that did not change carried over."""
    known = {_key(item, old.layout): slope for item, slope in zip(old.items, old.slopes, strict=True)}
    same = {id(chain): old.part.begin[i] for i, chain in enumerate(old.part.chains)}
    place = np.full(len(part.is_arc), -1)
    for i, chain in enumerate(part.chains):
        if id(chain) in same:
            place[list(part.rows(i))] = np.arange(same[id(chain)], same[id(chain)] + chain.size)
    ends, out = Ends(part, near), []
    for item in items:
        slope = known.get(_key(item, layout))
        if slope is None or (place[list(item.rows)] < 0).any():
            out.append(slope_of(item, part, ends))
        else:
            rows = slope.reshape(-1, 3)
            out.append(np.where(place[:, None] >= 0, rows[place], 0.0).ravel())
    return out


def _key(item: Item, layout: Layout) -> _Key:
    """A dimension's kind and segments, which it keeps its name by."""
    return item.kind, tuple(sorted(layout.ids[row] for row in item.rows))


def _named(parts: list[TracedPart], names: dict[_Key, str], born: dict[str, int], halves: dict[str, str]) -> list[TracedPart]:
    """The parts with their dimensions named: known ones as before, new ones numbered on, those of earlier rows first.

    A width, gap or angle at half of a parted segment (`halves`: half -> whole) is that of the whole."""
    keys = {(part.number, place): _key(item, part.layout) for part in parts for place, item in enumerate(part.items)}
    used = set(keys.values())
    for at, (kind, ids) in keys.items():
        whole = kind, tuple(sorted(_whole(name, halves, names, kind) for name in ids))
        if kind in ("width", "gap", "angle") and (kind, ids) not in names and whole in names and whole not in used:
            keys[at] = whole
            used.add(whole)
    new = sorted((max((born.get(name, 0) for name in key[1]), default=0) or math.inf, at, key)
                 for at, key in keys.items() if key not in names)
    known = {**names, **{key: f"d{len(names) + n}" for n, (*_, key) in enumerate(new, start=1)}}
    out = []
    for part in parts:
        labels = [known[keys[part.number, place]] for place in range(len(part.items))]
        order = sorted(range(len(labels)), key=lambda k: int(labels[k][1:]))
        out.append(replace(part, items=[part.items[k] for k in order], names=[labels[k] for k in order],
                           slopes=[part.slopes[k] for k in order]))
    return out


def _whole(name: str, halves: dict[str, str], names: dict[_Key, str], kind: str) -> str:
    """The segment that `name` is half of, as far back as a dimension of this kind was known of."""
    while name in halves and not any(known == kind and name in ids for known, ids in names):
        name = halves[name]
    return name


def _told(ids: dict[int, str], loops: list[Drawn], wishes: list[tuple[int, Correction]]) -> Told:
    """The wishes on this part's rows.  Raises UsageError where one names segments of two parts."""
    rows = {name: row for row, name in ids.items()}
    free: set[int] = set()
    relations = []
    for number, wish in wishes:
        own = [rows[name] for name in wish.of if name in rows]
        if not own:
            continue
        if len(own) < len(wish.of):
            raise UsageError(f"edit.{number}.of: found segments of two parts, expected all of one. Take one of them out.")
        if wish.what == "free":
            free |= set(own)
        else:
            relations.append(Relation(number, wish.what, tuple(own)))
    seams = tuple((rows[a], rows[b]) for loop in loops for a, b in loop.seams)
    return Told(tuple(relations), frozenset(free), seams)


