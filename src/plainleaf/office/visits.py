"""A person and what happened at the visit: the facts that a paper may ask for.

A fact that may be left out is None, or empty, when nobody recorded it. Closed sets are in the
words of the trade, in small letters; a paper words them anew in its own language.
"""

import json
import re
import tomllib
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    ValidationError,
    ValidationInfo,
    WithJsonSchema,
    field_validator,
    model_validator,
)

from plainleaf.errors import FactsProblem
from plainleaf.language.locales import clean_name
from plainleaf.language.matching import tag_of
from plainleaf.office.mistakes import DO, WHY, sentence, spot, unread
from plainleaf.office.practice import Line, Staff, line_of
from plainleaf.office.teeth import Place as Place
from plainleaf.office.teeth import Side as Side
from plainleaf.office.teeth import is_tooth

Step = Literal[
    "smoothed edge",
    "eased denture",
    "pressed gently",
    "took photograph",
    "treated infection",
    "left alone",
]
Colour = Literal["white", "red", "red and white", "brown or black", "blue or purple", "as around"]
Surface = Literal["smooth", "rough", "wart-like", "cracked", "ulcer"]
Edge = Literal["sharp", "fading", "raised"]
Feel = Literal["soft", "firm", "hard", "fixed", "hard and fixed"]
Symptom = Literal[
    "pain",
    "burning",
    "numbness",
    "bleeding",
    "trouble swallowing",
    "trouble opening",
    "earache",
    "loose tooth",
    "neck lump",
    "weight loss",
]
OrdinaryLook = Literal["seen", "not seen"]
Light = Literal["dark", "not dark", "unsure"]
Pressure = Literal["colour comes back", "partly", "does not", "not tried"]
Cause = Literal[
    "rubbing or biting",
    "denture",
    "spot of colour",
    "blood vessel or bruise",
    "infection",
    "mouth ulcer",
    "none found",
]
"""The six ordinary causes that the follow-up letter names, in its order, and none."""

Photograph = Literal["ordinary", "filtered"]
Plan = Literal["re-check", "refer now"]
Urgency = Literal["routine", "prompt", "urgent"]
"""How soon a specialist should see somebody, in the words of referral letters."""

Decision = Literal["agreed", "declined", "wants time"]
ComingBack = Literal["will come", "cannot come", "does not want to"]
RecheckFound = Literal["gone", "smaller", "still there"]
Relationship = Literal["parent", "legal guardian", "other relative", "carer", "power of attorney"]
InterpreterMode = Literal["in the room", "by phone", "by video"]
Channel = Literal["letter", "phone call", "text message", "email", "none"]
"""The ways to be reminded; ``none`` stands alone and asks not to be."""

_CHANNELS = {
    other.replace(" ", ""): way
    for way, others in {
        "letter": ("card", "postcard", "post"),
        "phone call": ("call", "phone", "telephone"),
        "text message": ("text", "texts", "sms"),
        "email": (),
        "none": ("no", "no reminder", "no reminders", "nothing"),
    }.items()
    for other in (way, *others)
}
"""Other words for them, without spaces and marks. ``mail`` is a letter to some and an e-mail to
others, so we ask."""


_WRITTEN_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_WRITTEN_MOMENT = "^[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}([.][0-9]+)?)?$"


def _written(value: object) -> object:
    # A bare number would be taken for seconds since 1970, so 20261209 would become a day in 1970.
    if isinstance(value, int | float) or (
        isinstance(value, str) and not _WRITTEN_DAY.match(value.strip())
    ):
        raise ValueError("it is not written as year-month-day, such as 2026-11-25")
    if _has_offset(value):
        raise ValueError(
            "it has an offset from UTC; write it as the practice's own clock and calendar show it,"
            " without one"
        )
    return value.strip() if isinstance(value, str) else value


def _has_offset(value: object) -> bool:
    # Nobody can tell whether the clock beside an offset is the practice's, so it is not dropped.
    if isinstance(value, str):
        return re.search("[Zz+\u2212-]", value.strip()[10:]) is not None
    return isinstance(value, datetime) and value.tzinfo is not None


def _with_time(value: object) -> object:
    # A day alone would become midnight, and a card would ask somebody to come then.
    if isinstance(value, str | date) and len(str(value)) == len("2026-11-25"):
        raise ValueError("it has no time of day; write it such as 2026-12-09T10:30")
    return value


def _printable(text: str) -> str:
    try:
        return clean_name(text)
    except FactsProblem as problem:
        raise ValueError(problem.found) from problem


def _tooth(number: int) -> int:
    if not is_tooth(number):
        raise ValueError(f"{number} is no tooth in FDI numbers (11 to 48, 51 to 85)")
    return number


def _email(text: str) -> str:
    if not re.fullmatch(r"[^\s@]+@[^\s@]+", text):
        raise ValueError("it is not an email address")
    return text


def _language(text: str) -> str:
    tag = tag_of(text)
    if tag is None:
        raise ValueError(f"{text[:40]!a} is no language that we know; write it as es or Spanish")
    return tag


def _ways(value: object) -> object:
    """The ways to be reminded in our own words, each once, out of a list or a text with commas."""
    if not isinstance(value, str | list | tuple):
        return value
    parts = [value] if isinstance(value, str) else value
    told = [
        part.strip() if isinstance(part, str) else part
        for one in parts
        for part in (re.split("[,;+]", one) if isinstance(one, str) else [one])
    ]
    found = [_CHANNELS.get(_squeezed(one), one) if isinstance(one, str) else one for one in told]
    found = [one for place, one in enumerate(found) if one not in ("", *found[:place])]
    if "none" in found and len(found) > 1:
        raise ValueError("'none' stands beside other ways")
    return found


def _squeezed(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.casefold())


def _grown_up(adult: bool) -> bool:
    # 45 CFR 92.201(e) in the United States; a good rule anywhere (LA-04).
    if not adult:
        raise ValueError("nobody under 18 may interpret; ask a qualified adult")
    return adult


Day = Annotated[date, BeforeValidator(_written)]
# JSON Schema's own format for a date and time asks for an offset, which we refuse.
Moment = Annotated[
    datetime,
    BeforeValidator(_with_time),
    BeforeValidator(_written),
    WithJsonSchema({"type": "string", "pattern": _WRITTEN_MOMENT}),
]
Tooth = Annotated[int, Field(ge=11, le=85), AfterValidator(_tooth)]
Email = Annotated[Line, AfterValidator(_email)]
# Strict: true is not one millimetre, and nan is not a length.
Millimetres = Annotated[float, Field(strict=True, gt=0, le=150, allow_inf_nan=False)]
Number = Annotated[int, Field(strict=True, ge=1, le=5_000)]


class _Facts(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Guardian(_Facts):
    """Who decides and signs for somebody who cannot."""

    name: Line
    relationship: Relationship


class Interpreter(_Facts):
    """Who interprets the talk. ``adult`` must be true: no child interprets for anyone."""

    language: Line
    name_or_id: Line | None = None
    mode: InterpreterMode | None = None
    adult: Annotated[bool, AfterValidator(_grown_up), Field(json_schema_extra={"const": True})] = (
        True
    )


class Person(_Facts):
    """Somebody who is handed a paper. ``called`` is the name for cards that others may see.

    ``language`` is a tag, a code or a name as lists spell it, and becomes a BCP 47 tag; None when
    nobody told it. ``address`` has lines as on an envelope, without the name. ``channels`` are the
    ways on which the person agreed to be reached.
    """

    name: Line
    called: Line | None = None
    born: Day | None = None
    record: Annotated[str, AfterValidator(_printable)] | None = None
    language: Annotated[str, AfterValidator(_language)] | None = None
    large_print: bool = False
    guardian: Guardian | None = None
    interpreter: Interpreter | None = None
    address: tuple[Line, ...] = Field(default=(), max_length=6)
    phone: Line | None = None
    email: Email | None = None
    channels: Annotated[tuple[Channel, ...], BeforeValidator(_ways)] = ()


class Size(_Facts):
    """How large an area is, in millimetres."""

    length: Millimetres
    width: Millimetres | None = None


class Since(_Facts):
    """How long an area has been there: a number of days or of weeks, as it was told."""

    days: Number | None = None
    weeks: Number | None = None

    @model_validator(mode="after")
    def _one_of_both(self) -> "Since":
        if (self.days is None) == (self.weeks is None):
            raise ValueError("give either days or weeks")
        return self

    @property
    def in_days(self) -> int:
        """The same time in days."""
        return self.days if self.days is not None else 7 * (self.weeks or 0)


class Finding(_Facts):
    """An area: where it is, how it looked and felt, and what was done about it.

    ``nearest_tooth`` is an FDI number. ``symptoms`` is None when nobody asked, and empty when the
    person had none. ``ordinary_look`` says whether the area shows in ordinary light.
    """

    place: Place
    side: Side | None = None
    done: tuple[Step, ...] = Field(min_length=1)
    nearest_tooth: Tooth | None = None
    size: Size | None = None
    colour: Colour | None = None
    surface: Surface | None = None
    edge: Edge | None = None
    feel: Feel | None = None
    since: Since | None = None
    symptoms: tuple[Symptom, ...] | None = None
    ordinary_look: OrdinaryLook | None = None
    light: Light | None = None
    pressure: Pressure | None = None
    likely_cause: Cause | None = None
    photographs: tuple[Photograph, ...] = ()
    plan: Plan | None = None
    urgency: Urgency | None = None


class RecheckOutcome(_Facts):
    """What the second look showed, on which day, and what was then planned for the area."""

    found: RecheckFound
    day: Day
    plan: Plan | None = None


class Visit(_Facts):
    """One visit. ``recheck`` is the booked day and time of the second look, local and naive.

    ``normal`` lists places that were looked at and were as they should be. ``nothing_dark`` says
    that the light look was done and that no area looked dark; without it nobody is told so, unless
    the one area of the ``finding`` was not dark. ``decision`` is about the light look and says
    nothing of what it showed. ``coming_back`` is what the person said about the second look, and
    ``missed_rechecks`` how often it was booked and did not take place. ``cancelled_visit`` is a
    booking that was called off; it stands in neither of the others.
    """

    person: Person
    day: Day | None = None
    finding: Finding | None = None
    normal: tuple[Place, ...] = ()
    nothing_dark: bool = Field(default=False, strict=True)
    decision: Decision | None = None
    recheck: Moment | None = None
    coming_back: ComingBack | None = None
    missed_rechecks: int = Field(default=0, strict=True, ge=0, le=20)
    recheck_outcome: RecheckOutcome | None = None
    next_visit: Moment | None = None
    cancelled_visit: Moment | None = None
    explained_by: Staff | None = None
    done_by: Staff | None = None

    @field_validator("day", "recheck_outcome")
    @classmethod
    def _in_order(cls, value: Any, read: ValidationInfo) -> Any:
        before = _earlier(read.field_name, read.data)
        day = value.day if isinstance(value, RecheckOutcome) else value
        if before and day and day < before[1]:
            raise ValueError(f"{day.isoformat()} is before {before[0]}, {before[1].isoformat()}")
        return value

    @property
    def bookings(self) -> tuple[datetime, ...]:
        """What is booked, in order, after the second look if its outcome is recorded."""
        seen = self.recheck_outcome
        booked = {one for one in (self.next_visit, self.recheck) if one}
        return tuple(sorted(one for one in booked if seen is None or one.date() > seen.day))

    @property
    def comes_next(self) -> datetime | None:
        """When the person is booked, whatever for and whether or not it is over."""
        return self.next_visit or self.recheck

    def comes_next_from(self, day: date) -> datetime | None:
        """The first booking that is not before a day; None when none is left."""
        return next((one for one in self.bookings if one.date() >= day), None)


def _earlier(field: str | None, read: dict[str, Any]) -> tuple[str, date] | None:
    """What must lie before a day of the visit, with its day, as far as both were read."""
    if field == "day" and "person" in read and read["person"].born:
        return "the date of birth", read["person"].born
    if field == "recheck_outcome" and read.get("day"):
        return "the day of the visit", read["day"]
    return None


def visit_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a visit, for other programs that write visit files."""
    schema = Visit.model_json_schema()
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    # A file may name its schema, so that an editor can help; we do not read the name.
    schema["properties"]["$schema"] = {"type": "string"}
    return schema


def read_visit(path: Path) -> Visit:
    """A visit from a TOML file, or from a JSON file when its name ends in ``.json``.

    Raises FactsProblem naming the line (TOML) or the path (JSON) of the first mistake.
    """
    in_json = path.suffix.lower() == ".json"
    try:
        text = path.read_text(encoding="utf-8-sig")
        facts = _without_schema(strict_json(text)) if in_json else tomllib.loads(text)
    except (OSError, ValueError, RecursionError) as error:
        why = "A paper about a person must not be made from half a file."
        do = "Correct the file, or write it again as plain text in UTF-8."
        raise unread(path, "", error, why, do) from error
    try:
        return Visit.model_validate(facts)
    except ValidationError as error:
        first = error.errors()[0]
        line = None if in_json else line_of(text, first["loc"])
        raise fact_problem(path.name, line, first) from error


def strict_json(text: str) -> Any:
    """The value of a JSON text. Raises ValueError, also for a key given twice and for NaN.

    Python's own reader would keep the last of two equal keys and lose the other.
    Raises RecursionError for a text with too many brackets in brackets.
    """
    return json.loads(text, object_pairs_hook=_each_key_once, parse_constant=_no_number)


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"{twice!a} is given twice")
    return found


def _no_number(name: str) -> None:
    raise ValueError(f"{name} is not a number")


def _without_schema(facts: Any) -> Any:
    if not isinstance(facts, dict):
        return facts
    return {name: value for name, value in facts.items() if name != "$schema"}


def fact_problem(file: str, line: int | None, error: Any) -> FactsProblem:
    """A mistake in a person's facts as three sentences."""
    where = f"{file} line {line}" if line else file
    return FactsProblem(sentence(f"{where}: {spot(error['loc'])}", error), WHY, DO)
