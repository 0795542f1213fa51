"""Fixtures that every journey in the browser may ask for."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from tests.journey.browser import (
    chromium,
    chromium_3d,
    chromium_plain,
    launcher,
    measured,
    measured_small_once,
    open_program,
    open_sheet,
    server,
    small_photo,
)
from tests.journey.made_jobs import built, built_once, judged, judged_once

__all__ = ["built", "built_once", "chromium", "chromium_3d", "chromium_plain", "judged", "judged_once", "launcher", "measured",
           "measured_small_once", "open_program", "open_sheet", "server", "small_photo"]
