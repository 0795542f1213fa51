"""Long work begun and stopped; what it says comes as events."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio
from dataclasses import asdict
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart import pipeline
from afterpart.errors import UsageError
from afterpart.web.office import Office
from afterpart.web.routes.asking import asked, office_of, text_of

router = APIRouter()
KINDS = ("measure", "plate", "build", "check", "release", "mate", "compare", "verify")


@router.post("/api/tasks")
async def begin(request: Request) -> Response:
    """Begin a task; its number."""
    plain, office = await asked(request), office_of(request)
    what = text_of(plain, "what")
    if what not in KINDS:
        raise UsageError(f"what: found {what!r}, expected one of {' '.join(KINDS)}. This is a fault of the page: load it anew.")
    return JSONResponse({"id": await asyncio.to_thread(_begun, office, what, plain)})


def _begun(office: Office, what: str, plain: dict[str, Any]) -> str:
    folder, _ = office.desk.opened()
    more: dict[str, Any] = {}
    if what == "compare":
        more["folders"] = [str(folder), *map(str, _beside(folder, plain.get("folders")))]
        more["weights"] = plain.get("weights") if isinstance(plain.get("weights"), dict) else None
    if what == "verify":
        more["release"] = _released(folder, plain.get("release"))
    if what == "release" and plain.get("since"):
        more["since"] = _released(folder, plain["since"])
    task = office.work.begin(what, folder, more)
    office.changed()
    return task


def _beside(folder: Path, names: Any) -> list[Path]:
    """Job folders beside this one, by name; a name is looked up in what is there, never joined to a path.  Raises UsageError."""
    there = {path.name: path for path in folder.resolve().parent.iterdir() if (path / "job.toml").is_file()}
    if not isinstance(names, list) or not names or not all(isinstance(name, str) for name in names):
        raise UsageError("folders: found none, expected one or more job folders beside this one. Choose what to compare with.")
    unknown = [name for name in names if name not in there or there[name] == folder.resolve()]
    if unknown:
        raise UsageError(f"folders: found {unknown[0]!r}, expected job folders beside this one: {', '.join(sorted(there))}. "
                         "Choose one of these.")
    return [there[name] for name in dict.fromkeys(names)]


def _released(folder: Path, name: Any) -> str:
    there = [path.name for path in (folder / "release").iterdir() if path.is_dir()] if (folder / "release").is_dir() else []
    if name not in there:
        raise UsageError(f"release: found {name!r}, expected one of {', '.join(sorted(there)) or 'none'}. Make a release first.")
    return str(name)


@router.post("/api/weighing")
async def weigh(request: Request) -> Response:
    """A comparison, as its task gave it, under other weights."""
    plain = await asked(request)
    comparison, weights = plain.get("comparison"), plain.get("weights")
    if not isinstance(comparison, dict):
        raise UsageError("comparison: found none, expected what comparing gave. Compare first.")
    if not isinstance(weights, dict) or not all(isinstance(one, int | float) and not isinstance(one, bool)
                                                for one in weights.values()):
        raise UsageError(f"weights: found {weights!r}, expected a number for each figure. Correct it.")
    return JSONResponse({"comparison": asdict(pipeline.reweighed(comparison, weights))})


@router.delete("/api/tasks/{task}")
async def stop(request: Request, task: str) -> Response:
    """Stop a task; it has ended when this answers."""
    office = office_of(request)
    stopped = await asyncio.to_thread(office.work.cancel, task)
    await asyncio.to_thread(office.changed)
    return JSONResponse({"stopped": stopped})
