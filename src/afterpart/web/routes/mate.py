"""Station 2: the mating part laid on the cover."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart.web.mate_view import mate_view
from afterpart.web.routes.asking import office_of

router = APIRouter()


@router.get("/api/mate")
async def mate(request: Request) -> Response:
    """How many photographs show the mate, and how it lies on the cover where that is known."""
    return JSONResponse(await asyncio.to_thread(mate_view, office_of(request).desk))
