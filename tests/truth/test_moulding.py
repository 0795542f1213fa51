"""Moulded parts, bowed faces and dimensions beside their truths: what the study stands on must be right before it may judge."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from afterpart.model.outline import Arc, Circle, Datum, Dimension, Line, Loop, Outline
from afterpart.standards.paper import sheet_tolerance
from tests.truth.bodies import FACE, Bow
from tests.truth.booth import Scene, _Stage, part_of, project, stand_camera
from tests.truth.compare import Motion
from tests.truth.drawings import DRAWINGS, Drawing, drawing
from tests.truth.field import signed_area
from tests.truth.matching import match_dimensions, outline_motion
from tests.truth.moulding import Moulding, mould
from tests.truth.scenes import Shoot, make_shoot
from tests.truth.test_compare import SCALE, _turned
from tests.truth.varied import varied_shoot

SHRUNK = Moulding(0.01, 0.008)


@pytest.mark.parametrize("plate", DRAWINGS, ids=lambda d: d.name)
def test_a_perfect_mould_changes_nothing(plate):
    part = mould(plate, Moulding(), np.random.default_rng(0))
    for loop, made in zip(plate.loops, part.loops, strict=True):
        for segment, other in zip(loop, made, strict=True):
            assert segment[0] == other[0]
            for a, b in zip(segment[1:], other[1:], strict=True):
                assert np.allclose(a, b, atol=1e-9)


@pytest.mark.parametrize("plate", DRAWINGS, ids=lambda d: d.name)
def test_moulded_loops_close_and_their_arcs_are_arcs(plate):
    part = mould(plate, Moulding(0.009, 0.007, 0.03, 0.02), np.random.default_rng(4))
    for loop in part.loops:
        for here, there in zip(loop, loop[1:] + loop[:1], strict=True):
            if here[0] == "circle":
                continue
            assert math.dist(here[2], there[1]) < 1e-9
            if here[0] == "arc":
                assert math.dist(here[1], here[3]) == pytest.approx(math.dist(here[2], here[3]), abs=1e-9)


@pytest.mark.parametrize("plate", DRAWINGS, ids=lambda d: d.name)
def test_shrinkage_takes_its_share_of_the_area_and_of_every_distance(plate):
    part = mould(plate, SHRUNK, np.random.default_rng(0))
    share = (1 - SHRUNK.shrink_x) * (1 - SHRUNK.shrink_y)
    assert signed_area(list(part.loops[0])) == pytest.approx(share * signed_area(list(plate.loops[0])), rel=2e-4)
    before, after = (np.array([loop[0][1] for loop in d.loops[1:] if loop[0][0] == "circle"]) for d in (plate, part))
    assert np.allclose(after, before * (1 - SHRUNK.shrink_x, 1 - SHRUNK.shrink_y), atol=1e-9)


def test_scatter_has_the_size_it_is_given():
    plate = drawing("screw_grid")
    places, sizes = [], []
    for seed in range(60):
        part = mould(plate, Moulding(0, 0, 0.03, 0.02), np.random.default_rng(seed))
        for before, after in zip(plate.loops[1:], part.loops[1:], strict=True):
            places += list(np.subtract(after[0][1], before[0][1]))
            sizes.append(2 * (after[0][2] - before[0][2]))
    assert np.std(places) == pytest.approx(0.03, rel=0.1)
    assert np.std(sizes) == pytest.approx(0.02, rel=0.1)


@pytest.mark.parametrize("kind", ["dome", "bowl", "saddle"])
def test_a_bowed_face_is_seen_where_the_camera_sees_its_height(kind):
    """Just inside the projected, lifted upper rim the face is seen; just outside it on the far side, not."""
    flat = part_of(drawing("square_flange"), 8.0, 0.0)
    body = replace(flat, bow=Bow(kind, 0.3, 50.0, angle_deg=30.0))
    camera = stand_camera((2000, 1500), 26.0, 260.0, tilt_deg=12.0, azimuth_deg=60.0)
    stage = _Stage(Scene(camera, (body,)), 0)
    t = np.linspace(-24, 24, 80)
    for x, y, nx, ny in ((t, np.full(80, 35.0), 0, 1), (t, np.full(80, -35.0), 0, -1), (np.full(80, 35.0), t, 1, 0)):
        lifts = body.bow.lift(x, y)
        assert 0 <= lifts.min() and lifts.max() <= 0.3 and np.ptp(lifts) > 0.05

        def is_face(off: float, x=x, y=y, nx=nx, ny=ny, lifts=lifts) -> np.ndarray:
            px = project(camera, np.c_[x + off * nx, y + off * ny, 8.0 + lifts])
            return (stage.look(px[:, 0].copy(), px[:, 1].copy())[2] - 10) % 20 == FACE

        assert is_face(-0.01).all()
        assert not is_face(0.01).any()


def _outline_of(part: Drawing, design: Drawing) -> Outline:
    """The part exactly measured and exactly designed, turned, with one dimension of every kind that has segments for it."""
    loops, dimensions, names = [], [], 0
    for number, (loop, nominal) in enumerate(zip(part.loops, design.loops, strict=True)):
        segments = []
        for s, d in zip(loop, nominal, strict=True):
            names += 1
            moved = [_turned(p, -31.0, (3.0, 9.0)) if isinstance(p, tuple) else p for p in s[1:]]
            if s[0] == "line":
                segments.append(Line(f"s{names}", moved[0], moved[1]))
                dimensions.append(("length", (f"s{names}",), math.dist(s[1], s[2]), math.dist(d[1], d[2])))
            elif s[0] == "arc":
                segments.append(Arc(f"s{names}", moved[0], moved[1], moved[2], math.dist(s[1], s[3]), s[4]))
                dimensions.append(("radius", (f"s{names}",), math.dist(s[1], s[3]), math.dist(d[1], d[3])))
            else:
                segments.append(Circle(f"c{names}", moved[0], s[2]))
                dimensions.append(("diameter", (f"c{names}",), 2 * s[2], 2 * d[2]))
        loops.append(Loop("outer" if number == 0 else "opening", 1, tuple(segments)))
    rows = tuple(Dimension(f"d{k}", kind, of, value, 0.02, target, 0.99, None, "inferred")
                 for k, (kind, of, value, target) in enumerate(dimensions))
    return Outline("mm", SCALE, Datum("", (0.0, 0.0), 0.0), tuple(loops), tuple(loops), rows, ())


@pytest.mark.parametrize("name", ["pump_cover", "angle_bracket", "slotted_plate", "valve_cover", "half_moon", "outlet_gasket",
                                  "keyed_washer"])
def test_every_dimension_finds_both_its_truths(name):
    plate = drawing(name)
    part = mould(plate, Moulding(0.008, 0.006, 0.03, 0.02), np.random.default_rng(2))
    back = math.radians(31.0)
    turn = np.array([[math.cos(back), -math.sin(back)], [math.sin(back), math.cos(back)]])
    near = Motion(turn, -turn @ (3.1, 8.9))
    matched = match_dimensions(_outline_of(part, plate), part, plate, near)
    assert len(matched) == sum(len(loop) for loop in plate.loops)
    for m in matched:
        assert m.true == pytest.approx(m.dimension.measured, abs=1e-6)
        assert m.is_right
    assert max(abs(m.true - m.nominal) for m in matched) > 0.1


def test_widths_angles_and_edge_to_edge_are_told_from_their_segments():
    plate = drawing("pump_cover")
    outline = _outline_of(plate, plate)
    lines = [s for s in outline.measured[0].segments if isinstance(s, Line)]
    holes = [loop.segments[0] for loop in outline.measured[1:]]
    low, right, slant, top = lines[0], lines[1], lines[2], lines[3]
    asked = [("width", (low.id, top.id), 68.0), ("angle", (low.id, right.id), 90.0),
             ("angle", (right.id, slant.id), 180.0 - math.degrees(math.atan2(18, 24))),
             ("distance", (holes[0].id, holes[1].id), 84.0), ("gap", (holes[0].id, holes[1].id), 78.5),
             ("over", (holes[0].id, holes[1].id), 89.5), ("depth", (holes[0].id,), None)]
    rows = tuple(Dimension(f"d{k}", kind, of, 0.0, 0.1, 0.0, 0.0, None, "free") for k, (kind, of, _) in enumerate(asked))
    for m, (_, _, value) in zip(match_dimensions(replace(outline, dimensions=rows), plate, plate), asked, strict=True):
        assert m.true == (None if value is None else pytest.approx(value, abs=1e-6))


def test_a_segment_that_is_not_there_has_no_partner():
    plate = drawing("square_flange")
    outline = _outline_of(plate, plate)
    without_one = replace(plate, loops=plate.loops[:-1])
    matched = match_dimensions(outline, without_one, without_one)
    assert [m.true is None for m in matched] == [False] * (len(matched) - 1) + [True]


def test_a_part_of_equal_sides_is_laid_on_its_truth_as_it_lay():
    """Four holes that a turn of 90 degrees exchanges, each of another true size: every one finds its own."""
    shoot = make_shoot(drawing("square_flange"), "sheet", turn_deg=8.0, size=(2000, 1500))
    part = mould(shoot.drawing, Moulding(0.004, 0.003, 0.03, 0.02), np.random.default_rng(3))
    body = replace(shoot.scene.parts[0], loops=part.loops)
    shoot = replace(shoot, scene=replace(shoot.scene, parts=(body,)), part=part)
    plain = _outline_of(part, shoot.drawing)
    # _outline_of turns the drawing by -31 degrees and shifts it by (3, 9); its datum must bring that to where the body lies
    angle = math.radians(body.angle_deg + 31.0)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    origin = np.array([body.x, body.y]) - turn @ (3.0, 9.0)
    for quarter in range(4):
        # the same outline told in a datum turned by quarters: only the picture can say which hole is which
        step = math.radians(90.0 * quarter)
        back = np.array([[math.cos(step), math.sin(step)], [-math.sin(step), math.cos(step)]])
        turned = replace(plain, measured=tuple(_moved(loop, back) for loop in plain.measured),
                         datum=Datum("", tuple(origin), math.degrees(angle + step)))
        near = outline_motion(turned, shoot.scene.camera, shoot)
        matched = match_dimensions(turned, part, shoot.drawing, near)
        assert all(m.true == pytest.approx(m.dimension.measured, abs=1e-6) for m in matched)
    assert len({round(m.true, 4) for m in matched if m.dimension.kind == "diameter"}) == 5


def _moved(loop: Loop, turn: np.ndarray) -> Loop:
    """A loop turned about the origin."""
    def at(p: tuple[float, float]) -> tuple[float, float]:
        x, y = turn @ p
        return float(x), float(y)

    out = []
    for s in loop.segments:
        if isinstance(s, Circle):
            out.append(replace(s, center=at(s.center)))
        elif isinstance(s, Arc):
            out.append(replace(s, start=at(s.start), end=at(s.end), center=at(s.center)))
        else:
            out.append(replace(s, start=at(s.start), end=at(s.end)))
    return replace(loop, segments=tuple(out))


def test_varied_shoots_vary_and_stay_within_what_they_promise():
    shoots: list[tuple[Shoot, dict]] = [varied_shoot(seed, 3.0) for seed in range(120)]
    draws = [draw for _, draw in shoots]
    assert varied_shoot(7, 3.0) == shoots[7]
    shrunk = [d["shrink_x"] for d in draws if abs(d["shrink_x"]) > 0.0015]
    assert 40 <= len(shrunk) <= 80 and 0.002 <= min(shrunk) and max(shrunk) <= 0.01
    assert {d["bow"] for d in draws} == {"flat", "dome", "bowl", "saddle"}
    assert all(70 <= d["quality"] <= 97 and 0 <= d["draft_deg"] <= 1.5 for d in draws)
    assert np.std([d["height_error"] for d in draws]) == pytest.approx(0.05, rel=0.25)
    sides = np.array([d["sheet_error"] for d in draws])
    assert np.abs(sides).max() <= sheet_tolerance(210.0) and sides.std() == pytest.approx(0.68, rel=0.2)
    for shoot, draw in shoots:
        told, true = shoot.shot.face_height, shoot.scene.parts[0].height
        assert told == pytest.approx(true + draw["height_error"], abs=0.0051)
        assert len({s for loop in shoot.made.loops for s in loop}) == sum(map(len, shoot.drawing.loops))
