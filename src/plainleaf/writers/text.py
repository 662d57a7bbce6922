"""Plain text: the twin of a paper for screen readers, interpreters and the spoken word."""

import unicodedata
from collections.abc import Iterator, Sequence

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
    Field,
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
    first_line,
    inner_blocks,
    walk,
)

WIDTH = 76
_OPEN = {"ltr": "\u2066", "rtl": "\u2067", "auto": "\u2068"}
_CLOSE = "\u2069"
_LINE = "_" * 40
_NO_START = (
    "、。，．・：；！？）」』】〕》〉ー々,.:;!?)]}%…\u2060\u2069\u00a0"
    "ぁぃぅぇぉっゃゅょァィゥェォッャュョ"
)
_NO_END = "（「『【〔《〈([{$¥￥\u2060\u2066\u2067\u2068\u00a0"
"""With what no line may start or end in Chinese and Japanese (JIS X 4051, the usual ones)."""


def write(pages: Sequence[Page]) -> bytes:
    """All pages as UTF-8 text, in order, a line of equals signs between two of them."""
    between = f"\n{'=' * WIDTH}\n\n"
    return between.join(_Writer(page).text() for page in pages).encode()


def width(text: str) -> int:
    """How many columns a text takes on a screen: two for a wide letter, none for a mark above one.

    Source: Unicode Standard Annex 11, East Asian Width.
    """
    return sum(map(_width, text))


def wrapped(text: str, room: int) -> Iterator[str]:
    """The lines of a text, each as wide as ``room`` columns at most, unless one word is wider."""
    line = ""
    for piece in _pieces(text):
        if line.strip() and width(line + piece.rstrip(" ")) > room:
            yield line.rstrip(" ")
            line = ""
        line += piece
    if line.strip():
        yield line.rstrip(" ")


def _width(char: str) -> int:
    if unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1


def _pieces(text: str) -> Iterator[str]:
    """A text cut wherever a line may end, spaces with what stands before them."""
    start = 0
    for at in range(1, len(text)):
        if _may_end(text[at - 1], text[at]):
            yield text[start:at]
            start = at
    yield text[start:]


def _may_end(before: str, after: str) -> bool:
    """Whether a line may end here: after a space, or beside a letter of Chinese or Japanese."""
    if before == " " or after == " ":
        return after != " "
    loose = _ends_anywhere(before) or _ends_anywhere(after)
    return loose and before not in _NO_END and after not in _NO_START


def _ends_anywhere(char: str) -> bool:
    # Korean lines end between words.
    return _width(char) == 2 and not "\uac00" <= char <= "\ud7a3"


class _Writer:
    def __init__(self, page: Page) -> None:
        self.page = page
        # Marks that keep the order of inserted values are needed where directions meet.
        self.marked = page.direction == "rtl" or any(
            isinstance(block, Beside) and block.direction == "rtl" for block in walk(page.blocks)
        )

    def text(self) -> str:
        """The page, ending with one line end."""
        page = self.page
        head = page.letterhead if page.shape != "card" else page.letterhead[:1]
        lines = [*(self._run(line) for line in head), ""]
        if page.address:
            lines += [*(self._run(line) for line in page.address), ""]
        lines += self._blocks(page.blocks)
        if page.sources:
            lines += self._heading(Heading((Text(page.labels.sources),), 2))
            for note in page.sources:
                source = self._value(f"{note.text} {note.href}", "ltr")
                extra = f" {self._run(note.note)}" if note.note else ""
                lines += self._wrap(f"{source}{extra}", f"[{note.number}] ")
            lines.append("")
        if page.shape != "card":
            lines += self._wrap(self._run(page.foot))
        return "\n".join(lines).rstrip() + "\n"

    def _blocks(self, blocks: Blocks) -> Iterator[str]:
        for block in blocks:
            yield from self._block(block)

    def _block(self, block: Block) -> Iterator[str]:
        match block:
            case Heading():
                yield from self._heading(block)
            case Paragraph():
                yield from self._wrap(self._run(block.inlines))
                yield ""
            case Bullets():
                yield from self._list(block.items, ordered=block.ordered)
            case Table():
                yield from self._table(block)
            case Fields():
                lines = (f"{self._run(one.label)}: {self._value_of(one)}" for one in block.fields)
                yield from (*lines, "")
            case Choices():
                yield from self._list(block.choices, "[ ] ")
            case PeopleChart():
                yield from self._list([part.label for part in block.parts])
            case Code():
                yield from self._wrap(self._run(first_line(block.caption)))
                yield from (self._value(block.payload, "ltr"), "")
            case Box() | Section() | Beside():
                yield from self._blocks(inner_blocks(block))

    def _heading(self, block: Heading) -> Iterator[str]:
        number = f"{block.number} " if block.number else ""
        title = f"{number}{self._run(block.inlines)}"
        lines = list(self._wrap(title))
        mark = "=" if block.level == 1 else "-"
        yield from (*lines, mark * max(map(width, lines), default=0), "")

    def _list(
        self, items: Sequence[Inlines], mark: str = "* ", ordered: bool = False
    ) -> Iterator[str]:
        for count, item in enumerate(items, 1):
            yield from self._wrap(self._run(item), f"{count}. " if ordered else mark)
        yield ""

    def _value_of(self, one: Field) -> str:
        return self._run(one.value) or _LINE

    def _table(self, block: Table) -> Iterator[str]:
        """Column by column: a table read aloud row by row loses which side it is on."""
        for column, title in enumerate(block.header):
            yield f"{self._run(title)}:"
            for row in block.rows:
                words = " ".join(line for line in self._blocks(row[column].blocks) if line)
                yield from self._wrap(words, "* ")
            yield ""

    def _wrap(self, text: str, mark: str = "") -> Iterator[str]:
        start = mark
        for piece in text.split("\n"):
            for line in wrapped(piece, WIDTH - len(mark)):
                yield start + line
                start = " " * len(mark)

    def _run(self, inlines: Inlines) -> str:
        return "".join(map(self._inline, inlines))

    def _value(self, text: str, direction: str) -> str:
        return f"{_OPEN[direction]}{text}{_CLOSE}" if self.marked else text

    def _inline(self, inline: Inline) -> str:
        match inline:
            case Strong():
                return self._run(inline.inlines)
            case Link():
                shown = self._run(inline.inlines)
                # A phone number must not break over two lines.
                return shown.replace(" ", "\u00a0") if inline.href.startswith("tel:") else shown
            case Isolate():
                return self._value(inline.text, inline.direction)
            case Cite():
                return f"\u00a0[{inline.number}]"
            case Break():
                return "\n"
            case InLanguage():
                return self._value(self._run(inline.inlines), inline.direction)
        return inline.text
