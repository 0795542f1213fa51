"""Who does many tasks: processes of this machine, or the workers of a cluster.  Both take a task by `submit` and give a future.

Words: a *hand* is one process that does one task at a time.  A hand that ends at work (killed, out of memory) is replaced, and
its task begun once more; when that ends too, the future says so by LostError.  A hand that is not done within the time a task
may take is ended, and its task is not begun again: what hung once would hang again.
Limits: on a cluster the scheduler does the first by its own setting, and nobody ends a task that hangs.  Processes are begun
afresh (not forked), so that the same happens on every system.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import queue
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import active_children
from multiprocessing.context import SpawnContext
from typing import Any, Protocol, TypeVar

from afterpart.errors import FolderError, UsageError

Task = TypeVar("Task")
Result = TypeVar("Result")
TRIES = 2
INSTALL = "pip install \"afterpart[cluster]\""
ONE_THREAD = "OMP_NUM_THREADS"
LONGEST_S = 1800.0
"""How long one task may take: a release takes a minute or two."""
REACH_S = 10.0
"""How long to wait for a scheduler's answer."""


class LostError(Exception):
    """The process that did the task ended before it was done, each time, or was ended since it took too long."""


class Crew(Protocol):
    """Takes tasks."""

    def submit(self, work: Callable[[Any], Any], task: Any) -> Future[Any]:
        """Have `work(task)` done; both must be importable by name and picklable."""


class Hands:
    """Processes of this machine, each with a thread here that waits for it.  count: how many at a time; longest_s: what one task
    may take."""

    def __init__(self, count: int, longest_s: float = LONGEST_S) -> None:
        self._longest_s = longest_s
        self._free: queue.SimpleQueue[Executor] = queue.SimpleQueue()
        for _ in range(count):
            self._free.put(_hand())
        self._waiting = ThreadPoolExecutor(count)

    def submit(self, work: Callable[[Any], Any], task: Any) -> Future[Any]:
        """As Crew.submit; the future raises what the work raised, or LostError."""
        return self._waiting.submit(self._done, work, task)

    def close(self) -> None:
        """End all of them once what is being done has ended; what has not begun is left."""
        self._waiting.shutdown(wait=True, cancel_futures=True)
        while not self._free.empty():
            self._free.get().shutdown(wait=True)

    def _done(self, work: Callable[[Any], Any], task: Any) -> Any:
        hand = self._free.get()
        try:
            for _ in range(TRIES):
                try:
                    number = hand.submit(_own_number, work).result()
                    future = hand.submit(work, task)
                    if not wait([future], self._longest_s).done:
                        hand = _replaced(hand, number)
                        raise LostError(f"it was not done after {self._longest_s / 60.0:.3g} minutes, so its process was ended")
                    return future.result()
                except BrokenProcessPool:
                    hand = _replaced(hand)
            raise LostError(f"its process ended before it was done, {TRIES} times (killed, or out of memory)")
        finally:
            self._free.put(hand)


def _own_number(_: Callable[[Any], Any]) -> int:
    """The number of the process this runs in.  It is given the work, so that loading does not count as the task's time."""
    return os.getpid()


def _replaced(hand: Executor, number: int | None = None) -> Executor:
    """Another hand for one that ended, or for one to be ended: its process has this number."""
    for child in active_children():
        if child.pid == number:
            child.kill()
    hand.shutdown(wait=False)
    return _hand()


def _hand() -> Executor:
    return ProcessPoolExecutor(1, mp_context=SpawnContext())


@contextmanager
def hands(count: int, longest_s: float = LONGEST_S) -> Iterator[Crew]:
    """So many processes of this machine, a task taking at most longest_s.  Each counts with one thread: more processes tell more
    than more threads."""
    before = os.environ.get(ONE_THREAD)
    os.environ.setdefault(ONE_THREAD, "1")  # read by the processes when they load their libraries; ours are loaded
    crew = Hands(count, longest_s)
    try:
        yield crew
    finally:
        crew.close()
        if before is None:
            os.environ.pop(ONE_THREAD, None)


@contextmanager
def cluster(address: str) -> Iterator[Crew]:
    """The workers of a dask.distributed scheduler, for example tcp://10.0.0.5:8786.  They must see the same folders under the
    same names.

    Raises UsageError where the library is not installed, FolderError when the scheduler does not answer or has no workers."""
    try:
        # lazy door: only who has a cluster needs the library
        from distributed import Client
        from distributed.client import ClientExecutor
    except ImportError as error:
        raise UsageError(f"--scheduler: the library distributed cannot be loaded ({error}); expected it for work on a cluster. "
                         f"Install the extra that brings it: {INSTALL}. Without it: --workers N.") from error
    try:
        client = Client(address, timeout=REACH_S, set_as_default=False)
    except (OSError, ValueError) as error:
        raise FolderError(f"--scheduler {address}: found no scheduler that answers ({error}); expected one, with workers. Start "
                          "them with: dask scheduler, dask worker ADDRESS") from error
    try:
        if not client.scheduler_info()["workers"]:
            raise FolderError(f"--scheduler {address}: found no workers, expected at least one. Start them with: "
                              f"dask worker {address} --nthreads 1")
        yield ClientExecutor(client, pure=False)
    finally:
        client.close()
