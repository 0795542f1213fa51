"""The short texts a maker types for references and readings, turned into nouns.

The same words serve the command line and the job file: a sheet is `A4` or `210x297`, a rule `mm` or `inch:16`, a span
`x1,y1,x2,y2,LENGTH`, a reading `d7=6.5` or `d7=6.5+-0.02`.
Everything here is judged from the text alone; what does not fit raises UsageError (found, expected, what to do).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import re

from afterpart.errors import UsageError
from afterpart.geometry.quad import Point, in_order, is_in_line, is_like_rectangle
from afterpart.model.job import LEVELS, Damage, Height, PlateChoice, Reading, Rule, Shot, Span
from afterpart.standards.paper import SHEETS, sheet_size
from afterpart.units import MM_PER_INCH

SHORTEST_SHEET_SIDE, LONGEST_SHEET_SIDE = 20.0, 2000.0
"""A "sheet" outside these is a typing mistake (cm or inch for mm, or a missing point)."""

TALLEST = 1000.0
"""Heights above this, mm, are a typing mistake: a part that tall is not measured from above on a table."""

LIMITS: dict[str, tuple[float, float, str]] = {
    "target": (80.0, 120.0, "the measured length in mm of the printed target's 100 mm bar"),
    "calliper": (1.0, 2000.0, "the calliper's reading in mm"),
    "reference_height": (0.0, TALLEST, "a height above the table in mm"),
    "focal_35mm": (5.0, 1500.0, "a 35 mm-equivalent focal length in mm"),
    "scan": (50.0, 9600.0, "the scanner's resolution in dots per inch"),
    "face_height": (0.0, TALLEST, "a height above the table in mm"),
    "edge_radius": (0.0, 50.0, "a radius in mm"),
    "channel_depth": (0.05, 100.0, "the depth of a channel below the face in mm"),
    "thickness": (1.0, 2.0, "a plate thickness in mm"),
    "first_layer_chamfer": (0.0, 0.6, "a chamfer in mm"),
}
"""What each number may be: lowest, highest, and what it is.  Outside is a typing mistake or a wrong unit."""

Corners = tuple[Point, ...]

LEAST_SHEET_PX = 40.0
"""A sheet with a side shorter than this in the picture is a slip of the hand, px."""

MOST_PARTS = 1000
"""A part of a higher number is a typing mistake."""

FINEST_INCH_PARTS = 128
LARGEST_DAMAGE_PX = 20000.0
"""A circle of a larger radius is larger than any picture, px."""

_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_READING = re.compile(rf"\s*(?P<id>[A-Za-z][\w.-]*)\s*=\s*(?P<value>{_NUMBER})\s*(?:(?:\+/-|\+-|±)\s*(?P<u>{_NUMBER}))?\s*")
_BY = re.compile(rf"\s*({_NUMBER})\s*[x×X*]\s*({_NUMBER})\s*")


def parse_sheet(text: str) -> tuple[float, float]:
    """(short side, long side) in mm of `A4`, `letter`, ... or `WxH`.  Raises UsageError."""
    try:
        return sheet_size(text)
    except KeyError:
        pass
    known = " ".join(sheet.name for sheet in SHEETS)
    match = _BY.fullmatch(text)
    if not match:
        raise UsageError(f"sheet: found {text!r}, expected {known} or WIDTHxHEIGHT in mm. "
                         "Measure the sheet and give for example 210x297.")
    short, long = sorted((float(match[1]), float(match[2])))
    if not (SHORTEST_SHEET_SIDE <= short and long <= LONGEST_SHEET_SIDE):
        raise UsageError(f"sheet: found {text!r}, expected sides of {SHORTEST_SHEET_SIDE:g} to {LONGEST_SHEET_SIDE:g} mm. "
                         "Give millimetres, for example 210x297.")
    return short, long


def parse_rule(text: str) -> Rule:
    """The rule with this graduation: `mm`, or `inch:N` for N parts to the inch.  Raises UsageError."""
    words = text.strip().lower()
    if words == "mm":
        return Rule(pitch=1.0, name="mm")
    match = re.fullmatch(r"inch:([0-9]{1,9})", words)
    if match and 1 <= int(match[1]) <= FINEST_INCH_PARTS:
        return Rule(pitch=MM_PER_INCH / int(match[1]), name=words)
    raise UsageError(f"rule: found {text!r}, expected mm, or inch:N with the parts per inch (1 to {FINEST_INCH_PARTS}). "
                     "Count the finest spaces in one inch and give for example inch:16.")


def parse_span(text: str) -> Span:
    """Two picked pixels and their distance in mm, `x1,y1,x2,y2,LENGTH`.  Raises UsageError."""
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 5 or not all(re.fullmatch(_NUMBER, part) for part in parts):
        raise UsageError(f"span: found {text!r}, expected five numbers x1,y1,x2,y2,LENGTH. "
                         "Give the two pixels (column, row) and their distance in mm, points for decimals.")
    return make_span(*map(float, parts))


def make_span(x1: float, y1: float, x2: float, y2: float, length: float) -> Span:
    """The span, refused with UsageError when its pixels coincide, a number is not finite or its length is not positive."""
    if not all(map(math.isfinite, (x1, y1, x2, y2, length))):
        raise UsageError("span: found a value that is no finite number. Give two pixels and a length in mm.")
    if math.hypot(x2 - x1, y2 - y1) < 1.0:
        raise UsageError(f"span: found two picked pixels {math.hypot(x2 - x1, y2 - y1):g} px apart, expected them far apart. "
                         "Pick the two ends of the known length.")
    if length <= 0:
        raise UsageError(f"span: found a length of {length:g} mm, expected more than 0. "
                         "Give the distance of the two points in mm.")
    return Span(x1, y1, x2, y2, length)


def parse_corners(text: str) -> Corners:
    """The four corners of a sheet in the picture, `x1,y1,x2,y2,x3,y3,x4,y4`.  Raises UsageError."""
    parts = [part.strip() for part in text.split(",")]
    if len(parts) != 8 or not all(re.fullmatch(_NUMBER, part) for part in parts):
        raise UsageError(f"sheet_corners_px: found {text!r}, expected eight numbers x1,y1,x2,y2,x3,y3,x4,y4. "
                         "Give the four corners (column, row) in pixels of the upright picture.")
    return make_corners(*map(float, parts))


def make_corners(*numbers: float) -> Corners:
    """Four corners from eight numbers.  UsageError: they cannot be those of a sheet seen from above."""
    if not all(map(math.isfinite, numbers)) or min(numbers) < 0:
        raise UsageError("sheet_corners_px: found a value that is no place in a picture, expected pixels of the upright picture. "
                         "Give the four corners (column, row).")
    corners = in_order(tuple(zip(numbers[::2], numbers[1::2], strict=True)))
    said = ", ".join(f"({x:g}, {y:g})" for x, y in corners)
    if min(math.dist(corners[k - 1], corners[k]) for k in range(4)) < LEAST_SHEET_PX:
        raise UsageError(f"sheet_corners_px: found corners that lie on or beside each other, {said}, expected four that are far "
                         "apart. Put one on each corner of the sheet.")
    if is_in_line(corners):
        raise UsageError(f"sheet_corners_px: found three corners on one line, or one within the others, {said}, expected "
                         "those of a sheet. Put one on each corner of the sheet.")
    if not is_like_rectangle(corners):
        raise UsageError(f"sheet_corners_px: found corners that no sheet seen from above has, {said}, expected four angles near "
                         "90 degrees and facing sides of about one length. Put one on each corner of the sheet.")
    return corners


def parse_damage(text: str) -> Damage:
    """A damaged place, `x,y,r` (drawn from its neighbours) or `x,y,r,mirror` (from the other side), px.  Raises UsageError."""
    *numbers, last = [part.strip() for part in text.split(",")]
    source = Damage(0.0, 0.0, 1.0).source
    if last in ("neighbours", "mirror"):
        source = last
    else:
        numbers.append(last)
    if len(numbers) != 3 or not all(re.fullmatch(_NUMBER, part) for part in numbers):
        raise UsageError(f"damage: found {text!r}, expected three numbers x,y,r, and mirror behind them if wanted. "
                         "Give the middle (column, row) and the radius of a circle round the damage, in pixels.")
    x, y, radius = map(float, numbers)
    return make_damage(x, y, radius, source)


def make_damage(x: float, y: float, radius: float, source: str, key: str = "damage") -> Damage:
    """The damaged place, refused with UsageError (which begins with `key`) when the circle cannot be or its source is unknown."""
    if not all(map(math.isfinite, (x, y, radius))) or not 0 < radius <= LARGEST_DAMAGE_PX or min(x, y) < 0:
        raise UsageError(f"{key}: found a circle about ({x:g}, {y:g}) of radius {radius:g} px, expected one in the picture. "
                         "Give its middle (column, row) and its radius in pixels of the upright picture.")
    if source not in ("neighbours", "mirror"):
        raise UsageError(f"{key}: found {source!r}, expected neighbours or mirror. Say where the shape is to come from.")
    return Damage(x, y, radius, source)


def make_height(level: str, value: float, u: float) -> Height:
    """One line of the heights card.  Raises UsageError for an unknown level or a value that cannot be."""
    if level not in LEVELS:
        raise UsageError(f"level: found {level!r}, expected {', '.join(LEVELS)}. Choose one of these.")
    if not (math.isfinite(value) and 0 <= value <= TALLEST):
        raise UsageError(f"value: found {value:g}, expected {LEVELS[level]}, 0 to {TALLEST:g} mm. Check the number and its unit.")
    if not (math.isfinite(u) and u > 0):
        raise UsageError(f"u: found {u:g}, expected a standard uncertainty above 0. Leave it out for {Height('', 0.0).u:g} mm.")
    return Height(level, value, u)


def parse_reading(text: str) -> Reading:
    """A hand measurement, `ID=VALUE` or `ID=VALUE+-U` (`±` and `+/-` work too), mm.  Raises UsageError."""
    match = _READING.fullmatch(text)
    if not match:
        raise UsageError(f"reading: found {text!r}, expected ID=VALUE or ID=VALUE+-U in mm. "
                         "Take the ID from outline.json or the printed table, for example d7=6.52+-0.02.")
    value = float(match["value"])
    return make_reading(match["id"], value, float(match["u"]) if match["u"] else Reading("", 0.0).u)


def make_reading(id: str, value: float, u: float) -> Reading:
    """The reading, refused with UsageError when value or standard uncertainty cannot be."""
    if not (math.isfinite(value) and value > 0):
        raise UsageError(f"reading {id}: found {value:g}, expected a value above 0. Measure it again.")
    if not (math.isfinite(u) and u > 0):
        raise UsageError(f"reading {id}: found a standard uncertainty of {u:g}, expected more than 0. "
                         "Leave it out for 0.02 mm, a good calliper in a calm hand.")
    return Reading(id, value, u)


def parse_bed(text: str) -> tuple[float, float]:
    """Width and depth of a printer's bed, `WxD` in mm.  Raises UsageError."""
    match = _BY.fullmatch(text)
    if not match or not (30 <= float(match[1]) <= 5000 and 30 <= float(match[2]) <= 5000):
        raise UsageError(f"bed: found {text!r}, expected WIDTHxDEPTH, each 30 to 5000 mm. Give for example 220x220.")
    return float(match[1]), float(match[2])


def within_limits(name: str, value: float) -> float:
    """The value itself, or UsageError when it lies outside LIMITS[name]."""
    low, high, what = LIMITS[name]
    if not low <= value <= high:
        raise UsageError(f"{name}: found {value:g}, expected {what}, {low:g} to {high:g}. Check the number and its unit.")
    return value


def whole_part(part: int) -> int:
    """The part's number itself, or UsageError when it is below 1 or above MOST_PARTS."""
    if not 1 <= part <= MOST_PARTS:
        found = part if abs(part) < 10**12 else "a very large number"
        raise UsageError(f"part: found {found}, expected 1 or more, at most {MOST_PARTS}. The largest part in the picture is 1.")
    return part


def plate_choice(bed: tuple[float, float], thickness: float, frame: bool) -> PlateChoice:
    """What kind of check plate to make.  Raises UsageError for a thickness outside 1 to 2 mm."""
    return PlateChoice(thickness=within_limits("thickness", thickness), bed=bed, frame=frame)


def shot_from_options(photo: str, *, sheet: str | None = None, rule: str | None = None, target: float | None = None,
                      calliper: float | None = None, span: str | None = None, reference_height: float | None = None,
                      focal_35mm: float | None = None, scan: float | None = None, face_height: float | None = None,
                      edge_radius: float | None = None, part: int | None = None,
                      channel_depth: float | None = None, damage: tuple[str, ...] = (), sheet_corners: str | None = None) -> Shot:
    """One photograph with what the maker told about it; lengths in mm, scan in dots per inch.

    Raises UsageError for the first thing that cannot be, judged without opening a file.
    """
    return make_shot(
        photo, sheet=parse_sheet(sheet) if sheet is not None else None, rule=parse_rule(rule) if rule is not None else None,
        target=target, calliper=calliper, span=parse_span(span) if span is not None else None,
        reference_height=reference_height, focal_35mm=focal_35mm, scan=scan, face_height=face_height,
        edge_radius=edge_radius, part=part, channel_depth=channel_depth, damage=tuple(parse_damage(text) for text in damage),
        sheet_corners_px=parse_corners(sheet_corners) if sheet_corners is not None else None)


def make_shot(photo: str, *, sheet: tuple[float, float] | None, rule: Rule | None, target: float | None, calliper: float | None,
              span: Span | None, reference_height: float | None, focal_35mm: float | None, scan: float | None,
              face_height: float | None, edge_radius: float | None, part: int | None, channel_depth: float | None = None,
              damage: tuple[Damage, ...] = (), sheet_corners_px: Corners | None = None) -> Shot:
    """The shot from values already parsed; each number held against what it can be.  Raises UsageError."""
    for name, value in (("target", target), ("calliper", calliper), ("reference_height", reference_height),
                        ("focal_35mm", focal_35mm), ("scan", scan), ("face_height", face_height), ("edge_radius", edge_radius),
                        ("channel_depth", channel_depth)):
        if value is not None:
            within_limits(name, value)
    if part is not None:
        whole_part(part)
    if scan is not None:
        both = [name for name, value in (("calliper", calliper), ("span", span), ("focal_35mm", focal_35mm),
                                         ("sheet_corners_px", sheet_corners_px)) if value is not None]
        if both:
            raise UsageError(f"scan: found together with {', '.join(both)}, expected alone or with a sheet or rule. "
                             "A flatbed scan has no lens and no heights: leave the others out.")
    if reference_height and all(x is None for x in (rule, target, calliper, span)) and sheet is not None:
        raise UsageError(f"reference_height: found {reference_height:g} mm with only a sheet, "
                         "expected a rule, target, calliper or span. A sheet lies on the table: leave the height out.")
    return Shot(file=photo, sheet=sheet, rule=rule, target_bar=target, calliper=calliper, span=span, scan_dpi=scan,
                reference_height=reference_height or 0.0, focal_35mm=focal_35mm, face_height=face_height,
                edge_radius=edge_radius, part=part, channel_depth=channel_depth, damage=damage,
                sheet_corners_px=sheet_corners_px or ())


def parse_weight(text: str) -> tuple[str, float]:
    """FIGURE=W of `compare`.  UsageError: not of that form, or no number of 0 or more."""
    name, _, told = text.partition("=")
    try:
        value = float(told)
    except ValueError:
        value = -1.0
    if not name.strip() or not (math.isfinite(value) and value >= 0.0):
        raise UsageError(f"--weight: found {text!r}, expected FIGURE=W with W a number of 0 or more. For example fit_share=2.")
    return name.strip(), value
