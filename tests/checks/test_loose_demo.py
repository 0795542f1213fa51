"""The compressor cover of the examples, its pieces built and everything on it followed on the solids."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

import pytest

from afterpart.checks.fragments import fragments
from afterpart.checks.loose_items import loose_items
from afterpart.checks.passages import bars_of, passages_of
from afterpart.checks.swarf import swarf
from afterpart.model.assembly import Build
from afterpart.model.case import Case
from afterpart.model.feature import Hole, Seat
from afterpart.model.finding import ATTENTION, FAILS, NOT_JUDGED, PASSES, Finding
from afterpart.parts.stage import make_pieces
from afterpart.solid.body import Mesh
from afterpart.solid.worker import Workshop
from tests.parts.examples import case_of, example


@pytest.fixture(scope="module")
def demo(built_pieces: Workshop) -> tuple[Case, dict[str, Mesh]]:
    case = case_of("compressor_cover")
    outline, job, build = case.outline, case.job, case.build
    placed = {place.piece for place in build.assembly.places}
    meshes = {piece.file_stem: built_pieces.build(piece).mesh for piece in build.pieces if piece.file_stem in placed}
    return Case(job, outline, build, passages=passages_of(build, job, meshes)), meshes


def told(case: Case, **machine: object) -> Case:
    wishes = case.job.wishes
    return replace(case, job=replace(case.job, wishes=replace(wishes, machine=replace(wishes.machine, **machine))))


def about(findings: tuple[Finding, ...], words: str) -> Finding:
    (found,) = [finding for finding in findings if words in finding.subject]
    return found


def test_everything_that_is_fitted_but_the_cover_has_one_finding_with_a_picture(demo: tuple[Case, dict[str, Mesh]]) -> None:
    """One for each row of the parts list and each piece on the cover, and one for the foam between its bars."""
    case = told(demo[0], swallows=True, clean_port=16.0)
    found = loose_items(case)
    rows = len({item.name for item in case.build.assembly.items}) + len(case.build.assembly.places) - 1 + 1
    assert len({finding.subject for finding in found}) == len(found) == rows
    assert all(finding.picture and finding.severity == 9 and finding.verdict != NOT_JUDGED for finding in found)


def test_the_frame_s_screws_come_out_to_the_outside_past_a_head_wider_than_its_hole(demo: tuple[Case, dict[str, Mesh]]) -> None:
    case = demo[0]
    finding = about(loose_items(case), "screw")
    (item,) = [one for one in case.build.assembly.items if one.kind == "screw"]
    bores = {f.diameter for piece in case.build.pieces if piece.kind == "cover" for f in piece.features
             if isinstance(f, Hole) and f.purpose == "screw"}
    assert finding.verdict == PASSES and {finding.value} == bores and finding.limit.high == item.head_diameter
    assert "to the outside" in finding.advice


def test_the_frame_keeps_the_element_and_its_screws_keep_the_frame(demo: tuple[Case, dict[str, Mesh]]) -> None:
    case = told(demo[0], swallows=True, clean_port=16.0)
    assert "clamp frame is in its way" in about(loose_items(case), "filter element").advice
    frame = about(loose_items(case), "clamp frame")
    assert frame.verdict == ATTENTION and frame.value == sum(len(i.at) for i in case.build.assembly.items if i.kind == "screw")
    untold = told(demo[0], swallows=None, clean_port=None)
    assert about(loose_items(untold), "clamp frame").verdict == NOT_JUDGED


def test_without_the_frame_the_element_is_free_and_fails(demo: tuple[Case, dict[str, Mesh]]) -> None:
    case, meshes = demo
    assembly = case.build.assembly
    bare = Build(case.build.pieces, replace(assembly, places=tuple(p for p in assembly.places if p.piece != "clamp_frame"),
                                            items=tuple(i for i in assembly.items if i.kind != "screw")))
    without = replace(told(case, swallows=True), build=bare, passages=passages_of(bare, case.job, meshes))
    assert about(loose_items(without), "filter element").verdict == FAILS


def test_no_ball_wider_than_the_wanted_span_passes_the_bars(demo: tuple[Case, dict[str, Mesh]]) -> None:
    case = demo[0]
    (way,) = [one for one in case.passages if one.by == "the bars"]
    holder = case.job.wishes.holder
    assert holder is not None and 0 < way.room <= holder.free_span and not way.is_open
    bars, opening = bars_of(case.build)
    assert bars and opening and any(isinstance(f, Seat) for piece in case.build.pieces for f in piece.features)


def test_bars_and_formed_threads_get_attention_never_a_plain_pass(demo: tuple[Case, dict[str, Mesh]]) -> None:
    case = told(demo[0], swallows=True, clean_port=16.0)
    assert [finding.verdict for finding in (*fragments(case), *swarf(case))] == [ATTENTION, ATTENTION]


def test_a_bracket_has_nothing_to_fall_into_and_a_lid_s_cord_stays_in_its_joint() -> None:
    outline, job = example("bracket")
    assert loose_items(Case(job, outline, make_pieces(outline, job))) == ()
    outline, job = example("pump_lid")
    build = make_pieces(outline, job)
    found = loose_items(Case(job, outline, build, passages=passages_of(build, job, {})))
    assert about(found, "cord").verdict == PASSES
