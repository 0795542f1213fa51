"""Answers that nobody takes: the connection is let go; one that is taken in small bites comes whole."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import socket
import time
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import pytest

from tests.web.serving import Served, served

SMALL = 4096
"""Bytes that the system holds for either side, as asked for: it may hold some more, far less than the page's script has."""
SCRIPT = resources.files("afterpart") / "web" / "built" / "app.js"
LIMIT_S = 60.0
"""Only what never ends is ended: other work may share the machine."""


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    # the script's own bytes would be waited for at the slowest rate, which is more than a minute
    monkeypatch.setattr("afterpart.web.sending.SLOWEST_BYTES_PER_S", 1e9)
    with served(tmp_path, patience_s=0.5, held_bytes=SMALL) as running:
        yield running


def asking(page: Served, path: str) -> socket.socket:
    """A connection over which this was asked for."""
    link = socket.socket()
    link.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, SMALL)
    link.settimeout(LIMIT_S)
    link.connect(("127.0.0.1", page.port))
    link.sendall(f"GET {path} HTTP/1.1\r\nHost: {page.host}\r\nConnection: close\r\n\r\n".encode())
    return link


def test_who_asks_and_never_reads_is_let_go(page: Served) -> None:
    connections = page.server.server_state.connections
    with asking(page, "/app.js") as link:
        assert link.recv(15) == b"HTTP/1.1 200 OK", "it was being answered"
        ends = time.monotonic() + LIMIT_S
        while connections and time.monotonic() < ends:
            time.sleep(0.05)
        assert not connections
        left = 0
        with contextlib.suppress(ConnectionResetError):
            while part := link.recv(65536):
                left += len(part)
        assert left < len(SCRIPT.read_bytes()) / 2, "what was held for it is gone"
    with asking(page, "/") as link:
        assert link.recv(15) == b"HTTP/1.1 200 OK", "others are served as before"


def test_an_answer_that_is_taken_in_small_bites_comes_whole(page: Served) -> None:
    answer = b""
    with asking(page, "/app.js") as link:
        while bite := link.recv(1000):
            answer += bite
    assert answer.partition(b"\r\n\r\n")[2] == SCRIPT.read_bytes()
