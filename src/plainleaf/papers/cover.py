"""The desk's own list of a day: who gets which papers, who does not, and what to think of.

It is for the team, in English as its problems are, and goes to nobody else. In a print file it lies
on top; for other files it is a text beside them.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from plainleaf.papers.blocks import (
    Block,
    Bullets,
    Cell,
    Heading,
    Inline,
    Isolate,
    Page,
    Paragraph,
    Section,
    Sheets,
    Table,
    Text,
)


@dataclass(frozen=True)
class Given:
    """Somebody who gets something: place on the list, name, language and papers in words.

    ``sheets`` is how many of the papers stand in the print file; cards are in one of their own.
    """

    place: int
    name: str
    language: str
    papers: tuple[str, ...]
    sheets: int = 0


Told = tuple[str, str, str]
"""Where somebody stands in the list, a name, and what there is to say."""


@dataclass(frozen=True)
class Day:
    """All that the desk's list tells.

    ``left_out`` got no paper at all, those in ``gaps`` lack one of several. ``advice`` is for the
    clinician; ``notes`` are about how the list was read.
    """

    title: str
    given: Sequence[Given]
    left_out: Sequence[Told] = ()
    gaps: Sequence[Told] = ()
    advice: Sequence[Told] = ()
    notes: Sequence[str] = ()

    @property
    def heading(self) -> str:
        """What the list is called."""
        return f"For the desk: {self.title}"

    @property
    def count(self) -> str:
        """How many people get something."""
        who = "1 person" if len(self.given) == 1 else f"{len(self.given)} people"
        return f"{who}, in the order of the list."

    def parts(self) -> Iterator[tuple[str, str, str, Sequence[Told]]]:
        """The tables behind that of the papers: element, heading, head of the reasons, rows."""
        yield "left-out", "No paper", "Reason", self.left_out
        yield "gaps", "A paper is missing", "Reason", self.gaps
        yield "advice", "For the clinician", "What the record says", self.advice


def cover(like: Page, day: Day) -> Page:
    """A cover for pages like this one; the sheets of ``day.given`` follow it in the same order."""
    blocks: list[Block] = [
        Heading((Text(day.heading),), 1),
        Paragraph((Text(day.count),)),
        Section("printed", None, (_inside(day.given),)),
    ]
    for element, words, head, told in day.parts():
        if told:
            blocks.append(Section(element, Heading((Text(words),), 2), (_outside(told, head),)))
    if day.notes:
        items = tuple((Isolate(one, "ltr"),) for one in day.notes)
        heading = Heading((Text("How the list was read"),), 2)
        blocks.append(Section("notes", heading, (Bullets(items),)))
    return replace(
        like,
        paper="cover",
        title=day.heading,
        language="en",
        direction="ltr",
        script="Latn",
        shape="sheet",
        large_print=False,
        blocks=tuple(blocks),
        sources=(),
        foot=(Text(f"For the desk, {like.day}"),),
        labels=replace(like.labels, page_of="page {page} of {pages}"),
        most_pages=0,
        envelope="",
        address=(),
        code="",
    )


def in_text(day: Day) -> str:
    """The same list as a text, one person a line, for files that can carry no cover."""
    lines = [day.heading, "", day.count, ""]
    lines += [f"{_whole(one)}: {', '.join(one.papers)}" for one in day.given]
    for _, words, _, told in day.parts():
        if told:
            lines += ["", words, "", *(f"{where}, {name}: {why}" for where, name, why in told)]
    if day.notes:
        lines += ["", "How the list was read", "", *day.notes]
    return "\n".join(lines) + "\n"


def _whole(one: Given) -> str:
    return f"{one.place}. {one.name} ({one.language})"


def _inside(given: Iterable[Given]) -> Table:
    rows = []
    first = 1  # the cover itself is at place 0 of the file
    for one in given:
        told = (str(one.place), one.name, one.language, ", ".join(one.papers))
        sheets = Sheets(first, first + one.sheets - 1) if one.sheets else Text("cards")
        rows.append(_row(*map(Isolate, told), sheets))
        first += one.sheets
    heads = _heads("No.", "Name", "Language", "Papers", "Sheets")
    return Table(heads, tuple(rows), widths=(0, 4, 3, 5, 0))


def _outside(told: Iterable[Told], head: str) -> Table:
    rows = [_row(*map(Isolate, one)) for one in told]
    return Table(_heads("Where", "Name", head), tuple(rows), widths=(3, 3, 6))


def _heads(*words: str) -> tuple[tuple[Inline, ...], ...]:
    return tuple((Text(word),) for word in words)


def _row(*cells: Inline) -> tuple[Cell, ...]:
    return tuple(Cell((Paragraph((cell,)),)) for cell in cells)
