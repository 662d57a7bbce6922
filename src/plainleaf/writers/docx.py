"""DOCX to edit: python-docx with our own slim template, real headings, lists and languages."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from io import BytesIO
from typing import Any

from docx import Document
from docx.enum.section import WD_ORIENT, WD_SECTION
from docx.enum.style import WD_STYLE_TYPE
from docx.shared import Mm, Pt

from plainleaf import paths
from plainleaf.papers.blocks import (
    Beside,
    Block,
    Blocks,
    Box,
    Break,
    Bullets,
    Choices,
    Cite,
    Code,
    Fields,
    Figure,
    Heading,
    InLanguage,
    Inline,
    Inlines,
    Isolate,
    Link,
    Moment,
    Page,
    Paragraph,
    PeopleChart,
    Section,
    Strong,
    Table,
    Text,
    codes_of,
    in_lines,
    inner_blocks,
    is_rtl,
)
from plainleaf.writers import chart, qr, wordml
from plainleaf.writers.wordml import new

_PAPER = {"letter": (Mm(215.9), Mm(279.4)), "a4": (Mm(210), Mm(297))}
_CARD = {"letter": (Mm(139.7), Mm(106.68)), "a4": (Mm(148.5), Mm(105))}
_WALLET = (Mm(85.6), Mm(53.98))
_STYLES = {"body": "Normal", "offer": "Offer", "signed": "Normal", "notice": "Notice"}
_BOXED = dict.fromkeys(_STYLES, "Key message")
_LTR_MARK, _RTL_MARK = "\u200e", "\u200f"
_LARGE = 1.5
_SMALL = 10 / 12


def write(pages: Sequence[Page]) -> bytes:
    """One DOCX with all pages, in order; the same pages always give the same bytes.

    The address of a posted letter stands under the letterhead as an ordinary paragraph. Whether it
    falls into an envelope's window depends on the word processor: only the PDF promises the place.
    """
    first = pages[0]
    document = Document(BytesIO(wordml.template(paths.templates() / "print" / "docx")))
    if first.large_print:
        wordml.scaled(document.styles.element, _LARGE)
    elif first.shape == "card" and first.card == "wallet":
        wordml.scaled(document.styles.element, _SMALL)
    _properties(document, first)
    wordml.keywords(document.core_properties, codes_of(pages))
    if first.shape == "card":
        _cards(document, pages)
    else:
        for number, page in enumerate(pages):
            section = document.sections[0] if number == 0 else _next_section(document)
            _Writer(document, page, document).page_in(section, alone=len(pages) == 1)
    stream = BytesIO()
    document.save(stream)
    return wordml.repacked(stream.getvalue())


def _properties(document: Any, page: Page) -> None:
    day = datetime.fromisoformat(page.day)
    properties = document.core_properties
    properties.title = page.title
    properties.language = page.language
    properties.author = "".join(one.text for one in page.letterhead[0] if isinstance(one, Isolate))
    properties.created = properties.modified = day
    properties.last_modified_by = ""
    properties.revision = 1


def _next_section(document: Any) -> Any:
    section = document.add_section(WD_SECTION.NEW_PAGE)
    section.footer.is_linked_to_previous = False
    return section


def _cards(document: Any, pages: Sequence[Page]) -> None:
    """Cards in two columns: four on a sheet on its side, or eight for a wallet on one that stands.

    Each has a cell of the exact size.
    """
    rows, (width, height) = _sheet_of_cards(document.sections[0], pages[0])
    for start in range(0, len(pages), 2 * rows):
        group = pages[start : start + 2 * rows]
        table = document.add_table(rows=(len(group) + 1) // 2, cols=2)
        table.autofit = False
        for column in table.columns:
            column.width = width
        for row in table.rows:
            row.height = height
            # Exactly this height; where room is scarce, rather a little higher than a word lost.
            row.height_rule = 1 if pages[0].card == "wallet" else 2
        for index, page in enumerate(group):
            cell = table.cell(index // 2, index % 2)
            cell.width = width
            _Writer(document, page, cell).card()
    _thin(document.add_paragraph())


def _sheet_of_cards(section: Any, page: Page) -> tuple[int, tuple[Mm, Mm]]:
    """Set the sheet for cards like this one. Returns the rows of cards on it, and a card's size."""
    wide, tall = _PAPER[page.paper_size]
    wallet = page.card == "wallet"
    rows, size = (4, _WALLET) if wallet else (2, _CARD[page.paper_size])
    if page.large_print:
        rows, size = rows // 2, (size[0], Mm(2 * size[1].mm))
    if not wallet:
        section.orientation = WD_ORIENT.LANDSCAPE
        wide, tall = tall, wide
    section.page_width, section.page_height = wide, tall
    edge = max(0, (tall - rows * size[1]) // 2 - Mm(1))
    section.top_margin, section.bottom_margin = (Mm(15), Mm(8)) if wallet else (edge, edge)
    section.left_margin = section.right_margin = max(0, (wide - 2 * size[0]) // 2)
    section.header_distance = section.footer_distance = 0
    return rows, size


def _stops(page: Page) -> tuple[int, int]:
    """Where the value of a field begins on a card, and where a line to write on ends, in twips."""
    if page.card == "post":
        return 2000, 6800
    return (1500 if page.large_print else 1050), 4500


def _thin(paragraph: Any) -> None:
    """Make the empty paragraph that must follow a table take no room."""
    paragraph.paragraph_format.line_spacing = Pt(2)
    paragraph.paragraph_format.space_after = 0


def _lines(inlines: Inlines) -> list[Inlines]:
    """A value cut after each line end, so that every line of it can begin at its tab stop."""
    lines: list[list[Inline]] = [[]]
    for inline in inlines:
        lines[-1].append(inline)
        if isinstance(inline, Break):
            lines.append([])
    return [tuple(line) for line in lines if line]


def _without_first_line(cell: Any) -> None:
    """Take out the empty paragraph that a new cell begins with."""
    first = cell.paragraphs[0]
    if len(cell.paragraphs) > 1 and not first.text:
        first._p.getparent().remove(first._p)


class _Writer:
    """Writes one page into a document or a table cell."""

    def __init__(self, document: Any, page: Page, place: Any) -> None:
        self.document = document
        self.page = page
        self.place = place
        self.rtl = page.direction == "rtl"
        self.language = page.language
        self.styles = _STYLES
        self.narrow = page.large_print

    # ---- pages --------------------------------------------------------------------------------

    def page_in(self, section: Any, alone: bool) -> None:
        """The whole page in its own section, with its own numbers; ``alone`` in its file or not."""
        section.page_width, section.page_height = _PAPER[self.page.paper_size]
        wordml.section_mark(section, new("pgNumType", start="1"))
        if self.rtl:
            wordml.section_mark(section, new("bidi"))
        self._letterhead()
        self.blocks(self.page.blocks)
        self._sources()
        self._footer(section, "NUMPAGES" if alone else "SECTIONPAGES")

    def card(self) -> None:
        """A card in a cell: the practice's name, its words, its code."""
        first = self.place.paragraphs[0]
        first.style = "Letterhead"
        self._set(first, (Strong(self.page.letterhead[0]),))
        self.blocks(self.page.blocks)
        edge = Mm(5) if self.page.card == "wallet" else Mm(9)
        for paragraph in self.place.paragraphs:
            paragraph.paragraph_format.left_indent = edge
            paragraph.paragraph_format.right_indent = edge
            if self.page.card == "wallet":
                paragraph.paragraph_format.space_before = 0
                paragraph.paragraph_format.space_after = Pt(2)
        first.paragraph_format.space_before = edge - Mm(1)

    def _letterhead(self) -> None:
        name, *rest = self.page.letterhead
        line: list[Inline] = [Strong(name)]
        for one in rest:
            line += [Text(" · "), *one]
        self._paragraph(tuple(line), "Letterhead")
        if self.page.address:
            self._paragraph(in_lines(self.page.address), "Normal")

    def _sources(self) -> None:
        if not self.page.sources:
            return
        self._paragraph((Text(self.page.labels.sources),), "heading 2")
        for note in self.page.sources:
            source = Link((Isolate(note.text, "ltr", note.language),), note.href)
            quoted = (Text(" "), *note.note) if note.note else ()
            self._paragraph((Text(f"[{note.number}] "), source, *quoted), "Source")

    def _footer(self, section: Any, count: str) -> None:
        paragraph = section.footer.paragraphs[0]
        paragraph.style = "footer"
        self._set(paragraph, (*self.page.foot, Text(" · ")))
        # The number of the page stays in one piece when the line breaks.
        whole = self.page.labels.page_of.replace(" ", "\u00a0")
        pieces = whole.replace("{pages}", "\0").replace("{page}", "\1")
        for piece in _split_marks(pieces):
            run = self._run(paragraph, "" if piece in "\0\1" else piece)
            if piece == "\1":
                wordml.field(run, "PAGE")
            elif piece == "\0":
                wordml.field(run, count)

    # ---- blocks -------------------------------------------------------------------------------

    def blocks(self, blocks: Blocks) -> None:
        """Blocks in order."""
        for number, block in enumerate(blocks, 1):
            if isinstance(block, Section):
                self.blocks(inner_blocks(block))
            elif isinstance(block, Beside):
                self._beside(block, keep=number < len(blocks))
            else:
                self._block(block)

    def _block(self, block: Block) -> None:
        match block:
            case Heading():
                self._heading(block)
            case Paragraph():
                self._own_paragraph(block)
            case Bullets():
                self._bullets(block)
            case Table():
                self._table(block)
            case Fields():
                self._fields(block)
            case Choices():
                self._choices(block)
            case Code():
                self._code(block)
            case PeopleChart():
                self._chart(block)
            case Box():
                self._box(block)

    def _heading(self, block: Heading) -> None:
        number = f"{block.number}  " if block.number else ""
        level = "heading 1" if block.level == 1 else "heading 2"
        self._paragraph((Text(number), *block.inlines), level)

    def _box(self, block: Box) -> None:
        self.styles = _BOXED
        self.blocks(block.blocks)
        self.styles = _STYLES

    def _beside(self, block: Beside, keep: bool) -> None:
        """Two columns, the first on the reading side; one after the other where room is short.

        ``keep`` says that boxes or lines follow, from which these words may not part.
        """
        if self.narrow:
            self.blocks(block.first)
            with self._speaking(block.language, block.direction):
                self.blocks(block.second)
            return
        table = self.place.add_table(rows=1, cols=2)
        if self.rtl:
            wordml.table_mark(table, new("bidiVisual"))
        first, second = table.rows[0].cells
        self._inside(first).blocks(block.first)
        other = self._inside(second)
        other.language, other.rtl = block.language, block.direction == "rtl"
        other.blocks(block.second)
        after = self.place.add_paragraph()
        _thin(after)
        for cell in (first, second):
            _without_first_line(cell)
        for paragraph in (*first.paragraphs, *second.paragraphs, after) if keep else ():
            paragraph.paragraph_format.keep_with_next = True

    def _inside(self, cell: Any) -> "_Writer":
        """A writer into a cell that goes on in the same language and styles."""
        writer = _Writer(self.document, self.page, cell)
        writer.rtl, writer.language, writer.styles = self.rtl, self.language, self.styles
        writer.narrow = True
        return writer

    @contextmanager
    def _speaking(self, language: str, direction: str) -> Iterator[None]:
        kept = self.rtl, self.language
        self.rtl, self.language = direction == "rtl", language
        yield
        self.rtl, self.language = kept

    def _own_paragraph(self, block: Paragraph) -> None:
        language = block.language or self.language
        direction = block.direction if block.language else "rtl" if self.rtl else "ltr"
        with self._speaking(language, direction):
            self._paragraph(block.inlines, self.styles[block.role])

    def _bullets(self, block: Bullets) -> None:
        num_id = wordml.restarted_list(self.document) if block.ordered else 1
        for item in block.items:
            wordml.numbered(self._paragraph(item, "List Paragraph"), num_id)

    def _table(self, block: Table) -> None:
        table = self.place.add_table(rows=1 + len(block.rows), cols=len(block.header))
        if self.rtl:
            wordml.table_mark(table, new("bidiVisual"))
        head = table.rows[0]
        head._tr.get_or_add_trPr().append(new("cantSplit"))
        head._tr.get_or_add_trPr().append(new("tblHeader"))
        for cell, run in zip(head.cells, block.header, strict=True):
            self._set(cell.paragraphs[0], (Strong(run),))
            wordml.cell_border(cell, bottom="10 1F5745")
        for row, cells in zip(table.rows[1:], block.rows, strict=True):
            row._tr.get_or_add_trPr().append(new("cantSplit"))
            for cell, content in zip(row.cells, cells, strict=True):
                self._cell(cell, content.blocks)
        _thin(self.place.add_paragraph())

    def _cell(self, cell: Any, blocks: Blocks) -> None:
        self._inside(cell).blocks(blocks)
        _without_first_line(cell)
        wordml.cell_border(cell, bottom="4 8FA59B")

    def _fields(self, block: Fields) -> None:
        card = self.page.shape == "card"
        for one in block.fields:
            paragraph = self._paragraph(one.label, "Field line", label=True)
            paragraph.paragraph_format.keep_with_next = one is not block.fields[-1]
            middle, end = _stops(self.page) if card else (4300, 10100)
            if one.value:
                wordml.tab_stops(paragraph, ("start", middle, "none"))
                for part in _lines(one.value):
                    self._run(paragraph, "\t")
                    self._add(paragraph, part, bold=True)
            else:
                wordml.tab_stops(paragraph, ("start", middle, "none"), ("end", end, "underscore"))
                self._run(paragraph, "\t\t")

    def _choices(self, block: Choices) -> None:
        for choice in block.choices:
            paragraph = self._paragraph((), "Choice")
            wordml.tick_box(paragraph, self.page.labels.tick_box)
            self._add(paragraph, (Text("  "), *choice))

    def _code(self, block: Code) -> None:
        paragraph = self._paragraph((), "Normal")
        pixels = qr.png_picture(block.payload)
        self._drawing(paragraph, qr.svg(block.payload), pixels, block.alt, Mm(22))
        if block.caption and self.page.shape != "card":
            self._add(paragraph, (Text("  "), *block.caption))

    def _chart(self, block: PeopleChart) -> None:
        paragraph = self._paragraph((), "Normal")
        self._chart_drawing(paragraph, chart.svg(block), block.alt, Mm(52))
        for part in block.parts:
            line = self._paragraph((), "Choice")
            self._chart_drawing(line, chart.key(part.fill), "", Mm(3.6))
            self._add(line, (Text("  "), *part.label))

    def _chart_drawing(self, paragraph: Any, drawing: str, alt: str, width: int) -> None:
        pixels = chart.png(drawing, round(width / Pt(1)))
        self._drawing(paragraph, drawing, pixels, alt, width)

    def _drawing(self, paragraph: Any, drawing: str, pixels: bytes, alt: str, width: int) -> None:
        """A vector picture, with pixels for programs that know no vectors."""
        run = paragraph.add_run()
        run.add_picture(BytesIO(pixels), width=width)
        wordml.described(run, alt, wordml.pictures(self.document))
        wordml.vector(run, drawing.encode(), self.document)

    # ---- text ---------------------------------------------------------------------------------

    def _paragraph(self, inlines: Inlines, style: str, label: bool = False) -> Any:
        paragraph = self.place.add_paragraph()
        paragraph._p.style = wordml.style_id(self.document, style, WD_STYLE_TYPE.PARAGRAPH)
        self._set(paragraph, inlines, label)
        return paragraph

    def _set(self, paragraph: Any, inlines: Inlines, label: bool = False) -> None:
        if self.rtl:
            wordml.paragraph_mark(paragraph, new("bidi"))
        self._add(paragraph, inlines, style="Label" if label else "")

    def _add(
        self,
        paragraph: Any,
        inlines: Inlines,
        bold: bool = False,
        style: str = "",
        into: Callable[[Any], None] | None = None,
    ) -> None:
        for inline in inlines:
            match inline:
                case Strong():
                    self._add(paragraph, inline.inlines, True, style, into)
                case Link():
                    link = wordml.hyperlink(paragraph, inline.href)
                    self._add(
                        paragraph,
                        inline.inlines,
                        bold,
                        "Hyperlink",
                        lambda run, link=link: link.append(run._r),  # type: ignore[misc]
                    )
                case Break():
                    self._run(paragraph, "").add_break()
                case InLanguage():
                    self._add_in_language(paragraph, inline, bold, style)
                case _:
                    run = self._word(paragraph, inline, bold, style)
                    if into:
                        into(run)

    def _add_in_language(self, paragraph: Any, inline: InLanguage, bold: bool, style: str) -> None:
        """Words in a second language, with its marks at both ends when directions meet."""
        turned = (inline.direction == "rtl") != self.rtl
        mark = (Text(_RTL_MARK if inline.direction == "rtl" else _LTR_MARK),) if turned else ()
        with self._speaking(inline.language, inline.direction):
            self._add(paragraph, (*mark, *inline.inlines, *mark), bold, style)

    def _word(self, paragraph: Any, inline: Inline, bold: bool, style: str) -> Any:
        if isinstance(inline, Cite):
            return self._run(paragraph, f"\u00a0[{inline.number}]", style="Label")
        assert isinstance(inline, Text | Isolate | Figure | Moment)
        text, language = inline.text, ""
        if isinstance(inline, Isolate):
            language = inline.language
            if self.rtl and inline.direction == "ltr":
                # The last mark gives the direction back: a number that follows must not join in.
                text = f"{_LTR_MARK}{text}{_LTR_MARK}{_RTL_MARK}"
        return self._run(paragraph, text, bold, style, language)

    def _run(
        self, paragraph: Any, text: str, bold: bool = False, style: str = "", language: str = ""
    ) -> Any:
        run = paragraph.add_run()
        wordml.worded(run, text)
        if style:
            run._r.style = wordml.style_id(self.document, style, WD_STYLE_TYPE.CHARACTER)
        marks = [new("b"), new("bCs")] if bold else []
        # Only a run that holds right-to-left letters, or nothing but marks on such a page, is one.
        latin = any(char.isascii() and char.isalpha() for char in text) or _LTR_MARK in text
        if is_rtl(text) or (self.rtl and not latin):
            marks.append(new("rtl"))
        tag = language or self.language
        wordml.run_marks(run, *marks, new("lang", val=tag, bidi=tag, eastAsia=tag))
        return run


def _split_marks(text: str) -> list[str]:
    """The text cut at the two marks for fields, the marks kept."""
    pieces = [""]
    for char in text:
        if char in "\0\1":
            pieces += [char, ""]
        else:
            pieces[-1] += char
    return [piece for piece in pieces if piece]
