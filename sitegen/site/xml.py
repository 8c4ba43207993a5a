"""Write an XML document the same way every time."""

from __future__ import annotations

from xml.etree.ElementTree import Element, indent, tostring


def document(root: Element) -> bytes:
    """Return the bytes of a document, one element a line, in UTF-8."""
    indent(root, space=" ")
    return (
        b'<?xml version="1.0" encoding="utf-8"?>\n'
        + tostring(root, encoding="unicode").encode("utf-8")
        + b"\n"
    )
