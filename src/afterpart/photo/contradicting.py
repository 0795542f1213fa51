"""Photographs that contradict the rest: each is held against the drawing that all others make without it.

A photograph's rims are laid on the face by its own references alone, at the height the others give, and moved (not stretched)
onto the others' drawing.  What remains, over what may be expected of it, is a chi-square; the worst photograph beyond the limit
is named and left out, and the rest is asked again.  Of two photographs nobody can say which is wrong: both are named.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from afterpart.photo.several import Joint
from afterpart.photo.together import TURNS, HeightPrior, View, adjust_together, into_drawing

MOST_CHI2 = 16.0
"""Mean squared misfit, in standard uncertainties, beyond which a photograph contradicts the rest."""

LEAST_OFF, LEAST_OFF_SHEET = 0.08, 0.5
"""Photographs that differ by less (rms, mm) are not said to contradict each other, however sure they are; the second where a
sheet alone places the camera: it is no gauge, and in small pictures was seen to be off by 0.4 mm (photo booth)."""

CLEAR_OF_SHAPE = 1.5
"""A part is said to have been moved only by so many times what the photograph's shape is off: else its camera is not known well
enough."""

MOST_SHIFT, MOST_SHIFT_SHEET = 0.15, 0.3
"""A part whose place on the sheet differs by more between photographs (mm) was moved between them: rims seen aslant are good to
a few hundredths, flat sheets to as much.  The second where a sheet alone places the camera: in small pictures of the photo booth
a part that lay still seemed to be shifted by 0.19 mm, and its height was lost."""

WORSE = 2.0
"""A photograph is named when it stands out from the next worst by this factor."""

MANY, MANY_TURNS = 4, 3
"""Of more photographs one that is wrong hardly moves what all make together: the others' own adjustment begins there and needs no
more turns.  Of fewer it would, and each begins anew."""

STRETCH_TELLS = 0.6
"""Share of the misfit a change of size takes up, from which it is said to be of the size."""

@dataclass(frozen=True)
class Misfit:
    """How one photograph stands against the others: rms in mm after moving it; chi2: mean squared misfit in standard
    uncertainties; growth: by how much it is too large (a share); grown_rms: what a change of size would leave, mm; shift: how far
    its references say the part lies from where the others have it, mm (none between layings)."""

    rms: float
    chi2: float
    growth: float
    grown_rms: float
    shift: float = 0.0
    least_off: float = LEAST_OFF

    @property
    def is_moved(self) -> bool:
        """Whether part or sheet lay elsewhere than in the others."""
        most = MOST_SHIFT_SHEET if self.least_off == LEAST_OFF_SHEET else MOST_SHIFT
        return self.shift > max(most, CLEAR_OF_SHAPE * self.rms)

    @property
    def contradicts(self) -> bool:
        """Whether it is too far off to be of the same part, seen and told rightly."""
        return self.rms > self.least_off and self.chi2 > MOST_CHI2

    def words(self) -> str:
        """What is wrong with it, and what may be the reason."""
        size = f"it shows the part {100 * abs(self.growth):.2f} % too {'large' if self.growth > 0 else 'small'}"
        if self.grown_rms < STRETCH_TELLS * self.rms:
            return (f"{size} ({self.rms:.2f} mm rms); check what was told of its reference and the reference's height, and "
                    "whether the part lay flat")
        return (f"its rims lie {self.rms:.2f} mm (rms) off; check that it shows the same part and face, sharp, flat on the "
                "table")


def misfit(view: View, alone: View, joint: Joint, offsets: np.ndarray, height: float, out: np.ndarray) -> Misfit:
    """One view, with the camera its own references give, against the offsets (k,) of the others' drawing.  out: (n,) how far its
    ties seem to stand out for what is seen of them."""
    ties = view.ties
    there = np.isfinite(offsets[ties.place])
    place, normal = joint.drawing.places[ties.place[there]], joint.drawing.normals[ties.place[there]]
    placed = into_drawing(ties.placed(alone.camera, height)[there], view.motion)
    off = ((placed - place) * normal).sum(1) - offsets[ties.place[there]] - out[there]
    away = place - place.mean(axis=0)
    motions = np.c_[normal, away[:, 0] * normal[:, 1] - away[:, 1] * normal[:, 0]]
    u = _own_u(view)[there]
    left, motion = _without(off, motions, u)
    growth = (away * normal).sum(1)
    grown, taken = _without(off, np.c_[motions, growth], u)
    share = float(taken[3])
    bounded = np.minimum(np.abs(left), 3 * np.median(np.abs(left)) + 1e-9)
    reach = 0.5 * float(np.ptp(place, axis=0).max())
    return Misfit(float(np.sqrt(np.mean(bounded**2))), float(np.mean((bounded / np.hypot(u, 0.01)) ** 2)), share,
                  float(np.sqrt(np.mean(np.minimum(np.abs(grown), 3 * np.median(np.abs(grown)) + 1e-9) ** 2))),
                  float(np.hypot(np.hypot(motion[0], motion[1]), motion[2] * reach)), _least_off(view))


def _least_off(view: View) -> float:
    """What a photograph may be off by (rms, mm) for what places its camera."""
    gauges = {o.name for o in view.observations} & {"rule", "target", "calliper", "span"}
    return LEAST_OFF if gauges else LEAST_OFF_SHEET


def _own_u(view: View) -> np.ndarray:
    """Standard uncertainty of each tie as one place, mm: ties go into the adjustment with more, for they err alike."""
    return view.ties.u / view.ties.alike


def _without(off: np.ndarray, columns: np.ndarray, u: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What is left of offsets (n,) after these motions (n, m), robustly, and the motions' sizes."""
    weight = 1 / u
    taken = np.zeros(columns.shape[1])
    for _ in range(6):
        taken = np.linalg.lstsq(columns * weight[:, None], off * weight, rcond=None)[0]
        left = off - columns @ taken
        scale = 2.5 * 1.4826 * float(np.median(np.abs(left))) + 1e-6
        weight = 1 / u / np.sqrt(1 + (left / scale) ** 2)
    return off - columns @ taken, taken


def misfits(joint: Joint, alone: Sequence[View]) -> dict[int, Misfit]:
    """Every photograph that others of its face can judge, held against those others.  alone: the views as their own references
    place them, in the order of the photographs."""
    out: dict[int, Misfit] = {}
    many = len(joint.started) > MANY
    start, turns = (joint.together.views, MANY_TURNS) if many else (joint.started, TURNS)
    for number, view in enumerate(joint.started):
        others = [k for k, other in enumerate(joint.started) if k != number and other.face == view.face]
        if not others:
            continue
        height, u = joint.together.heights[view.face], joint.together.heights_u[view.face]
        # what is left may not tell the height by itself: it stays what all together made of it
        rest = adjust_together([start[k] for k in others], joint.drawing, [HeightPrior(view.face, height, u)],
                               {view.face: height}, turns)
        out[number] = misfit(joint.together.views[number], alone[number], joint, rest.offsets, rest.heights[view.face],
                             joint.together.standing_out(number))
    return out


def moved_between(joint: Joint, found: dict[int, Misfit]) -> list[int]:
    """Photographs before which part or sheet may have been moved a little, though they seemed to belong to a laying; [] when none
    was.  Of several, the one without which the others agree best was moved; of two, the later one."""
    layings = [view.laying for view in joint.started]
    able = [k for k in found if layings.count(layings[k]) > 1]
    if not any(found[k].is_moved for k in able):
        return []
    worst = max(able, key=lambda k: found[k].shift)
    own = [k for k in able if layings[k] == layings[worst]]
    return own if len(own) > 2 else own[-1:]


def shift_left(joint: Joint, found: dict[int, Misfit]) -> float:
    """The largest shift between photographs of one laying, mm."""
    layings = [view.laying for view in joint.started]
    return max((found[k].shift for k in found if layings.count(layings[k]) > 1), default=0.0)


def worst_of(found: dict[int, Misfit]) -> int | None:
    """The photograph to be left out, if one stands out; None when all agree or nobody can say which is wrong."""
    bad = sorted((k for k in found if found[k].contradicts), key=lambda k: -found[k].chi2)
    if not bad:
        return None
    if len(bad) == 1 or found[bad[0]].rms > WORSE * found[bad[1]].rms:
        return bad[0]
    # a photograph that is wrong spoils what the others make without it least when it is itself left out
    return bad[0] if len(found) > 2 else None
