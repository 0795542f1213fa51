"""Writes docs/job_file.md: every key of a job file, from the descriptions in the code.

Run: python docs/make_job_keys.py.  A test runs it and compares.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

from afterpart.job.layout import DamageKeys, DatumKeys, HeightKeys, JobKeys, PhotoKeys, PlateKeys, ReadingKeys

TABLES = (("The job itself", JobKeys), ("`[[photo]]`, once per photograph", PhotoKeys),
          ("`[[damage]]`, once per damaged place", DamageKeys),
          ("`[[reading]]`, once per hand measurement", ReadingKeys), ("`[[height]]`, once per level", HeightKeys),
          ("`[datum]`", DatumKeys), ("`[plate]`", PlateKeys))
HEAD = """# Every key of a job file

Written by `docs/make_job_keys.py` from the code; a test keeps the two alike. `afterpart new FOLDER --photo PICTURE` makes a job
file with all of this explained in place. Lengths are in mm. A key that is not listed is refused, with its line.
"""


def page() -> str:
    """The whole text of docs/job_file.md."""
    text = HEAD
    for title, keys in TABLES:
        text += f"\n## {title}\n\n| key | meaning | left out |\n|---|---|---|\n"
        for name, field in keys.model_fields.items():
            default = field.get_default(call_default_factory=True) if not field.is_required() else None
            has_text = isinstance(default, str | int | float) and default != ""
            shown = "must be given" if field.is_required() else f"`{default}`".replace("True", "true") if has_text else ""
            text += f"| `{field.alias or name}` | {field.description} | {shown} |\n"
    return text


if __name__ == "__main__":
    (Path(__file__).parent / "job_file.md").write_text(page())
