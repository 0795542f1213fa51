"""What a seal may be asked to keep back, and what is refused.

Words: *dust* also covers air under 10 kPa; *liquid* means a liquid that stands against the seal with no more than its own head;
*pressure* is anything beyond, and is refused.
Limits: says what is drawn and what is not; whether a drawn seal is good enough is for the checks and a trial.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.errors import JobError
from afterpart.model.wishes import DUTIES, SealWish
from afterpart.words import entry, tell, translated

REFUSAL = entry('seal.duty = "pressure": refused.  No seal that holds pressure is drawn here, whatever its groove: a printed '
                "cover creeps under load, its face leaks along its layers, and a seal or a cover that lets go can injure.  Have "
                "the joint designed and tested by a licensed practice under the codes that hold where you are.  For dust, "
                'or air under 10 kPa, set seal.duty = "dust"; for a liquid without pressure "liquid"')


def refuse_what_cannot_be_sealed(seal: SealWish) -> None:
    """JobError: the duty is pressure, or a word that is no duty."""
    if seal.duty == "pressure":
        raise JobError(translated(REFUSAL))
    if seal.duty not in DUTIES:
        raise JobError(tell('seal.duty: found "{duty}", expected one of {duties}', duty=seal.duty, duties=", ".join(DUTIES)))


def refuse_sizes(seal: SealWish) -> None:
    """JobError naming every size of the wish that is zero, negative or beyond what a seal can be, one a line."""
    found = []
    for name in ("cord", "width", "thickness", "offset"):
        value = getattr(seal, name)
        if value is not None and not 0 < value < 1000:
            found.append(tell("seal.{name}: found {value:g} mm, expected more than 0", name=name, value=value))
    for name, high in (("squeeze", 0.6), ("fill", 1.0)):
        value = getattr(seal, name)
        if value is not None and not 0 < value < high:
            found.append(tell("seal.{name}: found {value:g}, expected a share above 0 and below {high:g}", name=name, value=value,
                              high=high))
    if found:
        raise JobError("\n".join(found))
