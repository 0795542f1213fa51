"""Start the job sheet: sockets, this run's key, the browser, and for a phone the code to point it at.

Loopback only, unless the maker asks for the local network; even then the network's address takes photographs and nothing else.
The sockets are bound here, so that the address is known, and taken, before anybody is told of it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import gc
import secrets
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import FrameType

import segno
import uvicorn

from afterpart.errors import FolderError, UsageError
from afterpart.web.app import make_app
from afterpart.web.guard import Door, key_check
from afterpart.web.heads import BoundedHeads
from afterpart.web.office import Office, PhoneKey
from afterpart.web.sending import BoundedAnswers

LOOPBACK = "127.0.0.1"
FAR_AWAY = ("192.0.2.1", 9)
"""An address of the block kept for documentation (RFC 5737): asked only which of our own addresses would lead there; nothing is
sent."""
GRACE_S = 2
PHONE_PATH = "/phone"


@dataclass(frozen=True)
class Opened:
    """What the maker is told.  address: with the key; phone: the phone's address with its own key, or None; code: the same as
    lines of text to point a phone at."""

    address: str
    phone: str | None
    code: str


class Connection(BoundedHeads, BoundedAnswers):
    """The server's side of one connection: what comes is waited for so long, and so is who should take the answer."""


def serve(folder: Path | None, port: int, lan: bool, opened: Callable[[Opened], None], browser: bool) -> None:
    """Run the job sheet until it is interrupted.  folder: the job, None to begin with a photograph; port: 0 for a free one;
    opened: called once with the address, before the browser is.

    Raises UsageError when the port is taken, or no local network is found; FolderError, JobError for a folder that holds no
    job."""
    if folder is not None:
        folder = _job_folder(folder)
    sockets = [_bound(LOOPBACK, port)]
    port = sockets[0].getsockname()[1]
    phone = None
    if lan:
        address = lan_address()
        sockets.append(_bound(address, port))
        phone_key = secrets.token_urlsafe(32)
        phone = PhoneKey(phone_key, f"http://{address}:{port}{PHONE_PATH}#key={phone_key}")
    key = secrets.token_urlsafe(32)
    office = Office(Path.cwd(), folder, phone)
    app = make_app(office, lambda: doors_of(port, key, phone))
    config = uvicorn.Config(app, log_level="warning", access_log=False, timeout_graceful_shutdown=GRACE_S, timeout_keep_alive=30,
                            server_header=False, ws="none", lifespan="on", http=Connection)
    server = _Server(config, office)
    told = Opened(f"http://{LOOPBACK}:{port}/#key={key}", phone.address if phone else None, _code(phone))
    opened(told)
    if browser:
        threading.Timer(0.3, webbrowser.open, (told.address,)).start()
    gc.freeze()  # what is loaded by now stays loaded: the collector need not walk through it while somebody waits for an answer
    with contextlib.suppress(KeyboardInterrupt):  # Ctrl+C is the usual end
        server.run(sockets=sockets)


class _Server(uvicorn.Server):
    """A server that lets the pages go before it ends."""

    def __init__(self, config: uvicorn.Config, office: Office) -> None:
        super().__init__(config)
        self._office = office

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        """Ctrl+C, or the system's wish that we end."""
        self._office.farewell()
        super().handle_exit(sig, frame)


def doors_of(port: int, key: str, phone: PhoneKey | None) -> tuple[Door, ...]:
    """The addresses this run answers at: the computer's own, and for a phone the network's as long as its key holds."""
    has_key = key_check(key)
    own = tuple(Door(f"{name}:{port}", "/", has_key) for name in (LOOPBACK, "localhost"))
    if phone is None:
        return own
    host = phone.address.removeprefix("http://").partition("/")[0]
    has_phone_key = key_check(phone.key)
    return *own, Door(host, PHONE_PATH, lambda given: phone.holds and has_phone_key(given), f"{PHONE_PATH}/api")


def lan_address() -> str:
    """This computer's address on the local network.  Raises UsageError where it has none."""
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.connect(FAR_AWAY)
            address = probe.getsockname()[0]
    except OSError:
        address = LOOPBACK
    if address.startswith("127.") or address == "0.0.0.0":
        raise UsageError("--lan: found no local network, expected one that the phone is on too. Join it, or leave --lan out.")
    return address


def _job_folder(folder: Path) -> Path:
    if not (folder / "job.toml").is_file():
        raise FolderError(f"{folder}: found no job.toml, expected a job folder. Make one with: afterpart new {folder} --photo "
                          "PICTURE, or leave the folder out and choose a photograph in the page.")
    return folder.resolve()


def _bound(host: str, port: int) -> socket.socket:
    bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if sys.platform != "win32":
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        bound.bind((host, port))
    except (OSError, OverflowError) as error:
        bound.close()
        raise UsageError(f"--port: found {port}, which cannot be used at {host} ({error}), expected a free one. "
                         "Leave --port out, or choose another.") from error
    bound.listen(64)
    return bound


def _code(phone: PhoneKey | None) -> str:
    """The phone's address as a code of blocks, for a terminal; "" without one."""
    if phone is None:
        return ""
    rows = [[bool(module) for module in row] for row in segno.make(phone.address, error="m").matrix_iter(border=2)]
    if len(rows) % 2:
        rows.append([False] * len(rows[0]))
    # two rows a line; dark modules are left blank, so that the code is dark on light on a dark terminal
    blocks = {(False, False): "\u2588", (False, True): "\u2580", (True, False): "\u2584", (True, True): " "}
    return "\n".join("".join(blocks[pair] for pair in zip(upper, lower, strict=True))
                     for upper, lower in zip(rows[::2], rows[1::2], strict=True))
