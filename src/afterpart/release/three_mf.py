"""Meshes as 3MF (core specification): unit millimetre, objects named, of a named material, moved to where they lie on the bed.

Words: an *object* keeps the drawing's coordinates; its build item's transform turns and moves it on the bed.
The archive's entries carry a fixed date, so the same pieces give the same bytes.
Limits: the way to lie, in words, stands in the model's description; the core specification has no field for it.
Source: 3MF Core Specification 1.x, 3D model document, base materials and OPC package layout (from memory; read back by another
reader in tests).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from afterpart.model.outline import Point
from afterpart.release.shown import Tint
from afterpart.solid.body import Mesh

_EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The first date a zip archive can hold."""
_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>'
    "</Relationships>\n"
)
_MATERIALS_ID = 1


@dataclass(frozen=True)
class OnBed:
    """One object: mesh; name; material and its colour on a screen, "" for none told; at: where the lower left corner of its
    box lies; turned: by 90 degrees, counter-clockwise."""

    mesh: Mesh
    name: str
    material: str = ""
    tint: Tint = (200, 200, 200)
    at: Point = (0.0, 0.0)
    turned: bool = False


def three_mf_bytes(objects: tuple[OnBed, ...], title: str, made_with: str, description: str = "") -> bytes:
    """The objects as one 3MF archive.  description: what to know for printing, in words."""
    materials = tuple(dict.fromkeys((one.material, one.tint) for one in objects if one.material))
    bases = "".join(f'<base name={quoteattr(name)} displaycolor="#{bytes(tint).hex().upper()}"/>' for name, tint in materials)
    resources = f'<basematerials id="{_MATERIALS_ID}">{bases}</basematerials>' if materials else ""
    items = ""
    for number, one in enumerate(objects, _MATERIALS_ID + 1):
        made_of = f' pid="{_MATERIALS_ID}" pindex="{materials.index((one.material, one.tint))}"' if one.material else ""
        resources += f'<object id="{number}" type="model" name={quoteattr(one.name)}{made_of}>{_mesh(one.mesh)}</object>'
        items += f'<item objectid="{number}" transform="{_transform(one)}"/>'
    told = {"Title": title, "Application": made_with, "Description": description}
    metadata = "".join(f'<metadata name="{key}">{escape(text)}</metadata>' for key, text in told.items() if text)
    model = (f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xml:lang="en" xmlns="{_CORE}">{metadata}'
             f"<resources>{resources}</resources><build>{items}</build></model>\n")
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for entry, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _RELATIONS), ("3D/3dmodel.model", model)):
            info = zipfile.ZipInfo(entry, _EARLIEST)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, text.encode())
    return stream.getvalue()


def _mesh(mesh: Mesh) -> str:
    vertices = "".join(f'<vertex x="{x:.7g}" y="{y:.7g}" z="{z:.7g}"/>' for x, y, z in mesh.vertices.tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    return f"<mesh><vertices>{vertices}</vertices><triangles>{triangles}</triangles></mesh>"


def _transform(one: OnBed) -> str:
    """The 3MF matrix, row by row, for points as rows: a quarter turn takes (x, y) to (-y, x)."""
    low, high = one.mesh.vertices.min(axis=0).tolist(), one.mesh.vertices.max(axis=0).tolist()
    turn = (0, 1, 0, -1, 0, 0, 0, 0, 1) if one.turned else (1, 0, 0, 0, 1, 0, 0, 0, 1)
    corner = (-high[1], low[0]) if one.turned else (low[0], low[1])
    shift = (one.at[0] - corner[0], one.at[1] - corner[1], -low[2])
    return " ".join(f"{value:.7g}" for value in (*turn, *shift))
