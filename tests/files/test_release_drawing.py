"""The release's drawing read by others: pypdfium2 for scale, words and what stands on what, ezdxf for geometry against the piece.

Tolerances: 0.01 mm for DXF (the contract), 0.02 mm for PDF lengths (a stroke's width taken off).  Examples and their pieces come
from tests/parts/examples.py; the kernel cuts each once.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import dataclasses
import io
import math
from collections.abc import Callable
from types import ModuleType

import ezdxf
import numpy as np
import pytest
from shapely.geometry import LineString

from afterpart.geometry.segments import segments_box
from afterpart.model.feature import Groove, Hole
from afterpart.model.job import Job
from afterpart.model.outline import Arc, Circle, Line, Outline
from afterpart.model.piece import Piece
from afterpart.model.release import TitleBlock
from afterpart.model.wishes import LipWish
from afterpart.parts.stage import make_pieces
from afterpart.release import old_part_sheet, release_drawing, section_sheet
from afterpart.release.balloons import Balloon, boxes_meet, leader, place_balloons
from afterpart.release.characteristics import bolt_holes, characteristics, datum_letters, edge_of, mating_face
from afterpart.release.cut_view import Cut, cut_piece, settled
from afterpart.release.drawing_dxf import release_drawing_dxf, section_shift
from afterpart.release.drawing_files import DRAWING_FILES, drawing_files, drawn_piece
from afterpart.release.inspection_sheet import inspection_pdf
from afterpart.release.limits import hole_limits
from afterpart.release.paper import Placement
from afterpart.release.plan_view import cut_boxes, plan_box, plan_lines
from afterpart.release.release_drawing import SheetChoice, release_drawing_pdf
from afterpart.release.title_field import WIDE
from afterpart.solid.worker import Workshop
from tests import kernels
from tests.files.pdf_reading import PdfPage, lengths_near, read_pages, text_boxes, worst_overlap
from tests.parts.examples import NAMES, example

TITLE = TitleBlock("drawn part", "B", "2026-01-02", "afterpart test")


@dataclasses.dataclass(frozen=True)
class Drawn:
    outline: Outline
    job: Job
    piece: Piece
    cut: Cut
    pdf: bytes
    dxf: bytes


@pytest.fixture(scope="module")
def drawn(built_pieces: Workshop) -> dict[str, Drawn]:
    found = {}
    for name in NAMES:
        outline, job = example(name)
        piece = next(p for p in make_pieces(outline, job).pieces if p.kind == "cover")
        cut = cut_piece(piece, built_pieces)
        found[name] = Drawn(outline, job, piece, cut, release_drawing_pdf(piece, outline, job, TITLE, cut),
                            release_drawing_dxf(piece, outline, job, TITLE, cut))
    return found


def has_box(page: PdfPage, width: float, height: float, stroke: float) -> bool:
    size = page.paths[:, 2:] - page.paths[:, :2] - stroke
    return bool((np.abs(size - (width, height)).max(axis=1) <= 0.02).any())


@pytest.mark.parametrize("name", NAMES)
def test_two_sheets_of_a4_with_the_edge_at_true_scale_and_bars_of_100_mm(drawn: dict[str, Drawn], name: str) -> None:
    plan, section = read_pages(drawn[name].pdf)
    assert all(tuple(round(v) for v in page.size) == (297, 210) for page in (plan, section))
    x0, y0, x1, y1 = segments_box(edge_of(drawn[name].piece))
    assert has_box(plan, x1 - x0, y1 - y0, 2 * WIDE) or has_box(plan, x1 - x0, y1 - y0, WIDE)
    assert all(len(lengths_near(page, 100.0, 0.02, axis=0)) == 1 for page in (plan, section))


@pytest.mark.parametrize("name", NAMES)
def test_every_hole_of_the_piece_is_a_ring_of_its_size_on_the_sheet(drawn: dict[str, Drawn], name: str) -> None:
    plan = read_pages(drawn[name].pdf)[0]
    size = plan.paths[:, 2:] - plan.paths[:, :2]
    for hole in (f for f in drawn[name].piece.features if isinstance(f, Hole)):
        near = np.abs(size - hole.diameter - 2 * WIDE).max(axis=1).min()
        assert min(near, np.abs(size - hole.diameter - WIDE).max(axis=1).min()) < 0.02, hole.id


def spied_balloons(monkeypatch: pytest.MonkeyPatch) -> list[tuple[tuple[Balloon, ...], tuple[tuple[float, ...], ...]]]:
    """Every set of balloons that is drawn from now on, with what was taken before.  The sheet of the old part tries rings farther
    and farther out: its last one is the one that is drawn."""
    seen: list[tuple[tuple[Balloon, ...], tuple[tuple[float, ...], ...]]] = []
    tried: list[int] = []

    def spy_on(module: ModuleType) -> Callable[..., tuple[Balloon, ...] | None]:
        def spy(labels, view, area, widths, taken=(), gap=9.0):  # type: ignore[no-untyped-def]
            placed = place_balloons(labels, view, area, widths, taken, gap)
            if placed is not None:
                if module is old_part_sheet:
                    while tried:
                        seen.pop(tried.pop())
                    tried.append(len(seen))
                seen.append((placed, taken))
                boxes = np.array([b.box for b in placed])
                assert (boxes[:, :2] >= area[:2]).all() and (boxes[:, 2:] <= area[2:]).all()
            return placed
        return spy

    for module in (old_part_sheet, release_drawing, section_sheet):
        monkeypatch.setattr(module, "place_balloons", spy_on(module))
    return seen


def crosses(balloon: Balloon, box: tuple[float, ...]) -> bool:
    start, end = (np.array(p) for p in leader(balloon))
    points = start + (end - start) * np.linspace(0.0, 1.0, 400)[:, None]
    return bool(((points > box[:2]) & (points < box[2:])).all(axis=1).any())


def leaders_cross(one: Balloon, other: Balloon) -> bool:
    return LineString(leader(one)).crosses(LineString(leader(other)))


@pytest.mark.parametrize("name", NAMES)
def test_no_balloon_or_text_stands_on_another_and_no_leader_runs_through_one_or_over_another(
    drawn: dict[str, Drawn], name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = spied_balloons(monkeypatch)
    d = drawn[name]
    release_drawing_pdf(d.piece, d.outline, d.job, TITLE, d.cut)
    inspection_pdf(d.outline, (), TITLE)
    assert len(seen) >= 3 and sum(len(placed) for placed, _ in seen) >= 10
    for placed, taken in seen:
        for i, a in enumerate(placed):
            others = [b.box for k, b in enumerate(placed) if k != i] + list(taken)
            assert not any(boxes_meet(a.box, box) for box in others), a.label
            assert not any(crosses(a, box) for box in others), a.label
            assert not [b.label.number for b in placed[:i] if leaders_cross(a, b)], a.label


@pytest.mark.parametrize("name", NAMES)
def test_texts_on_the_sheets_never_overlap(drawn: dict[str, Drawn], name: str) -> None:
    """Boxes of all text objects as the other reader finds them: no two cover each other by more than a tenth of a mm."""
    for k, boxes in enumerate(text_boxes(drawn[name].pdf)):
        assert len(boxes) > 20
        assert worst_overlap(boxes) < 0.1, k


REVISIONS = tuple(f"Revision {letter}, 2026-0{month}-01, since revision {before}: {month} sizes and 0 places of the drawing "
                  "changed, 11 of the pieces; see history.pdf."
                  for letter, before, month in (("E", "D", 5), ("D", "C", 4), ("C", "B", 3), ("B", "A", 2)))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("page", ["A4", "letter"])
def test_the_last_three_revisions_stand_on_the_second_sheet_clear_of_everything(drawn: dict[str, Drawn], name: str,
                                                                                page: str) -> None:
    d = drawn[name]
    pdf = release_drawing_pdf(d.piece, d.outline, d.job, TITLE, d.cut, SheetChoice(page, revisions=REVISIONS))
    plan, section = (" ".join(sheet.text.split()) for sheet in read_pages(pdf))
    for revision in REVISIONS[:3]:
        assert revision in section and revision not in plan
    assert "since revision A" not in section
    assert worst_overlap(text_boxes(pdf)[1]) < 0.1


@pytest.mark.parametrize("name", NAMES)
def test_numbers_are_those_of_the_outline_and_new_ones_follow_on(drawn: dict[str, Drawn], name: str) -> None:
    d = drawn[name]
    found = characteristics(d.piece, d.outline, d.job)
    numbers = [c.number for c in found] + [n for c in found for n in c.also]
    assert len(numbers) == len(set(numbers))
    known = {int(x.id[1:]): x for x in d.outline.dimensions}
    for c in found:
        assert (c.number in known) == bool(c.old)
        if c.old:
            assert known[c.number].id == c.old
    by_circle = {x.of[0]: int(x.id[1:]) for x in d.outline.dimensions if x.kind == "diameter"}
    holes = {by_circle[h.id]: h for h in bolt_holes(d.piece)}
    assert {c.number: c.nominal for c in found if c.number in holes} == {n: h.diameter for n, h in holes.items()}


@pytest.mark.parametrize("name", NAMES)
def test_words_say_limits_datums_section_and_title(drawn: dict[str, Drawn], name: str) -> None:
    d = drawn[name]
    plan, section = (" ".join(page.text.split()) for page in read_pages(d.pdf))
    letters = datum_letters(d.piece)
    assert set(letters.values()) == {"B", "C"}
    for hole in bolt_holes(d.piece):
        stray = hole_limits(hole).high - hole.diameter
        assert f"{hole.id} Ø{hole.diameter:g} ±{stray:.2f}" in plan
        assert f"{hole.center[0] + 0.0:.2f}" in section
    for words in ("ISO 2768-1, class c", "drawn part", "2026-01-02", "1 / 2", "Print at 100 %", "ISO 5459"):
        assert words in plan, words
    assert "A-A (" in section and "2 / 2" in section and "thickness" in section
    groove = next((f for f in d.piece.features if isinstance(f, Groove)), None)
    assert ("width of the groove" in section) == (groove is not None)
    if groove is not None:
        assert f"{groove.width:g} " in section and "Z (5:1)" in section


def test_cut_goes_through_groove_seat_and_a_bolt_hole(drawn: dict[str, Drawn]) -> None:
    """Of the compressor's cover: the section is in as many lumps as ground is cut, and its area is what the heights say."""
    d = drawn["compressor_cover"]
    turn = math.radians(d.cut.line.direction_deg)
    x, y = d.cut.line.point
    aside = [abs((h.center[0] - x) * math.sin(turn) - (h.center[1] - y) * math.cos(turn)) for h in bolt_holes(d.piece)]
    assert min(aside) < 1e-9
    assert d.cut.groove_s is not None
    shape = d.cut.shape()
    assert abs(shape.area - d.cut.section.area) < 0.01
    assert len(shape.geoms) == 3  # both sides of the inlet, and what the bolt hole leaves beyond it


@pytest.mark.parametrize("name", NAMES)
def test_dxf_is_the_piece_to_a_hundredth(drawn: dict[str, Drawn], name: str) -> None:
    d = drawn[name]
    document = ezdxf.read(io.StringIO(d.dxf.decode("cp1252")))
    assert not document.audit().errors
    assert document.units == 4 and document.header["$MEASUREMENT"] == 1
    model = document.modelspace()
    wanted = [(line.layer, s) for line in plan_lines(d.piece) for s in line.chain]
    shift = section_shift(d.piece, d.cut)
    for layer in {layer for layer, _ in wanted}:
        check_layer(model.query(f'*[layer=="{layer}"]'), [s for k, s in wanted if k == layer], (0.0, 0.0))
    check_layer(model.query('*[layer=="section"]'), list(d.cut.section.segments), shift)
    holes = {(round(e.dxf.center.x, 2), round(e.dxf.center.y, 2), round(2 * e.dxf.radius, 2))
             for e in model.query('CIRCLE[layer=="hole"]')}
    assert holes == {(round(f.center[0], 2) + 0.0, round(f.center[1], 2) + 0.0, round(f.diameter, 2))
                     for f in d.piece.features if isinstance(f, Hole)}


def check_layer(entities, segments, shift) -> None:  # type: ignore[no-untyped-def]
    """As many entities as segments, each at its place: ends of lines and arcs, middles and radii of arcs and circles."""
    assert len(entities) == len(segments)
    for entity, segment in zip(entities, segments, strict=True):
        if isinstance(segment, Line):
            found, wanted = (entity.dxf.start, entity.dxf.end), (segment.start, segment.end)
        elif isinstance(segment, Circle):
            found, wanted = (entity.dxf.center,), (segment.center,)
        else:
            assert isinstance(segment, Arc)
            ends = (entity.start_point, entity.end_point) if segment.ccw else (entity.end_point, entity.start_point)
            found, wanted = (*ends, entity.dxf.center), (segment.start, segment.end, segment.center)
        if not isinstance(segment, Line):
            assert abs(entity.dxf.radius - segment.radius) < 0.01
        for p, q in zip(found, wanted, strict=True):
            assert math.dist((p.x, p.y), (q[0] + shift[0], q[1] + shift[1])) < 0.01


def test_kernel_started_anew_gives_the_same_bytes(drawn: dict[str, Drawn]) -> None:
    """The kernel tells a section's loops in any order; the file must not show it."""
    d = drawn["compressor_cover"]
    with kernels.fresh(), Workshop() as workshop:
        cuts = [cut_piece(d.piece, workshop) for _ in range(2)]
    for cut in cuts:
        assert release_drawing_dxf(d.piece, d.outline, d.job, TITLE, cut) == d.dxf
        assert release_drawing_pdf(d.piece, d.outline, d.job, TITLE, cut) == d.pdf


def test_a_section_told_otherwise_is_the_same_section(drawn: dict[str, Drawn]) -> None:
    section = drawn["compressor_cover"].cut.section
    turned = tuple(loop[3:] + loop[:3] for loop in reversed(section.loops))
    assert settled(dataclasses.replace(section, loops=turned)) == section


def test_same_input_same_bytes(drawn: dict[str, Drawn]) -> None:
    d = drawn["pump_lid"]
    assert release_drawing_pdf(d.piece, d.outline, d.job, TITLE, d.cut) == d.pdf
    assert release_drawing_dxf(d.piece, d.outline, d.job, TITLE, d.cut) == d.dxf


@pytest.mark.parametrize(("page", "size"), [("A3", (420, 297)), ("letter", (279, 216))])
def test_other_pages(drawn: dict[str, Drawn], page: str, size: tuple[int, int]) -> None:
    d = drawn["compressor_cover"]
    pages = read_pages(release_drawing_pdf(d.piece, d.outline, d.job, TITLE, d.cut, SheetChoice(page, "A. Maker")))
    assert [tuple(round(v) for v in p.size) for p in pages] == [size, size]
    assert "A. Maker" in pages[0].text
    x0, y0, x1, y1 = plan_box(d.piece)
    assert has_box(pages[0], x1 - x0, y1 - y0, WIDE) or has_box(pages[0], x1 - x0, y1 - y0, 2 * WIDE)


def test_larger_than_the_page_comes_in_tiles_that_meet_at_their_marks(drawn: dict[str, Drawn], built_pieces: Workshop) -> None:
    """The bracket at three times its size: tiles at 1:1, each bolt hole whole on some tile, the section sheet still one page."""
    d = drawn["bracket"]
    piece = tripled(d.piece)
    cut = cut_piece(piece, built_pieces)
    pages = read_pages(release_drawing_pdf(piece, d.outline, d.job, TITLE, cut))
    tiles = [p for p in pages if "tile " in p.text]
    assert len(tiles) >= 2 and len(pages) == len(tiles) + 1
    assert all(len(lengths_near(p, 100.0, 0.02, axis=0)) >= 1 for p in tiles)
    size = np.vstack([p.paths[:, 2:] - p.paths[:, :2] for p in tiles])
    for hole in bolt_holes(piece):
        gaps = [np.abs(size - hole.diameter - stroke).max(axis=1).min() for stroke in (WIDE, 2 * WIDE)]
        assert min(gaps) < 0.02


def tripled(piece: Piece) -> Piece:
    """The piece with everything in the plane three times as far from the origin, holes and radii too."""
    def grown(value: object) -> object:
        if isinstance(value, float):
            return 3.0 * value
        if isinstance(value, tuple):
            return tuple(grown(v) for v in value)
        if isinstance(value, Line | Arc | Circle):
            changes = {f.name: grown(getattr(value, f.name)) for f in dataclasses.fields(value) if f.name not in ("id", "ccw")}
            return dataclasses.replace(value, **changes)
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            names = ("outer", "openings", "chain", "center", "diameter")
            return dataclasses.replace(value, **{n: grown(getattr(value, n)) for n in names if hasattr(value, n)})
        return value
    steps = tuple(dataclasses.replace(s, prisms=tuple(grown(p) for p in s.prisms)) if hasattr(s, "prisms") else s
                  for s in piece.steps)
    return dataclasses.replace(piece, steps=steps, features=tuple(grown(f) for f in piece.features if isinstance(f, Hole)))


def test_letters_of_the_cut_keep_off_everything_else(drawn: dict[str, Drawn]) -> None:
    d = drawn["compressor_cover"]
    a, b = cut_boxes(d.cut.line, Placement((0.0, 0.0)))[:2]
    x0, y0, x1, y1 = plan_box(d.piece)
    assert not boxes_meet(a, b) and not boxes_meet(a, (x0, y0, x1, y1)) and not boxes_meet(b, (x0, y0, x1, y1))


def test_files_of_a_lid_with_a_lip_and_of_a_build_without_one(built_pieces: Workshop) -> None:
    """All five names; the lip's sizes stand on the section and the thickness is that of the mating face, not of the lip."""
    outline, job = example("bracket")
    job = dataclasses.replace(job, wishes=dataclasses.replace(job.wishes, lip=LipWish(height=1.0)))
    build = make_pieces(outline, job)
    files = drawing_files(build, outline, job, TITLE, built_pieces)
    alone = drawing_files(dataclasses.replace(build, pieces=()), outline, job, TITLE, built_pieces, SheetChoice("letter"))
    assert files.keys() == DRAWING_FILES.keys()
    assert alone.keys() == {"paper.pdf", "inspection.pdf", "inspection.csv"}
    section = " ".join(read_pages(files["drawing.pdf"])[1].text.split())
    assert "height of the lip" in section and "across the lip" in section
    piece = drawn_piece(build)
    assert piece is not None and piece.thickness == mating_face(piece) + 1.0
    found = {c.key: c for c in characteristics(piece, outline, job) if c.key}
    assert found["thickness"].nominal == mating_face(piece) and found["lip_height"].nominal == 1.0
    for boxes in text_boxes(files["drawing.pdf"]):
        assert worst_overlap(boxes) < 0.1
    assert all(tuple(sorted(round(v) for v in p.size)) == (216, 279) for p in read_pages(alone["inspection.pdf"]))


def test_an_unknown_page_is_refused(drawn: dict[str, Drawn]) -> None:
    d = drawn["bracket"]
    with pytest.raises(KeyError, match="napkin"):
        release_drawing_pdf(d.piece, d.outline, d.job, TITLE, d.cut, SheetChoice("napkin"))
