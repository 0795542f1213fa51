"""The kernel behind its door: what it builds, what it refuses, and that nothing it does can take the caller down."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator

import numpy as np
import pytest

from afterpart.errors import SolidError
from afterpart.model.outline import Arc, Circle, Line, Point, Segment
from afterpart.model.piece import (
    Add,
    ChamferFirstLayer,
    Cut,
    Deboss,
    Keep,
    Lettering,
    Piece,
    PrintTime,
    Prism,
    Step,
)
from afterpart.solid.lettering import text_width
from afterpart.solid.worker import Workshop

FRESH_KERNELS = True


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def piece(*steps: Step) -> Piece:
    return Piece("check_plate", "probe", "probe", "A", steps, 2.0, (), PrintTime(0.0, 0.0, ""))


def ring(*corners: Point) -> tuple[Segment, ...]:
    return tuple(Line(f"s{i}", a, corners[(i + 1) % len(corners)]) for i, a in enumerate(corners))


def block(width: float, height: float, top: float = 2.0) -> Prism:
    return Prism(ring((0, 0), (width, 0), (width, height), (0, height)), (), 0.0, top)


def test_importing_the_door_loads_no_kernel() -> None:
    code = "import sys, afterpart.solid.worker, afterpart.release.plate_files; print({'OCP'} & {*sys.modules})"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip() == "set()"


def test_extrusion_with_arcs_both_ways(workshop: Workshop) -> None:
    """A bar with a bulge on one end and a bite at the other, each a half circle of radius 5: the areas cancel."""
    loop: tuple[Segment, ...] = (
        Line("a", (0, 0), (40, 0)),
        Arc("b", (40, 0), (40, 10), (40, 5), 5, True),
        Line("c", (40, 10), (0, 10)),
        Arc("d", (0, 10), (0, 0), (0, 5), 5, False),
    )
    body = workshop.build(piece(Add((Prism(loop, ((Circle("e", (20, 5), 2),),), 0.0, 3.0),))))
    assert body.volume == pytest.approx(3 * (400 - math.pi * 4), rel=1e-9)
    assert np.allclose(body.high, (45, 10, 3), atol=1e-5) and np.allclose(body.low, (0, 0, 0), atol=1e-5)


def test_large_arc_of_more_than_half_a_turn(workshop: Workshop) -> None:
    """A keyhole's head: 270 degrees about the origin, closed by two radii."""
    loop: tuple[Segment, ...] = (
        Line("a", (0, 0), (10, 0)),
        Arc("b", (10, 0), (0, -10), (0, 0), 10, True),
        Line("c", (0, -10), (0, 0)),
    )
    body = workshop.build(piece(Add((Prism(loop, (), 0.0, 1.0),))))
    assert body.volume == pytest.approx(0.75 * math.pi * 100, rel=1e-9)


def test_booleans_and_chamfer(workshop: Workshop) -> None:
    steps = (
        Add((block(20, 10),)),
        Cut((Prism(ring((-1, -1), (5, -1), (5, 5), (-1, 5)), (), 1.0, 3.0),)),
        Keep(Prism(ring((-1, -1), (10, -1), (10, 11), (-1, 11)), (), -1.0, 3.0)),
    )
    assert workshop.build(piece(*steps)).volume == pytest.approx(10 * 10 * 2 - 5 * 5 * 1, rel=1e-9)
    chamfered = workshop.build(piece(Add((block(20, 10),)), ChamferFirstLayer(0.5)))
    # A frustum 0.5 high below a plain block: areas 200 and 19 x 9 and, half way, 19.5 x 9.5 (prismatoid formula).
    assert chamfered.volume == pytest.approx(200 * 1.5 + 0.5 / 6 * (200 + 4 * 19.5 * 9.5 + 19 * 9), rel=1e-9)
    assert not chamfered.remarks


def test_mesh_is_closed_and_near_the_body(workshop: Workshop) -> None:
    body = workshop.build(piece(Add((Prism((Circle("a", (0, 0), 20),), ((Circle("b", (3, 0), 8),),), 0.0, 2.0),))), chord=0.005)
    edges = np.sort(
        np.vstack([body.mesh.triangles[:, [0, 1]], body.mesh.triangles[:, [1, 2]], body.mesh.triangles[:, [2, 0]]]), axis=1
    )
    _, counts = np.unique(edges, axis=0, return_counts=True)
    assert (counts == 2).all()
    a, b, c = (body.mesh.vertices[body.mesh.triangles[:, i]] for i in (0, 1, 2))
    volume = float((a * np.cross(b, c)).sum() / 6)
    # A chord cuts off a segment of two thirds of its height on average: outside it takes away, inside it adds.
    most = 2 / 3 * 0.005 * 2 * math.pi * (20 + 8) * 2
    assert 0 < volume and abs(volume - body.volume) < most
    assert abs(np.hypot(*body.mesh.vertices[:, :2].T) - 20).min() < 1e-9


def test_letters_have_the_asked_size_and_place(workshop: Workshop) -> None:
    """Sunk through a thin plate, an H leaves a mark of the capital's height, centred, and within its advance width."""
    text = Lettering("H", (10.0, 6.0), 5.0, 0.0)
    body = workshop.build(piece(Add((block(20, 12),)), Deboss((text,), 2.0, 0.5)))
    floor = body.mesh.vertices[np.abs(body.mesh.vertices[:, 2] - 1.5) < 1e-6]
    assert floor[:, 1].min() == pytest.approx(3.5, abs=1e-3) and floor[:, 1].max() == pytest.approx(8.5, abs=1e-3)
    assert (floor[:, 0].min() + floor[:, 0].max()) / 2 == pytest.approx(10.0, abs=1e-3)
    assert np.ptp(floor[:, 0]) < text_width("H", 5.0)


def test_turned_letters_turn_about_their_middle(workshop: Workshop) -> None:
    body = workshop.build(piece(Add((block(20, 12),)), Deboss((Lettering("H", (10.0, 6.0), 5.0, 90.0),), 2.0, 0.5)))
    floor = body.mesh.vertices[np.abs(body.mesh.vertices[:, 2] - 1.5) < 1e-6]
    assert floor[:, 0].min() == pytest.approx(7.5, abs=1e-3) and floor[:, 0].max() == pytest.approx(12.5, abs=1e-3)


def test_a_chamfer_too_wide_for_one_loop_is_narrowed_there_only(workshop: Workshop) -> None:
    """The outer corners are rounded 0.3 only: a 0.4 chamfer cannot pass them; the hole still gets its own in full."""
    r, w, h = 0.3, 20.0, 10.0
    loop: tuple[Segment, ...] = (
        Line("a", (r, 0), (w - r, 0)),
        Arc("b", (w - r, 0), (w, r), (w - r, r), r, True),
        Line("c", (w, r), (w, h - r)),
        Arc("d", (w, h - r), (w - r, h), (w - r, h - r), r, True),
        Line("e", (w - r, h), (r, h)),
        Arc("f", (r, h), (0, h - r), (r, h - r), r, True),
        Line("g", (0, h - r), (0, r)),
        Arc("h", (0, r), (r, 0), (r, r), r, True),
    )
    plain = Prism(loop, ((Circle("i", (10, 5), 2),),), 0.0, 2.0)
    body = workshop.build(piece(Add((plain,)), ChamferFirstLayer(0.4)))
    assert body.is_valid and body.solids == 1
    whole = 2 * (w * h - (4 - math.pi) * r**2 - 4 * math.pi)
    hole_only = math.pi * 0.4**2 * (2 + 0.4 / 3)
    assert body.volume < whole - hole_only + 1e-6
    assert all("chamfer" in remark for remark in body.remarks)


@pytest.mark.parametrize(
    ("steps", "words"),
    [
        ((Add((Prism(ring((0, 0), (10, 10), (10, 0), (0, 10)), (), 0.0, 1.0),)),), "correct the drawing"),
        ((Add((Prism((Line("s1", (0, 0), (10, 0)), Line("s2", (10, 0), (5, 5))), (), 0.0, 1.0),)),), "not closed"),
        ((Cut((block(5, 5),)),), "must add"),
        ((Add((block(5, 5),)), Cut((block(9, 9, 3.0),))), "nothing"),
        ((), "nothing"),
    ],
)
def test_unusable_steps_are_refused(workshop: Workshop, steps: tuple[Step, ...], words: str) -> None:
    with pytest.raises(SolidError, match=words):
        workshop.build(piece(*steps))


def test_unreadable_step_file_is_refused(workshop: Workshop) -> None:
    with pytest.raises(SolidError, match="cannot be read"):
        workshop.read_step(b"not a STEP file")


def test_section_beside_the_body_is_empty(workshop: Workshop) -> None:
    step = workshop.build(piece(Add((block(20, 10),)))).step
    assert workshop.section_area(step, 1.0) == pytest.approx(200.0, rel=1e-9)
    assert workshop.section_area(step, 5.0) == 0.0


def test_a_dead_kernel_is_an_error_once_and_then_replaced() -> None:
    with Workshop() as workshop:
        workshop.build(piece(Add((block(5, 5),))))
        kernel = workshop._processes[0]
        child = kernel._child
        assert child is not None
        os.kill(child.pid, signal.SIGSTOP)
        kernel._request_limit_s = 0.5
        with pytest.raises(SolidError, match=r"build piece 'probe' \(probe\) within 0.5 s"):
            workshop.build(piece(Add((block(6, 5),))))
        assert child.poll() is not None, "the stuck child was ended"
        kernel._request_limit_s = 60.0
        assert workshop.build(piece(Add((block(6, 5),)))).volume == pytest.approx(60.0)
        fresh = kernel._child
        assert fresh is not None and fresh is not child
        os.kill(fresh.pid, signal.SIGKILL)
        fresh.wait()
        assert workshop.build(piece(Add((block(7, 5),)))).volume == pytest.approx(70.0)
        last = kernel._child
    assert last is not None and last.poll() is not None, "nothing is left running"


def test_a_kernel_that_dies_at_work_is_an_error_that_names_the_piece() -> None:
    """The child is stopped, asked, and killed while it owes the answer."""
    with Workshop() as workshop:
        workshop.build(piece(Add((block(5, 5),))))
        child = workshop._processes[0]._child
        assert child is not None
        os.kill(child.pid, signal.SIGSTOP)
        threading.Timer(0.3, child.kill).start()
        with pytest.raises(SolidError, match=r"ended during build piece 'probe' \(probe\)"):
            workshop.build(piece(Add((block(6, 5),))))
        assert workshop.build(piece(Add((block(6, 5),)))).volume == pytest.approx(60.0)


def test_what_is_begun_is_built_in_the_background_and_comes_once() -> None:
    """Every piece comes once, whatever is there already; other requests are answered meanwhile; closing ends what is at work."""
    several = tuple(dataclasses.replace(piece(Add((block(5 + i, 5),))), file_stem=f"probe_{i}") for i in range(4))
    holes = (ring((x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)) for x in range(2, 92, 3) for y in range(2, 62, 3))
    many = dataclasses.replace(piece(Add((block(95, 65),)), Cut(tuple(Prism(hole, (), -1.0, 3.0) for hole in holes))),
                               file_stem="many")
    with Workshop() as workshop:
        first = workshop.build(several[0])
        assert sorted(workshop.as_built(several)) == [0, 1, 2, 3]
        assert workshop.build(several[0]) is first
        assert [body.volume for body in workshop.build_all(several)] == pytest.approx([50.0, 60.0, 70.0, 80.0])
        workshop.begin((many,))
        assert workshop.section_area(first.step, 1.0) == pytest.approx(25.0)
        children = [process._child for process in workshop._processes]
    assert all(child is None or child.poll() is not None for child in children)


def test_what_was_built_is_answered_from_memory_even_without_a_kernel(workshop: Workshop) -> None:
    first = workshop.build(piece(Add((block(20, 10),))))
    noted = dataclasses.replace(piece(Add((block(20, 10),))), name="probe again", revision="B")
    assert workshop.build(noted) is first
    assert workshop.build(noted, chord=0.02) is not first
    assert workshop.build_all((piece(Add((block(20, 10),))), piece(Add((block(9, 9),)))))[0] is first
    other = dataclasses.replace(noted, file_stem="other")
    assert b"other" in workshop.build(other).step and workshop.build(other).step != first.step


def test_pieces_of_one_recipe_are_made_once_and_each_file_is_read_back_under_its_own_name() -> None:
    """One request answers for all of them; the mesh is one, each STEP file is its own, and differs in the name alone."""
    steps = piece(Add((block(20, 10),)))
    alike = tuple(dataclasses.replace(steps, file_stem=stem) for stem in ("first", "again"))
    other = dataclasses.replace(piece(Add((block(9, 9),))), file_stem="other")
    with Workshop() as workshop:
        workshop.begin((*alike, other))
        assert len({id(future) for future, _ in workshop._begun.values()}) == 2
        first, again, third = workshop.build_all((*alike, other))
        with Workshop() as alone:
            assert alone.build(alike[1]).step == again.step
    assert (first.read_back.label, again.read_back.label, third.read_back.label) == ("first", "again", "other")
    assert first.step.replace(b"first", b"again") == again.step and first.step != again.step
    assert first.mesh is not third.mesh and np.array_equal(first.mesh.vertices, again.mesh.vertices)
    assert again.read_back.volume == pytest.approx(again.volume, rel=1e-6)


def test_a_failing_piece_is_named(workshop: Workshop) -> None:
    with pytest.raises(SolidError, match=r"piece 'probe' \(probe\): "):
        workshop.build_all((piece(Add((block(20, 10),))), piece(Cut((block(9, 9),)))))


def test_closing_twice_is_no_error() -> None:
    workshop = Workshop()
    workshop.close()
    workshop.close()
