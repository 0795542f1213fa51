"""Cases for the checks of screws, heat, plastics and inlets: a cover and a frame whose figures can be worked by hand.

The frame: two bosses of 7.5 mm, pilot 2.4, 8.25 mm of thread, turned over as it sits in the assembly; the cover: two screw holes
of 3.4 mm through a floor of 3 mm, heads of 5.6 mm.  The screw: 3.0 outside, 2.1 core, pitch 1.2.  Invented.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.model.assembly import Assembly, Build, Place
from afterpart.model.case import Case
from afterpart.model.edges import Reference
from afterpart.model.feature import BearingFace, Boss, Hole, Opening, PrintedSeal, Seat, Sleeve
from afterpart.model.finding import Finding
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Datum, Line, Loop, Outline
from afterpart.model.piece import Piece, PrintTime
from afterpart.model.wishes import BoltWish, PrinterWish, ScrewWish, Trial, Wishes

SCREW = ScrewWish(outside=3.0, core=2.1, pitch=1.2)
PLACES = ((20.0, 10.0), (-20.0, -12.0))


def rectangle(width: float, height: float) -> tuple[Line, ...]:
    """A rectangle about the origin, counter-clockwise."""
    x, y = width / 2, height / 2
    corners = ((-x, -y), (x, -y), (x, y), (-x, y))
    return tuple(Line(f"s{i}", corners[i], corners[(i + 1) % 4]) for i in range(4))


def screwed(screws: ScrewWish | None = SCREW, *, boss: float = 7.5, pilot: float = 2.4, engagement: float = 8.25,
            head: float = 5.6, hole: float = 3.4, floor: float = 3.0, material: str = "PETG",
            trials: tuple[Trial, ...] = (), **tables: object) -> Case:
    """Cover and frame held by two screws.  tables: other tables of the wishes."""
    holes = [f for i, at in enumerate(PLACES) for f in (
        Hole(f"screw {i}", at, hole, 0.0, floor, "screw"), BearingFace(f"screw {i}", at, hole, head, 0.0, -1, 20.0))]
    bosses = [Boss(f"boss {i}", (x, -y), boss, 3.0, 13.0, pilot, 10.0, engagement, 1) for i, (x, y) in enumerate(PLACES)]
    pieces = (_piece("cover", tuple(holes), material), _piece("clamp_frame", tuple(bosses), material),
              _piece("hole_coupon", (replace(bosses[0], pilot=2.3),), material))
    places = (Place("cover", False, (0.0, 0.0, -9.0), (0.0, 0.0, -1.0), 1),
              Place("clamp_frame", True, (0.0, 0.0, 7.0), (0, 0, 1), 2))
    return _case(pieces, places, Wishes(screws=screws, trials=trials, printer=PrinterWish(material=material), **tables))


def bolted(material: str = "PETG", *, gasket: bool = False, sleeve: bool = False, **tables: object) -> Case:
    """A cover with one bolt hole, bare or with a metal sleeve; a printed gasket where asked."""
    features = (Hole("c1", (0.0, 0.0), 6.6, 0.0, 8.0, "bolt", "M6"), BearingFace("c1", (0.0, 0.0), 6.6, 12.0, 0.0, -1, 20.0))
    features += (Sleeve("c1", (0.0, 0.0), 6.4, 9.0, 8.0, 8.0),) if sleeve else ()
    pieces = (_piece("cover", features, material),)
    if gasket:
        ring = PrintedSeal("bead", (), 3.0, 2.4, 6.4, 100.0, 0.4, 3.6, 2.0, 0.1, 0.9, 85.0, "dust")
        pieces += (_piece("gasket", (ring,), "TPU"),)
    return _case(pieces, (), Wishes(bolts=BoltWish(sleeve=sleeve), printer=PrinterWish(material=material), **tables))


def with_inlet(width: float, height: float, *, old: tuple[float, float] | None = None, seat: bool = True,
               **tables: object) -> Case:
    """A cover with a rectangular inlet, the old part with a smaller one in its middle where asked."""
    inlet = Opening("inlet", rectangle(width, height), 0.0, 3.0)
    place = Seat(rectangle(width + 10, height + 10), 3.0, inlet.chain, (), (), 7.5, 5.0, 6.0)
    loops = (Loop("opening", 1, (Circle("c1", (0.0, 0.0), 3.0),)),)
    if old:
        loops += (Loop("opening", 1, rectangle(*old)),)
    case = _case((_piece("cover", (inlet, place) if seat else (inlet,), "PETG"),), (), Wishes(**tables))
    return replace(case, outline=replace(case.outline, design=loops))


def only(found: tuple[Finding, ...]) -> Finding:
    """The one finding there is."""
    assert len(found) == 1, [f.subject for f in found]
    return found[0]


def ending(found: tuple[Finding, ...], subject: str) -> Finding:
    """The one finding whose subject ends like this."""
    return only(tuple(f for f in found if f.subject.endswith(subject)))


def _piece(kind: str, features: tuple, material: str) -> Piece:
    return Piece(kind, kind, kind, "A", (), 10.0, (), PrintTime(1.0, 1.0, "invented"), features=features, material=material)


def _case(pieces: tuple[Piece, ...], places: tuple[Place, ...], wishes: Wishes) -> Case:
    outline = Outline("mm", Reference("none", 10.0, 0.001), Datum("invented", (0.0, 0.0), 0.0), (), (), (), ())
    return Case(Job("invented", (), wishes=wishes), outline, Build(pieces, Assembly(places=places)))
