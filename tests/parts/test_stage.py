"""All pieces of the three examples, what jobs ask for, and how the pieces sit together."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Point

from afterpart.errors import JobError
from afterpart.geometry.chain import chain_polygon, contains, polygon_chain
from afterpart.geometry.segments import segments_box
from afterpart.model.assembly import Build
from afterpart.model.feature import Boss, Groove, Hole, Seat
from afterpart.model.piece import Add, Piece, Prism
from afterpart.model.wishes import BoltWish, CoverWish, FilterWish, HolderWish, SealWish, Trial, Wishes
from afterpart.parts.stage import kinds_wanted, make_pieces
from afterpart.release.build_files import check_names
from tests.parts.examples import case_of, example


@pytest.fixture(scope="module")
def compressor() -> Build:
    return case_of("compressor_cover").build


def piece(build: Build, kind: str) -> Piece:
    return next(p for p in build.pieces if p.kind == kind)


def test_a_job_gets_what_its_tables_ask_for() -> None:
    assert kinds_wanted(Wishes()) == ()
    assert kinds_wanted(Wishes(cover=CoverWish())) == ("cover",)
    assert kinds_wanted(Wishes(seal=SealWish(kind="flat"))) == ("gasket",)
    assert kinds_wanted(Wishes(cover=CoverWish(), seal=SealWish(kind="cord"))) == ("cover",)
    framed = ("cover", "clamp_frame", "filter_element", "cutting_guide", "hole_coupon")
    assert kinds_wanted(Wishes(filter=FilterWish())) == framed
    pinned = Wishes(filter=FilterWish(), holder=HolderWish(kind="pins"))
    assert kinds_wanted(pinned) == ("cover", "filter_element", "cutting_guide")
    assert kinds_wanted(replace(pinned, make=("filter_element",))) == ("filter_element",)


def test_the_compressor_cover_gets_every_piece(compressor: Build) -> None:
    kinds = ["cover", "gasket", *["clamp_frame"] * 5, "filter_element", "cutting_guide", "hole_coupon"]
    assert [p.kind for p in compressor.pieces] == kinds
    told = {note.code: note.text for note in compressor.notes}
    assert "corners too tight" in told["seal_no_cord"] and "land narrow" in told["seal_no_cord"]


def test_the_element_lies_in_the_seat_and_hides_the_opening(compressor: Build) -> None:
    seat = next(f for f in piece(compressor, "cover").features if isinstance(f, Seat))
    chosen = next(row for row in compressor.cuts if row.chosen)
    element = polygon_chain(chosen.corners)
    assert contains(seat.pocket, element)
    rim = chain_polygon(element).buffer(-seat.rim)
    assert rim.buffer(0.02).contains(chain_polygon(seat.opening))
    for x, y in seat.bosses:
        assert chain_polygon(element).distance(Point(x, y)) >= seat.boss_diameter / 2


def test_the_groove_lies_between_pocket_and_bolts(compressor: Build) -> None:
    cover = piece(compressor, "cover")
    groove = next(f for f in cover.features if isinstance(f, Groove))
    seat = next(f for f in cover.features if isinstance(f, Seat))
    assert chain_polygon(groove.inner).contains(chain_polygon(seat.pocket))
    assert chain_polygon(groove.inner).exterior.distance(chain_polygon(seat.pocket)) == pytest.approx(2.5, abs=0.02)
    for hole in (f for f in cover.features if isinstance(f, Hole) and f.purpose == "bolt"):
        ring = chain_polygon(groove.outer)
        assert ring.exterior.distance(Point(*hole.center)) - hole.diameter / 2 >= 0.8
        assert not ring.contains(Point(*hole.center))


def test_frame_stands_on_the_ledge_and_squeezes_half(compressor: Build) -> None:
    cover, frame = piece(compressor, "cover"), piece(compressor, "clamp_frame")
    seat = next(f for f in cover.features if isinstance(f, Seat))
    place = next(p for p in compressor.assembly.places if p.piece == frame.file_stem)
    foot = max(f.top for f in frame.features if isinstance(f, Boss))
    assert place.flipped
    assert place.shift[2] - foot == pytest.approx(seat.ledge - cover.thickness)
    rib = next(f for f in frame.features if type(f).__name__ == "Rib")
    assert (place.shift[2] - rib.top) - (seat.ledge - cover.thickness) == pytest.approx(5.0)


def test_every_frame_screw_has_its_hole_and_its_boss(compressor: Build) -> None:
    cover, frame = piece(compressor, "cover"), piece(compressor, "clamp_frame")
    screws = next(i for i in compressor.assembly.items if i.kind == "screw")
    holes = {f.center for f in cover.features if isinstance(f, Hole) and f.purpose == "screw"}
    bosses = {(round(f.center[0], 6), round(-f.center[1], 6)) for f in frame.features if isinstance(f, Boss)}
    at = {(x, y) for x, y, _ in screws.at}
    assert at == holes and {(round(x, 6), round(y, 6)) for x, y in at} == bosses
    assert all(z == -cover.thickness for _, _, z in screws.at) and screws.axis == (0.0, 0.0, 1.0)


def test_bolts_reach_through_cover_and_washer_into_the_machine(compressor: Build) -> None:
    thickness, machine = piece(compressor, "cover").thickness, 12.0
    bolt = next(i for i in compressor.assembly.items if i.kind == "bolt")
    washer = next(i for i in compressor.assembly.items if i.kind == "washer")
    assert len(bolt.at) == len(washer.at) == 6
    assert washer.at[0][2] == pytest.approx(-thickness)
    assert bolt.at[0][2] == pytest.approx(-thickness - washer.length)
    assert 1.5 * bolt.diameter <= bolt.length + bolt.at[0][2] + 1e-9 <= machine - 1.0


def test_the_pump_lid_takes_a_round_cord() -> None:
    build = case_of("pump_lid").build
    assert [p.file_stem for p in build.pieces] == ["lid"]
    groove = next(f for f in build.pieces[0].features if isinstance(f, Groove))
    assert (groove.cord, groove.depth, groove.width, groove.bottom_radius) == (2.65, 2.0, 3.8, 0.3)
    assert groove.corner >= 3 * groove.cord
    assert any(item.kind == "cord" for item in build.assembly.items)


def test_the_bracket_keeps_its_slots() -> None:
    build = case_of("bracket").build
    bracket = build.pieces[0]
    assert bracket.file_stem == "bracket" and bracket.through_holes == 7
    assert [p.kind for p in build.pieces] == ["cover", "hole_coupon"]


def test_a_cord_in_the_recovered_channel_is_refused_naming_the_corner() -> None:
    outline, job = example("compressor_cover")
    assert job.wishes.seal is not None
    wishes = replace(job.wishes, seal=replace(job.wishes.seal, kind="cord"), make=("cover",))
    with pytest.raises(JobError, match=r"(?s)seal.*corner.*\(\d+\.\d, -?\d+\.\d\)"):
        make_pieces(outline, replace(job, wishes=wishes))


@pytest.mark.parametrize(("wishes", "named"), [
    (Wishes(), "asks for no piece"), (Wishes(make=("gasket",)), r"\[seal\]"),
    (Wishes(make=("clamp_frame",), filter=FilterWish(), holder=HolderWish(kind="pins")), "pins")])
def test_jobs_that_ask_for_nothing_or_for_what_cannot_be(wishes: Wishes, named: str) -> None:
    outline, job = example("bracket")
    with pytest.raises(JobError, match=named):
        make_pieces(outline, replace(job, wishes=wishes))


def test_an_outline_of_unknown_size_makes_nothing() -> None:
    outline, job = example("bracket")
    with pytest.raises(JobError, match="size of the part is unknown"):
        make_pieces(replace(outline, unit="px"), job)


def bolt_holes(build: Build) -> dict[str, float]:
    cover = build.pieces[0]
    return {f.id: f.diameter for f in cover.features if isinstance(f, Hole) and f.purpose == "bolt"}


def test_a_clearance_trial_sets_the_locating_holes_from_then_on() -> None:
    outline, job = example("bracket")
    job = replace(job, wishes=replace(job.wishes, bolts=BoltWish(thread="M6")))
    before = bolt_holes(make_pieces(outline, job))
    rows = (Trial("clearance", 6.3, "tight"), Trial("clearance", 6.45, "fits"), Trial("clearance", 6.7, "loose"))
    after = bolt_holes(make_pieces(outline, replace(job, wishes=replace(job.wishes, trials=rows))))
    assert before == {"c1": 6.4, "c2": 6.6, "c3": 6.6, "c4": 6.4}
    assert after == {"c1": 6.45, "c2": 6.6, "c3": 6.6, "c4": 6.45}
    shrunk = (Trial("clearance", 6.6, "tight"), Trial("clearance", 6.8, "fits"))
    wide = bolt_holes(make_pieces(outline, replace(job, wishes=replace(job.wishes, trials=shrunk))))
    assert set(wide.values()) == {6.8}


def test_a_fit_trial_sets_the_clearance_of_an_edge_inside_the_machine() -> None:
    outline, job = example("bracket")
    assert job.wishes.cover is not None
    inside = replace(job.wishes, cover=replace(job.wishes.cover, fit="inside", clearance=0.2))
    rows = (Trial("fit", 0.2, "rubs"), Trial("fit", 0.35, "fits"))

    def width(wishes: Wishes) -> float:
        first = make_pieces(outline, replace(job, wishes=wishes)).pieces[0].steps[0]
        assert isinstance(first, Add) and isinstance(first.prisms[0], Prism)
        left, _, right, _ = segments_box(first.prisms[0].outer)
        return right - left

    assert width(inside) == pytest.approx(104.0 - 0.4)
    assert width(replace(inside, trials=rows)) == pytest.approx(104.0 - 0.7)


def test_the_frames_in_four_pilot_sizes_can_be_written(compressor: Build) -> None:
    """File names of letters, figures, - and _ only; each says its size."""
    check_names(compressor)
    stems = [p.file_stem for p in compressor.pieces if "_pilot_" in p.file_stem]
    assert stems == [f"clamp_frame_pilot_2-{hundredths}" for hundredths in (35, 40, 45, 50)]
