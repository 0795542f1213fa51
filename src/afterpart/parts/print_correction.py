"""How files for printing are corrected by what the trials tell of the printer, where the job asks for it (printer.use_trials).

Limits: holes and the outside edge in the plane of the bed; pockets, grooves and heights are not corrected.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.formulas.trial_sizes import is_settled, own_trials, printer_figures
from afterpart.model.assembly import PrintCorrection
from afterpart.model.edges import Note
from afterpart.model.job import Job
from afterpart.model.outline import Outline
from afterpart.model.wishes import Wishes
from afterpart.words import tell

CORRECTED_NOTE = "files_corrected"
"""Code of the note that says so."""


def print_correction(job: Job, outline: Outline) -> PrintCorrection | None:
    """The correction; None where it is not asked for or no printed size was measured.  JobError: a trial names nothing."""
    told = printer_figures(job, outline) if job.wishes.printer.use_trials else None
    if told is None:
        return None
    tried = sorted({trial.drawn for trial in own_trials(job.wishes) if is_settled(trial.drawn, job.wishes)})
    return PrintCorrection(job.wishes.printer.material, told.scale, told.undersize or 0.0, told.oversize or 0.0, tuple(tried))


def correction_notes(correction: PrintCorrection | None, wishes: Wishes) -> tuple[Note, ...]:
    """What the maker must know of it."""
    if not wishes.printer.use_trials:
        return ()
    if correction is None:
        return (Note("nothing_to_correct_by",
                     tell("printer.use_trials = true, but no [[trial]] of this material and profile has a printed size: files "
                          "for printing are as drawn.")),)
    return (Note(CORRECTED_NOTE,
                 tell("3MF and STL files are corrected for this printer: made {scale:+.2f} % larger in the plane of the bed, "
                      "round holes {undersize:+.2f} mm wider, outsides {oversize:+.2f} mm wider. STEP files and drawing are as "
                      "it shall come out. Pilot holes, the coupon and the check plate stay as drawn; so do holes that were "
                      "tried.", scale=100.0 * (1.0 / correction.scale - 1.0), undersize=correction.undersize,
                      oversize=-correction.oversize)),)
