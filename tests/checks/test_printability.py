"""Printability of a piece, from figures written down as if measured; limits by hand from standards/printing.csv.

Rules of the table: overhang 45 degrees, bridges 5 to 30 mm, wall 0.8 (two lines of 0.4) and 1.2 wanted, flare 0.1 to 0.3 (from
memory), spool 1000 g, line width 1.0 to 1.2 nozzles, 30 to 60 mm/s, 10 to 15 mm3/s melted, 0.5 to 0.8 of the time printing.
PETG (from memory): 1.27 g/cm3, yield 35, modulus 1500 to 2100 N/mm2, half as strong across its layers.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from afterpart.checks.bed_fit import bed_fit
from afterpart.checks.bridges import bridges
from afterpart.checks.first_layer_chamfer import first_layer_chamfer
from afterpart.checks.load_across_layers import load_across_layers
from afterpart.checks.overhangs import overhangs
from afterpart.checks.plastic_parts import plastic_parts
from afterpart.checks.print_effort import hours, print_effort
from afterpart.checks.printed_pieces import alternatives, printed_pieces
from afterpart.checks.thinnest_wall import thinnest_wall
from afterpart.model.assembly import Assembly, Build, Place
from afterpart.model.case import BedEdge, Case, Hanging, PieceFacts
from afterpart.model.edges import Reference
from afterpart.model.feature import Feature, Latch, Lip, PrintedSeal
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, Finding
from afterpart.model.job import Job
from afterpart.model.outline import Circle, Datum, Outline
from afterpart.model.piece import Piece, PrintTime
from afterpart.model.wishes import CoverWish, HolderWish, LipWish, PrinterWish, Wishes

FACTS = PieceFacts("cover", 20_000.0, (0.0, 0.0, 0.0), (148.0, 96.0, 9.0), 8000.0, thinnest=2.4, thinnest_at=(1.0, 2.0, 3.0),
                   bed_edge=BedEdge(500.0, 500.0, 0.4), best_way="as built")
LIP = Lip("outer", (Circle("", (0, 0), 50.0),), (Circle("", (0, 0), 48.4),), 9.0, 10.0, 1.6, 0.2)


PLAIN = PrinterWish()


def case_of(facts: PieceFacts | None = FACTS, features: tuple[Feature, ...] = (), kind: str = "cover", material: str = "PETG",
            printer: PrinterWish = PLAIN, **tables: object) -> Case:
    """One piece with these facts; facts None: not measured."""
    piece = Piece(kind, "lid", "cover", "A", (), 9.0, (), PrintTime(0.0, 0.0, ""), features=features, material=material)
    outline = Outline("mm", Reference("sheet", 10.0, 0.001), Datum("", (0.0, 0.0), 0.0), (), (), (), ())
    wishes = replace(Wishes(cover=CoverWish(), printer=printer), **tables)
    return Case(Job("lid", (), wishes=wishes), outline, Build((piece,)), (facts,) if facts else ())


def one(found: tuple[Finding, ...]) -> Finding:
    assert len(found) == 1, found
    return found[0]


def test_overhangs_add_up_and_bridges_are_left_out() -> None:
    at = (1.0, 2.0, 3.0)
    assert one(overhangs(case_of())).verdict == PASSES
    hanging = (Hanging("unsupported", 12.0, at), Hanging("unsupported", 3.0, at), Hanging("bridge", 50.0, at, 4.0))
    found = one(overhangs(case_of(replace(FACTS, hanging=hanging))))
    assert (found.verdict, found.value) == (FAILS, 15.0) and "(1.0, 2.0), 3.0 mm up" in found.advice
    assert one(overhangs(case_of(printer=PrinterWish(angle_deg=50.0)))).verdict == ATTENTION, "beyond the guides' 45 degrees"


def test_what_was_not_measured_is_not_judged() -> None:
    for check in (overhangs, bridges, thinnest_wall, bed_fit):
        assert one(check(case_of(None))).verdict == NOT_JUDGED
    assert one(thinnest_wall(case_of(replace(FACTS, thinnest=None)))).verdict == NOT_JUDGED
    assert first_layer_chamfer(case_of(None)) == () and print_effort(case_of(None)) == ()


def test_foam_is_not_printed() -> None:
    for check in (overhangs, bridges, thinnest_wall, first_layer_chamfer, bed_fit, print_effort):
        assert check(case_of(kind="filter_element")) == ()


@pytest.mark.parametrize(("span", "most", "verdict"), [
    (4.9, 10.0, PASSES), (5.1, 10.0, ATTENTION), (10.0, 10.0, ATTENTION), (10.2, 10.0, FAILS), (12.0, 30.0, ATTENTION),
    (12.0, 31.0, NOT_JUDGED)])
def test_bridges_at_both_ends_of_the_guides(span: float, most: float, verdict: str) -> None:
    facts = replace(FACTS, hanging=(Hanging("bridge", 9.0, (0, 0, 0), 1.0), Hanging("bridge", 9.0, (0, 0, 0), span)))
    found = one(bridges(case_of(facts, printer=PrinterWish(bridge=most))))
    assert found.verdict == verdict
    if verdict == FAILS:
        assert [(s.key, s.now, s.to) for s in found.suggestions] == [("printer.bridge", 10.0, 10.2)]


@pytest.mark.parametrize(("thinnest", "nozzle", "limit", "verdict"), [
    (1.2, 0.4, 0.8, PASSES), (0.8, 0.4, 0.8, ATTENTION), (0.79, 0.4, 0.8, FAILS), (1.3, 0.8, 1.6, FAILS),
    (0.9, 0.25, 0.8, ATTENTION)])
def test_a_wall_is_two_lines_or_more(thinnest: float, nozzle: float, limit: float, verdict: str) -> None:
    found = one(thinnest_wall(case_of(replace(FACTS, thinnest=thinnest), printer=PrinterWish(nozzle=nozzle))))
    assert found.verdict == verdict and found.limit.low == pytest.approx(limit)


def test_the_wish_that_makes_the_wall_is_named() -> None:
    found = one(thinnest_wall(case_of(replace(FACTS, thinnest=0.6), lip=LipWish(thickness=0.6))))
    assert [(s.key, s.to) for s in found.suggestions] == [("lip.thickness", 0.8)]


def test_chamfers_against_the_flare_of_a_first_layer() -> None:
    assert one(first_layer_chamfer(case_of())).verdict == ATTENTION, "the flare is from memory"
    low = one(first_layer_chamfer(case_of(replace(FACTS, bed_edge=BedEdge(500.0, 500.0, 0.2)),
                                          cover=CoverWish(first_layer_chamfer=0.2))))
    assert (low.verdict, low.value, low.limit.low) == (FAILS, 0.2, 0.3)
    assert [(s.key, s.to) for s in low.suggestions] == [("cover.first_layer_chamfer", 0.3)]
    sharp = one(first_layer_chamfer(case_of(replace(FACTS, bed_edge=BedEdge(500.0, 480.0, 0.4)))))
    assert (sharp.verdict, sharp.value) == (FAILS, 0.0) and "20 of 500 mm" in sharp.advice


def test_pieces_that_are_sharp_on_purpose() -> None:
    bare = replace(FACTS, bed_edge=BedEdge(500.0, 0.0, 0.0))
    flat = PrintedSeal("flat", (), 8.0, 2.0, 0.0, 0.0, 8.0, 0.0, 0.0, 0.2, 0.0, 70.0, "dust")
    assert first_layer_chamfer(case_of(bare, kind="cutting_guide")) == ()
    assert first_layer_chamfer(case_of(bare, (flat,), kind="gasket")) == ()
    assert one(first_layer_chamfer(case_of(bare, kind="clamp_frame"))).verdict == FAILS


def test_the_bed_and_the_way_a_piece_is_turned() -> None:
    """148 x 96 on 100 x 160: turned, 96 / 100 and 148 / 160."""
    assert one(bed_fit(case_of(printer=PrinterWish(bed=(220.0, 220.0))))).value == pytest.approx(148 / 220)
    found = one(bed_fit(case_of(printer=PrinterWish(bed=(100.0, 160.0)))))
    assert found.value == pytest.approx(0.96) and found.verdict == PASSES and "turned" in found.advice
    large = one(bed_fit(case_of(printer=PrinterWish(bed=(120.0, 120.0)))))
    assert large.verdict == FAILS and large.value == pytest.approx(148 / 120)
    assert [(s.key, s.to) for s in large.suggestions] == [("printer.bed", "[148, 148]")]


def test_mass_and_hours_by_hand() -> None:
    """20 cm3 of PETG: 25.4 g.  Slow: 0.4 x 0.2 x 30 = 2.4 mm3/s at 0.5; quick: 0.48 x 0.2 x 60 = 5.76 mm3/s at 0.8."""
    found = one(print_effort(case_of()))
    assert found.value == pytest.approx(25.4) and found.verdict == ATTENTION and found.from_memory
    assert hours(20_000.0, PrinterWish()) == pytest.approx((20_000 / (5.76 * 0.8 * 3600), 20_000 / (2.4 * 0.5 * 3600)))
    assert hours(20_000.0, PrinterWish(nozzle=1.0, layer=0.5))[0] == pytest.approx(20_000 / (15.0 * 0.8 * 3600)), "melt rate"
    assert one(print_effort(case_of(replace(FACTS, volume=900e3)))).verdict == FAILS, "1143 g on a spool of 1000"
    assert one(print_effort(case_of(material="wood"))).missing == ("printer.material",)


@given(st.floats(100.0, 1e6), st.floats(100.0, 1e6))
def test_more_volume_never_takes_less_time(a: float, b: float) -> None:
    small, large = sorted((a, b))
    assert hours(small, PrinterWish())[1] <= hours(large, PrinterWish())[1]


def test_a_lip_pushed_by_hand() -> None:
    """6 x 1 N/mm x 1 / 1.6^2 = 2.34 N/mm2 against 0.5 x 35 / 1.5 = 11.67."""
    found = one(load_across_layers(case_of(features=(LIP,))))
    assert found.value == pytest.approx(6 / 1.6**2) and found.limit.high == pytest.approx(35 * 0.5 / 1.5)
    assert found.verdict == ATTENTION and [s.input for s in found.sensitivity] == ["thickness", "push_n_per_mm"]
    tall = one(load_across_layers(case_of(features=(replace(LIP, top=17.0, thickness=1.0),))))
    assert tall.verdict == FAILS
    (change,) = tall.suggestions
    assert change.key == "lip.thickness" and 6 * 8 / change.to**2 <= 35 * 0.5 / 1.5 < 6 * 8 / (change.to - 0.011) ** 2


def test_hooks_that_bend_across_their_layers() -> None:
    """2100 N/mm2 x 2 % = 42 N/mm2; at 0.5 % 10.5, within 11.67."""
    hook = Latch((0.0, 0.0), 12.0, 1.6, 6.0, 0.8, 0.02)
    found = one(load_across_layers(case_of(features=(hook,), holder=HolderWish(kind="latches"))))
    assert found.value == pytest.approx(42.0) and found.verdict == FAILS
    assert [(s.key, s.to) for s in found.suggestions] == [("holder.kind", "frame")]
    assert one(load_across_layers(case_of(features=(replace(hook, strain=0.005),)))).verdict == ATTENTION


def test_across_layers_of_what_the_tables_do_not_know() -> None:
    assert load_across_layers(case_of()) == ()
    for name in ("wood", "TPU"):
        assert one(load_across_layers(case_of(features=(LIP,), material=name))).verdict == NOT_JUDGED


def test_of_a_piece_in_several_sizes_one_is_printed_judged_and_weighed() -> None:
    """A frame in three sizes of which one has a place: the others are alternatives; a coupon without a place is none."""
    def drawn(kind: str, stem: str) -> Piece:
        return Piece(kind, stem, stem, "A", (), 4.0, (), PrintTime(60.0, 60.0, ""), material="PETG")

    pieces = (drawn("cover", "cover"), drawn("clamp_frame", "frame"), drawn("clamp_frame", "frame_pilot_2-35"),
              drawn("clamp_frame", "frame_pilot_2-45"), drawn("hole_coupon", "coupon"))
    places = tuple(Place(stem, False, (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 1) for stem in ("cover", "frame"))
    build = Build(pieces, Assembly(places))
    facts = tuple(PieceFacts(piece.file_stem, 10_000.0, (0.0, 0.0, 0.0), (50.0, 40.0, 4.0), 2000.0) for piece in pieces)
    case = replace(case_of(), build=build, facts=facts)
    assert alternatives(build) == {"frame_pilot_2-35", "frame_pilot_2-45"}
    assert alternatives(replace(build, assembly=Assembly())) == set(), "without an assembly nothing tells which one is fitted"
    assert [printed.name for printed in printed_pieces(case)] == ["cover", "frame", "coupon"]
    (effort,) = print_effort(case)
    assert effort.value == pytest.approx(3 * 12.7) and "2 further sizes" in effort.advice
    assert [part.name for part in plastic_parts(case)] == ["PETG (cover, frame)"]
