"""The air's way: which opening it is, a bellmouth that prints, and what cannot be."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

import pytest

from afterpart.errors import JobError
from afterpart.geometry.chain import contains, gap, polygon_chain
from afterpart.model.feature import Chain, Seat
from afterpart.model.outline import Circle
from afterpart.model.wishes import InletWish
from afterpart.parts.inlet import LIP_LEFT, AirWay, lay_air_way
from tests.parts import drawings

WINDOW: Chain = drawings.rounded_rectangle(-20, -10, 20, 10, 4, "opening", 20).segments
ROUND: Chain = (Circle("c7", (30.0, 0.0), 4.0),)
POCKET: Chain = drawings.rounded_rectangle(-40, -25, 40, 25, 5, "outer", 40).segments
OPEN: Chain = drawings.rounded_rectangle(-34, -19, 34, 19, 3, "outer", 50).segments
SEAT = Seat(POCKET, 3.0, OPEN, (), (), 0.0, 5.0, 6.0)
OPENINGS = {"s20": WINDOW, "c7": ROUND}
IDS = {"s20": "s20", "s22": "s20", "c7": "c7"}


def way(wish: InletWish | None, seat: Seat | None = None, thickness: float = 9.0,
        openings: dict[str, Chain] | None = None) -> AirWay:
    found = lay_air_way(wish, OPENINGS if openings is None else openings, IDS, seat, thickness)
    assert found is not None
    return found


def test_without_a_table_the_seats_opening_is_taken_or_none() -> None:
    assert lay_air_way(None, OPENINGS, IDS, None, 9.0) is None
    made = way(None, SEAT)
    assert made.opening.chain == OPEN and (made.opening.bottom, made.opening.top) == (0.0, 3.0) and made.steps == ()


def test_keep_takes_the_named_opening_through_the_whole_cover() -> None:
    made = way(InletWish(opening="keep", of="s22"))
    assert made.key == "s20" and made.opening.top == 9.0
    assert way(InletWish(opening="keep", of="c7")).opening.chain == ROUND
    assert way(InletWish(opening="keep")).key == "s20", "the only opening that is not round"


def test_a_kept_opening_must_lie_inside_the_seat_with_its_rim() -> None:
    assert way(InletWish(opening="keep", of="s20"), SEAT).opening.top == SEAT.ledge
    with pytest.raises(JobError, match="inlet.of: opening c7 leaves .* of ledge"):
        way(InletWish(opening="keep", of="c7"), Seat(POCKET, 3.0, OPEN, (), (), 0.0, 8.0, 6.0))
    far = {"c7": (Circle("c7", (38.0, 0.0), 4.0),)}
    with pytest.raises(JobError, match=r"inlet.of: opening c7 leaves the filter's pocket at \("):
        way(InletWish(opening="keep", of="c7"), SEAT, openings=far)


@pytest.mark.parametrize("radius", [0.5, 1.5, 2.4])
def test_a_bellmouth_is_a_quarter_circle_whose_lower_half_is_its_45_degree_tangent(radius: float) -> None:
    """Closed form: the tangent at 45 degrees to a circle about (R, R) meets the wall and the face at (2 - sqrt 2) R."""
    made = way(InletWish(bellmouth=radius), SEAT)
    bevel, round_ = made.steps
    s = (2 - math.sqrt(2)) * radius
    assert (bevel.kind, bevel.z, bevel.size) == ("bevel", 0.0, pytest.approx(s))
    assert (round_.kind, round_.z, round_.size) == ("round", pytest.approx(s), radius)
    touch = radius * (1 - math.sqrt(0.5))
    assert math.hypot(touch - radius, touch - radius) == pytest.approx(radius) and 2 * touch == pytest.approx(s)
    assert s + radius * math.tan(math.radians(22.5)) == pytest.approx(radius), "the round ends R above the bed"
    assert gap(made.entry, OPEN).distance == pytest.approx(s) and contains(made.entry, OPEN)
    assert made.opening.bellmouth == radius and not made.notes


def test_a_bellmouth_higher_than_the_floor_allows_is_reduced_and_said_so() -> None:
    made = way(InletWish(bellmouth=4.0), SEAT)
    assert made.opening.bellmouth == pytest.approx(SEAT.ledge - LIP_LEFT)
    assert [n.code for n in made.notes] == ["bellmouth_reduced"] and "4.6 mm" in made.notes[0].text
    assert way(InletWish(opening="keep", of="s20", bellmouth=4.0)).opening.bellmouth == 4.0, "without a seat all of it fits"


def test_sharp_corners_cannot_be_rounded() -> None:
    sharp = {"s20": polygon_chain([(0, 0), (10, 0), (10, 10), (0, 10)])}
    with pytest.raises(JobError, match=r"inlet.bellmouth: the opening has a sharp corner at \("):
        way(InletWish(opening="keep", of="s20", bellmouth=1.0), openings=sharp)


@pytest.mark.parametrize(("wish", "seat", "words"), [
    (InletWish(bellmouth=-1.0), SEAT, "inlet.bellmouth: found -1"), (InletWish(bellmouth=math.inf), SEAT, "inlet.bellmouth"),
    (InletWish(), None, 'inlet.opening = "seat": the job has no'),
    (InletWish(opening="drill"), SEAT, "inlet.opening: found 'drill'"),
    (InletWish(opening="keep", of="s99"), None, "inlet.of: found 's99'.*s20, c7"),
    (InletWish(bellmouth=1.0), Seat(POCKET, 0.9, OPEN, (), (), 0.0, 5.0, 6.0), "inlet.bellmouth: .*cover.floor at least")])
def test_what_cannot_be_names_its_key(wish: InletWish, seat: Seat | None, words: str) -> None:
    with pytest.raises(JobError, match=words):
        way(wish, seat)
