"""Which reference leads, what the others say beside it, and whether they agree.

The *leading* reference sets the world frame and gives the first camera: the sheet where there is one, then target, rule,
calliper, span. Every other one is first measured with that camera: *ratio* is its length so seen as a share of the length it is
said to have.  A ratio far from 1 is a contradiction: it is named, and what is less to be believed is put aside instead of being
averaged in.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from afterpart.model.camera import Camera
from afterpart.model.edges import Note
from afterpart.model.job import Shot
from afterpart.photo.adjust import FocalPrior, Observations, overhead_camera, pose_from_plane
from afterpart.photo.consistency import (
    GRADUATIONS,
    HIGHEST,
    PRINTED,
    SAME,
    Beside,
    disagreement,
    fitting_sheet,
    not_flat,
    raised_height,
    side_strays,
)
from afterpart.photo.projection import to_plane
from afterpart.photo.reference import (
    CALLIPER_U,
    CLICK_U_PX,
    RULE_U,
    Anchor,
    Sighted,
    gauge,
    jaw_observations,
    place_start,
    rule_observations,
    scale_against,
    span_observations,
    target_observations,
)
from afterpart.photo.sheetpose import SHEET_U, fit_lifted, fit_sheet
from afterpart.standards.paper import SHEETS
from afterpart.standards.printed_target import BAR_LENGTH
from afterpart.units import MM_PER_INCH

HELD_TILT_DEG = 6.0
"""How far from straight down a camera is usually held when nothing tells (standard uncertainty); judgement."""

HEIGHT_GUESS_U = {"rule": 0.6, "calliper": 2.0, "span": 1.0}
"""Standard uncertainty in mm of a reference's height above the table when none was told; judgement."""

TOLD_HEIGHT_U = 0.05
BAR_U = 0.1
DISAGREE, GROSS = 3.5, 0.05
"""Ratios this many standard uncertainties from 1 contradict; beyond the second figure one of the two is simply wrong."""


@dataclass(frozen=True)
class Lead:
    """The leading reference: kind, first camera, its observations, the focal length believed, whether it knows the tilt,
    notes."""

    kind: str
    camera: Camera
    observations: tuple[Observations, ...]
    focal: FocalPrior
    strong: bool
    size: tuple[float, float] | None = None
    notes: tuple[Note, ...] = field(default=())


@dataclass(frozen=True)
class Weighed:
    """lead: as it is to be used; others: observations of the references beside it; kinds: all that give the scale;
    relative_u: standard uncertainty of the scale at the reference; apart: relative doubt left by references that disagree."""

    lead: Lead
    others: tuple[Observations, ...]
    kinds: tuple[str, ...]
    relative_u: float
    apart: float
    notes: tuple[Note, ...]


def lead_reference(shape: tuple[int, int], sighted: Sighted, shot: Shot, focals: list[FocalPrior]) -> Lead:
    """The strongest reference sighted and a first camera from it.  sighted.kinds must not be empty."""
    z, focal = shot.reference_height, focals[0]
    if sighted.sheet is not None and sighted.sheet_size is not None:
        return _sheet(shape, sighted, sighted.sheet_size, focals)
    if "target" in sighted.kinds and sighted.target is not None:
        rough = float(np.hypot(*np.ptp(sighted.target.quad, axis=0))) / 300.0
        obs, px, xy = target_observations(sighted.target, shot.target_bar or BAR_LENGTH, z, rough)
        return Lead("target", pose_from_plane(shape, focal.focal_px, px, xy, z), (obs,), focal, True)
    if "rule" in sighted.kinds and sighted.rule_pitch is not None:
        rule = sighted.rules[0]
        obs, anchor = rule_observations(rule, sighted.rule_pitch, z, rule.pitch_px / sighted.rule_pitch, None)
        return Lead("rule", _over(shape, focal.focal_px, anchor, z), (obs, gauge(anchor.px, z)), focal, False)
    if "calliper" in sighted.kinds and sighted.jaws is not None and shot.calliper is not None:
        gap = sighted.jaws.right.points.mean(0) - sighted.jaws.left.points.mean(0)
        anchor = Anchor(sighted.jaws.left.points.mean(0), 0.0, float(np.hypot(*gap)) / shot.calliper)
        camera = _over(shape, focal.focal_px, anchor, z)
        obs = jaw_observations(sighted.jaws, shot.calliper, z, anchor.px_per_mm, camera)
        return Lead("calliper", camera, (obs, gauge(anchor.px, z)), focal, False)
    obs, anchor = span_observations(shot, 1.0)
    obs, anchor = span_observations(shot, anchor.px_per_mm)
    return Lead("span", _over(shape, focal.focal_px, anchor, z), (obs, gauge(anchor.px, z)), focal, False)


def _sheet(shape: tuple[int, int], sighted: Sighted, size: tuple[float, float], focals: list[FocalPrior]) -> Lead:
    assert sighted.sheet is not None
    strong = len(sighted.sheet.seen) == 4
    tilt_u = np.inf if strong else HELD_TILT_DEG
    # two or three sides cannot tell the readings of a stated focal length apart
    focals = focals if strong else focals[:1]
    fitted = fit_lifted(fit_sheet(shape, sighted.sheet, size, focals, tilt_u), sighted.sheet, focals)
    notes = []
    if strong and max(map(abs, fitted.stretch)) > DISAGREE * SHEET_U:
        others = [(s, fit_sheet(shape, sighted.sheet, (s.width, s.height), focals, tilt_u)) for s in SHEETS]
        sheet, best = min(others, key=lambda pair: pair[1].cost)
        told = f"The sheet's proportions are not those of {size[0]:g} x {size[1]:g} mm"
        if best.cost < 0.7 * fitted.cost and max(map(abs, best.stretch)) < DISAGREE * SHEET_U:
            # among sheets of the same proportions only the size that was told chooses
            sheet = min((s for s, f in others if f.cost < 1.3 * best.cost), key=lambda s: abs(s.height - max(size)))
            fitted, size = next(f for s, f in others if s is sheet), (sheet.width, sheet.height)
            notes.append(Note("sheet_proportion", f"{told}; it was taken for {sheet.name} ({sheet.width:g} x {sheet.height:g} "
                              "mm). Check --sheet."))
        else:
            notes.append(Note("sheet_proportion", f"{told}. Check --sheet, and that the sheet is not folded or covered along a "
                              "side."))
    notes += not_flat(side_strays(fitted.camera, sighted.sheet), float(fitted.lifts.max()) if fitted.lifts.size else None,
                      fitted.rms_mm)
    if fitted.assumed:
        across = max(size)
        notes.append(Note("sheet_way_assumed", "Sides of the sheet are out of the picture; the two that face each other were "
                          f"taken to be {across:g} mm "
                          "apart. Photograph the whole sheet, or lay a rule beside the part."))
    return Lead("sheet", fitted.camera, fitted.observations, fitted.focal, strong, size, tuple(notes))


def weigh_references(camera: Camera, lead: Lead, sighted: Sighted, shot: Shot) -> Weighed:
    """The other references beside the leading one, each held against it.  camera: as the leading one alone gives it."""
    z = shot.reference_height
    kinds, shares, others, notes, apart = [lead.kind], [own_u(lead.kind, sighted, shot, camera)], [], [], 0.0
    if sighted.jaws is not None and "calliper" not in sighted.kinds and lead.kind == "span":
        # a calliper whose reading nobody typed still has parallel jaws
        others.append(jaw_observations(sighted.jaws, None, z, camera.focal_px / camera.position[2], camera))
    for kind in sighted.kinds:
        if kind == lead.kind:
            continue
        u = own_u(kind, sighted, shot, camera)
        ratio = scale_against(kind, sighted, shot, camera, z)
        own = float(np.hypot(min(shares, default=0.0), u))
        if abs(ratio - 1) > DISAGREE * own:
            beside = Beside(kind, ratio, _said(kind, sighted, shot), z, own)
            gross = abs(ratio - 1) > GROSS
            settled = _settle(lead, beside, sighted, shot) if gross else _settle_small(lead, beside, shot, camera)
            notes.append(settled.note or disagreement(lead.kind, lead.size, beside, camera, settled.done))
            if not gross and not settled.sure:
                apart = max(apart, abs(ratio - 1) / 2)
            if settled.sheet_size is not None:
                lead = _sheet((camera.height_px, camera.width_px), sighted, settled.sheet_size, [lead.focal])
                camera = lead.camera
                kinds, shares = ([lead.kind], shares) if settled.sheet_counts else ([], [])
            elif settled.bar is not None:
                shot = replace(shot, target_bar=settled.bar)
                lead = lead_reference((camera.height_px, camera.width_px), sighted, shot, [lead.focal])
                camera, kinds, shares = lead.camera, [], []
            elif settled.pitch is not None:
                sighted = replace(sighted, rule_pitch=settled.pitch)
            else:
                continue
        others.append(_beside(kind, sighted, shot, camera, u))
        kinds.append(kind)
        shares.append(u)
    notes += _doubt(lead, camera, sighted, shot)
    together = float(1 / np.sqrt(sum(1 / s**2 for s in shares)))
    return Weighed(lead, tuple(others), tuple(kinds), max(together, apart), apart, tuple(notes))


def _doubt(lead: Lead, camera: Camera, sighted: Sighted, shot: Shot) -> list[Note]:
    """A rule that nobody spoke of still tells whether the sheet can be what was said."""
    if lead.kind != "sheet" or "rule" in sighted.kinds or not sighted.rules or lead.size is None:
        return []
    seen = scale_against("rule", replace(sighted, rule_pitch=1.0), shot, camera, 0.0)
    if any(abs(seen / g - 1) < SAME for g in GRADUATIONS):
        return []
    fitting = fitting_sheet(lead.size, seen)
    guess = f" If it is a millimetre rule, the sheet is {fitting.name}." if fitting is not None else ""
    return [Note("sheet_doubtful", f"If the sheet is {lead.size[0]:g} x {lead.size[1]:g} mm, the graduations of the rule in the "
                 f"picture are {seen:.3g} mm "
                 f"apart, which is unusual.{guess} Check --sheet, or say --rule.")]


def own_u(kind: str, sighted: Sighted, shot: Shot, camera: Camera) -> float:
    """Relative standard uncertainty of the scale one reference gives, with that of its height above the table."""
    if kind == "sheet":
        assert sighted.sheet_size is not None
        return SHEET_U / 2**0.5 / (sum(sighted.sheet_size) / 2)
    height_u = reference_height_u(kind, shot)
    if kind == "rule":
        own = RULE_U
    elif kind == "target":
        own = BAR_U / BAR_LENGTH
    elif kind == "calliper":
        own = 2 * CALLIPER_U / (shot.calliper or 1.0)
    else:
        assert shot.span is not None
        s = shot.span
        own = float(np.hypot(CLICK_U_PX * 2**0.5 / np.hypot(s.x2 - s.x1, s.y2 - s.y1), CALLIPER_U / s.length))
    return float(np.hypot(own, height_u / camera.position[2]))


def reference_height_u(kind: str, shot: Shot) -> float:
    """Standard uncertainty of a reference's height above the table, mm."""
    if kind == "sheet":
        return 0.0
    return TOLD_HEIGHT_U if shot.reference_height else HEIGHT_GUESS_U.get(kind, 0.0)


@dataclass(frozen=True)
class _Settled:
    """How a contradiction is settled: another size for the sheet (sheet_counts: as a standard one it still gives scale), another
    length of the target's bar, another graduation for the rule, or none of them: the second reference is put aside.  done: that
    in words; sure: no doubt of the scale is left; note: what is said instead of the usual."""

    done: str = ""
    sheet_size: tuple[float, float] | None = None
    sheet_counts: bool = False
    pitch: float | None = None
    bar: float | None = None
    sure: bool = False
    note: Note | None = None


def _said(kind: str, sighted: Sighted, shot: Shot) -> float:
    """Length that was said of a reference: of a rule its graduation, of a target its bar."""
    if kind == "rule":
        return sighted.rule_pitch or 1.0
    if kind == "target":
        return shot.target_bar or BAR_LENGTH
    return (shot.calliper if kind == "calliper" else shot.span.length if shot.span is not None else None) or 1.0


def _settle_small(lead: Lead, beside: Beside, shot: Shot, camera: Camera) -> _Settled:
    """What differs by some per mille to per cent, more than a cut sheet does: mostly the height of what lies beside it, unless
    that would lie below the table.  A print nobody measured follows."""
    kind, aside = beside.kind, _Settled(f"The {lead.kind} was followed, the {beside.kind} put aside.")
    measured = not _is_unmeasured(shot) if kind == "target" else shot.reference_height > 0
    if lead.kind == "sheet" and lead.size is not None and measured and not 0 <= raised_height(beside, camera) <= HIGHEST:
        size = (lead.size[0] / beside.ratio, lead.size[1] / beside.ratio)
        return _Settled(f"The {kind} was followed, the sheet only for the tilt.", size)
    if lead.kind == "target" and _is_unmeasured(shot):
        return _print_follows(beside)
    return replace(aside, sure=kind == "target" and not measured)


def _print_follows(beside: Beside) -> _Settled:
    """A target nobody measured follows the reference beside it."""
    return _Settled(f"The {beside.kind} was followed, the target only for the tilt.", bar=BAR_LENGTH / beside.ratio,
                    sure=True)


def _is_unmeasured(shot: Shot) -> bool:
    """Whether the target's bar was taken to be what it ought to be."""
    return shot.target_bar is None or shot.target_bar == BAR_LENGTH


def _settle(lead: Lead, beside: Beside, sighted: Sighted, shot: Shot) -> _Settled:
    """What differs grossly: one of the two is something else than was said."""
    kind, ratio = beside.kind, beside.ratio
    if lead.kind == "target" and _is_unmeasured(shot) and PRINTED[0] < 1 / ratio < PRINTED[1]:
        return _print_follows(beside)
    if lead.kind != "sheet" or lead.size is None:
        return _Settled(f"The {lead.kind} was followed, the {kind} put aside.")
    if kind == "target" and _is_unmeasured(shot) and PRINTED[0] < ratio < PRINTED[1]:
        return _Settled("The sheet was followed, the target put aside.")
    fitting = fitting_sheet(lead.size, ratio)
    if kind in ("calliper", "span") and fitting is None:
        # a number misread is likelier than a sheet of no known size
        return _Settled(f"The sheet was followed, the {kind} put aside.")
    told = f"the sheet is {lead.size[0]:g} x {lead.size[1]:g} mm"
    if kind == "rule" and sighted.rule_pitch is not None:
        seen = ratio * sighted.rule_pitch
        rule = sighted.rules[0]
        wrong_ladder = rule.ladder != "unknown" and (rule.ladder == "binary") != _is_inch(sighted.rule_pitch)
        usual = [g for g in GRADUATIONS if abs(seen / g - 1) < SAME]
        if fitting is not None and not wrong_ladder and shot.sheet is None:
            return _Settled(sheet_size=(fitting.width, fitting.height), sheet_counts=True,
                            note=Note("sheet_assumed", f"The sheet was taken for {fitting.name} ({fitting.width:g} x "
                                      f"{fitting.height:g} mm), because the rule beside it says so; say --sheet if it is "
                                      "another."))
        if usual and shot.rule is None:
            return _Settled(pitch=usual[0], note=Note("rule_assumed", f"If {told}, the rule's graduations are {seen:.4g} mm "
                                                      f"apart, not {sighted.rule_pitch:.4g} mm; they were taken for "
                                                      f"{usual[0]:.4g} mm. Check --rule and --sheet."))
        if usual and wrong_ladder and fitting is None:
            return _Settled("The rule's longer marks do not follow the graduation that was told: it was taken for "
                            f"{usual[0]:.4g} mm.", pitch=usual[0])
        if wrong_ladder:
            return _Settled("The rule's longer marks do not follow the graduation that was told: the sheet was followed.")
        if usual and fitting is None:
            # both are usual things: a sheet of no known size is the less likely
            return _Settled(f"The rule's graduation was taken for {usual[0]:.4g} mm.", pitch=usual[0])
    return _Settled(f"The {kind} was followed, the sheet only for the tilt.", (lead.size[0] / ratio, lead.size[1] / ratio))


def _is_inch(pitch: float) -> bool:
    return any(abs(pitch * k / MM_PER_INCH - 1) < 1e-6 for k in (8, 16, 32, 64))


def _beside(kind: str, sighted: Sighted, shot: Shot, camera: Camera, u: float) -> Observations:
    """Observations of a reference that does not lead; u: relative standard uncertainty of its scale."""
    z, px_per_mm = shot.reference_height, camera.focal_px / camera.position[2]
    if kind == "rule":
        assert sighted.rule_pitch is not None
        rule = sighted.rules[0]
        obs, anchor = rule_observations(rule, sighted.rule_pitch, z, rule.pitch_px / sighted.rule_pitch, u)
        along = np.array([np.cos(anchor.angle_rad), np.sin(anchor.angle_rad)])
        ends = to_plane(camera, np.array([anchor.px, anchor.px + 50 * along]), z)
        return place_start(obs, ends[0], ends[1] - ends[0])
    if kind == "target":
        assert sighted.target is not None
        obs, px, printed = target_observations(sighted.target, shot.target_bar or BAR_LENGTH, z, px_per_mm, u)
        xy = to_plane(camera, px, z)
        a, b = printed - printed.mean(0), xy - xy.mean(0)
        turn = float(np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum()))
        c, s = np.cos(turn), np.sin(turn)
        at = xy.mean(0) - printed.mean(0) @ np.array([[c, s], [-s, c]])
        return replace(obs, start=(float(at[0]), float(at[1]), turn, 0.0))
    if kind == "calliper":
        assert sighted.jaws is not None
        return jaw_observations(sighted.jaws, shot.calliper, z, px_per_mm, camera)
    return span_observations(shot, px_per_mm)[0]


def _over(shape: tuple[int, int], focal_px: float, anchor: Anchor, z: float) -> Camera:
    """A camera looking straight down, with world zero at the anchor and world x along its direction."""
    c, s = np.cos(anchor.angle_rad), np.sin(anchor.angle_rad)
    camera = overhead_camera(shape, focal_px, focal_px / anchor.px_per_mm + z)
    turn = np.diag([1.0, -1.0, -1.0]) @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1.0]])
    away = (np.array([shape[1] / 2, shape[0] / 2]) - anchor.px) / anchor.px_per_mm
    position = (float(away @ [c, s]), float(away @ [s, -c]), camera.position[2])
    return replace(camera, rotation=tuple(map(tuple, turn.tolist())), position=position)  # type: ignore[arg-type]
