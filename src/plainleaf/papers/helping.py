"""The notice that help in one's own language is free (45 CFR 92.11 in the United States).

The practice says in which languages, and that it has checked what its place asks for. The notice
then goes with every form that is signed, and stands alone as the paper ``language-help``. A
language that nobody has translated into is left out, and the desk tells it (``remarks``).
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from markupsafe import Markup

from plainleaf.errors import LanguageProblem, SettingsProblem
from plainleaf.language import phrases
from plainleaf.language.catalogs import SOURCE, Catalog, Key, available, catalog
from plainleaf.language.locales import language
from plainleaf.language.matching import lookup, tag_of
from plainleaf.office.practice import Practice
from plainleaf.papers import insets
from plainleaf.papers.around import UNSPACED, inlines_of
from plainleaf.papers.blocks import Blocks, Heading, Paragraph, Section, Strong, Text
from plainleaf.papers.order import Order
from plainleaf.papers.paper import Paper

ELEMENT = "language-help"
"""The part of a form, and the paper by which the sentence is signed in each language."""

CONFIRMED_DAYS = 366
"""After so many days the desk asks to look at the list again (no source: once a year)."""

_FEW = 4
"""So many languages stand on the last page of a form; more take a page of their own."""


@dataclass(frozen=True)
class HelpLine:
    """The offer in one language: its tag, direction, own name and sentence.

    ``draft`` says that nobody has signed the sentence; it then says so itself.
    """

    words: Catalog
    name: Markup
    text: Markup
    draft: bool

    @property
    def tag(self) -> str:
        """The tag of the language."""
        return self.words.language.tag

    @property
    def direction(self) -> str:
        """Where a line of it begins."""
        return self.words.language.direction

    @property
    def said(self) -> tuple[Key, ...]:
        """The messages that it says."""
        mark = phrases.draft_card.messages if self.draft else ()
        return (*phrases.language_help.messages, *mark)


def lines(order: Order, draft: Callable[[Catalog], bool]) -> list[HelpLine]:
    """The offer in each language of the notice, else in each that the practice works in.

    Empty for a paper without the notice. ``draft`` tells whether the sentence of a language is one.
    Raises SettingsProblem when the list was confirmed after the day of the paper.
    """
    if not _shown(order.paper, order.practice):
        return []
    settings = order.practice.language_help
    if settings and settings.confirmed > order.today:
        raise SettingsProblem(
            f"'language_help.confirmed' in practice.toml is {settings.confirmed.isoformat()},"
            f" after the day on the paper, {order.today.isoformat()}.",
            "Nobody can have checked the languages on a day that has not come.",
            "Write the day on which you checked which languages your place asks for.",
        )
    tags = [tag for _, tag in _answers(order.practice, order.locales) if tag]
    return [_line(order, tag, draft) for tag in dict.fromkeys(tags)]


def section(order: Order, words: Catalog, offered: list[HelpLine]) -> Blocks:
    """The notice at the end of a form that is signed, once the practice has confirmed it."""
    if not (order.paper.offers_help and offered):
        return ()
    title = Heading((Text(phrases.language_help_title(words)),), 2)
    # The name stands in the line of its sentence: fifteen languages have to fit on one page.
    told = tuple(
        Paragraph(
            (Strong(inlines_of(one.name)), Text(" · "), *inlines_of(one.text)),
            language=one.tag,
            direction="rtl" if one.direction == "rtl" else "ltr",
        )
        for one in offered
    )
    return (Section(ELEMENT, title, (*told, *draft_mark(offered))),)


def most_pages(paper: Paper, offered: list[HelpLine]) -> int:
    """The most pages that a form may take with its offer; 0 means no limit."""
    more = paper.offers_help and len(offered) > _FEW
    return paper.most_pages + 1 if paper.most_pages and more else paper.most_pages


def draft_mark(offered: list[HelpLine]) -> Blocks:
    """In the source language as well that a sentence is a draft; nothing if all are signed."""
    if not any(one.draft for one in offered):
        return ()
    said = phrases.draft_card(catalog(language(SOURCE)))
    return (Paragraph((Text(said),), "notice", SOURCE, "ltr"),)


def refuse_drafts(order: Order, offered: list[HelpLine]) -> None:
    """Stop a form with an offer that nobody has signed, unless the practice allows drafts.

    Raises LanguageProblem naming the languages.
    """
    drafts = [one.words.language.english_name for one in offered if one.draft]
    if drafts and order.paper.signed and not order.practice.forms.allow_draft_translations:
        raise LanguageProblem(
            f"The offer of help at the end of '{order.paper.id}' is a draft in"
            f" {', '.join(drafts)}: no qualified translator signed it.",
            "A form to be signed must not carry a sentence that nobody has checked.",
            f"Have '{ELEMENT}' reviewed in these languages (reviews.toml), take them out of"
            " 'language_help.languages' in practice.toml, or set 'forms.allow_draft_translations'"
            " there if your local rules let you use a draft with a notice.",
        )


def remarks(paper: Paper, practice: Practice, locales: Path | None, today: date) -> Iterator[str]:
    """What the office must know of the notice on a paper: nothing is left out in silence."""
    if not _shown(paper, practice):
        return
    lacking = [asked for asked, tag in _answers(practice, locales) if tag is None]
    if lacking:
        yield (
            f"The offer of help in other languages leaves out {', '.join(map(repr, lacking))}:"
            f" nobody has translated it. 'plainleaf catalog {lacking[0]}' begins a translation; for"
            f" the offer it is enough to translate '{phrases.language_help.key[1]}' and"
            f" '{phrases.draft_card.key[1]}'"
        )
    settings = practice.language_help
    if settings is None:
        yield (
            "The languages are those of 'languages' in practice.toml: nobody has confirmed that"
            " they are those your place asks for. Once you have checked it, set [language_help]."
        )
    elif (today - settings.confirmed).days > CONFIRMED_DAYS:
        yield (
            f"The languages of [language_help] were confirmed on {settings.confirmed.isoformat()},"
            " more than a year ago: look at the list again."
        )


def _shown(paper: Paper, practice: Practice) -> bool:
    # The notice speaks to readers; the team's own papers and colleagues do without it.
    return paper.id == ELEMENT or (paper.offers_help and practice.language_help is not None)


def _answers(practice: Practice, locales: Path | None) -> list[tuple[str, str | None]]:
    """The languages of the notice as they were asked for, and those of ours that answer."""
    settings, have = practice.language_help, available(locales)
    asked = settings.languages if settings else practice.languages
    return [(one, one if one in have else lookup(tag_of(one) or one, have)) for one in asked]


def _line(order: Order, tag: str, draft: Callable[[Catalog], bool]) -> HelpLine:
    tongue = language(tag, order.practice.country, order.locales)
    words = catalog(tongue, order.locales)
    phone = insets.phone(order.practice, order.practice.phones.desk)
    text = insets.fill(phrases.language_help(words), {"phone": phone})
    unsigned = draft(words)
    if unsigned:
        ended = text.rstrip().endswith((".", "\u3002", "\u0964"))
        gap = "" if ended and tongue.script in UNSPACED else " " if ended else " \u00b7 "
        text += Markup("{}{}").format(gap, phrases.draft_card(words))
    name = insets.isolate(tongue.own_name, "practice", tongue.direction, tag)
    return HelpLine(words, name, text, unsigned)
