"""The table about the mating part: how its face was photographed.

Its photograph is a `[[photo]]` with shows = "mate".
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pydantic import field_validator

from afterpart.errors import UsageError
from afterpart.job.typed import Keys, defaults_of
from afterpart.model.mate import WAYS, MateWish

SOFT = ("gasket", "old gasket", "seal")
"""What makers take for a gauge, and is none."""

_wish = defaults_of(MateWish)


class MateKeys(Keys):
    """`[mate]`."""

    way: str = _wish("way", "how its face is shown: " + "; ".join(f"{way}: {what}" for way, what in WAYS.items())
                     + ". A used soft gasket is never a gauge: it has flowed and shrunk")

    @field_validator("way")
    @classmethod
    def _known(cls, value: str) -> str:
        if value in SOFT:
            raise UsageError(f"way: found {value!r}, expected {', '.join(WAYS)}. A used soft gasket is never a gauge: it has "
                             "flowed under the bolts and shrunk since. Photograph the face it lay on, or print "
                             "the inked face on paper.")
        if value not in WAYS:
            raise UsageError(f"way: found {value!r}, expected {', '.join(WAYS)}. Choose one of these.")
        return value
