"""The other face laid on the drawn one: which way round a part that looks alike turned, and what a rim drawn aside may do."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import numpy as np
import pytest

from afterpart.model.edges import OtherFace, Rim
from afterpart.photo.otherface import lay_other_face
from afterpart.photo.rimchain import resample_closed
from afterpart.photo.roundrim import circle_chain, robust_circle

SQUARE = np.array([[-40.0, -40.0], [40.0, -40.0], [40.0, 40.0], [-40.0, 40.0]])
HOLES = np.array([[28.0, 28.0], [-28.0, 28.0], [-28.0, -28.0], [28.15, -28.0]])
"""One of four 0.15 mm beside its place: what tells the four quarter turns apart."""


def flange(aside: tuple[float, float] = (0.0, 0.0), noise: float = 0.01) -> list[Rim]:
    """A square flange; aside: by how much its outer rim is seen beside its place, mm."""
    rng = np.random.default_rng(3)
    chains = [resample_closed(SQUARE, 0.5) + aside, *(circle_chain(at, 3.3, 72, True) for at in HOLES)]
    return [Rim("outer" if k == 0 else "opening", 1, chain + rng.normal(0.0, noise, chain.shape), np.full(len(chain), noise))
            for k, chain in enumerate(chains)]


def turned_over(rims: list[Rim], turn_deg: float) -> list[Rim]:
    """The same as seen from the other side, lying turned."""
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))
    turn = np.array([[c, -s], [s, c]]) @ np.diag([-1.0, 1.0])
    return [Rim(rim.role, rim.part, (rim.points @ turn.T)[::-1] + (5.0, -3.0), rim.u[::-1]) for rim in rims]


def holes_apart(laid: OtherFace, drawn: list[Rim]) -> np.ndarray:
    """By how much each hole of the laid face stands beside the drawn one's, (4, 2) mm."""
    there = [robust_circle(rim.points)[0] for rim in laid.rims if rim.role == "opening"]
    here = [robust_circle(rim.points)[0] for rim in drawn if rim.role == "opening"]
    return np.array([min((a - b for b in there), key=lambda off: float(np.hypot(*off))) for a in here])


@pytest.mark.parametrize("turn_deg", [0.0, 37.0, 95.0, 180.0, 272.0])
def test_of_four_quarter_turns_the_one_that_leaves_least_is_taken(turn_deg: float) -> None:
    drawn = flange()
    laid = lay_other_face(drawn, turned_over(flange(), turn_deg), 8.0)
    assert laid is not None
    assert laid.rms < 0.02 and np.hypot(*holes_apart(laid, drawn).T).max() < 0.01
    # a quarter turn off, two holes would stand 0.15 mm beside their place
    assert abs(np.remainder(laid.turn_deg - turn_deg + 180.0, 360.0) - 180.0) < 0.05


def test_a_long_rim_drawn_aside_does_not_outvote_the_holes() -> None:
    """By light from one side, say."""
    drawn = flange()
    laid = lay_other_face(drawn, turned_over(flange(aside=(0.06, 0.0)), 20.0), 8.0)
    assert laid is not None
    assert np.hypot(*np.median(holes_apart(laid, drawn), axis=0)) < 0.025
