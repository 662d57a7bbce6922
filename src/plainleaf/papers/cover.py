"""The desk's own list on top of a day's print file: who is in it, in order, and who is not.

It is for the team, in English as its problems are, and goes to nobody else.
"""

from collections.abc import Sequence
from dataclasses import replace

from plainleaf.papers.blocks import (
    Block,
    Cell,
    Heading,
    Isolate,
    Page,
    Paragraph,
    Section,
    Table,
    Text,
)


def cover(
    like: Page, printed: Sequence[tuple[str, str]], left_out: Sequence[tuple[int, str, str]]
) -> Page:
    """A cover for pages like this one.

    ``printed`` has name and language of each person in order; ``left_out`` the line in the list,
    the name and the reason of each who got no paper.
    """
    inside = Table(
        ((Text("Number"),), (Text("Name"),), (Text("Language"),)),
        tuple(_row(str(n), name, tag) for n, (name, tag) in enumerate(printed, 1)),
    )
    outside = Table(
        ((Text("Line"),), (Text("Name"),), (Text("Reason"),)),
        tuple(_row(str(line), name, reason) for line, name, reason in left_out),
    )
    blocks: list[Block] = [
        Heading((Text(f"For the desk: {like.paper}"),), 1),
        Paragraph((Text(f"{len(printed)} people, in the order of the list."),)),
        Section("printed", None, (inside,)),
    ]
    if left_out:
        blocks.append(Section("left-out", Heading((Text("No paper"),), 2), (outside,)))
    return replace(
        like,
        paper="cover",
        title=f"For the desk: {like.paper}",
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


def _row(*cells: str) -> tuple[Cell, ...]:
    return tuple(Cell((Paragraph((Isolate(cell),)),)) for cell in cells)
