"""Cases for the fit checks, small enough to work by hand: a plate with holes for M6 bolts, with or without a lip.

The plate: holes in a row 100 mm apart or where told; PETG (expansion 70e-6 / K at most); outline with a scale known to 3e-4 and
one distance of 100 mm known to 0.05 mm.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

from afterpart.model.assembly import Build
from afterpart.model.case import Case
from afterpart.model.edges import Reference
from afterpart.model.feature import Chain, Feature, Hole, Lip, Sleeve
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Datum, Dimension, Line, Loop, Outline, Point
from afterpart.model.piece import Add, Piece, PrintTime, Prism
from afterpart.model.wishes import CoverWish, FitWish, PrinterWish, Trial, Wishes

PAIR = (("c1", (-50.0, 0.0), 6.4, "locates"), ("c2", (50.0, 0.0), 6.4, "locates"))


def coupon(undersize: float, scatter: float = 0.1, drawn: float = 6.4, count: int = 400) -> tuple[Trial, ...]:
    """So many holes measured that nothing but their undersize (known to scatter / sqrt(count)) and their scatter is told:
    sqrt(n / (n - 3)) a = scatter, with the misses a up and down in turn."""
    miss = scatter * math.sqrt((count - 3) / count)
    return tuple(Trial("clearance", drawn, "fits", printed=drawn - undersize + (miss if i % 2 else -miss)) for i in range(count))


def rectangle(width: float, height: float) -> Chain:
    """Four lines about the origin, counter-clockwise."""
    x, y = width / 2, height / 2
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    return tuple(Line(f"s{i}", a, b) for i, (a, b) in enumerate(zip(corners, (*corners[1:], corners[0]), strict=True)))


def plate(holes: tuple[tuple[str, Point, float, str], ...] = PAIR, lip: Lip | None = None, sleeve: float | None = None,
          fit: FitWish | None = None, trials: tuple[Trial, ...] = (), material: str = "PETG", edge: str = "flush",
          purpose: str = "bolt", unit: str = "mm", more: tuple[Feature, ...] = (), body: float = 0.0) -> Case:
    """The plate.  holes: id, place, diameter, role; sleeve: inside diameter of a metal sleeve in each; edge: fit of the cover;
    body: how far the cover's own edge lies inside the outline of 120 x 60."""
    features: list[Feature] = [Hole(i, at, d, 0.0, 5.0, purpose, "M6", True, role) for i, at, d, role in holes]
    if sleeve is not None:
        features += [Sleeve(i, at, sleeve, 9.0, 5.0, 5.0) for i, at, _, _ in holes]
    features += [lip] if lip is not None else []
    steps = (Add((Prism(rectangle(120.0 - 2 * body, 60.0 - 2 * body), (), 0.0, 5.0),)),)
    piece = Piece("cover", "cover", "cover", "A", steps, 5.0, (), PrintTime(0.0, 0.0, ""), features=(*features, *more),
                  material=material)
    wishes = Wishes(cover=CoverWish(fit=edge), fit=fit or FitWish(draws=40_000), trials=trials,
                    printer=PrinterWish(material=material))
    known = Dimension("d1", "distance", ("c1", "c2"), 100.0, 0.05, 100.0, 0.9, None, "inferred")
    outline = Outline(unit, Reference("rule", 10.0, 3e-4), Datum("", (0.0, 0.0), 0.0), (),
                      (Loop("outer", 1, rectangle(120.0, 60.0)),), (known,), ())
    return Case(Job("plate", (), wishes=wishes), outline, Build((piece,)))


def outer_lip(clearance: float) -> Lip:
    """A lip that hangs round a mating part of 120 x 60."""
    inner, outer = rectangle(120.0 + 2 * clearance, 60.0 + 2 * clearance), rectangle(123.2 + 2 * clearance, 63.2 + 2 * clearance)
    return Lip("outer", outer, inner, 5.0, 6.0, 1.6, clearance)


def pin_hole() -> Hole:
    """A hole that locates on something of the machine that is no bolt."""
    return Hole("c9", (0.0, 20.0), 5.0, 0.0, 5.0, "other", "", True, "locates")


def round_lip(clearance: float) -> Lip:
    """A lip that stands in the machine's round opening of 40 mm."""
    return Lip("c7", (Circle("", (0.0, 0.0), 20.0 - clearance),), (Circle("", (0.0, 0.0), 18.0 - clearance),), 5.0, 6.0, 2.0,
               clearance)


def fitted(case: Case, **changes: object) -> Case:
    """The case with keys of its [fit] table changed."""
    wishes = case.job.wishes
    return replace(case, job=replace(case.job, wishes=replace(wishes, fit=replace(wishes.fit, **changes))))
