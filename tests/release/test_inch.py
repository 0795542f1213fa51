"""Lengths in inches: an inch is 25.4 mm exactly (international yard and pound agreement, 1959); limits are rounded inward."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import random
import re
from fractions import Fraction

import pytest

from afterpart.release.lengths import (
    Length,
    in_inches,
    inch_most,
    inward_inches,
    measured_in,
    number_text,
    unit_word,
)
from afterpart.release.limits import SizeLimits, size_text
from afterpart.release.words import word

INCH = Fraction(254, 10)


def printed_limits(text: str) -> tuple[Fraction, Fraction, Fraction]:
    """Size, lowest and highest that a text like "0.260 ±0.004" or "0.142 +0.007 / -0.008" allows, in its own unit, exactly."""
    if "±" in text:
        size, stray = (Fraction(part) for part in text.split("±"))
        return size, size - stray, size + stray
    told = re.fullmatch(r"(\S+) (\S+) / (\S+)", text)
    assert told, text
    size, up, down = (Fraction(part) for part in told.groups())
    return size, size + down, size + up


def test_mm_are_said_as_before_and_inches_end_where_they_end() -> None:
    assert not in_inches() and number_text(6.6) == "6.6" and unit_word() == "mm"
    with measured_in("inch"):
        assert in_inches() and unit_word() == "in"
        with measured_in("mm"):
            assert number_text(25.4) == "25.4"
        assert number_text(25.4) == "1.000"
    assert not in_inches() and f"{Length(12.3456):.1f} {Length(3.0):g}" == "12.3 3"


def test_the_unit_ends_with_an_error_too() -> None:
    with pytest.raises(KeyError), measured_in("inch"):
        word("drawing", "no_such_key")
    assert not in_inches()
    with pytest.raises(ValueError, match="cubit"), measured_in("cubit"):
        pass


@pytest.mark.parametrize(("mm", "text"), [(25.4, "1.000"), (12.7, "0.500"), (6.35, "0.250"), (254.0, "10.000"), (0.0, "0.000")])
def test_whole_and_half_inches_come_out_exactly(mm: float, text: str) -> None:
    with measured_in("inch"):
        assert number_text(mm) == text


def test_three_decimals_and_four_where_the_mm_have_three() -> None:
    with measured_in("inch"):
        assert f"{Length(80.017):.3f}" == "3.1503" and f"{Length(80.02):.2f}" == "3.150" and f"{Length(5.0):g}" == "0.197"


def test_inch_limits_allow_nothing_that_the_mm_limits_forbid() -> None:
    """In exact arithmetic, against the exact mm limits and against those that the mm papers print."""
    draw = random.Random(7)
    decimals_seen = set()
    for _ in range(3000):
        nominal = round(draw.uniform(0.4, 300.0), draw.choice((1, 2, 3, 4)))
        up, down = draw.uniform(0.02, 1.5), draw.choice((0.0, draw.uniform(0.02, 1.5)))
        limits = SizeLimits(nominal - down, nominal + up, "drawn at random")
        with measured_in("inch"):
            text = size_text(nominal, limits)
        size, low, high = printed_limits(text)
        decimals = len(text.split()[0].partition(".")[2])
        decimals_seen.add(decimals)
        dust = Fraction(1, 10**8)
        assert low <= high, text
        assert low * INCH >= Fraction(limits.low) - dust and high * INCH <= Fraction(limits.high) + dust, text
        printed = [Fraction(f"{v:.2f}") for v in (limits.low, limits.high)]
        assert low * INCH >= printed[0] - dust and high * INCH <= printed[1] + dust, text
        assert abs(size * INCH - Fraction(nominal)) <= INCH / 2 / 10**decimals + dust, text
    assert decimals_seen == {3, 4}


def test_no_more_than_a_tenth_of_the_room_is_lost_to_three_decimals() -> None:
    draw = random.Random(11)
    for _ in range(1000):
        low = round(draw.uniform(0.5, 200.0), 2)
        high = low + round(draw.uniform(0.05, 2.0), 2)
        least, most, decimals = inward_inches(low, high)
        lost = (high - low) / 25.4 - (most - least)
        assert -1e-9 <= lost <= max(0.1 * (high - low) / 25.4, 2e-4 if decimals == 4 else 0.0) + 1e-9


def test_limits_that_are_whole_thousandths_of_an_inch_stay_as_they_are() -> None:
    with measured_in("inch"):
        assert size_text(25.4, SizeLimits(25.4 - 1.27, 25.4 + 1.27, "")) == "1.000 ±0.050"
        assert size_text(2.54, SizeLimits(2.54, 3.81, "")) == "0.100 +0.050 / 0"


def test_a_position_zone_is_never_widened() -> None:
    for value in (0.005 * k for k in range(1, 400)):
        assert Fraction(inch_most(value)) * INCH <= Fraction(value) + Fraction(1, 10**8)


def test_a_size_without_limits_and_one_in_mm() -> None:
    assert size_text(6.6, None) == "6.6" and size_text(6.6, SizeLimits(6.49, 6.71, "")) == "6.6 ±0.11"
    with measured_in("inch"):
        assert size_text(6.6, None) == "0.260"


def test_what_the_bars_may_measure_lies_within_the_mm_words() -> None:
    """100 mm within 0.2 %, both times."""
    least, most = (float(part) for part in word("guide", "zero_good").split(" to "))
    low, high = (float(part) for part in word("guide", "zero_good_inch").removesuffix(" in").split(" to "))
    assert least <= 25.4 * low < 100.0 < 25.4 * high <= most
    assert word("outline", "bar_length_inch") == f"100 mm ({100 / 25.4:.3f} in)"
