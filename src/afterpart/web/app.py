"""The application of the job sheet: routes behind the guard, errors in the words of the errors module.

    409  the change was made to an older text, or another task is running     422  the maker's input, with what, where, way out
    500  a bug, told in one plain sentence; the traceback goes to standard error
This is the second of the two broad handlers (the other one stands in cli/__init__.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
from collections.abc import AsyncIterator, Callable
from importlib import resources

from fastapi import FastAPI, HTTPException, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse

from afterpart.errors import AfterpartError
from afterpart.web.desk import StaleError
from afterpart.web.guard import BODY_WAY_OUT, App, BodyError, Door, Guard
from afterpart.web.office import Office
from afterpart.web.routes import files, findings, job, mate, outline, photo, pieces, release, work
from afterpart.web.wording import refusals
from afterpart.web.work import BUG, BUG_WAY_OUT, BusyError

ROUTERS = (job.router, photo.router, outline.router, work.router, files.router, pieces.router, findings.router, release.router,
           mate.router)
KINDS = {".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8",
         ".txt": "text/plain; charset=utf-8", ".svg": "image/svg+xml"}
MOST_TOLD, LONGEST_TOLD = 3, 200
"""Of what an address holds and no route takes: so many parts, so many letters."""
PHONE_PAGE = {"phone": "phone.html", "phone/phone.js": "phone.js", "phone/phone.css": "phone.css"}


def make_app(office: Office, doors: Callable[[], tuple[Door, ...]]) -> App:
    """The application for one run.  doors: the addresses it answers at, asked anew at each request."""

    @contextlib.asynccontextmanager
    async def running(_: FastAPI) -> AsyncIterator[None]:
        async with office.open():
            yield

    app = FastAPI(lifespan=running, docs_url=None, redoc_url=None, openapi_url=None)
    app.state.office = office
    for router in ROUTERS:
        app.include_router(router)
    _add_refusals(app)
    pages = _static_pages()

    @app.get("/{name:path}")
    async def page(name: str) -> Response:
        """A file of the page; names are looked up, never joined."""
        found = pages.get(name or "index.html")
        if found is None:
            raise HTTPException(404)
        return Response(found[0], media_type=found[1], headers={"cache-control": "no-cache"})

    return Guard(app, doors)


def _add_refusals(app: FastAPI) -> None:
    @app.exception_handler(AfterpartError)
    async def refused(_: Request, error: AfterpartError) -> Response:
        told = refusals(error)
        return JSONResponse({**told[0].plain(), "complaints": [one.plain() for one in told]}, 422)

    @app.exception_handler(StaleError)
    async def stale(request: Request, _: StaleError) -> Response:
        sheet = request.app.state.office.sheet()
        return JSONResponse({"message": "The job has been changed elsewhere since.", "where": "", "way_out":
                             "Look at it as it is now, and make the change again.", "sheet": sheet}, 409)

    @app.exception_handler(BusyError)
    async def busy(request: Request, _: BusyError) -> Response:
        return JSONResponse({"message": "Other work is being done.", "where": "", "way_out": "Wait for it, or stop it.",
                             "sheet": request.app.state.office.sheet()}, 409)

    @app.exception_handler(BodyError)
    async def too_much(_: Request, error: BodyError) -> Response:
        return JSONResponse({"message": error.message, "where": "", "way_out": BODY_WAY_OUT}, error.status,
                            {"connection": "close"})

    @app.exception_handler(Exception)
    async def bug(_: Request, __: Exception) -> Response:
        # the server raises it again once this is answered, and reports it with all there is to standard error
        return JSONResponse({"message": BUG, "where": "", "way_out": BUG_WAY_OUT}, 500)

    @app.exception_handler(RequestValidationError)
    async def no_such_number(_: Request, error: RequestValidationError) -> Response:
        told = "; ".join(f"{one['loc'][-1]}: found {one.get('input')!r}" for one in error.errors()[:MOST_TOLD])
        return JSONResponse({"message": f"{told[:LONGEST_TOLD]}, expected a number.", "where": "",
                             "way_out": "This is a fault of the page: load it anew."}, 422)

    @app.exception_handler(404)
    @app.exception_handler(405)
    async def nothing_here(_: Request, error: HTTPException) -> Response:
        return JSONResponse({"message": "There is nothing at this address.", "where": "", "way_out": ""}, error.status_code)


def _static_pages() -> dict[str, tuple[bytes, str]]:
    """Name in the address -> contents and media type of every file of the page."""
    pages: dict[str, tuple[bytes, str]] = {}
    for place in resources.files("afterpart.web").joinpath("built").iterdir():
        ending = "." + place.name.rpartition(".")[2]
        if ending in KINDS:
            pages[place.name] = (place.read_bytes(), KINDS[ending])
    folder = resources.files("afterpart.web").joinpath("phone")
    for address, name in PHONE_PAGE.items():
        pages[address] = (folder.joinpath(name).read_bytes(), KINDS["." + name.rpartition(".")[2]])
    pages["phone/icon.svg"] = pages["icon.svg"]
    return pages
