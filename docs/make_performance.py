"""Writes docs/performance.md from what `make bench` left in build/bench, and keeps the figures in docs/performance.json.

Run: python docs/make_performance.py [--page]; --page reads no measurements and writes the page from the kept figures.  A figure
that this run did not bring keeps its old value.  A test holds page and figures together.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import sys
from math import log
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from docs.accuracy_page import prose, table  # noqa: E402

BENCH, PAGE, STORE = ROOT / "build" / "bench", ROOT / "docs" / "performance.md", ROOT / "docs" / "performance.json"
SCRIPTS = ("startup", "measure", "solve", "build", "release", "fit", "page", "shares", "hostile")
HEAD = """# How quick it is

Written by `docs/make_performance.py` from one run of `make bench`; do not edit. Seconds are those of one machine with two cores
and tell little elsewhere; the ratios beside them were taken in the same run and tell more. *Decode* is reading the same
photograph to grey with OpenCV, on one thread.
"""
PLAIN = """*Plain* is what a few lines of a general library do: threshold (Otsu), contours, a circle through each. It answers in
pixels, without scale, camera, height, lines, design values or uncertainties; it is here to show what the rest costs."""


SEVERAL = """`python benchmarks/several.py FOLDER`, a process for each row: three pictures of one part, 4 megapixels, from the
photo booth, used again under other names until there are enough. One picture at a time is open; what is kept of each are some
thousand points."""


def brought() -> dict[str, Any]:
    """Figures of this run, by name."""
    found: dict[str, Any] = {}
    for name in SCRIPTS:
        path = BENCH / f"{name}.json"
        if path.is_file() and path.stat().st_size:
            found[name] = json.loads(path.read_text(encoding="utf-8").splitlines()[-1])
    several = BENCH / "several.json"
    if several.is_file() and several.stat().st_size:
        found["several"] = json.loads(several.read_text(encoding="utf-8").splitlines()[-1])
    stages = BENCH / "stages.json"
    if stages.is_file():
        rows = json.loads(stages.read_text(encoding="utf-8"))["benchmarks"]
        found["rows"] = [{**row["extra_info"], "seconds": round(row["stats"]["median"], 5)} for row in rows]
    return found


def page(found: dict[str, Any]) -> str:
    """The whole text."""
    parts = [HEAD.strip() + "\n"]
    rows = found.get("rows", [])
    if rows:
        parts += ["## Measuring, by size of the photograph\n", table(*by_size(rows)), prose(PLAIN),
                  "## The outline, by holes and by segments\n", prose(growth_words(rows)), table(*by_count(rows)),
                  "## Stages of the demo\n", table(*stages(rows))]
    if "shares" in found:
        parts += ["## Where measuring spends its time\n", prose(shares_words(found["shares"]["share"]))]
    parts += ["## What the maker waits for\n", table(*waits(found))]
    if "release" in found:
        parts += [prose(release_words(found["release"]))]
    if "several" in found:
        parts += ["## Several photographs of one part\n", table(*several_rows(found["several"])), prose(SEVERAL)]
    if "hostile" in found:
        parts += ["## What damaged and hostile input costs\n", prose(hostile_words(found["hostile"]))]
    return "\n".join(parts)


def by_size(rows: list[dict[str, Any]]) -> tuple[str, list[list[object]]]:
    """Seconds and multiples of decoding, a row for each way."""
    own = [row for row in rows if row["table"] == "photograph"]
    sizes = sorted({row["size"] for row in own})
    seconds = {(row["way"], row["size"]): row["seconds"] for row in own}
    ways = list(dict.fromkeys(row["way"] for row in own))
    cells = [[way, *(f"{seconds[way, size]:.3g} s ({seconds[way, size] / seconds['decode', size]:.3g})" if (way, size) in seconds
                     else "" for size in sizes)] for way in ways]
    return " | ".join(["processor time (times decode)", *(f"{size} megapixels" for size in sizes)]), cells


def by_count(rows: list[dict[str, Any]]) -> tuple[str, list[list[object]]]:
    """Seconds by count, and seconds for each."""
    own = sorted((row for row in rows if row["table"] in ("holes", "segments")),
                 key=lambda row: (row["table"], row["way"], row["size"]))
    return "of what | work | count | seconds | milliseconds each", [
        [row["table"], row["way"], row["size"], f"{row['seconds']:.3g}", f"{1000 * row['seconds'] / row['size']:.3g}"]
        for row in own]


def growth_words(rows: list[dict[str, Any]]) -> str:
    """What the growth amounts to: the exponent between the last two counts of each row of figures."""
    said = []
    for kind, way in dict.fromkeys((row["table"], row["way"]) for row in rows if row["table"] in ("holes", "segments")):
        own = sorted((row["size"], row["seconds"]) for row in rows if (row["table"], row["way"]) == (kind, way))
        (n0, s0), (n1, s1) = own[-2:]
        said.append(f"{way}, from {n0} to {n1} {kind}: as the power {log(s1 / s0) / log(n1 / n0):.2f} of the count")
    return "Linear would be the power 1. " + "; ".join(said) + "."


def stages(rows: list[dict[str, Any]]) -> tuple[str, list[list[object]]]:
    """Each stage beside decoding."""
    own = [row for row in rows if row["table"] == "stages"]
    unit = next(row["seconds"] for row in own if row["way"] == "decode to grey")
    return "stage | processor time | times decode", [[row["way"], f"{row['seconds']:.3g} s", f"{row['seconds'] / unit:.3g}"]
                                                     for row in own]


def shares_words(share: dict[str, float]) -> str:
    """The largest shares, and what bounds them."""
    own = [f"`{name}` {100 * part:.0f} %" for name, part in share.items()]
    return (f"By file, with the library calls each makes: {', '.join(own[:3])} are the largest three, then {', '.join(own[3:])}. "
            "The time goes into reading thousands of short profiles across the rims out of the picture (memory traffic) and into "
            "many least-squares steps on them (arithmetic on small arrays).")


def waits(found: dict[str, Any]) -> tuple[str, list[list[object]]]:
    """What a person waits for, with aims."""
    rows: list[list[object]] = []

    def row(what: str, name: str, key: str, unit: str, aim: object, beside: str = "") -> None:
        if name in found and key in found[name]:
            value = found[name][key]
            rows.append([what, f"{value['found'] if isinstance(value, dict) else value:g} {unit}", aim, beside])

    row("`afterpart --help`", "startup", "help_s", "s", "0.6 s",
        _times(found, "startup", "ratio", "starting the bare interpreter"))
    row("measuring the demo's photograph", "measure", "measure_ratio", "times decode", "10", "")
    row("its greatest memory", "measure", "peak_memory_mb", "MB", "400 MB", "")
    row("solving with one more reading", "solve", "solve_ms", "ms", "100 ms", _times(found, "solve", "solve_ratio", "decode"))
    row("the same at the page, to the answer", "page", "solve_ms", "ms", "150 ms",
        f"{found['page']['solve_cpu_ms']} ms of processor time" if "page" in found else "")
    row("200 requests at once: 95 of 100 answered within", "page", "crowd_p95_ms", "ms", "",
        f"the server grew by {found['page']['crowd_mb']} MB" if "page" in found else "")
    row("photograph dropped to outline drawn", "page", "photo_s", "s", "1.5 times the command",
        _times(found, "page", "ratio", "the command line"))
    row("pieces of the demo, cold", "build", "cold_s", "s", "8 s", _times(found, "build", "cold_ratio", "loading the kernel"))
    row("pieces of the demo, warm", "build", "warm_s", "s", "3 s", _times(found, "build", "warm_ratio", "loading the kernel"))
    row("greatest memory of a kernel's process", "build", "peak_mb", "MB", "700 MB", "")
    row("a million draws of the demo's fit", "fit", "whole_s", "s", "2 s",
        _times(found, "fit", "over_drawing_alone", "drawing the numbers alone"))
    row("the demo's release from a cold start", "release", "release_s", "s", "60 s",
        _times(found, "release", "ratio_to_load", "loading the kernel"))
    row("its folder", "release", "folder_mb", "MB", "40 MB", "")
    return "what | measured | aim | beside", rows


def _times(found: dict[str, Any], name: str, key: str, of: str) -> str:
    return f"{found[name][key]:g} times {of}" if name in found and key in found[name] else ""


def release_words(release: dict[str, Any]) -> str:
    """Shares of a release."""
    parts = sorted(release["share"].items(), key=lambda part: -part[1])
    return "Shares of the release: " + ", ".join(f"{stage} {100 * part:.0f} %" for stage, part in parts if part >= 0.01) + "."


def several_rows(several: dict[str, Any]) -> tuple[str, list[list[Any]]]:
    """Time and memory by the number of photographs."""
    rows = [[n, f"{seconds:g} s", f"{seconds / n:.2f} s", f"{megabytes:g} MB"] for n, seconds, megabytes in several["rows"]]
    return "photographs | processor time | each | greatest memory", rows


def hostile_words(hostile: dict[str, Any]) -> str:
    """Bounds of time and memory over the corpus of damaged input."""
    def told(what: str, one: dict[str, Any]) -> str:
        return (f"{one['inputs']} {what} through the command ({one['refused']} refused): half of them in {one['median_s']:g} s "
                f"of processor time, all within {one['most_s']:g} s and {one['most_mb']} MB")
    return (f"The corpus has {hostile['corpus']} inputs. Of these, {told('pictures', hostile['pictures'])}; "
            f"{told('job files', hostile['jobs'])}. Most of that memory is the libraries'.")


def main() -> None:
    """Take over what was measured, write the page."""
    kept = json.loads(STORE.read_text(encoding="utf-8")) if STORE.is_file() else {}
    if "--page" not in sys.argv[1:]:
        kept |= brought()
        STORE.write_text(json.dumps(kept, indent=1) + "\n", encoding="utf-8")
    PAGE.write_text(page(kept), encoding="utf-8")


if __name__ == "__main__":
    main()
