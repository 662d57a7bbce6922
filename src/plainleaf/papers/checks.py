"""What must hold before a page may leave; a page that fails is not written."""

import re
from collections.abc import Collection, Iterator
from functools import cache
from pathlib import Path

from plainleaf import paths
from plainleaf.errors import PaperProblem
from plainleaf.papers.blocks import (
    Box,
    Figure,
    Inline,
    Isolate,
    Moment,
    Page,
    PeopleChart,
    Section,
    Table,
    Text,
    flat,
    plain,
    runs,
    walk,
    words_of,
)
from plainleaf.papers.catalogue import Paper


def check(
    page: Page, paper: Paper, figure_ids: Collection[str], locales: Path | None = None
) -> None:
    """Raises PaperProblem for the first rule that the page breaks."""
    _elements_present(page, paper)
    _every_number_traced(page, figure_ids)
    _charts_agree(page)
    if paper.exposed:
        _no_health_words(page, locales or paths.locales())


def elements(page: Page) -> dict[str, str]:
    """The elements on a page with the words in each."""
    found: dict[str, str] = {}
    for block in walk(page.blocks):
        if isinstance(block, Section | Box):
            found[block.element] = words_of((block,))
        if isinstance(block, Table):
            for row in block.rows:
                for cell in row:
                    if cell.element:
                        before = found.get(cell.element, "")
                        found[cell.element] = f"{before}\n{words_of(cell.blocks)}"
    return found


def _elements_present(page: Page, paper: Paper) -> None:
    found = elements(page)
    for element in paper.elements:
        if not re.search(r"\w", found.get(element.name, "")):
            raise PaperProblem(
                f"'{paper.id}' in '{page.language}' lacks the part '{element.name}'"
                f" ({', '.join(element.rules)}).",
                "A reader could decide or wait without something that they have a right to know.",
                f'Put <section element="{element.name}"> back into the template, with its text.',
            )


def _every_number_traced(page: Page, figure_ids: Collection[str]) -> None:
    """No numeral without an origin: a figure of the tables, the practice, the visit, or a date."""
    for inline in _inlines(page):
        if isinstance(inline, Text) or (isinstance(inline, Isolate) and not inline.origin):
            if any(map(str.isnumeric, inline.text)):
                raise PaperProblem(
                    f"'{page.paper}' in '{page.language}' has a typed number:"
                    f" '{inline.text.strip()[:60]}'.",
                    "A number on a paper must come from a figure, the practice or the visit.",
                    "Ask the template for the figure or the setting instead.",
                )
        elif isinstance(inline, Figure):
            unknown = set(references(inline.figure)).difference(figure_ids)
            if unknown or not page.sources:
                raise PaperProblem(
                    f"'{page.paper}' prints '{inline.text}', which stands for no figure that is"
                    f" known and cited ({inline.figure}).",
                    "A reader must be able to see where a number comes from.",
                    "Ask for figures through the template, so that each is cited.",
                )


def _inlines(page: Page) -> Iterator[Inline]:
    blocks = (run for block in walk(page.blocks) for run in runs(block))
    for run in (*blocks, *page.letterhead, page.foot):
        yield from flat(run)


def references(figure: str) -> list[str]:
    """The ids of the figures that a printed number was made from."""
    return re.split(r" [-/] ", figure)


def _charts_agree(page: Page) -> None:
    """The icons of each part of a chart are as many as its legend says; one denominator a page."""
    totals = {block.total for block in walk(page.blocks) if isinstance(block, PeopleChart)}
    if len(totals) > 1:
        raise PaperProblem(
            f"'{page.paper}' counts people out of {' and out of '.join(map(str, sorted(totals)))}.",
            "Readers compare the first numbers they see, and these do not compare.",
            "Draw all charts of a paper out of the same number of people.",
        )
    for block in walk(page.blocks):
        if isinstance(block, PeopleChart):
            for part in block.parts:
                told = [one.value for one in flat(part.label) if isinstance(one, Figure)]
                if told[:1] != [str(part.count)]:
                    raise PaperProblem(
                        f"A chart of '{page.paper}' draws {part.count} people and says {told}.",
                        "A picture that disagrees with its words misleads.",
                        "Take both from the same value in the template.",
                    )


@cache
def exposed_words(folder: Path, language: str) -> tuple[str, ...]:
    """Words that no exposed surface may carry in a language; a line each, # for remarks.

    Raises PaperProblem when the language has no list.
    """
    file = folder / language.replace("-", "_") / "exposed_words.txt"
    if not file.is_file():
        raise PaperProblem(
            f"There is no list of health words for '{language}'.",
            "A card could betray why somebody comes.",
            f"Add locales/{file.parent.name}/exposed_words.txt.",
        )
    lines = (line.partition("#")[0].strip() for line in file.read_text("utf-8").splitlines())
    return tuple(line.casefold() for line in lines if line)


def _no_health_words(page: Page, locales: Path) -> None:
    surface = "\n".join(
        [page.title, words_of(page.blocks), *map(plain, page.letterhead), plain(page.foot)]
    ).casefold()
    for word in exposed_words(locales, page.language):
        if re.search(rf"(?<!\w){re.escape(word)}", surface):
            raise PaperProblem(
                f"'{page.paper}' in '{page.language}' carries the health word '{word}'.",
                "Anybody may see this surface, and it must not betray the reason for the visit.",
                "Take the word out of the text, or of the name in practice.toml.",
            )


def trace(page: Page) -> list[tuple[str, str, str]]:
    """Every number on a page: as printed, what kind it is, and what it stands for."""
    found: list[tuple[str, str, str]] = []
    for inline in _inlines(page):
        if isinstance(inline, Figure):
            found.append((inline.text, "figure", inline.figure))
        elif isinstance(inline, Moment):
            found.append((inline.text, "date", inline.iso))
        elif isinstance(inline, Isolate) and any(char.isnumeric() for char in inline.text):
            found.append((inline.text, inline.origin, inline.text))
    return found
