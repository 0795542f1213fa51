"""Station 5: what has been released."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio

from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart.web.made_views import release_view
from afterpart.web.routes.asking import office_of

router = APIRouter()


@router.get("/api/release")
async def release(request: Request) -> Response:
    """Every release with its files, and whether a new one could be made without building again."""
    return JSONResponse(await asyncio.to_thread(release_view, office_of(request).desk))
