"""The stages in a row: the one place that knows their order.

Reads the picture and whatever an earlier run left in the folder, calls the pure stages, and returns the finished files in memory;
the functions called `write_...` then put them in place.  Both doors (command line, page) come through here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.pipeline.folder import FACTS_FILE, PIECES_FILE, Say
from afterpart.pipeline.judging import Checked, check_of, compare_of, write_check
from afterpart.pipeline.making import Built, Plate, build_of, make_plate_of, rebuild_of, write_build, write_plate
from afterpart.pipeline.measuring import (
    Measurement,
    edges_of,
    job_of_folder,
    job_of_photo,
    measure,
    write_measurement,
    write_target,
)
from afterpart.pipeline.releasing import Release, Verified, release_of, verify_of, write_release

__all__ = ["FACTS_FILE", "PIECES_FILE", "Built", "Checked", "Measurement", "Plate", "Release", "Say", "Verified", "build_of",
           "check_of", "compare_of", "edges_of", "job_of_folder", "job_of_photo", "make_plate_of", "measure", "rebuild_of",
           "release_of", "verify_of", "write_build", "write_check", "write_measurement", "write_plate", "write_release",
           "write_target"]
