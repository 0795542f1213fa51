"""A real server on loopback in a thread, as `afterpart open` starts it, and a client that has its key."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import json
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from afterpart.web.app import make_app
from afterpart.web.guard import Guard
from afterpart.web.office import Office, PhoneKey
from afterpart.web.serve import Connection, doors_of

KEY = "a-key-of-this-test-run"


def plain_request(method: str, url: str, **more: Any) -> httpx.Response:
    """A request over a connection of its own, with no key but the one it is given.  Nothing is encrypted here, so no certificates
    are loaded: they would cost more than the answer."""
    return httpx.request(method, url, verify=False, **more)


class Served:
    """One running server."""

    def __init__(self, office: Office, port: int, server: uvicorn.Server) -> None:
        self.office, self.port, self.server = office, port, server
        self.host = f"127.0.0.1:{port}"
        self.url = f"http://{self.host}"
        self.client = httpx.Client(base_url=self.url, headers={"X-Afterpart-Key": KEY, "Origin": self.url}, timeout=120.0,
                                   verify=False)

    def get(self, path: str) -> Any:
        answer = self.client.get(path)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def edit(self, *edits: dict[str, Any], stamp: str | None = None) -> httpx.Response:
        stamp = self.get("/api/sheet")["stamp"] if stamp is None else stamp
        return self.client.post("/api/edits", json={"stamp": stamp, "edits": list(edits)})

    @contextlib.contextmanager
    def events(self) -> Iterator[Iterator[tuple[str, dict[str, Any]]]]:
        """The stream of events, from now on."""
        with httpx.stream("GET", f"{self.url}/api/events", headers={"X-Afterpart-Key": KEY}, timeout=180.0,
                          verify=False) as answer:
            assert answer.status_code == 200
            yield _events(answer.iter_lines())

    def raw(self, text: bytes, patience_s: float = 20.0) -> bytes:
        """What is answered to these very bytes."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=patience_s) as link:
            link.sendall(text)
            answer = b""
            while part := link.recv(65536):
                answer += part
                if b"\r\n\r\n" in answer:
                    break
            return answer


def _events(lines: Iterator[str]) -> Iterator[tuple[str, dict[str, Any]]]:
    kind = ""
    for line in lines:
        if line.startswith("event: "):
            kind = line[7:]
        elif line.startswith("data: "):
            yield kind, json.loads(line[6:])


@contextlib.contextmanager
def served(start: Path, folder: Path | None = None, phone: PhoneKey | None = None, patience_s: float = 20.0,
           held_bytes: int = 0) -> Iterator[Served]:
    """A server for this job, ended at the end.  held_bytes: what the system may hold of an answer, 0 for as much as it likes."""
    with socket.socket() as bound:
        if held_bytes:
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, held_bytes)
        bound.bind(("127.0.0.1", 0))
        bound.listen(64)
        port = bound.getsockname()[1]
        office = Office(start, folder, phone)
        app = make_app(office, lambda: doors_of(port, KEY, phone))
        assert isinstance(app, Guard)
        app.patience_s = patience_s
        here = type("ConnectionHere", (Connection,), {"head_s": patience_s, "taken_s": patience_s})
        server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False, timeout_graceful_shutdown=1, ws="none",
                                               http=here))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [bound]}, daemon=True)
        thread.start()
        limit = time.monotonic() + 30.0
        while not server.started and time.monotonic() < limit:
            time.sleep(0.02)
        running = Served(office, port, server)
        try:
            yield running
        finally:
            running.client.close()
            server.should_exit = True
            thread.join(timeout=30.0)
