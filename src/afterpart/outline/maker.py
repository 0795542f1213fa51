"""What the maker says of the design: values he fixes, relations he sees, segments he sets free; and whether the picture agrees.

Words: a *wish* is one fixed value or one relation, as quantities to be held at values.  Wishes are held exactly and before any
nominal is chosen; a fixed value is the designer's number, so that the moulding may differ from it by its own scatter.
A wish that the measurement contradicts (chi-square, as for readings) is still drawn, but by its own segments alone: their
uncertainty is widened in that one direction, so that nothing else is bent after it; and it is told, with figures.  One that is
off by more than FARTHEST is taken for a mistake and left out, which is told too.
Frame: the design's (lattice) frame, mm and radians.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

import numpy as np

from afterpart.model.edges import Note
from afterpart.outline.dimensions import Item
from afterpart.outline.part import Part
from afterpart.outline.quantities import Quantity, gradient, read
from afterpart.outline.readings import agreeing

FARTHEST, FARTHEST_SHARE, FARTHEST_RAD = 3.0, 0.3, 0.35
"""A wish farther off than so many mm and so large a share of its value, or so many radians, is a mistake (judgement)."""

OWN_U, OWN_RAD = 0.01, 5e-4
"""How well a moulding keeps a relation of its design, mm and radians (judgement)."""

WIDENED = 10.0
"""Uncertainty given to what contradicts a wish, as a multiple of the contradiction."""

LEVER = 50.0
"""How far from where an edge turns its fillets may lie, mm."""

ANGULAR = ("turn", "same_direction", "mirror_turn", "off_square")
CENTRES = ("distance", "same_x", "same_y", "mirror_x", "mirror_y", "off_axis")

RELATION_WORDS = {"equal": "equal_radius", "tangent": "tangent", "symmetric": "symmetric", "parallel": "parallel",
                  "perpendicular": "perpendicular", "concentric": "concentric"}
"""What a correction's relation is called in the outline."""


@dataclass(frozen=True)
class Relation:
    """A relation the maker sees: number of its row `[[edit]]`, what it is, rows of the part."""

    number: int
    what: str
    rows: tuple[int, ...]


@dataclass(frozen=True)
class Told:
    """What the maker says of one part's rows: relations, rows set free, pairs of rows that are one parted carrier."""

    relations: tuple[Relation, ...] = ()
    free: frozenset[int] = frozenset()
    seams: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True)
class FixedSize:
    """A dimension whose design value the maker fixes; measured at the photo's scale, with its standard uncertainty u apart from
    that scale's."""

    name: str
    item: Item
    value: float
    measured: float
    u: float


@dataclass(frozen=True)
class Orders:
    """Everything the maker says of one part's design.  axis: direction (radians) and point of the datum's x axis in the design's
    frame, None where nothing is symmetric."""

    told: Told = field(default_factory=Told)
    fixed: tuple[FixedSize, ...] = ()
    axis: tuple[float, float, float] | None = None

    @property
    def is_empty(self) -> bool:
        return not (self.fixed or self.told.relations or self.told.free or self.told.seams)


@dataclass(frozen=True)
class Wish:
    """holds: quantities and the values they are held at; words: what the maker called it; name: of the dimension, "" for a
    relation."""

    holds: tuple[tuple[Quantity, float], ...]
    words: str
    name: str = ""
    relation: Relation | None = None


@dataclass(frozen=True)
class Weighed:
    """carried: wishes that are held; part: the part, widened where a wish contradicts it; apart: rows of these, which belong
    together with no others; notes."""

    carried: tuple[Wish, ...]
    part: Part
    apart: frozenset[int]
    notes: tuple[Note, ...]


def wishes_of(part: Part, corners: list[np.ndarray], orders: Orders) -> list[Wish]:
    """The wishes on the rows of a part in the design's frame; corners (k, 2): rough ends of each loop's segments there.  What is
    fixed of a channel is left to the channels."""
    out = [Wish(_seam(part, pair), "") for pair in orders.told.seams if max(pair) < len(part.is_arc)]
    for size in orders.fixed:
        if max(size.item.rows) < len(part.is_arc):
            out.append(Wish(_fixed(part, corners, size), size.name, size.name))
    for relation in orders.told.relations:
        if max(relation.rows) < len(part.is_arc):
            out.append(Wish(_related(part, relation, orders.axis), f"edit {relation.number} ({relation.what})", "", relation))
    return out


def _seam(part: Part, pair: tuple[int, int]) -> tuple[tuple[Quantity, float], ...]:
    kinds = ("same_x", "same_y", "same_radius") if part.is_arc[pair[0]] else ("same_direction", "same_offset")
    return tuple((Quantity(kind, pair), 0.0) for kind in kinds)


def _fixed(part: Part, corners: list[np.ndarray], size: FixedSize) -> tuple[tuple[Quantity, float], ...]:
    """What a fixed value holds."""
    item, rows, value = size.item, size.item.rows, size.value
    if item.kind == "angle":
        turn = Quantity("turn", rows)
        return ((turn, math.copysign(math.radians(180.0 - value), read(turn, part.is_arc, part.state)[0])),)
    if item.kind in ("width", "gap"):
        across = Quantity("sum_offset", rows)
        return ((Quantity("same_direction", rows), 0.0),
                (across, math.copysign(value, read(across, part.is_arc, part.state)[0])))
    if item.kind == "length":
        return ((_length(part, corners, rows[0]), value),)
    return ((Quantity(item.kind, rows), value),)


def _length(part: Part, corners: list[np.ndarray], row: int) -> Quantity:
    """The length of a segment, with what its junctions are."""
    loop = next(i for i in range(len(part.chains)) if row in part.rows(i))
    chain, k = part.chains[loop], row - part.begin[loop]
    before, after = (k - 1) % chain.size, (k + 1) % chain.size
    begin = part.begin[loop]
    told = (float(chain.tangent[before]), float(chain.tangent[k]), *corners[loop][before].tolist(), *corners[loop][k].tolist())
    return Quantity("length", (begin + before, row, begin + after), told)


def _related(part: Part, relation: Relation, axis: tuple[float, float, float] | None) -> tuple[tuple[Quantity, float], ...]:
    """What a relation holds."""
    rows, what = relation.rows, relation.what
    if what == "equal":
        return tuple((Quantity("same_radius", pair), 0.0) for pair in zip(rows, rows[1:], strict=False))
    if what == "concentric":
        return (Quantity("same_x", rows), 0.0), (Quantity("same_y", rows), 0.0)
    if what == "parallel":
        return ((Quantity("same_direction", rows), 0.0),)
    if what == "perpendicular":
        turn = Quantity("turn", rows)
        return ((turn, math.copysign(0.5 * math.pi, read(turn, part.is_arc, part.state)[0])),)
    assert axis is not None
    options = [_symmetric(part, rows, (axis[0] + quarter, *axis[1:])) for quarter in (0.0, 0.5 * math.pi)]
    return min(options, key=lambda holds: sum(abs(read(q, part.is_arc, part.state)[0] - value) for q, value in holds))


def _symmetric(part: Part, rows: tuple[int, ...], axis: tuple[float, ...]) -> tuple[tuple[Quantity, float], ...]:
    """Mirror images about an axis (direction, point)."""
    is_arc = bool(part.is_arc[rows[0]])
    if len(rows) == 1:
        return ((Quantity("off_axis" if is_arc else "off_square", rows, axis), 0.0),)
    kinds = ("mirror_x", "mirror_y") if is_arc else ("mirror_turn", "mirror_offset")
    holds = tuple((Quantity(kind, rows, axis), 0.0) for kind in kinds)
    return (*holds, (Quantity("same_radius", rows), 0.0)) if is_arc else holds


def weigh(wishes: list[Wish], part: Part, moulding_u: float) -> Weighed:
    """Which wishes the measured part (in the design's frame, at the design's scale) agrees with; moulding_u: relative."""
    flat = [(i, quantity, value) for i, wish in enumerate(wishes) for quantity, value in wish.holds]
    found = [gradient(quantity, part.is_arc, part.state) for _, quantity, _ in flat]
    miss = np.array([value - now for (*_, value), (now, _) in zip(flat, found, strict=True)])
    own = np.array([OWN_RAD if quantity.kind in ANGULAR else math.hypot(OWN_U, moulding_u * value)
                    for _, quantity, value in flat]) ** 2
    slopes = np.array([slope for _, slope in found])
    _, odd = agreeing(part.covariance, slopes, miss, own)
    worst: dict[int, tuple[int, float, float, float]] = {}
    for k, off, u, z in odd:
        i = flat[k][0]
        far = i in worst and _is_far(*flat[worst[i][0]][1:], worst[i][1])
        if i not in worst or (not far and _is_far(*flat[k][1:], float(miss[k]) - off)):
            worst[i] = k, float(miss[k]) - off, u, abs(z)
    notes, left, covariance = [], set(), part.covariance.copy()
    for i, (k, gap, u, z) in worst.items():
        far = _is_far(*flat[k][1:], gap)
        notes.append(_contradiction(wishes[i], *flat[k][1:], gap, u, z, far))
        left |= {i} if far else set()
    apart = set()
    for k, *_ in odd:
        i, quantity, _ = flat[k]
        if i not in left:
            apart |= set(quantity.rows)
            covariance = covariance + _widening(part.covariance, slopes[k], quantity.rows, WIDENED * float(miss[k]))
            lever = LEVER if quantity.kind in ANGULAR else 1.0
            for number in _fillet_centres(part, quantity.rows):
                covariance[number, number] += (WIDENED * lever * float(miss[k])) ** 2
    return Weighed(tuple(wish for i, wish in enumerate(wishes) if i not in left), replace(part, covariance=covariance),
                   frozenset(apart), tuple(notes))


def _fillet_centres(part: Part, rows: Iterable[int]) -> list[int]:
    """Places in the state of the centres of arcs that touch these rows' lines: where an edge goes, its fillets go."""
    lines = {row for row in rows if not part.is_arc[row]}
    arcs = {b for a, b in part.touches() if a in lines} | {a for a, b in part.touches() if b in lines}
    return [3 * row + k for row in sorted(arcs - set(rows)) if part.is_arc[row] for k in (0, 1)]


def _is_far(quantity: Quantity, value: float, gap: float) -> bool:
    if quantity.kind in ANGULAR:
        return abs(gap) > FARTHEST_RAD
    return abs(gap) > max(FARTHEST, FARTHEST_SHARE * abs(value))


def _widening(covariance: np.ndarray, slope: np.ndarray, rows: Iterable[int], size: float) -> np.ndarray:
    """(3k, 3k) what is added to a covariance so that the quantity of this slope moves by its own rows alone."""
    own = np.concatenate([np.arange(3 * row, 3 * row + 3) for row in sorted(set(rows))])
    reach = np.zeros(len(slope))
    reach[own] = covariance[np.ix_(own, own)] @ slope[own]
    way = reach / max(float(slope @ reach), 1e-18)
    return size * size * np.outer(way, way)


def _contradiction(wish: Wish, quantity: Quantity, value: float, gap: float, u: float, z: float, far: bool) -> Note:
    """gap: value wished less value expected of everything else, with standard uncertainty u, z of these."""
    is_angle = quantity.kind in ANGULAR
    gap, u = (math.degrees(gap), math.degrees(u)) if is_angle else (gap, u)
    unit = "degrees" if is_angle else "mm"
    end = "It is too far off to be drawn and was left out." if far else "It is drawn as told."
    if wish.name and quantity.kind != "same_direction":
        shown = math.degrees(value) if is_angle else value
        expected = 180.0 - abs(shown - gap) if is_angle else abs(shown - gap)
        return Note("fixed_contradicts", f"{wish.name}: the design value you fixed is {abs(gap):.3f} {unit} from what the "
                    f"measurement and everything else say ({expected:.3f}, standard uncertainty {u:.3f}): {z:.1f} standard "
                    f"uncertainties. {end} Check the number, and whether it belongs to this dimension; a reading of "
                    f"{wish.name} tells which is right.")
    return Note("edit_contradicts", f"{wish.words or wish.name}: the measured shape is {abs(gap):.3f} {unit} from it, {z:.1f} "
                f"standard uncertainties of {u:.3f}. {end} Take the row back if the measured shape is right.")


def not_drawn(wish: Wish) -> Note:
    """A wish that cannot be drawn together with the others."""
    return Note("fixed_not_drawn", f"{wish.words}: it cannot be drawn together with the rest of what you told and the shape of "
                "the rim, and was left out. Look for another fixed value or relation that says otherwise.")
