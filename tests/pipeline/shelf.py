"""A shelf of many jobs: one small painted photograph, a dark disc with a hole on a sheet, turned and cropped to be others."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from PIL import Image

WIDTH, HEIGHT = 700, 500
PX_PER_MM = 2.2
SHIFT = 4
"""Bits behind the point of a drawn pixel's place."""
SHEET = (297.0, 210.0)
TABLE, PAPER, PLATE = 95.0, 225.0, 50.0
MARGIN = 12
"""Most that is cropped from a side, px."""

JOB = """name = "disc {number}"

[[photo]]
file = "disc.jpg"
sheet = "A4"
focal_35mm = 60
face_height = 0.0
"""


def photograph(number: int) -> Image.Image:
    """The disc, 60 mm across with a hole of 12 mm, seen from straight above; the number turns and crops it."""
    light = np.full((HEIGHT, WIDTH), TABLE)
    middle = np.array([WIDTH / 2, HEIGHT / 2])
    half = np.array(SHEET) * PX_PER_MM / 2
    corners = np.rint([middle + half * sign for sign in ((-1, -1), (1, -1), (1, 1), (-1, 1))]).astype(np.int32)
    cv2.fillConvexPoly(light, corners, PAPER)
    for across, value, x in ((60, PLATE, 0.0), (12, PAPER, -15.0)):
        at = np.rint((middle + (x * PX_PER_MM, 0.0)) * 2**SHIFT).astype(int)
        cv2.circle(light, tuple(map(int, at)), round(across / 2 * PX_PER_MM * 2**SHIFT), value, -1, cv2.LINE_8, SHIFT)
    noisy = cv2.GaussianBlur(light, (0, 0), 1.0) + np.random.default_rng(number).normal(0, 2, light.shape)
    picture = Image.fromarray(np.clip(noisy, 0, 255).astype(np.uint8)).convert("RGB")
    cut = number % MARGIN
    picture = picture.crop((cut, (cut * 5) % MARGIN, WIDTH - (cut * 7) % MARGIN, HEIGHT - (cut * 3) % MARGIN))
    return picture.transpose(Image.Transpose.ROTATE_180) if number % 2 else picture


def make_shelf(shelf: Path, jobs: int, bare: int = 0) -> None:
    """So many job folders disc_000 ..., in boxes of twenty, and bare photographs in a folder of their own."""
    for number in range(jobs):
        folder = shelf / f"box_{number // 20}" / f"disc_{number:03}"
        folder.mkdir(parents=True)
        photograph(number).save(folder / "disc.jpg", quality=90)
        (folder / "job.toml").write_text(JOB.format(number=number))
    for number in range(bare):
        (shelf / "photos").mkdir(exist_ok=True)
        photograph(1000 + number).save(shelf / "photos" / f"bare_{number}.jpg", quality=90)
