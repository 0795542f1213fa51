"""The table of what others found: reports by which a released part gets better.

Keys are named as the fields of their noun in model/fit_report.py.  Nobody's name or address is asked for.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from typing import Literal

from pydantic import Field, field_validator

from afterpart.errors import UsageError
from afterpart.job.typed import Keys, defaults_of
from afterpart.model.fit_report import FitReport, ReportedSize

_report = defaults_of(FitReport)


class FitReportKeys(Keys):
    """One `[[fit_report]]`."""

    machine: str = Field(min_length=1, max_length=80, description="make and model, as reported; no names of people")
    fitted: Literal["fits", "after work", "does not fit"] = Field(description="how it went on: fits, after work or does not fit")
    year: int | None = _report("year", "of the machine; left out: not told", ge=1850, le=2100)
    revision: str = _report("revision", "of the release that was tried", max_length=20)
    rubs: list[str] = Field(default_factory=list, description="where it rubs: holes (c4), edges (s3), or words")
    sizes: dict[str, float] = Field(default_factory=dict, description="sizes measured there, by dimension: { d1 = 148.2 }, "
                                    "mm; the drawing is solved again with them")
    u: float = _report("u", "standard uncertainty of these sizes, mm", gt=0, le=5)
    hours: float | None = _report("hours", "run so far", ge=0, le=1e6)
    note: str = _report("note", "anything else; stays in the job, a release leaves it out", max_length=1000)

    @field_validator("sizes")
    @classmethod
    def _lengths(cls, sizes: dict[str, float]) -> dict[str, float]:
        for name, value in sizes.items():
            if not 0 < value <= 5000:
                raise UsageError(f"{name}: found {value:g}, expected a length above 0 and at most 5000 mm. Measure it again.")
        return sizes

    def report(self) -> FitReport:
        """The table as a noun."""
        return FitReport(self.machine, self.fitted, self.year, self.revision, tuple(self.rubs),
                         tuple(ReportedSize(name, value) for name, value in self.sizes.items()), self.u, self.hours, self.note)
