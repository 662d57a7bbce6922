"""A language whose dates, numbers and names we bring ourselves, in ``locale.toml`` of its folder.

It is for a language of which Babel knows nothing, or nothing that can be trusted: Haitian Creole,
which inherits French months there, or a language that an office adds in a folder of its own.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path
from string import Formatter
from typing import Annotated

from babel import Locale, UnknownLocaleError
from babel.dates import format_time
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from plainleaf.errors import LanguageProblem
from plainleaf.language.marks import WEEK, Direction, Language, decimal

FILE = "locale.toml"


def _babel(tag: str) -> str:
    try:
        Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError) as error:
        raise ValueError(f"'{tag}' is no language that Babel knows") from error
    return tag


BabelTag = Annotated[str, AfterValidator(_babel)]

_DATE_PARTS = frozenset(("day", "month", "year"))
_PARTS = _DATE_PARTS | {"weekday"}


def _pattern(text: str) -> str:
    """A pattern of a date: its day, month and year, perhaps its weekday, and nothing else."""
    try:
        parts = [part[1:] for part in Formatter().parse(text) if part[1] is not None]
    except ValueError as error:
        raise ValueError(f"'{text}' has a bracket too many or too few") from error
    names = {str(name) for name, _, _ in parts}
    if not names <= _PARTS or any(form or turned for _, form, turned in parts):
        wrong = sorted(names - _PARTS)
        raise ValueError(
            f"'{text}' asks for {{{wrong[0]}}}" if wrong else f"'{text}' says how to write a part"
        )
    if lacking := sorted(_DATE_PARTS - names):
        raise ValueError(f"'{text}' lacks {{{lacking[0]}}}")
    return text


DatePattern = Annotated[str, AfterValidator(_pattern)]


class OwnLocale(BaseModel):
    """What ``locale.toml`` holds.

    ``numbers_like`` names the language that lends the marks of numbers, money and times, and
    ``like`` the one that lends the plural rule, which a language that Babel does not know needs.
    Both are tags that Babel knows. The patterns of dates may ask for ``{weekday}``, ``{day}``,
    ``{month}`` and ``{year}``.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    reviewed: bool
    name: str
    own_name: str
    script: str = Field(default="Latn", pattern="^[A-Z][a-z]{3}$")
    direction: Direction = "ltr"
    numbers_like: BabelTag
    like: BabelTag | None = None
    months: tuple[str, ...] = Field(min_length=12, max_length=12)
    weekdays: tuple[str, ...] = Field(min_length=7, max_length=7)
    whole_date: DatePattern = "{weekday} {day} {month} {year}"
    short_date: DatePattern = "{day} {month} {year}"
    and_: str = Field(alias="and")
    territories: dict[str, str]

    def __hash__(self) -> int:
        return hash((self.name, self.months))


def read_own_locale(file: Path) -> OwnLocale:
    """The data in a ``locale.toml``. Raises LanguageProblem naming the first mistake."""
    try:
        return OwnLocale.model_validate(tomllib.loads(file.read_text(encoding="utf-8")))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, ValidationError) as error:
        first = error.errors()[0] if isinstance(error, ValidationError) else None
        what = f"'{'.'.join(map(str, first['loc']))}': {first['msg']}" if first else str(error)
        raise LanguageProblem(
            f"{file.parent.name}/{file.name} cannot be used: {what}.",
            "Dates and numbers of that language would be wrong.",
            "Correct it; DEVELOPERS.md shows the form.",
        ) from error


@dataclass(frozen=True)
class OwnLanguage(Language):
    """A language that says its dates, numbers and names from our own data."""

    own: OwnLocale

    @property
    def direction(self) -> Direction:
        """Right-to-left or left-to-right."""
        return self.own.direction

    @property
    def own_name(self) -> str:
        """What the language calls itself."""
        return self.own.own_name

    @property
    def english_name(self) -> str:
        """What English calls the language."""
        return self.own.name

    def number(self, value: float) -> str:
        """A number in the marks of the language that lends them."""
        return decimal(value, self._lender)

    def money(self, amount: Decimal | int, currency: str) -> str:
        """An amount with its currency: whole amounts without decimals, others with all it has."""
        return Language(self.tag, self._lender, self.script, self.country).money(amount, currency)

    def whole_date(self, day: date) -> str:
        """Weekday, day, month and year."""
        return self._dated(self.own.whole_date, day)

    def short_date(self, day: date) -> str:
        """Day, month in letters and year."""
        return self._dated(self.own.short_date, day)

    def brief_date(self, day: date) -> str:
        """The same: we have no shorter months."""
        return self.short_date(day)

    def clock(self, moment: time | datetime) -> str:
        """A time of day."""
        return str(format_time(moment, "short", locale=self._lender))

    def weekday(self, name: str) -> str:
        """A day of the week from its English name in small letters."""
        return self.own.weekdays[WEEK.index(name)]

    def joined(self, items: Sequence[str]) -> str:
        """A list in a sentence, with 'and' before the last."""
        if len(items) < 2:
            return "".join(items)
        return f"{', '.join(items[:-1])} {self.own.and_} {items[-1]}"

    def territory(self, country: str) -> str:
        """The name of a country; its code where we have no name."""
        return self.own.territories.get(country, country)

    @property
    def _lender(self) -> Locale:
        return Locale.parse(self.own.numbers_like, sep="-")

    def _dated(self, pattern: str, day: date) -> str:
        return pattern.format(
            weekday=self.own.weekdays[day.weekday()],
            day=day.day,
            month=self.own.months[day.month - 1],
            year=day.year,
        )
