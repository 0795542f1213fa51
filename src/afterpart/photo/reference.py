"""Every length reference of a picture, looked for and turned into observations for the joint adjustment.

World frame: that of the sheet where there is one (origin in its middle), else of the first reference found.  The table is z =
0; a sheet lies on it, everything else stands `reference_height` above it.  What was recognised is never a part: its region is
handed on.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from afterpart.geometry.quad import Point
from afterpart.model.camera import Camera
from afterpart.model.edges import Note
from afterpart.model.job import Shot
from afterpart.model.references import CalliperJaws, RuleTicks, TargetMarkers
from afterpart.photo.adjust import Observations
from afterpart.photo.calliper import find_jaws
from afterpart.photo.projection import to_plane
from afterpart.photo.rule import find_rules
from afterpart.photo.sheet import SheetSides, find_sheet
from afterpart.photo.sheetcorners import sides_from_corners
from afterpart.photo.target import find_target
from afterpart.standards.paper import sheet_size
from afterpart.standards.printed_target import BAR_LENGTH, marker_corners
from afterpart.units import MM_PER_INCH

RULE_U = 3e-4
"""Relative standard uncertainty of a rule's graduation: about class II of the European rule (0.3 mm + 0.2 mm a metre), from
memory."""

CALLIPER_U = 0.03
CLICK_U_PX = 0.4


@dataclass(frozen=True)
class Sighted:
    """What was seen.  kinds: references that fix the scale; taken: regions (k, 2) px of recognised things; notes for the
    maker."""

    sheet: SheetSides | None
    sheet_size: tuple[float, float] | None
    rules: tuple[RuleTicks, ...]
    rule_pitch: float | None
    jaws: CalliperJaws | None
    target: TargetMarkers | None
    kinds: tuple[str, ...]
    taken: tuple[np.ndarray, ...]
    notes: tuple[Note, ...] = field(default=())


def look_for_references(grey: np.ndarray, light: np.ndarray, small: np.ndarray, scale: float, shot: Shot) -> Sighted:
    """Look for what the maker told, or for everything when nothing was told or none of it is there.
    grey, light: (h, w) float32; small: the picture in colour, reduced by `scale`."""
    seen = _Seen(grey, light, small, scale, shot.sheet_corners_px)
    told = _look_for_told(seen, shot)
    if told.kinds or shot.scan_dpi is not None:
        return told
    untold = _look_for_anything(seen, shot)
    return replace(untold, notes=(*told.notes, *untold.notes))


class _Seen:
    """Finders' results, each looked for once and only when asked."""

    def __init__(self, grey: np.ndarray, light: np.ndarray, small: np.ndarray, scale: float, corners: tuple[Point, ...]) -> None:
        self._grey, self._light, self._small, self._scale, self._corners = grey, light, small, scale, corners

    @cached_property
    def sheet(self) -> SheetSides | None:
        if self._corners:
            return sides_from_corners(self._light, self._corners)
        return find_sheet(self._light, self._small, self._scale)

    @cached_property
    def rules(self) -> tuple[RuleTicks, ...]:
        return tuple(find_rules(self._grey))

    @cached_property
    def target(self) -> TargetMarkers | None:
        return find_target(self._grey)

    @cached_property
    def jaws(self) -> CalliperJaws | None:
        return find_jaws(self._grey)


def _look_for_told(seen: _Seen, shot: Shot) -> Sighted:
    kinds: list[str] = []
    notes: list[Note] = []

    def found(kind: str, thing: object, missing: str) -> None:
        if thing:
            kinds.append(kind)
        else:
            notes.append(Note(f"{kind}_missing", missing))

    size = shot.sheet
    if shot.sheet_corners_px and seen.sheet is not None:
        kinds.append("sheet")
        size = shot.sheet or _likely_size(seen.sheet)
        notes += _corner_notes(seen.sheet, shot, size)
    elif shot.sheet is not None:
        found("sheet", seen.sheet is not None, "The sheet that was told could not be found in the picture: at least two facing "
              "edges must stand "
              "out bright against the table.")
    if shot.rule is not None:
        found("rule", seen.rules, "No rule was found: its finest graduation must be sharp, at least 5 pixels apart.")
        notes += _ladder_note(seen.rules[0], shot) if seen.rules else []
    if shot.target_bar is not None:
        found("target", seen.target is not None, "The printed target was not found: at least two of its markers must be whole "
              "and sharp.")
    if shot.calliper is not None:
        found("calliper", seen.jaws is not None, "The calliper's jaws were not found; click their tips instead (--span).")
    if shot.span is not None:
        kinds.append("span")
    return _sighted(seen, kinds, size, shot.rule.pitch if shot.rule else None, shot.calliper is not None
                    or shot.span is not None, notes)


def _corner_notes(sheet: SheetSides, shot: Shot, size: tuple[float, float]) -> list[Note]:
    """What to say of a sheet whose corners were pointed out."""
    notes = []
    if shot.sheet is None:
        notes.append(Note("sheet_assumed", f"The sheet whose corners were given was taken for {size[0]:g} x {size[1]:g} mm; say "
                          "--sheet if it is another."))
    if sheet.by_hand:
        count = len(sheet.by_hand)
        which = "A side" if count == 1 else f"{('', '', 'Two', 'Three', 'All four')[count]} sides"
        notes.append(Note("sheet_sides_by_hand", f"{which} of the sheet {'does' if count == 1 else 'do'} not show in the picture "
                          f"and {'was' if count == 1 else 'were'} taken from the corners given, good to {sheet.hand_u_px:g} "
                          "pixels each. A rule beside the part, or a ground that differs from the paper, would tell more."))
    return notes


def _look_for_anything(seen: _Seen, shot: Shot) -> Sighted:
    kinds: list[str] = []
    notes: list[Note] = []
    size, pitch = None, None
    if seen.sheet is not None and shot.sheet is None:
        kinds.append("sheet")
        size = _likely_size(seen.sheet)
        notes.append(Note("sheet_assumed", f"A sheet of paper was found and taken for {size[0]:g} x {size[1]:g} mm; say --sheet "
                          "if it is another."))
    if seen.rules and shot.rule is None:
        kinds.append("rule")
        pitch = MM_PER_INCH / 16 if seen.rules[0].ladder == "binary" else 1.0
        notes.append(Note("rule_assumed", f"A rule was found and its graduation taken for {pitch:.4g} mm; say --rule if it is "
                          "another."))
    if shot.target_bar is None and seen.target is not None:
        kinds.append("target")
        notes.append(Note("target_scale", "The printed target was found; its 100 mm bar was taken as true. Measure it and say "
                          "--target MM."))
    if not kinds and shot.calliper is None and seen.jaws is not None:
        notes.append(Note("calliper_reading", "An open calliper was found; type its reading (--calliper READING) to settle the "
                          "size."))
    return _sighted(seen, kinds, size, pitch, not kinds, notes)


def _sighted(seen: _Seen, kinds: list[str], size: tuple[float, float] | None, pitch: float | None, with_jaws: bool,
             notes: list[Note]) -> Sighted:
    """Everything recognised is kept off the parts; a calliper only where one was to be expected, for looking for it takes
    long."""
    jaws = seen.jaws if with_jaws else None
    taken = [r.quad for r in seen.rules if r.kind == "rule"] + list(jaws.quads if jaws else ())
    return Sighted(seen.sheet if "sheet" in kinds else None, size, seen.rules, pitch, jaws, seen.target if "target" in kinds
                   else None,
                   tuple(kinds), tuple(taken), tuple(notes))


def _likely_size(sheet: SheetSides) -> tuple[float, float]:
    """A4 or letter, by the proportion of the sides as seen."""
    c = sheet.corners
    a = np.hypot(*(c[1] - c[0])) + np.hypot(*(c[3] - c[2]))
    b = np.hypot(*(c[2] - c[1])) + np.hypot(*(c[0] - c[3]))
    ratio = max(a, b) / max(min(a, b), 1e-9)
    return sheet_size("letter") if abs(ratio - 11 / 8.5) < abs(ratio - 2**0.5) else sheet_size("A4")


def _ladder_note(rule: RuleTicks, shot: Shot) -> list[Note]:
    told_inch = shot.rule is not None and shot.rule.name.startswith("inch")
    if shot.rule is not None and rule.ladder != "unknown" and (rule.ladder == "binary") != told_inch:
        seen = "halves and quarters, as on an inch rule" if rule.ladder == "binary" else "fives and tens, as on a millimetre rule"
        return [Note("rule_ladder", f"The rule's longer marks follow {seen}, but --rule {shot.rule.name} was told. Check which "
                     "edge was meant.")]
    return []


@dataclass(frozen=True)
class Anchor:
    """A first place for the camera: px (2,) that lies at world (0, 0), picture angle of world x, pixels per mm there."""

    px: np.ndarray
    angle_rad: float
    px_per_mm: float


def rule_observations(rule: RuleTicks, pitch: float, height: float, px_per_mm: float,
                      stretch_u: float | None) -> tuple[Observations, Anchor]:
    """Every tick point lies at index * pitch along the rule.  stretch_u: None when the rule is the world frame itself; else the
    relative standard uncertainty of its scale among the other references (graduation and height), for which it gets an
    unknown."""
    px = np.concatenate([t.points for t in rule.ticks])
    u = np.concatenate([t.u_px for t in rule.ticks]) / px_per_mm
    index = np.concatenate([np.full(len(t.points), t.index) for t in rule.ticks])
    middle = int(round(float(np.median(index))))
    target = (index - middle) * pitch
    ends = px[index == index.max()].mean(0), px[index == index.min()].mean(0)
    direction = ends[0] - ends[1]
    angle = float(np.arctan2(direction[1], direction[0]))
    anchor = Anchor(px[np.abs(index - middle) <= 1].mean(0), angle, px_per_mm)

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        if stretch_u is None:
            return xy[:, 0] - target
        x0, y0, turn, stretch = unknown
        return (xy[:, 0] - x0) * np.cos(turn) + (xy[:, 1] - y0) * np.sin(turn) - target * (1 + stretch)

    start, prior = ((), ()) if stretch_u is None else ((0.0, 0.0, 0.0, 0.0), (np.inf, np.inf, np.inf, stretch_u))
    return Observations("rule", height, px, start, prior, residual, np.maximum(u, 0.03 / px_per_mm)), anchor


def place_start(obs: Observations, xy: np.ndarray, direction: np.ndarray) -> Observations:
    """The same observations with the reference's own place started at xy (2,) and direction (2,) on the table."""
    start = (float(xy[0]), float(xy[1]), float(np.arctan2(direction[1], direction[0])))
    return replace(obs, start=start + obs.start[3:])


def gauge(px: np.ndarray, height: float, at: tuple[float, float] = (0.0, 0.0)) -> Observations:
    """Ties a pixel to a place: takes up what the references leave free (a rule says nothing along its ticks)."""
    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return (xy - np.array(at)).ravel()
    return Observations("gauge", height, np.asarray(px, float).reshape(1, 2), (), (), residual, 1.0, ties=True)


def target_observations(target: TargetMarkers, bar: float, height: float, px_per_mm: float,
                        stretch_u: float | None = None) -> tuple[Observations, np.ndarray, np.ndarray]:
    """Marker corners at their printed places, scaled as the maker measured the bar.  stretch_u: None when the target is the world
    frame, else it has a place of its own and a scale of this relative standard uncertainty.  Also returns px and xy (n, 2) for a
    first pose."""
    scale = bar / BAR_LENGTH
    xy = np.concatenate([np.array(marker_corners(int(i))) for i in target.ids]) * scale
    px = target.corners.reshape(-1, 2)
    u = np.repeat(np.maximum(target.u_px.reshape(-1), 0.05), 2) / px_per_mm

    def residual(at: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        if stretch_u is None:
            return (at - xy).ravel()
        c, s = np.cos(unknown[2]), np.sin(unknown[2])
        return (at - unknown[:2] - (1 + unknown[3]) * xy @ np.array([[c, s], [-s, c]])).ravel()

    start, prior = ((), ()) if stretch_u is None else ((0.0, 0.0, 0.0, 0.0), (np.inf, np.inf, np.inf, stretch_u))
    return Observations("target", height, px, start, prior, residual, u), px, xy


def jaw_observations(jaws: CalliperJaws, reading: float | None, height: float, px_per_mm: float, start: Camera) -> Observations:
    """Both faces parallel and `reading` apart (None: parallel only), the body's other edges along or across them.

    Unknowns: direction of the faces' normal, then one offset a line; the second face's is told from the first's."""
    lines = [("along", jaws.left), ("along", jaws.right), *((line.role, line) for line in jaws.lines
                                                            if line.role in ("along", "across"))]
    px = np.concatenate([line.points for _, line in lines])
    u = np.maximum(np.concatenate([line.u_px for _, line in lines]), 0.1) / px_per_mm
    which = np.concatenate([np.full(len(line.points), i) for i, (_, line) in enumerate(lines)])
    across = np.array([role == "across" for role, _ in lines])
    first = to_plane(start, px, height)
    left, right = first[which == 0], first[which == 1]
    run = np.linalg.svd(left - left.mean(0))[2][0]
    normal = np.array([run[1], -run[0]])
    if normal @ (right.mean(0) - left.mean(0)) < 0:
        normal = -normal

    def along_lines(xy: np.ndarray, angle: float) -> np.ndarray:
        n = np.array([np.cos(angle), np.sin(angle)])
        return np.where(across[which], xy @ np.array([-n[1], n[0]]), xy @ n)

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        offsets = unknown[1:].copy()
        offsets[1] += offsets[0]
        return along_lines(xy, unknown[0]) - offsets[which]

    angle = float(np.arctan2(normal[1], normal[0]))
    values = along_lines(first, angle)
    offsets = [float(values[which == i].mean()) for i in range(len(lines))]
    offsets[1] -= offsets[0]
    prior = [np.inf] * (len(lines) + 1)
    if reading is not None:
        offsets[1], prior[2] = reading, CALLIPER_U
    return Observations("calliper", height, px, (angle, *offsets), tuple(prior), residual, u)


def scale_against(kind: str, sighted: Sighted, shot: Shot, camera: Camera, height: float) -> float:
    """Length of a reference as this camera sees it, lying at `height`, as a share of the length it is said to have."""
    if kind == "rule":
        assert sighted.rule_pitch is not None
        ticks = sighted.rules[0].ticks
        xy = np.array([to_plane(camera, t.points, height).mean(0) for t in ticks])
        along = (xy - xy.mean(0)) @ np.linalg.svd(xy - xy.mean(0), full_matrices=False)[2][0]
        return abs(float(np.polyfit([t.index for t in ticks], along, 1)[0])) / sighted.rule_pitch
    if kind == "calliper":
        assert sighted.jaws is not None and shot.calliper is not None
        left, right = (to_plane(camera, face.points, height) for face in (sighted.jaws.left, sighted.jaws.right))
        run = np.linalg.svd(left - left.mean(0), full_matrices=False)[2][0]
        return abs(float((right.mean(0) - left.mean(0)) @ np.array([run[1], -run[0]]))) / shot.calliper
    if kind == "target":
        assert sighted.target is not None
        _, px, printed = target_observations(sighted.target, shot.target_bar or BAR_LENGTH, height, 1.0)
        xy = to_plane(camera, px, height)
        return float(np.sqrt(((xy - xy.mean(0)) ** 2).sum() / ((printed - printed.mean(0)) ** 2).sum()))
    assert shot.span is not None
    ends = to_plane(camera, np.array([[shot.span.x1, shot.span.y1], [shot.span.x2, shot.span.y2]]), height)
    return float(np.hypot(*(ends[1] - ends[0]))) / shot.span.length


def span_observations(shot: Shot, px_per_mm: float) -> tuple[Observations, Anchor]:
    """Two picked pixels a known length apart; the first guess puts world zero midway between them."""
    assert shot.span is not None
    s = shot.span
    px = np.array([[s.x1, s.y1], [s.x2, s.y2]])
    length = s.length

    def residual(xy: np.ndarray, unknown: np.ndarray) -> np.ndarray:
        return np.array([np.hypot(*(xy[1] - xy[0])) - length])

    anchor = Anchor(px.mean(0), 0.0, float(np.hypot(*(px[1] - px[0]))) / length)
    return Observations("span", shot.reference_height, px, (), (), residual, CLICK_U_PX * 2**0.5 / px_per_mm), anchor

