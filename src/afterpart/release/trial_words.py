"""Trials and reports in words, as README and history tell them."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.model.fit_report import FitReport
from afterpart.model.wishes import Trial
from afterpart.release.words import word

_SECTION = "history"


def trial_words(trial: Trial) -> str:
    """One trial in a line, without a full stop; what the maker typed stands in it as typed."""
    is_size, other = trial.what == "size", " ".join(filter(None, (trial.material, trial.profile)))
    told = (_told("trial_size", of=trial.of, drawn=f"{trial.drawn:g}", printed=f"{trial.printed:g}") if is_size
            else _told("trial", what=trial.what, drawn=f"{trial.drawn:g}", result=trial.result))
    more = (_told("trial_of", of=trial.of) if trial.of and not is_size else "",
            "" if trial.turns is None else _told("trial_turns", turns=f"{trial.turns:g}"),
            "" if trial.printed is None or is_size else _told("trial_printed", printed=f"{trial.printed:g}"),
            _told("trial_in", other=other) if other else "")
    return ", ".join(filter(None, (told, *more))) + (f" ({trial.note})" if trial.note else "")


def trial_leads_to(trial: Trial) -> str:
    """What a trial decides."""
    return _told(f"leads_{trial.what}")


def report_words(report: FitReport) -> str:
    """One report in a line; its note stays with the maker."""
    who = (report.machine, str(report.year) if report.year is not None else "",
           _told("report_revision", revision=report.revision) if report.revision else "")
    more = (_told("report_rubs", rubs=", ".join(report.rubs)) if report.rubs else "",
            _told("report_sizes", sizes=", ".join(f"{size.id} {size.value:g}" for size in report.sizes)) if report.sizes else "",
            "" if report.hours is None else _told("report_hours", hours=f"{report.hours:g}"))
    told = _told("report", machine=", ".join(filter(None, who)), fitted=report.fitted)
    return ", ".join(filter(None, (told, *more)))


def report_leads_to(report: FitReport) -> str:
    """What a report decides."""
    return _told("leads_report_sizes" if report.sizes else "leads_report")


def _told(key: str, **fields: object) -> str:
    return word(_SECTION, key, **fields)
