"""Writes docs/checks.md: every check of the catalogue with what it judges and its formula, from its docstring.

Run: python docs/make_checks.py.  A test runs it and compares.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import inspect
from pathlib import Path

from afterpart.checks.catalogue import CHECKS, Check

HEAD = """# What is checked

Written by `docs/make_checks.py` from the code; a test keeps the two alike. `afterpart check JOB` runs every check that applies to
the job and writes `findings.pdf`, `findings.json` and `report.json`; its exit status is 4 when one fails.

- **passes**: within the limit, plainly.
- **attention**: within the limit, but closer than two standard uncertainties, or resting on a figure from memory, or for the
  reason the finding gives.
- **fails**: beyond the limit.
- **not judged**: a key of the job is missing (it is named), or the formula does not hold there.

The report opens with *print it*, *print it if ...* or *do not print it*: a failure of severity 3 or less is a nuisance and only a
condition. A calculation is no test: nothing is proven before it has been tried. Hold to local codes; leave work on brakes,
steering, fuel, pressure and electricity to licensed practice.

"""


def page() -> str:
    """The whole text of docs/checks.md."""
    index = "".join(f"- [{spoken(check)}](#{anchor(check)}): {first_sentence(check)}\n" for check in CHECKS)
    return HEAD + f"{len(CHECKS)} checks:\n\n" + index + "".join(map(section, CHECKS))


def section(check: Check) -> str:
    """The check's heading, docstring and file."""
    room = Path(inspect.getfile(check)).name
    return f"\n## {spoken(check)}\n\n{inspect.cleandoc(check.__doc__ or '')}\n\nIn `checks/{room}`.\n"


def spoken(check: Check) -> str:
    """The check's name in words, as in the report."""
    words = check.__name__.replace("_", " ")
    return words[:1].upper() + words[1:]


def anchor(check: Check) -> str:
    """Where its heading is found on the page."""
    return check.__name__.replace("_", "-")


def first_sentence(check: Check) -> str:
    """What it judges, in a line."""
    first = " ".join(inspect.cleandoc(check.__doc__ or "").split("\n\n")[0].split())
    return first if first.endswith((".", "!", "?", ":")) else f"{first}."


if __name__ == "__main__":
    (Path(__file__).parent / "checks.md").write_text(page())
