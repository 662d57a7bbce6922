"""Days as a spreadsheet writes them, such as 12/9/2026 10:30, brought to year-month-day.

Which number is the month, the practice's country tells (CLDR); where it does not, or the list
itself says otherwise, nobody guesses.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from babel import Locale, UnknownLocaleError
from babel.languages import get_official_languages

Order = Literal["month", "day", ""]
"""Which number comes first in 12/9/2026; empty when nobody can tell."""

_NUMBERS = re.compile(
    r"([0-9]{1,4})([./-])([0-9]{1,2})\2([0-9]{1,4})\.?(?:(?:T|[\s,]+(?:at )?)(\S.*))?"
)
_CLOCK = re.compile(
    r"([0-9]{1,2})[:.]([0-9]{2})(?::([0-9]{2})(?:\.0+)?)?\s*([ap])?\.?\s*(?(4)m\.?)", re.IGNORECASE
)


class UnclearDayError(ValueError):
    """A day that can be read in two ways, or in none; the text continues "'Born' says '…', "."""


def order_in(country: str) -> Order:
    """How a country writes days in numbers; empty when its languages disagree."""
    found = set()
    for tag in get_official_languages(country, de_facto=True) if country else ():
        try:
            pattern = Locale.parse(f"{tag}_{country}").date_formats["short"].pattern
        except (UnknownLocaleError, ValueError):
            continue
        letters = re.sub("[^dMy]", "", pattern)
        found.add({"d": "day", "M": "month"}.get(letters[:1], ""))
    (only,) = found if len(found) == 1 else ("",)
    return "month" if only == "month" else "day" if only == "day" else ""


def settled(order: Order, days: Iterable[str]) -> Order:
    """The country's order, unless a day on the list can only be read in the other one."""
    proved = {one for one in map(_proved, days) if one}
    return "" if proved - {order} else order


@dataclass
class Days:
    """Reads the days of one list; ``guessed`` keeps the first that only the order settled."""

    order: Order
    guessed: tuple[str, date] | None = None

    def day(self, text: str) -> str:
        """The day alone as year-month-day; what is not written in numbers stays as it is."""
        numbers, within = self._apart(text)
        return numbers if numbers and (not within or clock(within)) else text

    def moment(self, text: str, time: str = "") -> str:
        """Day and time of day in ISO 8601; what is not written in numbers stays as it is."""
        numbers, within = self._apart(text)
        if time and within and clock(time) != clock(within):
            raise UnclearDayError(f"and the column of times says '{time[:20]}'")
        hour = clock(within or time)
        if not numbers and time:
            return f"{text}T{hour}" if hour else text
        if not hour and within:
            return text
        return f"{numbers}T{hour}" if numbers and hour else numbers or text

    def _apart(self, text: str) -> tuple[str, str]:
        """The day as year-month-day and what follows it; two empty texts for other writings."""
        found = _NUMBERS.fullmatch(text.strip())
        if found is None:
            return "", ""
        first, mark, second, third, rest = found.groups()
        if len(first) == 4:
            return f"{first}-{int(second):02}-{int(third):02}" if len(third) < 3 else "", rest or ""
        if len(third) != 4:
            raise UnclearDayError("which has no year of four digits")
        month, day = self._month_and_day(text, int(first), mark, int(second), int(third))
        return f"{third}-{month:02}-{day:02}", rest or ""

    def _month_and_day(
        self, text: str, first: int, mark: str, second: int, year: int
    ) -> tuple[int, int]:
        if first > 12 or second > 12 or first == second:
            return (second, first) if first > 12 else (first, second)
        # Days with points have the day first, but somebody used to the other order may not know.
        if not self.order or (mark == "." and self.order == "month"):
            one, other = (f"{year}-{m:02}-{d:02}" for m, d in ((first, second), (second, first)))
            raise UnclearDayError(f"which can be {one} or {other}")
        month, day = (first, second) if self.order == "month" else (second, first)
        self.guessed = self.guessed or (text.split()[0], date(max(year, 1), month, day))
        return month, day


def _proved(text: str) -> Order:
    """The order that a day has when it can only be read in one."""
    found = _NUMBERS.fullmatch(text.strip())
    if found is None or found[2] == "." or len(found[1]) == 4:
        return ""
    first, second = int(found[1]), int(found[3])
    if first > 12 >= second:
        return "day"
    return "month" if second > 12 >= first else ""


def clock(text: str) -> str:
    """A time of day as HH:MM:SS; empty for what is none, such as one with an offset."""
    found = _CLOCK.fullmatch(text.strip())
    if found is None:
        return ""
    hour, half = int(found[1]), (found[4] or "").lower()
    if half and not 1 <= hour <= 12:
        return ""
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return f"{hour:02}:{found[2]}:{found[3] or '00'}"
