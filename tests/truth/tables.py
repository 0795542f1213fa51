"""Tables of a study's records: does the stated uncertainty hold, are the stated probabilities kept, do readings help.

Words: *coverage* is the share of dimensions with |measured - true| <= 2 u; *ratio* is the root mean square error over the root
mean square u (1 when uncertainty is stated right); a dimension is *judged* when its design value is said to be a nominal (origin
other than free) and its nominal is known; *right* when the design value is the drawing's own number (tests/truth/matching.py).
Pure functions of the records that tests/truth/study.py writes; `figures` gives plain numbers, `tables` the same as text.
Dimensions of one picture share its scale, so scenes, not dimensions, are independent: `se` of a coverage counts scenes.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np

from tests.truth.matching import is_right

SURE = 0.95
MOST_LISTED = 40
ALARMS = ("reading_conflict", "reference_conflict", "references_disagree", "scale_conflict", "sheet_doubtful", "sheet_not_flat",
          "sheet_proportion", "rule_ladder", "face_not_level", "focal_conflict")
"""Notes that name a contradiction.  In the study none is due, but that of the scale where a part is shrunk."""

SHRUNK = 0.001
"""A part whose shrinkage is beyond this share is called shrunk: tests/truth/varied.py draws none near it."""



@dataclass(frozen=True)
class Dim:
    """One dimension of a record (tests/truth/study.py has the row); reference: kind of the scene's reference; moulding: "shrunk"
    or "true to size"; right: None where the nominal is not known."""

    scene: int
    reference: str
    moulding: str
    name: str
    kind: str
    measured: float
    u: float
    true: float | None
    nominal: float | None
    design: float
    probability: float
    origin: str
    u95: float = 0.0
    cause: str = ""

    @property
    def right(self) -> bool | None:
        return None if self.nominal is None else is_right(self.kind, self.design, self.nominal)


def dimensions(records: list[dict]) -> list[Dim]:
    """All dimensions of the measured scenes."""
    return [Dim(record["scene"], record["kind"], _moulding(record), *row)
            for record in records for row in record.get("dimensions", ())]


def _moulding(record: dict) -> str:
    return "shrunk" if abs(record.get("draw", {}).get("shrink_x", 0.0)) > SHRUNK else "true to size"


def coverage(dims: list[Dim]) -> dict:
    """n, share within 2 u with its standard error, ratio, bias, median and 95th percentile of |error| (angles in degrees)."""
    known = [d for d in dims if d.true is not None and d.u > 0]
    if not known:
        return {"n": 0}
    error = np.array([d.measured - d.true for d in known])
    u = np.array([d.u for d in known])
    within = np.abs(error) <= 2 * u
    share = within.mean()
    by_scene: dict[int, float] = defaultdict(float)
    for d, inside in zip(known, within, strict=True):
        by_scene[d.scene] += inside - share
    return {"n": len(known), "within_2u": _r(share), "se": _r(math.sqrt(sum(v * v for v in by_scene.values())) / len(known)),
            "within_u95": _r(np.mean(np.abs(error) <= [d.u95 for d in known])) if min(d.u95 for d in known) > 0 else None,
            "ratio": _r(math.sqrt(np.mean(error ** 2) / np.mean(u ** 2))), "median_z": _r(np.median(np.abs(error) / u)),
            "bias": _r(error.mean()), "median": _r(np.median(np.abs(error))), "p95": _r(np.quantile(np.abs(error), 0.95)),
            "median_u": _r(np.median(u))}


def _r(value: float) -> float:
    return float(f"{value:.4g}")


def reliability(dims: list[Dim]) -> list[dict]:
    """Per tenth of stated probability: how many judged dimensions, mean stated probability, share right."""
    tenths: dict[int, list[Dim]] = defaultdict(list)
    for d in dims:
        if d.origin != "free" and d.right is not None:
            tenths[min(9, int(10 * d.probability + 1e-9))].append(d)
    return [{"from": k / 10, "n": len(some), "stated": _r(np.mean([d.probability for d in some])),
             "right": _r(np.mean([d.right for d in some]))} for k, some in sorted(tenths.items())]


def figures(records: list[dict]) -> dict:
    """Everything the tables show, as plain numbers."""
    measured = [r for r in records if r["state"] == "measured"]
    dims = dimensions(measured)
    lengths = [d for d in dims if d.kind != "angle"]
    listed = [d for d in dims if d.nominal is not None]
    judged = [d for d in listed if d.origin != "free"]
    free = [d for d in listed if d.origin == "free"]
    sure = [d for d in judged if d.probability >= SURE]
    wrong = [d for d in sure if not d.right]
    return {
        "scenes": len(records), "states": dict(Counter(r["state"] for r in records)),
        "megapixels": sorted({r["megapixels"] for r in records}),
        **{key: sum(r[key] for r in measured) for key in ("openings", "missed", "invented", "circles", "circles_measured")},
        "dimensions": len(dims), "without_partner": sum(d.true is None for d in dims),
        "sure_without_partner": sum(d.true is None and d.origin != "free" and d.probability >= SURE for d in dims),
        "all": coverage(lengths), "by_kind": {k: coverage(v) for k, v in _groups(dims, lambda d: d.kind)},
        "by_reference": {k: coverage(v) for k, v in _groups(lengths, lambda d: d.reference)},
        "by_cause": {k: coverage(v) for k, v in _groups(lengths, lambda d: d.cause) if k},
        "alarms": _alarms(measured), "scale": _scale(measured), "reliability": reliability(dims),
        "sure": len(sure), "sure_wrong": len(wrong), "sure_wrong_scenes": len({d.scene for d in wrong}),
        "sure_by_reference": {k: [sum(not d.right for d in v), len(v)] for k, v in _groups(sure, lambda d: d.reference)},
        "sure_by_moulding": {k: [sum(not d.right for d in v), len(v)] for k, v in _groups(sure, lambda d: d.moulding)},
        "sure_by_kind": {k: [sum(not d.right for d in v), len(v)] for k, v in _groups(sure, lambda d: d.kind)},
        "judged": len(judged), "judged_right": sum(bool(d.right) for d in judged),
        "free": len(free), "free_right": sum(bool(d.right) for d in free),
        "exact": sum(bool(d.right) for d in listed), "with_nominal": len(listed),
        "exact_by_reference": {k: [sum(bool(d.right) for d in v), len(v)] for k, v in _groups(listed, lambda d: d.reference)},
        "exact_by_moulding": {k: [sum(bool(d.right) for d in v), len(v)] for k, v in _groups(listed, lambda d: d.moulding)},
        "readings": _readings([r["readings"] for r in measured if "readings" in r]),
    }


def sure_and_wrong(records: list[dict]) -> list[Dim]:
    """The dimensions of the primary figure that are wrong."""
    return [d for d in dimensions(records) if d.origin != "free" and d.right is False and d.probability >= SURE]


def _groups(dims: list[Dim], key: Callable[[Dim], str]) -> Iterable[tuple[str, list[Dim]]]:
    groups: dict[str, list[Dim]] = defaultdict(list)
    for d in dims:
        groups[key(d)].append(d)
    return sorted(groups.items())


def _scale(measured: list[dict]) -> dict:
    """Scale errors against the scale's own stated uncertainty."""
    z = np.array([r["scale_error"] / r["relative_u"] for r in measured if r["relative_u"] > 0])
    return {"n": len(z), "within_2u": _r(np.mean(np.abs(z) <= 2)), "rms_z": _r(math.sqrt(np.mean(z ** 2)))} if len(z) else {}


def _alarms(measured: list[dict]) -> dict:
    """Scenes in which a contradiction is named that is none, by note."""
    by_note: Counter = Counter()
    scenes = 0
    for record in measured:
        named = set(record["notes"]) & set(ALARMS) - ({"scale_conflict"} if _moulding(record) == "shrunk" else set())
        by_note.update(named)
        scenes += bool(named)
    return {"scenes": scenes, "of": len(measured), "by_note": dict(sorted(by_note.items()))}


def _readings(found: list[dict]) -> dict | None:
    """Sums over the scenes that have them; rms errors are of the middle scene."""
    if not found:
        return None
    summed = ("dimensions", "right_before", "right_after", "bits_u", "bits_design", "sure_wrong_after")
    out: dict = {"scenes": len(found), "asked_without_truth": sum(r["asked_without_truth"] for r in found)}
    for way in ("asked", "random"):
        out[way] = {"taken": sum(len(r[way]["ids"]) for r in found),
                    **{key: _r(sum(r[way][key] for r in found)) for key in summed},
                    **{key: _r(np.median([r[way][key] for r in found])) for key in ("rms_before", "rms_after")}}
        out[way]["refused"] = sum("reading_conflict" in r[way].get("notes", ()) for r in found)
        out[way]["against_reference"] = sum("reference_conflict" in r[way].get("notes", ()) for r in found)
    for key in ("bits_u", "bits_design", "right_after"):
        out[f"asked_better_{key}"] = _r(np.mean([r["asked"][key] > r["random"][key] for r in found]))
        out[f"random_better_{key}"] = _r(np.mean([r["asked"][key] < r["random"][key] for r in found]))
    return out


def tables(records: list[dict]) -> str:
    """The figures as plain text."""
    if not records:
        return "no scenes"
    f = figures(records)
    lines = [f"{f['scenes']} scenes at {', '.join(f'{m:g}' for m in f['megapixels'])} megapixels: "
             + ", ".join(f"{n} {state}" for state, n in f["states"].items())]
    lines += [f"  {r['state']}: scene {r['scene']} {r['label']}: {r.get('error') or r.get('notes')}"
              for r in records if r["state"] != "measured"]
    if not f["dimensions"]:
        return "\n".join(lines)
    lines += [f"openings: {f['openings']}, missed {f['missed']}, invented {f['invented']}; circles {f['circles']}, "
              f"measured as circles {f['circles_measured']}"]
    lines += [f"  scene {r['scene']} {r['label']}: missed {r['missed']}, invented {r['invented']}"
              for r in records if r["state"] == "measured" and (r["missed"] or r["invented"])]
    lines += [f"dimensions: {f['dimensions']}, without a true partner {f['without_partner']} (of segments that do not lie along "
              f"a true one; {f['sure_without_partner']} of them given {SURE} or more)", "",
              "coverage                              n  within 2u (+- se)  rms e/rms u  median |e|/u     bias   median      p95"
              "  median u"]
    for name, c in (("all lengths", f["all"]), *f["by_kind"].items(), *f["by_reference"].items(),
                    *((f"most by {cause}", c) for cause, c in f["by_cause"].items())):
        if c["n"]:
            lines.append(f"  {name:<30} {c['n']:6d} {c['within_2u']:9.3f} ({c['se']:.3f}) {c['ratio']:12.2f} "
                         f"{c['median_z']:13.2f} {c['bias']:+8.4f} {c['median']:8.4f} {c['p95']:8.4f} {c['median_u']:9.4f}")
    if f["all"]["within_u95"] is not None:
        lines.append(f"within the expanded uncertainty u95: {f['all']['within_u95']:.3f} of all lengths")
    if f["scale"]:
        lines.append("scale error over its u: within 2u {within_2u:.3f}, rms {rms_z:.2f} of {n} scenes".format(**f["scale"]))
    a = f["alarms"]
    lines.append(f"contradictions named where there is none: in {a['scenes']} of {a['of']} scenes "
                 f"({', '.join(f'{code} {n}' for code, n in a['by_note'].items()) or 'none'})")
    lines += ["", "stated probability     n   mean stated   share right"]
    lines += [f"  {row['from']:.1f} to {row['from'] + 0.1:.1f}      {row['n']:5d} {row['stated']:12.3f} {row['right']:12.3f}"
              for row in f["reliability"]]
    by = ", ".join(f"{k} {w}/{n}" for k, (w, n) in (*f["sure_by_reference"].items(), *f["sure_by_moulding"].items(),
                                                  *f["sure_by_kind"].items()))
    lines += ["", f"given {SURE} or more and wrong: {f['sure_wrong']} of {f['sure']} (in {f['sure_wrong_scenes']} scenes); {by}",
              f"judged {f['judged']}, right {f['judged_right']}; free {f['free']}, design equal to nominal all the same "
              f"{f['free_right']}",
              f"design exactly the drawing's: {f['exact']} of {f['with_nominal']} with a nominal ("
              + ", ".join(f"{k} {ok}/{n}" for k, (ok, n) in (*f["exact_by_reference"].items(), *f["exact_by_moulding"].items()))
              + ")"]
    lines += [f"  sure and wrong: scene {d.scene} {d.name} {d.kind} measured {d.measured} u {d.u} true {d.true} "
              f"nominal {d.nominal} design {d.design} p {d.probability}" for d in sure_and_wrong(records)[:MOST_LISTED]]
    return "\n".join(lines + (["", *_reading_lines(f["readings"])] if f["readings"] else []))


def _reading_lines(r: dict) -> list[str]:
    lines = [f"three readings, {r['scenes']} scenes ({r['asked_without_truth']} asked for have no true partner: not taken)"]
    for way in ("asked", "random"):
        w = r[way]
        lines.append(f"  {way:<7} taken {w['taken']}, a good one called wrong in {w['refused']} scenes, the reference in "
                     f"{w['against_reference']}: design right {w['right_before']:.0f} -> {w['right_after']:.0f} of "
                     f"{w['dimensions']:.0f}; bits (u) {w['bits_u']:.1f}, bits (design) {w['bits_design']:.1f}; sure and wrong "
                     f"after {w['sure_wrong_after']:.0f}; rms error, middle scene {w['rms_before']:.4f} -> {w['rms_after']:.4f}")
    for key, words in (("bits_u", "bits (u)"), ("bits_design", "bits (design)"), ("right_after", "right designs")):
        lines.append(f"  more {words}: asked in {100 * r[f'asked_better_{key}']:.0f} %, random in "
                     f"{100 * r[f'random_better_{key}']:.0f} % of the scenes")
    return lines
