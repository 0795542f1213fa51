"""The key of a cover that fits wrongly: what is written, and a lug that never touches the machine's side of the lip."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import pytest

from afterpart.geometry.chain import gap
from afterpart.geometry.one_way import Motion, OneWay
from afterpart.model.feature import Lip
from afterpart.model.outline import Circle
from afterpart.model.piece import Add, Cone
from afterpart.model.wishes import CoverWish
from afterpart.parts.face_room import circle_chain
from afterpart.parts.one_way_key import OneWayKey, free_side, key_steps

TURN = Motion(False, 180.0, (0.0, 0.0), 0.1, 0.3, 0.0, False)
OVER = Motion(True, 90.0, (0.0, 0.0), 0.1, 0.3, 0.0, False)
HARMLESS = Motion(False, 180.0, (0.0, 0.0), 0.0, 0.3, 0.0, True)


def lip(of: str) -> Lip:
    return Lip(of, (Circle("", (0.0, 0.0), 30.0),), (Circle("", (0.0, 0.0), 28.4),), 6.0, 7.0, 1.6, 0.2)


@pytest.mark.parametrize(("ways", "words"), [(OneWay((TURN,)), ("", "TOP")), (OneWay((OVER,)), ("OUTSIDE", "")),
                                             (OneWay((TURN, OVER)), ("OUTSIDE", "TOP")), (OneWay((), True), ("", "TOP"))])
def test_the_words_say_what_could_go_wrong(ways: OneWay, words: tuple[str, ...]) -> None:
    key = key_steps(ways, CoverWish(), None)
    assert ("".join(key.words), key.top) == words and key.steps == () and [n.code for n in key.notes] == ["fits_wrongly"]
    assert all(m.words in key.notes[0].text for m in ways.wrong)


@pytest.mark.parametrize("ways", [None, OneWay(()), OneWay((HARMLESS,))])
def test_no_wrong_way_no_key(ways: OneWay | None) -> None:
    assert key_steps(ways, CoverWish(), lip("outer")) == OneWayKey()


@pytest.mark.parametrize(("of", "fit", "from_bed"), [
    ("outer", "flush", True), ("outer", "over", True), ("outer", "inside", False), ("s9", "flush", True)])
def test_the_lug_stands_on_the_free_side_and_prints_upwards(of: str, fit: str, from_bed: bool) -> None:
    made = lip(of)
    key = key_steps(OneWay((TURN,)), CoverWish(fit=fit), made)
    (step,) = key.steps
    assert isinstance(step, Add)
    (lug,) = step.prisms
    assert isinstance(lug, Cone) and lug.bottom_radius == lug.top_radius
    assert (lug.bottom, lug.top) == (0.0 if from_bed else made.bottom, made.top)
    free = free_side(made, fit)
    other = made.inner if free is made.outer else made.outer
    assert free is (made.inner if fit == "inside" or of != "outer" else made.outer)
    ring = circle_chain(lug.center, 2 * lug.bottom_radius)
    assert gap(ring, free).distance == 0.0 and gap(ring, other).distance > 0.1


def test_a_lug_is_only_for_turns() -> None:
    assert key_steps(OneWay((OVER,)), CoverWish(), lip("outer")).steps == ()
