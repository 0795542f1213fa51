"""Writes docs/job_file.md: every key of a job file, from the descriptions in the code.

Run: python docs/make_job_keys.py.  A test runs it and compares.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic.fields import FieldInfo

from afterpart.job.cover_keys import (
    BoltKeys,
    BossKeys,
    ChangeKeys,
    CoverKeys,
    HoleKeys,
    InletKeys,
    LipKeys,
    RoleKeys,
    SealKeys,
)
from afterpart.job.drawing_keys import EditKeys, FixedKeys
from afterpart.job.layout import JobKeys
from afterpart.job.making_keys import CouponKeys, FilterKeys, HolderKeys, PrinterKeys, ScrewKeys, TrialKeys
from afterpart.job.mate_keys import MateKeys
from afterpart.job.photo_keys import DamageKeys, DatumKeys, HeightKeys, PhotoKeys, PlateKeys, ReadingKeys
from afterpart.job.release_keys import ReleaseKeys
from afterpart.job.report_keys import FitReportKeys
from afterpart.job.service_keys import FailureKeys, FitKeys, MachineKeys, ServiceKeys

TABLES = (("The job itself", JobKeys), ("`[[photo]]`, once per photograph", PhotoKeys),
          ("`[[damage]]`, once per damaged place", DamageKeys),
          ("`[[reading]]`, once per hand measurement", ReadingKeys), ("`[[height]]`, once per level", HeightKeys),
          ("`[[fixed]]`, once per design value you set", FixedKeys),
          ("`[[edit]]`, once per correction of the drawing", EditKeys),
          ("`[mate]`", MateKeys), ("`[datum]`", DatumKeys), ("`[plate]`", PlateKeys),
          ("`[[change]]`, once per feature that is kept, added or dropped", ChangeKeys),
          ("`[[role]]`, once per loop, hole or lip", RoleKeys), ("`[[hole]]`, once per new hole", HoleKeys),
          ("`[[boss]]`, once per boss on the mating face", BossKeys),
          ("`[cover]`", CoverKeys), ("`[bolts]`", BoltKeys), ("`[seal]`", SealKeys), ("`[lip]`", LipKeys),
          ("`[inlet]`", InletKeys),
          ("`[filter]`", FilterKeys), ("`[holder]`", HolderKeys), ("`[screws]`", ScrewKeys), ("`[coupon]`", CouponKeys),
          ("`[printer]`", PrinterKeys), ("`[[trial]]`, once per test", TrialKeys),
          ("`[machine]`", MachineKeys), ("`[service]`", ServiceKeys), ("`[fit]`", FitKeys),
          ("`[[failure_mode]]`, once per row you know better", FailureKeys),
          ("`[[fit_report]]`, once per report of somebody else", FitReportKeys),
          ("`[release]`", ReleaseKeys))
HEAD = """# Every key of a job file

Written by `docs/make_job_keys.py` from the code; a test keeps the two alike. `afterpart new FOLDER --photo PICTURE` makes a job
file with all of this explained in place. Lengths are in mm. A key that is not listed is refused, with its line.

The tables from `[[change]]` on say what `afterpart build` is to make. A table that is left out asks for nothing (`[printer]` and
`[plate]` then have the values shown here). `[machine]`, `[service]` and `[fit]` are for `afterpart check`: what they leave out is
not known, and a check that needs it says so. Torques are in N m, air in m3/h, shares between 0 and 1.
"""


def page() -> str:
    """The whole text of docs/job_file.md."""
    text = HEAD
    for title, keys in TABLES:
        text += f"\n## {title}\n\n| key | meaning | limits | left out |\n|---|---|---|---|\n"
        for name, field in keys.model_fields.items():
            text += f"| `{field.alias or name}` | {field.description} | {_limits(field)} | {_left_out(field)} |\n"
    return text


def _limits(field: FieldInfo) -> str:
    """The limits of a number as the code has them."""
    words = {"ge": "at least", "gt": "above", "le": "at most", "lt": "below"}
    known = [(words[name], getattr(limit, name)) for limit in field.metadata for name in words if hasattr(limit, name)]
    return ", ".join(f"{word} {value:g}" for word, value in known)


def _left_out(field: FieldInfo) -> str:
    """What holds when the key is left out."""
    if field.is_required():
        return "must be given"
    default: Any = field.get_default(call_default_factory=True)
    if isinstance(default, tuple):
        return f"`{list(default)}`"
    has_text = isinstance(default, str | int | float) and default != ""
    return f"`{default}`".replace("True", "true").replace("False", "false") if has_text else ""


if __name__ == "__main__":
    (Path(__file__).parent / "job_file.md").write_text(page())
