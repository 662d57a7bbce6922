"""The deep middle: a strict template, the facts and a language become a finished page."""

import re
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from jinja2 import TemplateError

from plainleaf.errors import FactsProblem, LanguageProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language import phrases
from plainleaf.language.catalogs import SOURCE, Catalog, Key, Review, Standing, catalog, standing
from plainleaf.language.locales import language
from plainleaf.office.contradictions import stop_if_untrue
from plainleaf.papers import covered, helping, insets, saying
from plainleaf.papers.area import AreaFacts
from plainleaf.papers.around import UNSPACED, foot, inlines_of, letterhead, source_note
from plainleaf.papers.blocks import (
    Beside,
    Block,
    Blocks,
    Box,
    Bullets,
    Cell,
    Choices,
    Cite,
    Code,
    Field,
    Fields,
    Heading,
    Inline,
    Inlines,
    Labels,
    Link,
    Page,
    Paragraph,
    PeopleChart,
    Section,
    Strong,
    Table,
    Text,
    plain,
    walk,
)
from plainleaf.papers.catalogue import PAPERS, Paper
from plainleaf.papers.code import stamp
from plainleaf.papers.facts import PracticeFacts, ResultFacts, VisitFacts, missing
from plainleaf.papers.markup import parse
from plainleaf.papers.order import Order
from plainleaf.papers.post import address_lines, envelope
from plainleaf.papers.quoting import Citations, Figures, Stance, stances
from plainleaf.papers.template import (
    Template,
    environment,
    folder_of_papers,
    not_there,
    template,
    worded_in,
)

_SENTENCE_END = re.compile(r"[.!?\u061f\u06d4\u0964\u3002](?=\s|$)")
"""Where a sentence may end: in Latin, Arabic, Indic and Chinese or Japanese punctuation."""

OLDEST_YEARS = 10
"""A country's own figures that are older than this give way to those of the world."""

_SPACE_AFTER_STOP = re.compile(r"(?<=[\u3002\uff01\uff1f\uff1a\uff1b\uff0c\u3001])[ ]+")
"""Scripts that set no space after a full stop or a comma: templates part sentences by spaces."""

_FIRST_STOP = re.compile(r"^\.(?!\.)")


def compose(
    order: Order,
    tables: Tables,
    signatures: Iterable[Review] = (),
    templates: Path | None = None,
) -> Page:
    """The finished page of an order.

    Raises FactsProblem when facts are missing (all are listed) or deny what the paper says,
    LanguageProblem when the language cannot say it or a form to be signed is only a draft,
    EvidenceProblem when a number cannot be had, PaperProblem when the template is wrong.
    """
    _facts_given(order)
    words = catalog(language(order.language, order.practice.country, order.locales), order.locales)
    told = template(templates or folder_of_papers(), order.paper.id)
    citations = Citations(tables)

    def stands(paper: Paper, tongue: Catalog) -> Standing:
        return stands_in(paper, tongue, tables, signatures, templates)

    draft = stands(order.paper, words).draft
    if order.paper.signed and draft:
        _draft_allowed(order, words)
    offered = helping.lines(order, lambda one: stands(PAPERS[helping.ELEMENT], one).draft)
    helping.refuse_drafts(order, offered)
    blocks = parse(_render(order, told, words, citations, offered), order.paper.id)
    blocks = tuple(_map_runs(block, _one_stop) for block in _cited_once(blocks))
    if words.language.script in UNSPACED:
        blocks = tuple(_map_runs(block, _without_spaces) for block in blocks)
    if order.paper.shape == "form":
        blocks = _numbered(blocks)
    blocks += helping.section(order, words, offered)
    if draft:
        blocks = _with_notice(blocks, words, order.paper)
    elif order.paper.id == helping.ELEMENT:
        blocks += helping.draft_mark(offered)
    blocks += _old_figures(order, words, citations)
    code = _code(order, told, words, citations, draft, offered)
    page = _page(order, blocks, words, citations, code)
    return replace(page, most_pages=helping.most_pages(order.paper, offered))


def _code(
    order: Order,
    told: Template,
    words: Catalog,
    citations: Citations,
    draft: bool,
    offered: list[helping.HelpLine],
) -> str:
    help_texts = tuple((one.tag, one.words.digest(one.said)) for one in offered)
    return stamp(
        covered.wording(order.paper, told, words, citations, draft, help_texts),
        covered.figures(citations),
        covered.facts(order, told, tuple(one.tag for one in offered)),
    )


def stands_in(
    paper: Paper,
    words: Catalog,
    tables: Tables,
    signatures: Iterable[Review],
    templates: Path | None = None,
) -> Standing:
    """How the text of a paper stands in a language: signed, by whom, or a draft."""

    def messages() -> frozenset[Key]:
        told = template(templates or folder_of_papers(), paper.id)
        return saying.of_paper(told, paper, tables.positions)

    return standing(words, paper.id, signatures, messages)


def _facts_given(order: Order) -> None:
    lacking = missing(order.paper.needs, order.visit)
    if lacking:
        raise FactsProblem(
            f"The paper '{order.paper.id}' lacks {', '.join(lacking)}.",
            "Without it the paper would have a gap in the place that matters most.",
            "Give these facts with '--visit FILE', or add the columns to the list.",
        )
    if order.visit:
        stop_if_untrue(order.paper.id, order.visit, order.today)


def _draft_allowed(order: Order, words: Catalog) -> None:
    if not order.practice.forms.allow_draft_translations:
        name = words.language.english_name
        raise LanguageProblem(
            f"The {name} text of '{order.paper.id}' is a draft: no qualified translator signed it.",
            "What somebody signs must be exact in the language in which they read it.",
            "Have it reviewed (locales/reviews.toml), or set 'forms.allow_draft_translations'"
            " in practice.toml if your local rules let you use a draft with a notice.",
        )


class _Later:
    """The day by which the cited sources need a look: known when everything above is written."""

    def __init__(self, words: Catalog, citations: Citations) -> None:
        self.words, self.citations = words, citations

    def __html__(self) -> str:
        day = self.citations.review_by()
        return insets.moment(self.words.language.short_date(day), day.isoformat())


def _render(
    order: Order,
    told: Template,
    words: Catalog,
    citations: Citations,
    offered: list[helping.HelpLine],
) -> str:
    """The markup of a paper. What breaks in a fact is our own fault and is not caught here."""
    file = environment(told.folder).get_template(f"{order.paper.id}.xml")
    values = _values(order, words, citations)
    # A value that nobody asks for is not worded: its message stops no paper that does not say it.
    asked = {name: make() for name, make in values.items() if name in told.values}
    try:
        with worded_in(words):
            return file.render(asked, language_help=offered)
    except TemplateError as error:
        raise not_there(order.paper.id, error) from error


def _values(order: Order, words: Catalog, citations: Citations) -> dict[str, Callable[[], Any]]:
    """What a template may be given, by name."""
    country, results = order.practice.country, order.results
    oldest = order.today.year - OLDEST_YEARS
    today = words.language.short_date(order.today)

    def positions(*topics: str, own: str = "") -> list[Stance]:
        return stances(topics, own, country, words, citations)

    def current() -> bool:
        return bool(citations.cited) and citations.review_by() >= order.today

    return {
        "practice": lambda: PracticeFacts(order.practice, words),
        "visit": lambda: VisitFacts(order.visit, order.practice, words, order.today),
        "area": lambda: AreaFacts(order.visit, words),
        "figures": lambda: Figures(citations.tables, words, citations, country, oldest),
        "positions": lambda: positions,
        "results": lambda: ResultFacts(results, words) if results and results.printable else None,
        "today": lambda: insets.moment(today, order.today.isoformat()),
        "review_by": lambda: _Later(words, citations),
        "numbers_current": lambda: current,
        "code_alt": lambda: phrases.code_alt(words),
        "day_form": lambda: order.day_form,
    }


_EMPHASIS = (Strong, Link)


def _cited_once(blocks: Blocks) -> Blocks:
    """Each source marked once in a run of text, after the sentence that used it last."""
    return tuple(_map_runs(block, _marks_after_sentences) for block in blocks)


def _marks_after_sentences(run: Inlines) -> Inlines:
    """A mark between a number and its noun disturbs reading: set it after the sentence's end."""
    last = {one.number: place for place, one in enumerate(run) if isinstance(one, Cite)}
    waiting: list[Inline] = []
    found: list[Inline] = []
    for place, inline in enumerate(run):
        if isinstance(inline, Cite):
            if last[inline.number] == place:
                waiting.append(inline)
        elif waiting and isinstance(inline, Text) and (end := _SENTENCE_END.search(inline.text)):
            before, after = inline.text[: end.end()], inline.text[end.end() :]
            found += [Text(before), *waiting, *((Text(after),) if after else ())]
            waiting = []
        else:
            found.append(inline)
    return tuple(found + waiting)


def _one_stop(run: Inlines) -> Inlines:
    """A value that ends with a full stop, such as a time in "p.m.", ends its sentence with it."""
    found: list[Inline] = []
    for inline in run:
        if isinstance(inline, _EMPHASIS):
            inline = replace(inline, inlines=_one_stop(inline.inlines))
        elif isinstance(inline, Text) and found and plain((found[-1],)).endswith("."):
            inline = Text(_FIRST_STOP.sub("", inline.text))
        if not isinstance(inline, Text) or inline.text:
            found.append(inline)
    return tuple(found)


def _without_spaces(run: Inlines) -> Inlines:
    return tuple(
        replace(one, text=_SPACE_AFTER_STOP.sub("", one.text)) if isinstance(one, Text) else one
        for one in run
    )


def _map_runs(block: Block, change: Callable[[Inlines], Inlines]) -> Block:
    """The block with every run of text in it changed."""

    def inside(blocks: Blocks) -> Blocks:
        return tuple(_map_runs(one, change) for one in blocks)

    match block:
        case Heading() | Paragraph():
            return replace(block, inlines=change(block.inlines))
        case Bullets():
            return replace(block, items=tuple(map(change, block.items)))
        case Choices():
            return replace(block, choices=tuple(map(change, block.choices)))
        case Fields():
            return Fields(
                tuple(Field(change(one.label), change(one.value)) for one in block.fields)
            )
        case Table():
            rows = tuple(
                tuple(Cell(inside(cell.blocks), cell.element) for cell in row) for row in block.rows
            )
            return Table(tuple(map(change, block.header)), rows)
        case Section() | Box():
            return replace(block, blocks=inside(block.blocks))
        case Beside():
            return replace(block, first=inside(block.first), second=inside(block.second))
        case Code():
            return replace(block, caption=change(block.caption))
        case PeopleChart():
            parts = tuple(replace(part, label=change(part.label)) for part in block.parts)
            return replace(block, parts=parts)


def _numbered(blocks: Blocks) -> Blocks:
    """Number the headings of a form, the same in every language, so that two copies match."""
    found: list[Block] = []
    number = 0
    for block in blocks:
        if isinstance(block, Section) and block.heading:
            number += 1
            block = replace(block, heading=replace(block.heading, number=number))
        found.append(block)
    return tuple(found)


def _with_notice(blocks: Blocks, words: Catalog, paper: Paper) -> Blocks:
    """Add the notice on a draft translation, in both languages: first on a form, else last."""
    say = saying.notice(paper)
    if say is None:
        return blocks
    own, english = say(words), say(catalog(language(SOURCE)))
    notice = Section(
        "draft-notice",
        None,
        (
            Paragraph((Text(own),), "notice"),
            Paragraph((Text(english),), "notice", SOURCE, "ltr"),
        ),
    )
    if paper.shape == "form":
        return (blocks[0], notice, *blocks[1:])
    return (*blocks, notice)


def _old_figures(order: Order, words: Catalog, citations: Citations) -> Blocks:
    """A notice when the day to look for a newer edition of a cited source has passed."""
    years = sorted(
        {source.published[:4] for source, _ in citations.cited if source.review_by < order.today}
    )
    if not years:
        return ()
    shown = insets.moment(words.language.joined(years), "/".join(years))
    notice = insets.fill(phrases.old_figures(words), {"year": shown})
    return (Section("old-figures", None, (Paragraph(inlines_of(notice), "notice"),)),)


def _page(order: Order, blocks: Blocks, words: Catalog, citations: Citations, code: str) -> Page:
    title = next(
        plain(block.inlines)
        for block in walk(blocks)
        if isinstance(block, Heading) and block.level == 1
    )
    tongue = words.language
    return Page(
        paper=order.paper.id,
        title=title,
        language=tongue.tag,
        direction=tongue.direction,
        script=tongue.script,
        shape=order.paper.shape,
        paper_size=order.practice.paper_size,
        large_print=order.large_print,
        letterhead=letterhead(order.practice, words),
        blocks=blocks,
        sources=tuple(
            source_note(number, source, vias, words)
            for number, (source, vias) in enumerate(citations.cited, 1)
        ),
        foot=foot(order, words, citations, code),
        labels=_labels(order, blocks, words, citations),
        day=order.today.isoformat(),
        envelope=envelope(order.paper, order.practice, order.visit),
        address=tuple(
            map(inlines_of, address_lines(order.paper, order.practice, order.visit, words))
        ),
        code=code,
        card=order.paper.card,
    )


def _labels(order: Order, blocks: Blocks, words: Catalog, citations: Citations) -> Labels:
    """The words that writers set around these blocks; empty where there is nothing to set."""
    kinds = {type(block) for block in walk(blocks)}
    needed = {
        "sources": citations.cited,
        "cited": citations.cited,
        "page_of": order.paper.shape != "card",
        "empty_line": Fields in kinds,
        "tick_box": Choices in kinds,
    }
    said = {name: phrases.page_words(words, name) if need else "" for name, need in needed.items()}
    if said["page_of"]:
        said["page_of"] %= {"page": "{page}", "pages": "{pages}"}
    return Labels(**said)
