"""Uses that are declined in plain words: pressure vessels, and parts that brake or steer."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re

from afterpart.model.case import Case
from afterpart.model.finding import Caution
from afterpart.standards.cautions import DECLINED_WORDS, DEFERS, VESSEL_KPA, wording
from afterpart.words import paragraph, translated


def declined_uses(case: Case) -> tuple[Caution, ...]:
    """Cautions with declined = True; () where the job names no such use.

    Declined are: a pressure above VESSEL_KPA behind the part, whatever its seal; a job whose machine's media hold "brake"; a
    name of part or machine with one of DECLINED_WORDS, whole words only.
    Limits: only what the job tells is seen; a use that is not told is the maker's to judge.  Source: VESSEL_SOURCE."""
    wishes = case.job.wishes
    keys = []
    if wishes.machine.gauge_pressure_kpa is not None and wishes.machine.gauge_pressure_kpa > VESSEL_KPA:
        keys.append("pressure vessel")
    if "brake" in wishes.machine.media:
        keys.append("brake")
    named = " ".join((case.job.name, wishes.cover.called if wishes.cover else "", wishes.machine.kind)).lower()
    keys += [key for key, words in DECLINED_WORDS.items() if any(re.search(rf"\b{word}\b", named) for word in words)]
    return tuple(Caution(translated(w.danger),
                         paragraph(translated(w.text).replace("{limit}", f"{VESSEL_KPA:g}"), translated(DEFERS)), True)
                 for w in map(wording, keys))
