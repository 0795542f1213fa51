"""Fixtures that every journey in the browser may ask for."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from tests.journey.browser import chromium, measured, measured_once, open_sheet

__all__ = ["chromium", "measured", "measured_once", "open_sheet"]
