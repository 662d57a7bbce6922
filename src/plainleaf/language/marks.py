"""One language: its direction, script, numbers, dates and lists."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from functools import lru_cache
from typing import Literal, cast

from babel import Locale
from babel.dates import format_date, format_time, get_day_names, get_period_names
from babel.lists import format_list
from babel.localedata import exists
from babel.numbers import (
    format_currency,
    format_decimal,
    get_currency_precision,
    get_currency_symbol,
    get_territory_currencies,
)

Direction = Literal["ltr", "rtl"]
WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")


_KEPT = 1024
"""How many numbers, days and times are remembered in words: most papers say the same ones."""


@lru_cache(maxsize=_KEPT)
def decimal(value: float, locale: Locale) -> str:
    """A number as CLDR writes it; no decimals unless the value has them."""
    whole = int(value)
    return str(format_decimal(whole if whole == value else value, locale=locale))


_FIRST_OF_MONTH = {"fr": "1er", "pt-BR": "1º"}
"""How a language writes the first of a month: common practice, no source."""

_ONE = re.compile(r"(?<!\d)0?1(?=\s)")


@lru_cache(maxsize=_KEPT)
def _dated(day: date, length: Literal["full", "long", "medium"], locale: Locale) -> str:
    shown = str(format_date(day, length, locale=locale))
    tags = (locale.language, f"{locale.language}-{locale.territory}")
    first = next((_FIRST_OF_MONTH[tag] for tag in tags if tag in _FIRST_OF_MONTH), "")
    return _ONE.sub(first, shown, count=1) if first and day.day == 1 else shown


@lru_cache(maxsize=_KEPT)
def _clock(moment: time, locale: Locale, script: str) -> str:
    periods = get_period_names("abbreviated", "format", locale)
    shown = str(format_time(moment, "short", locale=locale))
    latin = [one for name in ("am", "pm") if (one := periods.get(name, "")).isascii() and one]
    if script == "Latn" or not any(one in shown for one in latin):
        return shown
    # CLDR has Latin "am" for such a language; its parts of the day are in its own letters
    # (morning, afternoon, evening, night). To be looked at by a translator.
    return str(format_time(moment, str(locale.datetime_skeletons["Bhm"]), locale=locale))


def _with_sign(told: str, sign: str) -> str:
    """An amount with the sign of its currency; letters keep a space from digits (CLDR)."""
    apart = re.sub(r"¤(?=\d)", f"{sign}\u00a0" if sign[-1:].isalpha() else sign, told)
    apart = re.sub(r"(?<=\d)¤", f"\u00a0{sign}" if sign[:1].isalpha() else sign, apart)
    return apart.replace("¤", sign)


@dataclass(frozen=True)
class Language:
    """A language as it is written in one country: ``tag`` is BCP 47, ``script`` is ISO 15924.

    ``country`` is that of the practice, or empty.
    """

    tag: str
    locale: Locale
    script: str
    country: str

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
        return decimal(value, self.locale)

    def money(self, amount: Decimal | int, currency: str) -> str:
        """An amount with its currency: whole amounts without decimals, others with all it has.

        Where Latin currency signs would turn around in the line, the currency has its name.
        """
        exact = Decimal(amount)
        decimals = 0 if exact == exact.to_integral_value() else get_currency_precision(currency)
        fraction = f".{'0' * decimals}" if decimals else ""
        if self.direction == "rtl":
            return str(
                format_currency(
                    exact,
                    currency,
                    format=f"#,##0{fraction}",
                    locale=self.locale,
                    format_type="name",
                    currency_digits=False,
                )
            )
        pattern = self.locale.currency_formats["standard"].pattern.replace(".00", fraction)
        # The sign is set in afterwards: Babel knows only that of the language, not the country's.
        told = str(format_decimal(exact, pattern, locale=self.locale))
        return _with_sign(told, self._sign(currency))

    def _sign(self, currency: str) -> str:
        """The sign of a currency: the short one where it is the country's own."""
        there = f"en_{self.country}"
        own = self.country and currency in get_territory_currencies(self.country)
        local = there if own and exists(there) else self.locale
        return str(get_currency_symbol(currency, local))

    def whole_date(self, day: date) -> str:
        """Weekday, day, month and year."""
        return _dated(day, "full", self.locale)

    def short_date(self, day: date) -> str:
        """Day, month in letters and year, without the weekday."""
        return _dated(day, "long", self.locale)

    def brief_date(self, day: date) -> str:
        """Day, short month and year, for the last line of a page; the month never as a number."""
        brief = _dated(day, "medium", self.locale)
        return brief if any(char.isalpha() for char in brief) else self.short_date(day)

    def clock(self, moment: time | datetime) -> str:
        """A time of day; before and after noon in words of the language's own letters."""
        # Two moments of the same instant are equal though their clocks differ: only those count.
        return _clock(time(moment.hour, moment.minute), self.locale, self.script)

    def weekday(self, name: str) -> str:
        """A day of the week from its English name in small letters."""
        return str(get_day_names("wide", "stand-alone", locale=self.locale)[WEEK.index(name)])

    def joined(self, items: Sequence[str]) -> str:
        """A list in a sentence, with the language's own commas and 'and'."""
        return str(format_list(items, "standard", locale=self.locale))

    def territory(self, country: str) -> str:
        """The name of a country, or of the whole world for ``001``."""
        return str(self.locale.territories[country])

    def named(self, tag: str) -> str:
        """The name of a language in this one; its tag where CLDR has no name."""
        names = self.locale.languages
        return str(names.get(tag.replace("-", "_")) or names.get(tag.split("-")[0]) or tag)
