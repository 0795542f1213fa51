"""The solid kernel and its mesh library may be absent: measuring does not need them.  What is said then, and the lazy door.

Words: the *kernel* makes exact bodies and lives in a process of its own (child.py); the *mesh library* does exact booleans of
meshes in this process.  Both come with the extra `solid`.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from types import ModuleType

from afterpart.errors import SolidError

INSTALL = "pip install \"afterpart[solid]\""
"""What brings both."""


def absence_of(what: str, error: ImportError) -> str:
    """What is told where a library that only building needs cannot be loaded."""
    return (f"{what} cannot be loaded ({error}). Measuring and drawing work without it; to make check plates and pieces, install "
            f"the extra that brings it: {INSTALL}, then try again")


def mesh_library() -> ModuleType:
    """The mesh library, loaded at the first use.  SolidError: it is absent."""
    try:
        # lazy door: only what is built needs the library, and measuring must work without it
        import manifold3d
    except ImportError as error:
        raise SolidError(absence_of("the mesh library manifold3d", error)) from error
    return manifold3d
