"""Coverage-guided fuzzing of one target: `python -m tests.fuzz.run TARGET -runs=N [FOLDER]`; the arguments after the target are
libFuzzer's (-runs, -seed, -max_len, -max_total_time, a folder of inputs to begin with).  Ends with a status that is not 0, and
the input written beside it, where a target raised what it may not.

`python -m tests.fuzz.run --together PLAN` runs several, each in a child of this process, so that what they import is loaded and
instrumented once.  PLAN: a JSON file of rows [target, its arguments, where its standard error goes]; the statuses are printed, in
order.  It is made for the systems that atheris runs on, which fork."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import os
import resource
import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["afterpart.job", "afterpart.model", "afterpart.photo"]):
    from tests.fuzz.targets import TARGETS, survives


ALLOWED_MB = 2048


def memory_limit() -> str:
    """libFuzzer's limit of memory.  It reads the highest the process ever held, and a child process begins with the highest of
    the one that started it: a large parent would count as a leak of the target, so what was inherited is allowed on top."""
    inherited_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return f"-rss_limit_mb={inherited_mb + ALLOWED_MB}"


def fuzz(name: str, arguments: list[str]) -> None:
    """Fuzz one target; it ends this process."""
    target = TARGETS[name]
    atheris.Setup([sys.argv[0], memory_limit(), *arguments], lambda data: survives(target, data))
    atheris.Fuzz()


def in_a_child(name: str, arguments: list[str], stderr: str) -> int:
    """The same in a child of this process; its exit status."""
    child = os.fork()
    if child == 0:
        os.dup2(os.open(stderr, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), 2)
        fuzz(name, arguments)
        os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def main() -> None:
    """Fuzz what the command line names."""
    if len(sys.argv) == 3 and sys.argv[1] == "--together":
        json.dump([in_a_child(*row) for row in json.loads(Path(sys.argv[2]).read_text())], sys.stdout)
    elif len(sys.argv) < 2 or sys.argv[1] not in TARGETS:
        sys.exit(f"expected one of {', '.join(TARGETS)}")
    else:
        fuzz(sys.argv[1], sys.argv[2:])


if __name__ == "__main__":
    main()
