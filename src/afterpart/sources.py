"""Where a number comes from.  This module imports nothing of ours but the words."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.words import tell, translated


@dataclass(frozen=True)
class Source:
    """A published place a value was taken from.

    title: standard, book or paper; edition: year or edition, empty when unknown; place: clause, table or page;
    from_memory: True when nobody has yet held the value against the document itself.
    """

    title: str
    edition: str = ""
    place: str = ""
    from_memory: bool = False

    def __str__(self) -> str:
        text = ", ".join(translated(x) for x in (self.title, self.edition, self.place) if x)
        return tell("{text} (from memory)", text=text) if self.from_memory else text
