"""The command that opens the page, as a maker starts and ends it."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import httpx
import pytest

from afterpart.errors import UsageError
from afterpart.web.guard import Door, key_check
from afterpart.web.office import PHONE_S, PhoneKey
from afterpart.web.serve import Opened, doors_of, serve


@pytest.mark.skipif(sys.platform == "win32", reason="the console's interrupt is sent another way there")
def test_it_says_its_address_serves_this_machine_alone_and_ends_on_ctrl_c(tmp_path: Path) -> None:
    process = subprocess.Popen([sys.executable, "-m", "afterpart", "open", "--no-browser"], cwd=tmp_path, stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True)
    try:
        assert process.stdout is not None
        address = next(line for line in process.stdout if "#key=" in line).split()[-1]
        found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/#key=([\w-]{40,})", address)
        assert found is not None
        port, key = int(found[1]), found[2]
        limit = time.monotonic() + 60.0
        while True:
            try:
                answer = httpx.get(f"http://127.0.0.1:{port}/api/sheet", headers={"X-Afterpart-Key": key}, timeout=30.0)
                break
            except httpx.ConnectError:
                assert time.monotonic() < limit
        assert answer.status_code == 200 and not answer.json()["has_job"] and answer.json()["phone"] is None
        own = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)} - {"127.0.0.1"}
        for other in (name for name in own if not name.startswith("127.")):
            with pytest.raises(OSError), socket.create_connection((other, port), timeout=2.0):
                pass
        process.send_signal(signal.SIGINT)
        assert process.wait(timeout=60.0) == 0
        assert process.stderr is not None and "Traceback" not in process.stderr.read()
        assert not list(tmp_path.iterdir()), "nothing is written before there is a photograph"
    finally:
        process.kill()
        process.communicate()


def test_a_taken_port_and_a_folder_without_a_job_are_refused(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(UsageError, match="expected a free one"):
            serve(None, taken.getsockname()[1], False, lambda opened: None, False)
    done = subprocess.run([sys.executable, "-m", "afterpart", "open", str(tmp_path), "--no-browser"], capture_output=True,
                          text=True, timeout=120)
    assert done.returncode == 3 and "no job.toml" in done.stderr and "Traceback" not in done.stderr


def test_the_phones_key_ends_with_its_time(monkeypatch: pytest.MonkeyPatch) -> None:
    phone = PhoneKey("k", "http://192.0.2.7:80/phone#key=k")
    door = doors_of(80, "main", phone)[-1]
    assert door.has_key("k") and not door.has_key("main") and not door.has_key("")
    now = time.monotonic()
    monkeypatch.setattr("afterpart.web.office.time.monotonic", lambda: now + PHONE_S + 1.0)
    assert not door.has_key("k") and not phone.holds


def test_keys_are_compared_whole() -> None:
    holds = key_check("abc")
    assert holds("abc") and not any(holds(other) for other in ("", "ab", "abcd", "ABC", "äbc", "\udcff"))
    assert Door("127.0.0.1:5", "/", holds).origin == "http://127.0.0.1:5"
    assert Opened("a", None, "").phone is None
