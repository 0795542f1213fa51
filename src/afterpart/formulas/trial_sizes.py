"""Which trials are of this printer, and what their measured sizes are sizes of.

Words: *own* trials are those of the material and the profile that the job prints with now; a row that names none is taken as own;
a *settled* hole is one that a screw or bolt was tried in and suited: its size as drawn is right on this printer as it stands.
Conventions: mm; ids are those of outline.json.
Limits: lengths between corners and angles tell no printer figure and are refused.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.errors import JobError
from afterpart.formulas.print_scale import PrintedSize, PrintFigures, print_figures
from afterpart.model.edges import TWO_WALLS
from afterpart.model.job import Job
from afterpart.model.outline import Arc, Circle, Dimension, Loop, Outline
from afterpart.model.wishes import Trial, Wishes
from afterpart.words import tell

HOLES = ("pilot", "clearance")
SUITED = ("drove", "fits")
_SAME = 1e-6
"""Drawn diameters that differ by less are one, mm."""
_FIX = "Name a diameter, a radius, a width, a gap or a distance of outline.json, or a round hole (c1)."


def own_trials(wishes: Wishes) -> tuple[Trial, ...]:
    """The rows of the printer's material and profile, in the job's order."""
    printer = wishes.printer
    return tuple(trial for trial in wishes.trials
                 if _alike(trial.material, printer.material) and _alike(trial.profile, printer.profile))


def is_settled(diameter: float, wishes: Wishes) -> bool:
    """Is a hole drawn with this diameter one in which a screw or bolt was tried on this printer, and suited?"""
    return any(abs(trial.drawn - diameter) < _SAME for trial in own_trials(wishes)
               if trial.what in HOLES and trial.result in SUITED)


def printed_sizes(wishes: Wishes, outline: Outline) -> tuple[PrintedSize, ...]:
    """The measured sizes of the own trials.

    JobError: a row of what = "size" names nothing in the outline, or something that tells no printer figure."""
    own = {id(trial) for trial in own_trials(wishes)}
    return tuple(_size(number, trial, outline) for number, trial in enumerate(wishes.trials, 1)
                 if id(trial) in own and trial.printed is not None and trial.what in (*HOLES, "size"))


def printer_figures(job: Job, outline: Outline) -> PrintFigures | None:
    """What the job's own trials tell of its printer; None where no printed size was measured.  JobError: as printed_sizes."""
    return print_figures(printed_sizes(job.wishes, outline), job.wishes.fit.printer_u)


def _alike(told: str, now: str) -> bool:
    return not told or told.casefold() == now.casefold()


def _size(number: int, trial: Trial, outline: Outline) -> PrintedSize:
    assert trial.printed is not None
    if trial.what in HOLES:
        return PrintedSize(tell("{what} hole {drawn:g}", what=trial.what, drawn=trial.drawn), trial.drawn, trial.printed, -1.0)
    name, side = _side_of(number, trial.of, outline)
    return PrintedSize(name, trial.drawn, trial.printed, side)


def _side_of(number: int, of: str, outline: Outline) -> tuple[str, float]:
    """What was measured, in words, and its side."""
    dimension = next((d for d in outline.dimensions if d.id == of), None)
    if dimension is not None:
        side = _dimension_side(dimension, outline)
        if side is None:
            raise JobError(f"trial.{number}.of: found {of!r}, a dimension of kind {dimension.kind}, expected a size between "
                           f"edges or centres. {_FIX}")
        return f"{dimension.kind} {of}", side
    loop = _loop_of(of, outline)
    if loop is None or not isinstance(loop.segments[0], Circle):
        raise JobError(f"trial.{number}.of: found {of!r}, expected the id of a dimension or of a round hole. {_FIX}")
    return tell("diameter of {of}", of=of), _faces(loop)


def _dimension_side(dimension: Dimension, outline: Outline) -> float | None:
    """1, -1, half of them for radii, 0 between centres; None for what tells no printer figure."""
    loop = _loop_of(dimension.of[0], outline)
    if dimension.kind == "distance":
        return 0.0
    if loop is None:
        return None
    if dimension.kind == "gap":  # what is left between the rim and a channel
        return 1.0
    if dimension.kind == "width" and loop.wall in TWO_WALLS:
        return -1.0
    if dimension.kind in ("diameter", "width"):
        return _faces(loop)
    if dimension.kind == "radius":
        arc = next(segment for segment in loop.segments if segment.id == dimension.of[0])
        # material lies to the left: a counter-clockwise arc bounds it from outside
        return (0.5 if arc.ccw else -0.5) if isinstance(arc, Arc) else 0.5 * _faces(loop)
    return None


def _loop_of(segment_id: str, outline: Outline) -> Loop | None:
    return next((loop for loop in outline.design if any(segment.id == segment_id for segment in loop.segments)), None)


def _faces(loop: Loop) -> float:
    """1: its edges face outwards from material (the rim, a channel's inner wall, a pad's); -1: they face into a hole."""
    return 1.0 if loop.role == "outer" or loop.wall in ("inner", "pad") else -1.0
