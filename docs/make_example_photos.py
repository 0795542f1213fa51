"""The photographs of the pump lid and the bracket, made in the photo booth of the tests from invented drawings.

    python docs/make_example_photos.py pump_lid bracket

Writes examples/NAME/NAME.jpg and examples/NAME/NAME_truth.json; the truth is read by tests only.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import json
import sys
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.truth.booth import photograph, save_jpeg  # noqa: E402
from tests.truth.drawings import Drawing, box, circle, polygon, slot  # noqa: E402
from tests.truth.scenes import Shoot, make_shoot  # noqa: E402

JPEG_QUALITY = 88


def pump_lid() -> Shoot:
    """A lid of 118 by 86 mm over a pump's chamber, six 5.5 mm holes, a channel whose corners suit a 2.65 mm cord."""
    holes = ((-52.5, -36.5), (0.0, -38.0), (52.5, -36.5), (52.5, 36.5), (0.0, 38.0), (-52.5, 36.5))
    corners = [(-59, -43), (59, -43), (59, 43), (-59, 43)]
    loops = (polygon(corners, 24.0), *(circle(*_towards(x, y), 5.5) for x, y in holes))
    drawing = Drawing("pump lid", loops, channels=((10.0, 3.8, 2.0),))
    return make_shoot(drawing, "sheet+rule", height=7.0, edge_radius=0.4, paint="dark", tilt_deg=2.6, azimuth_deg=205.0,
                      turn_deg=-6.0, desk="wood")


def bracket() -> Shoot:
    """A bracket of 104 by 62 mm with two slots for adjustment, four 6.6 mm holes and one large opening for a cable."""
    outer = polygon([(-52, -31), (52, -31), (52, 9), (24, 31), (-52, 31)], [8, 8, 10, 12, 8])
    loops = (outer, circle(-42, -21, 6.6), circle(-42, 21, 6.6), circle(40, -21, 6.6), circle(12, 19, 6.6),
             slot(-20, -19, -8, -19, 5.5), slot(8, -19, 20, -19, 5.5), box(30, 16, 4, -16, 10))
    return make_shoot(Drawing("bracket", loops), "sheet+rule", height=5.0, edge_radius=0.3, paint="dark", tilt_deg=3.2,
                      azimuth_deg=120.0, turn_deg=9.0, desk="wood")


def _towards(x: float, y: float) -> tuple[float, float]:
    """Bolts in the corners lie on the corner's diagonal, 5 mm inside the rim; the two others as told."""
    if x == 0.0:
        return x, y
    reach = (24.0 - 5.0) / 2**0.5
    return (35.0 + reach) * (1 if x > 0 else -1), (19.0 + reach) * (1 if y > 0 else -1)


SHOOTS = {"pump_lid": (pump_lid, 11), "bracket": (bracket, 12)}


def main(names: list[str]) -> None:
    """Make the photographs of the examples named."""
    for name in names:
        make, seed = SHOOTS[name]
        shoot = make()
        scene = replace(shoot.scene, develop=replace(shoot.scene.develop, quality=JPEG_QUALITY))
        photo = photograph(scene, seed)
        folder = ROOT / "examples" / name
        folder.mkdir(parents=True, exist_ok=True)
        save_jpeg(photo, folder / f"{name}.jpg")
        (folder / f"{name}_truth.json").write_text(json.dumps(photo.truth, indent=1) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:] or list(SHOOTS))
