"""A whole release of a small job, read back file by file by other readers; its manifest; same input, same bytes."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import zipfile
from dataclasses import dataclass, replace
from html.parser import HTMLParser
from pathlib import Path

import lib3mf
import pytest
import trimesh
from ezdxf import recover
from PIL import ExifTags, Image

from afterpart.checks.stage import run_checks
from afterpart.model.camera import Camera
from afterpart.model.case import Case
from afterpart.model.edges import EdgeMap
from afterpart.model.finding import Caution
from afterpart.model.job import Job, Shot
from afterpart.model.outline import Outline
from afterpart.model.release import PartPhoto, ReleaseWish, TitleBlock
from afterpart.model.store import parse_build, parse_job_json, parse_outline, parse_report
from afterpart.model.wishes import Trial
from afterpart.parts.plate import make_plate
from afterpart.parts.stage import make_pieces
from afterpart.photo.load import load_picture
from afterpart.photo.part_photo import part_photo
from afterpart.release.build_files import build_files
from afterpart.release.fit_report import telling_sizes
from afterpart.release.manifest import CHANGED, EXTRA, MANIFEST, MISSING, differences, listed_in
from afterpart.release.markdown import plain
from afterpart.release.readme import readme
from afterpart.release.release_files import Made, release_files, release_name, zip_bytes
from afterpart.solid.worker import Workshop
from tests import kernels
from tests.files.pdf_reading import pictures_in, read_pages
from tests.files.tagged_photo import GPS, PLACE, SECRETS, write_tagged
from tests.parts.examples import example

TITLE = TitleBlock("bench [bracket] <b>", "B", "2026-01-02", "afterpart test")
WISH = ReleaseWish("CC BY 4.0", "A. Maker", "letter", "the maker's bench")
SECRET = "holiday_at_home_street.jpg"
EXAMPLE_PHOTO = Path(__file__).parents[2] / "examples" / "compressor_cover" / "inlet_cover.jpg"


@dataclass(frozen=True)
class Told:
    made: Made
    files: dict[str, bytes]
    tagged: bytes
    small: bytes


def photo(folder: Path, outline: Outline) -> tuple[PartPhoto, bytes]:
    """The example's photograph with tags put in, as the release takes it, and the small picture of its tags.  The camera is
    invented: straight above, so that the part lies in the picture."""
    small = write_tagged(EXAMPLE_PHOTO, folder / SECRET)
    picture = load_picture(folder / SECRET, Shot(SECRET))
    rows, columns = picture.colour.shape[:2]
    camera = Camera(columns, rows, 4000.0, 0.0, 0.0, ((1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0)), (0.0, 0.0, 620.0))
    return part_photo(picture, EdgeMap("mm", (), outline.reference, camera, 20.0, 0.0), outline, {}), small


@pytest.fixture(scope="module")
def told(built_pieces: Workshop, tmp_path_factory: pytest.TempPathFactory) -> Told:
    outline, job = example("bracket")
    trial = Trial("clearance", 6.6, "fits", printed=6.48, note="first | print")
    job = replace(job, name=TITLE.name, revision="B", date=TITLE.date, shots=(replace(job.shots[0], file=SECRET),), release=WISH,
                  wishes=replace(job.wishes, trials=(trial,), coupon=None, make=()))
    build = make_pieces(outline, job)
    report = run_checks(Case(job, outline, build))
    made = build_files(build, TITLE, built_pieces, job.wishes.printer)
    plate = make_plate(outline, job.plate, job.name, job.revision)
    folder = tmp_path_factory.mktemp("tagged")
    shown, small = photo(folder, outline)
    whole = Made(build, outline, job, TITLE, report, made.files, made.bodies, plate, shown)
    return Told(whole, release_files(whole, built_pieces), (folder / SECRET).read_bytes(), small)


def test_all_that_a_stranger_needs_is_there(told: Told) -> None:
    assert {"README.md", "guide.pdf", "guide.html", "parts_list.csv", "print_settings.txt", "drawing.pdf", "drawing.dxf",
            "paper.pdf", "inspection.pdf", "inspection.csv", "old_part.jpg", "findings.pdf", "findings.json", "report.json",
            "failure_modes.csv", "sources.md", "fit_report.md", "data/outline.json", "data/job.json", "data/pieces.json",
            MANIFEST, "plate/check_plate.pdf", "plate/check_plate.3mf"} <= set(told.files)
    for piece in told.made.build.pieces:
        assert {f"pieces/{piece.file_stem}{ending}" for ending in (".step", ".3mf", "_mm.stl", ".glb", ".png")} <= set(told.files)


class Tags(HTMLParser):
    """Counts what a page opens."""

    def __init__(self) -> None:
        super().__init__()
        self.opened: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.opened.append(tag)


def test_every_file_is_read_by_another_reader(told: Told) -> None:
    seen = set()
    for path, data in told.files.items():
        ending = path.rpartition(".")[2]
        seen.add(ending)
        assert data, path
        if ending == "pdf":
            assert any(page.text.strip() for page in read_pages(data)), path
        elif ending == "dxf":
            document, audit = recover.read(io.BytesIO(data))
            assert not audit.errors and document.units == 4 and len(document.modelspace()) > 0, path
        elif ending in ("stl", "glb"):
            assert sum(len(mesh.faces) for mesh in trimesh.load_scene(io.BytesIO(data), file_type=ending).geometry.values()) > 10
        elif ending == "3mf":
            model = lib3mf.get_wrapper().CreateModel()
            model.QueryReader("3mf").ReadFromBuffer(data)
            count = model.GetMeshObjects().Count()
            assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter and (count > 0 if "print_bed" in path else count == 1), path
        elif ending in ("png", "jpg"):
            Image.open(io.BytesIO(data)).load()
        elif ending == "json":
            json.loads(data)
        elif ending == "csv":
            rows = list(csv.reader(io.StringIO(data.decode())))
            assert len(rows) > 1 and len({len(row) for row in rows}) == 1, path
        elif ending == "step":
            assert data.startswith(b"ISO-10303-21") and data.rstrip().endswith(b"END-ISO-10303-21;"), path
        elif ending == "html":
            page = Tags()
            page.feed(data.decode())
            assert page.opened.count("html") == 1 and "script" not in page.opened
        else:
            assert ending in ("md", "txt") and data.decode().strip(), path
    assert seen == {"pdf", "dxf", "stl", "glb", "3mf", "png", "jpg", "json", "csv", "step", "html", "md", "txt"}


def test_the_data_are_those_it_was_made_from(told: Told) -> None:
    made, files = told.made, told.files
    assert parse_build(files["data/pieces.json"]) == made.build
    assert parse_report(files["report.json"], files["findings.json"]) == made.report
    assert parse_outline(files["data/outline.json"]).design == made.outline.design
    back = parse_job_json(files["data/job.json"])
    assert back.shots[0].file == "photo_1.jpg" and replace(back, shots=made.job.shots) == made.job


def test_the_papers_have_the_page_and_the_author_that_were_asked_for(told: Told) -> None:
    for page in read_pages(told.files["drawing.pdf"]):
        assert sorted(page.size) == pytest.approx([215.9, 279.4], abs=0.2)
    assert "A. Maker" in read_pages(told.files["drawing.pdf"])[0].text


def test_neither_the_photographs_name_nor_its_tags_are_released(told: Told) -> None:
    archive = zip_bytes(told.files, "folder")
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        assert not [name for name in opened.namelist() if SECRET.encode() in opened.read(name)]
    picture = Image.open(io.BytesIO(told.files["old_part.jpg"]))
    assert not picture.getexif() and not {"exif", "comment", "xmp", "mp", "icc_profile"} & set(picture.info)


def test_the_photograph_that_was_taken_has_place_names_and_a_small_picture(told: Told) -> None:
    """Otherwise the next test would find nothing because there was nothing."""
    tags = Image.open(io.BytesIO(told.tagged)).getexif()
    assert tuple(map(float, tags.get_ifd(GPS)[4])) == pytest.approx(PLACE[1])
    thumbnail = tags.get_ifd(ExifTags.IFD.IFD1)
    assert thumbnail[0x0202] == len(told.small) and told.small in told.tagged
    assert all(secret in told.tagged for secret in SECRETS)


def test_no_file_of_the_folder_holds_a_tag_of_the_photograph(told: Told) -> None:
    pictures = 0
    for path, data in told.files.items():
        inside = [data]
        if path.endswith(".3mf"):
            with zipfile.ZipFile(io.BytesIO(data)) as opened:
                inside += [opened.read(name) for name in opened.namelist()]
        if path.endswith(".pdf"):
            shown = pictures_in(data)
            pictures += len(shown)
            inside += shown
        for one in inside:
            assert not [secret for secret in (*SECRETS, b"Exif\0", b"GPSLatitude", told.small[-400:-20]) if secret in one], path
    assert pictures, "the sheet shows the photograph"


def test_the_manifest_lists_every_other_file_once_with_its_digest(told: Told) -> None:
    plain_manifest = json.loads(told.files[MANIFEST])
    rows = {row["path"]: row for row in plain_manifest["files"]}
    assert len(rows) == len(plain_manifest["files"]) and set(rows) == set(told.files) - {MANIFEST}
    for path, row in rows.items():
        assert row["sha256"] == hashlib.sha256(told.files[path]).hexdigest() and row["bytes"] == len(told.files[path])
        assert row["unit"] and row["purpose"], path
    assert {rows[path]["unit"] for path in rows if path.endswith((".step", ".3mf", ".stl", ".dxf"))} == {"mm"}
    assert {rows[path]["unit"] for path in rows if path.endswith(".glb")} == {"m"}, "glTF 2.0 asks for metres"
    assert plain_manifest["licence"] == WISH.licence and plain_manifest["revision"] == "B"


def test_a_mate_that_was_laid_on_the_cover_is_in_the_folder(told: Told, built_pieces: Workshop) -> None:
    mate = {"mate.json": b"{}", "mate.png": b"picture", "mate.svg": b"<svg/>"}
    files = release_files(replace(told.made, mate_files=mate), built_pieces)
    assert set(files) - set(told.files) == {"data/mate.json", "mate.png", "mate.svg"}
    assert [files[path] for path in ("data/mate.json", "mate.png", "mate.svg")] == list(mate.values())
    assert {row["path"] for row in json.loads(files[MANIFEST])["files"]} == set(files) - {MANIFEST}
    assert "`mate.png`" in files["README.md"].decode()


def test_the_readme_says_what_a_stranger_asks(told: Told) -> None:
    text = told.files["README.md"].decode()
    headings = re.findall(r"(?m)^## (.+)$", text)
    assert headings[0] == "Cautions" and len(headings) == len(set(headings)) == 10
    for wanted in (WISH.licence, WISH.author, WISH.reports, "clearance, drawn 6.6 mm: fits", "printed size 6.48 mm",
                   "local codes", "licensed", "calliper", "afterpart verify"):
        assert wanted.lower() in text.lower(), wanted
    assert plain(told.made.report.headline) in text
    for path in told.files:
        assert f"`{path}`" in text, path
    assert set(re.findall(r"!\[[^]]*\]\(([^)]+)\)", text)) <= set(told.files)
    assert "<b>" not in re.sub(r"\\<", "", text) and "\\[bracket\\]" in text


def test_three_readings_are_asked_for_by_their_number_on_the_inspection_sheet(told: Told) -> None:
    sizes = telling_sizes(told.made.outline)
    assert [shown.dimension.kind for shown in sizes] == ["width", "width", "distance"]
    # the bracket's own drawing: 104 by 62 (examples/bracket/bracket_truth.json)
    assert [shown.dimension.design for shown in sizes[:2]] == pytest.approx([104.0, 62.0], abs=0.01)
    numbers = {row[0]: row for row in csv.reader(io.StringIO(told.files["inspection.csv"].decode()))}
    for shown in sizes:
        assert numbers[str(shown.number)][1] == shown.dimension.id
        for form in ("README.md", "fit_report.md"):
            assert f"Size {shown.number} (" in told.files[form].decode()


def test_a_declined_use_stands_before_every_other_caution(told: Told) -> None:
    made = told.made
    report = replace(made.report, cautions=(Caution("heat", "Hot."), Caution("brakes", "Not for brakes.", declined=True)))
    text = readme(made.build, made.outline, made.job, report, TITLE, told.files).decode()
    declined, always, hot = text.index("Not for brakes"), text.index("at your own risk"), text.index("Hot.")
    assert text.index("## Cautions") < declined < always < hot


def test_without_licence_author_and_hours_the_readme_says_so(told: Told) -> None:
    made = told.made
    job = replace(made.job, release=ReleaseWish(), wishes=replace(made.job.wishes, trials=()))
    text = readme(made.build, made.outline, job, made.report, TITLE, told.files).decode()
    for sentence in ("has not chosen a licence", "gives no name", "No hours of service", "gives no address"):
        assert sentence in text
    assert "Test prints" not in text


def test_the_same_input_gives_the_same_bytes(told: Told) -> None:
    with kernels.fresh(), Workshop() as fresh:
        build = told.made.build
        made = build_files(build, TITLE, fresh, told.made.job.wishes.printer)
        again = release_files(replace(told.made, piece_files=made.files, bodies=made.bodies), fresh)
    assert {path for path in told.files if told.files[path] != again.get(path)} == set() and set(again) == set(told.files)
    assert zip_bytes(again, "x") == zip_bytes(told.files, "x")


def test_the_zip_holds_the_same_files_with_one_date(told: Told) -> None:
    with zipfile.ZipFile(io.BytesIO(zip_bytes(told.files, "bench_B"))) as opened:
        assert opened.testzip() is None
        assert {name: opened.read(name) for name in opened.namelist()} == {f"bench_B/{k}": v for k, v in told.files.items()}
        assert {info.date_time for info in opened.infolist()} == {(1980, 1, 1, 0, 0, 0)}


@pytest.mark.parametrize(("name", "revision", "folder"), [
    ("inlet cover", "A", "inlet_cover_A"), ("../../etc", "1/2", "etc_1_2"), ("Gehäuse Deckel", "B", "Gehäuse_Deckel_B"),
    ("...", "A", "part_A"), ("x" * 300, "C", "x" * 78 + "_C")])
def test_the_folders_name_carries_the_revision_and_no_place(name: str, revision: str, folder: str) -> None:
    assert release_name(Job(name, (Shot("a.jpg"),), revision)) == folder


def test_differences_are_told_by_kind() -> None:
    listed = {"a": "1" * 64, "b": "2" * 64, "c": "3" * 64}
    found = differences(listed, {"a": "1" * 64, "b": "9" * 64, "d": "4" * 64})
    assert [(one.path, one.kind) for one in found] == [("b", CHANGED), ("c", MISSING), ("d", EXTRA)]
    assert all(one.path in one.text for one in found) and differences(listed, listed) == ()


@pytest.mark.parametrize("path", ["../a", "/a", "b/../../a", "b\\a", ""])
def test_a_manifest_that_leads_out_of_its_folder_is_refused(path: str) -> None:
    data = json.dumps({"format": 1, "files": [{"path": path, "sha256": "0" * 64}]}).encode()
    with pytest.raises(OSError, match="inside the folder"):
        listed_in(data)


@pytest.mark.parametrize("data", [b"", b"[]", b"{}", b'{"format": 2, "files": []}', b'{"format": 1, "files": [{}]}', b"\xff"])
def test_what_is_no_manifest_is_refused(data: bytes) -> None:
    with pytest.raises(OSError, match="expected the manifest of a release"):
        listed_in(data)
