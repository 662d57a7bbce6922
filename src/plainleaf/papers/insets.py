"""Values as they are set into a template: each one marked for what it is.

A name is isolated, a number knows its figure, a date its ISO form, a phone number its link.
Everything returned here is safe markup of the small XML vocabulary.
"""

from collections.abc import Mapping
from datetime import date, datetime

from markupsafe import Markup, escape

from plainleaf.language import phrases
from plainleaf.language.catalogs import Catalog
from plainleaf.language.locales import Language
from plainleaf.office.practice import Practice
from plainleaf.papers.blocks import NOTHING


class _Nothing(Markup):
    """No value: false, and an empty string.

    On a page it leaves a mark, so that no sentence is printed with a gap; where a form has a line
    to write on, the mark is taken out again.
    """

    def __html__(self) -> Markup:  # type: ignore[override]
        return Markup(f'<bdi from="{NOTHING}"/>')


EMPTY: Markup = _Nothing()


def isolate(text: str, origin: str, direction: str = "auto", language: str = "") -> Markup:
    """A value from outside, set apart from the sentence around it; ``origin`` says from where."""
    lang = f' lang="{escape(language)}"' if language else ""
    return Markup(
        f'<bdi from="{escape(origin)}" dir="{escape(direction)}"{lang}>{escape(text)}</bdi>'
    )


def name(text: str, origin: str, page: Language) -> Markup:
    """The name of a person or a practice; a Latin name on an Arabic page says that it is Latin."""
    latin = page.script != "Latn" and text.isascii()
    return isolate(text, origin, "ltr" if latin else "auto", "en" if latin else "")


def phone(practice: Practice, number: str) -> Markup:
    """A phone number that can be tapped; an emergency number stays as short as it is."""
    if len(number) <= 6:
        shown, dialled = number, number
    else:
        shown, dialled = practice.national(number), practice.dialled(number)
    return Markup(f'<a href="tel:{escape(dialled)}">{isolate(shown, "practice", "ltr")}</a>')


def moment(text: str, iso: str) -> Markup:
    """A date, time or year as printed, with its ISO form."""
    return Markup(f'<time datetime="{escape(iso)}">{escape(text)}</time>')


def whole_date(language: Language, day: date) -> Markup:
    """A day of the calendar with its weekday."""
    return moment(language.whole_date(day), day.isoformat())


def day_and_time(words: Catalog, when: datetime) -> Markup:
    """A whole date with its time of day, as one moment."""
    language = words.language
    text = phrases.day_at_time(
        words, language.whole_date(when.date()), language.clock(when).replace(" ", "\u00a0")
    )
    return moment(text, when.isoformat(timespec="minutes"))


def figure(text: str, figure_id: str, value: float) -> Markup:
    """A number that stands for a published figure."""
    return Markup('<data figure="{}" value="{}">{}</data>').format(figure_id, f"{value:g}", text)


def cite(number: int) -> Markup:
    """The mark of a source."""
    return Markup('<cite number="{}"/>').format(number)


def fill(message: str, values: Mapping[str, object]) -> Markup:
    """A translated message with safe values set into it."""
    return Markup(message) % values


class Count(int):
    """A whole number that chooses the plural form of a sentence and prints as marked."""

    markup: Markup

    @classmethod
    def of(cls, value: int, markup: Markup) -> "Count":
        """The count with its marked form."""
        count = cls(value)
        count.markup = markup
        return count

    @classmethod
    def own(cls, value: int, language: Language) -> "Count":
        """A number of the practice's own, isolated, as the language writes it."""
        return cls.of(value, isolate(language.number(value), "practice"))

    def __html__(self) -> str:
        return self.markup
