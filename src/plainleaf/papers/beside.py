"""A form in the reader's language with the clinic's language beside it, as one page.

Rule LA-13: the numbering is the same on both sides, so that the clinician can follow what is
signed. Texts stand in both languages; what is written on or ticked stands once, with a label in
both: nobody should find two boxes for one answer.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from plainleaf.errors import LanguageProblem, PaperProblem
from plainleaf.language.catalogs import SOURCE
from plainleaf.papers.blocks import (
    Beside,
    Block,
    Blocks,
    Box,
    Break,
    Bullets,
    Cell,
    Choices,
    Code,
    Field,
    Fields,
    Heading,
    InLanguage,
    Inline,
    Inlines,
    Isolate,
    Page,
    Paragraph,
    PeopleChart,
    Section,
    Table,
    inner_blocks,
    plain,
)
from plainleaf.papers.catalogue import PAPERS, Paper
from plainleaf.papers.code import of_both
from plainleaf.papers.helping import ELEMENT as HELP

_NOTICE = "draft-notice"


def may_stand_beside(paper: Paper, language: str, other: str) -> None:
    """Raises PaperProblem when a paper is no form, LanguageProblem when both languages are one."""
    if paper.shape != "form":
        forms = ", ".join(one.id for one in PAPERS.values() if one.shape == "form")
        raise PaperProblem(
            f"'{paper.id}' is not a form, so it is made in one language only.",
            "Two languages on one page make it twice as long, and only what is signed needs both.",
            f"Leave '--beside' out, or choose one of: {forms}.",
        )
    if language == other:
        raise LanguageProblem(
            f"The form is in '{language}' already, and '{other}' would stand beside it.",
            "The same words twice help nobody and make the form twice as long.",
            "Give the reader's language with '--language' and the clinic's with '--beside'.",
        )


def joined(first: Page, second: Page) -> Page:
    """One page from a form in two languages; letterhead, sources and labels are of the first.

    Raises PaperProblem when the two do not have the same parts in the same order.
    """
    if [(one.number, one.source) for one in first.sources] != [
        (one.number, one.source) for one in second.sources
    ]:
        raise _different(first, second, "their lists of sources")
    code = of_both(first.code, second.code)
    title, *rest = _Joiner(first, second).blocks(_without_notice(first), _without_notice(second))
    return replace(
        first,
        blocks=(
            title,
            *_notice(first, second),
            *rest,
            *filter(_is_help, first.blocks),
        ),
        foot=tuple(_both_feet(one, first, second, code) for one in first.foot),
        code=code,
        most_pages=_most_pages(first.most_pages),
    )


def _most_pages(alone: int) -> int:
    """Half as many again as in one language, in whole sheets; 0, no limit, stays 0.

    The texts are twice as many, but they stand in the margin too, and what is written on stands
    once: every form of ours fits, and one that does not is set with room again.
    """
    return max(2, alone * 3 // 4 * 2) if alone else 0


def _different(first: Page, second: Page, what: str) -> PaperProblem:
    return PaperProblem(
        f"'{first.paper}' in '{first.language}' and in '{second.language}' differ in {what}.",
        "Whoever signs one side would not sign what the other side says.",
        "Let the template have the same parts, in the same order, in every language.",
    )


def _is_notice(block: Block) -> bool:
    return isinstance(block, Section) and block.element == _NOTICE


def _without_notice(page: Page) -> Blocks:
    return tuple(block for block in page.blocks if not (_is_notice(block) or _is_help(block)))


def _is_help(block: Block) -> bool:
    """The offer of help is in many languages already and stands once, at the end."""
    return isinstance(block, Section) and block.element == HELP


def _notice(first: Page, second: Page) -> Blocks:
    """The notice on a draft once, each sentence in each language once."""
    told: dict[str, Paragraph] = {}
    for page in (first, second):
        for one in inner_blocks(Section(_NOTICE, None, tuple(filter(_is_notice, page.blocks)))):
            for line in inner_blocks(one):
                assert isinstance(line, Paragraph)
                if not line.language and page is second:
                    line = replace(line, language=page.language, direction=page.direction)
                told.setdefault(plain(line.inlines), line)
    # The language of the page comes first and the source language last, as in one language.
    lines = sorted(
        told.values(),
        key=lambda line: (line.language not in ("", first.language), line.language == SOURCE),
    )
    return (Section(_NOTICE, None, tuple(lines)),) if lines else ()


def _both_feet(inline: Inline, first: Page, second: Page, code: str) -> Inline:
    """The version in the foot names both languages, and the code is that of the joined page."""
    if not isinstance(inline, Isolate):
        return inline
    if inline.text.endswith(f"({first.language})"):
        return replace(inline, text=f"{inline.text[:-1]}, {second.language})")
    return replace(inline, text=code) if inline.text == first.code else inline


def _shape(block: Block) -> tuple[object, ...]:
    """What must be the same in both languages about a block."""
    match block:
        case Section() | Box():
            return (block.element,)
        case Heading():
            return (block.level, block.number)
        case Bullets():
            return (len(block.items), block.ordered)
        case Table():
            return tuple(tuple(cell.element for cell in row) for row in block.rows)
        case Fields():
            return tuple(bool(one.value) for one in block.fields)
        case Choices():
            return (len(block.choices),)
        case PeopleChart():
            return tuple((part.count, part.fill) for part in block.parts)
        case Code():
            return (block.payload,)
        case Paragraph():
            return (block.role,)
        case Beside():
            return (block.language,)


@dataclass(frozen=True)
class _Joiner:
    """Joins the blocks of two pages, pair by pair."""

    page: Page
    other: Page

    def blocks(self, first: Blocks, second: Blocks) -> Blocks:
        """Texts that follow each other become one pair of columns; all else stands once."""
        found: list[Block] = []
        texts: list[tuple[Block, Block]] = []
        for pair in self._pairs(first, second):
            once = self._once(*pair)
            if once is None:
                texts.append(pair)
                continue
            found += [*self._beside(texts), once]
            texts = []
        return (*found, *self._beside(texts))

    def _pairs(self, first: Blocks, second: Blocks) -> list[tuple[Block, Block]]:
        for one, other in zip(first, second, strict=False):
            if (type(one), _shape(one)) != (type(other), _shape(other)):
                names = [block.element for block in (one, other) if isinstance(block, Section)]
                raise _different(self.page, self.other, _named(names, one))
        if len(first) != len(second):
            longer = max(first, second, key=len)[min(len(first), len(second))]
            names = [longer.element] if isinstance(longer, Section | Box) else []
            raise _different(self.page, self.other, _named(names, longer))
        return list(zip(first, second, strict=True))

    def _beside(self, texts: list[tuple[Block, Block]]) -> Blocks:
        if not texts:
            return ()
        first, second = zip(*texts, strict=True)
        return (self._columns(first, second),)

    def _columns(self, first: Blocks, second: Blocks) -> Beside:
        return Beside(first, second, self.other.language, self.other.direction, self.other.script)

    def _once(self, first: Block, second: Block) -> Block | None:
        """A block that stands once with the words of both languages; None for a text."""
        match first, second:
            case Section(), Section():
                inside = self.blocks(inner_blocks(first), inner_blocks(second))
                return Section(first.element, None, inside)
            case Box(), Box():
                return Box(first.element, self.blocks(first.blocks, second.blocks))
            case Choices(), Choices():
                return Choices(self._labels(first.choices, second.choices))
            case Fields(), Fields():
                pairs = zip(first.fields, second.fields, strict=True)
                return Fields(tuple(self._field(one, other) for one, other in pairs))
            case Table(), Table():
                return self._table(first, second)
        return None

    def _field(self, first: Field, second: Field) -> Field:
        same = plain(first.value) == plain(second.value)
        value = first.value if same else self._label(first.value, second.value)
        return Field(self._label(first.label, second.label), value)

    def _table(self, first: Table, second: Table) -> Table:
        """One table, so that a row can be followed: each cell says its words in both languages."""
        rows = tuple(
            tuple(
                Cell((self._columns(one.blocks, other.blocks),), one.element)
                for one, other in zip(*pair, strict=True)
            )
            for pair in zip(first.rows, second.rows, strict=True)
        )
        return Table(self._labels(first.header, second.header), rows)

    def _labels(self, first: Iterable[Inlines], second: Iterable[Inlines]) -> tuple[Inlines, ...]:
        return tuple(self._label(one, other) for one, other in zip(first, second, strict=True))

    def _label(self, first: Inlines, second: Inlines) -> Inlines:
        return (*first, Break(), InLanguage(second, self.other.language, self.other.direction))


def _named(elements: list[str], block: Block) -> str:
    """What differs, for a sentence: the elements, or else the kind of block."""
    if elements:
        return f"the part {' and '.join(map(repr, elements))}"
    return f"a block of the kind '{type(block).__name__}'"
