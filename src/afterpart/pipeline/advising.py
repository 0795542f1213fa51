"""What to photograph next: asked of a folder, answered from the first photograph and what has been measured of it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

from afterpart.model.job import Job
from afterpart.photo.load import load_picture
from afterpart.photo.secondshot import SecondShot, second_shot
from afterpart.photo.stage import take_station, trace_station
from afterpart.pipeline.measuring import earlier_run


def second_shot_advice(job: Job, folder: Path, out: Path) -> SecondShot | None:
    """From where to take the next photograph of the part, and what it gains; None where the reference tells no heights.

    The job's photographs are found relative to `folder`; rims that an earlier run left in `out` are used where they are of the
    same picture.  Raises an AfterpartError when the first photograph cannot be measured."""
    shot = job.shots[0]
    picture = load_picture(folder / shot.file, shot)
    station = take_station(picture, shot)
    earlier = earlier_run(out)
    if earlier is not None and earlier.photo_sha256 == picture.sha256 and earlier.edges.unit == "mm":
        return second_shot(earlier.edges, station.pose)
    sight = trace_station(picture, shot, station)
    return second_shot(sight.edges, sight.pose)
