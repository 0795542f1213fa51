"""What the light makes of roundings and walls: one law for all openings of a picture.

How bright a rounding is hangs on where its normal points and on nothing else, for the lamps stand far off: towards the lamp it
may be half as bright again as the face, away from it a sixth darker.  Told for each probe by itself, that shade is taken for a
shift of the edge; told for all openings together, it is known better than any single probe could tell it.
Words: *wall*, *glint* and *sheen* are the levels of photo/profile.py (brightness with the sine of the normal's lean, with twice
it, and a lobe nearer the face, as gloss makes); each is a share of the face's brightness and changes with the direction of the
rim's normal by *harmonics*: a mean, once and twice round.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np

TERMS = (3, 5, 5)
"""Harmonics of wall, glint and sheen: a wall is lit evenly but for one side, a rounding may shine in a narrower one."""

LEFT_U = 0.02
"""What a probe's wall, glint and sheen may differ by from the common law, as a share of the face (three test photographs: the
errors of holes' places fall from 0.10 down to this and hardly beyond)."""


@dataclass(frozen=True)
class RimLight:
    """wall, glint, sheen: (TERMS,) weights of the harmonics."""

    wall: np.ndarray
    glint: np.ndarray
    sheen: np.ndarray

    def levels(self, normals: np.ndarray) -> np.ndarray:
        """Wall, glint and sheen (n, 3) of rims with these unit normals (n, 2) from material to void, as shares of the face."""
        waves = harmonics(normals)
        return np.stack([waves[:, :len(own)] @ own for own in (self.wall, self.glint, self.sheen)], axis=1)


def harmonics(normals: np.ndarray) -> np.ndarray:
    """1, cosine and sine of the direction, cosine and sine of twice it, (n, 5), of unit normals (n, 2)."""
    x, y = normals.T
    return np.stack([np.ones(len(x)), x, y, x * x - y * y, 2 * x * y], axis=1)
