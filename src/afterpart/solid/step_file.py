"""Bodies as STEP files in mm, written with fixed bytes, and read back.

Limits: the header carries a fixed date, so that the same piece gives the same bytes; a file holds one product.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import tempfile
from pathlib import Path

import build123d as b

from afterpart.errors import SolidError
from afterpart.solid.body import StepFacts

_FIXED_TIMESTAMP = "2000-01-01T00:00:00"
"""Written into every STEP header instead of the clock."""


def step_bytes(shape: b.Shape, label: str) -> bytes:
    """The shape as a STEP file in mm, its product called `label`."""
    shape.label = label
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.step"
        if not b.export_step(shape, path, unit=b.Unit.MM, write_pcurves=False, timestamp=_FIXED_TIMESTAMP):
            raise SolidError(f"the kernel could not write {label!r} as STEP")
        return path.read_bytes().replace(str(path).encode(), label.encode() + b".step")


def facts_of(shape: b.Shape, validate: bool) -> StepFacts:
    """What was read; validate: also let the kernel check every face, which takes as long as the reading itself."""
    return StepFacts(shape.label, shape.volume, len(shape.solids()), bool(shape.is_valid) if validate else None)


def shape_from_step(data: bytes) -> b.Shape:
    """The shape in a STEP file.  SolidError: not readable, or it holds no solid."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.step"
        path.write_bytes(data)
        try:
            shape = b.import_step(path)
        except (ValueError, RuntimeError, FileNotFoundError) as error:
            raise SolidError(f"the STEP file ({len(data)} bytes) cannot be read back: {error}") from error
    if not shape.solids():
        raise SolidError(f"the STEP file ({len(data)} bytes) cannot be read back: it holds no solid")
    return shape
