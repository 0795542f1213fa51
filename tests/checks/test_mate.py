"""The mate laid on the cover: what was moved comes back in the cover's axes, room and clashes by hand, the fit with it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from afterpart.checks.fit_share import fit_share
from afterpart.checks.fit_spread import worst_distance
from afterpart.checks.gap_at_locating import gap_at_locating
from afterpart.checks.mate_face import face_of_cover
from afterpart.checks.mate_holes import mate_holes
from afterpart.checks.mate_lands import mate_lands
from afterpart.errors import JobError
from afterpart.geometry.matching import Motion
from afterpart.model.finding import ATTENTION, FAILS, PASSES
from afterpart.model.store import mate_json, parse_mate
from tests.checks.fit_cases import fitted, outer_lip, plate, rectangle
from tests.checks.mate_cases import PLACES, holes, laid, mate_outline, offsets

MOVED = {3: (0.3, 0.2)}


def test_a_mirrored_turned_mate_lies_on_the_cover_with_nothing_off() -> None:
    case, match = laid(mate_outline())
    assert match.laying.mirrored and match.laying.as_expected
    np.testing.assert_allclose(offsets(match), 0.0, atol=1e-6)
    assert not match.clashes and not match.lone_cover and not match.lone_mate and not match.notes
    assert all(hole.room == pytest.approx(0.3, abs=1e-6) for hole in match.holes)
    assert [f.verdict for f in mate_holes(case)] == [PASSES]


def test_a_moved_hole_is_told_in_the_cover_s_own_axes_and_comes_first() -> None:
    case, match = laid(mate_outline(MOVED))
    first = match.holes[0]
    assert (first.cover, first.mate, first.moved) == ("c4", "m4", True)
    assert not any(hole.moved for hole in match.holes[1:])
    np.testing.assert_allclose(first.offset, (0.3, 0.2), atol=1e-6)
    assert np.abs(np.delete(offsets(match), 3, axis=0)).max() < 1e-6
    together, moved = mate_holes(case)
    assert moved.subject == "hole c4, moved" and moved.verdict == ATTENTION and "+0.30, +0.20" in moved.advice
    assert together.value == pytest.approx(min(h.room for h in match.holes), abs=1e-9)


def test_room_of_a_moved_hole_by_hand() -> None:
    """Two bolts at least share a deviation of 0.36: none can have more left than 0.3 - 0.36 / 2; a turn helps, a little."""
    _, match = laid(mate_outline(MOVED))
    least = min(h.room for h in match.holes)
    assert 0.3 - math.hypot(0.3, 0.2) / 2 - 0.03 < least < 0.3 - math.hypot(0.3, 0.2) / 2 + 0.03


def test_a_hole_moved_too_far_blocks_its_bolt() -> None:
    case, match = laid(mate_outline({3: (0.9, 0.5)}))
    assert match.clashes and "does not pass" in match.clashes[0].text
    together = mate_holes(case)[0]
    assert together.verdict == FAILS and together.change


def test_the_change_that_is_offered_lets_all_bolts_pass() -> None:
    case, match = laid(mate_outline({3: (0.9, 0.5)}))
    wanted = mate_holes(case)[0].suggestions[0]
    opened = 6.6 + 2.0 * (float(wanted.to) - float(wanted.now or 0.0))
    assert [f.verdict for f in mate_holes(laid(mate_outline({3: (0.9, 0.5)}), diameter=opened)[0])][0] == PASSES


def test_a_picture_of_the_cover_s_other_face_is_met_unmirrored() -> None:
    plain = mate_outline(MOVED, motion=Motion(False, 1.0, (3.0, 4.0)))
    _, match = laid(plain, shown="other")
    assert not match.laying.mirrored and match.laying.as_expected
    np.testing.assert_allclose(match.holes[0].offset, (0.3, 0.2), atol=1e-6)


def test_the_other_sense_is_taken_where_only_it_fits_and_told() -> None:
    _, match = laid(mate_outline(motion=Motion(False, 1.0, (3.0, 4.0))))
    assert not match.laying.as_expected
    assert [note.code for note in match.notes] == ["mate_sense"]


def test_a_mate_grown_beyond_the_scales_is_told() -> None:
    _, match = laid(mate_outline(growth=0.004))
    assert "mate_size" in [note.code for note in match.notes]


def test_a_lip_s_room_is_the_mate_s_own() -> None:
    """A lip 0.4 mm outside a mate of 120 x 60; the mate measures 120.2 x 60: 0.3 mm at its ends, 0.4 at its sides, and at the
    corners the 0.5 of a 3-4-5 triangle."""
    case, match = laid(mate_outline(outer=rectangle(120.2, 60.0)), lip=outer_lip(0.4))
    edge = next(e for e in match.edges if e.what == "Lip on outer")
    assert edge.least == pytest.approx(0.3, abs=1e-6) and edge.most == pytest.approx(0.5, abs=1e-6)
    assert next(f for f in mate_lands(case) if f.subject == "lip on outer").verdict == PASSES
    tight, found = laid(mate_outline(outer=rectangle(121.0, 60.0)), lip=outer_lip(0.4))
    assert any("Lip on outer" in clash.text for clash in found.clashes)
    assert next(f for f in mate_lands(tight) if f.subject == "lip on outer").verdict == FAILS


def test_a_lip_holds_the_cover_where_the_bolts_would_shift_it() -> None:
    """Every mate hole lies 0.2 mm to the right of where its edges say; the lip has 0.05 mm all round.  With the holes on each
    other the lip stands 0.2 mm off; by hand the cover goes back by 0.2: the lip has its 0.05 on both sides, the bolts
    0.3 - 0.2."""
    _, match = laid(mate_outline({k: (0.2, 0.0) for k in range(6)}), lip=outer_lip(0.05))
    assert min(wall.room for wall in match.walls) == pytest.approx(-0.15, abs=1e-6)
    np.testing.assert_allclose([hole.room for hole in match.holes], 0.1, atol=2e-3)


def test_the_seal_must_lie_on_the_mate_s_face() -> None:
    case = plate(holes())
    face = replace(face_of_cover(case), seal=(rectangle(100.0, 40.0), rectangle(94.0, 34.0)))
    good, match = laid(mate_outline(openings=(rectangle(90.0, 30.0),)), face=face)
    lands = {e.what: e.least for e in match.edges if e.cover == "seal"}
    assert lands["Land outside the seal"] == pytest.approx(10.0, abs=1e-6)
    assert min(v for k, v in lands.items() if "opening" in k) == pytest.approx(2.0, abs=1e-6)
    bad, match = laid(mate_outline(openings=(rectangle(96.0, 30.0),)), face=face)
    failing = [f for f in mate_lands(bad) if f.verdict == FAILS]
    assert any("opening" in f.subject and "leaks" in f.advice for f in failing)


def test_a_hole_without_a_partner_is_named() -> None:
    mate = mate_outline()
    few = replace(mate, measured=tuple(loop for loop in mate.measured if loop.segments[0].id != "m2"))
    case, match = laid(few)
    assert match.lone_cover == ("c2",)
    assert any(f.verdict == FAILS and "c2" in f.advice for f in mate_lands(case))


def test_the_fit_share_is_that_of_the_machine_in_the_picture() -> None:
    """A perfect mate fits far oftener than the table's moulding; one with a hole far off, hardly ever."""
    plain = plate(holes())
    good, _ = laid(mate_outline())
    bad, _ = laid(mate_outline({3: (0.9, 0.5)}))
    others, own, off = (fit_share(fitted(case, temperature_span_c=0.0))[0] for case in (plain, good, bad))
    assert own.subject == "the machine in the picture" and "as measured" in own.advice
    assert others.subject == "other people's machines"
    assert own.value > others.value + 1.0 and off.value < 1.0 < own.value


def test_the_pair_stands_as_measured() -> None:
    """Hole c3 is 0.3 mm farther out than drawn, nearly along the line from c1: the distance is off by that and 2 u."""
    case, match = laid(mate_outline({2: (0.3, 0.0)}))
    length = math.dist(PLACES[0], PLACES[2])
    cause, off = worst_distance(case, length, ("c1", "c3"))[0]
    a, b = (next(h for h in match.holes if h.cover == name) for name in ("c1", "c3"))
    u = math.sqrt(sum((p * p + q * q) / 2 for p, q in (a.u, b.u)) + (match.laying.growth_u * length) ** 2)
    assert cause == "mate as measured"
    assert off == pytest.approx(0.3 * 102.0 / length + 2 * u, abs=1e-4)
    assert "mate as measured" in gap_at_locating(case)[0].advice


def test_mate_json_reads_back() -> None:
    match = laid(mate_outline(MOVED), lip=outer_lip(0.4))[1]
    assert parse_mate(mate_json(match)) == match


def test_a_mate_without_holes_is_refused_with_what_to_do() -> None:
    mate = mate_outline()
    bare = replace(mate, measured=mate.measured[:2])
    with pytest.raises(JobError, match="1 round hole.*mate.*two or more"):
        laid(bare)
