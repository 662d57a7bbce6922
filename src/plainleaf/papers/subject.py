"""What a check is given: a finished page, what was asked for, and views of the page's words."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import chain
from pathlib import Path

from plainleaf.language.locales import language
from plainleaf.papers.blocks import (
    Block,
    Blocks,
    Box,
    Code,
    Figure,
    Inline,
    Inlines,
    Isolate,
    Link,
    Moment,
    Page,
    PeopleChart,
    Section,
    Strong,
    Table,
    Text,
    flat,
    runs,
    walk,
)
from plainleaf.papers.catalogue import Paper
from plainleaf.papers.order import Order
from plainleaf.papers.phrasing import folded

_APART = "\ufffc"
"""Stands where a name or another value from outside stood, so that words do not run together."""


@dataclass(frozen=True)
class Subject:
    """One page under the checks. ``order`` is None for a page that is looked at on its own.

    What only the order tells, such as the practice's settings, cannot be compared then.
    """

    page: Page
    paper: Paper
    figure_ids: Collection[str]
    locales: Path
    order: Order | None = None

    @property
    def where(self) -> str:
        """The paper and its language, for the first sentence of a problem."""
        return f"'{self.page.paper}' in '{self.page.language}'"

    @cached_property
    def blocks(self) -> Blocks:
        """Every block of the page in reading order, each before what it holds."""
        return tuple(walk(self.page.blocks))

    @cached_property
    def runs(self) -> tuple[Inlines, ...]:
        """Every run of text in the blocks, each laid flat."""
        return tuple(tuple(flat(run)) for block in self.blocks for run in runs(block))

    @cached_property
    def parts(self) -> dict[str, Blocks]:
        """The blocks of each element on the page."""
        return parts(self.page)

    @cached_property
    def words(self) -> str:
        """Our own words on the page, folded, a run a line; names and sources are left out."""
        alts = [block.alt for block in self.blocks if isinstance(block, Code | PeopleChart)]
        return _lines_folded([*map(_own, self.runs), *alts], self.page.language)

    @cached_property
    def inlines(self) -> tuple[Inline, ...]:
        """Every inline of the page."""
        return (*chain.from_iterable(self.runs), *_around(self.page))

    def asked_for_by(self, *rules: str) -> list[str]:
        """The elements for which the catalogue names one of the rules, as far as they are there."""
        names = [one.name for one in self.paper.elements if not set(rules).isdisjoint(one.rules)]
        return [name for name in names if name in self.parts]

    def number(self, value: float) -> str:
        """A number as the language of the page writes it."""
        country = self.order.practice.country if self.order else ""
        return language(self.page.language, country, self.locales).number(value)


def inlines(page: Page) -> Iterator[Inline]:
    """Every inline of a page, of its letterhead and of its foot."""
    for run in (run for block in walk(page.blocks) for run in runs(block)):
        yield from flat(run)
    yield from _around(page)


def _around(page: Page) -> Iterator[Inline]:
    for run in (*page.letterhead, *page.address, page.foot):
        yield from flat(run)


def parts(page: Page) -> dict[str, Blocks]:
    """The blocks of each element: of a section or a box, or of the cells that carry it."""
    found: dict[str, Blocks] = {}
    for block in walk(page.blocks):
        for name, blocks in _named(block):
            found[name] = found.get(name, ()) + blocks
    return found


def _named(block: Block) -> Iterator[tuple[str, Blocks]]:
    if isinstance(block, Section | Box):
        yield block.element, (block,)
    elif isinstance(block, Table):
        for row in block.rows:
            yield from ((cell.element, cell.blocks) for cell in row if cell.element)


def own_words(blocks: Blocks, language: str) -> str:
    """Our own words in some blocks, folded for looking up: pictures' descriptions too."""
    lines: list[str] = []
    for block in walk(blocks):
        lines += (_own(flat(run)) for run in runs(block))
        if isinstance(block, Code | PeopleChart):
            lines.append(block.alt)
    return _lines_folded(lines, language)


def _lines_folded(lines: Iterable[str], language: str) -> str:
    return "\n".join(folded(line, language) for line in lines)


def _own(run: Iterable[Inline]) -> str:
    """Our own words in a run that is laid flat."""
    words = []
    for inline in run:
        if isinstance(inline, Text | Figure | Moment):
            words.append(inline.text)
        elif not isinstance(inline, Strong | Link):
            words.append(_APART)
    return "".join(words)


def counts(blocks: Blocks) -> Iterator[str]:
    """The practice's own numbers in some blocks; phone numbers, which are links, are not counts."""
    for block in walk(blocks):
        for run in runs(block):
            yield from (one.text for one in _outside_links(run) if _is_count(one))


def _outside_links(run: Inlines) -> Iterator[Isolate]:
    for inline in run:
        if isinstance(inline, Strong):
            yield from _outside_links(inline.inlines)
        elif isinstance(inline, Isolate):
            yield inline


def _is_count(one: Isolate) -> bool:
    return one.origin == "practice" and one.text.isnumeric()
