"""From all of it to the folder for others, and a folder held against its manifest.

`say` is called with a few words before each step that takes time.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from afterpart.errors import FolderError
from afterpart.files import check_folder, check_new, write_new_folder
from afterpart.model.history import History
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.release import PartPhoto
from afterpart.model.store import read_stored
from afterpart.parts.plate import make_plate
from afterpart.parts.print_correction import CORRECTED_NOTE
from afterpart.photo.load import load_picture
from afterpart.photo.part_photo import part_photo
from afterpart.pipeline.earlier import earlier_release, history_since
from afterpart.pipeline.folder import PIECES_FILE, Say, asked, outline_in_mm, title
from afterpart.pipeline.judging import Checked, checked_and_built, write_check
from afterpart.pipeline.making import built_of
from afterpart.pipeline.measuring import earlier_run, measure_where_needed
from afterpart.pipeline.speaking import in_language
from afterpart.release.drawing_files import balloon_places
from afterpart.release.manifest import MANIFEST, Difference, differences, digests_in, listed_in
from afterpart.release.release_files import Made, release_files, release_name, zip_bytes
from afterpart.solid.worker import Workshop


@dataclass(frozen=True)
class Release:
    """One finished release.  folder: its place; checked: what was judged; files: path in it -> contents, complete; archive: the
    same as a zip; history: what changed since the revisions before, None for the first."""

    folder: Path
    checked: Checked
    files: dict[str, bytes]
    archive: bytes
    history: History | None = None


@dataclass(frozen=True)
class Verified:
    """A folder held against its manifest.  count: of files listed; sha256: of the manifest itself; differences: by path."""

    count: int
    sha256: str
    differences: tuple[Difference, ...]


def release_of(folder: Path, pieces: Path, out: Path, say: Say, since: Path | None = None) -> Release:
    """The folder for others of the job in `folder`, to be written as a new folder in `out`.  What is not measured, built and
    judged yet is, and written where `check_of` does: it is finished in itself.  since: the released folder it is compared with;
    None for the newest earlier revision in `out`, where there is one.

    Raises an AfterpartError when the job, the picture or a piece cannot be used, or this revision is released there already;
    nothing of the release is written here.
    """
    check_folder(pieces)
    check_folder(out)
    job, folder = asked(folder)
    place = out / release_name(job)
    check_new(place)
    check_new(place.with_name(f"{place.name}.zip"))
    before = earlier_release(job, out, since)
    with in_language(job, folder, say), Workshop() as workshop:
        workshop.start()
        measure_where_needed(job, folder, say)
        say("laying out the check plate")
        outline = outline_in_mm(folder)
        plate = make_plate(outline, job.plate, job.name, job.revision)
        checked, built = checked_and_built(job, folder, pieces, workshop, say, plate)
        case = checked.case
        # another printer is another printer: what leaves the house is as drawn
        plain = replace(case.build, correction=None,
                        notes=tuple(note for note in case.build.notes if note.code != CORRECTED_NOTE))
        if built is None or case.build.correction is not None:
            built = built_of(plain, job, say, workshop)
        photo = _part_photo(job, folder, case.outline)
        if photo is None:
            say("the photograph is not here as it was measured: its page is left out")
        say("drawing, and writing the guide")
        own = {name: data for name, data in built.files.items() if name not in (PIECES_FILE, "job.json")}
        own |= {name: data for name, data in checked.files.items() if name.endswith(".png") and name.startswith("passage_")}
        made = Made(plain, case.outline, job, title(job), checked.report, own, built.bodies, plate, photo,
                    checked.files["findings.pdf"],
                    {name: data for name, data in checked.files.items() if name.startswith("mate.")})
        history = None if before is None else history_since(before, made)
        files = release_files(made, workshop, history)
    say("packing")
    return Release(place, checked, files, zip_bytes(files, place.name), history)


def write_release(release: Release, folder: Path, pieces: Path) -> None:
    """Put the report beside the job, as `write_check` does, and the release in its place, whole or not at all.

    Raises FolderError when that cannot be done, or the release is there already."""
    write_check(release.checked, folder, pieces)
    write_new_folder(release.folder, release.files, release.archive)


def verify_of(folder: Path) -> Verified:
    """A released folder held against its manifest.  Raises FolderError when folder or manifest cannot be used."""
    found = digests_in(folder)
    if MANIFEST not in found:
        raise FolderError(f"{folder}: found no {MANIFEST}, expected a folder that afterpart release made. Check the name.")
    data = read_stored(folder / MANIFEST)
    listed = listed_in(data, str(folder / MANIFEST))
    del found[MANIFEST]
    return Verified(len(listed), hashlib.sha256(data).hexdigest(), differences(listed, found))


def _part_photo(job: Job, folder: Path, outline: Outline) -> PartPhoto | None:
    """The old part's photograph, encoded anew; None where the outline was not measured from the picture that is there."""
    earlier, path = earlier_run(folder), folder / job.shots[0].file
    if earlier is None or earlier.edges.camera is None or not path.is_file():
        return None
    picture = load_picture(path, job.shots[0])
    if picture.sha256 != earlier.photo_sha256:
        return None
    return part_photo(picture, earlier.edges, outline, balloon_places(outline))
