"""A refusal in the parts the page shows: what is wrong, where, and the way out.

Every AfterpartError says found, expected, do; a job file's complaint begins with `job.toml:LINE: key:`.  Of several complaints
the first is told in parts, all of them beside it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
from dataclasses import dataclass

from afterpart.errors import AfterpartError

_PLACE = re.compile(r"(?:[\w.-]+\.toml(?::(?P<line>\d+))?: )?(?:(?P<where>[A-Za-z_][\w.]*(?: [\w.-]+)?): )?(?P<text>.*)",
                    re.DOTALL)
_SENTENCE = re.compile(r"(?<=[.!?;])\s+(?=[A-Z][a-z])")


@dataclass(frozen=True)
class Refusal:
    """message: what was found and expected; where: the job's key, or ""; way_out: what to do; line: of the job file, or None."""

    message: str
    where: str
    way_out: str
    line: int | None = None

    def plain(self) -> dict[str, object]:
        """As the page takes it."""
        return {"message": self.message, "where": self.where, "way_out": self.way_out, "line": self.line}


def refusals(error: AfterpartError) -> tuple[Refusal, ...]:
    """Each complaint of an error, in its order."""
    lines = [line for line in str(error).splitlines() if line.strip()]
    starts = [line for line in lines if re.match(r"[\w.-]+\.toml:\d+: ", line)]
    return tuple(_parts(text) for text in (starts if len(starts) == len(lines) > 1 else [str(error)]))


def _parts(text: str) -> Refusal:
    found = _PLACE.fullmatch(text.strip())
    assert found is not None, "the pattern takes any text"
    sentences = _SENTENCE.split(found["text"])
    told = max(1, len(sentences) - 1)
    line = int(found["line"]) if found["line"] else None
    return Refusal(" ".join(sentences[:told]), found["where"] or "", " ".join(sentences[told:]), line)
