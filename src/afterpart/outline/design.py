"""The designer's likely drawing of one part: frame, relations and nominals, taken in one after the other and closed exactly.

Order: direction (directions.py), lattice and scale from everything together (frame.py); then equal holes, pitch circles and
concentric curves; then nominals, the surest first (settling.py), each conditioning what is left (a corner known on both sides
makes its fillet surer).
A nominal that is not more probable than *no nominal*, or would move the part beyond its measurement, is not taken: the number
stays free.  At the end all that is held is solved together with the touching conditions (closing.py).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from afterpart.model.edges import Note
from afterpart.outline.closing import PhotoFrame, closed
from afterpart.outline.directions import main_direction, main_directions, mirrors
from afterpart.outline.frame import Lattice, find_lattice
from afterpart.outline.lattice_values import lattice_values
from afterpart.outline.maker import CENTRES, Orders, Relation, Weighed, Wish, not_drawn, weigh, wishes_of
from afterpart.outline.mirrored import hold_mirrored_sides
from afterpart.outline.nominals import Choice
from afterpart.outline.part import Part, move_points, moved, scale_slope, shift_slopes, turn_slope
from afterpart.outline.patterns import hold_pitch_circles
from afterpart.outline.quantities import Held, Quantity
from afterpart.outline.relations import PitchCircle, concentric_rows, equal_groups, pitch_circles
from afterpart.outline.settings import OutlineSettings
from afterpart.outline.settling import Ledger, candidates_of, rank, try_nominal

MIRROR_WORTH = 8.0
"""Log odds a mirror symmetry adds to the direction it runs in (judgement: designers lay symmetric parts along the axes)."""

FRAME_TURN_U, FRAME_SHIFT_U = 1.5e-4, 0.015
"""Standard uncertainties of the lattice frame's direction (radians) and place (mm) before the first nominal is taken."""


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


def free_design(part: Part) -> Design:
    """No nominals at all: the measured state as it is, in its main direction (size unknown)."""
    angle = main_direction(part)
    turned = moved(part, (0.0, 0.0), angle)
    equal = tuple(tuple(g) for g in equal_groups(turned, part.circles()))
    return Design(turned, turned, (0.0, 0.0), angle, None, (), {}, (), equal, ())


def _common_errors(part: Part, lattice: Lattice) -> np.ndarray:
    """Covariance left by scale, direction and place of the lattice frame."""
    growth, turn = scale_slope(part.is_arc, part.state), turn_slope(part.is_arc, part.state)
    along_x, along_y = shift_slopes(part.is_arc, part.state)
    return (
        lattice.scale_u**2 * np.outer(growth, growth)
        + FRAME_TURN_U**2 * np.outer(turn, turn)
        + FRAME_SHIFT_U**2 * (np.outer(along_x, along_x) + np.outer(along_y, along_y))
    )


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
    ledger = Ledger(part)
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
    kept_pitch = hold_pitch_circles(ledger, part, pitch, lattice, settings)
    centred = {row for row, _ in concentric}
    candidates = candidates_of(part, {row for circle in kept_pitch for row in circle.rows}, concentric)
    left = {q: rank(q, centred) for q in candidates if orders.told.free.isdisjoint(q.rows)}
    for threshold in (0.97, 0.9, 0.75, 0.5):
        progress = True
        while progress:
            progress = False
            for kind_rank in range(5):
                for quantity in [q for q, own_rank in left.items() if own_rank == kind_rank]:
                    if try_nominal(ledger, part, quantity, lattice, settings, threshold, left):
                        del left[quantity]
                        progress = True
            progress = progress or hold_mirrored_sides(ledger, part, lattice, settings, threshold)
    state, held = closed(part, list(ledger.held), PhotoFrame(points, origin, angle, lattice.scale), settings)
    design = Design(replace(part, state=state), part, origin, angle, lattice, held, ledger.choices, tuple(kept_pitch),
                    tuple(equal), tuple(concentric))
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
