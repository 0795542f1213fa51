"""The warm child that hostile input is given to."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.hostile.warm_child import WarmChild


@pytest.fixture(scope="session")
def warm() -> Iterator[WarmChild]:
    """A child that runs commands in one warm process."""
    if not sys.platform.startswith("linux"):
        pytest.skip("memory of a child is limited and told as Linux does it")
    from tests.hostile.warm_child import WarmChild as Child  # its limits are Linux's
    with Child() as child:
        yield child
