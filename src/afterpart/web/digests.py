"""SHA-256 of files, computed again only when a file's time or size says that it has changed."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import hashlib
from pathlib import Path

Signature = tuple[int, int]


class Digests:
    """Remembers what was computed; one for each open job."""

    def __init__(self) -> None:
        self._known: dict[Path, tuple[Signature, str]] = {}

    def of(self, path: Path) -> str:
        """The file's SHA-256; "" where there is no such file."""
        now = signature(path)
        if now is None:
            self._known.pop(path, None)
            return ""
        known = self._known.get(path)
        if known is None or known[0] != now:
            try:
                known = (now, hashlib.sha256(path.read_bytes()).hexdigest())
            except OSError:
                return ""
            self._known[path] = known
        return known[1]

    def of_all(self, paths: tuple[Path, ...]) -> str | None:
        """One SHA-256 over several files; None where one is missing, or none is named."""
        found = [self.of(path) for path in paths]
        if not found or not all(found):
            return None
        return found[0] if len(found) == 1 else hashlib.sha256("".join(found).encode()).hexdigest()


def signature(path: Path) -> Signature | None:
    """Time and size of a file; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
