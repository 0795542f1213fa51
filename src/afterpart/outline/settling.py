"""Nominals taken in one after the other: which numbers may be asked for one, in what order, and what each may be.

Words: the *ledger* is the part's state while nominals are taken in; each conditions what is left.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import bisect
import math
from collections.abc import Collection

from afterpart.outline.features import arc_rows, arc_turn, axis_quarter, line_rows, vertex_pairs, wide_arcs
from afterpart.outline.frame import Lattice
from afterpart.outline.nominals import Choice, as_the_part_counts, choose
from afterpart.outline.part import Part
from afterpart.outline.quantities import Held, Quantity, gradient, spread
from afterpart.outline.relations import are_likely_equal
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.solve import condition
from afterpart.standards.clearance_holes import CLEARANCE_HOLES, LISTED_DIAMETERS

MEDIUM, FINE = (frozenset(getattr(hole, series) for hole in CLEARANCE_HOLES) for series in ("medium", "fine"))

SMALL_HOLE = 12.0
"""Below this diameter (mm) holes follow screws and pins; above it bores are often multiples of 2 and 5 (judgement)."""

TENTHS_OF_HOLES = 0.25
"""Share of holes in tenths of a millimetre on any metric drawing: a hole's size follows a screw or a pin, not the grid
(judgement)."""

SMALL_ON_STEPS = 0.5
"""Share of small holes that follow the part's own steps at all, the rest following screws and drills (judgement)."""

EIGHTH_INCH, INCH_BORES = 3.175, 0.04
"""Share of larger bores of a metric part in eighths of an inch: what they take is often of an older standard (judgement)."""

LISTED = tuple((diameter, 0.35 if diameter in MEDIUM else 0.2 if diameter in FINE else 0.1) for diameter in LISTED_DIAMETERS)
"""Hole diameters of the tables with what each weighs per mm: most holes clear a screw, few are tapped (judgement)."""

WIDEST_U = 0.45
"""A value with a larger standard uncertainty is not asked for its nominal, mm."""

SHALLOW_U = 0.1
"""A radius known worse than this is a shallow fillet's, mm."""

WIDEST_RADIUS_U = 2.0
"""The same for radii of shallow fillets: their nominal may be a guess, but it hardly moves the edge."""

GUESS_PROBABILITY = 0.35
"""A nominal this probable is taken for a shallow fillet; its probability says so."""

DIRECTION_LATTICES = ((90.0, 0.62, 0.0), (45.0, 0.10, 0.0), (15.0, 0.06, 0.0), (5.0, 0.03, 0.0), (1.0, 0.02, 0.0))
"""Shares of edges at these angles to the main direction; a free edge has 1 - their sum, over 90 degrees (judgement)."""


class Ledger:
    """State and covariance while nominals are taken in; the rows of equations that are held; likely: (diameter, weight per mm) of
    circles that belong to a pattern which has such; likely_widths: the same of the part's width; square: lines held along an
    axis; shared, places: held coordinates along each axis, of centres and vertices, and of edges and vertices (rising); radii:
    those held."""

    def __init__(self, part: Part) -> None:
        self.is_arc, self.start = part.is_arc, part.state
        self.state, self.covariance = part.state.copy(), part.covariance.copy()
        self.held: list[Held] = []
        self.choices: dict[Quantity, Choice] = {}
        self.likely: dict[int, list[tuple[float, float]]] = {}
        self.likely_widths: list[tuple[float, float]] = []
        self.square: set[int] = set()
        self.shared: dict[str, set[float]] = {"x": set(), "y": set()}
        self.places: dict[str, list[float]] = {"x": [], "y": []}
        self.radii: set[float] = set()

    def look(self, quantity: Quantity) -> tuple[float, float]:
        """Value and standard uncertainty as they are now."""
        value, variance = spread(quantity, self.is_arc, self.state, self.covariance)
        return value, math.sqrt(variance)

    def tell(self, quantity: Quantity, value: float) -> None:
        """Hold what the maker says, exactly."""
        now, u = self.look(quantity)
        if u > 1e-7:
            _, slope = gradient(quantity, self.is_arc, self.state)
            self.state, self.covariance = condition(self.state, self.covariance, slope, value - now, 0.0)
        self._keep(Held(quantity, value, 1.0, told=True))

    def hold(self, quantity: Quantity, value: float, probability: float, relation: bool = False) -> None:
        """Hold a nominal exactly, a relation all but exactly: parts have it only as nearly as they were made."""
        now, slope = gradient(quantity, self.is_arc, self.state)
        self.state, self.covariance = condition(self.state, self.covariance, slope, value - now, 0.0 if not relation else 1e-5)
        self._keep(Held(quantity, value, probability))

    def _keep(self, held: Held) -> None:
        """Note what is held, and what others will ask of it."""
        self.held.append(held)
        kind, row, value = held.quantity.kind, held.quantity.rows[0], held.value
        if kind == "direction" and _is_axis(value):
            self.square.add(row)
        elif kind == "radius":
            self.radii.add(round(value, 6))
        elif kind == "offset" and (quarter := axis_quarter(self.state[row, 0])) is not None:
            bisect.insort(self.places["y" if quarter % 2 == 0 else "x"], value if quarter in (0, 3) else -value)
        elif kind in ("vertex_x", "vertex_y", "center_x", "center_y"):
            self.shared[kind[-1]].add(round(value, 6))
            if kind.startswith("vertex"):
                bisect.insort(self.places[kind[-1]], value)


def candidates_of(part: Part, patterned: set[int], concentric: list[tuple[int, int]]) -> list[Quantity]:
    """Quantities that may have a nominal."""
    out = [Quantity("direction", (row,)) for row in line_rows(part)]
    centred = {row for row, _ in concentric}
    for row in part.circles():
        out.append(Quantity("diameter", (row,)))
        if row not in patterned and row not in centred:
            out += [Quantity("center_x", (row,)), Quantity("center_y", (row,))]
    out += [Quantity("offset", (row,)) for row in line_rows(part)]
    for row in wide_arcs(part):
        if row not in centred:
            out += [Quantity("center_x", (row,)), Quantity("center_y", (row,))]
    after = part.following()
    for a, b in vertex_pairs(part):
        if after[a] in centred:
            # an ear about a hole: its edges touch it, and nobody drew the place where they would cross beyond it
            continue
        out += [Quantity("vertex_x", (a, b)), Quantity("vertex_y", (a, b))]
    out += [Quantity("radius", (row,)) for row in arc_rows(part)]
    return out


def rank(quantity: Quantity, centred: set[int]) -> int:
    """Order of asking.  A radius about a hole's centre comes early: with it the edges that touch it are often settled."""
    if quantity.kind == "radius" and quantity.rows[0] in centred:
        return 1
    return {"direction": 2, "center_x": 0, "center_y": 0, "diameter": 0, "offset": 2, "vertex_x": 3, "vertex_y": 3, "radius": 4}[
        quantity.kind
    ]


def try_nominal(
    ledger: Ledger, part: Part, quantity: Quantity, lattice: Lattice, settings: OutlineSettings, threshold: float,
    left: Collection[Quantity],
) -> bool:
    """Take the nominal of one quantity if it is probable enough; True when the quantity is settled (held or already implied).
    left: the quantities not settled yet."""
    value, u = ledger.look(quantity)
    if quantity.kind == "direction":
        degrees, u_deg = math.degrees(value), math.hypot(math.degrees(u), 0.02)
        if u < 2e-6:
            ledger.choices[quantity] = Choice(value, 0.99, None)
            return True
        choice = choose(degrees, u_deg, DIRECTION_LATTICES, 0.17)
        if choice.value is None or choice.probability < max(threshold, 0.6) or abs(choice.value - degrees) > 4.0 * u_deg:
            return False
        runner = None if choice.runner_up is None else math.radians(choice.runner_up)
        ledger.choices[quantity] = Choice(math.radians(choice.value), choice.probability, runner)
        ledger.hold(quantity, math.radians(choice.value), choice.probability)
        return True
    if quantity.kind == "offset" and quantity.rows[0] not in ledger.square:
        return False
    if u < 2e-4:
        ledger.choices[quantity] = Choice(value, 0.99, None)
        return True
    if quantity.kind == "radius" and u > WIDEST_RADIUS_U:
        return threshold <= 0.5 and _take_known_radius(ledger, part, quantity, value, u, settings)
    if quantity.kind != "radius" and u > WIDEST_U:
        return False
    u = max(math.hypot(u, 0.004), 0.01 if quantity.kind == "diameter" else 0.005)
    lattices = lattices_of(quantity, lattice, value)
    if quantity.kind == "radius":
        lattices = as_the_part_counts(lattices, ledger.radii)
    together = _with_its_equals(ledger, quantity, value, u, left) if quantity.kind == "radius" and u > SHALLOW_U else (value, u)
    choice = choose(*together, lattices, lattice.free, _listed(ledger, quantity, lattice))
    ledger.choices[quantity] = choice
    needed = min(threshold, GUESS_PROBABILITY) if quantity.kind == "radius" and threshold <= 0.5 and u > SHALLOW_U else threshold
    if choice.value is None or choice.probability < needed:
        return False
    move = abs(choice.value - value)
    if move > max(settings.move_limit_u * u, settings.move_free) or move * _lever(part, quantity) > settings.move_limit:
        return False
    ledger.hold(quantity, choice.value, choice.probability)
    return True


def _with_its_equals(
    ledger: Ledger, quantity: Quantity, value: float, u: float, left: Collection[Quantity]
) -> tuple[float, float]:
    """A shallow fillet's radius and u together with those of the other shallow ones that are likely the same radius."""
    weight, total = u**-2, value * u**-2
    for other in left:
        if other.kind == "radius" and other != quantity:
            theirs, their_u = ledger.look(other)
            if SHALLOW_U < their_u <= WIDEST_RADIUS_U and are_likely_equal(theirs - value, math.hypot(u, their_u)):
                weight, total = weight + their_u**-2, total + theirs * their_u**-2
    return total / weight, weight**-0.5


def _take_known_radius(
    ledger: Ledger, part: Part, quantity: Quantity, value: float, u: float, settings: OutlineSettings
) -> bool:
    """A fillet that turns too little to tell its radius gets the one most fillets of the part have, if nothing speaks
    against it.
    """
    known = [h.value for h in ledger.held if h.quantity.kind == "radius"]
    if len(known) < 2:
        return False
    common = max(sorted(set(known)), key=known.count)
    move = abs(common - value)
    if move > 3.0 * u or move * _lever(part, quantity) > settings.move_limit:
        return False
    ledger.choices[quantity] = Choice(common, GUESS_PROBABILITY, None)
    ledger.hold(quantity, common, GUESS_PROBABILITY)
    return True


def _is_axis(direction_rad: float) -> bool:
    return abs(math.remainder(direction_rad, math.pi / 2)) < 1e-9


def lattices_of(quantity: Quantity, lattice: Lattice, value: float = math.inf) -> list[tuple[float, float, float]]:
    """(step, share, phase) for the nominals of a quantity of about this value (endless: of a pitch circle)."""
    profile = lattice.profile
    small = quantity.kind == "diameter" and value < SMALL_HOLE
    own = SMALL_ON_STEPS if small and profile.system == "metric" else 1.0
    out = [(step, own * share, 0.0) for step, share in zip(profile.steps, profile.shares, strict=True)]
    if quantity.kind in ("diameter", "radius") and profile.system == "metric" and not small:
        out += [(5.0, 0.12, 0.0), (2.0, 0.12, 0.0)]
    if quantity.kind == "diameter" and profile.system == "metric":
        out.append((0.1, TENTHS_OF_HOLES, 0.0))
        if SMALL_HOLE <= value < math.inf:
            out.append((EIGHTH_INCH, INCH_BORES, 0.0))
    return out


def _listed(ledger: Ledger, quantity: Quantity, lattice: Lattice) -> list[tuple[float, float]]:
    """Values with a weight of their own: standard hole sizes, radii the part already has, coordinates it already has,
    their mirror
    images about the middle of its edges, and that middle."""
    if quantity.kind == "diameter":
        return [*(LISTED if lattice.profile.system == "metric" else ()), *ledger.likely.get(quantity.rows[0], ())]
    if quantity.kind == "radius":
        return [(v, 6.0 / len(ledger.radii)) for v in sorted(ledger.radii)]
    axis = "x" if quantity.kind.endswith("x") else "y"
    if quantity.kind == "offset":
        return []
    shared, edges = ledger.shared[axis], ledger.places[axis]
    if len(edges) > 1:
        middle = 0.5 * (edges[0] + edges[-1])
        shared = shared | {round(2.0 * middle - v, 6) for v in shared} | {round(middle, 6)}
    return [(v, 0.3) for v in sorted(shared)]


def _lever(part: Part, quantity: Quantity) -> float:
    """How far the part's edge moves for a unit of the quantity."""
    if quantity.kind == "radius":
        turn = arc_turn(part, quantity.rows[0])
        return 1.0 if turn > math.radians(120.0) else max(1.0 / math.cos(turn / 2.0) - 1.0, 0.01)
    if quantity.kind == "diameter":
        return 0.5
    return 1.0
