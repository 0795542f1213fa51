"""The order of steps and what recipes share: the same body, and the same bytes, however a piece comes to be built."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math

import pytest

from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Keep, Piece, Prism, Step
from afterpart.parts.stage import make_pieces
from afterpart.solid.body import Body
from afterpart.solid.recipe import effort, grouped, recipe_of, stems
from afterpart.solid.worker import Workshop
from tests.parts.examples import example
from tests.solid.shapes import piece_of, plate

CHAMFER = ChamferFirstLayer(0.4)


def bore(radius: float, bottom: float) -> Cut:
    return Cut((Cone((10.0, 5.0), bottom, 9.0, radius, radius),))


def test_a_chamfer_comes_before_cuts_that_begin_above_it_and_no_others() -> None:
    above, through = bore(2.0, 1.0), bore(2.0, -1.0)
    assert recipe_of((Add((plate(),)), above, CHAMFER)) == ((Add((plate(),)),), (CHAMFER,), (above,))
    base = Add((plate(),))
    for steps in ((base, through, CHAMFER), (base, above, through, CHAMFER), (base, CHAMFER, above)):
        assert recipe_of(steps) == grouped(steps)
    assert sum(map(len, recipe_of((Add((plate(),)), above, above, CHAMFER, through)))) == 5


def test_stems_are_what_recipes_begin_with_together_and_leave_something_to_do() -> None:
    first, second, third = Add((plate(),)), bore(2.0, 1.0), bore(3.0, 1.0)
    recipes = [grouped(steps) for steps in (
        (first, CHAMFER, second), (first, CHAMFER, third), (first, CHAMFER), (bore(1.0, 0.0),))]
    assert stems(recipes) == (2, 2, 1, 0)
    assert stems(recipes[:1]) == (0,) and stems([]) == ()


def test_letters_and_rounded_walls_count_for_more_than_plain_ones() -> None:
    plain, rounded = plate(), dataclasses.replace(plate(), top_round=0.5)
    assert 0 < effort((Add((plain,)),)) < effort((Add((rounded,)),))
    assert effort((Add((plain,)), CHAMFER)) == effort((Add((plain,)),))


def variants() -> tuple[Piece, ...]:
    """Blocks that differ in their bore alone."""
    steps: list[tuple[Step, ...]] = [(Add((plate(),)), bore(radius, 1.0), CHAMFER) for radius in (1.0, 1.2, 1.4)]
    return tuple(dataclasses.replace(piece_of(*each), file_stem=f"bore_{i}") for i, each in enumerate(steps))


def facts(body: Body) -> tuple[bytes, bytes, bytes]:
    return body.step, body.mesh.vertices.tobytes(), body.mesh.triangles.tobytes()


def test_a_body_made_from_a_shared_stem_has_the_bytes_it_has_alone_in_either_order() -> None:
    """In one process after another piece, in two side by side, backwards, and alone."""
    pieces = variants()
    with Workshop() as one, Workshop() as other, Workshop() as alone:
        together = [facts(body) for body in one.build_all(pieces)]
        backwards = [facts(body) for body in other.build_all(pieces[::-1])][::-1]
        assert together == backwards == [facts(alone.build(piece)) for piece in pieces]


def test_the_order_found_gives_the_body_of_the_order_given() -> None:
    """A plate of 148 x 96 x 6 with corners R 8: a chamfer c takes P c^2 / 2 - pi c^3 / 3 (its outline drawn in by t loses P t -
    pi t^2), the bore from 1 up pi r^2 5.  The order given is forced by a Keep between."""
    piece, c = variants()[0], CHAMFER.width
    given = piece_of(piece.steps[0], piece.steps[1], Keep(Prism(plate(200.0, 120.0).outer, (), -1.0, 20.0)), piece.steps[2])
    around = 2 * (132 + 80) + math.tau * 8
    wanted = 6 * (148 * 96 - (4 - math.pi) * 64) - (around * c**2 / 2 - math.pi * c**3 / 3) - 5 * math.pi
    with Workshop() as workshop:
        found, as_given = workshop.build(piece), workshop.build(given)
    assert found.volume == pytest.approx(wanted, rel=1e-9) and as_given.volume == pytest.approx(wanted, rel=1e-9)
    assert found.faces == as_given.faces and found.genus == as_given.genus == 0


def test_the_frames_of_the_demo_share_all_but_their_pilot_holes() -> None:
    frames = [piece for piece in make_pieces(*example("compressor_cover")).pieces if piece.kind == "clamp_frame"]
    recipes = [recipe_of(steps) for steps in dict.fromkeys(frame.steps for frame in frames)]
    assert len(recipes) == 4 and stems(recipes) == (2, 2, 2, 2)
