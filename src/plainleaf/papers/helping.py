"""The notice that help in one's own language is free (45 CFR 92.11 in the United States).

The practice says in which languages, and that it has checked what its place asks for. The notice
then goes with every form that is signed, and stands alone as the paper ``language-help``.
"""

from dataclasses import dataclass

from markupsafe import Markup

from plainleaf.language import phrases
from plainleaf.language.catalogs import Catalog, available, catalog
from plainleaf.language.locales import language
from plainleaf.language.matching import lookup
from plainleaf.papers import insets
from plainleaf.papers.around import inlines_of
from plainleaf.papers.blocks import Blocks, Break, Heading, Paragraph, Section, Strong, Text
from plainleaf.papers.order import Order

ELEMENT = "language-help"


@dataclass(frozen=True)
class HelpLine:
    """The offer in one language: its tag, direction, own name and sentence."""

    tag: str
    direction: str
    name: Markup
    text: Markup


def lines(order: Order) -> list[HelpLine]:
    """The offer in each language of the notice, else in each that the practice works in."""
    settings = order.practice.language_help
    tags = settings.languages if settings else order.practice.languages
    if not _wanted(order):
        return []
    have = available(order.locales)
    return [_line(order, lookup(tag, have) or tag) for tag in tags]


def section(order: Order, words: Catalog) -> Blocks:
    """The notice at the end of a form that is signed, once the practice has confirmed it."""
    if not (order.paper.shape == "form" and order.practice.language_help and _wanted(order)):
        return ()
    title = Heading((Text(phrases.language_help_title(words)),), 2)
    told = tuple(
        Paragraph(
            (Strong(inlines_of(one.name)), Break(), *inlines_of(one.text)),
            language=one.tag,
            direction="rtl" if one.direction == "rtl" else "ltr",
        )
        for one in lines(order)
    )
    return (Section(ELEMENT, title, told),)


def _wanted(order: Order) -> bool:
    # The notice speaks to readers; the team's own papers and colleagues do without it.
    return not order.paper.for_team and (order.paper.signed or order.paper.id == ELEMENT)


def _line(order: Order, tag: str) -> HelpLine:
    tongue = language(tag, order.practice.country, order.locales)
    phone = insets.phone(order.practice, order.practice.phones.desk)
    message = phrases.language_help(catalog(tongue, order.locales))
    text = insets.fill(message, {"phone": phone})
    name = insets.isolate(tongue.own_name, "practice", tongue.direction, tag)
    return HelpLine(tag, tongue.direction, name, text)
