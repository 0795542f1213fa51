"""What keeps frame and element from going into the cover a wrong way: a rib on the pocket's wall, a notch in the frame's web.

Words: a *wrong way* of the frame is a turn by which its feet find the screws (or hooks), its rib and a web that dips find room in
the pocket, and the rib then misses the element's rim.  One of the element is a half turn or turning over that finds room in the
seat and leaves the frame's rib without foam under it.  The *key* is a half round rib; it *stops* a way when the moved piece
covers at least STOPS of it.
Where: along the straight runs of the pocket's wall, beside the element, clear of feet; off every symmetry, for there the
turned notch would come over it.  No wrong way, no key: the pieces stay as they are.
Turning the frame over needs no key: its holes are blind and open at the feet, so a screw meets the closed web; hooks' noses
meet its feet.
Frame: the cover's; mm.  Limits: foam is soft: a key shows that the element lies wrong, force can still crush it in.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from shapely import affinity
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon

from afterpart.geometry.chain import chain_polygon, move_chain
from afterpart.geometry.laid_wrong import Laid, other_ways_to_lie
from afterpart.geometry.one_way import Motion, ways_to_fit
from afterpart.model.edges import Note
from afterpart.model.feature import Hole, Seat, SeatKey
from afterpart.model.job import Job
from afterpart.model.outline import Line, Point
from afterpart.parts.clamp_frame import RIB_BACK, web_outline
from afterpart.parts.latches import PLAY
from afterpart.parts.screw_boss import screw_clearance, screws_of
from afterpart.parts.seat import cover_of, filter_of, frame_height, has_bosses, holder_of
from afterpart.words import paragraph, tell

RADII = (3.0, 2.5, 2.0)
"""Of the rib, the largest that finds room: a stout rib does not break."""
NOTCH_PLAY = 0.3
BESIDE_ELEMENT = 0.5
BESIDE_FEET = 1.3
"""Web left between a foot and the notch."""
STOPS = 3.0
"""Area of the key that a wrongly laid piece must cover, mm2: 3 mm2 over 1 mm of height is more than any play."""
DIPS = 1.0
"""A web that dips this far into the pocket meets a rib as high as the mating face; else the rib stands up into the web."""
BELOW_CLEAN_SIDE = 0.5
STEP = 1.0
"""Distance of the places tried along the wall."""


@dataclass(frozen=True)
class Keyed:
    """The key where one is needed and finds a place; notes: what the maker must know of it, or of the lack of it."""

    key: SeatKey | None = None
    notes: tuple[Note, ...] = ()


def lay_seat_key(seat: Seat, element_corners: tuple[Point, ...], job: Job) -> Keyed:
    """The key for this seat, with its opening as it is to be, and this element; nothing where cover.one_way is false."""
    if not cover_of(job).one_way:
        return Keyed()
    element = Polygon(element_corners)
    turns, lies = frame_turns(seat, element, job), element_lies(seat, element)
    if not turns and not lies:
        return Keyed()
    web = _web(seat, job) if turns else None
    for radius in RADII:
        at = _best_place(seat, element, web, turns, lies, radius)
        if at is not None:
            key = SeatKey(at, radius, seat.ledge, _top(seat, job), NOTCH_PLAY)
            return Keyed(key, (_told(at, turns, lies, has_bosses(holder_of(job))),))
    return Keyed(None, _not_told(turns, lies))


def frame_turns(seat: Seat, element: Polygon, job: Job) -> tuple[Motion, ...]:
    """The wrong ways of the clamp frame; none where nothing stands on bosses."""
    if not has_bosses(holder_of(job)) or not seat.bosses:
        return ()
    screws = holder_of(job).kind == "frame"
    play = (screw_clearance(job) - screws_of(job).outside) / 2 if screws else PLAY
    feet = tuple(Hole(tell("foot {i}", i=i), at, 2 * play, 0.0, 0.0, "screw") for i, at in enumerate(seat.bosses, start=1))
    ways = ways_to_fit(feet, 0.0, element, (chain_polygon(seat.opening),))
    dips = frame_height(job) < holder_of(job).thickness
    low = (element.buffer(-RIB_BACK, join_style="mitre"), *((_web(seat, job),) if dips else ()))
    wall = chain_polygon(seat.pocket).buffer(play)
    return tuple(m for m in ways.wrong if not m.turned_over and all(wall.covers(_turned(piece, m)) for piece in low))


def element_lies(seat: Seat, element: Polygon) -> tuple[Laid, ...]:
    """The wrong ways of the element: they find room, and do not cover the opening with half a rim."""
    needed = chain_polygon(seat.opening).buffer(seat.rim / 2)
    room = Polygon(seat.region).buffer(1e-3)
    return tuple(way for way in other_ways_to_lie(element, room) if not way.piece.covers(needed))


def half_disc(seat: Seat, at: Point, radius: float) -> Polygon:
    """What the key takes of the pocket, seen from above."""
    return Spot(at).buffer(radius).intersection(chain_polygon(seat.pocket))


def _web(seat: Seat, job: Job) -> Polygon:
    return chain_polygon(move_chain(web_outline(seat, job), (0.0, 0.0), mirror_y=True))


def _turned(piece: Polygon, motion: Motion) -> Polygon:
    return affinity.rotate(piece, motion.angle_deg, origin=motion.about)


def _top(seat: Seat, job: Job) -> float:
    """Height of the key: the mating face where the web dips far enough or is not there, else almost the web's clean side."""
    thickness, under = cover_of(job).thickness, seat.ledge + filter_of(job).thickness
    if not has_bosses(holder_of(job)):
        return min(thickness, under)
    return thickness if thickness - under >= DIPS else under + holder_of(job).thickness - BELOW_CLEAN_SIDE


def _best_place(seat: Seat, element: Polygon, web: Polygon | None, turns: tuple[Motion, ...], lies: tuple[Laid, ...],
                radius: float) -> Point | None:
    """Where the least stopped way is stopped most; every turn of the frame must be stopped, and the more lies the better."""
    best, most = None, (0, 0.0)
    for at in _places(seat, element, radius):
        key = half_disc(seat, at, radius)
        notched = web.difference(Spot(at).buffer(radius + NOTCH_PLAY)) if web is not None else None
        met = [_turned(notched, m).intersection(key).area for m in turns] if notched is not None else []
        lain = [area for way in lies if (area := way.piece.intersection(key).area) >= STOPS]
        if min(met, default=STOPS) < STOPS or not (met or lain):
            continue
        merit = (len(lain), round(min((*met, *lain)), 6))
        if merit > most:
            best, most = at, merit
    return best


def _places(seat: Seat, element: Polygon, radius: float) -> list[Point]:
    """Places on straight runs of the wall where the half disc stands free."""
    reach = radius + NOTCH_PLAY
    found = []
    for run in (s for s in seat.pocket if isinstance(s, Line)):
        length = math.dist(run.start, run.end)
        for k in range(int((length - 2 * reach - 2 * STEP) / STEP) + 1):
            share = (reach + STEP + k * STEP) / length
            if share >= 1 - reach / length:
                break
            at = (run.start[0] + share * (run.end[0] - run.start[0]), run.start[1] + share * (run.end[1] - run.start[1]))
            if _is_free(seat, element, at, radius):
                found.append(at)
    return found


def _is_free(seat: Seat, element: Polygon, at: Point, radius: float) -> bool:
    """Beside the element, clear of the feet, and with no other wall near."""
    feet = seat.boss_diameter / 2 + radius + BESIDE_FEET
    return (element.distance(Spot(at)) >= radius + BESIDE_ELEMENT and all(math.dist(at, boss) >= feet for boss in seat.bosses)
            and abs(half_disc(seat, at, radius + NOTCH_PLAY).area / (math.pi * (radius + NOTCH_PLAY) ** 2 / 2) - 1) < 0.01)


def _words(turns: tuple[Motion, ...], lies: tuple[Laid, ...]) -> str:
    return "; ".join([tell("the frame turned by {angle_deg:.0f} degrees", angle_deg=m.angle_deg) for m in turns]
                     + [tell("the element {words}", words=way.words) for way in lies])


def _told(at: Point, turns: tuple[Motion, ...], lies: tuple[Laid, ...], framed: bool) -> Note:
    return Note("seat_key",
                paragraph(tell("A rib on the pocket's wall at ({at:.1f}, {at_2:.1f}) stands in the way of what would also fit: "
                               "{words}.", at=at[0], at_2=at[1], words=_words(turns, lies)),
                          tell("The notch of the frame goes over it.") if framed else "",
                          tell("Never press: what does not drop in lies wrong, and foam is too soft to refuse.")))


def _not_told(turns: tuple[Motion, ...], lies: tuple[Laid, ...]) -> tuple[Note, ...]:
    return (Note("seat_fits_wrongly",
                 tell("These also fit, and no key finds room beside the element: {words}.  Mark cover, element and frame on the "
                      "same side with a pen before taking them apart.", words=_words(turns, lies))),)
