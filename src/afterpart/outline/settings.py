"""Settings of the outline stage: one frozen value, passed in, printed in the release."""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass, field

from afterpart.model.job import Correction, DatumChoice, Fixed, Reading


@dataclass(frozen=True)
class OutlineSettings:
    """readings: hand measurements; datum: as told or automatic; origin: "metric" | "inch" | "unknown" (the designer's units);
    drawn: roughly the year it was drawn, None when not told; fixed: design values the maker sets; corrections: of the drawing.

    noise_floor: least standard deviation assumed for an edge point, mm; correlation_length: length of rim over which edge
    errors are alike, mm; edge_bias_u: standard uncertainty of an error common to a whole rim (material edge against light
    edge), mm; place_u: of the place of a whole rim (lens, pose, two rims of a hole), mm; edge_own_u: of each line's or arc's own
    position, mm; fit_doubt: how much wider a fit's error is than noise alike over the correlation length makes it (what shade and
    wall do to an edge runs on along a whole side; photo booth); model_noise: error of the edge model that no noise shows
    (standard deviation along a rim, mm), added
    when segments are counted; segment_price, arc_price: what one more line or arc must save in weighted squares
    (description length);
    tangent_price: what releasing a tangency must save; corner_guard: points this near to a sharp corner are not used, mm;
    move_limit: a nominal is refused when it would move a feature by more than this, mm; move_limit_u: and by more than so many
    standard uncertainties; move_free: a move smaller than this is judged by its probability alone, mm;
    moulding_u: relative standard uncertainty of a moulding's size against its drawing;
    free_share: prior share of dimensions without any nominal.
    """

    readings: tuple[Reading, ...] = ()
    datum: DatumChoice = field(default_factory=DatumChoice)
    origin: str = "unknown"
    drawn: int | None = None
    fixed: tuple[Fixed, ...] = ()
    corrections: tuple[Correction, ...] = ()
    noise_floor: float = 0.012
    correlation_length: float = 1.0
    edge_bias_u: float = 0.022
    place_u: float = 0.009
    edge_own_u: float = 0.022
    fit_doubt: float = 1.8
    model_noise: float = 0.010
    segment_price: float = 14.0
    arc_price: float = 17.0
    tangent_price: float = 14.0
    corner_guard: float = 0.3
    move_limit: float = 0.2
    move_limit_u: float = 4.0
    move_free: float = 0.1
    moulding_u: float = 0.0005
    free_share: float = 0.06
