"""What a maker must know of the seal groove, in words."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.formulas.seal import groove_fill, squeeze
from afterpart.geometry.chain import chain_length
from afterpart.model.edges import Note
from afterpart.model.outline import Outline
from afterpart.model.wishes import SealWish
from afterpart.parts.gasket_section import RingSection
from afterpart.parts.groove_course import Course, Ground, lay
from afterpart.parts.groove_path import KEPT_LAND, channel_path, place
from afterpart.parts.groove_size import preferred_sizes
from afterpart.standards.orings import WANTED_STRETCH
from afterpart.words import tell

WORTH_TELLING = 0.02
"""Shorter moves of a centre line are not told, mm."""


def cord_notes(course: Course, duty: str) -> tuple[Note, ...]:
    """Of a groove for a round cord: its figures, the length to buy, the floor."""
    size, length = course.size, chain_length(course.centre)
    short, long = length / (1 + WANTED_STRETCH.high), length / (1 + WANTED_STRETCH.low)
    share, fill = squeeze(size.cord, size.depth), groove_fill(size.cord, size.width, size.depth)
    notes = [Note("seal_cord",
                  tell("The groove is {width:.2f} mm wide and {depth:.2f} mm deep for a cord of {cord:g} mm: squeeze "
                       "{share:.1%}, fill {fill:.1%}. Its centre line is {length:.1f} mm long: take a ring, or a cut cord, of "
                       "{short:.1f} to {long:.1f} mm.", width=size.width, depth=size.depth, cord=size.cord, share=share,
                       fill=fill, length=length, short=short, long=long)),
             Note("seal_floor",
                  tell("The cord seals on a printed floor: print the mating face upwards and smooth the floor; a printed line "
                       "that crosses the groove leaks."))]
    if duty == "dust":
        notes.append(Note("seal_duty",
                          tell("Against dust a printed ring closes with less force than a cord: seal.kind = " '"ring".')))
    return (*notes, *_moved_note(course))


def ring_notes(course: Course, ground: Ground, section: RingSection) -> tuple[Note, ...]:
    """Of a channel for a printed ring: its figures, why no round cord, narrow lands, what it can hold."""
    size = course.size
    notes = [Note("seal_ring",
                  tell("The printed {section_kind} ring is {width:.2f} mm wide and {height:.2f} mm high in a channel "
                       "{width_2:.2f} mm wide and {depth:.2f} mm deep: it stands {height_2:.2f} mm proud, is flattened by "
                       "{squeeze:.1%} and fills {fill:.0%}; the cover rests hard on its land.", section_kind=section.kind,
                       width=section.width, height=section.height, width_2=size.width, depth=size.depth,
                       height_2=section.height - size.depth, squeeze=section.squeeze(size.depth),
                       fill=section.fill(size.width, size.depth)))]
    if ground.seal.path == "channel":
        notes.append(_why_no_cord(ground))
    notes += [Note("land_narrow",
                   tell("Only {width:.2f} mm of solid face is left beside {beside} at {place}: enough for a printed ring, not "
                        "for a round cord.", width=land.width, beside=land.beside, place=place(land.at)))
              for land in (course.lands.outside, course.lands.inside) if land is not None and land.width < KEPT_LAND - 1e-6]
    if ground.seal.duty == "liquid":
        better = (tell("a hollow one also holds dirt in its foot, so prefer a bead") if section.kind == "hollow"
                  else tell("a round cord in a groove that suits it is the surer seal"))
        notes.append(Note("seal_duty",
                          tell("A printed ring weeps liquid along its layers until a trial shows otherwise; {better}.",
                               better=better)))
    return (*notes, *_moved_note(course))


def channel_notes(outline: Outline) -> tuple[Note, ...]:
    """Of a part with more than one channel: which of them the seal follows."""
    count = sum(loop.role == "channel" and loop.wall == "outer" for loop in outline.design)
    return ((Note("one_channel", tell("The drawing has {count} channels; the seal follows the largest.", count=count)),)
            if count > 1 else ())


def depth_note(depth: float) -> Note:
    """The channel's depth was ours to choose."""
    return Note("groove_depth_chosen",
                tell("The depth of the old channel is not told; the new one is {depth:.2f} mm deep, and the ring is drawn for "
                     "that.", depth=depth))


def _why_no_cord(ground: Ground) -> Note:
    """Would the nearest cord have done in the recovered channel?"""
    plain = replace(ground, seal=SealWish(kind="cord", duty=ground.seal.duty))
    channel = channel_path(ground.outline)
    size = preferred_sizes(plain.seal, ground.thickness, (channel.width or 0.0, ground.depth or channel.depth))[0]
    complaints = lay(plain, size).complaints
    if not complaints:
        return Note("seal_cord_would_do", tell("A round cord of {cord:g} mm would lie in this channel too.", cord=size.cord))
    return Note("seal_no_cord",
                tell("A round cord ({cord:g} mm is the nearest) would not do here: {complaints}.", cord=size.cord,
                     complaints="; ".join(complaints)))


def _moved_note(course: Course) -> tuple[Note, ...]:
    if course.moved < WORTH_TELLING:
        return ()
    return (Note("seal_corners_eased",
                 tell("Corners of the groove's inner wall are rounded to {corner:.2f} mm; the centre line leaves the given path "
                      "by {moved:.2f} mm at most.", corner=course.size.corner, moved=course.moved)),)
