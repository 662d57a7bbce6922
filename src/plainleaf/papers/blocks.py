"""The finished page as frozen data: the only thing that composition and the writers share.

Text inside a page is a tuple of inlines. A numeral may stand only in a ``Figure``, a ``Moment``
or an ``Isolate`` (a value from the practice or the visit), never in a bare ``Text``.
"""

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import takewhile
from typing import Literal, TypeAlias

Direction = Literal["ltr", "rtl", "auto"]
ParagraphRole = Literal["body", "offer", "signed", "notice", "date", "closing"]

NOTHING = "nothing"
"""The origin of a value that was not given: no page may leave with one inside a sentence."""

_RTL = frozenset(("R", "AL"))


@dataclass(frozen=True)
class Text:
    """Plain words."""

    text: str


@dataclass(frozen=True)
class Strong:
    """Words that stand out."""

    inlines: "Inlines"


@dataclass(frozen=True)
class Link:
    """Words that lead somewhere: a ``tel:`` or ``https:`` address."""

    inlines: "Inlines"
    href: str


@dataclass(frozen=True)
class Isolate:
    """An inserted value, set apart so that its direction cannot disturb the sentence.

    ``language`` is a BCP 47 tag when it differs from that of the page, else empty. ``origin`` says
    where the value comes from: ``practice``, ``visit``, ``position`` or ``source``, or
    ``paper`` for the paper's own code, or NOTHING.
    """

    text: str
    direction: Direction = "auto"
    language: str = ""
    origin: str = ""


@dataclass(frozen=True)
class Figure:
    """A number as printed, and what it stands for: a figure's id (or ids) and its exact value."""

    text: str
    figure: str
    value: str


@dataclass(frozen=True)
class Moment:
    """A date, a time or a year as printed, with its ISO 8601 form."""

    text: str
    iso: str


@dataclass(frozen=True)
class Cite:
    """The mark that leads to a numbered source at the foot of the page."""

    number: int


@dataclass(frozen=True)
class Break:
    """A line end."""


@dataclass(frozen=True)
class InLanguage:
    """Words in another language than the text around them: the second half of a label.

    ``language`` is a BCP 47 tag.
    """

    inlines: "Inlines"
    language: str
    direction: Direction


@dataclass(frozen=True)
class Sheets:
    """How many sheets some pages of the same file take, from place ``first`` to ``last``.

    Only a file with fixed sheets knows it, once it is set; others show ``text`` in its place.
    """

    first: int
    last: int
    text: str = ""


Inline: TypeAlias = (
    Text | Strong | Link | Isolate | Figure | Moment | Cite | Break | InLanguage | Sheets
)
Inlines: TypeAlias = tuple[Inline, ...]


@dataclass(frozen=True)
class Heading:
    """A heading; level 1 is the title of the page. ``number`` is set on numbered forms."""

    inlines: Inlines
    level: int
    number: int = 0


@dataclass(frozen=True)
class Paragraph:
    """A paragraph. ``role`` is ``body``, ``offer`` (larger) or ``notice``, or a part of a letter.

    Those are ``date``, ``closing`` (room for a pen follows) and ``signed`` (who signs it).
    """

    inlines: Inlines
    role: ParagraphRole = "body"
    language: str = ""
    direction: Direction = "auto"


@dataclass(frozen=True)
class Bullets:
    """A list; each item is one run of text."""

    items: tuple[Inlines, ...]
    ordered: bool = False


@dataclass(frozen=True)
class Cell:
    """A cell of a table."""

    blocks: "Blocks"
    element: str = ""


@dataclass(frozen=True)
class Table:
    """A table with one header row.

    ``widths`` are the shares of the columns on a sheet, 0 for one that is as wide as what is in it;
    without them all columns are alike.
    """

    header: tuple[Inlines, ...]
    rows: tuple[tuple[Cell, ...], ...]
    widths: tuple[int, ...] = ()


@dataclass(frozen=True)
class Field:
    """A label with its value, or with an empty line to write on."""

    label: Inlines
    value: Inlines


@dataclass(frozen=True)
class Fields:
    """Labels and values, one below the other."""

    fields: tuple[Field, ...]


@dataclass(frozen=True)
class Choices:
    """Boxes to tick: the same size, none of them ticked; short ones may stand in one row."""

    choices: tuple[Inlines, ...]
    in_row: bool = False


@dataclass(frozen=True)
class Box:
    """What must be read first, set apart."""

    element: str
    blocks: "Blocks"


@dataclass(frozen=True)
class Section:
    """A part of the page that carries a required element; its heading may be None."""

    element: str
    heading: Heading | None
    blocks: "Blocks"


@dataclass(frozen=True)
class Code:
    """A QR code: what it holds, what it is called for those who cannot see it, words beside it."""

    payload: str
    alt: str
    caption: Inlines


Fill = Literal["solid", "shaded", "crossed", "open"]


@dataclass(frozen=True)
class ChartPart:
    """Some of the people in a chart: how many, how their icons are filled, what they have."""

    count: int
    fill: Fill
    label: Inlines


@dataclass(frozen=True)
class PeopleChart:
    """One icon of the same shape for each person, filled part by part from the first corner.

    The counts of the parts add to the number of icons; ``columns`` is the same for every chart of
    that size. ``alt`` says the counts in words.
    """

    parts: tuple[ChartPart, ...]
    columns: int
    alt: str

    @property
    def total(self) -> int:
        """How many icons there are."""
        return sum(part.count for part in self.parts)


@dataclass(frozen=True)
class Beside:
    """The same texts in the language of the page and in a second one, to be set side by side.

    Nothing in it is written on or ticked: that stands once on a page, outside. ``language`` is the
    BCP 47 tag of the second texts, ``script`` their ISO 15924 code.
    """

    first: "Blocks"
    second: "Blocks"
    language: str
    direction: Literal["ltr", "rtl"]
    script: str


Block: TypeAlias = (
    Heading
    | Paragraph
    | Bullets
    | Table
    | Fields
    | Choices
    | Box
    | Section
    | Code
    | PeopleChart
    | Beside
)
Blocks: TypeAlias = tuple[Block, ...]


@dataclass(frozen=True)
class SourceNote:
    """A source at the foot of a page: its id, and its words in the language of the source."""

    number: int
    source: str
    text: str
    href: str
    language: str = "en"
    note: Inlines = ()


@dataclass(frozen=True)
class Labels:
    """The words that the writers need around a page, already in its language."""

    sources: str
    page_of: str
    cited: str
    empty_line: str
    tick_box: str


CardSize = Literal["post", "wallet"]
"""A card that is posted, or one of ISO/IEC 7810 ID-1."""

Turned = Literal["long edge", "short edge"]
"""Over which edge a printer turns a sheet to print its back."""


@dataclass(frozen=True)
class AddressSide:
    """The back of a card that is posted: who sends it and who gets it, a line each."""

    sender: tuple[Inlines, ...]
    receiver: tuple[Inlines, ...]
    turned: Turned


@dataclass(frozen=True)
class Page:
    """One finished paper for one reader.

    ``address`` has the lines that show in the window of ``envelope`` (the name of its standard),
    the person's name first; both are empty on a paper that is not posted. ``code`` says whether
    the paper can be made again. ``card`` and ``back`` say something of cards only.
    """

    paper: str
    title: str
    language: str
    direction: Literal["ltr", "rtl"]
    script: str
    shape: Literal["sheet", "form", "card", "message"]
    paper_size: Literal["letter", "a4"]
    large_print: bool
    letterhead: tuple[Inlines, ...]
    blocks: Blocks
    sources: tuple[SourceNote, ...]
    foot: Inlines
    labels: Labels
    day: str
    most_pages: int = 0
    envelope: str = ""
    address: tuple[Inlines, ...] = ()
    code: str = ""
    card: CardSize = "post"
    back: AddressSide | None = None


# Named once: a union that is written where it is asked for is made anew for each inline.
_AROUND = (Strong, Link, InLanguage)
_WORDS = (Text, Isolate, Figure, Moment)


def codes_of(pages: Iterable[Page]) -> list[str]:
    """The codes of some pages in order, each once; a file carries them in its properties."""
    return list(dict.fromkeys(page.code for page in pages if page.code))


def inner_blocks(block: Block) -> Blocks:
    """The blocks directly inside a block, in reading order."""
    if isinstance(block, Box):
        return block.blocks
    if isinstance(block, Section):
        return (*((block.heading,) if block.heading else ()), *block.blocks)
    if isinstance(block, Table):
        return tuple(inner for row in block.rows for cell in row for inner in cell.blocks)
    if isinstance(block, Beside):
        return block.first + block.second
    return ()


def walk(blocks: Blocks) -> Iterator[Block]:
    """Every block of a page in reading order, each before what it holds."""
    for block in blocks:
        yield block
        if inner := inner_blocks(block):
            yield from walk(inner)


def runs(block: Block) -> tuple[Inlines, ...]:
    """The runs of text directly in a block, in reading order."""
    if isinstance(block, Heading | Paragraph):
        return (block.inlines,)
    if isinstance(block, Bullets):
        return block.items
    if isinstance(block, Table):
        return block.header
    if isinstance(block, Fields):
        return tuple(run for one in block.fields for run in (one.label, one.value))
    if isinstance(block, Choices):
        return block.choices
    if isinstance(block, PeopleChart):
        return tuple(part.label for part in block.parts)
    return (block.caption,) if isinstance(block, Code) else ()


def flat(inlines: Inlines) -> Iterator[Inline]:
    """Every inline of a run, inside emphasis and links too."""
    for inline in inlines:
        yield inline
        if isinstance(inline, _AROUND):
            yield from flat(inline.inlines)


def plain(inlines: Inlines) -> str:
    """The words of a run without marks, for titles and checks."""
    return spelled(flat(inlines))


def spelled(inlines: Iterable[Inline]) -> str:
    """The words of inlines that are laid flat already."""
    words = []
    for inline in inlines:
        if isinstance(inline, _WORDS):
            words.append(inline.text)
        elif isinstance(inline, Break):
            words.append(" ")
    return "".join(words)


def in_lines(lines: tuple[Inlines, ...]) -> Inlines:
    """Several lines as one run, with a line end between two of them."""
    return tuple(inline for line in lines for inline in (Break(), *line))[1:]


def first_line(inlines: Inlines) -> Inlines:
    """A run up to its first line end."""
    return tuple(takewhile(lambda one: not isinstance(one, Break), inlines))


def is_rtl(text: str) -> bool:
    """Whether any character is written from right to left (Unicode UAX 9)."""
    return not (text.isascii() or _RTL.isdisjoint(map(unicodedata.bidirectional, text)))


def words_of(blocks: Blocks) -> str:
    """All words of some blocks, one run a line."""
    return "\n".join(plain(run) for block in walk(blocks) for run in runs(block))
