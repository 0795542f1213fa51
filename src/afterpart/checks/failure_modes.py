"""The failure-mode table: what of this job can fail, how, with what effect, and what holds it today; the worst effect first.

Words: severity, occurrence and detection are marks from 1 to 10, 10 worst; *today* is what holds or shows it as the job stands.
Conventions: rows go by severity, then severity x occurrence, then the priority number; how a row reads (high, medium, low) is
formulas/failure_modes.py's to say, and severity 9 or 10 never reads as low.
Limits: the starting marks are judgement (standards/failure_modes.py); the maker edits them in the job.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.checks.machine_side import has_clean_side, spoken_piece
from afterpart.checks.passages import BOSS_SCREWS, boss_screws
from afterpart.errors import JobError
from afterpart.formulas.failure_modes import ranking
from afterpart.formulas.loose_parts import solid_behind
from afterpart.model.assembly import Item
from afterpart.model.case import Case
from afterpart.model.feature import Bar, Boss, Feature, Latch, Lip, Opening
from afterpart.model.finding import FailureMode
from afterpart.model.piece import Deboss, Piece
from afterpart.model.wishes import BoltWish, FailureRow
from afterpart.standards.failure_modes import usual_failures
from afterpart.words import entry, symbol_words, tell, translated

NOTHING = entry("nothing that the job tells")
WRONG_WAY = entry("is fitted the wrong way round")

_MARKS = ("severity", "occurrence", "detection")
_DANGEROUS = {"pressure": "pressure", "fuel": "fuel", "mains": "mains", "food": "food"}


def failure_modes(case: Case) -> tuple[FailureMode, ...]:
    """The table, drawn up from the pieces and items of the build, with the job's own rows taken in.

    A machine that may swallow loose things (machine.swallows not false, behind a cover) gets the effects and severities of one.
    JobError: a mark outside 1 to 10, or a new row without its marks."""
    drawn = [_way_shown(case, mode) for item, about, today in _things(case) for mode in _usual(case, item, about, today)]
    ranked = sorted(_edited(drawn, case.job.wishes.failure_modes), key=_rank)
    return tuple(ranked)


def _rank(mode: FailureMode) -> tuple[int, int, int, str, str]:
    severity, product, number = ranking(mode.severity, mode.occurrence, mode.detection)
    return -severity, -product, -number, mode.item, mode.mode


def _usual(case: Case, item: str, about: str, today: str) -> list[FailureMode]:
    swallowed = has_clean_side(case) and case.job.wishes.machine.swallows is not False
    return [FailureMode(item, translated(row.mode), translated(row.effect_swallowed if swallowed else row.effect),
                        translated(row.cause), today, row.severity_swallowed if swallowed else row.severity, row.occurrence,
                        row.detection) for row in usual_failures(about)]


def _things(case: Case) -> list[tuple[str, str, str]]:
    """What can fail: its name, what it is about, what holds it today.  One entry for each row of the parts list and feature."""
    found = [(_named(case, item), _about(item), _today(case, item)) for item in case.build.assembly.items if _about(item)]
    screws = boss_screws(case.build)
    if screws:
        found.append((f"{len(screws)} x {translated(BOSS_SCREWS)}", "screw",
                      tell("the thread it has formed; it backs out towards the machine")))
    fitted = {place.piece for place in case.build.assembly.places}
    for piece in case.build.pieces:
        if piece.file_stem in fitted:
            found += _of_piece(case, piece)
    return list(dict.fromkeys(found)) + _of_surroundings(case)


def _about(item: Item) -> str:
    return {"cord": "seal", "foam": "element"}.get(item.kind, item.kind)


def _named(case: Case, item: Item) -> str:
    count = sum(len(one.at) for one in case.build.assembly.items if one.name == item.name)
    return item.name if count == 1 else f"{count} x {item.name}"


def _today(case: Case, item: Item) -> str:
    """Torque and washer of a bolt; what is over or round the rest."""
    wish = case.job.wishes.bolts
    if item.kind == "bolt" and wish is not None:
        return _bolted(wish)
    if item.kind == "screw":
        return (tell("the thread it has formed; it backs out to the outside") if item.axis[2] > 0
                else tell("the thread it has formed"))
    return {"washer": tell("its bolt"), "sleeve": tell("the head over it"), "insert": tell("the plastic melted round it"),
            "cord": tell("its groove and the bolted joint")}.get(item.kind, translated(NOTHING))


def _bolted(wish: BoltWish) -> str:
    """Torque, washer and sleeves of a bolt: names in a row."""
    torque = f"{wish.torque_n_m:g} N m" if wish.torque_n_m is not None else tell("a torque that is not told")
    washer = tell("over {washer}", washer=wish.washer) if wish.washer else tell("without washer")
    return ", ".join((torque, washer, *((tell("on metal sleeves"),) if wish.sleeve else ())))


def _of_piece(case: Case, piece: Piece) -> list[tuple[str, str, str]]:
    name = spoken_piece(piece)
    if piece.kind == "gasket":
        return [(name, "seal", tell("the bolted joint"))]
    if piece.kind == "filter_element":
        shut = [symbol_words(one.by) for one in case.passages if one.item == piece.file_stem and one.along == "back"
                and not one.is_open]
        return [(name, "element", tell("held by the {shut}", shut=shut[0]) if shut else translated(NOTHING))]
    found = [(name, "cover" if has_clean_side(case) else "plain part", _as_made(case, piece))]
    for kind, about in _PARTS:
        features = [f for f in piece.features if isinstance(f, kind) and (not isinstance(f, Opening) or f.id == "inlet")]
        if features:
            found.append((tell("{about} of {name}", about=translated(about), name=name), about, _sized(case, piece, features[0])))
    return found + _pins(case, piece, name)


def _way_shown(case: Case, mode: FailureMode) -> FailureMode:
    """Of a piece that could be fitted the wrong way round: what shows or forces the right one."""
    piece = next((piece for piece in case.build.pieces if spoken_piece(piece) == mode.item), None)
    if mode.mode != translated(WRONG_WAY) or piece is None:
        return mode
    cover = next((one for one in case.build.pieces if one.kind == "cover"), piece)
    doubts = {note.code for note in cover.notes}
    if piece.kind != "cover":
        return replace(mode,
                       today=translated(NOTHING) if "seat_fits_wrongly" in doubts
                       else tell("its place in the cover takes it one way only"))
    is_marked = any(isinstance(step, Deboss) and step.from_below for step in piece.steps)
    told = [*([tell("its bolts take it one way only")] if case.job.wishes.bolts and "fits_wrongly" not in doubts else []),
            *([tell("marks on its outside show which way")] if is_marked else [])]
    return replace(mode, today="; ".join(told) or translated(NOTHING))


def _as_made(case: Case, piece: Piece) -> str:
    service = case.job.wishes.service
    tried = (tell("tried for {tested_hours:g} h", tested_hours=service.tested_hours) if service.tested_machines
             else tell("not tried yet"))
    return tell("{material}, {thickness:g} mm high, {tried}", material=piece.material or tell("material not told"),
                thickness=piece.thickness, tried=tried)


_PARTS: tuple[tuple[type, str], ...] = ((Bar, entry("bars")), (Lip, entry("lip")), (Latch, entry("hooks")),
                                        (Boss, entry("thread")), (Opening, entry("opening")))


def _sized(case: Case, piece: Piece, feature: Feature) -> str:
    """What there is of the feature, as built."""
    match feature:
        case Bar():
            return tell("{width:g} x {top:g} mm, held at both ends", width=feature.width, top=feature.top - feature.bottom)
        case Lip():
            return tell("{thickness:g} mm thick, {top:g} mm high", thickness=feature.thickness, top=feature.top - feature.bottom)
        case Latch():
            return tell("{thickness:g} mm thick at the root, strain {strain:.1%}", thickness=feature.thickness,
                        strain=feature.strain)
        case Boss():
            opens, far = (feature.top, 0.0) if feature.opens > 0 else (feature.bottom, piece.thickness)
            return tell("{solid_behind:.1f} mm solid behind the hole", solid_behind=solid_behind(opens, feature.pilot_depth, far))
    foam = any(other.kind == "filter_element" for other in case.build.pieces)
    return tell("the foam behind it") if foam else translated(NOTHING)


def _pins(case: Case, piece: Piece, name: str) -> list[tuple[str, str, str]]:
    wish = case.job.wishes.holder
    is_pinned = piece.kind == "cover" and wish is not None and wish.kind == "pins"
    return [(tell("pins of {name}", name=name), "pins", tell("the foam they stand in"))] if is_pinned else []


def _of_surroundings(case: Case) -> list[tuple[str, str, str]]:
    """What pressure, fuel, mains and food add to the part as a whole."""
    machine, service = case.job.wishes.machine, case.job.wishes.service
    told = {*machine.media, *service.exposed}
    seal = case.job.wishes.seal
    if (machine.gauge_pressure_kpa or 0) > 0 or (seal is not None and seal.duty == "pressure"):
        told.add("pressure")
    return [(case.job.name, about, translated(NOTHING)) for word, about in _DANGEROUS.items() if word in told]


def _edited(drawn: list[FailureMode], rows: tuple[FailureRow, ...]) -> list[FailureMode]:
    """The drawn-up rows with the maker's words and marks in their place, and the maker's own rows."""
    table = {_key(mode.item, mode.mode): mode for mode in drawn}
    for place, row in enumerate(rows, 1):
        marks = {name: getattr(row, name) for name in _MARKS if getattr(row, name) is not None}
        wrong = [f"{name} = {mark}" for name, mark in marks.items() if not 1 <= mark <= 10]
        if wrong:
            raise JobError(f"failure_mode {place} ({row.item}, {row.mode}): found {', '.join(wrong)}, expected marks from 1 "
                           "to 10. Give 1 for harmless, rare, or seen at once, 10 for the worst.")
        before = table.get(_key(row.item, row.mode))
        if before is None and len(marks) < len(_MARKS):
            lacking = ", ".join(name for name in _MARKS if name not in marks)
            raise JobError(f"failure_mode {place} ({row.item}, {row.mode}): found a row that the table does not have, without "
                           f"{lacking}; expected all of {', '.join(_MARKS)}. Give them, or write item and mode as in the table.")
        words = {name: text for name in ("effect", "cause", "today") if (text := getattr(row, name))}
        fresh = before or FailureMode(row.item, row.mode, tell("not told"), tell("not told"), translated(NOTHING), 1, 1, 1)
        table[_key(row.item, row.mode)] = replace(fresh, **words, **marks)
    return list(table.values())


def _key(item: str, mode: str) -> tuple[str, str]:
    return " ".join(item.lower().split()), " ".join(mode.lower().split())
