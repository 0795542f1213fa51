"""Every size of a cover that cannot work, and everything that gets in each other's way: one error with key and place."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import pytest

from afterpart.errors import JobError
from afterpart.model.feature import BearingFace, Groove, Hole, Seat
from afterpart.model.job import Job, Shot
from afterpart.model.outline import Outline
from afterpart.model.piece import Piece
from afterpart.model.wishes import AddedHole, BoltWish, Change, CoverWish, InletWish, LipWish, Wishes
from afterpart.parts.cover import make_cover
from afterpart.parts.roles import assign_roles, kept_outline
from tests.parts import drawings
from tests.parts.cover_rooms import sealed, seated

PLAIN = CoverWish(thickness=6.0, first_layer_chamfer=0.0, one_way=False)
M6 = BoltWish(thread="M6")
LID = drawings.gauge_lid()
WINDOW = LID.design[5].segments[0].id
NO_WINDOW = kept_outline(LID, assign_roles(LID, Wishes(changes=(Change(WINDOW, "drop", ""),))))
EDGE_ONLY = replace(LID, design=LID.design[:1])


def cover(outline: Outline, groove: Groove | None = None, seat: Seat | None = None, **wishes: object) -> Piece:
    return make_cover(outline, Job("lid", (Shot("none.jpg"),), wishes=Wishes(**{"cover": PLAIN, **wishes})), groove, seat)


def vent(x: float, y: float, diameter: float = 4.0) -> tuple[AddedHole, ...]:
    return (AddedHole("vent", (x, y), diameter),)


@pytest.mark.parametrize(("size", "value", "words"), [
    ("thickness", 0.0, "cover.thickness: found 0 mm"), ("thickness", -2.0, "cover.thickness: found -2 mm"),
    ("thickness", math.nan, "cover.thickness: found nan"), ("floor", 0.0, "cover.floor: found 0 mm"),
    ("text_height", -1.0, "cover.text_height: found -1 mm"),
    ("first_layer_chamfer", 4.0, "cover.first_layer_chamfer: found 4 mm"),
    ("fit", "snug", "cover.fit: found 'snug'")])
def test_impossible_sizes_name_their_key(size: str, value: object, words: str) -> None:
    with pytest.raises(JobError, match=words):
        cover(LID, cover=replace(PLAIN, **{size: value}))


def test_a_groove_through_a_hole_or_through_the_floor() -> None:
    with pytest.raises(JobError, match=r"bolts.holes: hole c1 of 6.4 mm at \(-50.0, -30.0\) goes through the seal groove"):
        cover(NO_WINDOW, sealed(8.0), bolts=M6)
    with pytest.raises(JobError, match="cover.thickness: 6 mm under a seal groove 5.5 mm deep; at least 6.3 mm"):
        cover(EDGE_ONLY, sealed(20.0, depth=5.5))
    with pytest.raises(JobError, match=rf"opening {WINDOW} breaks into the seal groove at"):
        cover(replace(LID, design=(LID.design[0], LID.design[5])), sealed(26.0))


@pytest.mark.parametrize(("holes", "words"), [
    (vent(90.0, 0.0), r"hole vent of 4 mm at \(90.0, 0.0\) is not on the cover"),
    (vent(59.5, 0.0, 2.0), r"hole vent .* is not on the cover: it meets the edge at \(60.0, 0.9\)"),
    (vent(58.5, 0.0, 2.0), r"hole vent .* leaves 0.50 mm to the edge at \(60.0, 0.0\)"),
    (vent(0.0, -18.0), rf"hole vent .* breaks into opening {WINDOW} near"),
    (vent(0.0, -10.0), rf"hole vent .* breaks into opening {WINDOW} near"),
    (vent(0.0, -10.0, 48.0), rf"hole vent .* breaks into opening {WINDOW} near"),
    (vent(0.0, 20.0, 0.0), "hole vent has a diameter of 0 mm"),
    (vent(0.0, 20.0, -1.0), "hole vent has a diameter of -1 mm"),
    ((AddedHole("a", (30.0, 20.0), 4.0), AddedHole("b", (33.0, 20.0), 4.0)), "hole b .* breaks into hole a near")])
def test_added_holes_that_cannot_be(holes: tuple[AddedHole, ...], words: str) -> None:
    with pytest.raises(JobError, match=r"\[\[hole\]\]: " + words):
        cover(LID, holes=holes)


def test_a_hole_into_the_pocket_would_let_air_past_the_filter() -> None:
    with pytest.raises(JobError, match=r"hole vent at \(20.0, 15.0\) opens into the filter's pocket"):
        cover(NO_WINDOW, seat=seated(), holes=vent(20.0, 15.0))
    with pytest.raises(JobError, match="bolts.holes: hole c1 .* opens into the filter's pocket"):
        cover(replace(LID, design=(LID.design[0], drawings.hole("c1", -41, 0, 6.6), LID.design[2])), seat=seated(), bolts=M6)


def test_a_head_more_over_than_on_the_face_is_refused_and_one_a_little_over_is_told() -> None:
    wide = replace(M6, washer="ISO 7093")
    with pytest.raises(JobError, match=r"bolts.head: what presses round hole c2 at \(50.0, -30.0\).*its ring over hole vent"):
        cover(LID, bolts=wide, holes=vent(50.0, -23.5, 3.0))
    near = replace(LID, design=(LID.design[0], drawings.hole("c1", -54.0, 0.0, 6.6), drawings.hole("c2", 40.0, 0.0, 6.6)))
    notes = [n.text for n in cover(near, bolts=wide).notes if n.code == "over_edge"]
    assert len(notes) == 1 and "hole c1" in notes[0] and f"{17.57 / 2 - 6:.1f} mm over the edge" in notes[0]


def test_the_room_round_a_bearing_face_is_measured_to_the_nearest_edge() -> None:
    faces = [f for f in cover(NO_WINDOW, bolts=M6).features if isinstance(f, BearingFace)]
    assert [f.room for f in faces] == pytest.approx([20.0] * 4), "10 mm to two edges of the lid"


def test_counterbores_under_the_groove_or_out_at_the_side() -> None:
    sunk = replace(M6, seat="counterbore", head="ISO 7380-1")
    thick = replace(PLAIN, thickness=10.0)
    with pytest.raises(JobError, match=r"bolts.seat: the seat of 11.5 mm round hole c1 .* leaves 0.5 mm under the seal groove"):
        cover(NO_WINDOW, sealed(12.0, depth=4.0), cover=thick, bolts=sunk)
    assert cover(NO_WINDOW, sealed(12.0, depth=4.0), cover=replace(PLAIN, thickness=10.5), bolts=sunk)
    near = replace(LID, design=(LID.design[0], drawings.hole("c1", -54.0, 0.0, 6.6), drawings.hole("c2", 40.0, 0.0, 6.6)))
    with pytest.raises(JobError, match=r"bolts.seat: the seat of 11.5 mm round hole c1 .* leaves 0.2 mm to the edge"):
        cover(near, cover=thick, bolts=sunk)


def test_an_insert_with_too_little_plastic_round_it() -> None:
    near = replace(LID, design=(LID.design[0], drawings.hole("c1", -55.0, 0.0, 4.5), drawings.hole("c2", 40.0, 0.0, 4.5)))
    thick, insert = replace(PLAIN, thickness=12.0), BoltWish(thread="M4", insert=True)
    with pytest.raises(JobError, match=r"bolts.insert: the insert in hole c1 at \(-55.0, 0.0\) .* the edge lies nearer at \(-60"):
        cover(near, cover=thick, bolts=insert)
    assert cover(replace(near, design=(near.design[0], near.design[2])), cover=thick, bolts=insert)


def test_a_lip_over_a_hole_and_an_entry_into_a_hole() -> None:
    with pytest.raises(JobError, match=r"lip.thickness: .*stands over hole c1 at \(-50.0, -30.0\)"):
        cover(LID, cover=replace(PLAIN, fit="inside"), lip=LipWish(thickness=12.0), bolts=M6)
    keep = InletWish(opening="keep", bellmouth=4.0)
    with pytest.raises(JobError, match="hole vent .* breaks into the entry for the air near"):
        cover(LID, cover=replace(PLAIN, thickness=8.0), inlet=keep, holes=vent(0.0, -20.5, 3.0))
    assert cover(LID, cover=replace(PLAIN, thickness=8.0), inlet=replace(keep, bellmouth=0.0), holes=vent(0.0, -20.5, 3.0))


def test_the_pocket_and_the_ledge() -> None:
    with pytest.raises(JobError, match="cover.floor: the filter's ledge lies at 6 mm in a cover 6 mm"):
        cover(NO_WINDOW, seat=replace(seated(), ledge=6.0))
    across = replace(LID, design=(*LID.design[:5], drawings.hole("c9", 40, 0, 10)))
    with pytest.raises(JobError, match=r"filter.land: the pocket breaks into the old opening c9 at"):
        cover(across, seat=seated())
    inside = cover(replace(LID, design=(*LID.design[:5], drawings.hole("c9", 0, 0, 10))), seat=seated())
    assert "opening_replaced" in [n.code for n in inside.notes]
    assert [f.id for f in inside.features if isinstance(f, Hole)] == ["c1", "c2", "c3", "c4"]
