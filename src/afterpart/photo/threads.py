"""How many threads the pixel library uses in this process."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import cv2


def use_one_thread() -> None:
    """One: where several processes share a machine, their threads only get in each other's way.  No result depends on it."""
    cv2.setNumThreads(1)
