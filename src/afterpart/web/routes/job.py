"""The job itself: the head of the sheet, events, edits, undo and redo, its keys."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse, StreamingResponse

from afterpart import pipeline
from afterpart.errors import UsageError
from afterpart.web.desk import Desk, Solved
from afterpart.web.office import Office
from afterpart.web.routes.asking import asked, office_of, text_of
from afterpart.web.views import outline_view, schema_view

router = APIRouter()


@router.get("/api/sheet")
async def sheet(request: Request) -> Response:
    """The head of the sheet."""
    return JSONResponse(await asyncio.to_thread(office_of(request).sheet))


@router.get("/api/events")
async def events(request: Request) -> Response:
    """Every change and all progress, as server-sent events."""
    office = office_of(request)

    async def lines() -> AsyncIterator[str]:
        async for event in office.listen():
            yield ": here\n\n" if event is None else f"event: {event[0]}\ndata: {json.dumps(event[1])}\n\n"

    return StreamingResponse(lines(), media_type="text/event-stream", headers={"cache-control": "no-store"})


@router.get("/api/job")
async def job(request: Request) -> Response:
    """The job file as plain values."""
    office = office_of(request)

    def plain() -> dict[str, Any]:
        folder, _ = office.desk.opened()
        return pipeline.plain_of(pipeline.job_text(folder))

    return Response(json.dumps(await asyncio.to_thread(plain), default=str), media_type="application/json")


@router.get("/api/schema")
async def schema() -> Response:
    """Every table and key a job file may have."""
    return Response(schema_view(), media_type="application/json")


@router.post("/api/edits")
async def edits(request: Request) -> Response:
    """Write changes into the job file; the sheet and, where it could be solved at once, the outline.  tried: what cannot be
    built is refused."""
    plain = await asked(request)
    stamp, wanted = text_of(plain, "stamp"), plain.get("edits")
    if not isinstance(wanted, list):
        raise UsageError(f"edits: found {wanted!r}, expected a list. This is a fault of the page: load it anew.")
    return await _changed(office_of(request), lambda desk: desk.edit(stamp, wanted, plain.get("tried") is True))


@router.post("/api/undo")
async def undo(request: Request) -> Response:
    """Take the last change back."""
    stamp = text_of(await asked(request), "stamp")
    return await _changed(office_of(request), lambda desk: desk.undo(stamp))


@router.post("/api/redo")
async def redo(request: Request) -> Response:
    """Make the change last taken back once more."""
    stamp = text_of(await asked(request), "stamp")
    return await _changed(office_of(request), lambda desk: desk.redo(stamp))


async def _changed(office: Office, change: Callable[[Desk], Solved | None]) -> Response:
    def make() -> dict[str, Any]:
        solved = change(office.desk)
        return {"outline": outline_view(office.desk, solved), "sheet": office.after_edit()}

    return JSONResponse(await asyncio.to_thread(make))
