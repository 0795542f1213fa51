"""Every noun to JSON and back, so that a job folder can be inspected, corrected by hand and worked on from any stage.

`outline.json` follows the published contract (loops under "measured" and "design", channels alone carry "wall" and "depth");
findings.json is an array of findings as that contract shows (a limit is a number with its "side", or a band); the other files
are the nouns key by key.  Every file but findings.json begins with its format number; another number is refused, not guessed at.
Numbers are written so that they read back exactly.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from afterpart.errors import FolderError
from afterpart.model.assembly import Build
from afterpart.model.case import Measured
from afterpart.model.codec import PlainError, from_plain, to_plain
from afterpart.model.edges import EdgeMap
from afterpart.model.finding import VERDICTS, CheckReport, Finding
from afterpart.model.history import History
from afterpart.model.job import Job, Shot
from afterpart.model.json_text import indented
from afterpart.model.mate import MateMatch
from afterpart.model.outline import Outline
from afterpart.model.piece import Piece

FORMAT = 1
MAX_BYTES = 100_000_000
T = TypeVar("T")


@dataclass(frozen=True)
class PhotoRecord:
    """One photograph edges were measured from: its SHA-256 and the shot."""

    sha256: str
    shot: Shot


@dataclass(frozen=True)
class EdgeRecord:
    """Edges with what they were measured from: the picture's SHA-256, the shot, and the program's version; all: every photograph
    where there were several."""

    photo_sha256: str
    shot: Shot
    version: str
    edges: EdgeMap
    all: tuple[PhotoRecord, ...] = ()

    def holds_for(self, photo_sha256: str, shot: Shot, version: str) -> bool:
        """Would measuring this picture with this shot give the same edges?  (The file's name does not matter.)"""
        return (self.photo_sha256, replace(self.shot, file=""), self.version) == (photo_sha256, replace(shot, file=""), version)

    def holds_for_all(self, shots: tuple[Shot, ...]) -> bool:
        """Are the edges of just these photographs, with what is told about each, in this order?  (Their files are not opened.)"""
        return tuple(one.shot for one in self.all) == (shots if len(shots) > 1 else ())


@dataclass(frozen=True)
class Pieces:
    """What pieces.json holds."""

    pieces: tuple[Piece, ...]


def outline_json(outline: Outline) -> bytes:
    """outline.json."""
    plain = to_plain(outline)
    for name in ("measured", "design"):
        plain[name] = {"loops": [_loop_to_plain(loop) for loop in plain[name]]}
    order = ("unit", "reference", "camera", "datum", "measured", "design", "dimensions", "relations", "free", "next_readings",
             "notes")
    for dimension in plain["dimensions"]:
        if dimension["mate"] is None:
            del dimension["mate"]
    if plain["other_face"] is not None:
        plain["other_face"]["loops"] = [_loop_to_plain(loop) for loop in plain["other_face"]["loops"]]
    several = {key: plain[key] for key in ("photos", "heights", "other_face") if plain[key]}
    return _encode({key: plain[key] for key in order} | several)


def parse_outline(data: bytes, name: str = "outline.json") -> Outline:
    """The outline of an outline.json.  Raises FolderError when it is none."""
    def read(plain: dict[str, Any]) -> Outline:
        return from_plain(Outline, {**plain, "measured": plain["measured"]["loops"], "design": plain["design"]["loops"]})
    return _decode(data, name, read)


def edges_json(record: EdgeRecord) -> bytes:
    """edges.json."""
    return _encode(to_plain(record), indent=None)


def parse_edges(data: bytes, name: str = "edges.json") -> EdgeRecord:
    """The edges of an edges.json.  Raises FolderError when it is none."""
    return _decode(data, name, lambda plain: from_plain(EdgeRecord, plain))


def pieces_json(pieces: tuple[Piece, ...]) -> bytes:
    """pieces.json."""
    return _encode(to_plain(Pieces(pieces)))


def parse_pieces(data: bytes, name: str = "pieces.json") -> tuple[Piece, ...]:
    """The pieces of a pieces.json.  Raises FolderError when it is none."""
    return _decode(data, name, lambda plain: from_plain(Pieces, plain)).pieces


def build_json(build: Build) -> bytes:
    """pieces.json of a build: pieces with their steps and features, their places, what is bought, the table of filter cuts."""
    return _encode(to_plain(build))


def parse_build(data: bytes, name: str = "pieces.json") -> Build:
    """The build of a pieces.json, as written or as changed by hand.  Raises FolderError when it is none."""
    return _decode(data, name, lambda plain: from_plain(Build, plain), "Undo the change there, or build again to write it anew.")


def job_json(job: Job) -> bytes:
    """The job as JSON: what a run was made from, beside its results."""
    return _encode(to_plain(job))


def parse_job_json(data: bytes, name: str = "job.json") -> Job:
    """The job of a job.json.  Raises FolderError when it is none."""
    return _decode(data, name, lambda plain: from_plain(Job, plain))


def measured_json(measured: Measured) -> bytes:
    """facts.json: what was measured on the solids, and what they were built from."""
    return _encode(to_plain(measured))


def parse_measured(data: bytes, name: str = "facts.json") -> Measured:
    """What a facts.json says.  Raises FolderError when it is none."""
    return _decode(data, name, lambda plain: from_plain(Measured, plain), "Check the job again to write it anew.")


def mate_json(match: MateMatch) -> bytes:
    """mate.json: the mating part laid on the cover."""
    plain = to_plain(match)
    plain["loops"] = [_loop_to_plain(loop) for loop in plain["loops"]]
    return _encode(plain)


def parse_mate(data: bytes, name: str = "mate.json") -> MateMatch:
    """The match of a mate.json.  Raises FolderError when it is none."""
    return _decode(data, name, lambda plain: from_plain(MateMatch, plain), "Lay the mate on the cover again to write it anew.")


def history_json(history: History) -> bytes:
    """history.json: what changed from one released revision to the next."""
    return _encode(to_plain(history))


def parse_history(data: bytes, name: str = "history.json") -> History:
    """The history of a history.json.  Raises FolderError when it is none."""
    return _decode(data, name, lambda plain: from_plain(History, plain), "Fetch the released folder again.")


def findings_json(report: CheckReport) -> bytes:
    """findings.json: every finding of the report, worst first."""
    plain = [_finding_to_plain(finding) for finding in report.findings]
    return (indented(plain) + "\n").encode()


def report_json(report: CheckReport) -> bytes:
    """report.json: the report without its findings."""
    plain = to_plain(report)
    del plain["findings"]
    return _encode(plain)


def parse_findings(data: bytes, name: str = "findings.json") -> tuple[Finding, ...]:
    """The findings of a findings.json.  Raises FolderError when it is none."""
    advice = "Check the job again to write it anew."
    try:
        rows = json.loads(data)
        if not isinstance(rows, list):
            raise TypeError(f"found {type(rows).__name__} where a list must stand")
        return tuple(_finding_from_plain(row) for row in rows)
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise FolderError(f"{name}: found a file that cannot be used ({type(error).__name__}: {error}), "
                          f"expected one written by afterpart. {advice}") from error


def parse_report(report: bytes, findings: bytes) -> CheckReport:
    """The report of a report.json with the findings of its findings.json.  Raises FolderError when one of them is none."""
    found = parse_findings(findings)
    bare = _decode(report, "report.json", lambda plain: from_plain(CheckReport, {**plain, "findings": []}),
                   "Check the job again to write it anew.")
    return replace(bare, findings=found)


def _finding_to_plain(finding: Finding) -> dict[str, Any]:
    """A finding of the contract: the limit as a number with its side or as a band, the inputs by name."""
    plain: dict[str, Any] = to_plain(finding)
    low, high = finding.limit.low, finding.limit.high
    if low is not None and high is not None:
        plain["limit"] = [low, high]
    else:
        plain["limit"] = low if high is None else high
        if plain["limit"] is not None:
            plain["side"] = "min" if high is None else "max"
    names = _told_apart([given.name for given in finding.inputs])
    plain["inputs"] = {name: {key: value for key, value in given.items() if key != "name"}
                       for name, given in zip(names, plain["inputs"], strict=True)}
    return plain


def _told_apart(names: list[str]) -> list[str]:
    """The names, the second and later of the same name with their number."""
    return [name if (count := names[:place].count(name)) == 0 else f"{name} ({count + 1})" for place, name in enumerate(names)]


def _finding_from_plain(plain: dict[str, Any]) -> Finding:
    limit, side = plain["limit"], plain.get("side")
    if isinstance(limit, list):
        low, high = limit
    else:
        low, high = (limit, None) if side == "min" else (None, limit)
    if plain["verdict"] not in VERDICTS or (limit is not None and not isinstance(limit, list) and side not in ("min", "max")):
        raise ValueError(f"verdict {plain['verdict']!r}, limit {limit!r}, side {side!r}")
    inputs = [{"name": name, **given} for name, given in plain["inputs"].items()]
    return from_plain(Finding, {**plain, "limit": {"low": low, "high": high}, "inputs": inputs})


def read_stored(path: Path) -> bytes:
    """The bytes of a stored file.  Raises FolderError when it cannot be read."""
    try:
        if path.stat().st_size > MAX_BYTES:
            raise FolderError(f"{path}: found {path.stat().st_size / 1e6:.0f} MB, expected a file written by afterpart. "
                              "Check the name.")
        return path.read_bytes()
    except OSError as error:
        if isinstance(error, FolderError):
            raise
        raise FolderError(f"{path}: cannot be read ({error.strerror}). Check the name, or measure the photo again.") from error


def _loop_to_plain(loop: dict[str, Any]) -> dict[str, Any]:
    """A loop of the contract: wall and depth only where they say something."""
    plain = {key: value for key, value in loop.items() if key not in ("wall", "depth")}
    plain |= {key: loop[key] for key in ("wall", "depth") if loop[key] not in ("", None)}
    return plain


def _encode(plain: dict[str, Any], indent: int | None = 1) -> bytes:
    whole = {"format": FORMAT, **plain}
    text = indented(whole) if indent == 1 else json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=indent)
    return (text + "\n").encode()


def _decode(data: bytes, name: str, read: Callable[[dict[str, Any]], T],
            advice: str = "Measure the photo again to write it anew.") -> T:
    try:
        plain = json.loads(data)
        found = plain.get("format") if isinstance(plain, dict) else None
        if found != FORMAT or isinstance(found, bool):
            raise FolderError(f"{name}: found format {found!r}, expected {FORMAT}. {advice}")
        return read(plain)
    except PlainError as error:
        raise FolderError(f"{name}: {error}. Expected a file written by afterpart. {advice}") from error
    except (KeyError, TypeError, ValueError, RecursionError) as error:
        raise FolderError(f"{name}: found a file that cannot be used ({type(error).__name__}: {error}), "
                          f"expected one written by afterpart. {advice}") from error
