"""A Word file under way: our template, opened once by python-docx, and what a document adds to it.

The words come as WordprocessingML (``wordml``); the parts and what relates them, the pictures,
the lists and the properties of the file are the library's.
"""

import zipfile
from collections.abc import Iterable
from copy import deepcopy
from datetime import datetime
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from docx import Document
from docx.opc.constants import CONTENT_TYPE, RELATIONSHIP_TYPE
from docx.opc.oxml import CT_Types, serialize_part_xml
from docx.opc.packuri import CONTENT_TYPES_URI, PACKAGE_URI, PackURI
from docx.opc.part import Part
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.oxml.parser import parse_xml
from docx.parts.hdrftr import FooterPart

from plainleaf import paths
from plainleaf.writers import wordml

Element = Any
"""An lxml element with the methods that python-docx adds to it; the library is not typed."""

_DEFAULTS = {
    "png": CONTENT_TYPE.PNG,
    "rels": CONTENT_TYPE.OPC_RELATIONSHIPS,
    "xml": CONTENT_TYPE.XML,
}
_SHARED = ("/word/styles.xml", "/word/settings.xml")
_STORED = ".png"
"""Pixels are packed already; packing them again takes longer than all the words."""


class WordFile:
    """One file: links, pictures, lists and footers are asked for, the words are given at the end.

    ``factor`` makes every letter of the template's styles larger or smaller.
    """

    def __init__(self, factor: float = 1) -> None:
        self.package = _copied(_opened(paths.templates() / "print" / "docx", factor))
        self.part = self.package.main_document_part
        self._links: dict[tuple[str, str], str] = {}
        self._drawings: dict[tuple[str, bytes], tuple[str, str, Any]] = {}
        self._footers = 0
        self._pictures = 0

    @property
    def margins(self) -> dict[str, int]:
        """The margins of the template's sheet, by the names of their attributes, in twips."""
        found = self.part.document.sections[0]._sectPr.pgMar.attrib
        return {name.rpartition("}")[2]: int(value) for name, value in found.items()}

    def describe(self, title: str, language: str, author: str, day: str) -> None:
        """The properties that Word shows of a file; ``day`` is a date in ISO 8601."""
        properties = self.package.core_properties
        properties.title = title
        properties.language = language
        properties.author = author
        properties.created = properties.modified = datetime.fromisoformat(day)
        properties.last_modified_by = ""
        properties.revision = 1

    def keywords(self, codes: list[str]) -> None:
        """The codes of the papers in a file, where Word shows its keywords, one a line if many."""
        if codes:
            properties = self.package.core_properties
            properties.keywords = codes[0]
            # The library takes 255 characters; a day's cards may need more.
            properties._element.find(qn("cp:keywords")).text = "\n".join(codes)

    def link(self, address: str, part: Any = None) -> str:
        """The relationship of a part, else of the document, to an outside address."""
        part = part or self.part
        key = part.partname, address
        if key not in self._links:
            kind = RELATIONSHIP_TYPE.HYPERLINK
            self._links[key] = part.relate_to(address, kind, is_external=True)
        return self._links[key]

    def picture(self, drawing: str, pixels: bytes, alt: str, width: int) -> str:
        """What a run holds for a vector picture (SVG), with pixels for programs without vectors.

        ``pixels`` is a PNG, ``width`` is in EMU. A drawing that comes again is in the file once.
        """
        self._pictures += 1
        key = drawing, pixels
        if key not in self._drawings:
            self._drawings[key] = self._drawn(drawing, pixels)
        pixels_id, vector_id, image = self._drawings[key]
        size = image.scaled_dimensions(width, None)
        return wordml.picture(self._pictures, pixels_id, vector_id, alt, size)

    def _drawn(self, drawing: str, pixels: bytes) -> tuple[str, str, Any]:
        pixels_id, image = self.part.get_or_add_image(BytesIO(pixels))
        name = PackURI(f"/word/media/drawing{len(self._drawings) + 1}.svg")
        vector = Part(name, "image/svg+xml", drawing.encode(), self.package)
        return pixels_id, self.part.relate_to(vector, RELATIONSHIP_TYPE.IMAGE), image

    def restarted_list(self) -> int:
        """A new numbered list that begins at its first number; returns its id."""
        numbering = self.part.numbering_part.element
        num_id = max(int(num.get(qn("w:numId"))) for num in numbering.findall(qn("w:num"))) + 1
        num = _new("num", numId=str(num_id))
        num.append(_new("abstractNumId", val="1"))
        override = _new("lvlOverride", ilvl="0")
        override.append(_new("startOverride", val="1"))
        num.append(override)
        numbering.append(num)
        return num_id

    def footer(self) -> Any:
        """A new part for a footer, still empty."""
        self._footers += 1
        name = PackURI(f"/word/footer{self._footers}.xml")
        empty = parse_xml(wordml.footer(""))
        return FooterPart(name, CONTENT_TYPE.WML_FOOTER, empty, self.package)

    def placed(self, footer: Any, content: str) -> str:
        """Fill a footer; returns the document's relationship to it."""
        footer.element.extend(parse_xml(wordml.footer(content)))
        rel_id: str = self.part.relate_to(footer, RELATIONSHIP_TYPE.FOOTER)
        return rel_id

    def saved(self, content: str) -> bytes:
        """The file with this body. Its bytes depend on what it holds alone.

        The body is parsed once, so that no file leaves that is not well-formed.
        """
        document = self.part.element
        document.replace(document.body, parse_xml(wordml.body(content)))
        return packed(_members(self.package))


def _new(tag: str, **attributes: str) -> Element:
    """An element of the ``w`` name space with its attributes."""
    element = OxmlElement(f"w:{tag}")
    for name, value in attributes.items():
        element.set(qn(f"w:{name}"), value)
    return element


@cache
def _opened(folder: Path, factor: float) -> Any:
    """The template's package at a size of letters, to be copied; there are three sizes."""
    files = (file for file in folder.rglob("*") if file.is_file())
    template = packed((file.relative_to(folder).as_posix(), file.read_bytes()) for file in files)
    document = Document(BytesIO(template))
    for name in ("w:sz", "w:szCs"):
        for size in document.styles.element.iter(qn(name)):
            size.set(qn("w:val"), str(round(int(size.get(qn("w:val"))) * factor)))
    return document.part.package


def _copied(package: Any) -> Any:
    """A copy of a package; the parts that no document changes are the same in every copy."""
    shared = (part for part in package.iter_parts() if part.partname in _SHARED)
    return deepcopy(package, {id(part): part for part in shared})


def _members(package: Any) -> list[tuple[str, bytes]]:
    """The members of a package's zip file; saving it by the library would pack them twice."""
    parts = sorted(package.iter_parts(), key=lambda part: str(part.partname))
    members = [
        (CONTENT_TYPES_URI.membername, _content_types(parts)),
        (PACKAGE_URI.rels_uri.membername, _relations(package)),
    ]
    for part in parts:
        members.append((part.partname.membername, part.blob))
        if part.rels:
            members.append((part.partname.rels_uri.membername, _relations(part)))
    return members


def _relations(part: Any) -> bytes:
    written: bytes = part.rels.xml
    return written


def _content_types(parts: list[Any]) -> bytes:
    types: Any = CT_Types.new()  # type: ignore[no-untyped-call]
    for extension, kind in _DEFAULTS.items():
        types.add_default(extension, kind)
    for part in parts:
        if _DEFAULTS.get(part.partname.ext) != part.content_type:
            types.add_override(part.partname, part.content_type)
    written: bytes = serialize_part_xml(types)
    return written


def packed(members: Iterable[tuple[str, bytes]]) -> bytes:
    """A zip file whose bytes depend on its members alone: sorted, with one fixed date."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        ordered = sorted(members, key=lambda one: (one[0] != "[Content_Types].xml", one[0]))
        for name, content in ordered:
            info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            stored = name.endswith(_STORED)
            info.compress_type = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
            info.external_attr = 0o600 << 16
            info.create_system = 0
            archive.writestr(info, content)
    return stream.getvalue()
