"""Which label goes to which slot: leaders that are short, run through no text and do not cross.

Words: a *leader* is the straight line from a label's target to the middle of its slot; a *pairing* gives each label a slot of its
own.  Its *price* is the length of all leaders, and what it costs that one runs along its own text or edge, through another text,
or over another leader.
How: the pairing of least length comes first (the Hungarian method); exchanges of slots and moves to free ones that lower the
price follow, the best first, until none does.  Where leaders still meet, the pairing is begun anew with these priced up, and the
cheapest of all that were found is taken.
Conventions: mm of paper; a box is (left, bottom, right, top).
Limits: the best found, not proven the best; a crossing stays where every pairing has one.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

ACROSS, CROSSING = 400.0, 200.0
"""What a leader through another text, and two that cross, count as in mm of leader (judgement)."""
_ROUNDS = 24
_LEAST = 1e-3
"""A change that saves less is none, mm."""
_UP = 60.0
"""By how much a leader that crosses another is priced up for the next beginning, mm."""


@dataclass(frozen=True)
class _Prices:
    """alone: of each leader (label, slot); both: what two cost each other (label, slot, other label, other slot), 0 where neither
    meets the other or the other's text, and for two of one label."""

    alone: np.ndarray
    both: np.ndarray

    def of(self, chosen: np.ndarray) -> float:
        """The whole price of a pairing."""
        rows = np.arange(len(chosen))
        return float(self.alone[rows, chosen].sum() + self._beside(chosen).sum() / 2.0)

    def met(self, chosen: np.ndarray) -> np.ndarray:
        """Labels whose leaders meet another or run through a text."""
        return np.flatnonzero(self._beside(chosen).any(axis=1))

    def _beside(self, chosen: np.ndarray) -> np.ndarray:
        rows = np.arange(len(chosen))
        return np.asarray(self.both[rows[:, None], chosen[:, None], rows[None], chosen[None]])


def pair(targets: np.ndarray, places: np.ndarray, boxes: np.ndarray, taken: np.ndarray, priced: np.ndarray) -> tuple[int, ...]:
    """The slot of each label.

    targets (n, 2): points meant; places (m, 2), boxes (m, 4): of the slots, m >= n, clear of each other; taken (k, 4): what else
    leaders should not run through; priced (n, m): what a leader costs beyond its length.
    """
    length = np.hypot(*(targets[:, None] - places[None]).transpose(2, 0, 1))
    hit = np.array([[runs_through(target, place, taken).any() for place in places] for target in targets])
    prices = _Prices(length + priced + ACROSS * hit, _beside_each_other(targets, places, boxes))
    wished, found = prices.alone.copy(), []
    for _ in range(_ROUNDS):
        chosen = _bettered(linear_sum_assignment(wished)[1], prices)
        found.append((prices.of(chosen), tuple(map(int, chosen))))
        met = prices.met(chosen)
        if not met.size:
            break
        wished[met, chosen[met]] += _UP
    return min(found)[1]


def _bettered(chosen: np.ndarray, prices: _Prices) -> np.ndarray:
    """The pairing after every change that makes it cheaper, the best first: a label takes another's slot, which takes its slot or
    a free one; or it takes a free one itself."""
    rows = np.arange(len(chosen))
    while True:
        beside = prices.both[:, :, rows, chosen]
        own = prices.alone + beside.sum(axis=2)
        now = own[rows, chosen]
        free = np.setdiff1d(np.arange(prices.alone.shape[1]), chosen)
        moves = own[:, free] - now[:, None]
        # i goes to the slot of j: its price there without j, and that of j elsewhere without i
        there = own[:, chosen] - beside[:, chosen, rows]
        kept = now[:, None] + now[None] - beside[rows, chosen]
        swaps = there + there.T + prices.both[rows[:, None], chosen[None], rows[None], chosen[:, None]] - kept
        away = (own[:, free][None] - beside[:, free].transpose(2, 0, 1)
                + prices.both[rows[:, None, None], chosen[None, :, None], rows[None, :, None], free[None, None]])
        pushed = there[:, :, None] + away - kept[:, :, None]
        np.fill_diagonal(swaps, 0.0)
        pushed[rows, rows] = 0.0
        best = min(moves.min(initial=0.0), swaps.min(initial=0.0), pushed.min(initial=0.0))
        if best > -_LEAST:
            return chosen
        chosen = chosen.copy()
        if moves.size and moves.min() == best:
            label, slot = np.unravel_index(moves.argmin(), moves.shape)
            chosen[label] = free[slot]
        elif swaps.min() == best:
            one, other = np.unravel_index(swaps.argmin(), swaps.shape)
            chosen[[one, other]] = chosen[[other, one]]
        else:
            one, other, slot = np.unravel_index(pushed.argmin(), pushed.shape)
            chosen[one], chosen[other] = chosen[other], free[slot]


def _beside_each_other(targets: np.ndarray, places: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """What two leaders cost each other (label, slot, other label, other slot)."""
    through = np.array([[runs_through(target, place, boxes) for place in places] for target in targets])
    # leader (i, c) through the box of slot d, whichever label j stands there
    across = np.broadcast_to(through[:, :, None], (*through.shape[:2], *through.shape[:2]))
    cost = (ACROSS * (across + across.transpose(2, 3, 0, 1).astype(np.float32))
            + CROSSING * _crossings(targets, places)).astype(np.float32)
    labels = np.arange(len(targets))
    cost[labels, :, labels] = 0.0
    return cost


def runs_through(start: np.ndarray, end: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """For each box (m, 4): does the line from start to end pass through its inside?"""
    way = end - start
    with np.errstate(divide="ignore", invalid="ignore"):
        first, last = (boxes[:, :2] - start) / way, (boxes[:, 2:] - start) / way
    level = way == 0.0
    beside = level & ((start <= boxes[:, :2]) | (start >= boxes[:, 2:]))
    into = np.where(level, -np.inf, np.minimum(first, last)).max(axis=1, initial=0.0)
    out = np.where(level, np.inf, np.maximum(first, last)).min(axis=1, initial=1.0)
    return np.asarray((into < out) & ~beside.any(axis=1))


def _crossings(targets: np.ndarray, places: np.ndarray) -> np.ndarray:
    """(label, slot, other label, other slot): do the two leaders run over each other between their ends?"""
    # which side of leader (i, c) target j and place d lie on
    way = places[None] - targets[:, None]
    to_target = targets[None, None] - targets[:, None, None]
    to_place = places[None, None] - targets[:, None, None]
    target_side = np.sign(way[:, :, None, 0] * to_target[..., 1] - way[:, :, None, 1] * to_target[..., 0])
    place_side = np.sign(way[:, :, None, 0] * to_place[..., 1] - way[:, :, None, 1] * to_place[..., 0])
    apart = target_side[:, :, :, None] * place_side[:, :, None, :] < 0
    return np.asarray(apart & apart.transpose(2, 3, 0, 1))
