"""Pockets set into a prism without a boolean: the body a boolean makes, and refusals where the walls come too near.

Closed forms: a cylinder's pocket with a bevelled roof is a cylinder below a frustum; a round of radius r draws a wall in by
r - sqrt(r^2 - (r - d)^2) at the distance d below its end (Pythagoras).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import math

import pytest

from afterpart.model.piece import Add, Cut, Piece, Prism
from afterpart.parts.stage import make_pieces
from afterpart.solid import booleans, shapes
from afterpart.solid.kernel import build
from afterpart.solid.pocket import APART, lies_within, pocketed
from afterpart.solid.wires import solid_of
from tests.parts.examples import example
from tests.solid.shapes import disc, piece_of, plate, rounded

CROWN = 3.0
DISC = Prism(disc(0, 0, 10), (), 0.0, 4.0, top_round=CROWN)
RING = Prism(rounded(-40, -25, 40, 25, 12), (rounded(-34, -19, 34, 19, 6),), 0.0, 6.0, top_round=2.9, bottom_bevel=0.4)
CHANNEL = Prism(rounded(-38, -23, 38, 23, 10), (rounded(-36, -21, 36, 21, 8),), -1.0, 4.0, top_bevel=0.5)


def round_pocket(radius: float, top: float, bevel: float = 0.0) -> Prism:
    return Prism(disc(0, 0, radius, "p"), (), -1.0, top, top_bevel=bevel)


@pytest.mark.parametrize("top", [1.0, 2.0, 3.0])
def test_a_pocket_keeps_clear_of_a_round_at_its_own_height(top: float) -> None:
    """At z the disc's radius is 10 - (3 - sqrt(9 - (z - 1)^2)) above z = 1."""
    free = 10.0 - (CROWN - math.sqrt(CROWN**2 - (top - 1.0) ** 2)) - APART
    assert lies_within(DISC, round_pocket(free - 0.02, top))
    assert not lies_within(DISC, round_pocket(free + 0.02, top))


def test_a_pocket_outside_or_across_the_outline_is_refused() -> None:
    away = dataclasses.replace(round_pocket(2.0, 1.0), outer=disc(9.5, 0, 2))
    assert not lies_within(DISC, away) and pocketed(solid_of(DISC), DISC, away) is None
    assert not lies_within(RING, Prism(CHANNEL.outer, (), -1.0, 4.0)), "it would take the ring's own opening"


@pytest.mark.parametrize("pocket", [
    round_pocket(5.0, 5.0), round_pocket(5.0, 4.0), dataclasses.replace(round_pocket(5.0, 2.0), bottom=0.5),
    dataclasses.replace(round_pocket(5.0, 2.0), bottom_bevel=0.2)])
def test_what_goes_through_or_does_not_open_below_is_left_to_the_boolean(pocket: Prism) -> None:
    assert pocketed(solid_of(DISC), DISC, pocket) is None


def test_a_round_pocket_with_a_bevelled_roof_takes_away_its_closed_form() -> None:
    solid, top, bevel, r = solid_of(DISC), 2.0, 0.5, 5.0
    made = pocketed(solid, DISC, round_pocket(r, top, bevel))
    frustum = math.pi * bevel / 3 * (r**2 + r * (r - bevel) + (r - bevel) ** 2)
    assert made is not None and shapes.is_valid(made) and len(shapes.solids(made)) == 1
    assert shapes.volume(solid) - shapes.volume(made) == pytest.approx(math.pi * r**2 * (top - bevel) + frustum, rel=1e-9)


def test_a_channel_below_a_beads_crown_is_the_body_that_a_boolean_cuts() -> None:
    """A ring, its own opening inside the channel's island: faces, volume, validity, ways through, and the file read back."""
    solid = solid_of(RING)
    made, cut = pocketed(solid, RING, CHANNEL), booleans.cut(solid, [solid_of(CHANNEL)])
    assert made is not None and shapes.is_valid(made)
    assert shapes.volume(made) == pytest.approx(shapes.volume(cut), rel=1e-9)
    assert len(shapes.faces(made)) == len(shapes.faces(cut)) and len(shapes.edges(made)) == len(shapes.edges(cut))
    body, _ = build(piece_of(Add((RING,)), Cut((CHANNEL,))), 0.01)
    assert (body.solids, body.genus, body.voids, body.faces) == (1, 1, 0, len(shapes.faces(cut)))
    assert body.read_back.volume == pytest.approx(body.volume, rel=1e-6) == pytest.approx(shapes.volume(cut), rel=1e-6)
    assert body.mesh_volume == pytest.approx(body.volume, rel=1e-3)


def test_several_tools_and_bodies_of_several_prisms_are_cut() -> None:
    """Two blind holes in a plate, and one where a second plate stands on it: 40 x 30 x 6 and 12 x 12 x 4, holes r = 3, 2 deep."""
    hole = Prism(disc(0, 0, 3, "p"), (), -1.0, 2.0)
    other = Prism(disc(12, 0, 3, "q"), (), -1.0, 2.0)
    base = Prism(plate(40.0, 30.0).outer, (), 0.0, 6.0)
    whole = 6 * (40 * 30 - (4 - math.pi) * 64)
    two: Piece = piece_of(Add((base,)), Cut((hole, other)))
    assert build(two, 0.01)[0].volume == pytest.approx(whole - 2 * math.pi * 9 * 2, rel=1e-9)
    on_top = piece_of(Add((base, Prism(rounded(-6, -6, 6, 6, 1), (), 6.0, 10.0))), Cut((hole,)))
    assert build(on_top, 0.01)[0].volume == pytest.approx(whole + 4 * (144 - (4 - math.pi)) - math.pi * 9 * 2, rel=1e-9)


def test_the_demos_gasket_is_made_this_way() -> None:
    gasket = next(piece for piece in make_pieces(*example("compressor_cover")).pieces if piece.kind == "gasket")
    (ring,), (cavity,) = gasket.steps[0].prisms, gasket.steps[1].prisms  # type: ignore[union-attr]
    assert isinstance(ring, Prism) and isinstance(cavity, Prism)
    made, cut = pocketed(solid_of(ring), ring, cavity), booleans.cut(solid_of(ring), [solid_of(cavity)])
    assert made is not None and shapes.volume(made) == pytest.approx(shapes.volume(cut), rel=1e-9)
