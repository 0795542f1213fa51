"""Kernel processes that need not load the kernel first: forked from one process of the run that has loaded it.

Loading costs more than most pieces.  `warm()` lets this process's Workshops take their kernels there; each is a process of its
own, with pipes of its own, that runs `afterpart.solid.child` as a fresh one does.  `fresh()` starts Python anew again, for tests
of starting, dying and being the same as before.  A module says FRESH_KERNELS = True for all of its tests (tests/conftest.py).

Run as a program it is the process that forks: for each connection to its socket it takes the two ends of the child's pipes and
answers with the child's number.  It ends when it is told so, or the run is gone.  Limits: systems with fork and pidfd;
elsewhere every kernel is a fresh one.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import gc
import os
import select
import signal
import socket
import struct
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO

from afterpart.solid import child, kernel_process

KERNELS = "AFTERPART_TESTS_KERNELS"
"""Names the socket: set by `begin`, inherited by the processes of the run."""
START_LIMIT_S = 120.0
LOOK_S = 2.0
ONE_MORE, NO_MORE = b"k", b"e"
ROOT = Path(__file__).resolve().parents[1]
_NUMBER = struct.Struct("<i")
_started_anew = kernel_process.start_child


class Forked:
    """What KernelProcess asks of a child: its pipes, whether it has ended, and its end."""

    def __init__(self, pid: int, stdin: BinaryIO, stdout: BinaryIO) -> None:
        self.pid, self.stdin, self.stdout = pid, stdin, stdout
        try:
            self._pidfd = os.pidfd_open(pid)
        except ProcessLookupError:
            self._pidfd = -1

    def poll(self) -> int | None:
        """None while it runs, else a status."""
        if self._pidfd >= 0 and select.select([self._pidfd], [], [], 0)[0]:
            self._forget()
        return None if self._pidfd >= 0 else 0

    def kill(self) -> None:
        """End it."""
        if self.poll() is None:
            signal.pidfd_send_signal(self._pidfd, signal.SIGKILL)

    def wait(self) -> int:
        """Until it has ended."""
        if self.poll() is None:
            select.select([self._pidfd], [], [])
            self._forget()
        return 0

    def _forget(self) -> None:
        os.close(self._pidfd)
        self._pidfd = -1


def begin(folder: Path) -> Callable[[], None]:
    """Start the process that forks kernels, with its socket in this folder; it loads the kernel when the first one is asked for.
    Returns what ends it."""
    if not hasattr(os, "pidfd_open"):
        return lambda: None
    address = folder / "kernels.sock"
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as listening:
        listening.bind(str(address))
        listening.listen(16)
        running = subprocess.Popen([sys.executable, "-m", "tests.kernels", str(address), str(listening.fileno())], cwd=ROOT,
                                   stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, pass_fds=[listening.fileno()])
    os.environ[KERNELS] = str(address)

    def end() -> None:
        os.environ.pop(KERNELS, None)
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as asked:
            asked.connect(str(address))
            asked.sendall(NO_MORE)
        running.wait()

    return end


def started_warm() -> Forked | subprocess.Popen[bytes]:
    """A kernel process from there, or a fresh one where there is none."""
    address = os.environ.get(KERNELS)
    if address is None:
        return _started_anew()
    there, ours = os.pipe()
    back, theirs = os.pipe()
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as asked:
        asked.settimeout(START_LIMIT_S)
        asked.connect(address)
        socket.send_fds(asked, [ONE_MORE], [there, theirs])
        os.close(there)
        os.close(theirs)
        pid, = _NUMBER.unpack(asked.recv(_NUMBER.size))
    return Forked(pid, os.fdopen(ours, "wb"), os.fdopen(back, "rb"))


@contextlib.contextmanager
def warm() -> Iterator[None]:
    """Kernels of this process are forked."""
    yield from _started_by(started_warm)


@contextlib.contextmanager
def fresh() -> Iterator[None]:
    """Kernels of this process load the kernel themselves."""
    yield from _started_by(_started_anew)


def _started_by(start: object) -> Iterator[None]:
    before = kernel_process.start_child
    kernel_process.start_child = start
    try:
        yield
    finally:
        kernel_process.start_child = before


def serve(address: Path, listening: socket.socket) -> None:
    """Fork a kernel for each that asks, until told to end, or the address or the process that began this is gone."""
    listening.settimeout(LOOK_S)
    above = os.getppid()
    while address.exists() and os.getppid() == above:
        with contextlib.suppress(ChildProcessError):
            while os.waitpid(-1, os.WNOHANG)[0]:
                pass
        try:
            asked, _ = listening.accept()
        except TimeoutError:
            continue
        with asked:
            asked.setblocking(True)
            said, pipes, _, _ = socket.recv_fds(asked, 1, 2)
            if said != ONE_MORE:
                return
            # lazy door: loaded by the first that asks, found loaded by all; where there is no kernel, the child says so
            with contextlib.suppress(ImportError):
                from afterpart.solid import bench
                assert bench.Bench
            gc.freeze()
            pid = os.fork()
            if pid == 0:
                _as_the_kernel(*pipes, asked, listening)
            for pipe in pipes:
                os.close(pipe)
            # whoever has gone meanwhile closed the pipes, and with them ended the child
            with contextlib.suppress(OSError):
                asked.sendall(_NUMBER.pack(pid))


def _as_the_kernel(there: int, theirs: int, *others: socket.socket) -> None:
    """What `python -m afterpart.solid.child` does, on these pipes."""
    for other in others:
        other.close()
    os.dup2(there, 0)
    os.dup2(theirs, 1)
    os.close(there)
    os.close(theirs)
    sys.stdin, sys.stdout = os.fdopen(0, "r", closefd=False), os.fdopen(1, "w", closefd=False)
    try:
        child.main()
    finally:
        os._exit(0)


if __name__ == "__main__":
    serve(Path(sys.argv[1]), socket.socket(fileno=int(sys.argv[2])))
