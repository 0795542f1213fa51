"""The designer's likely drawing of one part: frame, relations and nominals, taken in one after the other and closed exactly.

Order: direction, lattice and scale from everything together (frame.py); then equal holes, pitch circles and concentric curves;
then nominals, the surest first, each conditioning what is left (a corner known on both sides makes its fillet surer).
A nominal that is not more probable than *no nominal*, or would move the part beyond its measurement, is not taken: the number
stays free.  At the end all that is held is solved together with the touching conditions.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.edges import Note
from afterpart.outline.chain import distances, junctions, off_carriers
from afterpart.outline.evidence import Values
from afterpart.outline.frame import Lattice, find_lattice
from afterpart.outline.maker import CENTRES, Orders, Relation, Weighed, Wish, not_drawn, weigh, wishes_of
from afterpart.outline.nominals import Choice, as_the_part_counts, candidate_weights, choose, likelihood
from afterpart.outline.part import Part, move_points, moved, scale_slope, shift_slopes, turn_slope
from afterpart.outline.quantities import Held, Quantity, gradient, spread
from afterpart.outline.relations import PitchCircle, are_likely_equal, concentric_rows, deviation, equal_groups, pitch_circles
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.solve import close, condition
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

MIRROR_WORTH = 8.0
"""Log odds a mirror symmetry adds to the direction it runs in (judgement: designers lay symmetric parts along the axes)."""

FRAME_TURN_U, FRAME_SHIFT_U = 1.5e-4, 0.015
"""Standard uncertainties of the lattice frame's direction (radians) and place (mm) before the first nominal is taken."""

ROUND_ODDS = 2.0
"""How much better four holes in a square must fit a pitch circle of round size than a square of one (judgement)."""

WILD_TURN = math.radians(60.0)
"""An arc that nominals make turn by so much more or less than its rim does has been drawn the wrong way round."""

GUESS_PROBABILITY = 0.35
"""A nominal this probable is taken for a shallow fillet; its probability says so."""


@dataclass(frozen=True)
class Design:
    """part: the state in the lattice frame (true size); measured: the same rows measured, same frame; origin, angle_rad,
    scale: how a
    photo point comes into that frame; held: what was fixed; choices: what was thought of each quantity; pattern: circles that
    measure equal, whatever the maker says of them; wishes: of the maker, as far as they are drawn; notes: what is to be said of
    them."""

    part: Part
    measured: Part
    origin: tuple[float, float]
    angle_rad: float
    lattice: Lattice | None
    held: tuple[Held, ...]
    choices: dict[Quantity, Choice]
    pitch: tuple[PitchCircle, ...]
    equal: tuple[tuple[int, ...], ...]
    concentric: tuple[tuple[int, int], ...]
    pattern: tuple[tuple[int, ...], ...] = ()
    wishes: tuple[Wish, ...] = ()
    notes: tuple[Note, ...] = ()

    @property
    def relations(self) -> tuple[Relation, ...]:
        """Relations the maker sees that are drawn."""
        return tuple(wish.relation for wish in self.wishes if wish.relation is not None)

    @property
    def scale(self) -> float:
        return self.lattice.scale if self.lattice else 1.0


def design_part(part: Part, points: list[np.ndarray], settings: OutlineSettings, orders: Orders | None = None,
                like: Design | None = None) -> Design:
    """part: measured state in the photo frame (mm), the scale's error apart; points: rims of its loops; orders: of the maker;
    like: a design of this part with the same fixed values, whose direction and lattice are taken over."""
    orders = orders or Orders()
    equal = [tuple(g) for g in equal_groups(part, part.circles())]
    if like is not None and like.lattice is not None:
        angle, lattice = like.angle_rad, like.lattice
    else:
        angle, lattice = _best_frame(part, equal, settings, orders)
    cos, sin = math.cos(angle), math.sin(angle)
    px, py = lattice.phase_x / lattice.scale, lattice.phase_y / lattice.scale
    origin = (px * cos - py * sin, px * sin + py * cos)
    framed = moved(part, origin, angle, lattice.scale)
    framed = replace(framed, covariance=framed.covariance + _common_errors(framed, lattice))
    return _hold_nominals(framed, points, origin, angle, lattice, equal, settings, orders)


def _best_frame(part: Part, equal: list[tuple[int, ...]], settings: OutlineSettings, orders: Orders) -> tuple[float, Lattice]:
    """The direction (radians) the drawing was most probably laid out in, and its lattice."""
    best: tuple[float, float, Lattice] | None = None
    for angle, share in main_directions(part):
        turned = moved(part, (0.0, 0.0), angle)
        pitch = pitch_circles(turned, [list(g) for g in equal])
        lattice = find_lattice(
            replace(lattice_values(turned, equal, pitch, settings), known=_known_sizes(orders, settings)),
            math.hypot(part.scale_u, settings.moulding_u),
            settings.free_share,
            settings.origin,
            settings.drawn,
        )
        score = lattice.evidence + 4.0 * share + MIRROR_WORTH * mirrors(turned, angle)
        if best is None or score > best[0]:
            best = score, angle, lattice
    assert best is not None
    return best[1:]


def _known_sizes(orders: Orders, settings: OutlineSettings) -> tuple[tuple[float, float, float], ...]:
    """Fixed lengths as what they say of the scale: measured, its standard uncertainty as a moulding's, design value."""
    return tuple((size.measured, math.hypot(size.u, settings.moulding_u * size.value) + 0.004, size.value)
                 for size in orders.fixed if size.item.kind != "angle")


def mirrors(turned: Part, angle_rad: float, tolerance: float = 0.15) -> int:
    """How many of the two axes mirror the part in this direction (0, 1 or 2): outline's corners and all circles, within
    tolerance.
    """
    count = 0
    points = []
    for i, chain in enumerate(turned.chains):
        if chain.is_circle:
            row = turned.state[turned.begin[i]]
            points.append(np.array([[row[0], row[1], abs(row[2])]]))
        else:
            corners = move_points(chain.corners, (0.0, 0.0), angle_rad)
            points.append(np.column_stack((corners, np.zeros(len(corners)))))
    everything = np.concatenate(points)
    outer = np.concatenate([p for p, role in zip(points, turned.roles, strict=True) if role == "outer"] or points)
    for axis in (0, 1):
        middle = 0.5 * (outer[:, axis].min() + outer[:, axis].max())
        image = everything.copy()
        image[:, axis] = 2.0 * middle - image[:, axis]
        gap = np.abs(everything[:, None, :] - image[None, :, :]).max(axis=2).min(axis=1)
        allowed = np.where(everything[:, 2] > 0.0, tolerance, 1.0)
        count += bool((gap < allowed).all())
    return count


def free_design(part: Part) -> Design:
    """No nominals at all: the measured state as it is, in its main direction (size unknown)."""
    angle = main_direction(part)
    turned = moved(part, (0.0, 0.0), angle)
    equal = tuple(tuple(g) for g in equal_groups(turned, part.circles()))
    return Design(turned, turned, (0.0, 0.0), angle, None, (), {}, (), equal, ())


def main_direction(part: Part) -> float:
    """The direction most edges agree on (radians, within 45 degrees of the photo's x axis)."""
    return main_directions(part)[0][0]


def main_directions(part: Part) -> list[tuple[float, float]]:
    """Directions the drawing may be laid out in, with their share of the votes, the strongest first.

    Each line votes for its direction modulo a right angle, by length over uncertainty.  Unless nearly all agree, pairs of centres
    are asked too, and the bisectors of the strongest edge directions (an outline may be symmetric without an edge along
    its axis).
    """
    lines = np.flatnonzero(~part.is_arc)
    voted = _clusters(
        [(float(part.state[row, 0]), (max(part.covariance[3 * row, 3 * row], 1e-12) + 1e-8) ** -0.5) for row in lines]
    )
    if voted and voted[0][1] > 0.75 and len(lines) > 2:
        return voted[:1]
    centers = [part.state[row, :2] for row in [*part.circles(), *wide_arcs(part)]]
    pairs = []
    for i, a in enumerate(centers):
        for b in centers[i + 1 :]:
            if np.hypot(*(b - a)) > 1.0:
                pairs.append((math.atan2(b[1] - a[1], b[0] - a[0]), float(np.hypot(*(b - a)))))
    if not voted:
        return _clusters(pairs)[:6] or [(0.0, 1.0)]
    strong = [item for item in voted if item[1] > 0.2][:4]
    bisectors = [
        (_into_quarter(a + 0.5 * float(_quarter_off(np.array(b - a)))), 0.2)
        for n, (a, _) in enumerate(strong)
        for b, _ in strong[n + 1 :]
    ]
    return strong + [(angle, 0.5 * share) for angle, share in _clusters(pairs)[:3]] + bisectors[:3]


def _clusters(votes: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Directions (modulo a right angle) that votes (angle, weight) gather about, with their shares, the largest first."""
    if not votes:
        return []
    angle, vote = np.array(votes).T
    found: list[tuple[float, float]] = []
    left = np.ones(len(angle), bool)
    near = np.abs(_quarter_off(angle[:, None] - angle[None, :])) < math.radians(0.7)
    while left.any() and len(found) < 8:
        total = np.where(left, (near * np.where(left, vote, 0.0)[None, :]).sum(axis=1), -1.0)
        best = int(np.argmax(total))
        mine = near[best] & left
        direction = angle[best] + float(np.average(_quarter_off(angle - angle[best])[mine], weights=vote[mine] ** 2))
        found.append((_into_quarter(direction), float(total[best] / vote.sum())))
        left &= ~mine
    return found


def _into_quarter(angle_rad: float) -> float:
    """The direction modulo a right angle, in (-45, 45] degrees."""
    return math.pi / 4 - (math.pi / 4 - angle_rad) % (math.pi / 2)


def _quarter_off(angle_rad: np.ndarray) -> np.ndarray:
    """Angle modulo a right angle, in [-45, 45) degrees."""
    return np.remainder(angle_rad + math.pi / 4, math.pi / 2) - math.pi / 4


def lattice_values(part: Part, equal: list[tuple[int, ...]], pitch: list[PitchCircle], settings: OutlineSettings) -> Values:
    """Coordinates and sizes of a turned part that may lie on the designer's lattice."""
    xs: list[tuple[float, float]] = []
    ys: list[tuple[float, float]] = []
    sizes: list[tuple[float, float]] = []
    patterned = {row for circle in pitch if len(circle.rows) != 4 or circle.bore is not None for row in circle.rows}
    for circle in pitch:
        if len(circle.rows) == 4:
            continue
        sizes.append((2.0 * circle.radius, 2.0 * circle.u + 0.004))
        if circle.bore is None:
            xs.append((circle.center[0], circle.u))
            ys.append((circle.center[1], circle.u))
    for row in part.circles():
        if row not in patterned:
            xs.append(deviation(part, Quantity("center_x", (row,))))
            ys.append(deviation(part, Quantity("center_y", (row,))))
    for group in equal:
        values = [deviation(part, Quantity("diameter", (row,))) for row in group]
        sizes.append((float(np.mean([v for v, _ in values])), max(2.0 * settings.edge_bias_u, min(u for _, u in values))))
    for row in _line_rows(part):
        value, u = deviation(part, Quantity("offset", (row,)))
        quarter = axis_quarter(part.state[row, 0])
        if quarter is not None:
            (ys if quarter % 2 == 0 else xs).append((value if quarter in (0, 3) else -value, u))
    held_up = {row for row, _ in concentric_rows(part)}
    for a, b in vertex_pairs(part):
        if part.following()[a] in held_up:
            continue
        for kind, axis, values in (("vertex_x", 1, xs), ("vertex_y", 0, ys)):
            if all(axis_quarter(part.state[row, 0]) is None or axis_quarter(part.state[row, 0]) % 2 != axis for row in (a, b)):
                value, u = deviation(part, Quantity(kind, (a, b)))
                if u < 0.2:
                    values.append((value, u))
    for row in wide_arcs(part):
        xs.append(deviation(part, Quantity("center_x", (row,))))
        ys.append(deviation(part, Quantity("center_y", (row,))))
    for row in _arc_rows(part):
        value, u = deviation(part, Quantity("radius", (row,)))
        if u < 0.2:
            sizes.append((value, max(u, settings.edge_bias_u)))
    columns = [
        np.array([v for v, _ in values]) if k == 0 else np.array([u for _, u in values])
        for values in (_shared(xs), _shared(ys), sizes)
        for k in (0, 1)
    ]
    return Values(*columns)


def _shared(values: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Coordinates that agree within their errors, made one: a row of holes was given its place once."""
    merged: list[list[tuple[float, float]]] = []
    for value, u in sorted(values):
        if merged:
            mean, mean_u = _pooled(merged[-1])
            if abs(value - mean) < 3.0 * math.hypot(u, mean_u) + 0.01:
                merged[-1].append((value, u))
                continue
        merged.append([(value, u)])
    return [_pooled(group) for group in merged]


def _pooled(group: list[tuple[float, float]]) -> tuple[float, float]:
    weight = [u**-2 for _, u in group]
    return sum(w * v for w, (v, _) in zip(weight, group, strict=True)) / sum(weight), max(sum(weight) ** -0.5, 0.006)


def axis_quarter(direction_rad: float, tolerance_rad: float = math.radians(1.0)) -> int | None:
    """0, 1, 2, 3 for lines running to +x, +y, -x, -y; None for others."""
    quarter = round(direction_rad / (math.pi / 2))
    return quarter % 4 if abs(direction_rad - quarter * math.pi / 2) < tolerance_rad else None


def vertex_pairs(part: Part) -> list[tuple[int, int]]:
    """Neighbouring lines, a fillet between them left out of account, that cross at more than 8 degrees."""
    after = part.following()
    pairs = []
    for row in _line_rows(part):
        follower = after[row]
        if part.is_arc[follower]:
            follower = after[follower]
        if not part.is_arc[follower] and follower != row:
            turn = math.remainder(part.state[follower, 0] - part.state[row, 0], math.pi)
            if abs(turn) > math.radians(8.0):
                pairs.append((row, follower))
    return pairs


def wide_arcs(part: Part) -> list[int]:
    """Arcs whose centre is known well enough by itself to be a design point (ends of slots, ears round holes)."""
    rows = []
    for row in _arc_rows(part):
        _, ux = deviation(part, Quantity("center_x", (row,)))
        _, uy = deviation(part, Quantity("center_y", (row,)))
        if _arc_turn(part, row) > math.radians(125.0) and max(ux, uy) < 0.15:
            rows.append(row)
    return rows


def _arc_turn(part: Part, row: int) -> float:
    """Turn of an arc (radians, unsigned), from the directions of its chain's ends."""
    for i, chain in enumerate(part.chains):
        if row in part.rows(i):
            k = row - part.begin[i]
            return _turn_between(chain.state[k], chain.corners[k - 1], chain.corners[k])
    return 0.0


def _turn_between(arc: np.ndarray, start: np.ndarray, end: np.ndarray) -> float:
    """Turn (radians, unsigned, below a full one) of an arc's carrier from one point to another in its direction of travel."""
    a, b = start - arc[:2], end - arc[:2]
    turn = math.atan2(a[0] * b[1] - a[1] * b[0], float(a @ b))
    return turn % (2.0 * math.pi) if arc[2] > 0.0 else (-turn) % (2.0 * math.pi)


def _line_rows(part: Part) -> list[int]:
    return [int(r) for r in np.flatnonzero(~part.is_arc)]


def _arc_rows(part: Part) -> list[int]:
    circles = set(part.circles())
    return [int(r) for r in np.flatnonzero(part.is_arc) if int(r) not in circles]


def _common_errors(part: Part, lattice: Lattice) -> np.ndarray:
    """Covariance left by scale, direction and place of the lattice frame."""
    growth, turn = scale_slope(part.is_arc, part.state), turn_slope(part.is_arc, part.state)
    along_x, along_y = shift_slopes(part.is_arc, part.state)
    return (
        lattice.scale_u**2 * np.outer(growth, growth)
        + FRAME_TURN_U**2 * np.outer(turn, turn)
        + FRAME_SHIFT_U**2 * (np.outer(along_x, along_x) + np.outer(along_y, along_y))
    )


class _Ledger:
    """State and covariance while nominals are taken in; the rows of equations that are held."""

    def __init__(self, part: Part) -> None:
        self.is_arc, self.start = part.is_arc, part.state
        self.state, self.covariance = part.state.copy(), part.covariance.copy()
        self.held: list[Held] = []
        self.choices: dict[Quantity, Choice] = {}

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
        self.held.append(Held(quantity, value, 1.0, told=True))

    def hold(self, quantity: Quantity, value: float, probability: float, relation: bool = False) -> None:
        now, slope = gradient(quantity, self.is_arc, self.state)
        self.state, self.covariance = condition(self.state, self.covariance, slope, value - now, 0.0 if not relation else 1e-5)
        self.held.append(Held(quantity, value, probability))


def _hold_nominals(
    part: Part,
    points: list[np.ndarray],
    origin: tuple[float, float],
    angle: float,
    lattice: Lattice,
    equal: list[tuple[int, ...]],
    settings: OutlineSettings,
    orders: Orders,
) -> Design:
    weighed = _weighed(part, origin, angle, lattice, settings, orders)
    part = weighed.part
    ledger = _Ledger(part)
    for wish in weighed.carried:
        for quantity, value in wish.holds:
            ledger.tell(quantity, value)
    apart, pattern = weighed.apart | orders.told.free, tuple(equal)
    equal = [group for old in equal if len(group := tuple(row for row in old if row not in apart)) > 0]
    for group in equal:
        for a, b in zip(group, group[1:], strict=False):
            ledger.hold(Quantity("same_radius", (a, b)), 0.0, 0.99, relation=True)
    placed = {row for h in ledger.held if h.quantity.kind in CENTRES for row in h.quantity.rows}
    pitch = [circle for circle in pitch_circles(part, [list(g) for g in equal]) if not placed & {*circle.rows, circle.bore}]
    concentric = [pair for pair in concentric_rows(part) if not apart & set(pair)]
    for row, circle in concentric:
        for kind in ("same_x", "same_y"):
            ledger.hold(Quantity(kind, (row, circle)), 0.0, 0.97, relation=True)
    kept_pitch = _hold_pitch_circles(ledger, part, pitch, lattice, settings)
    candidates = _candidates(part, {row for circle in kept_pitch for row in circle.rows}, concentric)
    candidates = [q for q in candidates if not orders.told.free & set(q.rows)]
    centred = {row for row, _ in concentric}
    for threshold in (0.97, 0.9, 0.75, 0.5):
        progress = True
        while progress:
            progress = False
            for kind_rank in range(5):
                for quantity in [q for q in candidates if _rank(q, centred) == kind_rank]:
                    if _try_nominal(ledger, part, quantity, lattice, settings, threshold, candidates):
                        candidates.remove(quantity)
                        progress = True
    design = _closed(part, ledger, points, origin, angle, lattice, kept_pitch, equal, concentric, settings)
    drawn = tuple(wish for wish in weighed.carried if _is_held(wish, design))
    left = tuple(not_drawn(wish) for wish in weighed.carried if wish not in drawn)
    return replace(design, pattern=pattern, wishes=drawn, notes=(*weighed.notes, *left))


def _is_held(wish: Wish, design: Design) -> bool:
    """Whether all of a wish is held in the design."""
    return all(any(h.told and h.quantity == quantity and h.value == value for h in design.held) for quantity, value in wish.holds)


def _weighed(part: Part, origin: tuple[float, float], angle: float, lattice: Lattice, settings: OutlineSettings,
             orders: Orders) -> Weighed:
    """The maker's wishes, held against the measured part in the design's frame."""
    corners = [move_points(chain.corners, origin, angle, lattice.scale) for chain in part.chains]
    wishes = wishes_of(part, corners, orders) if not orders.is_empty else []
    return weigh(wishes, part, settings.moulding_u) if wishes else Weighed((), part, frozenset(), ())


def _candidates(part: Part, patterned: set[int], concentric: list[tuple[int, int]]) -> list[Quantity]:
    """Quantities that may have a nominal."""
    out = [Quantity("direction", (row,)) for row in _line_rows(part)]
    centred = {row for row, _ in concentric}
    for row in part.circles():
        out.append(Quantity("diameter", (row,)))
        if row not in patterned and row not in centred:
            out += [Quantity("center_x", (row,)), Quantity("center_y", (row,))]
    out += [Quantity("offset", (row,)) for row in _line_rows(part)]
    for row in wide_arcs(part):
        if row not in centred:
            out += [Quantity("center_x", (row,)), Quantity("center_y", (row,))]
    for a, b in vertex_pairs(part):
        out += [Quantity("vertex_x", (a, b)), Quantity("vertex_y", (a, b))]
    out += [Quantity("radius", (row,)) for row in _arc_rows(part)]
    return out


def _rank(quantity: Quantity, centred: set[int]) -> int:
    """Order of asking.  A radius about a hole's centre comes early: with it the edges that touch it are often settled."""
    if quantity.kind == "radius" and quantity.rows[0] in centred:
        return 1
    return {"direction": 2, "center_x": 0, "center_y": 0, "diameter": 0, "offset": 2, "vertex_x": 3, "vertex_y": 3, "radius": 4}[
        quantity.kind
    ]


DIRECTION_LATTICES = ((90.0, 0.62, 0.0), (45.0, 0.10, 0.0), (15.0, 0.06, 0.0), (5.0, 0.03, 0.0), (1.0, 0.02, 0.0))
"""Shares of edges at these angles to the main direction; a free edge has 1 - their sum, over 90 degrees (judgement)."""


def _try_nominal(
    ledger: _Ledger, part: Part, quantity: Quantity, lattice: Lattice, settings: OutlineSettings, threshold: float,
    left: list[Quantity],
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
    if quantity.kind == "offset" and not any(
        h.quantity == Quantity("direction", quantity.rows) and _is_axis(h.value) for h in ledger.held
    ):
        return False
    if u < 2e-4:
        ledger.choices[quantity] = Choice(value, 0.99, None)
        return True
    if quantity.kind == "radius" and u > WIDEST_RADIUS_U:
        return threshold <= 0.5 and _take_known_radius(ledger, part, quantity, value, u, settings)
    if quantity.kind != "radius" and u > WIDEST_U:
        return False
    u = max(math.hypot(u, 0.004), 0.01 if quantity.kind == "diameter" else 0.005)
    lattices = _lattices(quantity, lattice, value)
    if quantity.kind == "radius":
        lattices = as_the_part_counts(lattices, {round(h.value, 6) for h in ledger.held if h.quantity.kind == "radius"})
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


def _with_its_equals(ledger: _Ledger, quantity: Quantity, value: float, u: float, left: list[Quantity]) -> tuple[float, float]:
    """A shallow fillet's radius and u together with those of the other shallow ones that are likely the same radius."""
    weight, total = u**-2, value * u**-2
    for other in left:
        if other.kind == "radius" and other != quantity:
            theirs, their_u = ledger.look(other)
            if SHALLOW_U < their_u <= WIDEST_RADIUS_U and are_likely_equal(theirs - value, math.hypot(u, their_u)):
                weight, total = weight + their_u**-2, total + theirs * their_u**-2
    return total / weight, weight**-0.5


def _take_known_radius(
    ledger: _Ledger, part: Part, quantity: Quantity, value: float, u: float, settings: OutlineSettings
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


def _lattices(quantity: Quantity, lattice: Lattice, value: float = math.inf) -> list[tuple[float, float, float]]:
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


def _listed(ledger: _Ledger, quantity: Quantity, lattice: Lattice) -> list[tuple[float, float]]:
    """Values with a weight of their own: standard hole sizes, radii the part already has, coordinates it already has,
    their mirror
    images about the middle of its edges, and that middle."""
    if quantity.kind == "diameter":
        return list(LISTED) if lattice.profile.system == "metric" else []
    if quantity.kind == "radius":
        known = {round(h.value, 6) for h in ledger.held if h.quantity.kind == "radius"}
        return [(v, 6.0 / len(known)) for v in sorted(known)]
    axis = "x" if quantity.kind.endswith("x") else "y"
    if quantity.kind == "offset":
        return []
    shared = {round(h.value, 6) for h in ledger.held if h.quantity.kind in (f"center_{axis}", f"vertex_{axis}")}
    edges = _edge_places(ledger, axis)
    if len(edges) > 1:
        middle = 0.5 * (edges[0] + edges[-1])
        shared |= {round(2.0 * middle - v, 6) for v in shared} | {round(middle, 6)}
    return [(v, 0.3) for v in sorted(shared)]


def _edge_places(ledger: _Ledger, axis: str) -> list[float]:
    """Held coordinates of edges and vertices along an axis, rising."""
    places = [h.value for h in ledger.held if h.quantity.kind == f"vertex_{axis}"]
    for held in ledger.held:
        if held.quantity.kind == "offset":
            quarter = axis_quarter(ledger.state[held.quantity.rows[0], 0])
            if quarter is not None and (quarter % 2 == 0) == (axis == "y"):
                places.append(held.value if quarter in (0, 3) else -held.value)
    return sorted(places)


def _lever(part: Part, quantity: Quantity) -> float:
    """How far the part's edge moves for a unit of the quantity."""
    if quantity.kind == "radius":
        turn = _arc_turn(part, quantity.rows[0])
        return 1.0 if turn > math.radians(120.0) else max(1.0 / math.cos(turn / 2.0) - 1.0, 0.01)
    if quantity.kind == "diameter":
        return 0.5
    return 1.0


def _hold_pitch_circles(
    ledger: _Ledger, part: Part, pitch: list[PitchCircle], lattice: Lattice, settings: OutlineSettings
) -> list[PitchCircle]:
    """Hold the holes of each pitch circle at equal angles, its centre, diameter and first angle at nominals where probable."""
    kept = []
    for circle in pitch:
        count = len(circle.rows)
        lattices = _lattices(Quantity("center_x", (0,)), lattice)
        square = count == 4 and _all_on_lattice(ledger, circle, lattices, lattice.free)
        if square and not _rather_round(circle, lattice):
            continue
        center = []
        for axis, kind in enumerate(("center_x", "center_y")):
            value, u = circle.center[axis], math.hypot(circle.u, 0.006)
            if circle.bore is not None:
                bore_value, bore_u = ledger.look(Quantity(kind, (circle.bore,)))
                bore_u = math.hypot(bore_u, 0.004)
                value, u = (value / u**2 + bore_value / bore_u**2) / (u**-2 + bore_u**-2), (u**-2 + bore_u**-2) ** -0.5
            choice = choose(value, math.hypot(u, 0.006), lattices, lattice.free)
            center.append(choice.value if choice.value is not None and choice.probability > 0.5 else value)
        size = Quantity("diameter", (circle.rows[0],))
        choice = choose(
            2.0 * circle.radius,
            math.hypot(2.0 * circle.u, 2.0 * circle.radius * lattice.scale_u) + 0.004,
            _lattices(size, lattice),
            lattice.free,
        )
        diameter = choice.value if choice.value is not None and choice.probability > 0.5 else 2.0 * circle.radius
        start = _pattern_angle(circle, settings)
        probability = choice.probability if diameter == choice.value else 0.3
        if circle.bore is not None:
            for axis, kind in enumerate(("center_x", "center_y")):
                ledger.hold(Quantity(kind, (circle.bore,)), center[axis], 0.98)
        for k, row in enumerate(circle.rows):
            at = start + 2.0 * math.pi * k / count
            ledger.hold(Quantity("center_x", (row,)), center[0] + 0.5 * diameter * math.cos(at), probability)
            ledger.hold(Quantity("center_y", (row,)), center[1] + 0.5 * diameter * math.sin(at), probability)
        kept.append(replace(circle, center=(center[0], center[1]), radius=0.5 * diameter, start_rad=start))
    return kept


def _all_on_lattice(ledger: _Ledger, circle: PitchCircle, lattices: list[tuple[float, float, float]], free: float) -> bool:
    """Four holes in a square: do their own coordinates lie on the lattice?"""
    for row in circle.rows:
        for kind in ("center_x", "center_y"):
            value, u = ledger.look(Quantity(kind, (row,)))
            choice = choose(value, math.hypot(u, 0.006), [item for item in lattices if item[0] > 0.3], free)
            if choice.value is None or choice.probability < 0.5:
                return False
    return True


def _rather_round(circle: PitchCircle, lattice: Lattice) -> bool:
    """Four holes in a square about a bore: was their pitch circle drawn, not their distances?

    Each hole may lie near the lattice by itself, while all of them together tell which of the two sizes does.
    """
    if circle.bore is None:
        return False
    diameter, u = 2.0 * circle.radius, math.hypot(2.0 * circle.u, 2.0 * circle.radius * lattice.scale_u) + 0.004
    worth = []
    for value, own_u in ((diameter, u), (diameter * math.sqrt(0.5), u * math.sqrt(0.5))):
        weights = candidate_weights(value, own_u, _lattices(Quantity("center_x", (0,)), lattice))
        worth.append(max((w * likelihood(value - v, own_u) for v, w in weights.items()), default=0.0))
    return worth[0] > ROUND_ODDS * worth[1]


def _pattern_angle(circle: PitchCircle, settings: OutlineSettings) -> float:
    """First hole's angle: a multiple of half the hole spacing, of 15 or 5 degrees if it lies that near, else as measured."""
    u_deg = math.degrees(circle.u / circle.radius) + 0.02
    half = 180.0 / len(circle.rows)
    choice = choose(math.degrees(circle.start_rad), u_deg, ((half, 0.6, 0.0), (15.0, 0.1, 0.0), (5.0, 0.05, 0.0)), 0.2 / half)
    return math.radians(choice.value) if choice.value is not None and choice.probability > 0.5 else circle.start_rad


def _closed(
    part: Part,
    ledger: _Ledger,
    points: list[np.ndarray],
    origin: tuple[float, float],
    angle: float,
    lattice: Lattice,
    pitch: list[PitchCircle],
    equal: list[tuple[int, ...]],
    concentric: list[tuple[int, int]],
    settings: OutlineSettings,
) -> Design:
    """Solve all that is held with the touching conditions; drop what does not fit together or leaves the measured rim."""
    size = part.state.size
    ease = np.where(np.repeat(part.is_arc, 3), 1e-6, np.tile([1e-10, 1e-6, 1e-6], len(part.is_arc)))
    covariance = part.covariance + np.diag(ease) if size else part.covariance
    touches = [Held(Quantity("touch", pair), 0.0) for pair in part.touches()]
    held = list(ledger.held)
    groups = _independent(part, held)
    state = part.state.copy()
    kept: list[Held] = []
    for rows in groups:
        own = [h for h in held if set(h.quantity.rows) & rows]
        local = [t for t in touches if set(t.quantity.rows) & rows]
        index = np.array(sorted(rows))
        state[index], own = _solve_group(part, covariance, index, own, local, points, origin, angle, lattice, settings)
        kept += own
    return Design(
        replace(part, state=state),
        part,
        origin,
        angle,
        lattice,
        tuple(kept),
        ledger.choices,
        tuple(pitch),
        tuple(equal),
        tuple(concentric),
    )


def _independent(part: Part, held: list[Held]) -> list[set[int]]:
    """Rows that hang together through loops or held relations."""
    groups = [set(part.rows(i)) for i in range(len(part.chains))]
    for item in held:
        if len(item.quantity.rows) > 1:
            hit = [g for g in groups if g & set(item.quantity.rows)]
            if len(hit) > 1:
                merged = set().union(*hit)
                groups = [g for g in groups if g not in hit] + [merged]
    return groups


def _solve_group(
    part: Part,
    covariance: np.ndarray,
    index: np.ndarray,
    held: list[Held],
    touches: list[Held],
    points: list[np.ndarray],
    origin: tuple[float, float],
    angle: float,
    lattice: Lattice,
    settings: OutlineSettings,
) -> tuple[np.ndarray, list[Held]]:
    place = {int(row): k for k, row in enumerate(index)}
    inside = (3 * index[:, None] + np.arange(3)[None, :]).ravel()
    local_covariance = covariance[np.ix_(inside, inside)]
    is_arc, measured = part.is_arc[index], part.state[index]

    def localised(items: list[Held]) -> list[Held]:
        return [Held(replace(h.quantity, rows=tuple(place[r] for r in h.quantity.rows)), h.value) for h in items]

    held, expected = list(held), measured
    while any(h.told for h in held):
        told = [h for h in held if h.told]
        expected, gap = close(is_arc, measured, local_covariance, localised(touches + told))
        if gap < 1e-7:
            expected = _with_radii(part, index, touches, held, localised, local_covariance, expected)
            break
        held.remove(told[-1])
        expected = measured
    while True:
        state, gap = close(is_arc, measured, local_covariance, localised(touches) + localised(held))
        offenders = [] if gap < 1e-7 else _least_sure(held)
        if not offenders and held:
            offenders = _running_back(part, index, state, held, origin, angle, lattice) or _off_the_rim(
                part, index, state, expected, held, points, origin, angle, lattice, settings
            )
        if not offenders:
            return state, held
        held = [h for h in held if h not in offenders]


def _with_radii(part: Part, index: np.ndarray, touches: list[Held], held: list[Held],
                localised: Callable[[list[Held]], list[Held]], covariance: np.ndarray, expected: np.ndarray) -> np.ndarray:
    """What is expected of the maker's word alone, fillets carried along at their radii: where an edge is moved its fillets move
    with it and do not grow.  The state `expected` where that cannot be."""
    told = [h for h in held if h.told]
    sized = {h.quantity.rows[0]: h.value for h in held if h.quantity.kind == "radius"}
    spoken = {row for h in told for row in h.quantity.rows if h.quantity.kind in ("radius", "same_radius", "length")}
    pairs = [touch.quantity.rows for touch in touches]
    both = [a for a, _ in pairs if a in {b for _, b in pairs}]
    radii = [Held(Quantity("radius", (row,)), sized.get(row, abs(float(part.state[row, 2]))))
             for row in both if part.is_arc[row] and row not in spoken]
    carried, gap = close(part.is_arc[index], part.state[index], covariance, localised(touches + told + radii))
    return carried if gap < 1e-7 else expected


def _least_sure(held: list[Held]) -> list[Held]:
    """The least probable value held, the maker's last of all; of those that say something of the same rows as the maker's
    first."""
    told = {row for h in held if h.told for row in h.quantity.rows}
    own = [h for h in held if not h.told]
    about = [h for h in own if told & set(h.quantity.rows)]
    pool = about or own or held
    return [min(pool, key=lambda h: h.probability)] if pool else []


def _running_back(
    part: Part,
    index: np.ndarray,
    state: np.ndarray,
    held: list[Held],
    origin: tuple[float, float],
    angle: float,
    lattice: Lattice,
) -> list[Held]:
    """The least probable value about an edge that would run backwards (fillets too large for it) or miss its neighbour, or an arc
    that would turn quite otherwise than its rim; [] when all is well."""
    place = {int(row): k for k, row in enumerate(index)}
    for i, chain in enumerate(part.chains):
        rows = list(part.rows(i))
        if rows[0] not in place or chain.is_circle:
            continue
        own = state[[place[row] for row in rows]]
        corners = junctions(chain.is_arc, own, chain.tangent, move_points(chain.corners, origin, angle, lattice.scale))
        missed = off_carriers(chain.is_arc, own, corners, 1e-6)
        for k in range(chain.size):
            run = corners[k] - corners[k - 1]
            back = not chain.is_arc[k] and run[0] * math.cos(own[k, 0]) + run[1] * math.sin(own[k, 0]) < -1e-9
            other_way = chain.is_arc[k] and WILD_TURN < abs(
                _turn_between(own[k], corners[k - 1], corners[k])
                - _turn_between(chain.state[k], chain.corners[k - 1], chain.corners[k])
            )
            if back or missed[k] or other_way:
                about = {rows[k], rows[k - 1], rows[(k + 1) % chain.size]}
                mine = [h for h in held if about & set(h.quantity.rows) and h.quantity.kind == "radius"]
                mine = mine or [h for h in held if about & set(h.quantity.rows)]
                mine = [h for h in mine if not h.told] or mine
                return [min(mine, key=lambda h: h.probability)] if mine else []
    return []


def _off_the_rim(
    part: Part,
    index: np.ndarray,
    state: np.ndarray,
    expected: np.ndarray,
    held: list[Held],
    points: list[np.ndarray],
    origin: tuple[float, float],
    angle: float,
    lattice: Lattice,
    settings: OutlineSettings,
) -> list[Held]:
    """Held values of carriers whose rim would lie farther off than the limit allows: the least probable of the worst carrier.
    expected: the measured state, changed by what the maker says alone."""
    worst: tuple[float, int] | None = None
    place = {int(row): k for k, row in enumerate(index)}
    for i, chain in enumerate(part.chains):
        rows = list(part.rows(i))
        if rows[0] not in place:
            continue
        local = move_points(points[i], origin, angle, lattice.scale)
        for k, row in enumerate(rows):
            begin, end = chain.first[k], chain.first[(k + 1) % chain.size]
            own = local if chain.size == 1 else local[(begin + np.arange((end - begin) % len(local))) % len(local)]
            if not len(own):
                continue
            is_arc = bool(part.is_arc[row])
            away = np.abs(distances(is_arc, state[place[row]], own) - distances(is_arc, expected[place[row]], own))
            # most edges stay where they are: no quantile lies beyond the largest
            moved_by = float(np.quantile(away, 0.9)) if away.max() > settings.move_limit else 0.0
            if moved_by > settings.move_limit and (worst is None or moved_by > worst[0]):
                worst = moved_by, row
    if worst is None:
        return []
    mine = [h for h in held if worst[1] in h.quantity.rows and not h.told] or [h for h in held if not h.told]
    return [min(mine, key=lambda h: h.probability)] if mine else []
