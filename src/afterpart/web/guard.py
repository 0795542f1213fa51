"""Who may ask: the first thing every request meets, and the last thing every answer passes.

Threats and what stands against them:
    a page elsewhere whose own name leads here   the Host must be one of ours, port and all (else 400)
    a page elsewhere that sends requests         the Origin must be ours wherever something changes, and no other anywhere
                                                 (else 403); every request under /api carries this run's key (else 403)
    a body without end                           counted as it comes in, whatever its head says (else 413); one that stops coming,
                                                 or only trickles, is given up (408); heads are bounded by heads.py
    an answer that nobody takes                  let go with its connection (sending.py)
    script in a name or a picture                a policy that lets no script run but the page's own files
Limits: whoever can read this machine's memory or the address with the key is not kept out.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio
import hmac
import json
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

KEY_HEADER = b"x-afterpart-key"
SAFE_METHODS = ("GET", "HEAD")
POLICY = ("default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; frame-src blob:; "
          "object-src 'none'; worker-src 'none'; font-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
HEADERS: tuple[tuple[bytes, bytes], ...] = (
    (b"content-security-policy", POLICY.encode()), (b"x-content-type-options", b"nosniff"), (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-opener-policy", b"same-origin"), (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(), microphone=(), geolocation=()"), (b"x-frame-options", b"DENY"))
PHOTO_LIMIT = 80_000_000
"""Bytes of a photograph."""
TEXT_LIMIT = 2_000_000
"""Bytes of any other body."""
PATIENCE_S = 30.0
"""How long a body may stop coming."""
SLOWEST_BYTES_PER_S = 20_000
"""A body that comes more slowly is not waited for: the slowest of wireless networks carries more."""
BODY_WAY_OUT = "Send the original photograph, not larger than 80 MB."


class BodyError(Exception):
    """A body that is too large (413) or stopped coming (408); raised where the body is read, answered by app.py."""

    def __init__(self, status: int, message: str) -> None:
        super().__init__(message)
        self.status, self.message = status, message


@dataclass(frozen=True)
class Door:
    """One address the page can be reached at.  host: name and port as the Host header has them; prefix: what may be asked for
    there ("/" for all); has_key: does this key hold now?"""

    host: str
    prefix: str
    has_key: Callable[[str], bool]
    api: str = "/api"

    @property
    def origin(self) -> str:
        """As the Origin header has it."""
        return f"http://{self.host}"


def key_check(key: str) -> Callable[[str], bool]:
    """A check for one key, in the same time whether it is nearly right or not."""
    return lambda given: hmac.compare_digest(given.encode("utf-8", "replace"), key.encode())


class Guard:
    """The application behind its doors.  doors: asked at each request, so that one can be closed while the program runs."""

    def __init__(self, app: App, doors: Callable[[], tuple[Door, ...]], patience_s: float = PATIENCE_S) -> None:
        self._app, self._doors, self.patience_s = app, doors, patience_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One connection; anything but a plain request is refused."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        refusal = self._refusal(scope)
        if refusal is not None:
            await _answer(send, *refusal)
            return
        limit = PHOTO_LIMIT if scope["path"].endswith("/photo") else TEXT_LIMIT

        async def send_on(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": [*_own(message.get("headers", ())), *HEADERS]}
            await send(message)

        await self._app(scope, _counted(receive, limit, self.patience_s), send_on)

    def _refusal(self, scope: Scope) -> tuple[int, str, str] | None:
        """Status, message and way out for a request that is not let in; None for one that is."""
        hosts, origins = _header(scope, b"host"), _header(scope, b"origin")
        door = next((door for door in self._doors() if hosts == [door.host]), None)
        if door is None:
            return 400, "Found another address than this program's own.", "Use the address that afterpart open shows."
        path = scope["path"]
        if not path.startswith(door.prefix):
            return 403, "This address takes photographs from a phone and nothing else.", "Use the page on the computer."
        if origins and origins != [door.origin]:
            return 403, "The request came from another page.", "Use the page that afterpart open shows."
        if _header(scope, b"sec-fetch-site") not in ([], ["same-origin"], ["none"]) and path.startswith(door.api):
            return 403, "The request came from another page.", "Use the page that afterpart open shows."
        if scope["method"] not in SAFE_METHODS and not origins:
            return 403, "The request does not say which page it came from.", "Use the page that afterpart open shows."
        keys = _header(scope, KEY_HEADER)
        if path.startswith(door.api) and (len(keys) != 1 or not door.has_key(keys[0])):
            return 403, "The key of this run is missing, or of another run.", "Open the page anew from the address " \
                "that afterpart open shows."
        length = _declared(scope)
        if length is not None and length > (PHOTO_LIMIT if path.endswith("/photo") else TEXT_LIMIT):
            return 413, "The body is larger than allowed.", BODY_WAY_OUT
        return None


def _counted(receive: Receive, limit: int, patience_s: float) -> Receive:
    """Receive, that counts a body as it comes and gives up one that stops or trickles."""
    count, ended, begun = 0, False, asyncio.get_running_loop().time()

    async def counted() -> MutableMapping[str, Any]:
        nonlocal count, ended
        if ended:
            return await receive()
        try:
            left = begun + patience_s + count / SLOWEST_BYTES_PER_S - asyncio.get_running_loop().time()
            message = await asyncio.wait_for(receive(), min(patience_s, left))
        except TimeoutError as error:
            raise BodyError(408, "The body stopped coming, or comes too slowly.") from error
        if message["type"] == "http.request":
            count += len(message.get("body", b""))
            ended = not message.get("more_body", False)
            if count > limit:
                raise BodyError(413, f"The body is larger than {limit / 1e6:.0f} MB.")
        return message

    return counted


def _header(scope: Scope, name: bytes) -> list[str]:
    return [value.decode("latin-1") for key, value in scope["headers"] if key == name]


def _declared(scope: Scope) -> int | None:
    found = _header(scope, b"content-length")
    return int(found[0]) if len(found) == 1 and found[0].isdigit() else None


def _own(headers: Any) -> list[tuple[bytes, bytes]]:
    """The answer's headers without those the guard sets itself."""
    ours = {name for name, _ in HEADERS}
    return [(name, value) for name, value in headers if name.lower() not in ours]


async def _answer(send: Send, status: int, message: str, way_out: str) -> None:
    body = json.dumps({"message": message, "where": "", "way_out": way_out}).encode()
    own = ((b"content-type", b"application/json"), (b"content-length", str(len(body)).encode()), (b"connection", b"close"))
    await send({"type": "http.response.start", "status": status, "headers": [*own, *HEADERS]})
    await send({"type": "http.response.body", "body": body})
