"""The deep middle: a strict template, the facts and a language become a finished page."""

import hashlib
import json
import re
from collections.abc import Callable, Iterable
from contextvars import ContextVar
from dataclasses import asdict, replace
from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined, TemplateError

from plainleaf import paths
from plainleaf.errors import FactsProblem, LanguageProblem, PaperProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language import phrases
from plainleaf.language.catalogs import SOURCE, Catalog, Review, catalog, is_reviewed
from plainleaf.language.extraction import of_paper
from plainleaf.language.locales import language
from plainleaf.office.contradictions import stop_if_untrue
from plainleaf.papers import covered, helping, insets
from plainleaf.papers.again import stamp
from plainleaf.papers.area import AreaFacts
from plainleaf.papers.around import foot, inlines_of, letterhead, source_note
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
from plainleaf.papers.catalogue import Paper
from plainleaf.papers.facts import PracticeFacts, ResultFacts, VisitFacts, missing
from plainleaf.papers.markup import parse
from plainleaf.papers.order import Order as Order
from plainleaf.papers.post import address_lines, envelope
from plainleaf.papers.quoting import Citations, Figures, Stance, stances

_SENTENCE_END = re.compile(r"[.!?\u061f\u06d4\u0964\u3002](?=\s|$)")
"""Where a sentence may end: in Latin, Arabic, Indic and Chinese or Japanese punctuation."""

OLDEST_YEARS = 10
"""A country's own figures that are older than this give way to those of the world."""

_UNSPACED = ("Hans", "Hant", "Jpan")
_SPACE_AFTER_STOP = re.compile(r"(?<=[\u3002\uff01\uff1f\uff1a\uff1b\uff0c\u3001])[ ]+")
"""Scripts that set no space after a full stop or a comma: templates part sentences by spaces."""

_FIRST_STOP = re.compile(r"^\.(?!\.)")

_WORDS: ContextVar[Catalog] = ContextVar("words")


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
    citations = Citations(tables)
    blocks = parse(_render(order, words, citations, templates), order.paper.id)
    reviewed = signed(order.paper.id, words, tables, signatures, templates)
    if order.paper.signed and not reviewed:
        _draft_allowed(order, words)
    blocks = tuple(_map_runs(block, _one_stop) for block in _cited_once(blocks))
    if words.language.script in _UNSPACED:
        blocks = tuple(_map_runs(block, _without_spaces) for block in blocks)
    if order.paper.shape == "form":
        blocks = _numbered(blocks)
    blocks += helping.section(order, words)
    if not reviewed and not order.paper.brief:
        blocks = _with_notice(blocks, words, order.paper)
    blocks += _old_figures(order, words, citations)
    code = _code(order, words, citations, reviewed, templates)
    return _page(order, blocks, words, citations, code)


def _code(
    order: Order, words: Catalog, citations: Citations, reviewed: bool, templates: Path | None
) -> str:
    told = covered.texts(_environment(templates or paths.templates() / "papers"), order.paper.id)
    about_visit = order.paper.signed or "visit" in told.strings
    counted = order.results and order.results.printable and "results" in told.strings
    return stamp(
        covered.wording(order.paper, told, words, citations, reviewed),
        covered.figures(citations),
        covered.facts(
            order.practice,
            order.visit if about_visit else None,
            order.language,
            order.large_print,
            order.today,
            order.results if counted else None,
        ),
    )


def signed(
    paper_id: str,
    words: Catalog,
    tables: Tables,
    signatures: Iterable[Review],
    templates: Path | None = None,
) -> bool:
    """Whether a qualified translator signed the text of a paper as it stands in a language."""
    folder = templates or paths.templates() / "papers"
    return is_reviewed(
        words, paper_id, signatures, lambda: of_paper(folder, paper_id, tables.positions)
    )


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


@cache
def _environment(folder: Path) -> Environment:
    """Templates read strictly. One environment serves every language: words come per call."""
    environment = Environment(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
    )
    environment.policies["ext.i18n.trimmed"] = True
    environment.install_gettext_callables(  # type: ignore[attr-defined]
        lambda message: _WORDS.get().gettext(message),
        lambda singular, plural, count: _WORDS.get().ngettext(singular, plural, count),
        newstyle=True,
        pgettext=lambda context, message: _WORDS.get().pgettext(context, message),
        npgettext=lambda c, s, p, n: _WORDS.get().npgettext(c, s, p, n),
    )
    return environment


class _Later:
    """The day by which the cited sources need a look: known when everything above is written."""

    def __init__(self, words: Catalog, citations: Citations) -> None:
        self.words, self.citations = words, citations

    def __html__(self) -> str:
        day = self.citations.review_by()
        return insets.moment(self.words.language.short_date(day), day.isoformat())


def _render(order: Order, words: Catalog, citations: Citations, templates: Path | None) -> str:
    country = order.practice.country

    def positions(topic: str) -> list[Stance]:
        return stances(citations.tables, topic, country, words, citations)

    folder = templates or paths.templates() / "papers"
    token = _WORDS.set(words)
    try:
        return (
            _environment(folder)
            .get_template(f"{order.paper.id}.xml")
            .render(
                practice=PracticeFacts(order.practice, words),
                visit=VisitFacts(order.visit, order.practice, words, order.today),
                area=AreaFacts(order.visit, words),
                figures=Figures(
                    citations.tables, words, citations, country, order.today.year - OLDEST_YEARS
                ),
                positions=positions,
                language_help=helping.lines(order),
                results=ResultFacts(order.results, words)
                if order.results and order.results.printable
                else None,
                today=insets.moment(
                    words.language.short_date(order.today), order.today.isoformat()
                ),
                review_by=_Later(words, citations),
                numbers_current=lambda: citations.review_by() >= order.today,
                code_alt=phrases.code_alt(words),
            )
        )
    except (TemplateError, KeyError, AttributeError) as error:
        raise PaperProblem(
            f"The template of '{order.paper.id}' asks for something that is not there: {error}.",
            "A gap in a sentence could change what it means.",
            "Correct the template; DEVELOPERS.md lists what a template may ask for.",
        ) from error
    finally:
        _WORDS.reset(token)


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
        if isinstance(inline, Strong | Link):
            inline = replace(inline, inlines=_one_stop(inline.inlines))
        elif isinstance(inline, Text) and found and plain((found[-1],)).endswith("."):
            inline = Text(_FIRST_STOP.sub("", inline.text))
        if inline != Text(""):
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
    card = paper.shape == "card"
    say = phrases.draft_card if card else phrases.draft_notice
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
    labels = phrases.page_words(words)
    labels["page_of"] = labels["page_of"] % {"page": "{page}", "pages": "{pages}"}
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
        labels=Labels(**labels),
        day=order.today.isoformat(),
        most_pages=order.paper.most_pages,
        envelope=envelope(order.paper, order.practice, order.visit),
        address=tuple(
            map(inlines_of, address_lines(order.paper, order.practice, order.visit, words))
        ),
        code=code,
        card=order.paper.card,
    )


def digest(page: Page) -> str:
    """A digest of everything on a page: the same page always has the same one."""
    content = json.dumps(asdict(page), sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(content.encode()).hexdigest()
