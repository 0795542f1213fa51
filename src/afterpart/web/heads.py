"""How long the head of a request may take to come: who opens a connection and says nothing, or a letter now and then, is let go.

The body that follows is bounded by guard.py, the taking of the answer by sending.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S = 10.0
"""From the connection, or from the first letter of a request on it, to the end of the request's head."""
TOO_SLOW = b"HTTP/1.1 408 Request Timeout\r\nConnection: close\r\nContent-Length: 0\r\n\r\n"


class BoundedHeads(H11Protocol):
    """The server's side of one connection, that lets go of a head which does not come to an end."""

    head_s = HEAD_S
    _ending: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """As the server has it; from now on the first head is waited for."""
        super().connection_made(transport)
        self._await_head()

    def data_received(self, data: bytes) -> None:
        """As the server has it.  A head that came to an end is no longer waited for; one that has begun is."""
        before, was_idle = self.cycle, self._is_idle()
        super().data_received(data)
        if self.cycle is not before:
            self._stop_waiting()
        elif was_idle and self._ending is None:
            self._await_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """As the server has it."""
        self._stop_waiting()
        super().connection_lost(exc)

    def _is_idle(self) -> bool:
        """Is no request under way?"""
        return self.cycle is None or self.cycle.response_complete

    def _await_head(self) -> None:
        self._ending = self.loop.call_later(self.head_s, self._let_go)

    def _stop_waiting(self) -> None:
        if self._ending is not None:
            self._ending.cancel()
            self._ending = None

    def _let_go(self) -> None:
        self._ending = None
        if not self.transport.is_closing() and self._is_idle():
            self.transport.write(TOO_SLOW)
            self.transport.close()
