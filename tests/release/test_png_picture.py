"""Pictures: the PNG writer against another decoder, the z-buffer against shapes whose picture is known."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2
import numpy as np
import pytest

from afterpart.release.picture import solid_picture
from afterpart.release.png import png_bytes
from afterpart.solid.body import Mesh

BOX_TRIANGLES = np.array(
    [
        (0, 2, 1),
        (0, 3, 2),
        (4, 5, 6),
        (4, 6, 7),
        (0, 1, 5),
        (0, 5, 4),
        (1, 2, 6),
        (1, 6, 5),
        (2, 3, 7),
        (2, 7, 6),
        (3, 0, 4),
        (3, 4, 7),
    ],
    dtype=np.int32,
)


def box(x0: float, y0: float, z0: float, x1: float, y1: float, z1: float) -> Mesh:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return Mesh(np.array([(*c, z) for z in (z0, z1) for c in corners], dtype=float), BOX_TRIANGLES)


def decoded(data: bytes) -> np.ndarray:
    return cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)


@pytest.mark.parametrize("shape", [(3, 5), (40, 31, 3), (1, 1)])
def test_png_reads_back_exactly(shape: tuple[int, ...]) -> None:
    picture = np.random.default_rng(4).integers(0, 256, shape, dtype=np.uint8)
    back = decoded(png_bytes(picture))
    assert np.array_equal(back if picture.ndim == 2 else back[:, :, ::-1], picture)


def test_png_refuses_other_arrays() -> None:
    with pytest.raises(ValueError, match="uint8"):
        png_bytes(np.zeros((3, 3)))
    with pytest.raises(ValueError, match="shape"):
        png_bytes(np.zeros((3, 3, 4), np.uint8))


def test_seen_from_above_a_box_covers_its_own_area() -> None:
    picture = decoded(solid_picture((box(0, 0, 0, 80, 40, 5),), width_px=500, elevation_deg=90, turn_deg=0))
    # 80 mm and 2 x 4 % border on 500 px.
    px_per_mm = 500 / (80 * 1.08)
    covered = (picture.min(axis=2) < 250).sum()
    assert abs(covered / px_per_mm**2 - 80 * 40) < 2 * (80 + 40) / px_per_mm * 1.5


def test_what_is_nearer_hides_what_is_farther() -> None:
    """A tall block before a low one: the low one's colour under the block must not show through, in either order of drawing."""
    low, tall = box(0, 0, 0, 60, 60, 2), box(20, 20, 2, 40, 40, 30)
    first = decoded(solid_picture((low, tall), width_px=300))
    second = decoded(solid_picture((tall, low), width_px=300))
    assert np.mean(np.any(first != second, axis=2)) < 0.002
    assert not np.array_equal(first, decoded(solid_picture((low,), width_px=300)))


def test_same_mesh_same_bytes() -> None:
    assert solid_picture((box(0, 0, 0, 8, 4, 5),), width_px=120) == solid_picture((box(0, 0, 0, 8, 4, 5),), width_px=120)
