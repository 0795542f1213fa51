"""Coverage-guided fuzzing of one target: `python -m tests.fuzz.run TARGET -runs=N [FOLDER]`; the arguments after the target are
libFuzzer's (-runs, -seed, -max_len, -max_total_time, a folder of inputs to begin with).  Ends with a status that is not 0, and
the input written beside it, where a target raised what it may not."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import resource
import sys

import atheris

with atheris.instrument_imports(include=["afterpart.job", "afterpart.model", "afterpart.photo"]):
    from tests.fuzz.targets import TARGETS, survives


ALLOWED_MB = 2048


def memory_limit() -> str:
    """libFuzzer's limit of memory.  It reads the highest the process ever held, and a child process begins with the highest of
    the one that started it: a large parent would count as a leak of the target, so what was inherited is allowed on top."""
    inherited_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    return f"-rss_limit_mb={inherited_mb + ALLOWED_MB}"


def main() -> None:
    """Fuzz the target the command line names."""
    if len(sys.argv) < 2 or sys.argv[1] not in TARGETS:
        sys.exit(f"expected one of {', '.join(TARGETS)}")
    target = TARGETS[sys.argv[1]]
    atheris.Setup([sys.argv[0], memory_limit(), *sys.argv[2:]], lambda data: survives(target, data))
    atheris.Fuzz()


if __name__ == "__main__":
    main()
