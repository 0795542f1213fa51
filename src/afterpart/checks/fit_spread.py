"""By how much a cover and other people's machines may be off from each other: the spreads of the fit checks.

Words: a *place* is a Spot of fit_contacts; the *undersize* is how much narrower than drawn a round hole prints, from the sizes
measured on trial prints where there are any (formulas/print_scale.py), else from the rule; *corrected* holes are those whose
files for printing already make up for it (printer.use_trials).
Printer: its scatter from the trials where they are enough, else fit.printer_u; its scale acts on every distance, unless
corrected.
Mating part: its tolerance is read as three standard deviations (standards/tolerances.py) and taken apart into what each place
does on its own (as two places NEAR apart do) and a strain that gives the longest distance its tabled spread; the tabled spread
of the distances between is met from 0.6 to 1.4 times (the table goes in steps and flattens), worst on parts beyond 200 mm.
A mating part that was photographed (case.mate) stands as measured instead: its holes where they are, with their own uncertainty,
its size to the uncertainty of its scale; the outline is then no source of error, for the mate was laid on the cover as drawn.
Outline: its scale, and what is left of its distances' uncertainty.
Conventions: mm.
Limits: the mating part's own growth by warmth is not known and not set off against the print's; walls of a lip or an edge are
not moved by what outsides print too wide.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
from dataclasses import dataclass, replace
from statistics import fmean

from afterpart.checks.fit_contacts import Locator, Spot, cover_of, longest, spots
from afterpart.checks.mate_places import distance_off, lip_off, standing, usual_u, worst_off
from afterpart.formulas.fit_montecarlo import Contact, Spread, opening_for
from afterpart.formulas.print_scale import PrintFigures
from afterpart.formulas.trial_sizes import printer_figures
from afterpart.model.case import Case
from afterpart.model.feature import Hole
from afterpart.model.finding import Input, Suggestion
from afterpart.model.mate import MateMatch
from afterpart.standards.clearance_holes import clearance_hole
from afterpart.standards.materials import MATERIALS, material
from afterpart.standards.printing import rule
from afterpart.standards.tolerances import MOULDING_RANGE, MOULDING_SOURCE, moulding_scatter, moulding_tolerance
from afterpart.words import entry, tell, translated

MATE_GROUP = "TG6"
"""The one group whose values are tabled."""

SIGMAS = 3.0
"""A tolerance in standard deviations, as moulding_scatter has it; the printer's worst case is taken alike."""

NEAR = 10.0
"""Places this close together deviate on their own, mm (judgement)."""

SOURCE_MEASURED = entry("the mate as photographed (mate.json); spreads of print and warmth as told in the advice (printer and "
                        "expansion from memory or as told, undersize of holes from memory or as measured)")


def source_of(case: Case) -> str:
    """What the spreads of this job rest on."""
    if case.mate is not None:
        return translated(SOURCE_MEASURED)
    return tell("{moulding}; spreads as assumed in the advice (printer and expansion from memory or as told, undersize of holes "
                "from memory or as measured)", moulding=MOULDING_SOURCE)


@dataclass(frozen=True)
class Figures:
    """Standard deviations and half widths, mm or shares.  mate_near: of a place of the mating part; mate_strain: of its strain;
    print_u: of the printer on a size; outline_near, outline_scale; thermal: half width; undersize_least, undersize_most: of holes
    that are not corrected; print_scale: by how much distances print too long (negative: too short), as a share, print_scale_u;
    corrected: holes and distances are corrected in the files for printing; mate: the mating part as measured, mate_near then the
    usual uncertainty of its places."""

    mate_near: float
    mate_strain: float
    print_u: float
    outline_near: float
    outline_scale: float
    thermal: float
    undersize_least: float
    undersize_most: float
    print_scale: float = 0.0
    print_scale_u: float = 0.0
    corrected: bool = False
    mate: MateMatch | None = None

    @property
    def undersize(self) -> float:
        return 0.5 * (self.undersize_least + self.undersize_most)

    def narrow(self, place: Spot | Locator) -> float:
        """By how much a place's hole prints too narrow on average, mm on the diameter."""
        is_raw = place.printed and (place.as_tried or not self.corrected)
        return self.undersize if is_raw else 0.0

    def narrow_most(self, place: Spot | Locator) -> float:
        """The same at most."""
        return self.narrow(place) + (0.5 * (self.undersize_most - self.undersize_least) if place.printed else 0.0)


def why_not(case: Case) -> tuple[str, tuple[str, ...]] | None:
    """Why the fit cannot be judged, and which keys would help; None when it can."""
    cover, wish = cover_of(case), case.job.wishes.fit
    assert cover is not None
    if case.outline.unit != "mm":
        return tell("The outline has no size yet."), ("reading",)
    if wish.mate_group != MATE_GROUP and case.mate is None:
        return tell("Tolerances of group {mate_group} are not tabled; only {mate_group_2} is (fit.mate_group).",
                    mate_group=wish.mate_group, mate_group_2=MATE_GROUP), ()
    if cover.material.lower() not in (m.name.lower() for m in MATERIALS):
        return (tell("It is not known how much {material} grows with warmth.", material=cover.material or tell("the material")),
                ("printer.material",))
    if any(isinstance(f, Hole) and f.purpose == "insert" for f in cover.features):
        return tell("With inserts in the cover the bolts pass holes of the machine, whose size is not known."), ()
    far = longest(spots(case))
    if far > MOULDING_RANGE.high and case.mate is None:
        return tell("Places of contact lie {far:.0f} mm apart; the tolerances are tabled up to {moulding_range_high:g} mm.",
                    far=far, moulding_range_high=MOULDING_RANGE.high), ()
    return None


def figures(case: Case) -> Figures:
    """The spreads of this job (module text).  Only where why_not is None."""
    wish, places = case.job.wishes.fit, spots(case)
    cover = cover_of(case)
    assert cover is not None
    mate_near, mate_strain = mate_spread(min(longest(places), MOULDING_RANGE.high), wish.tool_specific)
    near, scale = outline_spread(case)
    thermal = material(cover.material).expansion_per_k.high * wish.temperature_span_c
    told, corrected = printer_of(case), case.job.wishes.printer.use_trials
    print_u = told.scatter if told is not None else wish.printer_u
    off, off_u = (told.scale - 1.0, told.scale_u) if told is not None and told.is_scale_told else (0.0, 0.0)
    if case.mate is not None:
        mate_near, mate_strain, near, scale = usual_u(case.mate), 0.0, 0.0, case.mate.laying.growth_u
    return Figures(mate_near, mate_strain, print_u, near, scale, thermal, *undersize_band(case),
                   0.0 if corrected else off, off_u, corrected and told is not None, case.mate)


def printer_of(case: Case) -> PrintFigures | None:
    """What the job's trial prints tell of its printer."""
    return printer_figures(case.job, case.outline)


def mate_spread(length: float, tool_specific: bool) -> tuple[float, float]:
    """Standard deviation of a place (each direction) and of the strain, so that distances NEAR and `length` vary as TG6 says:
    sigma(L)^2 = 2 near^2 + (strain L)^2."""
    near = moulding_scatter(NEAR, tool_specific) / math.sqrt(2.0)
    if length <= NEAR:
        return near, 0.0
    return near, math.sqrt(max(moulding_scatter(length, tool_specific) ** 2 - 2.0 * near ** 2, 0.0)) / length


def outline_spread(case: Case) -> tuple[float, float]:
    """Standard uncertainty of a place of the outline (each direction), and of its scale, from its distances and widths:
    u(L)^2 = 2 near^2 + (scale L)^2."""
    scale = case.outline.reference.relative_u
    rest = [max(d.u ** 2 - (scale * d.measured) ** 2, 0.0) / 2.0 for d in case.outline.dimensions
            if d.kind in ("distance", "width")]
    return (math.sqrt(fmean(rest)) if rest else 0.0), scale


def undersize_band(case: Case) -> tuple[float, float]:
    """Least and most that a round hole prints too narrow: as the trial prints tell, else by the rule.

    Of what is told, for holes as wide as the bolts, the middle and sqrt(3) u either way: a rectangle with that standard
    uncertainty."""
    told = printer_of(case)
    if told is None or told.undersize is None:
        band = rule("hole_undersize")
        return band.low, band.high
    off, u = told.off_at(_hole_width(case), -1.0)
    return -off - math.sqrt(3.0) * u, -off + math.sqrt(3.0) * u


def _hole_width(case: Case) -> float:
    """Mean nominal diameter of the bolts, whatever their clearance; 0 where there are none."""
    cover = cover_of(case)
    bolts = [f for f in cover.features if isinstance(f, Hole) and f.purpose == "bolt"] if cover is not None else []
    widths = [clearance_hole(f.screw).nominal for f in bolts]
    return fmean(widths) if widths else 0.0


def contacts(places: tuple[Spot, ...], f: Figures) -> tuple[tuple[Contact, ...], Spread]:
    """Places and figures as the simulation takes them."""
    made = tuple(_contact(place, places, f) for place in places)
    return made, Spread(f.mate_strain, math.hypot(f.outline_scale, f.print_scale_u), f.thermal,
                        (f.undersize_most - f.undersize_least) / 4.0, f.print_scale)


def _contact(place: Spot, places: tuple[Spot, ...], f: Figures) -> Contact:
    """A place with its spread; where the mate was measured, with where it stands."""
    near, off = f.mate_near, (0.0, 0.0)
    if f.mate is not None:
        stands = standing(f.mate, place)
        # what its picture does not show is as good as any moulding's
        length = min(longest(places), MOULDING_RANGE.high)
        own = stands.u if stands is not None else moulding_scatter(length, False) / math.sqrt(2.0)
        near, off = own * f.mate_near / usual_u(f.mate), stands.off if stands is not None else off
    place_u = math.sqrt(near ** 2 + f.print_u ** 2 / 2.0 + f.outline_near ** 2)
    return Contact(place.at, place.gap - f.narrow(place) / 2.0, place.normal, place.group, place_u, gap_u(place, f),
                   place.printed, off)


def gap_u(spot: Spot, f: Figures) -> float:
    """Standard deviation of a round place's gap: half of what the diameters vary by; a wall's is its place's."""
    if spot.size:
        return 0.5 * math.sqrt(2.0 * f.mate_near ** 2 + (f.mate_strain * spot.size) ** 2 + f.print_u ** 2
                               + outline_u(f, spot.size) ** 2 + (f.thermal * spot.size) ** 2 / 3.0)
    return f.print_u / 2.0 if spot.printed else 0.0


def scaled(places: tuple[Spot, ...], f: Figures, times: dict[str, float]) -> tuple[tuple[Spot, ...], Figures]:
    """Places and figures with each kind of figure multiplied."""
    mate, narrow = times["mating part"], times["undersize of holes"]
    return (tuple(replace(s, gap=s.gap * times["clearance"]) for s in places),
            replace(f, mate_near=f.mate_near * mate, mate_strain=f.mate_strain * mate, print_u=f.print_u * times["printer"],
                    print_scale=f.print_scale * times["printer"], print_scale_u=f.print_scale_u * times["printer"],
                    thermal=f.thermal * times["warmth"], undersize_least=f.undersize_least * narrow,
                    undersize_most=f.undersize_most * narrow))


def opening_wanted(case: Case) -> float:
    """Clearance to add to every place so that the wanted share of machines fits, mm; negative where some can be taken away."""
    wish = case.job.wishes.fit
    return opening_for(*contacts(spots(case), figures(case)), wish.wanted_share, wish.draws, wish.seed)


def opening_suggestion(case: Case, opening: float) -> Suggestion:
    """The same as a change of the job."""
    tightest = min(s.gap for s in spots(case))
    return Suggestion("role.clearance", tightest, tightest + opening,
                      tell("of the tightest place; add {opening:.2f} mm all round to every hole and wall alike", opening=opening))


def worst_distance(case: Case, length: float, between: tuple[str, str] = ("", "")) -> tuple[tuple[str, float], ...]:
    """By how much a distance may be off at worst, mm, by cause: its tolerance, or what was measured between these holes; three
    standard deviations of the printer and what its scale is off by (with twice its standard uncertainty), the outline's expanded
    uncertainty (twice its standard one), growth by warmth."""
    f, wish = figures(case), case.job.wishes.fit
    printer = SIGMAS * f.print_u + (abs(f.print_scale) + 2.0 * f.print_scale_u) * length
    measured = distance_off(case.mate, *between) if case.mate is not None else None
    if measured is not None:
        return ((tell("mate as measured"), worst_off(measured)), (tell("printer"), printer), (tell("warmth"), f.thermal * length))
    return ((tell("mating part"), moulding_tolerance(length, wish.tool_specific)), (tell("printer"), printer),
            (tell("outline"), 2.0 * outline_u(f, length)), (tell("warmth"), f.thermal * length))


def worst_width(case: Case, lip: Locator) -> tuple[tuple[str, float], ...]:
    """The same of the width that a lip spans: its tolerance, or what the measured mate leaves it."""
    causes = worst_distance(case, lip.size)
    assert lip.gap is not None
    measured = lip_off(case.mate, lip.name, lip.gap) if case.mate is not None else None
    if measured is None:
        return causes
    least = max(measured[0], 0.0), measured[1]
    return ((tell("mate as measured"), worst_off(least)),
            *(cause for cause in causes if cause[0] not in (tell("mating part"), tell("outline"))))


def outline_u(f: Figures, length: float) -> float:
    """Standard uncertainty of a distance on the outline."""
    return math.sqrt(2.0 * f.outline_near ** 2 + (f.outline_scale * length) ** 2)


def distance_u(f: Figures, length: float, tool_specific: bool, between: tuple[str, str] = ("", "")) -> float:
    """Standard deviation of a distance between print and mating part: all causes."""
    measured = distance_off(f.mate, *between) if f.mate is not None else None
    if measured is not None:
        return math.sqrt(measured[1] ** 2 + f.print_u ** 2 + (f.print_scale_u * length) ** 2 + (f.thermal * length) ** 2 / 3.0)
    return math.sqrt(moulding_scatter(length, tool_specific) ** 2 + f.print_u ** 2 + outline_u(f, length) ** 2
                     + (f.print_scale_u * length) ** 2 + (f.thermal * length) ** 2 / 3.0)


def inputs_of(case: Case, length: float) -> tuple[Input, ...]:
    """The figures as a finding shows them, for a distance of this length."""
    f, wish = figures(case), case.job.wishes.fit
    distance = (() if length == 0.0 else _mate_inputs(case, f, length) if f.mate is not None
                else (Input(tell("mating part's tolerance, either way"), moulding_tolerance(length, wish.tool_specific), "mm",
                            tell("fit.mate_group {mate_group}, for {length:.1f} mm", mate_group=wish.mate_group, length=length),
                            moulding_scatter(length, wish.tool_specific)),
                      Input(tell("outline, standard uncertainty"), outline_u(f, length), "mm",
                            tell("outline, for {length:.1f} mm", length=length)),
                      Input(tell("growth by warmth, at most"), f.thermal * length, "mm",
                            tell("fit.temperature_span_c and the material's expansion"))))
    told = printer_of(case)
    scatter_from = tell("trial: sizes measured on prints") if told is not None and told.is_scatter_told else "fit.printer_u"
    from_trials = told is not None and told.undersize is not None
    scale = (Input(tell("printer's scale, off by"), 100.0 * (told.scale - 1.0), "%", tell("trial: sizes measured on prints"),
                   100.0 * told.scale_u),) if told is not None and told.is_scale_told else ()
    return (*distance, Input(tell("printer, standard deviation"), f.print_u, "mm", scatter_from), *scale,
            Input(tell("holes print narrower by"), f.undersize, "mm",
                  tell("trial: sizes measured on prints") if from_trials else tell("printing rule hole_undersize (from memory)"),
                  (f.undersize_most - f.undersize_least) / math.sqrt(12.0)))


def _mate_inputs(case: Case, f: Figures, length: float) -> tuple[Input, ...]:
    assert f.mate is not None
    worst = max(f.mate.holes, key=lambda hole: hole.away)
    return (Input(tell("largest offset of a hole of the mate"), worst.away, "mm",
                  tell("mate.json, hole {cover}", cover=worst.cover), worst.away_u),
            Input(tell("place of the mate's holes, standard uncertainty"), f.mate_near, "mm", "mate.json"),
            Input(tell("mate's size, standard uncertainty"), f.outline_scale * length, "mm",
                  tell("mate.json, for {length:.1f} mm", length=length)),
            Input(tell("growth by warmth, at most"), f.thermal * length, "mm",
                  tell("fit.temperature_span_c and the material's expansion")))


def spread_words(case: Case, length: float) -> str:
    """The assumed spread in one sentence, as it must stand beside every share."""
    f, wish = figures(case), case.job.wishes.fit
    printed = tell("holes print {undersize_least:.2f} to {undersize_most:.2f} mm narrow.", undersize_least=f.undersize_least,
                   undersize_most=f.undersize_most)
    if f.corrected:
        printed = tell("what holes print too narrow is corrected in the files for printing, {printed}", printed=printed)
    elif f.print_scale:
        printed = tell("distances print {print_scale:+.2f} % long; {printed}", print_scale=100.0 * f.print_scale, printed=printed)
    if f.mate is not None:
        worst = max(f.mate.holes, key=lambda hole: hole.away)
        return tell("The mate stands as measured (hole {cover} {away:.2f} mm off, standard uncertainty of a place "
                    "{mate_near:.2f} mm), so that this is about the machine in the picture, not about other people's; printer "
                    "{print_u:.2f} mm; warmth up to {thermal:.2f} mm; {printed}", cover=worst.cover, away=worst.away,
                    mate_near=f.mate_near, print_u=f.print_u, thermal=f.thermal * length, printed=printed)
    if length == 0.0:
        return tell("Assumed spread (one standard deviation): printer {print_u:.2f} mm; {printed}", print_u=f.print_u,
                    printed=printed)
    mate = moulding_scatter(length, wish.tool_specific)
    return tell("Assumed spread over {length:.0f} mm (one standard deviation): mating part {mate:.2f} mm ({mate_group} read as "
                "three), printer {print_u:.2f} mm, outline {outline_u:.2f} mm; warmth up to {thermal:.2f} mm; {printed}",
                length=length, mate=mate, mate_group=wish.mate_group, print_u=f.print_u, outline_u=outline_u(f, length),
                thermal=f.thermal * length, printed=printed)
