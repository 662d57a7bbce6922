"""One language: its direction, script, numbers, dates and lists, and the names set into it."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cache
from typing import Literal, cast

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from babel.dates import format_date, format_time, get_day_names
from babel.lists import format_list
from babel.numbers import format_currency, format_decimal

from plainleaf.errors import FactsProblem, LanguageProblem

Direction = Literal["ltr", "rtl"]
_WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_STRIPPED = frozenset(
    "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c\ufeff"
)


@dataclass(frozen=True)
class Language:
    """A language as it is written in one country: ``tag`` is BCP 47, ``script`` is ISO 15924."""

    tag: str
    locale: Locale
    script: str

    @property
    def direction(self) -> Direction:
        """Right-to-left or left-to-right."""
        return cast(Direction, self.locale.text_direction)

    @property
    def own_name(self) -> str:
        """What the language calls itself."""
        return str(self.locale.language_name or self.tag)

    @property
    def english_name(self) -> str:
        """What English calls the language."""
        return str(Locale.parse("en").languages.get(self.tag.split("-")[0], self.tag))

    def number(self, value: float) -> str:
        """A number in the marks of the language; no decimals unless the value has them."""
        whole = int(value)
        return str(format_decimal(whole if whole == value else value, locale=self.locale))

    def money(self, amount: float, currency: str) -> str:
        """An amount with its currency; whole amounts without decimals.

        Where Latin currency signs would turn around in the line, the currency has its name.
        """
        amount = int(amount) if amount == int(amount) else amount
        if self.direction == "rtl":
            named = format_currency(
                amount, currency, locale=self.locale, format_type="name", currency_digits=False
            )
            return str(named)
        digits = "¤#,##0" if amount == int(amount) else None
        pattern = self.locale.currency_formats["standard"].pattern
        if digits:
            pattern = pattern.replace(".00", "")
        return str(
            format_currency(
                amount, currency, format=pattern, locale=self.locale, currency_digits=False
            )
        )

    def whole_date(self, day: date) -> str:
        """Weekday, day, month and year."""
        return str(format_date(day, "full", locale=self.locale))

    def short_date(self, day: date) -> str:
        """Day, month in letters and year, without the weekday."""
        return str(format_date(day, "long", locale=self.locale))

    def brief_date(self, day: date) -> str:
        """Day, short month and year, for the last line of a page; the month never as a number."""
        brief = str(format_date(day, "medium", locale=self.locale))
        return brief if any(char.isalpha() for char in brief) else self.short_date(day)

    def clock(self, moment: time | datetime) -> str:
        """A time of day."""
        return str(format_time(moment, "short", locale=self.locale))

    def weekday(self, name: str) -> str:
        """A day of the week from its English name in small letters."""
        return str(get_day_names("wide", "stand-alone", locale=self.locale)[_WEEK.index(name)])

    def joined(self, items: Sequence[str]) -> str:
        """A list in a sentence, with the language's own commas and 'and'."""
        return str(format_list(items, "standard", locale=self.locale))

    def territory(self, country: str) -> str:
        """The name of a country, or of the whole world for ``001``."""
        return str(self.locale.territories[country])


@cache
def language(tag: str, country: str = "") -> Language:
    """The language for a BCP 47 tag, as written in a country if Babel knows that form.

    Raises LanguageProblem for a tag that is not known.
    """
    try:
        plain = Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError) as error:
        raise LanguageProblem(
            f"'{tag}' is not a language tag that we know.",
            "A paper must name its language exactly, for screen readers and for the record.",
            "Use a tag such as en, es, ar or pt-BR.",
        ) from error
    locale = plain
    if country and not plain.territory:
        try:
            locale = Locale.parse(f"{tag}-{country}".replace("-", "_"))
        except (UnknownLocaleError, ValueError):
            locale = plain
    return Language(tag, locale, plain.script or _likely_script(plain))


def _likely_script(locale: Locale) -> str:
    """The script a language is written in when its tag names none (CLDR likely subtags)."""
    likely = get_global("likely_subtags").get(locale.language, "")
    return next((part for part in likely.split("_") if len(part) == 4), "Latn")


def clean_name(text: str) -> str:
    """A name as it may enter a paper: NFC, one line, no character that hides or turns others.

    Marks that steer direction are taken out, because each value is isolated where it is set.
    Raises FactsProblem for control, private-use or unassigned characters.
    """
    kept = "".join(char for char in text if char not in _STRIPPED)
    cleaned = " ".join(unicodedata.normalize("NFC", kept).split())
    for char in cleaned:
        if unicodedata.category(char) in ("Cc", "Cs", "Co", "Cn"):
            raise FactsProblem(
                f"The text {cleaned[:40]!a} holds a character that cannot be printed.",
                "It would be lost or would spoil the page.",
                "Type the text again without it.",
            )
    return cleaned
