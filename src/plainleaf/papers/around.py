"""What stands around the text of a page: the letterhead, the list of sources, the last line."""

from functools import lru_cache

from markupsafe import Markup

from plainleaf.evidence.tables import Source
from plainleaf.language import phrases
from plainleaf.language.catalogs import Catalog
from plainleaf.office.practice import Practice
from plainleaf.papers import insets
from plainleaf.papers.blocks import Direction, Inline, Inlines, Isolate, Paragraph, SourceNote, Text
from plainleaf.papers.facts import PracticeFacts
from plainleaf.papers.markup import parse
from plainleaf.papers.order import Order
from plainleaf.papers.quoting import Citations

_KEPT = 64
"""How many practices, each in one language, are remembered by what stands around their texts."""

UNSPACED = ("Hans", "Hant", "Jpan")
"""Scripts that set no space after a full stop."""


def inlines_of(markup: Markup) -> Inlines:
    """The inlines of a line of markup."""
    block = parse(f"<paper><p>{markup}</p></paper>", "letterhead")[0]
    assert isinstance(block, Paragraph)
    return block.inlines


@lru_cache(maxsize=_KEPT)
def letterhead(practice: Practice, words: Catalog) -> tuple[Inlines, ...]:
    """The practice's name, address, phone and address on the web, a line each."""
    facts = PracticeFacts(practice, words)
    address = [insets.name(line, "practice", words.language) for line in practice.address.lines]
    lines = [facts.name, *address, facts.phone, facts.website]
    return tuple(inlines_of(line) for line in lines)


def source_note(number: int, source: Source, vias: list[Source], words: Catalog) -> SourceNote:
    """A source for the list at the foot, with whoever quoted it."""
    note: list[Inline] = [Text(phrases.quoted_in(words))] if vias else []
    for via in vias:
        note += [Text(" "), Isolate(_short_reference(via), "ltr", "en", "source")]
    return SourceNote(number, source.id, _reference(source), source.address, "en", tuple(note))


def _reference(source: Source) -> str:
    edition = f", {source.edition}" if source.edition else ""
    return f"{source.publisher}. {source.title}{edition}."


def _short_reference(source: Source) -> str:
    return f"{source.publisher}, {source.edition or source.published}."


def foot(order: Order, words: Catalog, citations: Citations, code: str) -> Inlines:
    """The last line of every page: the paper, its version, its days, the patient, its code."""
    tongue = words.language
    parts: list[Inlines] = [
        (Text(phrases.short_name(words, order.paper.id)),),
        (
            Text(f"{phrases.foot_words(words, 'version')} "),
            Isolate(f"{order.paper.version} ({tongue.tag})", "ltr", "", "practice"),
        ),
        inlines_of(
            Markup("{} {}").format(
                phrases.foot_words(words, "made_on"),
                insets.moment(tongue.brief_date(order.today), order.today.isoformat()),
            )
        ),
    ]
    if order.paper.shape == "form":
        day = min([order.paper.review_by, *([citations.review_by()] if citations.cited else [])])
        due = insets.moment(tongue.brief_date(day), day.isoformat())
        parts.append(inlines_of(Markup("{} {}").format(phrases.foot_words(words, "review"), due)))
    if order.paper.signed and order.visit:
        record = order.visit.person.record or order.visit.person.name
        parts.append(
            (
                Text(f"{phrases.foot_words(words, 'patient')} "),
                Isolate(record, _way(record), "", "visit"),
            )
        )
    if order.paper.shape in ("sheet", "form"):
        parts.append((Isolate(code, "ltr", "", "paper"),))
    joined: list[Inline] = []
    for part in parts:
        joined += [*((Text(" · "),) if joined else ()), *part]
    return tuple(joined)


def _way(text: str) -> Direction:
    return "ltr" if text.isascii() else "auto"
