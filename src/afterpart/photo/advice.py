"""How to photograph a part of this size: which lens, how far away, and what error to expect.

The camera looks straight down from the distance D (lens to face) on a face h above the table; its picture has the resolution
focal_px / D.  Standard uncertainties of one length L on the face add as squares (JCGM 100, 5.1.2), each with the formula, and the
figure, that the budget of a measured photograph uses (budget.py, leading.py):
    edges               sqrt(2) EDGE_PX D / focal_px            two edges, each found to a tenth of a pixel (judgement)
    face height         L u_h / D                               a face u_h higher than told is nearer, and looks larger
    reference's height  L u_r / D                               the same for the reference, where it is not on the table
    focal length        L (h / D) u_f                           where the reference lies h below the face: its scale must be
    carried up rule's graduation   L RULE_U
Words: *raised* says that the reference lies as high as the face.
Limits: an estimate before the picture; rounded edges, shade and tilt come on top, and the measurement states them.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass

from afterpart.errors import UsageError
from afterpart.model.job import Shot
from afterpart.photo.budget import HEIGHT_U, UNTOLD_HEIGHT_U
from afterpart.photo.leading import reference_height_u
from afterpart.photo.pose import SCAN_U
from afterpart.photo.reference import RULE_U
from afterpart.sources import Source
from afterpart.units import MM_PER_INCH, SMALL_FORMAT_WIDTH

LENSES: tuple[tuple[float, str, float], ...] = ((25.0, "main (wide) lens", 120.0), (50.0, "twice enlarged, or a 2x lens", 200.0),
                                                (77.0, "long lens (3x)", 600.0), (120.0, "longest lens (5x)", 1200.0))
"""Usual lenses of phones: 35 mm-equivalent focal length, what it is called, closest focus in mm."""
LENS_SOURCE = Source("Usual phones' lenses and closest focus", "as seen in camera descriptions", from_memory=True)

PICTURE_PX = (4032, 3024)
"""A 12 megapixel picture, 4:3."""
EDGE_PX = 0.1
ROOM = 1.25
"""Picture against what must be in it, each way."""
BESIDE = 40.0
"""Room beside the part for a rule, mm."""
FOCAL_SHARE_U = 0.02
"""Stated focal lengths are nominal, and mean width or diagonal (4 % apart on 4:3): half of that (judgement)."""
THIN = 3.0
"""Parts up to this height may lie on a flatbed scanner, mm."""
SCAN_DPI = 600.0
LARGEST, TALLEST = 2000.0, 500.0


@dataclass(frozen=True)
class Share:
    """What one cause adds, mm at one standard uncertainty."""

    cause: str
    u: float


@dataclass(frozen=True)
class LensAdvice:
    """One lens.  distance: from the lens to the face; px_per_mm at the face; u, shares: of the part's longer side, reference
    raised to the face and the face's height taken by calliper; u_on_table: with the reference left on the table; u_untold: with
    the face's height not told besides."""

    lens_35mm: float
    name: str
    distance: float
    px_per_mm: float
    u: float
    shares: tuple[Share, ...]
    u_on_table: float
    u_untold: float


@dataclass(frozen=True)
class Advice:
    """lenses: the best first; scan_u: of the longer side on a flatbed scanner, None for a part too high; words: what to do, the
    most telling first."""

    length: float
    lenses: tuple[LensAdvice, ...]
    scan_u: float | None
    words: tuple[str, ...]


def advise(width: float, height: float, face_height: float = 0.0, lens_35mm: float | None = None) -> Advice:
    """What to do for a part of this size (mm, as it lies) whose face is face_height above the table; lens_35mm: the lens there
    is, None for the usual ones.  Raises UsageError for sizes that cannot be."""
    _check(width, height, face_height, lens_35mm)
    length = max(width, height)
    lenses = LENSES if lens_35mm is None else ((lens_35mm, "this lens", _closest(lens_35mm)),)
    rows = sorted((_row(lens, width, height, face_height) for lens in lenses), key=lambda row: row.u)
    scan_u = math.hypot(length * SCAN_U, math.sqrt(2.0) * EDGE_PX * MM_PER_INCH / SCAN_DPI) if face_height <= THIN else None
    return Advice(length, tuple(rows), scan_u, _words(rows[0], face_height, scan_u, lens_35mm is not None))


def expected_u(length: float, distance: float, focal_px: float, face_height: float, raised: bool = True,
               told: bool = True) -> tuple[Share, ...]:
    """Standard uncertainty of a length on the face, cause by cause, mm.  raised: the reference lies as high as the face; told:
    the face's height was taken by calliper.  See the head of this file for the formulas."""
    below = 0.0 if raised else face_height
    shot = Shot("", reference_height=face_height if raised else 0.0)
    shares = (Share("edges in the picture", math.sqrt(2.0) * EDGE_PX * distance / focal_px),
              Share("face height", length * (HEIGHT_U if told else UNTOLD_HEIGHT_U) / distance),
              Share("height of the reference", length * reference_height_u("rule", shot) / (distance + below)),
              Share("focal length", length * below / distance * FOCAL_SHARE_U),
              Share("rule's graduation", length * RULE_U))
    return tuple(sorted(shares, key=lambda share: -share.u))


def _row(lens: tuple[float, str, float], width: float, height: float, face_height: float) -> LensAdvice:
    lens_35mm, name, closest = lens
    focal_px = lens_35mm * PICTURE_PX[0] / SMALL_FORMAT_WIDTH
    needed = fitting_distance(width, height, focal_px)
    distance = max(needed, closest)
    length = max(width, height)
    shares = expected_u(length, distance, focal_px, face_height)
    return LensAdvice(lens_35mm, name, distance, focal_px / distance, _total(shares), shares,
                      _total(expected_u(length, distance, focal_px, face_height, raised=False)),
                      _total(expected_u(length, distance, focal_px, face_height, raised=False, told=False)))


def fitting_distance(width: float, height: float, focal_px: float) -> float:
    """Distance from which part and rule just fill the picture with some room, the longer side along the longer, mm."""
    longer, shorter = max(width, height), min(width, height) + BESIDE
    return ROOM * focal_px * max(longer / PICTURE_PX[0], shorter / PICTURE_PX[1])


def _total(shares: tuple[Share, ...]) -> float:
    return math.sqrt(sum(share.u**2 for share in shares))


def _closest(lens_35mm: float) -> float:
    """Closest focus of the usual lens nearest to this one."""
    return min(LENSES, key=lambda lens: abs(math.log(lens[0] / lens_35mm)))[2]


def _words(best: LensAdvice, face_height: float, scan_u: float | None, is_given: bool) -> tuple[str, ...]:
    lens = "With this lens" if is_given else f"Take the {best.name}, {best.lens_35mm:g} mm (35 mm format), and"
    words = [f"{lens} hold the phone {best.distance / 10.0:.0f} cm above the face, level, everything sharp; a lens too near its "
             "closest focus may be swapped by the phone for a wider one: the picture's facts will tell."]
    if face_height > 0.0:
        words.append(f"Lay the rule as high as the face, on something {face_height:g} mm thick: left on the table the longer "
                     f"side is known to ± {2.0 * best.u_on_table:.2f} mm instead of ± {2.0 * best.u:.2f} mm.")
    words.append(f"Take the face's height by calliper: without it ± {2.0 * best.u_untold:.2f} mm.")
    words.append("Flash off, soft light from all sides, a plain ground that differs from the part.")
    if scan_u is not None:
        words.append(f"A part this thin may go on a flatbed scanner at {SCAN_DPI:.0f} dots per inch: ± {2.0 * scan_u:.2f} mm, "
                     "and one calliper reading makes it better.")
    return tuple(words)


def _check(width: float, height: float, face_height: float, lens_35mm: float | None) -> None:
    limits = (("width", width, 1.0, LARGEST), ("height", height, 1.0, LARGEST), ("face_height", face_height, 0.0, TALLEST),
              ("lens_35mm", lens_35mm, 5.0, 1500.0))
    for name, value, least, most in limits:
        if value is not None and not least <= value <= most:
            raise UsageError(f"{name}: found {value:g}, expected {least:g} to {most:g} mm. Check the number and its unit.")
