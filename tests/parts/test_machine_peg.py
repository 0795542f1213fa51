"""The peg in a hole of the machine: its sizes, what it refuses, and the turned cover run into a machine drawn for the purpose."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from afterpart.errors import JobError
from afterpart.model.feature import Peg
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Loop, Outline, Point
from afterpart.model.piece import Add, Piece, PrintTime, Prism
from afterpart.model.wishes import AddedHole, BoltWish, Change, CoverWish, Wishes
from afterpart.parts.cover import make_cover
from afterpart.solid.body import Mesh
from afterpart.solid.clash import overlap_volume
from afterpart.solid.mesh import moved
from afterpart.solid.worker import Workshop
from tests.parts.filter_jobs import outline

AT = (30.0, 38.0)


def drawn(radius: float = 3.3) -> Outline:
    """A plate of 120 x 90 with four bolt holes in a rectangle, and one more hole off every symmetry."""
    plate = outline(channel=False)
    loops = (*plate.design, Loop("opening", 1, (Circle("c9", AT, radius),)))
    return replace(plate, design=loops, measured=loops)


def wanted(drop: bool = True, **cover: Any) -> Job:
    """An air hole off the middle makes turns wrong."""
    wishes = Wishes(make=("cover",), cover=CoverWish(**{"peg_in": "c9", **cover}), bolts=BoltWish(thread="M6"),
                    holes=(AddedHole("air", (20.0, 5.0), 12.0, "air"),),
                    changes=(Change("c9", "drop", "stays free"),) if drop else ())
    return Job("probe", (), wishes=wishes)


def peg_of(piece: Piece) -> Peg:
    (peg,) = (f for f in piece.features if isinstance(f, Peg))
    return peg


def told(piece: Piece, code: str) -> str:
    return " ".join(note.text for note in piece.notes if note.code == code)


@pytest.mark.parametrize(("radius", "given", "hole"), [
    (3.3, {}, 5.0),  # clearance hole of M6: its thread in the machine, tap drill 5.0 (ISO 2306, from memory)
    (4.1, {}, 8.2),  # no hole of M6: as wide as the old part's
    (3.3, {"peg_hole": 6.1}, 6.1),
])
def test_the_peg_is_narrower_than_the_machines_hole(radius: float, given: dict[str, float], hole: float) -> None:
    piece = make_cover(drawn(radius), wanted(**given))
    peg = peg_of(piece)
    assert (peg.center, peg.hole, peg.bottom, peg.top) == (AT, hole, 6.0, 9.0)
    assert peg.diameter == pytest.approx(hole - 0.6) and piece.thickness == 9.0
    assert "measure both" in told(piece, "peg_in_machine")


def test_a_peg_stops_the_turn_and_says_what_it_does_not_stop() -> None:
    """Without it the half turn is marked; with it only turning over is left, which a peg on the mating face never meets."""
    marked, pegged = make_cover(drawn(), wanted(peg_in="")), make_cover(drawn(), wanted())
    assert "turned by 180 degrees" in told(marked, "fits_wrongly") and "TOP" in told(marked, "fits_wrongly")
    left = told(pegged, "fits_wrongly")
    assert "turned by" not in left and "TOP" not in left and "turned over" in left


def machine(at: tuple[tuple[Point, float], ...]) -> Piece:
    """A block with these holes as the face that the cover meets."""
    holes = tuple((Circle("", center, radius),) for center, radius in at)
    (edge,) = (loop.segments for loop in drawn().design if loop.role == "outer")
    return Piece("bracket", "machine", "machine", "", (Add((Prism(edge, holes, 0.0, 8.0),)),), 8.0, (), PrintTime(0.0, 0.0, ""))


def test_on_a_machine_with_that_hole_only_the_right_way_is_free(built_pieces: Workshop) -> None:
    """Volume in common, mm3: none in the right way, the whole peg (pi / 4 d^2 h less its tip) in the turned one."""
    cover = make_cover(drawn(), wanted(number="", first_layer_chamfer=0.0))
    bolts = tuple(((x, y), 2.5) for x in (-54.0, 54.0) for y in (-39.0, 39.0))
    block = built_pieces.build(machine((*bolts, (AT, 2.5)))).mesh
    mesh = moved(built_pieces.build(cover).mesh, False, (0.0, 0.0, -6.0))
    assert overlap_volume(mesh, block) == pytest.approx(0.0, abs=1e-3)
    turned = Mesh(mesh.vertices * (-1.0, -1.0, 1.0), mesh.triangles)
    assert 40.0 < overlap_volume(turned, block) < 3.1416 / 4 * 4.4**2 * 3.0


@pytest.mark.parametrize(("job", "said"), [
    (wanted(drop=False), "still a hole of the cover"),
    (wanted(peg_in="c77"), "the outline's round openings are"),
    (wanted(peg_hole=2.4), "at least 2 mm expected"),
    (wanted(peg_hole=20.0), "beyond the cover's edge"),
])
def test_what_cannot_be_a_peg_is_refused_by_its_key(job: Job, said: str) -> None:
    with pytest.raises(JobError, match="cover.peg_in") as caught:
        make_cover(drawn(), job)
    assert said in str(caught.value)


def test_a_peg_keeps_off_holes() -> None:
    job = wanted()
    job = replace(job, wishes=replace(job.wishes, holes=(AddedHole("air", (30.0, 32.0), 12.0, "air"),)))
    with pytest.raises(JobError, match=r"cover.peg_in: a peg of 4.4 mm at .* stands over the hole air"):
        make_cover(drawn(), job)
