"""Cases for the checks of seal and clamp load: a round lid whose figures can be worked by hand, and ways to change it.

The lid: eight millimetres thick, radius 60; groove on a circle of radius 40 for a cord of 2.65 mm, 3.8 wide and 2.0 deep; four
M6 8.8 under ISO 7093 washers on a circle of radius 50; PETG in layers of 0.2 mm.  Its seal is 2 pi 40 = 251.33 mm long, and each
bolt holds a quarter of it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

from afterpart.model.assembly import Assembly, Build, Item
from afterpart.model.case import Case
from afterpart.model.edges import Reference
from afterpart.model.feature import BearingFace, Groove, Hole, PrintedSeal, Sleeve
from afterpart.model.finding import Finding
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Datum, Outline
from afterpart.model.piece import Piece, PrintTime
from afterpart.model.wishes import BoltWish, CoverWish, PrinterWish, SealWish, ServiceFacts, Wishes
from afterpart.standards.fasteners import washer

RADIUS = 40.0
LENGTH = 2.0 * math.pi * RADIUS
QUARTER = LENGTH / 4.0
PLACES = ((50.0, 0.0), (0.0, 50.0), (-50.0, 0.0), (0.0, -50.0))


def groove(cord: float = 2.65, width: float = 3.8, depth: float = 2.0, height: float | None = None) -> Groove:
    """A groove on the circle."""
    inner, outer = RADIUS - width / 2, RADIUS + width / 2
    return Groove((_circle(RADIUS),), (_circle(outer),), (_circle(inner),), width, depth, 0.3, 8.0, cord,
                  cord if height is None else height, inner, (inner, 0.0), 60.0 - outer, inner, "dust", "table", (outer, 0.0),
                  (inner, 0.0))


def printed(section: str = "bead", **changes: object) -> PrintedSeal:
    """A printed seal on the circle: a bead 3.0 wide and 2.4 high with a crown of R 1.3 in a channel 2.0 deep."""
    bead = PrintedSeal(section, (_circle(RADIUS),), 3.0, 2.4, 6.4, LENGTH, 0.4, 3.6, 2.0, 1 / 6, 0.9, 70.0, "dust")
    return replace(bead, **changes)


def lid(seal: SealWish | None = None, channel: Groove | None = None, ring: PrintedSeal | None = None, thread: str = "M6",
        under: str = "ISO 7093", hole: float = 6.6, sleeve: tuple[float, float] | None = None, ring_length: float = LENGTH,
        **tables: object) -> Case:
    """The lid.  seal None: none; channel None: the cord's groove where there is a cord; sleeve: inside and outside diameter;
    tables: other tables of the wishes."""
    bolts = BoltWish(thread=thread, washer=under, sleeve=sleeve is not None)
    outer = washer(under, thread).outside_least
    features: list[object] = []
    for i, place in enumerate(PLACES):
        features += [Hole(f"c{i + 1}", place, hole, 0.0, 8.0, "bolt", thread),
                     BearingFace(f"c{i + 1}", place, hole, outer, 0.0, -1, 24.0)]
        if sleeve:
            features.append(Sleeve(f"c{i + 1}", place, *sleeve, 8.0, 8.0))
    laid = channel or (groove() if seal is not None and seal.kind == "cord" else None)
    pieces = [_piece("cover", tuple(features) + ((laid,) if laid else ()), 8.0)]
    if ring is not None:
        pieces.append(_piece("gasket", (ring,), ring.height))
    cord = Item("cord", "round cord", ((RADIUS, 0.0, 0.0),), (0.0, 0.0, 1.0), 2.65, ring_length, 2.65, 2.65, (0.0, 0.0, 1.0),
                ("cover",), 5)
    items = (cord,) if laid is not None and laid.cord else ()
    wishes = replace(Wishes(cover=CoverWish(thickness=8.0), bolts=bolts, seal=seal, printer=PrinterWish(material="PETG"),
                            service=ServiceFacts(temperature_c=23.0)), **tables)
    return Case(Job("lid", (), wishes=wishes), _outline(), Build(tuple(pieces), Assembly(items=items)))


def cord_seal(**changes: object) -> SealWish:
    """A round cord of 70 Shore A."""
    return replace(SealWish(kind="cord", cord=2.65, shore_a=70.0), **changes)


def wished(case: Case, **changes: dict[str, object]) -> Case:
    """The case as built, with fields of the wishes' tables changed afterwards: bolts={"torque_n_m": 2.5}."""
    wishes = case.job.wishes
    tables = {name: replace(getattr(wishes, name), **fields) for name, fields in changes.items()}
    return replace(case, job=replace(case.job, wishes=replace(wishes, **tables)))


def only(findings: tuple[Finding, ...], part: str = "") -> Finding:
    """The one finding whose subject holds this text."""
    found = [f for f in findings if part in f.subject]
    assert len(found) == 1, [f.subject for f in findings]
    return found[0]


def figure(finding: Finding, name: str) -> float:
    """An input by name."""
    return next(i.value for i in finding.inputs if i.name == name)


def _circle(radius: float) -> Circle:
    return Circle("", (0.0, 0.0), radius)


def _piece(kind: str, features: tuple[object, ...], height: float) -> Piece:
    return Piece(kind, kind, kind, "A", (), height, (), PrintTime(0.0, 0.0, ""), features=features)


def _outline() -> Outline:
    return Outline("mm", Reference("rule", 10.0, 3e-4), Datum("", (0.0, 0.0), 0.0), (), (), (), ())
