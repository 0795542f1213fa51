"""What contradicts among the references of one picture: the evidence, and each single change of what was told that explains it.

Words: a reference *beside* the leading one is seen *ratio* times as long as it is said to be; a *pull* is how far an unknown of
the joint adjustment (a sheet's side, a rule's stretch, the focal length) was drawn from what was told of it, in standard
uncertainties; a side's *stray* is how far a sheet's edge leaves the straight line between its ends, slowly, over its length.
The sum of squared pulls is a chi-square against the budget.
Limits: one change is sought at a time.  What changes all references alike cannot be seen from them: the height of the part's
face, and, from straight above, a sheet bowed alike on all sides, which passes for a lens.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.geometry.robust import spread
from afterpart.model.camera import Camera
from afterpart.model.edges import Note
from afterpart.photo.adjust import Adjustment, FocalPrior, Observations
from afterpart.photo.projection import to_plane
from afterpart.photo.sheet import SheetSides
from afterpart.standards.paper import SHEETS, Sheet
from afterpart.units import MM_PER_INCH

GRADUATIONS = (1.0, 0.5, MM_PER_INCH / 16, MM_PER_INCH / 32, MM_PER_INCH / 64, MM_PER_INCH / 10, MM_PER_INCH / 20)
"""Usual finest graduations of rules in mm; trade custom."""

SAME = 0.03
"""Ratios this near to 1 mean the same standard size."""

HIGHEST = 40.0
"""A reference is not laid higher above the table than this, mm (judgement)."""

PRINTED = (0.85, 1.15)
"""Scales at which printers put a page on paper by themselves: 94 to 97 % to fit margins is usual (experience, no source)."""

UNIT_SLIPS = ((10.0, "the point slipped"), (0.1, "the point slipped"), (MM_PER_INCH, "read in inches"),
              (1 / MM_PER_INCH, "turned to inches"))

MOST_PULL = 4.0
"""A pull beyond this is named; of the squared pulls together what is as improbable."""

STRAY_LEAST, STRAY_SIGNIFICANT = 0.12, 6.0
"""A side strays when it leaves the straight by so many mm, and by so many standard uncertainties.  Flat sheets of the booth have
0.01 mm."""

MOST_SCATTER = 0.25
"""Scatter of a sheet's edges about a flat one's beyond which something is wrong with it, mm."""

ALIKE = 12.0
"""So many neighbouring points of a side err alike; judgement."""


@dataclass(frozen=True)
class Beside:
    """A reference held against the leading one.  kind; ratio: seen over said length; length: what was said of it (a rule's
    graduation, the target's bar, a calliper's or a span's reading), mm; height: as told, mm; u: relative standard uncertainty of
    the ratio."""

    kind: str
    ratio: float
    length: float
    height: float
    u: float


def fitting_sheet(size: tuple[float, float], ratio: float) -> Sheet | None:
    """The standard sheet of these proportions under which the ratio would be 1."""
    want = sorted(v / ratio for v in size)
    return next((s for s in SHEETS if abs(s.width / want[0] - 1) < SAME and abs(s.height / want[1] - 1) < SAME), None)


def raised_height(beside: Beside, camera: Camera) -> float:
    """Height above the table at which the reference beside would be as long as it is said to be, mm."""
    return camera.position[2] - (camera.position[2] - beside.height) / beside.ratio


def single_changes(lead: str, size: tuple[float, float] | None, beside: Beside, camera: Camera) -> list[str]:
    """Each single change that would bring the two together, the likelier first.  size: of a leading sheet as told."""
    out = []
    if beside.kind == "rule":
        seen = beside.ratio * beside.length
        usual = next((g for g in GRADUATIONS if abs(seen / g - 1) < SAME and abs(g / beside.length - 1) > SAME), None)
        if usual is not None:
            out.append(f"the rule's graduation is {_graduation(usual)}, not {_graduation(beside.length)}")
    if beside.kind == "target" and PRINTED[0] < beside.ratio < PRINTED[1]:
        out.append(f"the target was printed at {100 * beside.ratio * beside.length / 100:.1f} %: its 100 mm bar measures "
                   f"{beside.ratio * beside.length:.1f} mm, not {beside.length:g} mm")
    if beside.kind in ("calliper", "span"):
        slip = next((f" ({words})" for factor, words in UNIT_SLIPS if abs(beside.ratio / factor - 1) < SAME), "")
        out.append(f"the {beside.kind} is {beside.ratio * beside.length:.2f} mm long, not {beside.length:g} mm{slip}")
    raised = raised_height(beside, camera)
    if 0 <= raised <= HIGHEST:
        out.append(f"the {beside.kind} lies {raised:.1f} mm above the table, not {beside.height:g} mm")
    if lead == "sheet" and size is not None:
        sheet = fitting_sheet(size, beside.ratio)
        off = max(size) * (1 / beside.ratio - 1)
        if sheet is not None and abs(sheet.height / max(size) - 1) > SAME / 2:
            out.append(f"the sheet is {sheet.name} ({sheet.width:g} x {sheet.height:g} mm)")
        elif abs(beside.ratio - 1) < SAME:
            out.append(f"the sheet's longer side is {max(size) + off:.1f} mm, not {max(size):g} mm")
        if beside.ratio < 1 and 0 < -raised <= HIGHEST:
            out.append(f"the sheet lies {beside.height - raised:.1f} mm above what the {beside.kind} lies on")
    elif lead == "target":
        out.append(f"the target was printed at {100 / beside.ratio:.1f} % of what was said: measure its 100 mm bar")
    else:
        out.append(f"what was told of the {lead} is {beside.ratio:.3f} times too large")
    return out


def _graduation(pitch: float) -> str:
    parts = MM_PER_INCH / pitch
    return f"{pitch:g} mm" if abs(parts - round(parts)) > 0.02 or pitch in (0.5, 1.0) else f"1/{round(parts)} inch"


def disagreement(lead: str, size: tuple[float, float] | None, beside: Beside, camera: Camera, done: str) -> Note:
    """Two references that contradict each other.  done: what was made of it, a clause."""
    way = f"{beside.ratio:.3f} times as long as it is said to be" if abs(beside.ratio - 1) > 0.05 else \
        f"{100 * abs(beside.ratio - 1):.2f} % too {'long' if beside.ratio > 1 else 'short'}"
    changes = single_changes(lead, size, beside, camera)
    return Note("references_disagree", f"Held against the {lead}, the {beside.kind} looks {way}, "
                f"{abs(beside.ratio - 1) / beside.u:.0f} standard uncertainties of {100 * beside.u:.2f} %. Any one of these "
                f"would explain it: {'; '.join(changes)}. {done} Check --reference-height, and what was told of both.")


@dataclass(frozen=True)
class Pull:
    """what: an unknown in words with how far it moved; z: how far from what was told, in standard uncertainties."""

    what: str
    z: float
    name: str


def pulls(adjusted: Adjustment, observations: Sequence[Observations], focal: FocalPrior) -> list[Pull]:
    """How far each reference's unknowns, and the focal length, were drawn from what was told, the farthest first."""
    out = []
    for o, found in zip(observations, adjusted.unknowns, strict=True):
        off = found - np.array(o.start, float)
        told = [k for k, u in enumerate(o.prior_u) if np.isfinite(u)]
        for number, k in enumerate(told[:2]):
            unit = f"{off[k]:+.2f} mm" if o.name in ("sheet", "calliper") else f"{100 * off[k]:+.2f} %"
            which = f"sheet's side across {'the picture' if number == 0 else 'it'}" if o.name == "sheet" else f"{o.name}'s length"
            out.append(Pull(f"the {which} by {unit}", float(off[k] / o.prior_u[k]), o.name))
    change = adjusted.camera.focal_px / focal.focal_px - 1
    out.append(Pull(f"the focal length by {100 * change:+.1f} %", math.log(1 + change) / focal.relative_u, "focal"))
    return sorted(out, key=lambda pull: -abs(pull.z))


def budget_notes(found: Sequence[Pull], already: Sequence[str]) -> list[Note]:
    """Notes on an adjustment whose pulls together are beyond the budget.  already: codes of what has been said."""
    if not found or {"references_disagree", "sheet_proportion", "sheet_not_flat"} & set(already):
        return []
    worst = found[0]
    chi2 = sum(pull.z**2 for pull in found)
    # mean and variance of chi-square are its degrees of freedom and twice that
    if abs(worst.z) < MOST_PULL and chi2 < len(found) + MOST_PULL * math.sqrt(2 * len(found)) + MOST_PULL**2:
        return []
    said = "; ".join(f"{pull.what} ({abs(pull.z):.1f} standard uncertainties)" for pull in found if abs(pull.z) > 1.5)
    if worst.name == "focal":
        return [Note("focal_conflict", f"The references only agree with a camera that changes {said}. Likely: the picture was "
                     "cropped or zoomed, or the sheet is bent or not of the size that was said. Photograph without zoom, or say "
                     "--focal-35mm.")]
    return [Note("references_disagree", f"The references only agree when they give: {said}. Check what was told of each, "
                 "that the sheet lies flat, and --reference-height.")]


@dataclass(frozen=True)
class Stray:
    """name: of a sheet's side as it lies in the picture; most: how far its edge leaves the straight, mm; u: of that."""

    name: str
    most: float
    u: float

    @property
    def is_significant(self) -> bool:
        """Is the edge curved beyond doubt?"""
        return self.most > max(STRAY_LEAST, STRAY_SIGNIFICANT * self.u)


def side_strays(camera: Camera, sides: SheetSides) -> list[Stray]:
    """How far each side seen leaves the straight: a cubic along the side against its chord, laid on the table."""
    centre = np.mean([side.mean(0) for side in sides.sides if len(side)], axis=0)
    out = []
    for side in sides.sides:
        if len(side) < 40:
            continue
        xy = to_plane(camera, side, 0.0)
        run = np.linalg.svd(xy - xy.mean(0), full_matrices=False)[2]
        along, across = ((xy - xy.mean(0)) @ run.T).T
        place = along / np.abs(along).max()
        keep = np.ones(len(place), bool)
        for _ in range(3):
            terms = np.polynomial.legendre.legfit(place[keep], across[keep], 3)
            left = across - np.polynomial.legendre.legval(place, terms)
            scatter = max(spread(left[keep]), 1e-3)
            keep = np.abs(left) < 4 * scatter
        line = np.array([0.0, 0.0, *terms[2:]])
        at = np.linspace(-0.97, 0.97, 60)
        bent = np.polynomial.legendre.legval(at, line)
        chord = np.interp(at, [at[0], at[-1]], [bent[0], bent[-1]])
        away = side.mean(0) - centre
        name = ("right" if away[0] > 0 else "left") if abs(away[0]) > abs(away[1]) else ("lower" if away[1] > 0 else "upper")
        out.append(Stray(name, float(np.abs(bent - chord).max()), scatter * math.sqrt(4 * ALIKE / keep.sum())))
    return out


def not_flat(strays: Sequence[Stray], most_lift: float | None, scatter: float) -> list[Note]:
    """A note on a sheet that does not lie flat.  most_lift: how far its sides rise where that could be told; scatter: of its
    edges about the lines of a flat sheet; mm."""
    bent = sorted((s for s in strays if s.is_significant), key=lambda s: -s.most)
    if most_lift is None and not bent and scatter <= MOST_SCATTER:
        return []
    where = ", ".join(f"{s.name} side {s.most:.2f} mm" for s in bent) or f"{scatter:.2f} mm in all"
    allowed = f"; its edges seem to rise by up to {most_lift:.0f} mm, which was allowed for" if most_lift is not None else ""
    return [Note("sheet_not_flat", f"The sheet's edges are not straight ({where}){allowed}. Likely: it is curled, folded, or "
                 "pushed up by something under it. Tape the corners down, or lay a rule beside the part.")]
