"""The command line of afterpart: arguments and printing, nothing else.

Exit status: 0 done; 2 usage (judged from the command line alone); 3 a file or the picture cannot be used; 4 `check`: some
finding fails, `verify`: the folder is not as its manifest says, `batch`: some job failed; 1 a bug.
Results and progress go to stdout, the one message of a failure to stderr.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import os
import sys
import traceback

from afterpart.cli.commands import app
from afterpart.errors import AfterpartError

BUG_STATUS = 1
ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS")
"""Set before numpy is loaded, unless the maker has: our matrices are small, and threads that wait for one another cost more than
they save (a typed reading at the page three times as much)."""


def main() -> None:
    """Run the command line and leave with its exit status."""
    for name in ONE_THREAD:
        os.environ.setdefault(name, "1")
    try:
        app(prog_name="afterpart")
    except AfterpartError as error:
        print(f"afterpart: {error}", file=sys.stderr)
        sys.exit(error.exit_status)
    except Exception:  # the one broad handler of the command line: a bug ends with status 1 and all there is to report it
        traceback.print_exc()
        print("afterpart: this is a bug in afterpart, not in your input. Please report the lines above.", file=sys.stderr)
        sys.exit(BUG_STATUS)
