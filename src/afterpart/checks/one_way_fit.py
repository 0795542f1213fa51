"""Can the cover be fitted the wrong way round?"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from afterpart.checks.bolted_joint import cover_of
from afterpart.checks.judge import COUNTED, judged, not_judged
from afterpart.geometry.chain import chain_polygon
from afterpart.geometry.one_way import OneWay, left_by_peg, ways_to_fit
from afterpart.model.case import Case
from afterpart.model.feature import Groove, Hole, Lip, Opening, Peg, Seat
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.model.outline import Circle
from afterpart.model.piece import Deboss, Piece
from afterpart.model.wishes import CLEARS
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.words import entry, paragraph, tell, translated

FORMULA = entry("wrong motions that bring every hole onto a bolt and that no mark warns of <= 0")
SOURCE = entry("Geometry: the bolt pattern turned and turned over, each hole within (hole - bolt) / 2 of its bolt")
SEVERITY = 6

_SYMMETRIC = entry("Where the machine is symmetric, no cover can block this alone: a dropped hole that the machine really has "
                   "takes a peg (cover.peg_in), which stops turns; turning over stays a matter of looking.")

_WARNED = "fits_wrongly"
"""Code of the note that the cover's marks leave."""

_NO_KEY = "seat_fits_wrongly"
"""Code of the note where frame or element fit wrongly and no key found room."""


def one_way_fit(case: Case) -> tuple[Finding, ...]:
    """Wrong ways in which the bolts still take the cover, each one found by turning the bolt pattern onto itself.

        off_i <= (hole_i - bolt) / 2 for every hole i, and the turned cover is not the same as the right one

    Marks warn, they do not block: a marked cover gets attention.  A peg in a hole of the machine stops the turns that carry it
    onto the face.  What else on the machine hinders a motion is not known.
    """
    cover, wish = cover_of(case), case.job.wishes.bolts
    if cover is None or wish is None:
        return ()
    holes = tuple(f for f in cover.features if isinstance(f, Hole) and f.purpose == "bolt")
    if not holes:
        return ()
    edge = _edge(case)
    try:
        bolt = clearance_hole(wish.thread).nominal
    except KeyError as error:
        return (not_judged("one_way_fit", cover.file_stem, tell("bolts.thread: {args}", args=error.args[0]),
                           missing=("bolts.thread",), severity=SEVERITY),)
    if edge is None:
        return (not_judged("one_way_fit", cover.file_stem, tell("The outline has no outer loop to turn."), severity=SEVERITY),)
    ways = ways_to_fit(holes, bolt, edge, _openings(cover), _faces_alike(cover), _edge_room(case, cover))
    for peg in (f for f in cover.features if isinstance(f, Peg)):
        ways = left_by_peg(ways, peg.center, (peg.hole - peg.diameter) / 2, _land(cover, edge))
    return (_judged(case, cover, ways, len(holes)), *_inner(cover))


def _judged(case: Case, cover: Piece, ways: OneWay, count: int) -> Finding:
    warned = any(note.code == _WARNED for note in cover.notes)
    wrong = len(ways.wrong) + int(ways.turns_freely)
    doubt, told = "", tell("The bolts take it in one way only.")
    if wrong:
        told = (tell("It turns freely on its bolt.") if ways.turns_freely
                else tell("The bolts also take it {ways}.", ways="; ".join(motion.words for motion in ways.wrong)))
        doubt = paragraph(tell("Its marks warn, they do not block: set them against a mark on the machine."),
                          translated(_SYMMETRIC)) if warned else ""
        told = paragraph(told, "" if warned
                         else tell("Mark top and outside by hand, or let the program mark them (cover.one_way = true)."))
    asked = case.job.wishes.cover.one_way if case.job.wishes.cover else None
    return judged("one_way_fit", cover.file_stem, 0.0 if warned else float(wrong), entry("ways"), Limit(high=0.0),
                  source=translated(SOURCE), formula=FORMULA, advice=told, doubt=doubt, severity=SEVERITY,
                  insensitive=translated(COUNTED),
                  inputs=(Input(tell("wrong ways"), float(wrong), "ways", tell("bolt holes as built")),
                          Input(tell("bolt holes"), float(count), "holes", tell("as built"))),
                  suggestions=(Suggestion("cover.one_way", str(asked).lower(), "true", tell("marks top and outside")),) if wrong
                  and asked is False else ())


def _inner(cover: Piece) -> tuple[Finding, ...]:
    """What also goes into the cover turned, where no key found room: the pen's mark warns, nothing blocks."""
    return tuple(judged("one_way_fit", tell("{file_stem}, what sits in it", file_stem=cover.file_stem), 0.0, "ways",
                        Limit(high=0.0), source=translated(SOURCE), formula=FORMULA,
                        advice=tell("Frame or element also go in another way."), doubt=note.text, severity=SEVERITY,
                        insensitive=translated(COUNTED)) for note in cover.notes if note.code == _NO_KEY)


def _edge(case: Case) -> Polygon | None:
    return next((chain_polygon(loop.segments) for loop in case.outline.design if loop.role == "outer"), None)


def _openings(cover: Piece) -> tuple[Polygon, ...]:
    """Everything that tells one place of the cover from another, its bolt holes aside."""
    ways = [f.chain for f in cover.features if isinstance(f, Opening)]
    ways += [(Circle("", f.center, f.diameter / 2),) for f in cover.features if isinstance(f, Hole) and f.purpose != "bolt"]
    ways += [f.centre for f in cover.features if isinstance(f, Groove)]
    ways += [f.pocket for f in cover.features if isinstance(f, Seat)]
    return tuple(polygon for chain in ways if (polygon := chain_polygon(chain)).is_valid)


def _land(cover: Piece, edge: Polygon) -> BaseGeometry:
    """Where the machine's face is taken to be: under the cover, outside of seal and pocket, beside holes and openings."""
    ways = [f.chain for f in cover.features if isinstance(f, Opening)]
    ways += [(Circle("", f.center, f.diameter / 2),) for f in cover.features if isinstance(f, Hole)]
    ways += [f.inner for f in cover.features if isinstance(f, Groove)]
    ways += [f.pocket for f in cover.features if isinstance(f, Seat)]
    land: BaseGeometry = edge
    for chain in ways:
        land = land.difference(chain_polygon(chain))
    return land


def _faces_alike(cover: Piece) -> bool:
    return not any(isinstance(f, Groove | Seat | Lip) for f in cover.features) and not any(
        isinstance(step, Deboss) for step in cover.steps)


def _edge_room(case: Case, cover: Piece) -> float | None:
    """How far an edge or lip that meets the machine may stand off; None where the edge is free."""
    lip = next((f for f in cover.features if isinstance(f, Lip)), None)
    if lip is not None:
        return lip.clearance
    wish = case.job.wishes.cover
    if wish is None or wish.fit == "flush":
        return None
    return wish.clearance if wish.clearance is not None else CLEARS
