"""Corners of a groove for a round cord: too tight, and the cord lifts off the floor and thins on the outside of the bend."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.checks.groove_limits import groove_of
from afterpart.checks.judge import judged, strongest
from afterpart.formulas.seal import least_corner_radius, preferred_corner_radius
from afterpart.model.case import Case
from afterpart.model.feature import Groove
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.outline import Arc, Circle
from afterpart.standards.orings import CORDS, CORNER_SOURCE, LEAST_CORNER_CORDS
from afterpart.words import entry, paragraph, tell

FORMULA = entry("r >= 3 d")
SEVERITY = 7


def cord_corner(case: Case) -> tuple[Finding, ...]:
    """Tightest corner of the groove's inner wall against three cords, six to be preferred.

        r >= 3 d      r radius of the wall inside the bend, d cord diameter [mm]

    u: of the traced radius where the corner is one of the outline's, else of the outline's scale.  Source: CORNER_SOURCE.
    """
    groove = groove_of(case)
    if groove is None or not groove.cord:
        return ()
    least, preferred, at = least_corner_radius(groove.cord), preferred_corner_radius(groove.cord), groove.corner_at
    u = _corner_u(case, groove)
    told = tell("The tightest corner, at ({at:.1f}, {at_2:.1f}), has R {corner:.2f} mm; a cord of {cord:g} mm wants {least:.2f} "
                "mm at least.", at=at[0], at_2=at[1], corner=groove.corner, cord=groove.cord, least=least)
    if groove.corner < least:
        told = paragraph(told, tell('Take a thinner cord, a printed ring (seal.kind = "ring") or a path of your own '
                                    '(seal.path = "outline").'))
    return (judged("cord_corner", tell("corner at ({at:.1f}, {at_2:.1f})", at=at[0], at_2=at[1]), groove.corner, "mm",
                   Limit(low=least), source=str(CORNER_SOURCE), formula=FORMULA, advice=told, u=u, severity=SEVERITY,
                   doubt=tell("{preferred:.2f} mm (six cords) is preferred.", preferred=preferred) if groove.corner < preferred
                   else "",
                   inputs=(Input(tell("corner"), groove.corner, "mm", tell("inner wall of the groove as built"), u),
                           Input(tell("cord"), groove.cord, "mm", tell("seal.cord, groove as built"))),
                   sensitivity=strongest(lambda corner, cord: corner - LEAST_CORNER_CORDS * cord,
                                         {"corner": groove.corner, "cord": groove.cord}), suggestions=_thinner(groove)),)


def _corner_u(case: Case, groove: Groove) -> float:
    ids = {s.id for s in groove.inner if isinstance(s, Arc | Circle) and math.isclose(s.radius, groove.corner, rel_tol=1e-3)}
    traced = [d.u for d in case.outline.dimensions if d.kind == "radius" and ids.intersection(d.of)]
    return max(traced, default=case.outline.reference.relative_u * groove.corner)


def _thinner(groove: Groove) -> tuple[Suggestion, ...]:
    """The thickest cord of the table that the corner suits; () when this one does or none does."""
    suits = [c.diameter for c in CORDS if least_corner_radius(c.diameter) <= groove.corner]
    if groove.corner >= least_corner_radius(groove.cord) or not suits:
        return ()
    return (Suggestion("seal.cord", groove.cord, max(suits), tell("the thickest cord that this corner suits")),)
