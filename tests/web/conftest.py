"""What tests of the server borrow from the journeys: the example's photograph at 3 megapixels, measured to the same design."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from tests.journey.browser import small_photo

__all__ = ["small_photo"]
