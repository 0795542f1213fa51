"""The product of severity, occurrence and detection, and that it never ranks alone.

Sources: a reliability tool's support page (S x O x D, each 1 to 10: 1 to 1000); IEC 60812:2018 discourages cut-offs of the
product (read at second hand).  The action priority table of AIAG and VDA could not be read and is not used.  Tolerance: none.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from itertools import product

from afterpart.formulas.failure_modes import priority_number, ranking, reading

MARKS = range(1, 11)


def test_ends_of_the_product_as_printed() -> None:
    numbers = [priority_number(*marks) for marks in product(MARKS, repeat=3)]
    assert (min(numbers), max(numbers)) == (1, 1000) and priority_number(9, 2, 3) == 54


def test_a_small_product_of_a_grave_failure_ranks_before_a_large_one_of_a_nuisance() -> None:
    """Severity 9 with 1 and 1 (9) before severity 3 with 10 and 10 (300), and never read as low."""
    assert priority_number(9, 1, 1) < priority_number(3, 10, 10)
    assert ranking(9, 1, 1) > ranking(3, 10, 10)
    assert reading(9, 1, 1) != "low"
