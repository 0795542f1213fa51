"""A mesh as 3MF (core specification): unit millimetre, object named, moved to where a printer's bed begins.

Words: the *object* keeps the drawing's coordinates; the build item's transform moves its lowest corner to (0, 0, 0).
The archive's entries carry a fixed date, so the same piece gives the same bytes.
Source: 3MF Core Specification 1.x, 3D model document and OPC package layout (from memory; read back by another reader in tests).
"""

# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

import io
import zipfile
from xml.sax.saxutils import escape, quoteattr

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


def three_mf_bytes(mesh: Mesh, name: str, made_with: str) -> bytes:
    """The mesh as a 3MF archive with one object of this name."""
    low = mesh.vertices.min(axis=0)
    vertices = "".join(f'<vertex x="{x:.7g}" y="{y:.7g}" z="{z:.7g}"/>' for x, y, z in mesh.vertices.tolist())
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in mesh.triangles.tolist())
    shift = " ".join(f"{-v:.7g}" for v in low.tolist())
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model unit="millimeter" xml:lang="en" xmlns="{_CORE}">'
        f'<metadata name="Title">{escape(name)}</metadata><metadata name="Application">{escape(made_with)}</metadata>'
        f'<resources><object id="1" type="model" name={quoteattr(name)}><mesh><vertices>{vertices}</vertices>'
        f"<triangles>{triangles}</triangles></mesh></object></resources>"
        f'<build><item objectid="1" transform="1 0 0 0 1 0 0 0 1 {shift}"/></build></model>\n'
    )
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for entry, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _RELATIONS), ("3D/3dmodel.model", model)):
            info = zipfile.ZipInfo(entry, _EARLIEST)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, text.encode())
    return stream.getvalue()
