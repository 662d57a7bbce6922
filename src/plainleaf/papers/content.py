"""What a page must say in full and evenly: both sides, experts, sources, signs, numbers."""

import re
from collections.abc import Iterator

from plainleaf.errors import PaperProblem
from plainleaf.language.catalogs import SOURCE
from plainleaf.papers.blocks import (
    NOTHING,
    Blocks,
    Box,
    Cell,
    Cite,
    Figure,
    Heading,
    Inline,
    Isolate,
    Moment,
    Paragraph,
    PeopleChart,
    Section,
    Table,
    Text,
    flat,
    runs,
    walk,
    words_of,
)
from plainleaf.papers.subject import Subject, counts

EVEN = 0.75
"""The shorter side has at least this share of the words of the longer one: 25 per cent apart."""

MOST_TITLE = 65
"""Characters of a title in English, in which it is written (a public health style guide)."""

MOST_TITLE_TRANSLATED = 90
"""A translation often runs a fifth longer than the English, and a short text longer still."""

MOST_TITLE_WITHOUT_SPACES = 35
"""In scripts that write a word in one or two characters."""

_UNSPACED = ("Hans", "Hant", "Jpan", "Thai", "Laoo", "Khmr", "Mymr")
_DASHED = re.compile(r"\d\s*[\u2012-\u2015-]\s*\d")
_PARTS_OF_A_STUDY = 4


def sides_even(subject: Subject) -> None:
    """IPD-C1 CCI-19: what may help and what can go wrong are told in equal length, side by side."""
    for good, bad in _sides(subject):
        sizes = sorted((_length(subject, good), _length(subject, bad)))
        if sizes[0] < EVEN * sizes[1]:
            raise _uneven(subject, f"with {sizes[0]} words against {sizes[1]}")
        if _level(good) != _level(bad):
            raise _uneven(subject, "under headings of different size")


def _sides(subject: Subject) -> Iterator[tuple[Blocks, Blocks]]:
    """The pairs of sides on a page: two elements, or the two columns of a table."""
    found = subject.parts
    if "benefit" in found and "risks" in found:
        yield found["benefit"], found["risks"]
    for block in walk(found.get("both-sides", ())):
        if isinstance(block, Table) and len(block.header) == 2:
            yield _column(block, 0), _column(block, 1)


def _column(table: Table, place: int) -> Blocks:
    cells: list[Cell] = [row[place] for row in table.rows]
    return tuple(block for cell in cells for block in cell.blocks)


def _length(subject: Subject, blocks: Blocks) -> int:
    words = words_of(blocks).split()
    return len("".join(words)) if subject.page.script in _UNSPACED else len(words)


def _level(blocks: Blocks) -> int:
    return next((block.level for block in walk(blocks) if isinstance(block, Heading)), 0)


def _uneven(subject: Subject, how: str) -> PaperProblem:
    return PaperProblem(
        f"{subject.where} tells what may help and what can go wrong {how}.",
        "The side with more words looks as if it had more weight.",
        "Tell both in about the same number of words, under headings of the same level.",
    )


def most_important_first(subject: Subject) -> None:
    """CCI-02 CCI-03 CF-05: what must be read first is in a box before the first heading."""
    wanted = {"key-message", "key-information"} & {one.name for one in subject.paper.elements}
    before: set[str] = set()
    for block in subject.page.blocks:
        if isinstance(block, Section) and block.heading:
            break
        if isinstance(block, Box):
            before.add(block.element)
    if wanted - before:
        raise PaperProblem(
            f"{subject.where} does not begin with the box '{min(wanted - before)}'.",
            "Many readers read the beginning only.",
            "Put the box before the first heading.",
        )


def title_short(subject: Subject) -> None:
    """STY-03: the title is short enough for the way the language is written."""
    page = subject.page
    most = MOST_TITLE if page.language == SOURCE else MOST_TITLE_TRANSLATED
    if page.script in _UNSPACED:
        most = MOST_TITLE_WITHOUT_SPACES
    if len(page.title) > most:
        raise PaperProblem(
            f"The title of {subject.where} has {len(page.title)} characters; {most} are the most.",
            "A long title is not read, and does not fit where titles are shown.",
            "Say it shorter.",
        )


def experts_quoted(subject: Subject) -> None:
    """CL-03 CF-14: what expert panels advise stands under their name, year and source."""
    for name in {"experts"}.intersection(subject.asked_for_by("CL-03", "CF-14")):
        found = list(_inlines(subject.parts[name]))
        named = any(isinstance(one, Isolate) and one.origin == "position" for one in found)
        dated = any(isinstance(one, Moment) for one in found)
        if not (named and dated and any(isinstance(one, Cite) for one in found)):
            raise PaperProblem(
                f"{subject.where} quotes no expert panel in '{name}'.",
                "Readers must learn that panels advise against relying on the light.",
                'Ask for positions("light-look") there.',
            )


def other_formats_offered(subject: Subject) -> None:
    """LA-12: the offer of large print, other languages and interpreters is set larger."""
    owed = subject.asked_for_by("LA-12")
    offers = [one for one in subject.blocks if isinstance(one, Paragraph) and one.role == "offer"]
    if owed and not offers:
        raise PaperProblem(
            f"{subject.where} makes no offer of other formats in larger letters.",
            "Whoever needs large print cannot read an offer in small letters.",
            'Include parts/questions.xml, or put the offer into <p role="offer">.',
        )


def weeks_agree(subject: Subject) -> None:
    """CL-16: the signs to call about name the practice's one number of weeks, on every paper."""
    for name in (one for one in subject.asked_for_by("CL-16") if one.startswith("call")):
        found = set(counts(subject.parts[name]))
        weeks = subject.order.practice.look.sore_weeks if subject.order else None
        wanted = {subject.number(weeks)} if weeks is not None else found
        if len(found) != 1 or found != wanted:
            raise PaperProblem(
                f"{subject.where} names {' and '.join(sorted(found)) or 'no number of'} weeks"
                f" in '{name}'.",
                "Two papers that name different times leave a reader in doubt when to call.",
                "Ask for practice.sore_weeks there, and for no other number.",
            )


def sources_listed(subject: Subject) -> None:
    """IPD-C2: every mark leads to a source at the foot, and every source there has its mark."""
    marks = {one.number for one in subject.inlines if isinstance(one, Cite)}
    notes = {note.number for note in subject.page.sources if note.text.strip()}
    if marks != notes:
        raise PaperProblem(
            f"{subject.where} marks the sources {sorted(marks)} and lists {sorted(notes)}.",
            "A reader could not find where a statement comes from.",
            "Ask for figures and positions through the template, so that each is cited.",
        )


def dated(subject: Subject) -> None:
    """IPD-C3 STY-09: the foot says on which day the page was made."""
    days = {one.iso for one in flat(subject.page.foot) if isinstance(one, Moment)}
    if subject.page.day not in days:
        raise PaperProblem(
            f"{subject.where} does not say when it was made.",
            "Nobody could tell whether a newer one exists.",
            "Put the day back into the foot (papers/compose.py).",
        )


def accuracy_whole(subject: Subject) -> None:
    """IPD-28 NUM-11 NUM-13: a study is drawn in four parts, each filled in its own way."""
    for block in subject.blocks:
        if isinstance(block, PeopleChart):
            fills = {part.fill for part in block.parts}
            if len(fills) != len(block.parts) or len(fills) != _PARTS_OF_A_STUDY:
                raise PaperProblem(
                    f"A chart of {subject.where} does not have four parts that look different.",
                    "Found, missed, false alarms and cleared belong together: without one of them"
                    " the light looks better or worse than it is.",
                    "Draw all four parts of the study.",
                )


def ranges_in_words(subject: Subject) -> None:
    """NUM-06: a range is said with a word, not with a dash."""
    for run in subject.runs:
        words = "".join(map(_number_or_words, run))
        if found := _DASHED.search(words):
            raise PaperProblem(
                f"{subject.where} has the range '{found.group()}'.",
                "A dash between numbers is read as a minus, or not at all.",
                "Say the range with a word, such as 'to'.",
            )


def no_gap(subject: Subject) -> None:
    """CCI-14: no sentence has a gap where a value was not given, such as 'come back on .'."""
    for inline in subject.inlines:
        if isinstance(inline, Isolate) and inline.origin == NOTHING:
            raise PaperProblem(
                f"A sentence of {subject.where} lacks a value that was not given.",
                "A gap can change what a sentence says, and somebody may come on no day at all.",
                "Name the fact among the needs of the paper, or leave the sentence out without it.",
            )


def _number_or_words(inline: Inline) -> str:
    """The words of an inline; a value that is no bare number, such as a phone, is left out."""
    if isinstance(inline, Text | Figure):
        return inline.text
    if isinstance(inline, Isolate):
        return inline.text if inline.text.isnumeric() else "\ufffc"
    return "\ufffc" if isinstance(inline, Moment) else ""


def _inlines(blocks: Blocks) -> Iterator[Inline]:
    for block in walk(blocks):
        for run in runs(block):
            yield from flat(run)
