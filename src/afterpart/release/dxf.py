"""The design outline as DXF: one LINE, ARC or CIRCLE for each segment, in mm, origin at the datum.

Layers: "outer", "opening", "channel", "free" for segments of any of them that no relation or number settles (dashed
double-dotted), and "note" for text.  An ARC runs counter-clockwise in DXF, so a clockwise arc is written
from its end to its start.  Header: $INSUNITS 4 (mm) and $MEASUREMENT 1 (metric); an outline of unknown size has $INSUNITS 0
and says so in a text.  The same outline gives the same bytes.
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import contextlib
import io
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import ezdxf
from ezdxf.document import Drawing
from ezdxf.layouts import Modelspace

from afterpart.geometry.segments import segments_box
from afterpart.model.outline import Arc, Circle, Line, Loop, Outline, Segment
from afterpart.release.free_style import FREE_DASHES, FREE_WIDTH
from afterpart.release.words import word

DXF_VERSION = "R2000"
"""The first with $INSUNITS; read by old cutting and milling programs too."""
LAYERS = {"outer": 7, "opening": 5, "channel": 3, "free": 6, "note": 8}
"""Layer names and their colour numbers."""
FREE_LINETYPE = "DASHED_DOUBLE_DOTTED"


def outline_dxf(outline: Outline) -> bytes:
    """The design loops of an outline as a DXF file."""
    with _without_clock():
        drawing = _empty_drawing(outline.unit)
        model = drawing.modelspace()
        for loop in outline.design:
            for segment in loop.segments:
                _draw(model, segment, "free" if segment.id in outline.free else loop.role)
        if outline.unit != "mm":
            _say_size_unknown(model, outline)
        return _written(drawing)


def loops_dxf(loops: tuple[Loop, ...]) -> bytes:
    """Loops in mm, each on the layer of its role, as a DXF file."""
    with _without_clock():
        drawing = _empty_drawing("mm")
        for loop in loops:
            for segment in loop.segments:
                _draw(drawing.modelspace(), segment, loop.role)
        return _written(drawing)


@dataclass(frozen=True)
class DxfText:
    """One line of text with its lower left corner; height of its letters in mm."""

    layer: str
    text: str
    at: tuple[float, float]
    height: float


def layered_dxf(colours: dict[str, int], chains: Iterable[tuple[str, Sequence[Segment]]], texts: Iterable[DxfText]) -> bytes:
    """Segments and texts in mm on layers of the caller's own.  colours: colour number of each layer; a layer named "centre" or
    "hidden" is drawn in the line type of ISO 128 for it.  KeyError: a chain or text on no layer of these."""
    with _without_clock():
        drawing = _empty_drawing("mm")
        for name, marks in (("LONG_DASHED_DOTTED", (5.0, -0.7, 0.0, -0.7)), ("DASHED", (2.2, -0.6))):
            drawing.linetypes.add(name, [sum(map(abs, marks)), *marks])
        for name, color in colours.items():
            if name not in drawing.layers:
                kind = {"centre": "LONG_DASHED_DOTTED", "hidden": "DASHED"}.get(name, "Continuous")
                drawing.layers.add(name, color=color, linetype=kind)
        for layer, chain in chains:
            for segment in chain:
                _draw(drawing.modelspace(), segment, _known(layer, colours))
        for text in texts:
            line = drawing.modelspace().add_text(text.text, height=text.height, dxfattribs={"layer": _known(text.layer, colours)})
            line.set_placement(text.at)
        return _written(drawing)


def _known(layer: str, colours: dict[str, int]) -> str:
    if layer not in colours:
        raise KeyError(f"no layer {layer!r} among {', '.join(colours)}")
    return layer


def _written(drawing: Drawing) -> bytes:
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue().encode(drawing.output_encoding, errors="dxfreplace")


def _empty_drawing(unit: str) -> Drawing:
    drawing = ezdxf.new(DXF_VERSION, setup=False, units=4 if unit == "mm" else 0)
    drawing.header["$MEASUREMENT"] = 1
    # in DXF a mark is positive, a gap negative, a dot nought; the whole length comes first
    marks = [-dash if k % 2 else dash if dash > FREE_WIDTH else 0.0 for k, dash in enumerate(FREE_DASHES)]
    drawing.linetypes.add(FREE_LINETYPE, [sum(map(abs, marks)), *marks], description=word("outline", "free_meaning"))
    for name, color in LAYERS.items():
        drawing.layers.add(name, color=color, linetype=FREE_LINETYPE if name == "free" else "Continuous")
    return drawing


def _say_size_unknown(model: Modelspace, outline: Outline) -> None:
    x0, y0, x1, _ = segments_box(s for loop in outline.design for s in loop.segments)
    height = max((x1 - x0) / 40, 1e-3)
    text = model.add_text(
        word("outline", "size_unknown_dxf"),
        height=height,
        dxfattribs={"layer": "note"},
    )
    text.set_placement((x0, y0 - 2 * height))


def _draw(model: Modelspace, segment: Segment, layer: str) -> None:
    attributes = {"layer": layer}
    match segment:
        case Line(start=start, end=end):
            model.add_line(start, end, dxfattribs=attributes)
        case Circle(center=center, radius=radius):
            model.add_circle(center, radius, dxfattribs=attributes)
        case Arc(start=start, end=end, center=center, radius=radius, ccw=ccw):
            first, last = (start, end) if ccw else (end, start)
            model.add_arc(center, radius, _direction_deg(center, first), _direction_deg(center, last), dxfattribs=attributes)


def _direction_deg(center: tuple[float, float], point: tuple[float, float]) -> float:
    return math.degrees(math.atan2(point[1] - center[1], point[0] - center[0])) % 360.0


@contextlib.contextmanager
def _without_clock() -> Iterator[None]:
    """No time, counter or random identity goes into drawings made and written inside; the library's switch for it is global."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
