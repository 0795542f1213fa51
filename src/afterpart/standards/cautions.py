"""The cautions in plain words, and above which pressure a part counts as a pressure vessel's.

Limits: the words are judgement; what a country's codes ask for is not listed, they come first in any case.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.sources import Source
from afterpart.standards.table import rows
from afterpart.words import entry

SOURCE = Source("Usual cautions of the trade, in the words of this project", from_memory=True)
VESSEL_SOURCE = Source("Directive 2014/68/EU on pressure equipment", "2014", "article 1: above 0.5 bar gauge", from_memory=True)

VESSEL_KPA = 50.0
"""Gauge pressure above which a part is declined (VESSEL_SOURCE)."""

DEFERS = entry("Local codes, the machine's own instructions and licensed practice come first.")

DECLINED_WORDS: dict[str, tuple[str, ...]] = {"brake words": ("brake", "brakes", "braking", "steering"),
                                              "pressure words": ("boiler", "autoclave", "pressure vessel",
                                                                 entry("pressure cooker"), entry("air receiver"),
                                                                 entry("gas bottle"), entry("gas cylinder"))}
"""Words of a job that name a declined use, by the key of their caution."""


@dataclass(frozen=True)
class Wording:
    """One row: danger in a few words, text in plain words, declined: the use is refused."""

    key: str
    danger: str
    declined: bool
    text: str


WORDINGS: dict[str, Wording] = {
    row["key"]: Wording(row["key"], row["danger"], row["declined"] == "yes", row["text"]) for row in rows("cautions.csv")}


def wording(key: str) -> Wording:
    """The caution of this key.  Raises KeyError, listing the keys."""
    if key not in WORDINGS:
        raise KeyError(f"unknown caution {key!r}: known are {', '.join(WORDINGS)}")
    return WORDINGS[key]
