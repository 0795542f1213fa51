"""Steps of a piece against closed forms: rounds and bevels of prisms, cones, treated loops, letters, the first layer.

Volumes by hand: a round of radius r on a square edge takes (1 - pi/4) r^2 per length; its centroid lies
r (10 - 3 pi) / (12 - 3 pi) from both faces (centroid of a fillet's spandrel, any handbook of sections), and round a circular
edge Pappus' rule gives the volume.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest

from afterpart.errors import SolidError
from afterpart.model.outline import Line
from afterpart.model.piece import Add, ChamferFirstLayer, Cone, Cut, Deboss, Lettering, Prism, Step, TreatLoop
from afterpart.solid.worker import Workshop
from tests.solid.shapes import disc, edge_strip, piece_of, plate, rectangle, rounded


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with Workshop() as running:
        yield running


def ring_strip(radius: float, edge_radius: float, inwards: bool) -> float:
    """Volume a round of this radius takes off a circular edge; inwards: the material lies inside the circle."""
    back = radius * (10 - 3 * math.pi) / (12 - 3 * math.pi)
    return edge_strip(radius) * math.tau * (edge_radius - back if inwards else edge_radius + back)


@pytest.mark.parametrize("r", [0.3, 1.0, 1.5])
def test_a_round_on_both_rims_of_a_ring(workshop: Workshop, r: float) -> None:
    washer = Prism(disc(0, 0, 12), (disc(0, 0, 8, "c2"),), 0.0, 5.0, top_round=r)
    volume = workshop.build(piece_of(Add((washer,)))).volume
    plain = math.pi * (12**2 - 8**2) * 5
    assert volume == pytest.approx(plain - ring_strip(r, 12, True) - ring_strip(r, 8, False), rel=1e-7)


def test_a_round_of_half_the_width_makes_a_half_round_crown(workshop: Workshop) -> None:
    """A bead of width 4 and height 5 on a circle of mean radius 10: Pappus on a rectangle 4 x 3 under a half disc of R 2."""
    bead = Prism(disc(0, 0, 12), (disc(0, 0, 8, "c2"),), 0.0, 5.0, top_round=2.0)
    body = workshop.build(piece_of(Add((bead,))))
    assert body.volume == pytest.approx((4 * 3 + math.pi * 2**2 / 2) * math.tau * 10, rel=1e-4)
    assert body.high[2] == pytest.approx(5.0, abs=1e-4)


@pytest.mark.parametrize(("outer", "inner"), [(2.0, 0.0), (5.6, 2.0)])
@pytest.mark.parametrize("r", [0.6, 1.79, 1.8])
def test_a_groove_of_any_corners_takes_a_rounded_floor(workshop: Workshop, outer: float, inner: float, r: float) -> None:
    """Cut into a plate: what is cut away is the sharp groove less the strips along its straight floor edges, within what the
    eight corners can change (each less than the strip's area over a quarter turn of R 5.6 + 1.8)."""
    island = rounded(-58.4, -32.4, 58.4, 32.4, inner) if inner else rectangle(-58.4, -32.4, 58.4, 32.4)
    def volume_with(bottom_round: float) -> float:
        groove = Prism(rounded(-62, -36, 62, 36, outer), (island,), 4.0, 7.0, bottom_round=bottom_round)
        return workshop.build(piece_of(Add((plate(),)), Cut((groove,)))).volume
    straight = 2 * ((124 - 2 * outer) + (72 - 2 * outer) + (116.8 - 2 * inner) + (64.8 - 2 * inner))
    assert abs(volume_with(r) - volume_with(0.0) - edge_strip(r) * straight) < 8 * edge_strip(r) * math.pi / 2 * (5.6 + 1.8)


def test_bevels_of_a_round_prism_are_cones(workshop: Workshop) -> None:
    pin = Prism(disc(3, 4, 5), (), 1.0, 9.0, bottom_bevel=0.5, top_bevel=1.0)
    frustum = lambda a, b, h: math.pi * h / 3 * (a * a + a * b + b * b)  # noqa: E731
    expected = frustum(4.5, 5, 0.5) + math.pi * 25 * 6.5 + frustum(5, 4, 1.0)
    body = workshop.build(piece_of(Add((pin,))))
    assert body.volume == pytest.approx(expected, rel=1e-9)
    by_cones = (Cone((3, 4), 1.0, 1.5, 4.5, 5.0), Cone((3, 4), 1.5, 8.0, 5.0, 5.0), Cone((3, 4), 8.0, 9.0, 5.0, 4.0))
    assert workshop.build(piece_of(Add(by_cones))).volume == pytest.approx(expected, rel=1e-9)


def test_a_cone_may_have_a_point(workshop: Workshop) -> None:
    body = workshop.build(piece_of(Add((Cone((0, 0), 0.0, 6.0, 5.0, 0.0),))))
    assert body.volume == pytest.approx(math.pi * 25 * 6 / 3, rel=1e-9)


def test_a_rounded_entry_on_a_treated_loop(workshop: Workshop) -> None:
    """A round hole R 10 through a plate, its mouth at the bed rounded with 3: Pappus, and the mesh flares to R 13."""
    steps = (Add((plate(),)), Cut((Prism(disc(0, 0, 10), (), -1.0, 7.0),)))
    sharp = workshop.build(piece_of(*steps)).volume
    body = workshop.build(piece_of(*steps, TreatLoop(disc(0, 0, 10), 0.0, "round", 3.0)))
    assert sharp - body.volume == pytest.approx(ring_strip(3.0, 10, False), rel=1e-7) and not body.remarks
    mouth = body.mesh.vertices[(np.abs(body.mesh.vertices[:, 2]) < 1e-6) & (np.hypot(*body.mesh.vertices[:, :2].T) < 20)]
    assert np.allclose(np.hypot(*mouth[:, :2].T), 13.0, atol=1e-5)


def test_a_bevel_then_a_round_where_it_ends(workshop: Workshop) -> None:
    window = rounded(-38, -21, 38, 21, 6)
    steps = (Add((plate(),)), Cut((Prism(window, (), -1.0, 7.0),)), TreatLoop(window, 0.0, "bevel", 2.0))
    bevelled = workshop.build(piece_of(*steps))
    rounded_off = workshop.build(piece_of(*steps, TreatLoop(rounded(-40, -23, 40, 23, 8), 0.0, "round", 1.5)))
    # Across an edge of 135 degrees a round of radius r takes (tan(22.5) - 22.5 in radians) r^2 per length.
    strip = (math.tan(math.pi / 8) - math.pi / 8) * 1.5**2
    length = 2 * (64 + 30) + math.tau * 8
    assert bevelled.volume - rounded_off.volume == pytest.approx(strip * length, rel=0.01)


def test_first_layer_chamfer_takes_every_sharp_mouth_and_leaves_leaning_ones(workshop: Workshop) -> None:
    """Outer edge, a hole and a blind pocket are chamfered; a 90 degree countersink and a rounded entry are not."""
    c = 0.4
    holes = (Cut((Prism(disc(-50, -30, 3.3), (), -1.0, 7.0), Prism(disc(50, -30, 4), (), -1.0, 2.0))),
             Cut((Cone((50, 30), -0.01, 3.3, 6.61, 3.3), Cone((50, 30), -1.0, 7.0, 3.3, 3.3))),
             Cut((Prism(disc(0, 0, 10), (), -1.0, 7.0),)), TreatLoop(disc(0, 0, 10), 0.0, "round", 3.0))
    before = workshop.build(piece_of(Add((plate(),)), *holes)).volume
    body = workshop.build(piece_of(Add((plate(),)), *holes, ChamferFirstLayer(c)))
    ring_at = lambda r: c * c / 2 * math.tau * (r + c / 3)  # noqa: E731
    outer = c * c / 2 * (2 * (132 + 80) + math.tau * (8 - c / 3))
    assert before - body.volume == pytest.approx(outer + ring_at(3.3) + ring_at(4), rel=1e-6) and not body.remarks


def test_a_bed_side_of_two_faces_is_chamfered_on_both(workshop: Workshop) -> None:
    """A channel open to the bed parts the bed face in two: rim and island."""
    c = 0.4
    channel = Prism(rounded(-30, -20, 30, 20, 6), (rounded(-20, -10, 20, 10, 4),), -1.0, 3.0)
    before = workshop.build(piece_of(Add((plate(),)), Cut((channel,)))).volume
    body = workshop.build(piece_of(Add((plate(),)), Cut((channel,)), ChamferFirstLayer(c)))
    loops = ((132 + 80, 8 - c / 3), (48 + 28, 6 + c / 3), (32 + 12, 4 - c / 3))
    strips = sum(2 * straight + math.tau * r for straight, r in loops)
    assert before - body.volume == pytest.approx(c * c / 2 * strips, rel=1e-6) and not body.remarks


@pytest.mark.parametrize("angle_deg", [0.0, 90.0])
def test_letters_on_the_underside_read_right_from_below(workshop: Workshop, angle_deg: float) -> None:
    """An L: its stem stands where the word begins and its foot lies at the bottom, seen from below with the direction kept:
    the bottom is then to the left of the direction as seen from above."""
    sunk = Deboss((Lettering("L", (0.0, 0.0), 10.0, angle_deg),), 0.0, 0.6, True)
    body = workshop.build(piece_of(Add((plate(),)), sunk))
    roof = body.mesh.vertices[np.abs(body.mesh.vertices[:, 2] - 0.6) < 1e-6][:, :2]
    turn = math.radians(angle_deg)
    along = roof @ (math.cos(turn), math.sin(turn))
    left = roof @ (-math.sin(turn), math.cos(turn))
    assert left.max() == pytest.approx(5.0, abs=1e-3) and left.min() == pytest.approx(-5.0, abs=1e-3)
    foot, head = roof[left > 4.9], roof[left < -4.9]
    assert np.ptp(along[left > 4.9]) == pytest.approx(np.ptp(along), abs=1e-6), "the foot is as wide as the letter"
    assert along[left < -4.9].max() < 0 and len(foot) and len(head), "the head of the stem lies where the word begins"
    assert body.low[2] == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize(("steps", "words"), [
    ((Add((Prism(disc(3, 4, 5), (), 0.0, 2.0, top_round=2.5),)),), r"prism at \(3.0, 4.0\), z = 0 to 2: top_round of 2.5"),
    ((Add((Prism(rectangle(0, 0, 3, 9), (), 0.0, 5.0, top_round=1.6),)),), r"prism at \(0.0, 0.0\).*top_round of 1.6.*works"),
    ((Add((Prism(disc(0, 0, 5), (), 0.0, 2.0, bottom_bevel=-0.5),)),), "bottom_bevel of -0.5 mm"),
    ((Add((Prism((Line("z", (4, 5), (4, 5)), *rectangle(0, 0, 3, 9)), (), 0.0, 5.0),)),), r"z, s0.*\(4.0, 5.0\) makes no wire"),
    ((Add((Cone((1, 2), 3.0, 3.0, 4.0, 4.0),)),), r"cone at \(1.0, 2.0\)"),
    ((Add((plate(),)), TreatLoop(disc(7, 8, 9), 0.0, "round", 1.0)), r"loop at \(7.0, 8.0\), z = 0: the body has no edge"),
    ((Add((plate(),)), TreatLoop(plate().outer, 6.0, "round", 9.0)), r"loop at \(-66.0, -48.0\), z = 6.*cannot.*works"),
    ((Add((plate(),)), TreatLoop(plate().outer, 6.0, "curl", 1.0)), "give \"round\" or \"bevel\""),
])
def test_treatments_that_cannot_be_made_name_their_place(workshop: Workshop, steps: tuple[Step, ...], words: str) -> None:
    with pytest.raises(SolidError, match=words):
        workshop.build(piece_of(*steps))


def test_a_loop_that_is_partly_gone_is_remarked(workshop: Workshop) -> None:
    """A slot cuts the rim: the rest of the loop is bevelled, and the share is told."""
    slot = Cut((Prism(rectangle(-10, 40, 10, 60), (), -1.0, 7.0),))
    (remark,) = workshop.build(piece_of(Add((plate(),)), slot, TreatLoop(plate().outer, 6.0, "bevel", 0.5))).remarks
    assert "only 96%" in remark and "no bevel" in remark
