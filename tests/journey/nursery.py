"""The command line in children of one warm process: each command is a process of its own; what they import is loaded once.

Run as a program it reads one JSON object a line (arguments, folder, where stdout and stderr go), forks, lets the child run
`afterpart.cli.main` as `python -m afterpart` does, and answers with the child's exit status.  It ends with its standard input.
The solid kernels that these commands start are forked likewise (tests/kernels.py).
Words: the *nursery* is the warm process.  Limits: systems with fork; tests/journey/command.py starts a process each elsewhere.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import atexit
import json
import os
import sys
import traceback
from pathlib import Path

from afterpart import cli
from afterpart.pipeline import judging, making, measuring, releasing
from tests import kernels

LOADED = (judging, making, measuring, releasing)
"""Behind the command line's lazy doors: loaded here, so that no child has to."""


def _as_the_child(told: dict[str, str | list[str]]) -> None:
    """What `python -m afterpart ARGUMENTS...` does, from the standard streams to the exit status."""
    os.chdir(str(told["folder"]))
    for number, name in ((0, os.devnull), (1, str(told["stdout"])), (2, str(told["stderr"]))):
        opened = os.open(name, os.O_RDONLY if number == 0 else os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(opened, number)
        os.close(opened)
    sys.stdin, sys.stdout, sys.stderr = (os.fdopen(number, "r" if number == 0 else "w", closefd=False) for number in range(3))
    sys.argv = ["afterpart", *told["arguments"]]
    status = 0
    try:
        cli.main()
    except SystemExit as end:
        status = end.code if isinstance(end.code, int) else int(end.code is not None)
    except BaseException:
        traceback.print_exc()
        status = 1
    atexit._run_exitfuncs()
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    os._exit(status)


def serve() -> None:
    """One command after the other, until nobody asks any more."""
    for line in sys.stdin:
        told = json.loads(line)
        child = os.fork()
        if child == 0:
            _as_the_child(told)
        _, state = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(state), flush=True)


if __name__ == "__main__":
    assert all(Path(str(part.__file__)).is_file() for part in LOADED)
    with kernels.warm():
        serve()
