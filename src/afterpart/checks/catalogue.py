"""Every check there is, in one tuple.

A check is a function from the case to its findings; () where it does not apply to the job.  To add one: write its file, import
it here, add it to CHECKS, run docs/make_checks.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from collections.abc import Callable

from afterpart.model.case import Case
from afterpart.model.finding import Finding

Check = Callable[[Case], tuple[Finding, ...]]

CHECKS: tuple[Check, ...] = ()
