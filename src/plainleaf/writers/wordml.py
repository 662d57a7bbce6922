"""WordprocessingML (ISO/IEC 29500) as text: small builders for the parts of a document.

Children stand where the schema wants them: Word refuses a file whose elements stand in another
order, and other programs drop what they do not expect. All words and values are escaped here and
nowhere else. Lengths are in twentieths of a point unless a name says otherwise.
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

_NAMES = (
    ' xmlns:w="http://schemas.openxmlformats.org/wordprocessingml/2006/main"'
    ' xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"'
)
_BODY_NAMES = (
    f"{_NAMES}"
    ' xmlns:wp="http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing"'
    ' xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main"'
    ' xmlns:pic="http://schemas.openxmlformats.org/drawingml/2006/picture"'
    ' xmlns:w14="http://schemas.microsoft.com/office/word/2010/wordml"'
)
_GAPS = {"\t": "<w:tab/>", "\n": "<w:br/>", "\r": "<w:br/>"}
_GAP = re.compile("([\t\n\r])")
_LOOK = (
    '<w:tblLook w:firstColumn="1" w:firstRow="1" w:lastColumn="0" w:lastRow="0" w:noHBand="0"'
    ' w:noVBand="1" w:val="04A0"/>'
)
_CELL_EDGE = 85
"""The room at the sides of a cell, in twips, as the style of tables has it."""
_KEPT = 256
"""How many sets of properties are kept as text: a page has some tens of them."""

EMPTY = "<w:p/>"
"""The paragraph that a cell must have when nothing else stands in it."""

BREAK = "<w:br/>"
"""What a run holds at a line end."""


def mark(tag: str, **attributes: str | int) -> str:
    """An element of the ``w`` name space with its attributes, and nothing in it."""
    told = "".join(f" w:{name}={quoteattr(str(value))}" for name, value in attributes.items())
    return f"<w:{tag}{told}/>"


# ---- text -------------------------------------------------------------------------------------


def words(text: str) -> str:
    """What a run holds: words, with tabs and line ends as the elements that they are in Word."""
    if not _GAP.search(text):
        return _piece(text)
    return "".join(_GAPS.get(part) or _piece(part) for part in _GAP.split(text) if part)


def _piece(text: str) -> str:
    space = "" if text == text.strip() else ' xml:space="preserve"'
    return f"<w:t{space}>{escape(text)}</w:t>"


@lru_cache(maxsize=_KEPT)
def run_marks(language: str, style: str = "", bold: bool = False, rtl: bool = False) -> str:
    """The properties of a run, in the schema's order.

    ``language`` is a BCP 47 tag, said for each of the three kinds of script that Word knows;
    bold is said twice, because right-to-left letters have their own. ``style`` is an id, empty
    for the one that holds anyway.
    """
    marks = mark("rStyle", val=style) if style else ""
    marks += "<w:b/><w:bCs/>" if bold else ""
    marks += "<w:rtl/>" if rtl else ""
    marks += mark("lang", val=language, bidi=language, eastAsia=language)
    return f"<w:rPr>{marks}</w:rPr>"


def run(content: str, marks: str = "") -> str:
    """A run of text, a picture or a field; ``marks`` are its properties."""
    return f"<w:r>{marks}{content}</w:r>"


def field(instruction: str) -> str:
    """What a run holds for a field such as PAGE, which the reader's program fills in."""
    begin, end = (mark("fldChar", fldCharType=kind) for kind in ("begin", "end"))
    return f'{begin}<w:instrText xml:space="preserve">{escape(instruction)}</w:instrText>{end}'


def hyperlink(rel_id: str, runs: str) -> str:
    """Runs that lead to the address of a relationship."""
    return f"<w:hyperlink r:id={quoteattr(rel_id)}>{runs}</w:hyperlink>"


@lru_cache(maxsize=_KEPT)
def tick_box(title: str, size: int) -> str:
    """An empty check box as a content control with a title (Word 2010 and newer).

    ``size`` is in half points. The box hangs a little, so that the words stand at its middle.
    """
    sizes = f"{mark('position', val=-size // 12)}{mark('sz', val=size)}{mark('szCs', val=size)}"
    return (
        f"<w:sdt><w:sdtPr>{mark('alias', val=title)}<w14:checkbox>"
        '<w14:checked w14:val="0"/><w14:checkedState w14:val="2612" w14:font="MS Gothic"/>'
        '<w14:uncheckedState w14:val="2610" w14:font="MS Gothic"/></w14:checkbox></w:sdtPr>'
        '<w:sdtContent><w:r><w:rPr><w:rFonts w:ascii="MS Gothic" w:eastAsia="MS Gothic"'
        f' w:hAnsi="MS Gothic" w:hint="eastAsia"/>{sizes}</w:rPr><w:t>\u2610</w:t></w:r>'
        "</w:sdtContent>"
        "</w:sdt>"
    )


# ---- paragraphs -------------------------------------------------------------------------------


@lru_cache(maxsize=_KEPT)
def _paragraph_marks(
    style: str, keep: bool, item: int, tabs: str, rtl: bool, spacing: str, indent: str
) -> str:
    """The properties of a paragraph, in the schema's order."""
    numbers = f"{mark('ilvl', val=0)}{mark('numId', val=item)}"
    marks = (
        mark("pStyle", val=style) if style else "",
        "<w:keepNext/>" if keep else "",
        f"<w:numPr>{numbers}</w:numPr>" if item else "",
        tabs,
        "<w:bidi/>" if rtl else "",
        spacing,
        indent,
    )
    told = "".join(marks)
    return f"<w:pPr>{told}</w:pPr>" if told else ""


def paragraph(
    content: str,
    style: str = "",
    *,
    keep: bool = False,
    item: int = 0,
    tabs: str = "",
    rtl: bool = False,
    spacing: str = "",
    indent: str = "",
) -> str:
    """A paragraph of runs.

    ``keep`` holds it on the page of the next one; ``item`` is the id of the list that it is an
    item of; ``tabs``, ``spacing`` and ``indent`` are marks of their own.
    """
    marks = _paragraph_marks(style, keep, item, tabs, rtl, spacing, indent)
    return f"<w:p>{marks}{content}</w:p>"


def thin(keep: bool = False) -> str:
    """The empty paragraph that must follow a table, taking no room."""
    spacing = mark("spacing", after=0, line=40, lineRule="exact")
    return paragraph("", keep=keep, spacing=spacing)


def tab_stops(*stops: tuple[str, int, str]) -> str:
    """Tab stops: alignment, place, leader."""
    told = (mark("tab", val=align, leader=leader, pos=place) for align, place, leader in stops)
    return f"<w:tabs>{''.join(told)}</w:tabs>"


# ---- tables -----------------------------------------------------------------------------------


def table(
    columns: Iterable[int],
    rows: str,
    *,
    mirrored: bool = False,
    fixed: bool = False,
    flush: bool = False,
) -> str:
    """A table of columns so wide; ``mirrored`` begins on the right, ``fixed`` keeps the widths.

    ``flush`` keeps them too, and has its words begin where those around it do.
    """
    grid = "".join(mark("gridCol", w=width) for width in columns)
    marks = "<w:bidiVisual/>" if mirrored else ""
    marks += mark("tblW", type="auto", w=0)
    marks += mark("tblInd", type="dxa", w=-_CELL_EDGE) if flush else ""
    marks += mark("tblLayout", type="fixed") if fixed or flush else ""
    marks += _LOOK
    return f"<w:tbl><w:tblPr>{marks}</w:tblPr><w:tblGrid>{grid}</w:tblGrid>{rows}</w:tbl>"


def columns(texts: Sequence[tuple[str, int]], *, mirrored: bool = False) -> str:
    """Texts side by side, each so many twips wide; the first on the reading side."""
    cells = "".join(cell(text, width) for text, width in texts)
    return table([width for _, width in texts], row(cells), mirrored=mirrored, flush=True)


def row(cells: str, marks: str = "") -> str:
    """A row of cells with its properties."""
    return f"<w:tr><w:trPr>{marks}</w:trPr>{cells}</w:tr>" if marks else f"<w:tr>{cells}</w:tr>"


def cell(content: str, width: int, line: str = "") -> str:
    """A cell. ``line`` says its lower line: eighths of a point and a color, such as ``4 8FA59B``.

    It must end with a paragraph, so whoever puts a table into it puts a thin one after it.
    """
    marks = mark("tcW", type="dxa", w=width)
    if line:
        size, color = line.split()
        bottom = mark("bottom", val="single", sz=size, space=0, color=color)
        marks += f"<w:tcBorders>{bottom}</w:tcBorders>"
    return f"<w:tc><w:tcPr>{marks}</w:tcPr>{content or EMPTY}</w:tc>"


# ---- pictures ---------------------------------------------------------------------------------


def picture(number: int, pixels: str, vector: str, alt: str, size: tuple[int, int]) -> str:
    """What a run holds for a picture of pixels with a vector drawing laid over it.

    ``number`` is its place among the pictures of the document, ``pixels`` and ``vector`` are
    relationships, ``size`` is in EMU. Newer programs show the drawing, by Microsoft's ``svgBlip``
    of 2016; older ones pass it over.
    """
    extent = 'cx="{}" cy="{}"'.format(*size)
    return (
        f'<w:drawing><wp:inline><wp:extent {extent}/><wp:docPr id="{number}"'
        f' name="Picture {number}" descr={quoteattr(alt)}/><wp:cNvGraphicFramePr>'
        '<a:graphicFrameLocks noChangeAspect="1"/></wp:cNvGraphicFramePr><a:graphic>'
        '<a:graphicData uri="http://schemas.openxmlformats.org/drawingml/2006/picture"><pic:pic>'
        '<pic:nvPicPr><pic:cNvPr id="0" name="image.png"/><pic:cNvPicPr/></pic:nvPicPr>'
        f'<pic:blipFill><a:blip r:embed="{pixels}"><a:extLst>'
        '<a:ext uri="{96DAC541-7B7A-43D3-8B79-37D633B846F1}">'
        '<asvg:svgBlip xmlns:asvg="http://schemas.microsoft.com/office/drawing/2016/SVG/main"'
        f' r:embed="{vector}"/></a:ext></a:extLst></a:blip><a:stretch><a:fillRect/></a:stretch>'
        f'</pic:blipFill><pic:spPr><a:xfrm><a:off x="0" y="0"/><a:ext {extent}/></a:xfrm>'
        '<a:prstGeom prst="rect"/></pic:spPr></pic:pic></a:graphicData></a:graphic></wp:inline>'
        "</w:drawing>"
    )


# ---- sections and parts -----------------------------------------------------------------------


def section(
    size: tuple[int, int],
    margins: Mapping[str, int],
    *,
    footer: str = "",
    on_its_side: bool = False,
    own_numbers: bool = False,
    rtl: bool = False,
) -> str:
    """The properties of a section, in the schema's order.

    ``footer`` is a relationship; ``own_numbers`` lets its pages count from one.
    """
    reference = f'<w:footerReference w:type="default" r:id={quoteattr(footer)}/>'
    turned = {"orient": "landscape"} if on_its_side else {}
    marks = (
        reference if footer else "",
        mark("pgSz", w=size[0], h=size[1], **turned),
        mark("pgMar", **margins),
        mark("pgNumType", start=1) if own_numbers else "",
        "<w:bidi/>" if rtl else "",
    )
    return f"<w:sectPr>{''.join(marks)}</w:sectPr>"


def section_end(section: str) -> str:
    """The paragraph that ends every section but the last one, whose properties end the body."""
    return f"<w:p><w:pPr>{section}</w:pPr></w:p>"


def body(content: str) -> str:
    """The body of a document, to be parsed."""
    return f"<w:body{_BODY_NAMES}>{content}</w:body>"


def footer(content: str) -> str:
    """A footer, to be parsed."""
    return f"<w:ftr{_NAMES}>{content}</w:ftr>"
