"""Read a PDF back with libraries that had no part in making it."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import pypdf
import pypdfium2
import zxingcpp
from pypdf.generic import DictionaryObject, StreamObject


def reader(pdf: bytes) -> pypdf.PdfReader:
    """Open a PDF strictly: anything malformed raises."""
    return pypdf.PdfReader(io.BytesIO(pdf), strict=True)


def texts(pdf: bytes) -> list[str]:
    """Extract the text of each page, with pdfium."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [
            document[n].get_textpage().get_text_bounded().replace("\r\n", "\n") for n in range(len(document))
        ]
    finally:
        document.close()


def flowing(pdf: bytes) -> str:
    """Extract the whole text as one run of words."""
    return " ".join(" ".join(texts(pdf)).split())


def codes(pdf: bytes, page: int = 0, dpi: int = 150) -> list[str]:
    """Decode every QR code of a page rasterised at `dpi`."""
    return [place.text for place in code_places(pdf, page, dpi)]


def code_places(pdf: bytes, page: int, dpi: int) -> list[Any]:
    """Find every code of a page, with its text and its corners in pixels."""
    found: list[Any] = zxingcpp.read_barcodes(raster(pdf, page, dpi))
    assert all(one.format == zxingcpp.BarcodeFormat.QRCode for one in found)
    return found


def root(pdf: bytes) -> Any:
    """Return the document's catalogue."""
    return reader(pdf).root_object


def title(pdf: bytes) -> str:
    """Return the document's title."""
    metadata = reader(pdf).metadata
    return (metadata.title if metadata else None) or ""


def letter_sizes(pdf: bytes) -> list[tuple[float, str]]:
    """List every run of text with its size in points."""
    sizes: list[tuple[float, str]] = []

    def note(text: str, _matrix: Any, placed: list[float], _font: Any, size: float) -> None:
        if text.strip():
            sizes.append((round(abs(size * placed[3]), 2), text))

    for page in reader(pdf).pages:
        page.extract_text(visitor_text=note)
    return sizes


def raster(pdf: bytes, page: int, dpi: int) -> Any:
    """Turn a page into a PIL picture in greys."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return document[page].render(scale=dpi / 72).to_pil().convert("L")
    finally:
        document.close()


def font_faults(pdf: bytes) -> list[str]:
    """Name every font of the file that isn't embedded."""
    return [str(font.get("/FontName")) for font in _descriptors(reader(pdf)) if not _embedded(font)]


def font_count(pdf: bytes) -> int:
    """Count the font descriptors of the file."""
    return len(list(_descriptors(reader(pdf))))


def _embedded(font: DictionaryObject) -> bool:
    return any(key in font for key in ("/FontFile", "/FontFile2", "/FontFile3"))


def _descriptors(opened: pypdf.PdfReader) -> Iterator[DictionaryObject]:
    for found in _objects(opened):
        if isinstance(found, DictionaryObject) and found.get("/Type") == "/FontDescriptor":
            yield found


def _objects(opened: pypdf.PdfReader) -> Iterator[Any]:
    numbers = {number for one in opened.xref.values() for number in one} | set(opened.xref_objStm)
    for number in sorted(numbers):
        if number:
            yield opened.get_object(number)


def everything(pdf: bytes) -> bytes:
    """Unpack every stream, string and page of the file into one run of bytes, to look for what mustn't be there.

    Text on a page is kept as numbers of glyphs, so the pages' text is added as a reader extracts it.
    """
    opened = reader(pdf)
    parts = [pdf, flowing(pdf).encode()]
    for found in _objects(opened):
        if isinstance(found, StreamObject):
            parts.append(found.get_data())
        parts.append(repr(found).encode())
    return b"\n".join(parts)


def tags(pdf: bytes) -> list[str]:
    """List the structure types of a tagged PDF in reading order."""
    return list(_tags(root(pdf)["/StructTreeRoot"].get_object()))


def _tags(node: Any) -> Iterator[str]:
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for one in node:
            yield from _tags(one)
    elif isinstance(node, DictionaryObject):
        if "/S" in node:
            yield str(node["/S"])
        if "/K" in node:
            yield from _tags(node["/K"])
