"""Measuring against decoding alone and against plain picture processing; its cost by megapixels, holes and segments.

Run: pytest benchmarks --benchmark-json=FILE (see `make bench`); docs/make_performance.py makes docs/performance.md of the file.
All in processor time of one thread, in one run; a figure counts only beside another of the same run.  *Plain* pictures: decode,
threshold after Otsu, contours, a circle through each; OpenCV's contours follow whole pixels, those of scikit-image the level
between them.  Neither knows a scale, a camera, a height or an uncertainty: they deliver far less.
Photographs: of the photo booth, a plate with six holes on a sheet; larger ones are photographed larger, not enlarged.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from afterpart.model.job import Shot
from afterpart.model.outline import Outline
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.pipeline import edges_of
from tests.truth.drawings import Drawing, box, circle
from tests.truth.ideal import ideal_edges
from tests.truth.scenes import make_shoot, take

MEGAPIXELS = (12, 24, 48)
HOLES = (4, 8, 16, 32, 64)
CORNERS = (4, 8, 16, 32, 64, 128, 200)
ROUNDS = 3


@dataclass(frozen=True)
class Taken:
    """A photograph on disk and what a maker says of it."""

    path: Path
    shot: Shot


def plate(holes: int) -> Drawing:
    """A plate of 160 by 110 with round holes of 4 to 6 mm on a grid."""
    across = math.ceil(math.sqrt(holes * 1.4))
    down = math.ceil(holes / across)
    step_x, step_y = 140.0 / across, 92.0 / down
    places = [(-70.0 + step_x * (k % across + 0.5), -46.0 + step_y * (k // across + 0.5)) for k in range(holes)]
    return Drawing(f"plate {holes}", (box(160.0, 110.0, 8.0), *(circle(round(x, 1), round(y, 1), 4.0 + k % 3)
                                                                for k, (x, y) in enumerate(places))))


def comb(corners: int) -> Drawing:
    """A plate whose upper edge has steps, with two holes: `corners` corners more than a plain one.  From 64 on the plate grows
    with them, so that no edge is shorter than 4.7 mm: more of them, not worse ones."""
    steps = corners // 4
    half = 75.0 * max(1.0, corners / 64)
    width = 2.0 * half / max(steps, 1)
    upper = [point for k in range(steps) for point in
             ((half - width * k, 40.0), (half - width * k - 0.5 * width, 40.0), (half - width * k - 0.5 * width, 32.0),
              (half - width * (k + 1), 32.0))]
    path = [(-half, -40.0), (half, -40.0), *upper]
    lines = tuple(("line", a, b) for a, b in zip(path, [*path[1:], path[0]], strict=True) if math.dist(a, b) > 1e-6)
    return Drawing(f"comb {corners}", (lines, circle(-50.0, 0.0, 6.0), circle(50.0, 0.0, 6.0)))


def photographed(drawing: Drawing, megapixels: float, folder: Path) -> Taken:
    """The plate on a sheet, seen from nearly above."""
    width = int(round(math.sqrt(megapixels * 1e6 * 4 / 3) / 16)) * 16
    shoot = make_shoot(drawing, "sheet", height=6.0, size=(width, width * 3 // 4))
    shot = take(shoot, folder, 7)[1]
    return Taken(Path(shot.file), shot)


@pytest.fixture(scope="session")
def sized(tmp_path_factory: pytest.TempPathFactory) -> dict[int, Taken]:
    """The same plate at each size of picture."""
    return {size: photographed(plate(6), size, tmp_path_factory.mktemp(f"mp{size}")) for size in MEGAPIXELS}


def measured(taken: Taken) -> Outline:
    """Photograph to outline, files not written."""
    picture = load_picture(taken.path, taken.shot)
    return recover_outline(edges_of(picture, taken.shot, lambda words: None), OutlineSettings())


def plain_opencv(path: Path) -> list[tuple[float, float, float]]:
    """Threshold, contours, the circle of each, in pixels."""
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    _, dark = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    contours, _ = cv2.findContours(dark, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    return [circle_through(contour[:, 0, :].astype(float)) for contour in contours if len(contour) > 50]


def plain_scikit(path: Path) -> list[tuple[float, float, float]]:
    """The same with contours between the pixels."""
    measure = pytest.importorskip("skimage.measure")
    grey = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    level, _ = cv2.threshold(grey, 0, 255, cv2.THRESH_BINARY_INV + cv2.THRESH_OTSU)
    return [circle_through(contour[:, ::-1]) for contour in measure.find_contours(grey, level) if len(contour) > 50]


def circle_through(points: np.ndarray) -> tuple[float, float, float]:
    """Centre and radius by linear least squares (the algebraic fit)."""
    x, y = points[:, 0], points[:, 1]
    (a, b, c), *_ = np.linalg.lstsq(np.c_[2 * x, 2 * y, np.ones_like(x)], x * x + y * y, rcond=None)
    return float(a), float(b), float(math.sqrt(max(c + a * a + b * b, 0.0)))


@pytest.mark.parametrize("size", MEGAPIXELS)
@pytest.mark.parametrize("way", ["decode", "plain OpenCV", "plain scikit-image", "measure"])
def test_photograph(benchmark: BenchmarkFixture, sized: dict[int, Taken], way: str, size: int) -> None:
    if way == "plain scikit-image":
        pytest.importorskip("skimage.measure")
    cv2.setNumThreads(1)
    taken = sized[size]
    work = {"decode": lambda: cv2.imread(str(taken.path), cv2.IMREAD_GRAYSCALE), "plain OpenCV": lambda: plain_opencv(taken.path),
            "plain scikit-image": lambda: plain_scikit(taken.path), "measure": lambda: measured(taken)}[way]
    benchmark.extra_info.update(table="photograph", way=way, size=size)
    found = benchmark.pedantic(work, rounds=ROUNDS, warmup_rounds=1)
    if way == "measure":
        assert sum(loop.role == "opening" for loop in found.design) == 6


@pytest.mark.parametrize("holes", HOLES)
def test_outline_by_holes(benchmark: BenchmarkFixture, holes: int) -> None:
    edges = ideal_edges(plate(holes), np.random.default_rng(1), white=0.01, alike=0.01)
    benchmark.extra_info.update(table="holes", way="outline from edges", size=holes)
    outline = benchmark.pedantic(lambda: recover_outline(edges, OutlineSettings()), rounds=ROUNDS)
    assert sum(loop.role == "opening" for loop in outline.design) == holes


@pytest.mark.parametrize("corners", CORNERS)
def test_outline_by_segments(benchmark: BenchmarkFixture, corners: int) -> None:
    edges = ideal_edges(comb(corners), np.random.default_rng(1), white=0.01, alike=0.01)
    outline = recover_outline(edges, OutlineSettings())
    segments = sum(len(loop.segments) for loop in outline.design)
    assert segments == corners + 4, "as many edges as were drawn, and two holes"
    benchmark.extra_info.update(table="segments", way="outline from edges", size=segments)
    benchmark.pedantic(lambda: recover_outline(edges, OutlineSettings()), rounds=ROUNDS)


@pytest.mark.parametrize("holes", (4, 16, 64))
def test_photograph_by_holes(benchmark: BenchmarkFixture, holes: int, tmp_path: Path) -> None:
    cv2.setNumThreads(1)
    taken = photographed(plate(holes), 12, tmp_path)
    benchmark.extra_info.update(table="holes", way="measure, 12 megapixels", size=holes)
    benchmark.pedantic(lambda: measured(taken), rounds=ROUNDS)
