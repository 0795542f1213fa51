"""A new job folder: the picture copied in, and a job file whose comments say what to measure and write down."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from pathlib import Path

import tomlkit

from afterpart.errors import FolderError
from afterpart.files import write_files
from afterpart.job.read import JOB_FILE

_TEMPLATE = '''\
# The job: what you know about the part.  Lines that start with # are notes, or values not given yet:
# take the # away and put your own number in.  Lengths are in millimetres, decimals with a point.

name = {name}
revision = "A"            # goes on the drawing and on the plate
# date = "2026-01-31"     # goes on the drawing; nothing is written when left out
# origin = "metric"       # how its designer counted: metric, inch, or unknown
# drawn = 1975            # roughly the year it was drawn: old parts are oftener in inches

# What to make.  Left out, the tables further down decide: a table you give asks for its piece.
# make = ["cover", "gasket", "clamp_frame", "filter_element", "cutting_guide", "hole_coupon"]

[[photo]]
file = {file}

# What in the picture has a known size?  Take the # from the line that fits; several may be used together.
# sheet = "A4"            # a sheet of paper under the part: A3 A4 A5 letter legal, or "210x297"
# sheet_corners_px = [412.0, 380.5, 3650.0, 402.0, 3671.5, 2690.0, 395.0, 2702.5]   # its corners, only where it is not found
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
# shows = "part"          # part, or "mate" for a picture of what it is bolted to
# face = "mating"         # which of the part's faces looks up: mating, or other; the first picture's face is drawn

# More pictures tell more: copy the lines from [[photo]] on for each, taken from other sides and of the other face.

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

# Know better what the designer wrote?  Set it; the measured value stays beside it.
# [[fixed]]
# id = "d22"
# value = 148.0

# A line of the drawing is wrong?  Say what it is; each correction is a table of its own.  docs/job_file.md lists them all.
# [[edit]]
# what = "line"           # or arc, circle, split, join, tangent, symmetric, equal, parallel, free, drop ...
# of = ["s4"]
# [[edit]]
# what = "hole"           # a hole was missed: say where, in pixels of the upright picture
# at_px = [1520.0, 830.0]

# Heights by depth rod, as on heights.pdf, which says how to take each.
# [[height]]
# level = "face"          # face, channel floor, lip, boss, room above, room below
# value = 9.0

# The face that the part is bolted to, photographed too (a [[photo]] with shows = "mate"): will it fit?  Then: afterpart mate.
# A used soft gasket is never a gauge: it has flowed and shrunk.
# [mate]
# way = "alone"           # alone on the sheet; "in place" with the rule on its face; a "rubbing"; an "ink print"

# Where the drawing starts counting.  Left out, the best symmetry axis, edge or hole pattern is taken.
# [datum]
# kind = "holes"          # holes: origin at the first, x towards the second;  edge: x along it;  point: as told
# of = ["c1", "c2"]

# The thin plate to print and try on the machine.
# [plate]
# thickness = 1.5         # 1 to 2
# bed = [220, 220]        # width and depth your printer can reach
# frame = true            # false: the whole face, slower to print

# ---- From here on: the new part.  Measure first, look at the drawing, then come back; afterpart build makes what you ask for.

# What becomes of the old part's features: keep, add or drop, and why.  Ids (c1, s4) are those of the drawing.
# [[change]]
# feature = "c7"
# do = "drop"
# reason = "the old drain is no longer used"

# What a loop, a hole or the lip does: it locates (close fit), seals, clears (room all round) or shows (is only looked at).
# One pair of features should locate.  Left out: clears.
# [[role]]
# of = "c1"
# role = "locates"
# clearance = 0.2         # all round

# A round hole the old part does not have.
# [[hole]]
# name = "drain"
# at = [0.0, -30.0]       # its middle, counted from the drawing's datum
# diameter = 4.0
# purpose = "lets water out"

# A boss on the face that meets the machine, for one of the thread-forming screws.
# [[boss]]
# name = "guard"
# at = [20.0, 12.0]       # its middle, counted from the drawing's datum
# height = 9.0            # above the face, into the machine
# passes = 2.0            # thickness of what the screw goes through first

# The cover itself.
# [cover]
# called = "cover"        # what it is: cover, bracket, adapter plate; its files are named so
# thickness = 6.0         # from the outside to the face that meets the machine
# floor = 3.0             # what stays under a pocket
# fit = "flush"           # its edge: flush with the old outline, over the machine's edge, or inside it
# clearance = 0.3         # all round, for over and inside
# number = "AP-12"        # part number, sunk into the outside
# arrow = true            # an arrow for the way of the air
# one_way = true          # a key where it could be put on wrongly
# text_height = 4.0       # of sunk capitals
# peg_in = "c7"           # id of a dropped hole that the machine still has: a peg there stops a turned cover
# peg_hole = 5.0          # its diameter in the machine, measured
# peg_height = 3.0        # less than that hole is deep

# The bolts that hold it to the machine.
# [bolts]
# thread = "M6"
# series = "medium"       # how wide the holes are: fine, medium, coarse
# holes = ["c1", "c2"]    # which circles are bolt holes; left out: every round one that suits the thread
# head = "ISO 4762"       # socket head; ISO 7380-1 button head; ISO 4017 hexagon head
# washer = "ISO 7089"     # plain; ISO 7093 large; leave the line out for none
# property_class = "8.8"  # the number on the head
# seat = "plain"          # or counterbore, countersink
# sleeve = true           # a metal sleeve in each hole, so that the plastic is not crushed
# sleeve_outside = 9.0
# insert = false          # true: heat-set inserts instead (then no sleeve)
# torque_n_m = 2.5        # what you mean to tighten to
# length = 20             # of the bolts you have, under the head
# grip_in_machine = 10    # length of thread in the machine
# transverse_load_n = 20  # force across the bolts that shakes the joint, N

# The seal.
# [seal]
# kind = "ring"           # cord (round, bought), ring (printed, in a groove), flat (printed, loose), none
# duty = "dust"           # dust, liquid or pressure
# path = "channel"        # where the old one ran; outline: inside the edge; or an opening's id: round that
# offset = 5.0            # from the outline or opening to the middle of the groove
# bolts = "inside"        # the groove passes within the bolts, or goes around each
# cord = 2.65             # diameter of the round cord you have
# squeeze = 0.25          # share by which it is flattened; left out: as the tables say
# fill = 0.75             # share of the groove the cord fills
# section = "bead"        # of a ring: bead or hollow; of a flat one: flat or beaded
# shore_a = 85            # hardness of the flexible filament
# thickness = 2.0         # of a flat one
# width = 8.0             # of a flat one
# material = "TPU"

# A lip that places the cover on the machine.
# [lip]
# of = "outer"            # along the edge, or an opening's id
# height = 1.0
# thickness = 1.6
# clearance = 0.2         # all round

# The way in for the air.
# [inlet]
# opening = "seat"        # as large as the filter allows; keep: as the old one, then say which
# of = "s9"               # the old opening's id, for keep
# bellmouth = 3.0         # radius of the rounded entry, 0 for none
# grid = 12               # free gap of a metal grid over its outside; left out: none

# The foam element.
# [filter]
# thickness = 10.0
# pores_per_inch = 30
# rim = 5.0               # width that is squeezed all round
# squeeze = 0.5           # by this share
# land = 2.5              # wall left between the foam's pocket and the seal groove
# cuts = 1                # straight cuts beyond a rectangle's four; left out: chosen from the table
# flow_m3_per_h = 12.0    # air that passes
# face_velocity_limit_m_per_s = 1.0
# oiled = false           # true: the foam is oiled before use

# What holds the foam.
# [holder]
# kind = "frame"          # clamped by screws from outside; pins: the foam is stretched over them; latches: no screws
# thickness = 3.0
# free_span = 25          # largest width between support bars
# bar_width = 2.4
# screws = 4
# clearance = 0.3         # all round
# four_pilots = true      # also in four sizes of pilot holes, for printers you do not know

# Its thread-forming screws.  Measure one: outside, core, and the pitch over ten threads; it is not that of an M thread.
# [screws]
# name = "pan head 3 x 12"
# outside = 2.95
# core = 2.1
# pitch = 1.06
# length = 12
# head_diameter = 5.6
# head_height = 2.2
# pilot = 2.5             # of the hole it forms its thread in; left out: as the material asks
# boss = 7.5
# engagement = 8.0
# angle_deg = 10          # turn after the head touches; left out: what thread and plastic bear

# A strip of holes in small steps, to learn what your printer makes of them and which one your screw likes.
# [coupon]
# hole = "pilot"          # or clearance
# start = 2.3
# step = 0.05
# count = 6

# The printer.
# [printer]
# material = "PETG"
# bed = [220, 220]
# nozzle = 0.4
# layer = 0.2
# angle_deg = 45          # steepest lean from upright that it prints without supports
# bridge = 10             # longest bridge
# circumscribed = false   # true: round holes of mesh files lie outside their circle
# profile = "0.2 strong"  # your name for the slicer's settings
# use_trials = false      # true: files for printing are corrected by what the trials below tell

# What a test print showed; the next build uses it.
# [[trial]]
# what = "pilot"          # or clearance (a hole of the coupon), fit (the plate or cover on the machine)
# drawn = 2.45            # as drawn
# result = "drove"        # pilot: drove, snapped, stripped;  others: fits, tight, loose;  fit also: rubs
# turns = 6
# printed = 2.38          # by calliper
# note = "black filament"
# material = "PETG"       # left out: the printer's own, as profile
# profile = "0.2 strong"

# A size of the check plate, by calliper: tells the printer's scale, its narrow holes and wide outsides.
# [[trial]]
# what = "size"
# of = "d16"              # a dimension or a round hole (c1)
# drawn = 148.0           # as drawn then
# printed = 147.6

# ---- For the checks (afterpart check): the machine, where the part serves, and other people's machines.

# The machine.
# [machine]
# kind = "compressor"     # pump, engine two-stroke, engine four-stroke, vacuum, blower ...
# displacement_cm3 = 65   # swept volume; with the speed it tells the air
# speed_rpm = 2850
# volumetric_efficiency = 0.85   # share of it that is really drawn in
# flow_m3_per_h = 10.0    # the air itself, where you know it
# single_cylinder = true  # its air comes in pulses
# restriction_limit_pa = 1500    # most its inlet may cost
# gauge_pressure_kpa = 0.5       # what the seal holds back
# swallows = true         # what comes loose behind the cover gets into moving parts
# media = ["oil"]         # what is about it: fuel, oil, water, food, mains, brake
# face_material = "aluminium"    # of its face under the bolts
# clean_port = 18.0       # smallest width of the way into the moving parts

# Where the part serves.
# [service]
# temperature_c = 45      # of the old part after an hour's work; not measured? say the place
# place = "in a housing"  # bench, outdoors, in a housing, near a motor, near an engine, on an exhaust side
# exposed = ["moisture", "oil"]  # also fuel, uv, spray, stones
# hours = 200             # a year
# tested_hours = 20       # so far
# tested_machines = 1
# inlet_facing_deg = 90   # outside of the inlet from straight down: 0 down, 90 sideways, 180 up

# Other people's machines: no two mouldings are alike.
# [fit]
# wanted_share = 0.99     # of them shall take the part
# mate_group = "TG6"      # tolerance group of the mating moulding, TG1 to TG9
# tool_specific = true    # both mating features lie in one half of the mould
# printer_u = 0.1         # spread of your printer, one standard deviation
# temperature_span_c = 20 # between fitting and service
# draws = 200000          # of the simulation
# seed = 1

# Rows of the failure-mode table that you know better, or that are missing.
# [[failure_mode]]
# item = "cover"          # as the table calls it
# mode = "cracks at a bolt"
# effect = "air leaks past the filter"
# cause = "tightened too far"
# today = "washers"       # what holds it
# severity = 6            # 1 to 10, 10 worst
# occurrence = 3
# detection = 4

# What others found who fitted a released part, once per report.  Sizes they measured sharpen the drawing.
# [[fit_report]]
# machine = "make and model"
# year = 1994
# revision = "A"
# fitted = "after work"   # fits, after work, does not fit
# rubs = ["c4"]
# sizes = {{ d1 = 148.2 }}  # by dimension
# u = 0.05                # how well they were measured
# hours = 20
# note = "sanded the lip" # stays here, a release leaves it out

# The folder that afterpart release makes for others.
# [release]
# licence = "CC BY 4.0"   # your choice; none is filled in
# author = "your name"    # on the drawing
# page = "A4"             # A4, A3, letter
# units = "mm"            # mm, inch: what the papers print; pieces stay mm
# language = "en"         # of the papers; others: a folder of word files in words/
# reports = "mail to ..." # where others send what they found
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
    files = {JOB_FILE: job_template(folder.resolve().name, photo.name)}
    copy = folder / photo.name
    try:
        if not (copy.exists() and copy.samefile(photo)):
            if copy.exists():
                raise FolderError(f"{copy}: found another file of this name, expected none. Choose another folder name.")
            files[photo.name] = photo.read_bytes()
    except FolderError:
        raise
    except OSError as error:
        raise FolderError(f"{photo}: cannot be read ({error.strerror}); expected a picture. Check its permissions.") from error
    write_files(folder, files)
    return job_file


def job_template(folder_name: str, photo_name: str) -> bytes:
    """The commented job file of a folder and a photograph of these names."""
    name = tomlkit.string(folder_name.replace("_", " ")).as_string()
    return _TEMPLATE.format(name=name, file=tomlkit.string(photo_name).as_string()).encode("utf-8")
