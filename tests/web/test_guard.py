"""Who may ask, tried from outside against a real server: one test for each threat the guard names.

Threats after the OWASP cheat sheets on cross-site request forgery and file upload, and the known attack of leading a foreign name
to a local address (DNS rebinding), which the Host check stops.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import io
import re
import socket
import struct
import time
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image

from afterpart.web.app import ROUTERS
from afterpart.web.guard import PHOTO_LIMIT, TEXT_LIMIT
from afterpart.web.office import PhoneKey
from afterpart.web.serve import doors_of
from tests.web.serving import KEY, Served, plain_request, served

MAKE, MODEL = 0x010F, 0x0110
COVER = Path(__file__).resolve().parents[2] / "examples" / "compressor_cover"
API = [(method, route.path) for router in ROUTERS for route in router.routes
       for method in route.methods if route.path.startswith("/api")]  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    start = tmp_path_factory.mktemp("start")
    folder = start / "cover"
    folder.mkdir()
    for name in ("job.toml", "inlet_cover.jpg"):
        (folder / name).write_bytes((COVER / name).read_bytes())
    (folder / ".hidden").write_text("nobody's business")
    (start / "outside.txt").write_text("outside")
    (folder / "link.txt").symlink_to(start / "outside.txt")
    with served(start, folder, patience_s=1.0) as running:
        yield running


def test_every_route_under_api_asks_for_the_key(page: Served) -> None:
    assert len(API) >= 18
    for method, path in API:
        address = page.url + re.sub(r"\{[^}]*\}", "1", path)
        for key in ({}, {"X-Afterpart-Key": "wrong"}, {"X-Afterpart-Key": KEY + "x"}):
            answer = plain_request(method, address, headers={"Origin": page.url, **key})
            assert answer.status_code == 403, (method, path)
        assert plain_request(method, f"{address}?key={KEY}", headers={"Origin": page.url}).status_code == 403


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:1", "evil.example", "evil.example:{port}",
                                  "127.0.0.1:{port}.evil.example", "[::1]:{port}", "localhost", ""])
def test_another_host_is_refused_whatever_else_is_right(page: Served, host: str) -> None:
    host = host.format(port=page.port)
    answer = page.raw(f"GET /api/sheet HTTP/1.1\r\nHost: {host}\r\nX-Afterpart-Key: {KEY}\r\nConnection: close\r\n\r\n".encode())
    assert answer.startswith(b"HTTP/1.1 400"), answer[:80]


def test_two_hosts_are_refused(page: Served) -> None:
    answer = page.raw(f"GET / HTTP/1.1\r\nHost: {page.host}\r\nHost: evil.example\r\nConnection: close\r\n\r\n".encode())
    assert answer.startswith(b"HTTP/1.1 400")


@pytest.mark.parametrize("origin", [None, "null", "http://evil.example", "https://127.0.0.1:{port}", "http://127.0.0.1",
                                    "http://127.0.0.1:{port}.evil.example", "http://localhost:{port}"])
def test_what_changes_something_must_come_from_the_page(page: Served, origin: str | None) -> None:
    headers = {"X-Afterpart-Key": KEY} | ({"Origin": origin.format(port=page.port)} if origin else {})
    before = (page.office.desk.folder / "job.toml").read_bytes()  # type: ignore[operator]
    answer = plain_request("POST", f"{page.url}/api/edits", headers=headers, json={
        "stamp": page.office.desk.stamp, "edits": [{"do": "set", "at": "revision", "value": "X"}]})
    assert answer.status_code == 403
    assert (page.office.desk.folder / "job.toml").read_bytes() == before  # type: ignore[operator]


def test_reading_from_another_page_is_refused_too(page: Served) -> None:
    for headers in ({"Origin": "http://evil.example"}, {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}):
        assert plain_request("GET", f"{page.url}/api/sheet", headers={"X-Afterpart-Key": KEY, **headers}).status_code == 403
    assert plain_request("GET", f"{page.url}/api/sheet", headers={"X-Afterpart-Key": KEY}).status_code == 200


def test_the_page_is_served_without_a_key_and_lets_no_other_script_run(page: Served) -> None:
    answer = plain_request("GET", page.url)
    assert answer.status_code == 200 and answer.headers["content-type"].startswith("text/html")
    assert not re.search(r"<script(?![^>]*\bsrc=)|<style|\son\w+=|style=", answer.text), "no inline script or style"
    for path in ("/", "/app.js", "/nothing-here", "/api/sheet"):
        headers = plain_request("GET", page.url + path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy
        assert headers["x-content-type-options"] == "nosniff" and headers["referrer-policy"] == "no-referrer"
        assert headers["cross-origin-opener-policy"] == headers["cross-origin-resource-policy"] == "same-origin"


@pytest.mark.parametrize("name", [
    "../outside.txt", "..%2foutside.txt", "%2e%2e/outside.txt", "%2e%2e%2foutside.txt", "..%5coutside.txt", "/etc/passwd",
    "%2fetc%2fpasswd", ".hidden", "link.txt", "pieces/../job.toml", "job.toml%00.txt", ""])
def test_no_name_leads_out_of_its_folder(page: Served, name: str) -> None:
    for area in ("job", "release", "pieces", "..", "job%2f.."):
        answer = page.raw(f"GET /api/file/{area}/{name} HTTP/1.1\r\nHost: {page.host}\r\nX-Afterpart-Key: {KEY}\r\n"
                          "Connection: close\r\n\r\n".encode())
        assert answer.split(b" ", 2)[1] in (b"404", b"400"), (area, name, answer[:60])


def test_a_file_that_is_listed_is_given(page: Served) -> None:
    answer = page.client.get("/api/file/job/job.toml")
    assert answer.content == (COVER / "job.toml").read_bytes() and answer.headers["content-disposition"] == "attachment"


def test_a_body_declared_too_large_is_refused_before_it_is_read(page: Served) -> None:
    for path, limit in (("/api/photo", PHOTO_LIMIT), ("/api/edits", TEXT_LIMIT)):
        head = (f"POST {path} HTTP/1.1\r\nHost: {page.host}\r\nOrigin: {page.url}\r\nX-Afterpart-Key: {KEY}\r\n"
                f"Content-Length: {limit + 1}\r\n\r\n")
        assert page.raw(head.encode(), 5.0).startswith(b"HTTP/1.1 413")


def test_a_body_in_pieces_is_counted_as_it_comes(page: Served) -> None:
    head = (f"POST /api/edits HTTP/1.1\r\nHost: {page.host}\r\nOrigin: {page.url}\r\nX-Afterpart-Key: {KEY}\r\n"
            "Transfer-Encoding: chunked\r\n\r\n").encode()
    piece = b"10000\r\n" + b" " * 0x10000 + b"\r\n"
    with socket.create_connection(("127.0.0.1", page.port), timeout=10.0) as link:
        link.sendall(head)
        sent = 0
        try:
            while sent < 4 * TEXT_LIMIT:
                link.sendall(piece)
                sent += 0x10000
        except OSError:
            pass  # the server has closed the door
        try:
            answer = link.recv(200)
        except ConnectionResetError:
            answer = b""
    assert answer.startswith(b"HTTP/1.1 413") or (answer == b"" and sent < 4 * TEXT_LIMIT)
    assert page.get("/api/sheet")["has_job"], "and goes on serving"


def trickled(page: Served, head: bytes, letter: bytes, before: bytes = b"") -> tuple[float, bytes]:
    """How long these bytes followed by a letter every quarter of a second are put up with, and what is answered.  before: a
    whole request on the same connection, whose answer is read first."""
    answer = b""
    with socket.create_connection(("127.0.0.1", page.port), timeout=0.25) as link:
        if before:
            link.sendall(before)
            link.settimeout(5.0)
            assert link.recv(65536).startswith(b"HTTP/1.1 200")
            link.settimeout(0.25)
            with contextlib.suppress(TimeoutError):
                while link.recv(65536):
                    pass
        begun = time.monotonic()
        try:
            link.sendall(head)
            for _ in range(60):
                try:
                    answer += link.recv(4096)
                    break
                except TimeoutError:
                    link.sendall(letter)
        except OSError:
            pass  # the server has closed the door
        return time.monotonic() - begun, answer


@pytest.mark.parametrize(("head", "letter"), [
    (b"", b""), (b"G", b"E"), (b"GET / HTTP/1.1\r\nHost: x\r\n", b"a"), (b"GET / HTTP/1.1\r\n", b"A: b\r\n")])
def test_a_head_that_trickles_is_given_up(head: bytes, letter: bytes, page: Served) -> None:
    seconds, answer = trickled(page, head, letter)
    assert 0.5 < seconds < 10.0 and answer[:12] in (b"HTTP/1.1 408", b"HTTP/1.1 400", b"")


def test_a_second_head_on_a_connection_is_bounded_too_and_a_long_answer_is_not(page: Served) -> None:
    first = f"GET / HTTP/1.1\r\nHost: {page.host}\r\n\r\n".encode()
    with socket.create_connection(("127.0.0.1", page.port), timeout=5.0) as link:
        link.sendall(first)
        assert link.recv(65536).startswith(b"HTTP/1.1 200")
        time.sleep(1.5)
        link.sendall(first)
        assert link.recv(65536), "a page may be idle for longer than a head may take"
    events = f"GET /api/events HTTP/1.1\r\nHost: {page.host}\r\nX-Afterpart-Key: {KEY}\r\n\r\n".encode()
    with socket.create_connection(("127.0.0.1", page.port), timeout=2.5) as link:
        link.sendall(events)
        assert link.recv(65536).startswith(b"HTTP/1.1 200")
        begun = time.monotonic()
        try:
            while time.monotonic() - begun < 2.0:
                assert link.recv(65536), "an answer under way is not cut off"
        except TimeoutError:
            pass
    seconds, answer = trickled(page, b"GET /", b"x", before=first)
    assert 0.5 < seconds < 10.0 and answer[:12] in (b"HTTP/1.1 408", b"")


def test_a_body_that_trickles_is_given_up(page: Served) -> None:
    head = (f"POST /api/edits HTTP/1.1\r\nHost: {page.host}\r\nOrigin: {page.url}\r\nX-Afterpart-Key: {KEY}\r\n"
            "Content-Length: 1000\r\n\r\n{").encode()
    seconds, answer = trickled(page, head, b" ")
    assert seconds < 10.0 and answer.startswith(b"HTTP/1.1 408"), "each letter comes in time, all of them do not"
    assert page.get("/api/sheet")["has_job"], "and goes on serving"


def test_a_body_that_stops_coming_is_given_up(page: Served) -> None:
    head = (f"POST /api/edits HTTP/1.1\r\nHost: {page.host}\r\nOrigin: {page.url}\r\nX-Afterpart-Key: {KEY}\r\n"
            "Content-Length: 1000\r\n\r\n{").encode()
    begun = time.monotonic()
    assert page.raw(head, 15.0).startswith(b"HTTP/1.1 408")
    assert time.monotonic() - begun < 10.0


def bomb(width: int, height: int) -> bytes:
    """A small PNG that claims a large picture (PNG specification, IHDR)."""
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0))
            + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b""))


def slipping_zip() -> bytes:
    """An archive whose entry leads out of the folder it is unpacked in.  No address takes archives, and they are no pictures."""
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr("../../job.toml", "name = 'slipped'")
    return data.getvalue()


@pytest.mark.parametrize("data", [
    bomb(30000, 30000), bomb(7200, 7200), b"", b"GIF89a", b"<svg onload='alert(1)'/>", b"\xff\xd8\xff\xe0", b"%PDF-1.7",
    b"not a picture" * 1000, slipping_zip()], ids=["bomb", "51MP", "empty", "gif", "svg", "cut", "pdf", "text", "zip"])
def test_what_is_no_usable_picture_changes_nothing(page: Served, data: bytes) -> None:
    folder = page.office.desk.folder
    assert folder is not None
    before = sorted(path.name for path in folder.iterdir()), (folder / "job.toml").read_bytes()
    answer = page.client.post("/api/photo?name=evil.jpg", content=data)
    assert answer.status_code == 422 and answer.json()["message"] and answer.json()["way_out"]
    assert (sorted(path.name for path in folder.iterdir()), (folder / "job.toml").read_bytes()) == before


@pytest.mark.parametrize("name", [
    "../../evil.jpg", "..\\..\\evil.jpg", "<script>alert(1)</script>.jpg", "job.toml", "con\x00.jpg", "", "a" * 500 + ".jpg",
    ".job.toml.jpg"])
def test_the_name_of_a_picture_is_our_own(tmp_path: Path, name: str) -> None:
    from_phone = (COVER / "inlet_cover.jpg").read_bytes()
    desk_start = tmp_path / "start"
    with served(desk_start) as running:
        answer = running.client.post("/api/photo", params={"name": name}, content=from_phone)
        assert answer.status_code == 200, answer.text
        folder = running.office.desk.folder
    assert folder is not None and folder.parent == desk_start
    assert re.fullmatch(r"[A-Za-z0-9_-]{1,42}", folder.name)
    names = sorted(path.name for path in folder.iterdir())
    assert len(names) == 2 and "job.toml" in names and all(re.fullmatch(r"[A-Za-z0-9_-]+\.(jpg|toml)", one) for one in names)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["start"]


def test_words_inside_a_picture_are_data_and_nothing_else(page: Served) -> None:
    """Script in the camera's name: told in JSON that no browser takes for a page, and never in a picture's head."""
    words, data = "<script>alert(1)</script>", io.BytesIO()
    with Image.open(COVER / "inlet_cover.jpg") as picture:
        tags = picture.getexif()
        tags[MAKE], tags[MODEL] = words, words
        picture.save(data, "JPEG", exif=tags, quality=90)
    answer = page.client.post(f"/api/photo?name={words}.jpg", content=data.getvalue())
    assert answer.status_code == 200, answer.text
    told = page.client.get("/api/photo/1")
    assert told.headers["content-type"] == "application/json" and told.headers["x-content-type-options"] == "nosniff"
    assert words not in told.json()["file"]
    shown = page.client.get("/api/photo/1/picture")
    assert shown.headers["content-type"].startswith("image/") and "default-src 'none'" in shown.headers["content-security-policy"]


@pytest.mark.parametrize("body", [
    b"", b"[]", b"{", b"NaN", b'{"stamp": 1, "edits": []}', b'{"stamp": "", "edits": {}}', b"[" * 100000, b"\xff\xfe",
    b'{"stamp": "x", "edits": [{"do": "set", "at": "cover.thickness", "value": NaN}]}'])
def test_a_request_that_is_none_is_refused_in_words(page: Served, body: bytes) -> None:
    answer = page.client.post("/api/edits", content=body)
    assert answer.status_code in (409, 422) and answer.json()["message"]


def test_a_bug_is_told_in_a_plain_sentence(page: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken() -> None:
        raise RuntimeError("secret detail")
    monkeypatch.setattr(page.office, "sheet", broken)
    # with a connection of its own: the server closes it after a bug
    answer = plain_request("GET", f"{page.url}/api/sheet", headers={"X-Afterpart-Key": KEY}, timeout=60.0)
    monkeypatch.undo()
    assert answer.status_code == 500 and "secret" not in answer.text and "not in your input" in answer.json()["message"]
    assert answer.headers["content-security-policy"]
    assert page.get("/api/sheet")["has_job"]


def test_the_network_takes_one_photograph_and_nothing_else(tmp_path: Path) -> None:
    """The phone's address is stood in for by a second name of this server, as doors go by the Host header."""
    phone = PhoneKey("phone-key", "http://192.0.2.7:1/phone#key=phone-key")
    with served(tmp_path, None, phone) as running:
        assert {door.host for door in doors_of(running.port, KEY, phone)} >= {"192.0.2.7:1", running.host}
        there = {"Host": "192.0.2.7:1", "Origin": "http://192.0.2.7:1"}
        for path in ("/", "/app.js", "/api/sheet", "/api/file/job/job.toml"):
            assert plain_request("GET", running.url + path, headers={**there, "X-Afterpart-Key": KEY}).status_code == 403
        assert plain_request("GET", f"{running.url}/phone", headers=there).status_code == 200
        data = (COVER / "inlet_cover.jpg").read_bytes()
        send = f"{running.url}/phone/api/photo?name=IMG_1.jpg"
        for key in ("", KEY, "wrong"):
            assert plain_request("POST", send, headers={**there, "X-Afterpart-Key": key}, content=data).status_code == 403
        assert plain_request("POST", send, headers={**there, "X-Afterpart-Key": "phone-key"}, content=b"no").status_code == 422
        assert plain_request("GET", f"{running.url}/api/phone", headers={"X-Afterpart-Key": KEY}).content.startswith(b"\x89PNG")
        assert plain_request("POST", send, headers={**there, "X-Afterpart-Key": "phone-key"}, content=data).status_code == 200
        assert running.get("/api/sheet")["has_job"] and running.get("/api/sheet")["phone"] is None
        assert plain_request("POST", send, headers={**there, "X-Afterpart-Key": "phone-key"}, content=data).status_code == 403
        assert plain_request("GET", f"{running.url}/api/sheet", headers={"X-Afterpart-Key": "phone-key"}).status_code == 403


def test_damaged_files_of_a_job_are_told_and_the_page_stays_usable(tmp_path: Path) -> None:
    """Whatever an interrupted disk or a careless hand leaves in the folder, the head of the sheet says so and edits go on."""
    folder = tmp_path / "cover"
    folder.mkdir()
    (folder / "job.toml").write_bytes((COVER / "job.toml").read_bytes())
    with served(tmp_path, folder) as running:
        for name in ("outline.json", "edges.json", "job.json", "report.json", "findings.json"):
            (folder / name).write_bytes(b"{ half a fi")
            answer = running.client.get("/api/sheet")
            assert answer.status_code == 200, (name, answer.text)
        assert answer.json()["problems"] and answer.json()["name"] == "inlet cover"
        for path in ("outline", "findings", "release", "photo/1", "pieces"):
            assert running.client.get(f"/api/{path}").status_code in (200, 404, 422), path
        sheet = running.get("/api/sheet")
        assert running.edit({"do": "set", "at": "date", "value": "x"}).status_code == 200
        assert running.get("/api/sheet")["stamp"] != sheet["stamp"]
