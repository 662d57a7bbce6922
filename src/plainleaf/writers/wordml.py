"""The parts of WordprocessingML (ISO/IEC 29500) that python-docx has no call for.

Children are put where the schema wants them: Word refuses a file whose elements stand in another
order, and other programs drop what they do not expect.
"""

import zipfile
from collections.abc import Iterable
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from docx.opc.constants import RELATIONSHIP_TYPE
from docx.opc.packuri import PackURI
from docx.opc.part import Part
from docx.oxml import OxmlElement
from docx.oxml.ns import nsdecls, qn
from docx.oxml.parser import parse_xml

Element = Any
"""An lxml element with the methods that python-docx adds to it; the library is not typed."""


def _names(text: str) -> tuple[str, ...]:
    return tuple(text.split())


_P_ORDER = _names(
    "pStyle keepNext keepLines pageBreakBefore framePr widowControl numPr suppressLineNumbers pBdr"
    " shd tabs suppressAutoHyphens kinsoku wordWrap overflowPunct topLinePunct autoSpaceDE"
    " autoSpaceDN bidi adjustRightInd snapToGrid spacing ind contextualSpacing mirrorIndents"
    " suppressOverlap jc textDirection textAlignment textboxTightWrap outlineLvl divId cnfStyle"
    " rPr sectPr pPrChange"
)
_SECTION_ORDER = _names(
    "headerReference footerReference footnotePr endnotePr type pgSz pgMar paperSrc pgBorders"
    " lnNumType pgNumType cols formProt vAlign noEndnote titlePg textDirection bidi rtlGutter"
    " docGrid printerSettings sectPrChange"
)
_TABLE_ORDER = _names(
    "tblStyle tblpPr tblOverlap bidiVisual tblStyleRowBandSize tblStyleColBandSize tblW jc"
    " tblCellSpacing tblInd tblBorders shd tblLayout tblCellMar tblLook tblCaption tblDescription"
)


def new(tag: str, **attributes: str) -> Element:
    """An element of the ``w`` name space with its attributes."""
    element = OxmlElement(f"w:{tag}")
    for name, value in attributes.items():
        element.set(qn(f"w:{name}"), value)
    return element


@cache
def _later(order: tuple[str, ...], name: str) -> frozenset[str]:
    """The tags that may only follow an element of this name."""
    return frozenset(qn(f"w:{one}") for one in order[order.index(name) + 1 :])


def _insert(parent: Element, child: Element, order: tuple[str, ...]) -> None:
    name = child.tag.rpartition("}")[2]
    for old in parent.findall(child.tag):
        parent.remove(old)
    later = _later(order, name)
    for index, sibling in enumerate(parent):
        if sibling.tag in later:
            parent.insert(index, child)
            return
    parent.append(child)


def paragraph_mark(paragraph: Any, child: Element) -> None:
    """Put a property on a paragraph."""
    _insert(paragraph._p.get_or_add_pPr(), child, _P_ORDER)


def run_marks(run: Any, *children: Element) -> None:
    """Put properties on a run that has none but its style; they come in the schema's order."""
    run._r.get_or_add_rPr().extend(children)


def section_mark(section: Any, child: Element) -> None:
    """Put a property on a section."""
    _insert(section._sectPr, child, _SECTION_ORDER)


def table_mark(table: Any, child: Element) -> None:
    """Put a property on a table."""
    _insert(table._tbl.tblPr, child, _TABLE_ORDER)


_style_ids: dict[tuple[str, Any], str | None] = {}


def style_id(document: Any, name: str, kind: Any) -> str | None:
    """The id of a style in our template, None for the one that holds anyway.

    The library looks through all styles each time; our template is always the same.
    """
    if (name, kind) not in _style_ids:
        _style_ids[name, kind] = document.part.get_style_id(name, kind)
    return _style_ids[name, kind]


def worded(run: Any, text: str) -> None:
    """Put words into an empty run; the library walks letter by letter, for tabs and line ends."""
    if not text or "\t" in text or "\n" in text or "\r" in text:
        run.text = text
    else:
        run._r.add_t(text)


def tab_stops(paragraph: Any, *stops: tuple[str, int, str]) -> None:
    """Set tab stops: alignment, place in twentieths of a point, leader."""
    tabs = new("tabs")
    for align, place, leader in stops:
        tabs.append(new("tab", val=align, leader=leader, pos=str(place)))
    paragraph_mark(paragraph, tabs)


def numbered(paragraph: Any, num_id: int) -> None:
    """Make a paragraph an item of a list."""
    mark = new("numPr")
    mark.append(new("ilvl", val="0"))
    mark.append(new("numId", val=str(num_id)))
    paragraph_mark(paragraph, mark)


def restarted_list(document: Any) -> int:
    """A new numbered list that begins at its first number; returns its id."""
    numbering = document.part.numbering_part.element
    num_id = max(int(num.get(qn("w:numId"))) for num in numbering.findall(qn("w:num"))) + 1
    num = new("num", numId=str(num_id))
    num.append(new("abstractNumId", val="1"))
    override = new("lvlOverride", ilvl="0")
    override.append(new("startOverride", val="1"))
    num.append(override)
    numbering.append(num)
    return num_id


def hyperlink(paragraph: Any, address: str) -> Element:
    """An empty link to an outside address at the end of a paragraph; runs are moved into it."""
    rel_id = paragraph.part.relate_to(address, RELATIONSHIP_TYPE.HYPERLINK, is_external=True)
    link = OxmlElement("w:hyperlink")
    link.set(qn("r:id"), rel_id)
    paragraph._p.append(link)
    return link


def field(run: Any, instruction: str) -> None:
    """A field such as PAGE that the reader's program fills in."""
    for kind in ("begin", None, "end"):
        if kind:
            run._r.append(new("fldChar", fldCharType=kind))
        else:
            text = new("instrText")
            text.text = instruction
            text.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
            run._r.append(text)


def tick_box(paragraph: Any, title: str) -> None:
    """An empty check box as a content control with a title (Word 2010 and newer)."""
    names = f'{nsdecls("w")} xmlns:w14="http://schemas.microsoft.com/office/word/2010/wordml"'
    control = parse_xml(
        f"<w:sdt {names}><w:sdtPr><w:alias/><w14:checkbox>"
        '<w14:checked w14:val="0"/><w14:checkedState w14:val="2612" w14:font="MS Gothic"/>'
        '<w14:uncheckedState w14:val="2610" w14:font="MS Gothic"/></w14:checkbox></w:sdtPr>'
        '<w:sdtContent><w:r><w:rPr><w:rFonts w:ascii="MS Gothic" w:eastAsia="MS Gothic"'
        ' w:hAnsi="MS Gothic" w:hint="eastAsia"/></w:rPr><w:t>\u2610</w:t></w:r></w:sdtContent>'
        "</w:sdt>"
    )
    control.find(qn("w:sdtPr")).find(qn("w:alias")).set(qn("w:val"), title)
    paragraph._p.append(control)


def described(run: Any, words: str, number: int) -> None:
    """Give the picture in a run its description and an id of its own."""
    properties = next(run._r.iter(qn("wp:docPr")))
    properties.set("id", str(number))
    properties.set("descr", words)


def vector(run: Any, drawing: bytes, document: Any) -> None:
    """Lay a vector drawing (SVG) over the picture in a run; newer programs show that one.

    The extension is Microsoft's ``svgBlip`` of 2016; older programs pass it over.
    """
    package = document.part.package
    name = PackURI(f"/word/media/drawing{len(list(package.iter_parts()))}.svg")
    part = Part(name, "image/svg+xml", drawing, package)
    rel_id = document.part.relate_to(part, RELATIONSHIP_TYPE.IMAGE)
    blip = next(run._r.iter(qn("a:blip")))
    blip.append(
        parse_xml(
            f'<a:extLst {nsdecls("a", "r")}><a:ext uri="{{96DAC541-7B7A-43D3-8B79-37D633B846F1}}">'
            '<asvg:svgBlip xmlns:asvg="http://schemas.microsoft.com/office/drawing/2016/SVG/main"'
            f' r:embed="{rel_id}"/></a:ext></a:extLst>'
        )
    )


def pictures(document: Any) -> int:
    """How many pictures stand in a document."""
    return sum(1 for _ in document.element.iter(qn("wp:docPr")))


def cell_border(cell: Any, **edges: str) -> None:
    """Set the lines of a table cell: each edge with its width in eighths of a point, and color."""
    borders = new("tcBorders")
    for edge in ("top", "start", "bottom", "end"):
        if edge in edges:
            size, color = edges[edge].split()
            borders.append(new(edge, val="single", sz=size, space="0", color=color))
    cell._tc.get_or_add_tcPr().append(borders)


def scaled(styles: Element, factor: float) -> None:
    """Make every letter size of the styles larger by a factor."""
    for name in ("w:sz", "w:szCs"):
        for size in styles.iter(qn(name)):
            size.set(qn("w:val"), str(round(int(size.get(qn("w:val"))) * factor)))


def keywords(properties: Any, codes: list[str]) -> None:
    """The codes of the papers in a file, where Word shows its keywords, one a line if many."""
    if codes:
        properties.keywords = codes[0]
        # The library takes 255 characters; a day's cards may need more.
        properties._element.find(qn("cp:keywords")).text = "\n".join(codes)


@cache
def template(folder: Path) -> bytes:
    """The slim template, put together from its readable parts."""
    files = (file for file in folder.rglob("*") if file.is_file())
    return packed((file.relative_to(folder).as_posix(), file.read_bytes()) for file in files)


def packed(members: Iterable[tuple[str, bytes]]) -> bytes:
    """A zip file whose bytes depend on its members alone: sorted, with one fixed date."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        ordered = sorted(members, key=lambda one: (one[0] != "[Content_Types].xml", one[0]))
        for name, content in ordered:
            info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o600 << 16
            info.create_system = 0
            archive.writestr(info, content)
    return stream.getvalue()


def repacked(file: bytes) -> bytes:
    """The same zip file with members in order and one fixed date."""
    with zipfile.ZipFile(BytesIO(file)) as archive:
        return packed([(name, archive.read(name)) for name in archive.namelist()])
