"""What all routes share: the desk, the work, the events, and how an edit, a photograph or the end of a task is told to every
page.

An *event* goes to every page that listens; a page that reads too slowly loses its place and asks for the sheet anew.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import asyncio
import contextlib
import threading
import time
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from afterpart.errors import AfterpartError
from afterpart.web.desk import Desk
from afterpart.web.views import sheet_view
from afterpart.web.work import SETTLED, Work

Event = tuple[str, dict[str, Any]]
LOOK_S = 0.5
"""How often the job's files are looked at for what other programs wrote."""
HEARTBEAT_S = 15.0
MOST_WAITING = 500
PHONE_S = 15 * 60.0
"""How long the phone's key holds."""


class PhoneKey:
    """The key with which a phone may send photographs: until one has come, or its time is over.  until: on the stopwatch."""

    def __init__(self, key: str, address: str) -> None:
        self.key, self.address = key, address
        self._until = time.monotonic() + PHONE_S
        self._used = False

    @property
    def holds(self) -> bool:
        """Does it still let a photograph in?"""
        return not self._used and time.monotonic() < self._until

    def use(self) -> None:
        """One photograph has come."""
        self._used = True


class Office:
    """One run of the program: what lies on the desk, what is being done, and who listens."""

    def __init__(self, start: Path, folder: Path | None, phone: PhoneKey | None = None) -> None:
        self.desk = Desk(start, folder)
        self.work = Work(self.told)
        self.phone = phone
        self._listeners: set[asyncio.Queue[Event | None]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._last: dict[str, Any] = {}
        self._seen: dict[str, Any] = {}
        self._turn = 0
        self._sheet_lock = threading.RLock()

    def sheet(self) -> dict[str, Any]:
        """The head of the sheet as it is now.  turn: counts how often it was another one, so that a page can tell which of two is
        the newer."""
        with self._sheet_lock:
            sheet = sheet_view(self.desk, self.work.running)
            sheet["phone"] = None if self.phone is None or not self.phone.holds else self.phone.address
            seen = _without_stopwatch(sheet)
            self._turn += int(seen != self._seen)
            self._seen = seen
            return {**sheet, "turn": self._turn}

    def told(self, kind: str, what: dict[str, Any]) -> None:
        """An event of the work, from its thread."""
        if kind != SETTLED:
            self.publish(kind, what)
        if kind != "said":
            self.changed()

    def changed(self) -> dict[str, Any]:
        """The sheet may be another now: tell every page; returns it.  They are told in the order in which they were looked at."""
        with self._sheet_lock:
            sheet = self.sheet()
            if self._seen != self._last:
                self._last = self._seen
                self.publish("sheet", sheet)
            return sheet

    def after_edit(self) -> dict[str, Any]:
        """The outline may be ahead of its files: have them follow; the sheet as it is now."""
        if self.desk.folder is not None and self.desk.wants_a_look():
            self.work.measure_next(self.desk.folder)
        elif self.desk.folder is not None and not self.desk.is_settled():
            self.work.settle(self.desk.folder)
        return self.changed()

    def publish(self, kind: str, what: dict[str, Any]) -> None:
        """Send an event to every page; may be called from any thread."""
        if self._loop is not None and not self._loop.is_closed():
            with contextlib.suppress(RuntimeError):  # the loop ends while the program ends: nobody listens any more
                self._loop.call_soon_threadsafe(self._hand_out, (kind, what))

    def _hand_out(self, event: Event) -> None:
        for listener in list(self._listeners):
            if listener.qsize() > MOST_WAITING:
                self._listeners.discard(listener)
                listener.put_nowait(None)
            else:
                listener.put_nowait(event)

    def farewell(self) -> None:
        """The program ends: let every page go, so that it need not be thrown out."""
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self._let_go)

    def _let_go(self) -> None:
        for listener in list(self._listeners):
            listener.put_nowait(None)

    async def listen(self) -> AsyncIterator[Event | None]:
        """Events as they come, the sheet first; None now and then, so that a page that is gone is noticed."""
        mine: asyncio.Queue[Event | None] = asyncio.Queue()
        self._listeners.add(mine)
        try:
            yield "sheet", await asyncio.to_thread(self.sheet)
            while True:
                try:
                    event = await asyncio.wait_for(mine.get(), HEARTBEAT_S)
                except TimeoutError:
                    yield None
                    continue
                if event is None:
                    return
                yield event
        finally:
            self._listeners.discard(mine)

    @contextlib.asynccontextmanager
    async def open(self) -> AsyncIterator[None]:
        """While the program runs: the work's process is ready, and the job's files are looked at."""
        self._loop = asyncio.get_running_loop()
        self.work.start()
        threading.Thread(target=self.desk.warm, daemon=True).start()
        watch = asyncio.create_task(self._watch())
        try:
            yield
        finally:
            watch.cancel()
            self._let_go()
            await asyncio.to_thread(self.work.close)

    async def _watch(self) -> None:
        while True:
            await asyncio.sleep(LOOK_S)
            # a file that comes or goes while it is read is looked at again
            with contextlib.suppress(AfterpartError, OSError):
                await asyncio.to_thread(self._look)

    def _look(self) -> None:
        if self.desk.look():
            self.after_edit()
        else:
            self.changed()


def _without_stopwatch(sheet: dict[str, Any]) -> dict[str, Any]:
    """What makes it another sheet: what a task says comes as events of its own, and its stopwatch runs on by itself."""
    return {**sheet, "work": (sheet["work"] or {}).get("id")}
