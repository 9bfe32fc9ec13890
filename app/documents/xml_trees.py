"""Writes a tree of names and texts as XML, the same tree always as the same bytes. What is empty is left out."""

import re
from collections.abc import Mapping, Sequence
from typing import Any
from xml.etree import ElementTree

Node = tuple[Any, ...]
"""(name, text), (name, text, attributes) or (name, children)."""

# What XML 1.0 cannot hold at all (section 2.2, Char), and marks that turn the direction of text.
_NEVER = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]|[\u202a-\u202e\u2066-\u2069]")


def xml_from(root: str, namespaces: Mapping[str, str], children: Sequence[Node | None]) -> bytes:
    """Write a document: root and nodes are named with their prefixes, namespaces gives the address of each prefix."""
    element = ElementTree.Element(root, {f"xmlns:{prefix}": address for prefix, address in namespaces.items()})
    _add(element, children)
    ElementTree.indent(element)
    written: bytes = ElementTree.tostring(element, encoding="utf-8", xml_declaration=True)
    return written + b"\n"


def _add(parent: ElementTree.Element, children: Sequence[Node | None]) -> None:
    for node in children:
        if node is None:
            continue
        name, content, *attributes = node
        if isinstance(content, str):
            if text := _NEVER.sub("", content).strip():
                ElementTree.SubElement(parent, name, *attributes).text = text
            continue
        element = ElementTree.Element(name)
        _add(element, content)
        if len(element):
            parent.append(element)
