"""How true the printer prints, as its trial prints tell."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.fit_contacts import cover_of, longest, spots
from afterpart.checks.fit_spread import printer_of
from afterpart.checks.judge import judged, not_judged, strongest
from afterpart.formulas.print_scale import LEAST_DOF, PrintFigures
from afterpart.model.case import Case
from afterpart.model.finding import Finding, Input, Limit, Suggestion
from afterpart.standards.tolerances import GENERAL_RANGE, GENERAL_SOURCE, general_tolerance
from afterpart.words import counted, entry, paragraph, tell, translated

CLASS = "m"
"""Class of ISO 2768-1 that a printed distance is held to (judgement: what the drawing's general note asks for)."""
SOURCE = ("[[trial]] rows of this printer, least squares (JCGM 100:2008, H.3, clause from memory); "
          f"{GENERAL_SOURCE}, class {CLASS}")
FORMULA = entry("off = (scale - 1) L, scale by least squares over printed = scale x drawn + side x offset")
SEVERITY = 3
WHAT_TO_MEASURE = entry("The sizes measured so far are too much alike to tell the scale: measure the check plate's longest and "
                        "shortest width, two distances of holes and three holes by calliper, and write a [[trial]] row of what "
                        '= "size" for each.')


def print_true(case: Case) -> tuple[Finding, ...]:
    """What the printer's scale makes of the longest distance between places of contact.

        off = (k - 1) L     k  scale by least squares over the measured prints, L  the distance [mm]

    Held against the general tolerance of that distance.  In files corrected by the trials nothing is left of it but its
    uncertainty.  Holds for: the material and profile the trials were printed with; distances in the plane of the bed.
    Sizes too much alike to tell a scale: not judged; no measured size: the coupon's result asks for trials, not this.
    """
    told = printer_of(case)
    if told is None or cover_of(case) is None or not spots(case):
        return ()
    length = longest(spots(case))
    if not GENERAL_RANGE.holds(length):
        return ()
    if not told.is_scale_told:
        return (not_judged("print_true", tell("the printer's scale"), translated(WHAT_TO_MEASURE), source=SOURCE,
                           formula=FORMULA, missing=("trial",), severity=SEVERITY),)
    return (_finding(case, told, length),)


def _finding(case: Case, told: PrintFigures, length: float) -> Finding:
    corrected = case.job.wishes.printer.use_trials
    limit = general_tolerance(length, CLASS)
    assert limit is not None

    def off(scale: float, length: float) -> float:
        return 0.0 if corrected else (scale - 1.0) * length

    given = {"scale": told.scale, "length": length}
    suggestions = () if corrected else (Suggestion("printer.use_trials", False, True, tell("corrects the files for printing")),)
    return judged("print_true", tell("over {length:.1f} mm", length=length), off(**given), "mm", Limit(-limit, limit),
                  source=SOURCE, formula=FORMULA, advice=_told(told, corrected), inputs=_inputs(told, length),
                  u=told.scale_u * length, sensitivity=strongest(off, given), suggestions=suggestions, severity=SEVERITY)


def _inputs(told: PrintFigures, length: float) -> tuple[Input, ...]:
    source = tell("trial: {count} printed sizes", count=told.count)
    found = [Input(tell("scale"), told.scale, "", source, told.scale_u),
             Input(tell("distance"), length, "mm", tell("places of contact as built")),
             Input(tell("scatter of one size"), told.scatter, "mm", source if told.is_scatter_told else "fit.printer_u")]
    if told.undersize is not None:
        found.append(Input(tell("undersize of holes"), told.undersize, "mm", source, told.undersize_u))
    if told.oversize is not None:
        found.append(Input(tell("oversize of outsides"), told.oversize, "mm", source, told.oversize_u))
    return tuple(found)


def _told(told: PrintFigures, corrected: bool) -> str:
    """The printer in one or two sentences, each figure with twice its standard uncertainty."""
    parts = [tell("{count} printed sizes tell a scale of {scale:.4f} +- {scale_u:.4f}", count=told.count, scale=told.scale,
                  scale_u=2.0 * told.scale_u)]
    if told.undersize is not None:
        parts.append(tell("holes {undersize:+.2f} +- {undersize_u:.2f} mm narrow", undersize=told.undersize,
                          undersize_u=2.0 * told.undersize_u))
    if told.oversize is not None:
        parts.append(tell("outsides {oversize:+.2f} +- {oversize_u:.2f} mm wide", oversize=told.oversize,
                          oversize_u=2.0 * told.oversize_u))
    made = (tell("Files for printing are corrected by it: scale and offset nothing in the slicer.") if corrected
            else tell("Files for printing are as drawn; printer.use_trials = true corrects them."))
    few = "" if told.is_scatter_told else counted("Too few sizes to tell the scatter: measure {count} more.",
                                                  "Too few sizes to tell the scatter: measure {count} more.",
                                                  count=LEAST_DOF - told.dof)
    return paragraph(tell("{parts}; one size scatters by {scatter:.2f} mm.", parts=", ".join(parts), scatter=told.scatter), made,
                     few)
