"""The process in which the kernel lives: reads requests from standard input, answers on standard output.

A message is an 8-byte length and a pickle, between worker.py and this process only; never fed from a file or the network.
The first answer is ("ready", None), or ("refused", text) where the kernel is absent, and then the process ends.
Requests: (verb, arguments); answers: ("done", value), ("refused", text) for a SolidError, ("bug", traceback).
A thread reads, so that this process ends with its parent even in the middle of a piece: when the input ends, nobody waits.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import gc
import os
import pickle
import queue
import struct
import sys
import threading
import traceback
from typing import BinaryIO

from afterpart.errors import SolidError
from afterpart.solid.absence import absence_of

_VERBS = ("build", "read_step", "section_area", "profile")


def main() -> None:
    """Answer requests until standard input ends, and the process with it."""
    # The kernel prints to standard output; the answers go out on a copy of it and the original is sent to standard error.
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    gc.disable()
    try:
        # lazy door: the kernel is an extra, and its absence is told like any other refusal
        from afterpart.solid.bench import Bench
    except ImportError as error:
        _send(answers, ("refused", absence_of("the solid kernel", error)))
        return
    # The kernel's library is a hundred thousand objects that stay: looked through once less, at loading and ever after.
    gc.freeze()
    gc.enable()
    bench = Bench()
    verbs = {verb: getattr(bench, verb) for verb in _VERBS}
    requests: queue.SimpleQueue[tuple] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(sys.stdin.buffer, requests), daemon=True).start()
    _send(answers, ("ready", None))
    while True:
        verb, arguments = requests.get()
        try:
            _send(answers, ("done", verbs[verb](*arguments)))
        except SolidError as error:
            _send(answers, ("refused", str(error)))
        except Exception:
            _send(answers, ("bug", traceback.format_exc()))


def _listen(stream: BinaryIO, requests: queue.SimpleQueue[tuple]) -> None:
    while (request := _receive(stream)) is not None:
        requests.put(request)
    os._exit(0)  # the kernel holds on to its work; the process need not


def _receive(stream: BinaryIO) -> tuple | None:
    head = stream.read(8)
    return pickle.loads(stream.read(struct.unpack("<Q", head)[0])) if len(head) == 8 else None


def _send(stream: BinaryIO, message: tuple) -> None:
    data = pickle.dumps(message)
    stream.write(struct.pack("<Q", len(data)) + data)
    stream.flush()


if __name__ == "__main__":
    main()
