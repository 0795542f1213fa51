"""What others found when they fitted a released part: one noun for each [[fit_report]] of the job file."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

FITTED = ("fits", "after work", "does not fit")


@dataclass(frozen=True)
class ReportedSize:
    """A dimension of the outline (its id) as measured on another machine or another old part, mm (degrees for an angle)."""

    id: str
    value: float


@dataclass(frozen=True)
class FitReport:
    """One report.  machine: make and model; year: None when not told; revision: of the release that was tried; fitted: one of
    FITTED; rubs: ids of segments or holes that rub, or words; sizes: as measured there; u: standard uncertainty of their
    measuring, mm; hours run so far; note: anything else, which stays with the maker (a release leaves it out)."""

    machine: str
    fitted: str
    year: int | None = None
    revision: str = ""
    rubs: tuple[str, ...] = ()
    sizes: tuple[ReportedSize, ...] = ()
    u: float = 0.05
    hours: float | None = None
    note: str = ""
