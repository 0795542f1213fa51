"""What the kernel raises where it cannot make a shape, in one tuple to catch.

The kernel's own exceptions have no common parent but Exception, so they are gathered from the modules that define them.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from OCP import Standard, StdFail

_KINDS = [kind for room in (Standard, StdFail) for kind in vars(room).values() if isinstance(kind, type)]

KERNEL_REFUSALS: tuple[type[Exception], ...] = (ValueError, RuntimeError, *(k for k in _KINDS if issubclass(k, Exception)))
"""The library's own refusals and all of the kernel's."""
