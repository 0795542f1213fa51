"""The papers of a release that tell how to make it: parts list, print settings, assembly guide on paper and as a page.

Names: parts_list.csv, print_settings.txt, guide.pdf, guide.html.  Same build, same findings, same bytes.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Sequence

from afterpart.model.assembly import Build
from afterpart.model.finding import CheckReport
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.release import TitleBlock
from afterpart.release.guide_html import guide_html
from afterpart.release.guide_pdf import guide_pdf
from afterpart.release.guide_steps import guide_of
from afterpart.release.parts_list import PlatePiece, parts_csv, parts_list
from afterpart.release.print_settings import settings_text
from afterpart.release.step_pictures import step_pictures
from afterpart.solid.body import Body

GUIDE_FILES = {"parts_list.csv": "mm", "print_settings.txt": "mm", "guide.pdf": "mm", "guide.html": "mm"}
"""Every name that comes, with its unit."""


def guide_files(build: Build, bodies: Sequence[Body], job: Job, report: CheckReport | None, title: TitleBlock,
                outline: Outline | None = None, plate: tuple[PlatePiece, ...] = ()) -> dict[str, bytes]:
    """File name -> contents.  bodies: one for each piece of the build, in order; report: None where the checks have not run;
    outline, plate: as guide_steps.guide_of.

    JobError, SolidError: as put_together.parts_of.
    """
    stems = [piece.file_stem for piece in build.pieces]
    meshes = {stem: body.mesh for stem, body in zip(stems, bodies, strict=True)}
    volumes = {stem: body.volume for stem, body in zip(stems, bodies, strict=True)}
    guide = guide_of(build, job, report, meshes, volumes, outline, plate)
    pictures = step_pictures(build, meshes, guide.name, guide.orders)
    return {"parts_list.csv": parts_csv(parts_list(build, job, meshes, volumes, plate)),
            "print_settings.txt": settings_text(build, job, volumes, plate), "guide.pdf": guide_pdf(guide, pictures, title),
            "guide.html": guide_html(guide, pictures, title)}
