"""The filter's seat in the cover: the pocket, its ledge, where the bosses of the clamp frame stand, and the air's way through.

Words: the *pocket* is cut from the mating face down to the *ledge*, on which the element lies; the *land* is the solid width left
between pocket and seal; the *rim* is the band of the element that is squeezed, so the ledge keeps it whole.
How it is laid: the inner wall of the seal's groove (of the recovered channel, or the outer loop where there is neither) is moved
inwards by the land, bolt holes are kept out of it, and its corners are rounded so that a boss nests in each with clearance.
Bosses stand in the sharpest corners that leave no more than about RIM_BETWEEN of rim between two.
Frame: the cover's (outside at z = 0, mating face at the cover's thickness); mm.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_area, chain_length, chain_points, contains, counter_clockwise, gap, polygon_chain
from afterpart.geometry.offset import offset_chain
from afterpart.geometry.region import subtract
from afterpart.model.feature import BearingFace, Chain, Groove, Hole, Seat
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Outline, Point
from afterpart.model.wishes import CoverWish, FilterWish, HolderWish
from afterpart.parts.bolt_circles import bolt_circles
from afterpart.parts.boss_spots import boss_spots
from afterpart.parts.face_region import loops_of_part
from afterpart.parts.screw_boss import boss_diameter, rim_circle, screw_clearance, screws_of
from afterpart.words import tell, translated

BOSS_APART = 0.5
"""Room between a boss and the element."""
CHORD = 0.01
OPENING_CORNERS = (3.0, 2.0, 1.0)
"""Radii of the air opening's corners tried in turn: round corners crack less and print cleaner."""
LEAST_OPENING = 100.0
"""Below this area of the air's way, mm2, a seat makes no sense: a round hole of 11 mm."""


def lay_seat(outline: Outline, job: Job, groove: Groove | None, part: int = 1) -> Seat:
    """The seat as the job's [filter], [holder] and [cover] ask for it.

    `opening` is the pocket less the rim until the element is chosen: then air_opening() gives the right one.
    JobError naming key and place: negative land, ledge above the mating face, no room for a pocket, a boss, or on the machine.
    """
    element, cover, holder = filter_of(job), cover_of(job), holder_of(job)
    _refuse_impossible(element, cover, holder)
    _refuse_no_room_above(job, element, cover, holder)
    wall, what = _wall(outline, job, groove, part)
    radius = boss_diameter(job) / 2 if has_bosses(holder) else OPENING_CORNERS[-1]
    pocket = _pocket(outline, job, wall, what, radius + holder.clearance, part)
    bosses = boss_spots(pocket, radius, holder.clearance, holder.screws) if has_bosses(holder) else ()
    _refuse_boss_off_ledge(pocket, bosses, radius, holder.clearance)
    return Seat(pocket=pocket, ledge=cover.floor, opening=_opening(pocket, element.rim, tell("the pocket")),
                region=_region(pocket, bosses, radius, holder.clearance), bosses=bosses,
                boss_diameter=2 * radius if bosses else 0.0, rim=element.rim, depth=cover.thickness - cover.floor)


def air_opening(seat: Seat, element_corners: tuple[Point, ...], rim: float) -> Chain:
    """The air's way through the floor: the element's polygon less its rim, with rounded corners, counter-clockwise.

    JobError: the element leaves the seat's pocket, or the rim leaves no opening.
    """
    element = counter_clockwise(polygon_chain(element_corners))
    if not contains(seat.pocket, element):
        at = gap(seat.pocket, element).on_b
        raise JobError(tell("filter: the element leaves the seat's pocket near ({at:.1f}, {at_2:.1f}); choose it from the seat's "
                            "free region", at=at[0], at_2=at[1]))
    return _opening(element, rim, tell("the element"))


def frame_screw_holes(seat: Seat, job: Job) -> tuple[Hole, ...]:
    """Clearance holes in the cover's floor, one under each boss of a clamp frame held by screws; none for the other holders."""
    if holder_of(job).kind != "frame":
        return ()
    diameter, name = screw_clearance(job), translated(screws_of(job).name)
    return tuple(Hole(tell("frame screw {i}", i=i), at, diameter, 0.0, seat.ledge, "screw", name)
                 for i, at in enumerate(seat.bosses, start=1))


def frame_screw_faces(seat: Seat, job: Job) -> tuple[BearingFace, ...]:
    """Where the heads of those screws press on the cover's outside.  JobError: a head that would fall through its hole."""
    head = screws_of(job).head_diameter
    holes = frame_screw_holes(seat, job)
    if holes and head <= holes[0].diameter + 1.0:
        raise JobError(tell("screws.head_diameter: {head:g} mm found, at least {diameter:g} mm expected over a clearance hole of "
                            "{diameter_2:g} mm; use screws with a larger head", head=head, diameter=holes[0].diameter + 1.0,
                            diameter_2=holes[0].diameter))
    return tuple(BearingFace(h.id, h.center, h.diameter, head, 0.0, -1, max(head, seat.boss_diameter)) for h in holes)


def frame_height(job: Job) -> float:
    """Height of the clamp frame's clean side above the mating face, into the machine (negative: below it)."""
    element, cover, holder = filter_of(job), cover_of(job), holder_of(job)
    web = 0.0 if holder.kind == "pins" else holder.thickness
    return cover.floor + element.thickness + web - cover.thickness


def has_bosses(holder: HolderWish) -> bool:
    """Does this holder stand on bosses in the pocket's corners?  Pins do not."""
    return holder.kind != "pins"


def filter_of(job: Job) -> FilterWish:
    """The job's filter.  JobError: it has none."""
    if job.wishes.filter is None:
        raise JobError(tell("filter: no such table found; a seat, a clamp frame or an element needs [filter] in the job"))
    return job.wishes.filter


def cover_of(job: Job) -> CoverWish:
    """The job's cover, the usual one where it has no [cover]."""
    return job.wishes.cover or CoverWish()


def holder_of(job: Job) -> HolderWish:
    """The job's holder, a clamp frame where it has no [holder]."""
    return job.wishes.holder or HolderWish()


def largest(chains: tuple[Chain, ...]) -> Chain | None:
    """The chain with the largest area; None: there is none."""
    return max(chains, key=lambda c: abs(chain_area(c)), default=None)


def rounded_inside(chain: Chain, radius: float) -> Chain | None:
    """The chain with every corner that a disc of this radius cannot reach rounded by it: in by the radius, out again.

    Of several pieces the largest; None: no such disc fits anywhere."""
    inner = largest(offset_chain(chain, -radius))
    return None if inner is None else largest(offset_chain(inner, radius))


def _wall(outline: Outline, job: Job, groove: Groove | None, part: int) -> tuple[Chain, str]:
    if groove is not None:
        return groove.inner, tell("the inner wall of the seal groove")
    dropped = any(c.feature == "channel" and c.do == "drop" for c in job.wishes.changes)
    for loop in outline.design:
        if loop.part == part and loop.role == "channel" and loop.wall == "inner" and not dropped:
            return loop.segments, tell("the channel's inner wall")
    return loops_of_part(outline, part)[0].segments, tell("the outer loop")


def _pocket(outline: Outline, job: Job, wall: Chain, what: str, corner: float, part: int) -> Chain:
    """The wall moved inwards by the land, clear of bolt holes, its corners rounded with at least `corner`."""
    land = filter_of(job).land
    moved = largest(offset_chain(wall, -land))
    free = moved and largest(tuple(r.outer for r in subtract(moved, *_bolt_discs(outline, job, moved, land, part))))
    pocket = free and rounded_inside(free, corner)
    if not pocket or chain_area(pocket) < 4 * LEAST_OPENING:
        raise JobError(tell("filter.land: {land:g} mm found; {what} ({chain_length:.0f} mm round) moved inwards by it leaves no "
                            "pocket whose corners are rounded with {corner:.2f} mm; make the land, holder.clearance or "
                            "screws.boss smaller, or leave the filter out", land=land, what=what, chain_length=chain_length(wall),
                            corner=corner))
    return counter_clockwise(pocket)


def _bolt_discs(outline: Outline, job: Job, pocket: Chain, land: float, part: int) -> list[Chain]:
    """Discs round the bolt holes that reach into the pocket, the land beyond each hole."""
    circles = bolt_circles(outline, job.wishes.bolts, part) if job.wishes.bolts is not None else ()
    added = tuple(Circle("", h.at, h.diameter / 2) for h in job.wishes.holes if "bolt" in h.purpose.lower())
    discs = [(Circle("", c.center, c.radius + land),) for c in (*circles, *added)]
    return [disc for disc in discs if gap(disc, pocket).distance == 0.0 or contains(pocket, disc)]


def _opening(chain: Chain, rim: float, what: str) -> Chain:
    inner = largest(offset_chain(chain, -rim, "sharp")) if rim > 0 else None
    if inner is None or abs(chain_area(inner)) < LEAST_OPENING:
        raise JobError(tell("filter.rim: {rim:g} mm found; taken off {what} all round it leaves no way for the air (less than "
                            "{least_opening:g} mm2); a rim above 0 and a narrower one, or a larger seat, is needed", rim=rim,
                            what=what, least_opening=LEAST_OPENING))
    for radius in OPENING_CORNERS:
        made = rounded_inside(inner, radius)
        if made is not None and abs(chain_area(made)) > 0.9 * abs(chain_area(inner)):
            return counter_clockwise(made)
    return counter_clockwise(inner)


def _region(pocket: Chain, bosses: tuple[Point, ...], radius: float, clearance: float) -> tuple[Point, ...]:
    """What is free for the element, as points no farther than CHORD from the curves."""
    inset = largest(offset_chain(pocket, -clearance)) if clearance > 0 else pocket
    assert inset is not None, "a pocket whose corners hold a boss is wider than its clearance"
    discs = [rim_circle(at, 2 * (radius + BOSS_APART)) for at in bosses]
    free = subtract(inset, *discs)
    if not free:
        raise JobError(tell("screws.boss: {radius:g} mm found; {count} such bosses leave the element no room in the pocket; take "
                            "thinner ones, or pins (holder.kind)", radius=2 * radius, count=len(bosses)))
    return tuple((float(x), float(y)) for x, y in chain_points(counter_clockwise(free[0].outer), CHORD))


def _refuse_impossible(element: FilterWish, cover: CoverWish, holder: HolderWish) -> None:
    complaints = [tell("{key}: {value:g} found, {expected} expected", key=key, value=value, expected=expected)
                  for key, value, is_good, expected in (("filter.land", element.land, element.land >= 0,
                                                         tell("0 mm or more of solid beside the seal")),
                                                        ("filter.rim", element.rim, element.rim > 0, tell("a width above 0 mm")),
                                                        ("filter.thickness", element.thickness, element.thickness > 0,
                                                         tell("a thickness above 0 mm")),
                                                        ("filter.squeeze", element.squeeze, 0 < element.squeeze < 0.9,
                                                         tell("a share above 0 and below 0.9")),
                                                        ("holder.thickness", holder.thickness, holder.thickness >= 1.2,
                                                         tell("at least 1.2 mm of web")),
                                                        ("holder.clearance", holder.clearance, holder.clearance >= 0,
                                                         tell("0 mm or more")),
                                                        ("cover.floor", cover.floor, cover.floor > 0,
                                                         tell("a floor above 0 mm for the element to lie on"))) if not is_good]
    if cover.floor >= cover.thickness:
        complaints.append(tell("cover.floor: {floor:g} mm found, less than cover.thickness ({thickness:g} mm) expected: the "
                               "ledge lies below the mating face", floor=cover.floor, thickness=cover.thickness))
    if complaints:
        raise JobError("\n".join(complaints))


def _refuse_no_room_above(job: Job, element: FilterWish, cover: CoverWish, holder: HolderWish) -> None:
    room = next((h.value for h in job.heights if h.level == "room above"), None)
    need = frame_height(job)
    if room is not None and need > room:
        web = "" if holder.kind == "pins" else f" + holder.thickness {holder.thickness:g}"
        raise JobError(f"heights, room above: {room:g} mm found, but the filter reaches {need:g} mm into the machine "
                       f"(cover.floor {cover.floor:g} + filter.thickness {element.thickness:g}{web} - cover.thickness "
                       f"{cover.thickness:g}); take a thinner element or web, or make the cover thicker by {need - room:.2f} mm")


def _refuse_boss_off_ledge(pocket: Chain, bosses: tuple[Point, ...], radius: float, clearance: float) -> None:
    for i, at in enumerate(bosses):
        disc = rim_circle(at, 2 * radius)
        place = f"({at[0]:.1f}, {at[1]:.1f})"
        if not contains(pocket, disc) or gap(pocket, disc).distance < clearance - 1e-6:
            raise JobError(tell("screws.boss, holder.screws: the boss of {radius:g} mm at {place} does not stand on the seat's "
                                "ledge; take a thinner boss or fewer screws", radius=2 * radius, place=place))
        near = min((math.dist(at, other) for other in bosses[:i]), default=math.inf)
        if near < 2 * radius + BOSS_APART:
            raise JobError(tell("holder.screws: the boss at {place} stands {near:.1f} mm from the next, at least {radius:g} mm "
                                "expected; take fewer screws", place=place, near=near, radius=2 * radius + BOSS_APART))
