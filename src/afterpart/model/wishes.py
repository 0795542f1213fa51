"""What the maker wants made, one noun for each table of the job file.  None or () means: not told.

Words: a *duty* is what a seal must keep back: dust (also air under 10 kPa), liquid or pressure.  A *role* is what a loop,
hole or
lip does on the machine: it locates, seals, clears or shows.  mm, degrees, N m for torques, m3/h for air.
No work is done here: parts/ turns wishes into pieces, and refuses what cannot work with the key that says it.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import dataclass

from afterpart.words import entry

PIECE_KINDS = ("cover", "gasket", "clamp_frame", "filter_element", "cutting_guide", "hole_coupon")
"""The pieces `build` can make.  The check plate has a command of its own."""

ROLES = ("locates", "seals", "clears", "shows")
DUTIES = ("dust", "liquid", "pressure")

CLEARS = 0.5
"""Clearance of a feature that clears, mm all round."""

LOCATES = 0.2
"""Clearance of a feature that locates, mm all round, where the job gives none."""


@dataclass(frozen=True)
class Change:
    """One row of what is kept, added or dropped from the old part to the new one.

    feature: id of a segment of the loop ("c1"), "outer", "channel", or the maker's word for something new; do: keep | add |
    drop.
    """

    feature: str
    do: str
    reason: str


@dataclass(frozen=True)
class RoleChoice:
    """of: id of a segment of the loop, "outer" or "lip"; clearance: mm all round, None for the role's own."""

    of: str
    role: str
    clearance: float | None = None


@dataclass(frozen=True)
class AddedHole:
    """A round hole the old part does not have.  at: its middle in the datum frame; diameter: mm; purpose in a word or two."""

    name: str
    at: tuple[float, float]
    diameter: float
    purpose: str = ""


@dataclass(frozen=True)
class AddedBoss:
    """A boss on the cover's mating face, with a pilot hole for the job's thread-forming screws.  at: its middle in the datum
    frame; height above the mating face; passes: thickness of what the screw goes through before it reaches the boss."""

    name: str
    at: tuple[float, float]
    height: float
    passes: float = 2.0


@dataclass(frozen=True)
class CoverWish:
    """called: what the piece is ("cover", "bracket", "adapter plate"), also the stem of its files; thickness: from the face
    outside to the mating face; floor: what is left of it under a pocket; fit of its edge to the
    mating part: flush (the old outline), over (outside of it) or inside; clearance: mm all round, None for the role's own;
    number: part number to deboss; arrow: deboss the direction of the air; openings: ids of old openings to close are given as
    Change rows with do = "drop"; one_way: add a key where the cover, or what sits in it, could be fitted wrongly; peg_in: id of
    a dropped hole that the machine really has, for a peg; peg_hole: its diameter in the machine, measured, None for the tap drill
    of the bolts' thread or the old hole's; peg_height: of the peg, less than that hole is deep."""

    called: str = "cover"
    thickness: float = 6.0
    floor: float = 3.0
    fit: str = "flush"
    clearance: float | None = None
    first_layer_chamfer: float = 0.4
    number: str = ""
    arrow: bool = False
    one_way: bool = True
    text_height: float = 4.0
    peg_in: str = ""
    peg_hole: float | None = None
    peg_height: float = 3.0


@dataclass(frozen=True)
class BoltWish:
    """The bolts that hold the cover to the machine.

    thread: "M6"; series of ISO 273: fine | medium | coarse; holes: ids of circles of the outline, () for every round opening
    that the thread's hole table knows; head: "ISO 4762" | "ISO 7380-1" | "ISO 4017"; washer: "" | "ISO 7089" | "ISO 7093";
    seat: plain | counterbore | countersink, cut into the outside; sleeve: metal sleeve in each hole, with its outside
    diameter (None for the usual one); insert: heat-set insert instead of a clearance hole; torque_n_m: what the maker means
    to use, None when open; length: of the bolts there are, None when open; grip_in_machine: length of thread in the machine,
    None when open; transverse_load_n: force that shakes the cover across all its bolts, None when not told.
    """

    thread: str = "M5"
    series: str = "medium"
    holes: tuple[str, ...] = ()
    head: str = "ISO 4762"
    washer: str = ""
    property_class: str = "8.8"
    seat: str = "plain"
    sleeve: bool = False
    sleeve_outside: float | None = None
    insert: bool = False
    torque_n_m: float | None = None
    length: float | None = None
    grip_in_machine: float | None = None
    transverse_load_n: float | None = None


@dataclass(frozen=True)
class SealWish:
    """kind: cord (round, bought) | ring (printed, flexible, in a groove) | flat (printed, flexible, loose) | none.

    path: channel (as recovered) | outline (offset inwards by `offset`) | an opening's segment id (offset outwards); offset:
    from that loop to the groove's centre line, None for the least that fits; bolts: inside (the groove stays on the clean
    side of every bolt) | around (it goes round bolt by bolt); cord: diameter of the cord, None to choose; squeeze, fill:
    shares 0 to 1, None for the table's groove; section of a ring: bead | hollow; of a flat one: flat | beaded; shore_a:
    hardness; thickness of a flat gasket before it is squeezed; width of a flat gasket.
    """

    kind: str = "cord"
    duty: str = "dust"
    path: str = "channel"
    offset: float | None = None
    bolts: str = "inside"
    cord: float | None = None
    squeeze: float | None = None
    fill: float | None = None
    section: str = "bead"
    shore_a: float = 85.0
    thickness: float = 2.0
    width: float | None = None
    material: str = "TPU"


@dataclass(frozen=True)
class LipWish:
    """A locating lip.  of: "outer" or a segment id of an opening; height above the mating face; thickness; clearance all round,
    None for the role's own."""

    of: str = "outer"
    height: float = 1.0
    thickness: float = 1.6
    clearance: float | None = None


@dataclass(frozen=True)
class InletWish:
    """opening: "seat" (as large as the filter's seat allows) or "keep" (the old opening, its id in `of`); bellmouth: radius of
    the rounded entry, 0 for none; grid: free gap of a metal grid that the maker fits over its outside, None without."""

    opening: str = "seat"
    of: str = ""
    bellmouth: float = 0.0
    grid: float | None = None


@dataclass(frozen=True)
class FilterWish:
    """A foam element.  thickness: free; pores_per_inch; rim: width that is squeezed; squeeze: share of the thickness;
    land: solid width left between the seat's pocket and the seal groove; cuts: straight cuts beyond the rectangle that the
    maker picks, None to choose; flow_m3_per_h and face_velocity_limit_m_per_s: None when not told; oiled: whether the foam is
    used oiled (its maker says), None when not told."""

    thickness: float = 10.0
    pores_per_inch: float = 30.0
    rim: float = 5.0
    squeeze: float = 0.5
    land: float = 2.5
    cuts: int | None = None
    flow_m3_per_h: float | None = None
    face_velocity_limit_m_per_s: float | None = None
    oiled: bool | None = None


@dataclass(frozen=True)
class HolderWish:
    """What holds the element.  kind: frame (clamped by screws from outside) | pins (printed, the element is stretched over them)
    | latches (hooks, no fasteners); thickness of a frame's web; free_span: largest between bars on the clean side; bar_width;
    screws: how many, None for what the seat asks; four_pilots: also write the frame in four pilot sizes, for other printers."""

    kind: str = "frame"
    thickness: float = 3.0
    free_span: float = 25.0
    bar_width: float = 2.4
    screws: int | None = None
    clearance: float = 0.3
    four_pilots: bool = False


@dataclass(frozen=True)
class ScrewWish:
    """The thread-forming screws, as measured on one of them.  outside, core: thread diameters; pitch over ten threads / 10;
    None where not measured.  pilot, boss, engagement: None for the material's rule; angle_deg: turn after snug the maker means
    to give, None for what thread and plastic bear."""

    outside: float = 3.0
    core: float | None = None
    pitch: float | None = None
    length: float = 12.0
    head_diameter: float = 5.6
    head_height: float = 2.2
    pilot: float | None = None
    boss: float | None = None
    engagement: float | None = None
    name: str = entry("pan head thread-forming screw")
    angle_deg: float | None = None


@dataclass(frozen=True)
class CouponWish:
    """A ladder of holes.  hole: pilot | clearance; start: smallest diameter, None for 0.1 below the rule's; step; count."""

    hole: str = "pilot"
    start: float | None = None
    step: float = 0.05
    count: int = 6


@dataclass(frozen=True)
class PrinterWish:
    """material: "PETG", "ASA", "PA6-GF" ...; bed: width and depth; nozzle; layer; angle_deg: steepest self-supporting lean from
    the vertical; bridge: longest bridge; circumscribed: round holes drawn round the circle in mesh formats (r / cos(pi/n));
    profile: the maker's name for the slicer's settings, so that trials of others are told apart; use_trials: the files for
    printing are corrected by what the trials tell of this printer."""

    material: str = "PETG"
    bed: tuple[float, float] = (220.0, 220.0)
    nozzle: float = 0.4
    layer: float = 0.2
    angle_deg: float = 45.0
    bridge: float = 10.0
    circumscribed: bool = False
    profile: str = ""
    use_trials: bool = False


@dataclass(frozen=True)
class Trial:
    """What a test print showed.  what: pilot | clearance | fit | size; drawn: diameter, size, or clearance for fit, as drawn on
    the coupon or plate; result: drove | snapped | stripped | loose | tight | fits | rubs, "" for a size; turns: of the screw
    until it did; printed: measured size.

    of: what was measured or tried: id of a dimension or of a round opening's circle; for fit also a segment or outer, "" for
    the whole; material, profile: what it was printed from and how, "" for the printer's own of now."""

    what: str
    drawn: float
    result: str = ""
    turns: float | None = None
    printed: float | None = None
    note: str = ""
    of: str = ""
    material: str = ""
    profile: str = ""


@dataclass(frozen=True)
class FailureRow:
    """What the maker knows better of one row of the failure-mode table, or a row of their own.

    item, mode: which row, as the table writes them (large and small letters alike); empty words and None marks: as drawn up.  A
    row that is not in the table is added, and must bring severity, occurrence and detection, 1 to 10 each."""

    item: str
    mode: str
    effect: str = ""
    cause: str = ""
    today: str = ""
    severity: int | None = None
    occurrence: int | None = None
    detection: int | None = None


@dataclass(frozen=True)
class MachineFacts:
    """The machine as far as the air, the seal and the cautions need it; None or "" where not told.

    kind: "compressor", "pump", "engine two-stroke", "engine four-stroke", "vacuum", "blower" ...; displacement_cm3 with
    speed_rpm and volumetric_efficiency, or flow_m3_per_h itself; single_cylinder: its flow pulses; restriction_limit_pa: most
    the inlet may cost; gauge_pressure_kpa: what the seal holds back; swallows: loose items behind the cover get into moving
    parts; media: what is about it: "fuel", "oil", "water", "food", "mains", "brake"; face_material: of the machine's face
    under the bolts.
    """

    kind: str = ""
    displacement_cm3: float | None = None
    speed_rpm: float | None = None
    volumetric_efficiency: float = 0.85
    flow_m3_per_h: float | None = None
    single_cylinder: bool = True
    restriction_limit_pa: float | None = None
    gauge_pressure_kpa: float | None = None
    swallows: bool | None = None
    media: tuple[str, ...] = ()
    face_material: str = "aluminium"
    clean_port: float | None = None
    """Smallest width of the way from behind the cover into the machine's moving parts, mm; None when not told."""


@dataclass(frozen=True)
class ServiceFacts:
    """Where the part lives.  temperature_c: of the part in service, None when not measured; place: "bench", "outdoors", "in a
    housing", "near a motor", "near an engine", "on an exhaust side": stands in for an unmeasured temperature as an editable
    range; exposed: "moisture", "oil", "fuel", "uv", "spray", "stones"; hours: of service a year; tested_hours,
    tested_machines: so far; inlet_facing_deg: how far the outside of the air's inlet is turned from straight down (0 down, 90
    sideways, 180 up), None when not told.
    """

    temperature_c: float | None = None
    place: str = ""
    exposed: tuple[str, ...] = ()
    hours: float | None = None
    tested_hours: float = 0.0
    tested_machines: int = 0
    inlet_facing_deg: float | None = None


@dataclass(frozen=True)
class FitWish:
    """Other people's machines.  wanted_share: of them that the part shall fit; mate_group: tolerance group of the mating
    moulding; tool_specific: both features in one mould half; printer_u: standard deviation of the printer on such sizes;
    temperature_span_c: between fitting and service; draws and seed of the simulation."""

    wanted_share: float = 0.99
    mate_group: str = "TG6"
    tool_specific: bool = True
    printer_u: float = 0.1
    temperature_span_c: float = 20.0
    draws: int = 200_000
    seed: int = 1


@dataclass(frozen=True)
class Wishes:
    """Everything to make.  make: kinds of pieces, () for what the tables given ask for; a table not given is None."""

    make: tuple[str, ...] = ()
    cover: CoverWish | None = None
    bolts: BoltWish | None = None
    seal: SealWish | None = None
    lip: LipWish | None = None
    inlet: InletWish | None = None
    filter: FilterWish | None = None
    holder: HolderWish | None = None
    screws: ScrewWish | None = None
    coupon: CouponWish | None = None
    printer: PrinterWish = PrinterWish()
    changes: tuple[Change, ...] = ()
    roles: tuple[RoleChoice, ...] = ()
    holes: tuple[AddedHole, ...] = ()
    bosses: tuple[AddedBoss, ...] = ()
    trials: tuple[Trial, ...] = ()
    machine: MachineFacts = MachineFacts()
    service: ServiceFacts = ServiceFacts()
    fit: FitWish = FitWish()
    failure_modes: tuple[FailureRow, ...] = ()
