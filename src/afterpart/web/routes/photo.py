"""Station 1: photographs sent and shown, advice before shooting, the printed target; and the phone's way in."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio
import contextlib
import io
from typing import Any

import segno
from fastapi import APIRouter, Request, Response
from fastapi.responses import JSONResponse

from afterpart import pipeline
from afterpart.errors import UsageError
from afterpart.web.desk import Desk
from afterpart.web.office import Office
from afterpart.web.routes.asking import office_of
from afterpart.web.views import advice_view, look_of, photo_view
from afterpart.web.work import BusyError

router = APIRouter()


@router.post("/api/photo")
async def send(request: Request) -> Response:
    """Take a photograph in; the sheet."""
    office, data = office_of(request), await request.body()
    name, add = request.query_params.get("name", "photo"), request.query_params.get("add") == "true"
    told = [request.query_params.get(key, usual) for key, usual in (("shows", "part"), ("face", "mating"))]
    number = _number(request, "in_place_of")
    return JSONResponse(await asyncio.to_thread(_taken_in, office, name, data, add, *told, 1 if number is None else int(number)))


@router.post("/phone/api/photo")
async def send_from_phone(request: Request) -> Response:
    """One photograph from a phone; its key ends with it."""
    office, data = office_of(request), await request.body()
    name = request.query_params.get("name", "photo")
    await asyncio.to_thread(_taken_in, office, name, data, office.desk.folder is not None)
    if office.phone is not None:
        office.phone.use()
    await asyncio.to_thread(_measured_at_once, office)
    return JSONResponse({"message": "The photograph has arrived. You can put the phone away."})


def _measured_at_once(office: Office) -> None:
    """Begin to measure, as the page does for a photograph dropped on it; where other work is done, the maker asks for it."""
    with contextlib.suppress(BusyError):
        office.work.begin("measure", office.desk.opened()[0])
    office.changed()


def _taken_in(office: Office, name: str, data: bytes, add: bool, shows: str = "part", face: str = "mating",
              number: int = 1) -> dict[str, Any]:
    office.desk.put_photo(name, data, add, shows, face, number)
    return office.after_edit()


@router.get("/api/photo/{number}")
async def shown(request: Request, number: int) -> Response:
    """What a photograph's file says, and what was found in it."""
    desk = office_of(request).desk
    _check_number(desk, number)
    return JSONResponse(await asyncio.to_thread(photo_view, desk, number))


@router.get("/api/photo/{number}/picture")
async def picture(request: Request, number: int) -> Response:
    """The photograph, upright."""
    desk = office_of(request).desk
    _check_number(desk, number)
    folder, job = desk.opened()
    data, kind = await asyncio.to_thread(pipeline.photo_picture, folder, job.shots[number - 1])
    return Response(data, media_type=kind, headers={"cache-control": "no-store"})


@router.get("/api/photo/{number}/laid")
async def laid(request: Request, number: int) -> Response:
    """The photograph laid flat on the drawing, over the box that the photograph's own answer names; 404 where it cannot be."""
    desk = office_of(request).desk
    _check_number(desk, number)
    data = await asyncio.to_thread(_laid, desk, number)
    if data is None:
        return JSONResponse({"message": "It is not known how this photograph lies on the drawing.", "where": "", "way_out":
                             "Measure first; a photograph of the mate must also be laid on the cover."}, 404)
    return Response(data, media_type="image/jpeg", headers={"cache-control": "no-store"})


def _laid(desk: Desk, number: int) -> bytes | None:
    look, drawing = look_of(desk, number)
    return None if look is None or drawing is None else pipeline.laid_photo(desk.opened()[0], look, drawing)


def _check_number(desk: Desk, number: int) -> None:
    _, job = desk.opened()
    if not 1 <= number <= len(job.shots):
        raise UsageError(f"photo: found number {number}, expected 1 to {len(job.shots)}. Look at the sheet again.")


@router.get("/api/advice")
async def advice(request: Request) -> Response:
    """Which lens, how far away, and what error to expect."""
    told = {name: _number(request, name) for name in ("width", "height", "face_height", "lens_35mm")}
    if told["width"] is None or told["height"] is None:
        raise UsageError("width: found nothing, expected the part's size in mm. Fill in width and height.")
    found = pipeline.advice_of(told["width"], told["height"], told["face_height"] or 0.0, told["lens_35mm"])
    return JSONResponse(advice_view(found))


def _number(request: Request, name: str) -> float | None:
    text = request.query_params.get(name, "").strip()
    if not text:
        return None
    try:
        return float(text)
    except ValueError as error:
        raise UsageError(f"{name}: found {text!r}, expected a number. Correct it.") from error


@router.get("/api/target")
async def target() -> Response:
    """The printed target, a true-scale PDF."""
    data = await asyncio.to_thread(pipeline.target_paper)
    return Response(data, media_type="application/pdf")


@router.get("/api/phone")
async def phone(request: Request) -> Response:
    """The address for the phone as a picture to point it at (PNG); 404 when it was not asked for."""
    office = office_of(request)
    if office.phone is None or not office.phone.holds:
        return JSONResponse({"message": "No phone is waited for.", "where": "", "way_out":
                             "Start with afterpart open --lan to send photographs from a phone."}, 404)
    stream = io.BytesIO()
    segno.make(office.phone.address, error="m").save(stream, kind="png", scale=6, border=4)
    return Response(stream.getvalue(), media_type="image/png", headers={"cache-control": "no-store"})
