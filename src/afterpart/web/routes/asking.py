"""What routes take from a request, checked by hand: JSON of a size, a stamp, a number."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from typing import Any

from fastapi import Request

from afterpart.errors import UsageError
from afterpart.web.office import Office


def office_of(request: Request) -> Office:
    """This run's office."""
    return request.app.state.office


async def asked(request: Request) -> dict[str, Any]:
    """The request's JSON object.  Raises UsageError when it is none."""
    try:
        plain = json.loads(await request.body(), parse_constant=_refused)
    except (ValueError, RecursionError) as error:
        raise UsageError("request: found no JSON, expected an object. This is a fault of the page: load it anew.") from error
    if not isinstance(plain, dict):
        raise UsageError("request: found no JSON object, expected one. This is a fault of the page: load it anew.")
    return plain


def text_of(plain: dict[str, Any], name: str) -> str:
    """One text of the request.  Raises UsageError when it is missing."""
    value = plain.get(name)
    if not isinstance(value, str):
        raise UsageError(f"{name}: found {value!r}, expected a text. This is a fault of the page: load it anew.")
    return value


def _refused(word: str) -> Any:
    raise ValueError(word)
