"""DOCX to edit: our own slim template, real headings, lists and languages."""

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from copy import copy
from typing import Any

from docx.shared import Emu, Mm, Pt

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
    Heading,
    InLanguage,
    Inline,
    Inlines,
    Isolate,
    Link,
    Page,
    Paragraph,
    PeopleChart,
    Section,
    Strong,
    Table,
    Text,
    codes_of,
    first_line,
    in_lines,
    inner_blocks,
    is_rtl,
    walk,
)
from plainleaf.writers import chart, qr, wordml
from plainleaf.writers.wordfile import WordFile

_PAPER = {"letter": (Mm(215.9), Mm(279.4)), "a4": (Mm(210), Mm(297))}
_CARD = {"letter": (Mm(139.7), Mm(106.68)), "a4": (Mm(148.5), Mm(105))}
_WALLET = (Mm(85.6), Mm(53.98))
_STYLES = dict.fromkeys(("body", "date", "signed"), "")
_STYLES |= {"offer": "Offer", "closing": "Closing", "notice": "Notice"}
"""The id of the style for each role of a paragraph; empty for the one that holds anyway."""
_BOXED = dict.fromkeys(_STYLES, "Key")
_LTR_MARK, _RTL_MARK = "\u200e", "\u200f"
_LATIN = re.compile(f"[A-Za-z{_LTR_MARK}]")
_LARGE = 1.5
_SMALL = 10 / 12
_BOX = 36
"""The size of a box to tick, in half points."""
_SHORT = 6
"""How many paragraphs or points of a list a section may have to stand on one page."""
_CHART = Mm(44)
_BULLETS = 1
"""The id of the template's list with bullets."""


def write(pages: Sequence[Page]) -> bytes:
    """One DOCX with all pages, in order; the same pages always give the same bytes.

    The address of a posted letter stands under the letterhead as an ordinary paragraph. Whether it
    falls into an envelope's window depends on the word processor: only the PDF promises the place.
    """
    first = pages[0]
    file = WordFile(_factor(first))
    author = "".join(one.text for one in first.letterhead[0] if isinstance(one, Isolate))
    file.describe(first.title, first.language, author, first.day)
    file.keywords(codes_of(pages))
    return file.saved(_cards(file, pages) if first.shape == "card" else _sheets(file, pages))


def _factor(page: Page) -> float:
    if page.large_print:
        return _LARGE
    return _SMALL if page.shape == "card" and page.card == "wallet" else 1


def _sheets(file: WordFile, pages: Sequence[Page]) -> str:
    """Each page in its own section, with its own numbers."""
    margins = file.margins
    count = "NUMPAGES" if len(pages) == 1 else "SECTIONPAGES"
    told = []
    for number, page in enumerate(pages, 1):
        size = _twips(_PAPER[page.paper_size])
        writer = _Writer(file, page, size[0] - margins["left"] - margins["right"])
        told.append(writer.sheet())
        foot = writer.footer(count)
        section = wordml.section(size, margins, footer=foot, own_numbers=True, rtl=writer.rtl)
        told.append(section if number == len(pages) else wordml.section_end(section))
    return "".join(told)


def _cards(file: WordFile, pages: Sequence[Page]) -> str:
    """Cards in two columns: four on a sheet on its side, or eight for a wallet on one that stands.

    Each has a cell of the exact size.
    """
    rows, size, section = _sheet_of_cards(file, pages[0])
    width, height = _twips(size)
    # Exactly this height; where room is scarce, rather a little higher than a word lost.
    rule = "atLeast" if pages[0].card == "wallet" else "exact"
    mark = wordml.mark("trHeight", val=height, hRule=rule)
    cells = [wordml.cell(_Writer(file, page, width).card(), width) for page in pages]
    cells += [wordml.cell("", width)] * (len(cells) % 2)
    lines = [wordml.row("".join(cells[at : at + 2]), mark) for at in range(0, len(cells), 2)]
    tables = (
        wordml.table((width, width), "".join(lines[at : at + rows]), fixed=True)
        for at in range(0, len(lines), rows)
    )
    return f"{''.join(tables)}{wordml.thin()}{section}"


def _sheet_of_cards(file: WordFile, page: Page) -> tuple[int, tuple[int, int], str]:
    """The rows of cards like this one on a sheet, a card's size in EMU, and the section."""
    wide, tall = _PAPER[page.paper_size]
    wallet = page.card == "wallet"
    rows, size = (4, _WALLET) if wallet else (2, _CARD[page.paper_size])
    if page.large_print:
        rows, size = rows // 2, (size[0], Mm(2 * size[1].mm))
    if not wallet:
        wide, tall = tall, wide
    edge = max(0, (tall - rows * size[1]) // 2 - Mm(1))
    top, bottom = _twips((Mm(15), Mm(8)) if wallet else (edge, edge))
    side = Emu(max(0, (wide - 2 * size[0]) // 2)).twips
    edges = {"top": top, "right": side, "bottom": bottom, "left": side, "header": 0, "footer": 0}
    margins = {**file.margins, **edges}
    return rows, size, wordml.section(_twips((wide, tall)), margins, on_its_side=not wallet)


def _twips(size: tuple[int, int]) -> tuple[int, int]:
    """Two lengths in twentieths of a point, from EMU."""
    return Emu(size[0]).twips, Emu(size[1]).twips


def _stops(page: Page) -> tuple[int, int]:
    """Where the value of a field begins, and where a line to write on ends, in twips."""
    if page.shape != "card":
        return 4300, 10100
    if page.card == "post":
        return 2000, 6800
    return (1500 if page.large_print else 1050), 4500


def _lines(inlines: Inlines) -> list[Inlines]:
    """A value cut after each line end, so that every line of it can begin at its tab stop."""
    lines: list[list[Inline]] = [[]]
    for inline in inlines:
        lines[-1].append(inline)
        if isinstance(inline, Break):
            lines.append([])
    return [tuple(line) for line in lines if line]


def _short(blocks: Blocks) -> bool:
    """Whether there are few blocks, and none that may be long."""
    return len(blocks) <= _SHORT and all(
        isinstance(one, Heading | Paragraph | Code)
        or (isinstance(one, Bullets) and len(one.items) <= _SHORT)
        for one in blocks
    )


class _Writer:
    """Turns one page into WordprocessingML for a place so many twips wide."""

    def __init__(self, file: WordFile, page: Page, width: int) -> None:
        self.file = file
        self.page = page
        self.width = width
        self.part: Any = None
        self.rtl = page.direction == "rtl"
        self.language = page.language
        self.styles = _STYLES
        self.narrow = page.large_print
        self.keep = False
        self.spacing = self.indent = ""

    # ---- pages --------------------------------------------------------------------------------

    def sheet(self) -> str:
        """The words of a whole page."""
        return self._letterhead() + self.blocks(self.page.blocks) + self._sources()

    def card(self) -> str:
        """A card in a cell: the practice's name, its words, its code."""
        wallet = self.page.card == "wallet"
        edge = Mm(5) if wallet else Mm(9)
        after = {"after": 40} if wallet else {}
        self.indent = wordml.mark("ind", left=edge.twips, right=edge.twips)
        self.spacing = wordml.mark("spacing", before=Emu(edge - Mm(1)).twips, **after)
        name = self._paragraph((Strong(self.page.letterhead[0]),), "Letterhead")
        self.spacing = wordml.mark("spacing", before=0, **after) if wallet else ""
        return name + self.blocks(self.page.blocks)

    def _letterhead(self) -> str:
        name, *rest = self.page.letterhead
        line: list[Inline] = [Strong(name)]
        for one in rest:
            line += [Text(" · "), *one]
        address = self._paragraph(in_lines(self.page.address)) if self.page.address else ""
        return self._paragraph(tuple(line), "Letterhead") + address

    def _sources(self) -> str:
        if not self.page.sources:
            return ""
        told = [self._paragraph((Text(self.page.labels.sources),), "Heading2")]
        for note in self.page.sources:
            source = Link((Isolate(note.text, "ltr", note.language),), note.href)
            quoted = (Text(" "), *note.note) if note.note else ()
            number = Text(f"[{note.number}] ")
            told.append(self._paragraph((number, source, *quoted), "Source"))
        return "".join(told)

    def footer(self, count: str) -> str:
        """The relationship to the foot of a page; ``count`` is the field of how many there are."""
        self.part = self.file.footer()
        fields = {"{page}": "PAGE", "{pages}": count}
        # The number of the page stays in one piece when the line breaks.
        whole = self.page.labels.page_of.replace(" ", "\u00a0")
        numbers = "".join(
            wordml.run(wordml.field(fields[piece]), self._marks(""))
            if piece in fields
            else self._run(piece)
            for piece in re.split(r"(\{pages?\})", whole)
        )
        words = self._inlines((*self.page.foot, Text(" · "))) + numbers
        return self.file.placed(self.part, self._set(words, "Footer"))

    # ---- blocks -------------------------------------------------------------------------------

    def blocks(self, blocks: Blocks) -> str:
        """Blocks in order."""
        return "".join(
            self._beside(block, keep=number < len(blocks))
            if isinstance(block, Beside)
            else self._block(block)
            for number, block in enumerate(blocks, 1)
        )

    def _block(self, block: Block) -> str:
        match block:
            case Section():
                return self._section(block)
            case Heading():
                return self._heading(block)
            case Paragraph():
                return self._own_paragraph(block)
            case Bullets():
                return self._bullets(block)
            case Table():
                return self._table(block)
            case Fields():
                return self._fields(block)
            case Choices():
                return self._choices(block)
            case Code():
                return self._code(block)
            case PeopleChart():
                return self._chart(block)
            case Box():
                return self._box(block)
        raise AssertionError(block)

    def _section(self, block: Section) -> str:
        """A section on one page, all but long ones; what is written on never leaves its words."""
        inside = inner_blocks(block)
        if isinstance(inside[-1], Code) and self.page.shape != "card" and not self.narrow:
            return self._before_code(inside[:-1], inside[-1])
        written = any(isinstance(one, Fields | Choices) for one in walk(inside))
        if not written and (self.page.large_print or not _short(inside)):
            return self.blocks(inside)
        with self._kept():
            first = self.blocks(inside[:-1])
        return first + self.blocks(inside[-1:])

    @contextmanager
    def _kept(self, keep: bool = True) -> Iterator[None]:
        """Paragraphs that stay on the page of the next one."""
        before, self.keep = self.keep, keep
        yield
        self.keep = before

    def _heading(self, block: Heading) -> str:
        number = (Text(f"{block.number}  "),) if block.number else ()
        return self._paragraph((*number, *block.inlines), f"Heading{1 if block.level == 1 else 2}")

    def _box(self, block: Box) -> str:
        self.styles = _BOXED
        told = self.blocks(block.blocks)
        self.styles = _STYLES
        return told

    def _beside(self, block: Beside, keep: bool) -> str:
        """Two columns, the first on the reading side; one after the other where room is short.

        ``keep`` says that boxes or lines follow, from which these words may not part.
        """
        if self.narrow:
            first = self.blocks(block.first)
            with self._speaking(block.language, block.direction):
                return first + self.blocks(block.second)
        first_side, second_side = (self._inside(round(self.width / 2)) for _ in "12")
        second_side.language, second_side.rtl = block.language, block.direction == "rtl"
        sides = ((first_side, block.first), (second_side, block.second))
        first_side.keep = second_side.keep = keep
        with self._kept(keep):
            return self._columns(*((one.blocks(blocks), one.width) for one, blocks in sides))

    def _columns(self, *columns: tuple[str, int]) -> str:
        return wordml.columns(columns, mirrored=self.rtl) + wordml.thin(self.keep)

    def _inside(self, width: int) -> "_Writer":
        """A writer into a cell that goes on in the same language and styles."""
        writer = copy(self)
        writer.width, writer.narrow, writer.keep = width, True, False
        writer.spacing = writer.indent = ""
        return writer

    @contextmanager
    def _speaking(self, language: str, direction: str) -> Iterator[None]:
        kept = self.rtl, self.language
        self.rtl, self.language = direction == "rtl", language
        yield
        self.rtl, self.language = kept

    def _own_paragraph(self, block: Paragraph) -> str:
        if not block.language:
            return self._paragraph(block.inlines, self.styles[block.role])
        with self._speaking(block.language, block.direction):
            return self._paragraph(block.inlines, self.styles[block.role])

    def _bullets(self, block: Bullets) -> str:
        item = self.file.restarted_list() if block.ordered else _BULLETS
        last = len(block.items) - 1
        return "".join(
            self._set(
                self._inlines(one),
                "ListParagraph",
                item=item,
                keep=len(block.items) <= _SHORT and at < last,
            )
            for at, one in enumerate(block.items)
        )

    def _table(self, block: Table) -> str:
        width = round(self.width / len(block.header))
        inside = self._inside(width)
        inside.spacing = wordml.mark("spacing", after=0)
        head = (
            wordml.cell(inside._paragraph((Strong(run),)), width, "10 1F5745")
            for run in block.header
        )
        rows = [wordml.row("".join(head), "<w:cantSplit/><w:tblHeader/>")]
        for cells in block.rows:
            told = (wordml.cell(inside.blocks(one.blocks), width, "4 8FA59B") for one in cells)
            rows.append(wordml.row("".join(told), "<w:cantSplit/>"))
        columns = [width] * len(block.header)
        return wordml.table(columns, "".join(rows), mirrored=self.rtl) + wordml.thin(self.keep)

    def _fields(self, block: Fields) -> str:
        middle, end = _stops(self.page)
        value, line = ("start", middle, "none"), ("end", end, "underscore")
        told = []
        for one in block.fields:
            words = self._inlines(one.label, style="Label")
            for part in _lines(one.value):
                words += self._run("\t") + self._inlines(part, bold=True)
            if not one.value:
                words += self._run("\t\t")
            tabs = wordml.tab_stops(value) if one.value else wordml.tab_stops(value, line)
            style = "FieldLine" if one.value else "WriteLine"
            keep = one is not block.fields[-1]
            told.append(self._set(words, style, tabs=tabs, keep=keep))
        return "".join(told)

    def _choices(self, block: Choices) -> str:
        box = wordml.tick_box(self.page.labels.tick_box, round(_BOX * _factor(self.page)))
        told = [box + self._inlines((Text("  "), *choice)) for choice in block.choices]
        if block.in_row and not any(isinstance(one, Break) for run in block.choices for one in run):
            tabs = wordml.tab_stops(*(("start", 2400 * at, "none") for at in range(1, len(told))))
            return self._set(self._run("\t").join(told), "Choice", tabs=tabs)
        last = len(told) - 1
        return "".join(self._set(one, "Choice", keep=at < last) for at, one in enumerate(told))

    def _code(self, block: Code) -> str:
        words = self._code_drawing(block)
        if block.caption and self.page.shape != "card":
            words += self._inlines((Text("  "), *block.caption))
        return self._set(words)

    def _code_drawing(self, block: Code) -> str:
        pixels = qr.png_picture(block.payload)
        return self._drawing(qr.svg(block.payload), pixels, block.alt, Mm(22))

    def _before_code(self, blocks: Blocks, code: Code) -> str:
        """Blocks, and at their side a code with what it opens below it."""
        room = Mm(58).twips
        words, side = self._inside(self.width - room), self._inside(room)
        words.keep = True
        side.spacing = wordml.mark("spacing", after=0)
        # The address that it opens stands in the letterhead too.
        caption = side._paragraph(first_line(code.caption)) if code.caption else ""
        told = side._set(side._code_drawing(code), keep=bool(caption)) + caption
        return self._columns((words.blocks(blocks), words.width), (told, room))

    def _chart(self, block: PeopleChart) -> str:
        picture = self._set(self._chart_drawing(chart.svg(block), block.alt, _CHART))
        if self.narrow:
            return picture + self._legend(block)
        room = Mm(50).twips
        words = self._inside(self.width - room)
        return self._columns((picture, room), (words._legend(block), words.width))

    def _legend(self, block: PeopleChart) -> str:
        told = ""
        for part in block.parts:
            key = self._chart_drawing(chart.key(part.fill), "", Mm(3.6))
            told += self._set(key + self._inlines((Text("  "), *part.label)), "Choice")
        return told

    def _chart_drawing(self, drawing: str, alt: str, width: int) -> str:
        pixels = chart.png(drawing, round(width / Pt(1)))
        return self._drawing(drawing, pixels, alt, width)

    def _drawing(self, drawing: str, pixels: bytes, alt: str, width: int) -> str:
        return wordml.run(self.file.picture(drawing, pixels, alt, width))

    # ---- text ---------------------------------------------------------------------------------

    def _paragraph(self, inlines: Inlines, style: str = "") -> str:
        return self._set(self._inlines(inlines), style)

    def _set(
        self, words: str, style: str = "", *, item: int = 0, tabs: str = "", keep: bool = False
    ) -> str:
        """A paragraph of runs at this place."""
        return wordml.paragraph(
            words,
            style,
            keep=keep or self.keep,
            item=item,
            tabs=tabs,
            rtl=self.rtl,
            spacing=self.spacing,
            indent=self.indent,
        )

    def _inlines(self, inlines: Inlines, bold: bool = False, style: str = "") -> str:
        return "".join([self._inline(inline, bold, style) for inline in inlines])

    def _inline(self, inline: Inline, bold: bool, style: str) -> str:
        match inline:
            case Text():
                return self._run(inline.text, bold, style)
            case Strong():
                return self._inlines(inline.inlines, True, style)
            case Link():
                runs = self._inlines(inline.inlines, bold, "Hyperlink")
                return wordml.hyperlink(self.file.link(inline.href, self.part), runs)
            case Break():
                return wordml.run(wordml.BREAK, self._marks(""))
            case Cite():
                return self._run(f"\u00a0[{inline.number}]", style="Label")
            case InLanguage():
                return self._in_language(inline, bold, style)
            case Isolate():
                return self._isolate(inline, bold, style)
        return self._run(inline.text, bold, style)

    def _in_language(self, inline: InLanguage, bold: bool, style: str) -> str:
        """Words in a second language, with its marks at both ends when directions meet."""
        turned = (inline.direction == "rtl") != self.rtl
        mark = (Text(_RTL_MARK if inline.direction == "rtl" else _LTR_MARK),) if turned else ()
        with self._speaking(inline.language, inline.direction):
            return self._inlines((*mark, *inline.inlines, *mark), bold, style)

    def _isolate(self, inline: Isolate, bold: bool, style: str) -> str:
        text = inline.text
        if self.rtl and inline.direction == "ltr":
            # The last mark gives the direction back: a number that follows must not join in.
            text = f"{_LTR_MARK}{text}{_LTR_MARK}{_RTL_MARK}"
        return self._run(text, bold, style, inline.language)

    def _run(self, text: str, bold: bool = False, style: str = "", language: str = "") -> str:
        if not text:
            return ""
        return wordml.run(wordml.words(text), self._marks(text, bold, style, language))

    def _marks(self, text: str, bold: bool = False, style: str = "", language: str = "") -> str:
        """The properties of a run with this text, at this place."""
        # Only a run that holds right-to-left letters, or nothing but marks on such a page, is one.
        rtl = is_rtl(text) or (self.rtl and not _LATIN.search(text))
        return wordml.run_marks(language or self.language, style, bold, rtl)
