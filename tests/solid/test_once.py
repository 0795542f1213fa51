"""Bodies shared by the processes of one test run are the ones a kernel built, once."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from afterpart.errors import SolidError
from afterpart.model.piece import Add, Cut
from afterpart.solid.worker import Workshop
from tests import kernels
from tests.once import SharedWorkshop
from tests.solid.shapes import piece_of, plate


def test_a_second_process_reads_what_the_first_built_and_refusals_are_asked_again(tmp_path: Path) -> None:
    piece = piece_of(Add((plate(),)))
    with SharedWorkshop(tmp_path) as one, kernels.fresh(), Workshop() as alone:
        built, own = one.build(piece), alone.build(piece)
    with SharedWorkshop(tmp_path) as other:
        read = other.build(piece)
        assert other._processes[0]._child is None, "no kernel was asked"
        assert read.step == built.step == own.step and read.volume == own.volume
        assert np.array_equal(read.mesh.vertices, own.mesh.vertices) and np.array_equal(read.mesh.triangles, own.mesh.triangles)
        for _ in range(2):
            with pytest.raises(SolidError, match="must add material"):
                other.build(piece_of(Cut((plate(),))))
    assert len(list(tmp_path.glob("*.body"))) == 1
