"""Every word of the job's tables once on a lid of its own: the pieces as bodies, put together; and sizes that cannot work.

The lid is invented: 140 x 100 with corners of 20, four holes of 5.5 mm for M5 ten millimetres off the edge, a window of 50 x 30.
What passes here: valid, one lump, as many ways through as designed, mesh and STEP file of the same volume (check_body), no two
pieces and no bought thing in each other's place (booleans of the meshes, check_assembly).
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import Any

import pytest

from afterpart.errors import JobError
from afterpart.model.job import Job
from afterpart.model.outline import Loop, Outline
from afterpart.model.piece import Deboss
from afterpart.model.wishes import (
    AddedBoss,
    AddedHole,
    BoltWish,
    Change,
    CoverWish,
    InletWish,
    LipWish,
    RoleChoice,
    ScrewWish,
    SealWish,
    Wishes,
)
from afterpart.parts.bolt_holes import SUNK
from afterpart.parts.stage import make_pieces
from afterpart.release.build_checks import check_assembly, check_body
from afterpart.release.put_together import parts_of
from afterpart.solid.hardware import hardware
from afterpart.solid.mesh import mesh_volume
from afterpart.solid.worker import Workshop
from tests.parts.drawings import hole, outline_of, rounded_rectangle

HOLES = ((-58.0, -38.0), (58.0, -38.0), (58.0, 38.0), (-58.0, 38.0))
WINDOW = rounded_rectangle(-25, -15, 25, 15, 5, "opening", 30)
OF_WINDOW = WINDOW.segments[0].id


def lid() -> Outline:
    return outline_of((rounded_rectangle(-70, -50, 70, 50, 20, "outer", 1),
                       *(hole(f"c{k}", x, y, 5.5) for k, (x, y) in enumerate(HOLES, start=1)),
                       Loop("opening", 1, WINDOW.segments)))


def job(thickness: float = 6.0, bolts: dict[str, Any] | None = None, make: tuple[str, ...] = ("cover",), **tables: Any) -> Job:
    """bolts: keys of [bolts] beside thread M5; tables: of Wishes, and cover__key for a key of [cover]."""
    cover = {key.removeprefix("cover__"): tables.pop(key) for key in list(tables) if key.startswith("cover__")}
    return Job("probe", (), wishes=Wishes(make=make, cover=CoverWish(thickness=thickness, **cover),
                                          bolts=BoltWish(**{"thread": "M5", **(bolts or {})}), **tables))


BOSS = AddedBoss("post", (45.0, 0.0), 10.0)
PEG = {"bolts": {"holes": ("c2", "c3", "c4")}, "changes": (Change("c1", "drop", "not needed"),), "cover__peg_in": "c1"}
WISHES: dict[str, Job] = {
    "edge over": job(cover__fit="over", cover__clearance=0.5),
    "edge inside": job(cover__fit="inside"),
    "counterbore": job(10.0, {"seat": "counterbore"}),
    "counterbore and washer": job(12.0, {"seat": "counterbore", "washer": "ISO 7089"}),
    "hexagon counterbore": job(10.0, {"seat": "counterbore", "head": "ISO 4017"}),
    "countersink": job(bolts={"seat": "countersink"}),
    "sleeve": job(bolts={"sleeve": True, "washer": "ISO 7093"}),
    "sleeve in a counterbore": job(14.0, {"sleeve": True, "washer": "ISO 7089", "seat": "counterbore"}),
    "heat-set insert": job(12.0, {"insert": True}),
    "lip outside": job(lip=LipWish()),
    "lip inside": job(lip=LipWish(), cover__fit="inside"),
    "lip in the window": job(lip=LipWish(of=OF_WINDOW)),
    "bellmouth": job(inlet=InletWish(opening="keep", of=OF_WINDOW, bellmouth=3.0)),
    "cord inside the bolts": job(seal=SealWish(path="outline", cord=1.8)),
    "ring round the window": job(make=("cover", "gasket"), seal=SealWish(path=OF_WINDOW, kind="ring")),
    "hollow ring": job(make=("cover", "gasket"), seal=SealWish(path=OF_WINDOW, kind="ring", section="hollow")),
    "beaded flat seal": job(make=("cover", "gasket"), seal=SealWish(kind="flat", section="beaded")),
    "boss": job(bosses=(BOSS,), screws=ScrewWish()),
    "added hole": job(holes=(AddedHole("drain", (0.0, -25.0), 4.0),)),
    "peg": job(**PEG),
    "window closed": job(changes=(Change(OF_WINDOW, "drop", "closed"),)),
    "window wider": job(roles=(RoleChoice(OF_WINDOW, "clears", 5.0),)),
}


@pytest.mark.parametrize("name", WISHES)
def test_it_is_built_and_goes_together(built_pieces: Workshop, name: str) -> None:
    build = make_pieces(lid(), WISHES[name])
    plain = tuple(replace(piece, steps=tuple(step for step in piece.steps if not isinstance(step, Deboss)))
                  for piece in build.pieces)
    build = replace(build, pieces=plain)
    bodies = {piece.file_stem: built_pieces.build(piece) for piece in plain}
    for piece in plain:
        body = bodies[piece.file_stem]
        check_body(piece, body, body.read_back)
        assert piece.through_holes is not None and body.remarks == ()
    told = check_assembly(parts_of(build, {stem: body.mesh for stem, body in bodies.items()}))
    assert told == (), "every way in is clear"


def test_countersunk_bolts_begin_just_below_the_outside_and_are_sold_by_their_whole_length() -> None:
    """Body by hand: a frustum of 45 degrees from R = 5.6 - 0.02 to r = 2.5, then the shank, both as regular polygons of 48."""
    build = make_pieces(lid(), WISHES["countersink"])
    (bolts,) = (item for item in build.assembly.items if item.kind == "bolt")
    assert [place[:2] for place in bolts.at] == list(HOLES) and {place[2] for place in bolts.at} == {SUNK - 6.0}
    assert bolts.name == f"ISO 10642 M5 x {bolts.length:g} 8.8" and bolts.head_height == 0.0
    big, r = 5.6 - 0.02, 2.5
    polygon = 48 / (2 * math.pi) * math.sin(2 * math.pi / 48)
    cone = math.pi / 3 * (big - r) * (big**2 + big * r + r**2)
    for mesh in hardware(bolts):
        assert mesh_volume(mesh) == pytest.approx(polygon * (cone + math.pi * r**2 * (bolts.length - (big - r))))
        assert mesh.vertices[:, 2].max() == pytest.approx(SUNK - 6.0 + bolts.length)


def test_sleeves_of_one_size_are_one_item() -> None:
    build = make_pieces(lid(), WISHES["sleeve"])
    (sleeves,) = (item for item in build.assembly.items if item.kind == "sleeve")
    assert [place[:2] for place in sleeves.at] == list(HOLES) and {place[2] for place in sleeves.at} == {-sleeves.length}


IMPOSSIBLE: dict[str, tuple[Job, str]] = {
    "no thickness": (job(0.0), r"cover\.thickness: found 0 mm"),
    "thickness that is no number": (job(math.nan), r"cover\.thickness: found nan"),
    "chamfer through the plate": (job(1.0, cover__first_layer_chamfer=1.5), r"cover\.first_layer_chamfer: found 1\.5"),
    "counterbore through the plate": (job(6.0, {"seat": "counterbore"}), r"bolts\.seat.*c1 \(-58\.0, -38\.0\).*cover\.thickness"),
    "insert longer than the plate": (job(9.0, {"insert": True}), r"bolts\.insert.*c1 \(-58\.0, -38\.0\).*cover\.thickness"),
    "sleeve thinner than its wall": (job(bolts={"sleeve": True, "sleeve_outside": 5.6}), r"bolts\.sleeve_outside: found 5\.6"),
    "sunk head on a sleeve": (job(bolts={"sleeve": True, "seat": "countersink"}), r"bolts\.seat"),
    "thread for other holes": (job(bolts={"thread": "M20"}), r"bolts\.thread: found M20.*c1 of 5\.5"),
    "lip wider than the window": (job(lip=LipWish(of=OF_WINDOW, thickness=20.0)), r"lip\.thickness.*s30"),
    "lip of nothing": (job(lip=LipWish(of="s99")), r"lip\.of: found 's99'"),
    "cord too near the window": (job(seal=SealWish(path=OF_WINDOW, cord=2.65, offset=0.5)),
                                 r"seal\.cord.*near \(\d+\.\d, -?\d+\.\d\)"),
    "groove off the plate": (job(seal=SealWish(path="outline", cord=2.65, offset=1.0)),
                             r"seal\.cord.*near \(-?\d+\.\d, -?\d+\.\d\)"),
    "groove that vanishes": (job(seal=SealWish(path="outline", cord=2.65, offset=60.0)), r"seal\.offset"),
    "no table for the cord": (job(30.0, seal=SealWish(path="outline", cord=20.0)), r"seal\.cord: no table groove"),
    "squeeze beyond the cord": (job(seal=SealWish(path="outline", cord=2.65, squeeze=0.8, fill=0.8)),
                                r"seal\.squeeze: found 0\.8"),
    "pressure": (job(seal=SealWish(path="outline", cord=2.65, duty="pressure")), r"seal\.duty = .pressure.: refused"),
    "flat seal wider than the land": (job(make=("gasket",), seal=SealWish(kind="flat", width=90.0)), r"seal\.width"),
    "no sheet beside the bead": (job(make=("gasket",), seal=SealWish(kind="flat", section="beaded", thickness=0.4)),
                                 r"seal\.thickness: 0\.4 mm"),
    "boss off the plate": (job(bosses=(replace(BOSS, at=(68.0, 0.0)),), screws=ScrewWish()),
                           r"\[\[boss\]\] name = 'post'.*\(68\.0, 0\.0\)"),
    "boss over the window": (job(bosses=(replace(BOSS, at=(0.0, 0.0)),), screws=ScrewWish()),
                             r"\[\[boss\]\] name = 'post'.*opening s"),
    "boss without height": (job(bosses=(replace(BOSS, height=0.5),), screws=ScrewWish()),
                            r"\[\[boss\]\] name = 'post': height 0\.5 mm found at \(45\.0, 0\.0\)"),
    "boss too low for its screw": (job(bosses=(replace(BOSS, height=1.0),), screws=ScrewWish()),
                                   r"\[\[boss\]\] name = 'post' at \(45\.0, 0\.0\), screws\.length.*higher boss"),
    "two bosses in one place": (job(bosses=(BOSS, replace(BOSS, name="other", at=(46.0, 0.0))), screws=ScrewWish()),
                                r"\[\[boss\]\] 'post' and 'other' run into each other at \(46\.0, 0\.0\)"),
    "hole off the plate": (job(holes=(AddedHole("drain", (69.0, 0.0), 8.0),)), r"\[\[hole\]\].*\(69\.0, 0\.0\)"),
    "hole without size": (job(holes=(AddedHole("drain", (0.0, -25.0), 0.0),)), r"\[\[hole\]\].*diameter of 0 mm"),
    "hole of less than nothing": (job(holes=(AddedHole("drain", (0.0, -25.0), -3.0),)), r"\[\[hole\]\].*diameter of -3 mm"),
    "clearance below nothing": (job(roles=(RoleChoice(OF_WINDOW, "clears", -20.0),)), r"\[\[role\]\] row 1.*clearance = -20"),
    "peg wider than the plate": (job(**{**PEG, "cover__peg_hole": 50.0}), r"cover\.peg_in.*\(-58\.0, -38\.0\)"),
    "edge dropped": (job(changes=(Change("outer", "drop", "no"),)), r"\[\[change\]\] row 1"),
    "inlet of no opening": (job(inlet=InletWish(opening="keep", of="c99")), r"inlet\.of: found 'c99'"),
}


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_what_cannot_work_is_one_error_with_key_and_place(name: str) -> None:
    wished, named = IMPOSSIBLE[name]
    with pytest.raises(JobError) as caught:
        make_pieces(lid(), wished)
    assert re.search(named, str(caught.value), re.DOTALL), str(caught.value)
    assert not re.search(r"Traceback|OCP|kernel", str(caught.value))
