"""Everything afterpart raises on purpose.

An `AfterpartError` means the maker's input cannot be used: its text says what was found, what was expected
and what to do next.  A poor design is a finding, not an error; a bug stays an ordinary Python exception.
This module imports nothing of ours.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations


class AfterpartError(Exception):
    """Root of all deliberate errors; `exit_status` is what the command line ends with."""

    exit_status = 3


class UsageError(AfterpartError, ValueError):
    """The command line or a setting is wrong by itself, before any file is opened."""

    exit_status = 2


class JobError(AfterpartError, ValueError):
    """The job file cannot be used; the text lists every complaint, one a line."""


class PhotoError(AfterpartError, ValueError):
    """The picture cannot be used (damaged, too small, part cut off, no part, impossible geometry)."""


class FitError(AfterpartError, ValueError):
    """A curve cannot be fitted to the given points (too few, no span, rank)."""


class SolidError(AfterpartError, RuntimeError):
    """The solid kernel refused a piece, or gave one that does not pass its own checks."""


class FolderError(AfterpartError, OSError):
    """A file or folder cannot be read or written."""
