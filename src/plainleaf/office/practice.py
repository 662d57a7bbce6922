"""The practice, read from practice.toml: every setting checked, every mistake with its line."""

import re
import tomllib
from collections.abc import Iterable
from datetime import date, time, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import phonenumbers
from babel import Locale
from babel.core import get_global
from babel.numbers import get_currency_precision
from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    field_validator,
    model_validator,
)

from plainleaf.errors import FactsProblem, SettingsProblem
from plainleaf.language.locales import clean_name
from plainleaf.language.marks import WEEK
from plainleaf.language.matching import is_tag, tag_of

_KEPT = 16
"""How many phone numbers are kept as they are written: a practice has few, on every letter."""
MOST_CALLED = 24
"""The most characters of the practice's name in text messages: with them a text of at most 160 is
sure in all our languages."""

_WHY = "Every paper carries these settings, so a wrong one would be printed many times."


def _clean(text: str) -> str:
    try:
        cleaned = clean_name(text)
    except FactsProblem as problem:
        raise ValueError(problem.found) from problem
    if not cleaned:
        raise ValueError("it is empty")
    return cleaned


def _tag(text: str) -> str:
    """The tag of a language; also of one that only the office has, in a folder of its own."""
    tag = tag_of(text) or (text if is_tag(text) else None)
    if tag is None:
        raise ValueError(f"{text[:40]!a} is no language that we know; write it as es or Spanish")
    return tag


def _exactly(amount: object) -> Decimal:
    """A number of the file as it was written, without the noughts at its end."""
    if isinstance(amount, bool) or not isinstance(amount, int | float | Decimal):
        raise ValueError("it is no number")
    exact = Decimal(str(amount))
    if not exact.is_finite():
        raise ValueError("it is no number")
    # 35.50 and 35.5 are one amount, and a paper of either has the same code.
    return Decimal(f"{exact.normalize():f}")


def _in_use(currency: str) -> str:
    rows: Iterable[Any] = get_global("territory_currencies").values()
    if not any(
        code == currency and not end and legal for row in rows for code, _, end, legal in row
    ):
        raise ValueError(f"'{currency}' is no currency that is in use; write it as USD or EUR")
    return currency


Line = Annotated[str, AfterValidator(_clean)]


def _short(name: str) -> str:
    if len(name) > MOST_CALLED:
        raise ValueError(f"it has {len(name)} characters; a text has room for {MOST_CALLED}")
    if name[0] in "=+-@":
        raise ValueError(f"it begins with '{name[0]}', which a spreadsheet takes for a formula")
    return name


Tag = Annotated[str, AfterValidator(_tag)]
Amount = Annotated[Decimal, BeforeValidator(_exactly)]
Role = Literal["dentist", "hygienist", "assistant", "front desk", "practice manager"]


class _Settings(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Address(_Settings):
    """Where the practice is: lines as they stand on an envelope, without the practice's name."""

    lines: tuple[Line, ...] = Field(min_length=1, max_length=4)


class Phones(_Settings):
    """Phone numbers: ``emergency`` is short, the others carry the country code."""

    desk: str
    out_of_hours: str | None = None
    emergency: str = Field(pattern=r"^[0-9]{2,6}$")


class Hours(_Settings):
    """Opening and closing time of each day, as ``"08:00-17:00"``; a day left out is closed."""

    monday: str | None = None
    tuesday: str | None = None
    wednesday: str | None = None
    thursday: str | None = None
    friday: str | None = None
    saturday: str | None = None
    sunday: str | None = None

    def times(self, day: str) -> tuple[time, time] | None:
        """Opening and closing time of a day of the week, or None when it is closed."""
        text = getattr(self, day)
        if text is None:
            return None
        found = re.fullmatch(r"(\d\d:\d\d)\s*-\s*(\d\d:\d\d)", text)
        if not found:
            raise ValueError(f"'{text}' is not of the form 08:00-17:00")
        opens, closes = (time.fromisoformat(part) for part in found.groups())
        if closes <= opens:
            raise ValueError(f"'{text}' closes before it opens")
        return opens, closes

    @model_validator(mode="after")
    def _some_day_open(self) -> "Hours":
        # All are read before any is judged, so that none is wrong unseen.
        times = [self.times(day) for day in WEEK]
        if not any(times):
            raise ValueError("no day is open")
        return self


class Fee(_Settings):
    """What the light look costs the patient, exactly, in a currency that is in use (ISO 4217).

    ``amount`` has no more decimals than the currency has.
    """

    amount: Amount = Field(ge=0, le=10_000_000)
    currency: Annotated[str, AfterValidator(_in_use)]

    @model_validator(mode="after")
    def _decimals_exist(self) -> "Fee":
        decimals = get_currency_precision(self.currency)
        if self.amount != round(self.amount, decimals):
            have = f"{decimals} decimals" if decimals else "no decimals"
            raise ValueError(f"the amount {self.amount} cannot be paid: {self.currency} has {have}")
        return self


class Look(_Settings):
    """How this practice does the light look. Durations in minutes, days, weeks and years."""

    minutes: int = Field(strict=True, ge=1, le=30)
    recheck_days: int = Field(default=14, strict=True, ge=7, le=28)
    recheck_latest_days: int = Field(default=28, strict=True, ge=7, le=42)
    sore_weeks: int = Field(default=2, strict=True, ge=1, le=3)
    retention_years: int = Field(strict=True, ge=1, le=40)

    @model_validator(mode="after")
    def _window_in_order(self) -> "Look":
        if self.recheck_latest_days < self.recheck_days:
            raise ValueError(
                f"the latest re-check ({self.recheck_latest_days} days) comes before the first"
                f" ({self.recheck_days} days)"
            )
        return self

    def recheck_window(self, seen: date) -> tuple[date, date]:
        """First and last day on which an area seen on a day should be looked at again.

        Raises FactsProblem for a day at the end of the calendar.
        """
        days = (self.recheck_days, self.recheck_latest_days)
        try:
            first, last = (seen + timedelta(days=one) for one in days)
        except OverflowError as error:
            raise FactsProblem(
                f"The day of the visit is {seen.isoformat()}, the end of the calendar.",
                "There is no day left for the second look.",
                "Correct the day of the visit.",
            ) from error
        return first, last


class Staff(_Settings):
    """A member of the team, as patients read the name."""

    name: Line
    role: Role


class Links(_Settings):
    """Addresses that papers print. They are public: no personal data, no health words."""

    website: str = Field(pattern=r"^https://[^\s?#]+$", max_length=60)


class Reminders(_Settings):
    """What reminders of booked visits need: the sender, the practice's clock, how long a visit is.

    ``time_zone`` is a name of the IANA database, such as America/Denver. ``backs`` is the edge over
    which the printer turns a sheet of cards to print their address sides; none leaves them blank.
    ``called`` is a short name of the practice for text messages, which have little room.
    """

    email: str = Field(pattern=r"^[^@\s]+@[^@\s]+\.[^@\s]+$")
    time_zone: str
    visit_minutes: int = Field(default=30, strict=True, ge=5, le=240)
    backs: Literal["none", "long edge", "short edge"] = "none"
    called: Annotated[Line, AfterValidator(_short)] | None = None

    @model_validator(mode="after")
    def _zone_exists(self) -> "Reminders":
        try:
            ZoneInfo(self.time_zone)
        # A folder of the database, or a name too long for one, is an OSError.
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise ValueError(f"'{self.time_zone}' is no time zone of the IANA database") from error
        return self


class Forms(_Settings):
    """What the practice allows; without it, forms to be signed refuse a draft translation."""

    allow_draft_translations: bool = False


class Post(_Settings):
    """The window envelope in which the practice posts letters, by the name of its standard."""

    envelope: Literal["DIN 5008 A", "DIN 5008 B", "#10"]


class LanguageHelp(_Settings):
    """The notice that language help is free: in which languages, and when that was checked.

    In the United States 45 CFR 92.11 asks for the fifteen most spoken in the state (LA-05); which
    they are, the practice confirms for its place with ``confirmed``. Languages may be spelled as
    lists spell them, and become BCP 47 tags, once each.
    """

    confirmed: date
    languages: tuple[Tag, ...] = Field(min_length=1)

    @field_validator("languages")
    @classmethod
    def _each_once(cls, languages: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(dict.fromkeys(languages))


class OwnCounts(_Settings):
    """The practice's own counts of dark areas: a CSV file beside practice.toml."""

    file: Line


@lru_cache(maxsize=_KEPT)
def _national(number: str, country: str) -> str:
    try:
        parsed = phonenumbers.parse(number, country)
    except phonenumbers.NumberParseException as error:
        raise ValueError(f"'{number}' is not a phone number") from error
    if not phonenumbers.is_possible_number(parsed):
        raise ValueError(f"'{number}' has too many or too few digits for a phone number")
    form = phonenumbers.PhoneNumberFormat.NATIONAL
    if phonenumbers.country_code_for_region(country) != parsed.country_code:
        form = phonenumbers.PhoneNumberFormat.INTERNATIONAL
    return phonenumbers.format_number(parsed, form)


@lru_cache(maxsize=_KEPT)
def _dialled(number: str, country: str) -> str:
    parsed = phonenumbers.parse(number, country)
    return phonenumbers.format_number(parsed, phonenumbers.PhoneNumberFormat.E164)


class Practice(_Settings):
    """All settings of a practice. Numbers in the papers come from here, from figures or a visit."""

    name: Line
    country: str = Field(pattern=r"^[A-Z]{2}$")
    paper_size: Literal["letter", "a4"]
    languages: tuple[Tag, ...] = Field(min_length=1)
    address: Address
    phones: Phones
    hours: Hours
    fee: Fee
    look: Look
    links: Links
    staff: tuple[Staff, ...] = Field(min_length=1)
    forms: Forms = Forms()
    results: OwnCounts | None = None
    reminders: Reminders | None = None
    language_help: LanguageHelp | None = None
    post: Post | None = None

    @property
    def called(self) -> str:
        """The practice's name in text messages."""
        return (self.reminders and self.reminders.called) or self.name

    @property
    def zone(self) -> ZoneInfo | None:
        """The zone of the practice's own clock; None when the settings do not name it."""
        return ZoneInfo(self.reminders.time_zone) if self.reminders else None

    @model_validator(mode="after")
    def _phones_exist(self) -> "Practice":
        for name in ("desk", "out_of_hours"):
            number = getattr(self.phones, name)
            if number is not None:
                self.national(number)
        return self

    @model_validator(mode="after")
    def _country_exists(self) -> "Practice":
        if self.country not in Locale.parse("en").territories:
            raise ValueError(f"'{self.country}' is no country code")
        return self

    @model_validator(mode="after")
    def _envelope_takes_the_paper(self) -> "Practice":
        if self.post:
            size = "letter" if self.post.envelope == "#10" else "a4"
            if self.paper_size != size:
                raise ValueError(
                    f"the envelope '{self.post.envelope}' is for the paper size '{size}',"
                    f" and paper_size is '{self.paper_size}'"
                )
        return self

    def national(self, number: str) -> str:
        """A phone number as it is written inside the country; with its code when it is abroad.

        Raises ValueError for a number that cannot be dialled.
        """
        return _national(number, self.country)

    def dialled(self, number: str) -> str:
        """A phone number in the global form that a telephone understands (RFC 3966, E.164)."""
        return _dialled(number, self.country)

    def first(self, *roles: Role) -> Staff:
        """The first member of staff with one of the roles, else the first of all."""
        return next((one for one in self.staff if one.role in roles), self.staff[0])


def read_practice(path: Path) -> Practice:
    """The practice in a TOML file. Raises SettingsProblem naming the line of the first mistake."""
    try:
        text = path.read_text(encoding="utf-8-sig")
        return Practice.model_validate(tomllib.loads(text))
    except FileNotFoundError as error:
        raise SettingsProblem(
            f"There is no {path.name} in {path.parent.resolve().name or 'this folder'}.",
            "A paper needs the practice's name, phone and hours.",
            "Run 'plainleaf init' to write one with comments, then fill it in.",
        ) from error
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsProblem(
            f"{path.name} cannot be read ({error.__class__.__name__}).",
            _WHY,
            "Save it as plain text in UTF-8.",
        ) from error
    except ValidationError as error:
        raise _explained(path.name, text, error) from error
    # A number of thousands of digits, or brackets in brackets without end, are no TOML errors.
    except (ValueError, RecursionError) as error:
        raise SettingsProblem(
            f"{path.name} is not written correctly: {error}.", _WHY, "Correct that line."
        ) from error


def _explained(file: str, text: str, error: ValidationError) -> SettingsProblem:
    # A misspelt setting is also a missing one: the misspelling is the better thing to say.
    first = min(error.errors(), key=lambda one: one["type"] != "extra_forbidden")
    spot = [part for part in first["loc"] if part != "staff" or len(first["loc"]) == 1]
    name = ".".join(str(part) for part in first["loc"]) or "the file"
    line = line_of(text, first["loc"])
    where = f"{file} line {line}: " if line else f"{file}: "
    if first["type"] == "extra_forbidden":
        return SettingsProblem(
            f"{where}'{name}' is no setting that we know.",
            "A misspelt setting would be ignored and its value would be missing on the papers.",
            "Correct its name, or take the line out; 'plainleaf init' shows all settings.",
        )
    if first["type"] == "missing":
        return SettingsProblem(
            f"{where}'{name}' is missing.",
            _WHY,
            f"Add '{spot[-1]} = …' there; 'plainleaf init' shows how.",
        )
    reason = str(first["msg"]).removeprefix("Value error, ")
    return SettingsProblem(f"{where}'{name}': {_sentence(reason)}", _WHY, "Correct the value.")


def _sentence(text: str) -> str:
    return (text[:1].lower() + text[1:]).rstrip(".") + "."


_HEADER = re.compile(r"\s*\[(\[?)\s*([\w.\-]+)\s*\]")
_KEY = re.compile(r"\s*([\w\-]+)\s*=")


def line_of(text: str, location: tuple[Any, ...]) -> int | None:
    """The line (from 1) on which a setting stands; that of its table when it is missing there."""
    table: tuple[Any, ...] = ()
    counts: dict[str, int] = {}
    best: int | None = None
    for number, line in enumerate(text.splitlines(), 1):
        if header := _HEADER.match(line):
            table = tuple(header[2].split("."))
            if header[1]:
                index = counts.get(header[2], 0)
                counts[header[2]] = index + 1
                table += (index,)
            if table and location[: len(table)] == table:
                best = number
        elif (key := _KEY.match(line)) and location[: len(table) + 1] == (*table, key[1]):
            return number
    return best
