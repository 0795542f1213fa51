"""Files of the job to look at and to take; a name is looked up in a listing of its folder, never joined to a path."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart.web.routes.asking import office_of

router = APIRouter()
AREAS = {"job": (".",), "plate": ("plate",), "pieces": ("pieces",), "release": ("release",)}
KINDS = {".pdf": "application/pdf", ".png": "image/png", ".jpg": "image/jpeg", ".glb": "model/gltf-binary", ".json":
         "application/json", ".zip": "application/zip", ".html": "text/html; charset=utf-8", ".md": "text/plain; charset=utf-8",
         ".txt": "text/plain; charset=utf-8", ".csv": "text/csv; charset=utf-8", ".step": "model/step", ".stl": "model/stl",
         ".3mf": "model/3mf"}
DEEPEST = 4
"""Folders below an area's own."""


@router.get("/api/file/{area}/{name:path}")
async def file(request: Request, area: str, name: str) -> Response:
    """One file of an area; of a release also by its path in it (NAME_REVISION/guide.pdf)."""
    folder, _ = office_of(request).desk.opened()
    found = await asyncio.to_thread(_found, folder, area, name)
    if found is None:
        return JSONResponse({"message": "There is no such file.", "where": "", "way_out": "It may have been made anew: look "
                             "again."}, 404)
    data = await asyncio.to_thread(found.read_bytes)
    # what a browser might draw by itself stays a download: the page shows it from memory, in a frame without scripts
    return Response(data, media_type=KINDS.get(found.suffix.lower(), "application/octet-stream"),
                    headers={"cache-control": "no-store", "content-disposition": "attachment"})


def _found(folder: Path, area: str, name: str) -> Path | None:
    """The file of this name in the area's listing; None where it has none."""
    if area not in AREAS:
        return None
    place = (folder / AREAS[area][0]).resolve()
    depth = DEEPEST if area == "release" else 1
    return _listed(place, "", depth).get(name) if place.is_dir() else None


def _listed(place: Path, before: str, depth: int) -> dict[str, Path]:
    """Every plain file by its path; links and hidden files are left out."""
    found: dict[str, Path] = {}
    for path in place.iterdir():
        if path.name.startswith(".") or path.is_symlink():
            continue
        if path.is_file():
            found[f"{before}{path.name}"] = path
        elif path.is_dir() and depth > 1:
            found |= _listed(path, f"{before}{path.name}/", depth - 1)
    return found
