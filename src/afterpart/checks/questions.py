"""The few questions whose answers would settle most of what could not be judged.

Words: a finding that is not judged names the job keys it *misses*; a *question* asks for the keys of one such finding that
are still unasked.  Questions are chosen one after another, each time the one that settles the most findings for every key it
asks for; a finding is settled when all its keys are asked, where of keys that stand in for each other (EITHER) one is enough.
Limits: answering may open further questions; a finding that left its range of validity misses nothing and is not asked about.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.finding import NOT_JUDGED, Finding
from afterpart.words import counted, entry, tell, together, translated

MOST_QUESTIONS = 3

WORDING: dict[str, str] = {"screws.outside": entry("the screw's outside diameter, by calliper"),
                           "screws.core": entry("the screw's core diameter between the threads, by calliper"),
                           "screws.pitch": entry("the screw's pitch: ten threads by calliper, divided by ten"),
                           "screws.length": entry("the screw's length under the head"),
                           "bolts.torque_n_m": entry("the torque you mean to use on the bolts"),
                           "bolts.transverse_load_n": entry("the force that shakes the cover across its bolts (its weight times "
                                                            "the shaking, a hose's pull)"),
                           "bolts.length": entry("the length of the bolts you have, under the head"),
                           "bolts.grip_in_machine": entry("the length of thread in the machine (run a bolt in by hand and "
                                                          "measure what stands out)"),
                           "machine.kind": entry("what machine it goes on"),
                           "machine.displacement_cm3": entry("the machine's swept volume"),
                           "machine.speed_rpm": entry("the machine's highest speed"),
                           "machine.flow_m3_per_h": entry("the air the machine draws"),
                           "machine.restriction_limit_pa": entry("the most its inlet may cost"),
                           "machine.gauge_pressure_kpa": entry("the pressure the seal must hold back"),
                           "machine.swallows": entry("whether what comes loose behind the cover gets into moving parts"),
                           "machine.media": entry("what is about the part: fuel, oil, water, food, mains, brake"),
                           "machine.clean_port": entry("the smallest width of the way from behind the cover into the moving "
                                                       "parts"), "filter.flow_m3_per_h": entry("the air that passes the filter"),
                           "service.temperature_c": entry("how hot the part gets (a thermometer on the old one after an hour's "
                                                          "work)"), "service.place": entry("where the part serves"),
                           "service.exposed": entry("what the part is exposed to: moisture, oil, fuel, uv, spray, stones"),
                           "service.hours": entry("the hours of service a year"),
                           "service.inlet_facing_deg": entry("which way the inlet looks: 0 down, 90 sideways, 180 up"),
                           "filter.face_velocity_limit_m_per_s": entry("the most the air may have at the foam's face, by its "
                                                                       "maker"),
                           "bolts.property_class": entry("the strength stamped on the bolts' heads"),
                           "seal.cord": entry("the diameter of the cord you have"),
                           "printer.material": entry("the material, by a name the tables know"),
                           "height.face": entry("the height of the face above the table"),
                           "height.room above": entry("the room above the face (heights.pdf)"),
                           "height.room below": entry("the room below the part (heights.pdf)"),
                           "height": entry("the heights of the card (heights.pdf)"),
                           "trial": entry("what the hole coupon showed")}
"""What to ask, by job key; other keys are asked for by their name alone."""

EITHER: dict[str, str] = {"service.place": "service.temperature_c"}
"""A key that stands in for a better one: where a finding misses both, the better one is asked for, the other offered."""


def questions(findings: tuple[Finding, ...], most: int = MOST_QUESTIONS) -> tuple[str, ...]:
    """At most `most` questions, the one that settles most findings first."""
    waiting = [_needed(finding.missing) for finding in findings if finding.verdict == NOT_JUDGED and finding.missing]
    told: list[str] = []
    asked: frozenset[str] = frozenset()
    while waiting and len(told) < most:
        best = max(sorted(set(waiting), key=sorted), key=lambda keys: _worth(keys - asked, asked, waiting))
        new = best - asked
        asked |= best
        settled = sum(keys <= asked for keys in waiting)
        waiting = [keys for keys in waiting if not keys <= asked]
        told.append(_question(tuple(sorted(new)), settled))
    return tuple(told)


def _needed(missing: tuple[str, ...]) -> frozenset[str]:
    """The keys without those that only stand in for another one that is missing too."""
    return frozenset(key for key in missing if EITHER.get(key) not in missing)


def _worth(new: frozenset[str], asked: frozenset[str], waiting: list[frozenset[str]]) -> float:
    """Findings settled for every key asked for."""
    return sum(keys <= asked | new for keys in waiting) / len(new)


def _question(keys: tuple[str, ...], settled: int) -> str:
    words = together(map(_asked_for, keys))
    asked = words[0].upper() + words[1:]
    return counted("{asked}: settles 1 finding.", "{asked}: settles {count} findings.", count=settled, asked=asked)


def _asked_for(key: str) -> str:
    words = f"{translated(WORDING[key])} ({key})" if key in WORDING else tell("the job key {key}", key=key)
    for other, better in EITHER.items():
        if better == key:
            words = tell("{asked}, or else {wording} ({other})", asked=words, wording=translated(WORDING[other]), other=other)
    return words
