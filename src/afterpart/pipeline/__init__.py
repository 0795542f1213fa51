"""The stages in a row: the one place that knows their order.

Reads the picture and whatever an earlier run left in the folder, calls the pure stages, and returns the finished files in memory;
the functions called `write_...` then put them in place.  Both doors (command line, page) come through here.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from afterpart.checks.variant_table import comparison_lines
from afterpart.photo.advice import Advice
from afterpart.pipeline.advising import second_shot_advice
from afterpart.pipeline.asking import all_are_known
from afterpart.pipeline.crew import Crew, cluster, hands
from afterpart.pipeline.editing import (
    Traced,
    edited,
    is_same_question,
    job_text,
    new_job,
    plain_of,
    put_photo,
    replace_job_text,
    schema,
    settle,
    solved,
    stamp_of,
    traced_of,
)
from afterpart.pipeline.folder import FACTS_FILE, PIECES_FILE, Say, job_beside
from afterpart.pipeline.judging import Checked, check_of, compare_of, reweighed, write_check
from afterpart.pipeline.made import archive_of, outdated, released_in, shown_files
from afterpart.pipeline.making import Built, Plate, build_of, make_plate_of, rebuild_of, write_build, write_plate
from afterpart.pipeline.many import SUMMARY_CSV, SUMMARY_HTML, ShelfJob, shelf_jobs, work_through, write_many
from afterpart.pipeline.mating import MATE_FOLDER, MATE_WAYS, Mated, is_match_current, mate_of, write_mate
from afterpart.pipeline.measuring import (
    Measurement,
    earlier_run,
    edges_of,
    job_of_folder,
    job_of_photo,
    measure,
    write_measurement,
    write_target,
)
from afterpart.pipeline.reading import (
    PieceFigures,
    StoredBuild,
    advice_of,
    built_in,
    passages_in,
    report_in,
    target_paper,
)
from afterpart.pipeline.releasing import Release, Verified, release_of, verify_of, write_release
from afterpart.pipeline.seen import Look, can_be_laid, laid_box, laid_photo, look_at_photo, mate_in, seen_in
from afterpart.pipeline.several import edges_together
from afterpart.pipeline.showing import (
    Move,
    Row,
    balloons,
    drawing_paths,
    levels_of,
    moved,
    photo_look,
    photo_picture,
    polygon_path,
    rows_of,
    svg_path,
)
from afterpart.pipeline.suggesting import change_edits, change_words, changes_by_suggestion, lay_out, question_keys
from afterpart.release.many_files import in_order, tally

__all__ = ["FACTS_FILE", "MATE_FOLDER", "MATE_WAYS", "PIECES_FILE", "SUMMARY_CSV", "SUMMARY_HTML", "Advice", "Built", "Checked",
           "Crew", "Look", "Mated", "Measurement", "Move", "PieceFigures", "Plate", "Release", "Row", "Say", "ShelfJob",
           "StoredBuild", "Traced", "Verified", "advice_of", "all_are_known", "archive_of", "balloons", "build_of", "built_in",
           "can_be_laid", "change_edits", "change_words", "changes_by_suggestion", "check_of", "cluster", "compare_of",
           "comparison_lines", "drawing_paths", "earlier_run", "edges_of", "edges_together", "edited", "hands", "in_order",
           "is_match_current", "is_same_question", "job_beside", "job_of_folder", "job_of_photo", "job_text", "laid_box",
           "laid_photo", "lay_out", "levels_of", "look_at_photo", "make_plate_of", "mate_in", "mate_of", "measure", "moved",
           "new_job", "outdated", "passages_in", "photo_look", "photo_picture", "plain_of", "polygon_path", "put_photo",
           "question_keys", "rebuild_of", "release_of", "released_in", "replace_job_text", "report_in", "reweighed", "rows_of",
           "schema", "second_shot_advice", "seen_in", "settle", "shelf_jobs", "shown_files", "solved", "stamp_of", "svg_path",
           "tally", "target_paper", "traced_of", "verify_of", "work_through", "write_build", "write_check", "write_many",
           "write_mate", "write_measurement", "write_plate", "write_release", "write_target"]
