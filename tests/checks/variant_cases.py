"""Variants of an invented filtered cover, with figures that can be worked by hand."""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from dataclasses import replace

from afterpart.checks.variant_figures import Variant
from afterpart.geometry.chain import polygon_chain
from afterpart.model.assembly import Assembly, Item, Place
from afterpart.model.case import PieceFacts
from afterpart.model.finding import CheckReport, Finding
from afterpart.model.outline import Circle
from afterpart.model.piece import Add, Prism
from afterpart.model.wishes import BoltWish
from tests.checks.air_cases import air_case, piece, rectangle

UP = (0.0, 0.0, 1.0)


def bought(kind: str, name: str, count: int) -> Item:
    """A bought thing, so many times."""
    return Item(kind, name, tuple((float(i), 0.0, 0.0) for i in range(count)), UP, 3.0, 10.0, 5.0, 2.0, UP, ("cover",), 1)


def variant(name: str, bolts: int = 6, volume: float = 20_000.0, findings: tuple[Finding, ...] = (), curved: bool = False,
            **wish: float) -> Variant:
    """A filtered cover of PETG with its frame, an element and some bolts."""
    case = air_case(**{"flow_m3_per_h": 12.0, **wish})
    chain = (Circle("", (0.0, 0.0), 30.0),) if curved else polygon_chain(rectangle(70, 50))
    element = replace(piece("filter_element"), steps=(Add((Prism(chain, (), 0.0, 10.0),)),))
    assembly = Assembly((Place("cover", False, UP, UP, 1), Place("clamp_frame", True, UP, UP, 2)),
                        (bought("bolt", "ISO 4762 M6 x 20 8.8", bolts), bought("washer", "ISO 7089 M6", bolts),
                         bought("screw", "pan head screw 3 x 12", 4)))
    facts = tuple(PieceFacts(p.file_stem, volume, (0.0, 0.0, 0.0), (150.0, 100.0, 9.0), 1000.0, (), 1.2)
                  for p in case.build.pieces)
    build = replace(case.build, pieces=(*case.build.pieces, element), assembly=assembly)
    wishes = replace(case.job.wishes, bolts=BoltWish("M6"))
    return Variant(name, replace(case, build=build, facts=facts, job=replace(case.job, wishes=wishes)),
                   CheckReport("", (), (), findings))
