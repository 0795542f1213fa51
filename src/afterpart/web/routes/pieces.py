"""Station 3: the pieces of the last build."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart.web.made_views import pieces_view
from afterpart.web.routes.asking import office_of

router = APIRouter()


@router.get("/api/pieces")
async def pieces(request: Request) -> Response:
    """Pieces, filter cuts, what is bought; 404 before there are any."""
    found = await asyncio.to_thread(pieces_view, office_of(request).desk)
    if found is None:
        return JSONResponse({"message": "Nothing has been built yet.", "where": "", "way_out": "Build first."}, 404)
    return JSONResponse(found)
