"""How long an answer may wait to be taken: who asks and never reads, or reads a letter now and then, is let go.

Whatever the system cannot send on at once is held here, and for as long as anything is held a time runs: PATIENCE_S, and as much
again as the bytes held would take at SLOWEST_BYTES_PER_S (guard.py has the same two for what comes in).  Who has not taken all of
it by then loses the connection, answer and all.  Limits: what the system's own buffers took counts as sent.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio

from uvicorn.protocols.http.h11_impl import H11Protocol

from afterpart.web.guard import PATIENCE_S, SLOWEST_BYTES_PER_S


class BoundedAnswers(H11Protocol):
    """The server's side of one connection, that lets go of a reader who does not read."""

    taken_s = PATIENCE_S
    _untaken: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """As the server has it; it is to be told as soon as anything is held back, and when nothing is any more."""
        super().connection_made(transport)
        transport.set_write_buffer_limits(high=0)

    def pause_writing(self) -> None:
        """As the server has it; from now on what is held is waited for."""
        super().pause_writing()
        if self._untaken is None:
            held = self.transport.get_write_buffer_size()
            self._untaken = self.loop.call_later(self.taken_s + held / SLOWEST_BYTES_PER_S, self._give_up)

    def resume_writing(self) -> None:
        """As the server has it: all that was held is taken."""
        self._forget()
        super().resume_writing()

    def connection_lost(self, exc: Exception | None) -> None:
        """As the server has it."""
        self._forget()
        super().connection_lost(exc)

    def _forget(self) -> None:
        if self._untaken is not None:
            self._untaken.cancel()
            self._untaken = None

    def _give_up(self) -> None:
        # not closed: that would wait for the reader again
        self._untaken = None
        self.transport.abort()
