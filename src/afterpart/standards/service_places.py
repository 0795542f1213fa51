"""How cold and how hot it may get where a part serves, where nobody has measured.

Limits: from memory, editable; a thermometer on the old part after an hour's work is worth more than any row.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.sources import Source
from afterpart.standards.table import Figure, marked, rows

SOURCE = Source("Usual temperatures by place of service", from_memory=True)

PLACES: dict[str, Figure] = {
    row["place"]: Figure(float(row["coldest_c"]), float(row["hottest_c"]), "degC", marked(SOURCE, row["mark"]))
    for row in rows("service_places.csv")}


def service_place(name: str) -> Figure:
    """Coldest and hottest service (degC) at a place.  Raises KeyError, listing the places."""
    if name not in PLACES:
        raise KeyError(f"unknown place of service {name!r}: known are {', '.join(PLACES)}")
    return PLACES[name]
