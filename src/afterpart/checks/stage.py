"""Stage 5: the case is judged by every check of the catalogue, and the report is drawn up.

Conventions: findings stand worst first; a suggested value is rounded to three figures on the side that passes.
Limits: a check that raises is a bug and is not caught; a poor design never raises.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.checks.catalogue import CHECKS
from afterpart.checks.cautions import cautions
from afterpart.checks.changes import changes_of
from afterpart.checks.failure_modes import failure_modes
from afterpart.checks.headline import actions, headline, rounded, worst_first
from afterpart.checks.questions import questions
from afterpart.model.case import Case
from afterpart.model.finding import Caution, CheckReport, FailureMode, Finding


def run_checks(case: Case) -> CheckReport:
    """Everything there is to say about the case.  JobError: a [[failure_mode]] row that cannot be used."""
    found = tuple(told(finding) for check in CHECKS for finding in check(case))
    return report_of(found, failure_modes(case), cautions(case))


def report_of(found: tuple[Finding, ...], modes: tuple[FailureMode, ...], warned: tuple[Caution, ...]) -> CheckReport:
    """The report of these findings, in any order: headline, actions, questions, findings worst first."""
    findings = worst_first(found)
    return CheckReport(headline(findings, warned), actions(findings), questions(findings), findings, modes, warned)


def told(finding: Finding) -> Finding:
    """The finding as it stands in the report: suggested values rounded, and the change of the job file that does the first."""
    wishes = tuple(rounded(suggestion) for suggestion in finding.suggestions)
    return replace(finding, suggestions=wishes, change=finding.change or changes_of(wishes))
