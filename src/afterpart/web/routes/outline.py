"""Station 2: the drawing and the inspection table."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio
from typing import Any

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart.web.routes.asking import office_of
from afterpart.web.views import outline_view

router = APIRouter()


@router.get("/api/outline")
async def outline(request: Request) -> Response:
    """The outline as it is known for the job now; 404 before anything was measured."""
    desk = office_of(request).desk

    def view() -> dict[str, Any] | None:
        return outline_view(desk, desk.solved())

    found = await asyncio.to_thread(view)
    if found is None:
        return JSONResponse({"message": "Nothing has been measured yet.", "where": "", "way_out": "Measure the photograph "
                             "first."}, 404)
    return JSONResponse(found)
