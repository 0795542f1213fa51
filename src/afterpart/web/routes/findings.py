"""Station 4: what the checks found."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart.web.made_views import findings_view
from afterpart.web.routes.asking import office_of

router = APIRouter()


@router.get("/api/findings")
async def findings(request: Request) -> Response:
    """The report, worst first; 404 before there are any."""
    found = await asyncio.to_thread(findings_view, office_of(request).desk)
    if found is None:
        return JSONResponse({"message": "Nothing has been checked yet.", "where": "", "way_out": "Check first."}, 404)
    return JSONResponse(found)
