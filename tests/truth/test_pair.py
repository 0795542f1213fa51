"""A cover and its mate photographed in the booth and measured as one job: the drawing of the cover rests on both pictures, and a
hole that was moved on the machine by (0.3, 0.2) mm is seen as moved and not averaged in.

Truth: the plates' own numbers.  The mate has holes of 5 mm where the cover has 5.5, lies face up 12 mm above the sheet, and is
seen from its outside, so that its picture is turned over against the cover's.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from afterpart.model.job import Job
from afterpart.model.outline import Circle, Outline
from afterpart.model.store import parse_outline
from afterpart.pipeline import measure, write_measurement
from afterpart.pipeline.measuring import is_measured
from tests.truth.booth import photograph, save_jpeg
from tests.truth.drawings import DRAWINGS, Drawing
from tests.truth.scenes import make_shoot
from tests.truth.several_photos import SIZE, turned_over

PLATE: Drawing = next(drawing for drawing in DRAWINGS if drawing.name == "pump_cover")
MOVED, BY, THREAD = (42, 10), (0.3, 0.2), 5.0


def mate_plate() -> Drawing:
    """The plate with its screw holes narrower, and one of them elsewhere."""
    def own(loop: tuple) -> tuple:
        kind, at, *rest = loop[0]
        if kind != "circle" or rest[0] > 5.0:
            return loop
        x, y = at
        place = (x + BY[0], y + BY[1]) if (x, y) == MOVED else (x, y)
        return ((kind, place, THREAD / 2, *rest[1:]),)
    return turned_over(Drawing("mate", tuple(own(loop) for loop in PLATE.loops)))


@cache
def measured() -> tuple[Outline, tuple[str, ...], tuple[bool, bool]]:
    """The cover's outline as stored, the files of the mate's measurement, and whether the job counts as measured: as it is, and
    with another height told of the mate."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        shots = []
        for k, (drawing, height) in enumerate(((PLATE, 6.0), (mate_plate(), 12.0))):
            shoot = make_shoot(drawing, "sheet+rule", height=height, edge_radius=0.3, size=SIZE, tilt_deg=2.0 + k,
                               turn_deg=5.0 * k)
            save_jpeg(photograph(shoot.scene, 90 + k), folder / f"photo_{k}.jpg")
            shots.append(replace(shoot.shot, file=f"photo_{k}.jpg", face_height=height, shows="mate" if k else "part"))
        job = Job("pair", tuple(shots))
        write_measurement(measure(job, folder, folder, lambda words: None), folder)
        other = replace(job, shots=(shots[0], replace(shots[1], face_height=13.0)))
        return (parse_outline((folder / "outline.json").read_bytes()), tuple(sorted(p.name for p in (folder / "mate").iterdir())),
                (is_measured(job, folder, folder), is_measured(other, folder, folder)))


def test_the_mates_measurement_is_kept_and_asked_for_again_when_it_changes() -> None:
    _, files, (as_it_is, told_otherwise) = measured()
    assert {"outline.json", "edges.json", "job.json"} <= set(files)
    assert as_it_is and not told_otherwise


def test_distances_tell_what_the_mate_says_of_them() -> None:
    outline = measured()[0]
    circles = {loop.segments[0].id: loop.segments[0] for loop in outline.design if isinstance(loop.segments[0], Circle)}
    told = [d for d in outline.dimensions if d.kind == "distance"]
    assert told and all(d.mate is not None for d in told)
    moved = {d.of for d in told if d.mate is not None and d.mate.moved > 0.5}
    common = set.intersection(*(set(of) for of in moved))
    assert len(common) == 1 and moved == {d.of for d in told if common <= set(d.of)}
    every = [math.dist(a, b) for a in _places() for b in _places() if a != b]
    for d in told:
        assert d.mate is not None and d.mate.used == (d.of not in moved)
        assert abs(d.design - math.dist(*(circles[name].center for name in d.of))) < 1e-6
        assert min(abs(d.design - one) for one in every) < 5e-3
        if d.mate.used:
            assert abs(d.mate.measured - d.design) < 4.0 * math.hypot(d.mate.u, 0.01)


def _places() -> list[tuple[float, float]]:
    return [loop[0][1] for loop in PLATE.loops if loop[0][0] == "circle"]
