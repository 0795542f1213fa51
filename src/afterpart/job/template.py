"""A new job folder: the picture copied in, and a job file whose comments say what to measure and write down."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import shutil
from pathlib import Path

import tomlkit

from afterpart.errors import FolderError
from afterpart.job.read import JOB_FILE

_TEMPLATE = '''\
# The job: what you know about the part.  Lines that start with # are notes, or values not given yet:
# take the # away and put your own number in.  Lengths are in millimetres, decimals with a point.

name = {name}
revision = "A"            # goes on the drawing and on the plate
# date = "2026-01-31"     # goes on the drawing; nothing is written when left out
# origin = "metric"       # how its designer counted: metric, inch, or unknown
# drawn = 1975            # roughly the year it was drawn: old parts are oftener in inches

[[photo]]
file = {file}

# What in the picture has a known size?  Take the # from the line that fits; several may be used together.
# sheet = "A4"            # a sheet of paper under the part: A3 A4 A5 letter legal, or "210x297"
# rule = "mm"             # a rule beside the part: "mm", or "inch:16" for sixteenths
# calliper = 110.00       # an open calliper beside the part: what it reads
# target = 100.0          # the printed target (afterpart target): measure its 100 mm bar and give what you found
# span = [812.5, 400.5, 3105.5, 431.5, 110.0]   # two picked pixels (column, row) and the mm between them
# scan = 600              # a flatbed scan: its dots per inch

# Heights matter: 9 mm of height seen from 760 mm makes everything 1.2 % larger.
# face_height = 9.0       # from the table up to the face you want traced, by calliper
# reference_height = 0.8  # from the table up to the marked face of the rule, target or calliper (a sheet needs none)
# edge_radius = 0.5       # rounding of the face's edge, where you know it
# channel_depth = 2.0     # how deep a channel in the face is, by depth rod
# focal_35mm = 77         # only where the picture does not say, or says it wrongly
# part = 1                # several parts in the picture: which to keep, 1 is the largest

# A broken, chipped or bent place?  Lay a circle round it: middle (column, row) and radius, in pixels of the upright picture.
# [[damage]]
# at = [1520.0, 830.0]
# radius = 90.0
# from = "neighbours"     # its edges are drawn on till they meet; "mirror": taken from the part's other side

# Measured something by hand?  Give the dimension's id from the printed table, and what the calliper said.
# [[reading]]
# id = "d7"
# value = 6.52
# u = 0.02                # how far off it may well be (standard uncertainty)

# Heights by depth rod, as on heights.pdf, which says how to take each.
# [[height]]
# level = "face"          # face, channel floor, lip, boss, room above, room below
# value = 9.0

# Where the drawing starts counting.  Left out, the best symmetry axis, edge or hole pattern is taken.
# [datum]
# kind = "holes"          # holes: origin at the first, x towards the second;  edge: x along it;  point: as told
# of = ["c1", "c2"]

# The thin plate to print and try on the machine.
# [plate]
# thickness = 1.5         # 1 to 2
# bed = [220, 220]        # width and depth your printer can reach
# frame = true            # false: the whole face, slower to print
'''


def write_job_template(folder: Path, photo: Path) -> Path:
    """Make `folder` with a copy of the photo and a commented job file; returns the job file's path.

    Raises FolderError when the photo cannot be read, a job file is already there, or the folder cannot be written.
    """
    if not photo.is_file():
        raise FolderError(f"{photo}: found no such file, expected a picture. Check the name.")
    job_file = folder / JOB_FILE
    if job_file.exists():
        raise FolderError(f"{job_file}: found a job file already, expected a new folder. Choose another folder name.")
    text = _TEMPLATE.format(name=tomlkit.string(folder.resolve().name.replace("_", " ")).as_string(),
                            file=tomlkit.string(photo.name).as_string())
    try:
        folder.mkdir(parents=True, exist_ok=True)
        copy = folder / photo.name
        if not (copy.exists() and copy.samefile(photo)):
            if copy.exists():
                raise FolderError(f"{copy}: found another file of this name, expected none. Choose another folder name.")
            shutil.copyfile(photo, copy)
        with job_file.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FolderError:
        raise
    except OSError as error:
        raise FolderError(f"{folder}: cannot be written ({error.strerror}); expected a folder you may write to. "
                          "Choose another place.") from error
    return job_file
