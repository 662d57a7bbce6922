"""The desk's own list on top of a day's print file: who is in it, in order, and who is not.

It is for the team, in English as its problems are, and goes to nobody else.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from plainleaf.papers.blocks import (
    Block,
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
    """Somebody in the file: place on the list, name, language, and how many papers they get."""

    place: int
    name: str
    language: str
    papers: int


Told = tuple[int, str, str]
"""The line in the list, a name, and why a paper was not made."""


def cover(
    like: Page,
    title: str,
    given: Sequence[Given],
    left_out: Sequence[Told],
    gaps: Sequence[Told] = (),
) -> Page:
    """A cover for pages like this one; the papers of ``given`` follow it in the same order.

    ``left_out`` got no paper at all, those in ``gaps`` lack one of several.
    """
    heading = f"For the desk: {title}"
    blocks: list[Block] = [
        Heading((Text(heading),), 1),
        Paragraph((Text(f"{len(given)} people, in the order of the list."),)),
        Section("printed", None, (_inside(given),)),
    ]
    for element, words, told in (
        ("left-out", "No paper", left_out),
        ("gaps", "A paper is missing", gaps),
    ):
        if told:
            blocks.append(Section(element, Heading((Text(words),), 2), (_outside(told),)))
    return replace(
        like,
        paper="cover",
        title=heading,
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


def _inside(given: Sequence[Given]) -> Table:
    rows = []
    first = 1  # the cover itself is at place 0 of the file
    for one in given:
        cells = (Isolate(str(one.place)), Isolate(one.name), Isolate(one.language))
        rows.append(_row(*cells, Sheets(first, first + one.papers - 1)))
        first += one.papers
    return Table(_heads("Number", "Name", "Language", "Sheets"), tuple(rows))


def _outside(told: Sequence[Told]) -> Table:
    rows = [_row(Isolate(str(line)), Isolate(name), Isolate(why)) for line, name, why in told]
    return Table(_heads("Line", "Name", "Reason"), tuple(rows))


def _heads(*words: str) -> tuple[tuple[Inline, ...], ...]:
    return tuple((Text(word),) for word in words)


def _row(*cells: Inline) -> tuple[Cell, ...]:
    return tuple(Cell((Paragraph((cell,)),)) for cell in cells)
