"""What the rims pooled from several photographs may be off by together, as displacement fields of the face (see budget.py).

The joint adjustment's covariance, cause by cause, is carried to the face's plane by every view as it counts in the drawing.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from afterpart.model.edges import SharedErrors
from afterpart.photo.adjust import stepped
from afterpart.photo.budget import GRID, UNTOLD_HEIGHT_U, as_errors, grown, lift_doubt, scale_causes
from afterpart.photo.projection import project_plane, to_plane
from afterpart.photo.several import HELD_U, FaceDrawn, Shown
from afterpart.photo.together import STEPS, Together, View, into_drawing, into_world, turned_camera


def shared_of(together: Together, drawn: FaceDrawn, shown: Sequence[Shown]) -> SharedErrors | None:
    """Displacement fields over one face, in the frame of its drawing."""
    rim = drawn.pooled.rims[0].points
    low, high = rim.min(axis=0), rim.max(axis=0)
    middle, reach = 0.5 * (low + high), 0.5 * float((high - low).max())
    steps = np.linspace(-1.0, 1.0, GRID)
    places = np.array([[x, y] for y in steps for x in steps])
    grid = middle + reach * places
    lead = np.zeros((2 * len(grid), together.layout.size))
    for share, number in zip(drawn.pooled.shares, drawn.numbers, strict=True):
        view = together.views[number]
        columns = together.layout.of_view(number, view)
        slopes = _slopes(view, together.heights[view.face], grid, view.laying in together.layout.motions)
        np.add.at(lead, (slice(None), columns), share * slopes)
    fields = []
    for cause, dof, root in together.parts:
        left, size, _ = np.linalg.svd(lead @ root, full_matrices=False)
        fields += [(cause, dof, (left[:, k] * size[k]).reshape(-1, 2)) for k in range(min(len(size), 6))]
    first = shown[drawn.numbers[drawn.matched.lead]]
    view = together.views[drawn.numbers[drawn.matched.lead]]
    observations = view.observations
    unknowns = [np.array(o.start) + together.values[own]
                for o, own in zip(observations, together.layout.references[drawn.numbers[drawn.matched.lead]], strict=True)]
    lift = lift_doubt(turned_camera(view.camera, -view.turns), observations, unknowns)
    fields.append(("sheet that may not lie flat", np.inf, grown(grid, middle, lift)))
    fields += [(cause, np.inf, grown(grid, middle, share)) for cause, share in scale_causes(first.station.pose, first.shot)]
    if together.heights_u[view.face] < 2 * HELD_U:
        foot, above = np.array(view.camera.position[:2]), view.camera.position[2] - together.heights[view.face]
        fields.append(("face height", np.inf, (grid - into_drawing(foot[None], view.motion)) * (UNTOLD_HEIGHT_U / above)))
    return as_errors(fields, middle, reach, places, grid)


def _slopes(view: View, height: float, grid: np.ndarray, moves: bool) -> np.ndarray:
    """(2 n, c) displacement of the drawing's places (n, 2), as this view sees them, by the unknowns its ties hang on."""
    seen = project_plane(view.camera, into_world(grid, view.motion), height)

    def laid(camera: object, z: float, motion: tuple[float, float, float]) -> np.ndarray:
        return into_drawing(to_plane(camera, seen, z), motion).ravel()  # type: ignore[arg-type]

    out = []
    for k in range(9):
        d = np.zeros(9)
        d[k] = STEPS[k]
        out.append((laid(stepped(view.camera, d), height, view.motion) - laid(stepped(view.camera, -d), height, view.motion))
                   / (2 * STEPS[k]))
    out.append((laid(view.camera, height + 0.01, view.motion) - laid(view.camera, height - 0.01, view.motion)) / 0.02)
    for k in range(3 if moves else 0):
        d = np.zeros(3)
        d[k] = 1e-4
        one, two = (tuple((np.array(view.motion) + sign * d).tolist()) for sign in (1.0, -1.0))
        out.append((laid(view.camera, height, one) - laid(view.camera, height, two)) / 2e-4)  # type: ignore[arg-type]
    return np.stack(out, axis=1)
