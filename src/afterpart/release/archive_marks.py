"""What a PDF carries so that it can be kept for decades: its description as XMP, and what its colours mean.

Words: the *output intent* names the colour space of the page's greys and pictures (sRGB), with its profile in the file.
The profile is shipped: same paper, same bytes.
Limits: a friend of PDF/A (ISO 19005), not declared as one: no tags for screen readers, and no validator has been run.
Source: ISO 32000-1 (14.3.2 metadata streams, 14.11.5 output intents) and ISO 19005-2, from memory.
"""
# SPDX-License-Identifier: Apache-2.0
from __future__ import annotations

from functools import cache
from pathlib import Path
from xml.sax.saxutils import escape

from reportlab.pdfbase.pdfdoc import XMP, PDFArray, PDFDictionary, PDFName, PDFStream, PDFString
from reportlab.pdfgen.canvas import Canvas

SRGB_FILE = Path(__file__).parent / "colour" / "srgb.icc"
"""Made once by the colour library behind Pillow, whose profiles carry no copyright; its date set to 2000-01-01."""
_SRGB = "sRGB IEC61966-2.1"
_XMP = (
    '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>\n<x:xmpmeta xmlns:x="adobe:ns:meta/">\n'
    '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">\n<rdf:Description rdf:about=""'
    ' xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/">\n'
    '<dc:format>application/pdf</dc:format>\n<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt>'
    "</dc:title>\n<dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">{subject}</rdf:li></rdf:Alt></dc:description>\n"
    "<xmp:CreatorTool>{made_with}</xmp:CreatorTool>\n</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"w\"?>"
)


def add_archive_marks(canvas: Canvas, title: str, subject: str, made_with: str) -> None:
    """Give the file its XMP description and its output intent."""
    catalog = canvas._doc.Catalog
    told = _XMP.format(title=escape(title), subject=escape(subject), made_with=escape(made_with))
    catalog.Metadata = XMP(creator=lambda document: told.encode("utf-8"))
    profile = PDFStream(PDFDictionary({"N": 3}), srgb_profile())
    name = PDFString(_SRGB)
    intent = PDFDictionary({"Type": PDFName("OutputIntent"), "S": PDFName("GTS_PDFA1"), "OutputConditionIdentifier": name,
                            "Info": name, "DestOutputProfile": canvas._doc.Reference(profile)})
    catalog.__NoDefault__ = [*catalog.__NoDefault__, "OutputIntents"]
    catalog.OutputIntents = PDFArray([intent])


@cache
def srgb_profile() -> bytes:
    """The ICC profile of sRGB."""
    return SRGB_FILE.read_bytes()
