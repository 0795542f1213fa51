"""What every loop, hole and lip does on the machine, and what is kept, added and dropped of the old part.

Words: a feature is named by any segment id of its loop, by "outer", "channel" or "lip", or by an added hole's name; its *key*
is "outer", "channel", "lip", the id of its loop's first segment, or that name.  A feature *locates* (it sets place and
direction), *seals*, *clears* (something passes with room) or *shows* (nothing meets it).
What locates: a round feature holds the place, a second one or a slot the direction: that is the pair.  A lip or an edge that
is not round holds both by itself.  Whatever locates beyond the pair fights it, and is named in a note.
Where the job is silent: the channel seals; a lip or an edge fitted over or inside locates; else the two bolt-sized holes
farthest apart do; everything else clears, and an edge left flush shows.
Limits: it is not judged here whether the machine has something to locate on.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

from afterpart.errors import JobError
from afterpart.model.edges import TWO_WALLS, Note
from afterpart.model.outline import Arc, Circle, Loop, Outline
from afterpart.model.wishes import CLEARS, LOCATES, ROLES, Change, Wishes
from afterpart.parts.bolt_circles import bolt_circles
from afterpart.parts.face_region import loops_of_part
from afterpart.words import counted, paragraph, tell, together

OWN_CLEARANCE = {"locates": LOCATES, "clears": CLEARS, "seals": 0.0, "shows": 0.0}
"""Clearance of each role where the job gives none, mm all round."""

ACTS = ("keep", "add", "drop")


@dataclass(frozen=True)
class FeatureRole:
    """of: the feature's key; name: in words, with its place; clearance: mm all round; told: by the job, not by the rules here;
    told_clearance: the job's own clearance, None where it gave none."""

    of: str
    name: str
    role: str
    clearance: float
    told: bool = False
    told_clearance: float | None = None


@dataclass(frozen=True)
class ChangeRow:
    """One row of the table of changes.  key: the feature's key, "" for what is new; told: a row of the job."""

    key: str
    name: str
    do: str
    reason: str
    told: bool


@dataclass(frozen=True)
class Roles:
    """features: every feature that stays, with its role; changes: the table a release prints; dropped: keys of what goes."""

    features: tuple[FeatureRole, ...]
    changes: tuple[ChangeRow, ...]
    dropped: tuple[str, ...]
    notes: tuple[Note, ...]

    def of(self, key: str) -> FeatureRole:
        """The role of the feature with this key.  KeyError: no such feature, or dropped."""
        for feature in self.features:
            if feature.of == key:
                return feature
        raise KeyError(key)

    @property
    def locating(self) -> tuple[FeatureRole, ...]:
        """The features that locate, in the drawing's order."""
        return tuple(f for f in self.features if f.role == "locates")


@dataclass(frozen=True)
class _Feature:
    """holds: how many of the three freedoms in the plane it takes when it locates."""

    key: str
    name: str
    ids: tuple[str, ...]
    holds: int
    center: tuple[float, float] | None = None
    loop: Loop | None = None


def assign_roles(outline: Outline, wishes: Wishes, part: int = 1) -> Roles:
    """The role of every feature, and the changes resolved.

    JobError: a [[role]] or [[change]] row names nothing of the outline, or rows contradict each other.
    """
    features = _features(outline, wishes, part)
    changes, dropped = _resolved_changes(features, wishes.changes)
    left = [f for f in features if f.key not in dropped]
    told = _told_roles(features, dropped, wishes)
    roles = [_role(f, told, wishes) for f in left]
    roles, notes = _with_locating_pair(roles, left, outline, wishes, part)
    return Roles(tuple(roles), changes, dropped, tuple(notes))


def kept_outline(outline: Outline, roles: Roles) -> Outline:
    """The outline without the loops that are dropped, in measured and design alike."""
    def stays(loop: Loop) -> bool:
        return loop_key(loop) not in roles.dropped
    return replace(outline, design=tuple(filter(stays, outline.design)), measured=tuple(filter(stays, outline.measured)))


def loop_key(loop: Loop) -> str:
    """The key of the feature a loop belongs to."""
    return loop.role if loop.role in ("outer", "channel") else loop.segments[0].id


def _features(outline: Outline, wishes: Wishes, part: int) -> list[_Feature]:
    outer, openings = loops_of_part(outline, part)
    channel = [loop for loop in outline.design if loop.part == part and loop.wall in TWO_WALLS]
    found = [_Feature("outer", tell("outer edge"), _ids(outer), _freedoms(outer), loop=outer)]
    for loop in openings:
        first = loop.segments[0]
        if isinstance(first, Circle):
            name = tell("hole {first_id} of {radius:g} mm at ({center:.1f}, {center_2:.1f})", first_id=first.id,
                        radius=2 * first.radius, center=first.center[0], center_2=first.center[1])
            found.append(_Feature(first.id, name, (first.id,), 2, first.center, loop))
        else:
            name = tell("opening {first_id}", first_id=first.id)
            found.append(_Feature(first.id, name, _ids(loop), _freedoms(loop), loop=loop))
    if channel:
        found.append(_Feature("channel", tell("channel"), ("channel", *(i for loop in channel for i in _ids(loop))), 3))
    if wishes.lip is not None:
        of = next((f for f in found if wishes.lip.of in (f.key, *f.ids)), None)
        found.append(_Feature("lip", tell("lip on {of}", of=of.name if of else wishes.lip.of), ("lip",), of.holds if of else 3))
    for hole in wishes.holes:
        name = tell("added hole {hole!r} of {diameter:g} mm at ({at:.1f}, {at_2:.1f})", hole=hole.name, diameter=hole.diameter,
                    at=hole.at[0], at_2=hole.at[1])
        found.append(_Feature(hole.name, name, (hole.name,), 2, hole.at))
    return found


def _ids(loop: Loop) -> tuple[str, ...]:
    return tuple(s.id for s in loop.segments)


def _freedoms(loop: Loop) -> int:
    """2 for a circle (place), 1 for a slot (across it), 3 for anything else (place and direction)."""
    if len(loop.segments) == 1 and isinstance(loop.segments[0], Circle):
        return 2
    kinds = sorted(type(s).__name__ for s in loop.segments)
    arcs = [s for s in loop.segments if isinstance(s, Arc)]
    return 1 if kinds == ["Arc", "Arc", "Line", "Line"] and abs(arcs[0].radius - arcs[1].radius) < 1e-6 else 3


def _find(features: list[_Feature], word: str) -> _Feature | None:
    return next((f for f in features if word in (f.key, *f.ids)), None)


def _known(features: list[_Feature]) -> str:
    return ", ".join(f.key if len(f.ids) == 1 or f.key in f.ids[1:]
                     else tell("{f_key} (or {ids} to {ids_2})", f_key=f.key, ids=f.ids[0], ids_2=f.ids[-1]) for f in features)


def _resolved_changes(features: list[_Feature], rows: tuple[Change, ...]) -> tuple[tuple[ChangeRow, ...], tuple[str, ...]]:
    """The table of changes, the job's rows first, and the keys of what is dropped."""
    table: list[ChangeRow] = []
    done: dict[str, tuple[int, str]] = {}
    for number, row in enumerate(rows, start=1):
        where = tell("[[change]] row {number} (feature = {feature!r}, do = {do!r})", number=number, feature=row.feature,
                     do=row.do)
        if row.do not in ACTS:
            raise JobError(tell("{where}: expected do = keep, add or drop; correct it", where=where))
        feature = _find(features, row.feature)
        if row.do == "add":
            table.append(ChangeRow(feature.key if feature else "", feature.name if feature else row.feature, row.do, row.reason,
                                   True))
            continue
        if feature is None:
            raise JobError(tell("{where}: the outline has no such feature; known are {known}: name one of these, or say do = "
                                '"add" for what is new', where=where, known=_known(features)))
        if row.do == "drop" and feature.key in ("outer", "lip"):
            raise JobError(f"{where}: the {feature.name} cannot be dropped; "
                           + ("a piece needs its edge" if feature.key == "outer" else "leave out the table [lip] instead"))
        before = done.get(feature.key)
        if before is not None and before[1] != row.do:
            raise JobError(tell("{where}: row {before} says {before_2!r} of the same {feature}; keep one of the two rows",
                                where=where, before=before[0], before_2=before[1], feature=feature.name))
        done[feature.key] = (number, row.do)
        table.append(ChangeRow(feature.key, feature.name, row.do, row.reason, True))
    table += [ChangeRow(f.key, f.name, "keep", tell("not named in the job: stays as it was"), False) for f in features
              if f.loop is not None and f.key not in done]
    return tuple(table), tuple(key for key, (_, do) in done.items() if do == "drop")


def _told_roles(features: list[_Feature], dropped: tuple[str, ...], wishes: Wishes) -> dict[str, tuple[str, float | None]]:
    told: dict[str, tuple[str, float | None]] = {}
    for number, row in enumerate(wishes.roles, start=1):
        where = f"[[role]] row {number} (of = {row.of!r})"
        feature = _find(features, row.of)
        if feature is None:
            raise JobError(tell("{where}: the outline has no such feature; known are {known}: name one of these", where=where,
                                known=_known(features)))
        if row.role not in ROLES:
            raise JobError(tell("{where}: found role = {role!r}; expected one of {roles}", where=where, role=row.role,
                                roles=", ".join(ROLES)))
        if row.clearance is not None and not (math.isfinite(row.clearance) and row.clearance >= 0.0):
            raise JobError(tell("{where}: found clearance = {clearance:g} mm; expected 0 or more", where=where,
                                clearance=row.clearance))
        if feature.key in dropped:
            raise JobError(tell("{where}: the {feature} is dropped by a [[change]] row; take one of the two rows out",
                                where=where, feature=feature.name))
        if feature.key in told and told[feature.key] != (row.role, row.clearance):
            raise JobError(tell("{where}: an earlier row says {told!r} of the same {feature}; keep one row", where=where,
                                told=told[feature.key][0], feature=feature.name))
        told[feature.key] = (row.role, row.clearance)
    return told


def _role(feature: _Feature, told: dict[str, tuple[str, float | None]], wishes: Wishes) -> FeatureRole:
    if feature.key in told:
        role, clearance = told[feature.key]
        return FeatureRole(feature.key, feature.name, role, OWN_CLEARANCE[role] if clearance is None else clearance, True,
                           clearance)
    role = "clears"
    if feature.key == "channel":
        role = "seals"
    elif feature.key == "outer" and (wishes.cover is None or wishes.cover.fit == "flush"):
        role = "shows"
    return FeatureRole(feature.key, feature.name, role, OWN_CLEARANCE[role])


def _with_locating_pair(roles: list[FeatureRole], features: list[_Feature], outline: Outline, wishes: Wishes,
                        part: int) -> tuple[list[FeatureRole], list[Note]]:
    """Complete what locates to one pair, and name what is more than that."""
    by_key = {f.key: f for f in features}
    chosen = [r.of for r in roles if r.role == "locates"]
    notes = _too_many(chosen, by_key, {r.of for r in roles if r.told})
    free = [r.of for r in roles if not r.told and r.role in ("clears", "shows")]
    added: list[str] = []
    if _holds(chosen, by_key) < 3:
        added = _completion(chosen, free, by_key, outline, wishes, part)
        chosen += added
    if _holds(chosen, by_key) < 3:
        notes.append(Note("nothing_locates",
                          paragraph(tell("No pair of features sets the place and direction of the new part: it goes where it is "
                                         "put by eye."),
                                    tell("{chosen} alone does not.", chosen=together(by_key[k].name for k in chosen))
                                    if chosen else "", tell('A [[role]] row with role = "locates", or a [lip], helps.'))))
    elif added:
        notes.append(Note("locating_pair",
                          tell("Located by {chosen}; everything else clears. [[role]] rows say otherwise.",
                               chosen=together(by_key[k].name for k in chosen))))
    return [replace(r, role="locates", clearance=LOCATES) if r.of in added else r for r in roles], notes


def _holds(keys: list[str], by_key: dict[str, _Feature]) -> int:
    """How many of the three freedoms in the plane are held by these together."""
    return min(sum(by_key[k].holds for k in keys), 3)


def _too_many(chosen: list[str], by_key: dict[str, _Feature], told: set[str]) -> list[Note]:
    pair: list[str] = []
    extra: list[str] = []
    for key in sorted(chosen, key=lambda k: -by_key[k].holds):
        (extra if _holds(pair, by_key) == 3 else pair).append(key)
    if not extra:
        return []
    return [Note("locates_twice",
                 paragraph(_fighting(together(by_key[k].name for k in extra), len(extra), together(by_key[k].name for k in pair),
                                     len(pair)), tell('Give all but one pair role = "clears" in [[role]] rows.')))]


def _fighting(extra: str, count: int, pair: str, held_by: int) -> str:
    if held_by == 1:
        return counted("{extra} locates what {pair} already holds: the two will fight unless both parts are exact.",
                       "{extra} locate what {pair} already holds: they will fight unless both parts are exact.", count=count,
                       extra=extra, pair=pair)
    return counted("{extra} locates what {pair} already hold: the two will fight unless both parts are exact.",
                   "{extra} locate what {pair} already hold: they will fight unless both parts are exact.", count=count,
                   extra=extra, pair=pair)


def _completion(chosen: list[str], free: list[str], by_key: dict[str, _Feature], outline: Outline, wishes: Wishes,
                part: int) -> list[str]:
    """What the rules add so that a pair locates: the lip, a fitted edge, or holes as far apart as there are."""
    if not chosen and "lip" in free and by_key["lip"].holds == 3:
        return ["lip"]
    if not chosen and "outer" in free and wishes.cover is not None and wishes.cover.fit != "flush" \
            and "lip" not in by_key and by_key["outer"].holds == 3:
        return ["outer"]
    start = list(chosen)
    if not start and "lip" in free:
        start = ["lip"]
    holes = [k for k in _bolt_sized(outline, wishes, part) if k in free]
    if start:
        anchor = by_key[start[0]].center or _middle(holes, by_key)
        away = {k: round(math.dist(by_key[k].center or anchor, anchor), 6) for k in holes if k not in start}
        rest = sorted(away, key=lambda k: -away[k])
        return [*start[len(chosen):], *rest[:1]]
    pairs = itertools.combinations(holes, 2)
    best = max(pairs, key=lambda p: round(math.dist(by_key[p[0]].center, by_key[p[1]].center), 6), default=())
    return list(best)


def _middle(keys: list[str], by_key: dict[str, _Feature]) -> tuple[float, float]:
    centers = [by_key[k].center for k in keys if by_key[k].center is not None]
    count = max(len(centers), 1)
    return (sum(c[0] for c in centers) / count, sum(c[1] for c in centers) / count)


def _bolt_sized(outline: Outline, wishes: Wishes, part: int) -> list[str]:
    """The holes bolts go through; without a [bolts] table, all round openings less than twice the smallest."""
    if wishes.bolts is not None:
        return [c.id for c in bolt_circles(outline, wishes.bolts, part)]
    circles = [loop.segments[0] for loop in loops_of_part(outline, part)[1] if isinstance(loop.segments[0], Circle)]
    if not circles:
        return []
    most = 2 * min(c.radius for c in circles)
    return [c.id for c in circles if c.radius < most]
