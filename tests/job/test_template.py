"""The commented job file: it is a job as it stands, and every line it offers is one the reader takes."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import tomllib
import typing
from pathlib import Path

import pytest

from afterpart.errors import FolderError
from afterpart.job.layout import JobKeys
from afterpart.job.read import parse_job, read_job
from afterpart.job.template import write_job_template
from afterpart.model.job import Job, Shot

OFFERED = re.compile(r"^# (?=\w+ = |\[)", re.MULTILINE)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    photo = tmp_path / 'it "is".jpg'
    photo.write_bytes(b"not looked at")
    write_job_template(tmp_path / "inlet_cover", photo)
    return tmp_path / "inlet_cover"


def test_the_new_job_can_be_read_as_it_stands(folder: Path) -> None:
    assert read_job(folder) == Job("inlet cover", (Shot('it "is".jpg'),))
    assert (folder / 'it "is".jpg').read_bytes() == b"not looked at"


def test_every_offered_line_is_accepted(folder: Path) -> None:
    text = OFFERED.sub("", (folder / "job.toml").read_text())
    job = parse_job(re.sub(r"(?m)^scan = .*\n", "", text))
    wishes = job.wishes
    assert wishes.cover and wishes.bolts and wishes.seal and wishes.filter and wishes.screws and wishes.trials
    assert wishes.cover.number == "AP-12" and wishes.bolts.holes == ("c1", "c2") and wishes.trials[0].turns == 6.0
    assert job.shots[0].calliper == 110.0 and job.readings and job.datum.kind == "holes" and job.plate.bed == (220.0, 220.0)


def test_every_key_of_the_job_file_is_offered(folder: Path) -> None:
    text = OFFERED.sub("", (folder / "job.toml").read_text())
    offered = tomllib.loads(text)
    left_out = set()
    for table, field in JobKeys.model_fields.items():
        for model in (m for hint in (field.annotation, *typing.get_args(field.annotation)) if hasattr(m := hint, "model_fields")):
            rows = offered[table] if isinstance(offered[table], list) else [offered[table]]
            given = {key for row in rows for key in row}
            left_out |= {f"{table}.{f.alias or name}" for name, f in model.model_fields.items() if (f.alias or name) not in given}
    assert set(JobKeys.model_fields) == set(offered)
    assert left_out == {"damage.photo", "height.u", "edit.at", "edit.id", "edit.photo", "datum.origin", "datum.angle_deg",
                        "plate.first_layer_chamfer", "cover.first_layer_chamfer"}, "for those who read the documentation"


def test_nothing_is_written_over(folder: Path, tmp_path: Path) -> None:
    before = (folder / "job.toml").read_bytes()
    with pytest.raises(FolderError, match="already"):
        write_job_template(folder, tmp_path / 'it "is".jpg')
    with pytest.raises(FolderError, match="no such file"):
        write_job_template(tmp_path / "other", tmp_path / "absent.jpg")
    assert (folder / "job.toml").read_bytes() == before and not (tmp_path / "other").exists()
