"""What makes an invoice's PDF a hybrid: the structured invoice attached to it, and the marks in its XMP by which a
program finds it, as the open Factur-X 1.0 standard (FNFE-MPE and FeRD, profile EN 16931) sets them out.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from app.documents.cii import cii_from

FILE_NAME = "factur-x.xml"  # the name that the standard fixes
FX = "urn:factur-x:pdfa:CrossIndustryDocument:invoice:1p0#"
_RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
_PROPERTIES = (
    ("DocumentFileName", "The name of the attached invoice"),
    ("DocumentType", "The kind of document that is attached"),
    ("Version", "The version of the standard that the attached invoice follows"),
    ("ConformanceLevel", "The profile of the attached invoice"),
)


@dataclass(frozen=True)
class HybridParts:
    """Attachments as keywords for the renderer; for the XMP, schema entries and marks. Most papers have none."""

    attachments: tuple[dict[str, Any], ...] = ()
    xmp_schemas: str = ""
    xmp_marks: tuple[str, ...] = ()


def hybrid_parts_from(data: Mapping[str, Any]) -> HybridParts:
    """Give what goes into the PDF of a paper beside its pages. The same data gives the same parts."""
    terms = data.get("terms_en16931")
    if not terms:
        return HybridParts()
    # The day of the paper, so that drawing it again gives the same bytes.
    day = datetime.fromisoformat(terms["BT-2"])
    attachment = {
        "string": cii_from(terms),
        "name": FILE_NAME,
        "description": "The same invoice as structured data (EN 16931, Cross Industry Invoice)",
        "relationship": "Alternative",
        "created": day,
        "modified": day,
    }
    return HybridParts((attachment,), _SCHEMA, (_MARKS,))


_LISTED = "".join(
    f'<rdf:li rdf:parseType="Resource"><p:name>{name}</p:name><p:valueType>Text</p:valueType>'
    f"<p:category>external</p:category><p:description>{told}</p:description></rdf:li>"
    for name, told in _PROPERTIES
)
# One entry for the list of extension schemas that PDF/A wants in the XMP; prefixes as in app/documents/pdf.py.
_SCHEMA = f"""<rdf:li rdf:parseType="Resource">
<s:schema>Attached invoice</s:schema><s:namespaceURI>{FX}</s:namespaceURI><s:prefix>fx</s:prefix>
<s:property><rdf:Seq>{_LISTED}</rdf:Seq></s:property></rdf:li>"""
_MARKS = f"""<rdf:RDF xmlns:rdf="{_RDF}" xmlns:fx="{FX}">
<rdf:Description rdf:about=""><fx:DocumentType>INVOICE</fx:DocumentType>
<fx:DocumentFileName>{FILE_NAME}</fx:DocumentFileName><fx:Version>1.0</fx:Version>
<fx:ConformanceLevel>EN 16931</fx:ConformanceLevel></rdf:Description></rdf:RDF>"""
