"""What contradicts in a photograph is named, with the cause, by the whole photo stage; good photographs raise no alarm.

Photographs come from the booth, at 3 megapixels: what is named does not need more.  A scene that is told in several wrong ways
is photographed once.  Words as in test_contradictions.py.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from afterpart.outline.settings import OutlineSettings
from afterpart.outline.stage import recover_outline
from afterpart.photo.load import load_picture
from afterpart.photo.stage import recover_edges
from afterpart.standards.paper import sheet_size
from tests.truth.bodies import Bow
from tests.truth.drawings import drawing
from tests.truth.scenes import make_shoot, take
from tests.truth.test_contradictions import HALF, said

BOOTH = (2016, 1512)


def photographed(folder: Path, kind: str, seed: int, told: dict, burr: float = 0.0, **scene: object) -> dict[str, str]:
    desk = "wood" if "sheet" in kind else "plain"
    shoot = make_shoot(drawing("pump_cover"), kind, size=BOOTH, desk=desk, **scene)  # type: ignore[arg-type]
    if burr:
        body = shoot.scene.parts[0]
        bow = Bow("slope", burr, 50.0, 0.0, 4.0, 0.0)
        shoot = replace(shoot, scene=replace(shoot.scene, parts=(replace(body, bow=bow),)))
    _, shot = take(shoot, folder, seed)
    shot = replace(shot, **told)
    edges = recover_edges(load_picture(Path(shot.file), shot), shot)
    return said(recover_outline(edges, OutlineSettings()).notes)


@pytest.mark.parametrize("kind,told,code,words", [
    ("sheet", {"sheet": sheet_size("letter")}, "sheet_proportion", "A4"),
    ("sheet+rule", {"sheet": sheet_size("A5")}, "references_disagree", "A4"),
    ("sheet+rule", {"reference_height": 12.0}, "references_disagree", "above the table, not 12 mm"),
    ("sheet+rule", {"rule": HALF}, "references_disagree", r"graduation is 1 mm, not 0\.5 mm"),
    ("rule", {"face_height": 4.0}, "scale_conflict", r"the face is [6-9]\.\d mm above the table, not 4 mm")])
def test_photographs_told_wrong(tmp_path, kind, told, code, words):
    notes = photographed(tmp_path, kind, 3, told, tilt_deg=4.0)
    assert re.search(words, notes.get(code, "")), notes


@pytest.mark.parametrize("f35,rise", [(26.0, 1.0), (52.0, 1.5)])
def test_photograph_of_a_part_on_a_burr(tmp_path, f35, rise):
    notes = photographed(tmp_path, "sheet", 3, {}, rise, f35=f35, turn_deg=0.0, draft_deg=0.5)
    assert "right side" in notes.get("face_not_level", "") and "burr" in notes["face_not_level"], notes


@pytest.mark.parametrize("kind,seed", [("sheet", 1), ("sheet", 2), ("sheet+rule", 3), ("rule", 4), ("sheet", 5),
                                       ("sheet+rule", 6), ("calliper", 1), ("rule", 2)])
def test_good_photographs_raise_no_alarm(tmp_path, kind, seed):
    scene = {"tilt_deg": 2.0 * seed, "azimuth_deg": 70.0 * seed, "height": 3.0 + 2 * seed}
    assert not photographed(tmp_path, kind, seed, {}, **scene)
