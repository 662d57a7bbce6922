"""A person and what happened at the visit: the facts that a paper may ask for."""

import tomllib
from datetime import date, datetime
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError

from plainleaf.errors import FactsProblem
from plainleaf.language.locales import clean_name
from plainleaf.office.practice import Line, Staff, line_of

Side = Literal["left", "right", "middle"]
Place = Literal[
    "upper lip",
    "lower lip",
    "inside upper lip",
    "inside lower lip",
    "corner of mouth",
    "cheek",
    "upper groove",
    "lower groove",
    "upper gum",
    "lower gum",
    "behind last molar",
    "hard palate",
    "soft palate",
    "uvula",
    "top of tongue",
    "side of tongue",
    "under tongue",
    "back of tongue",
    "floor of mouth",
    "tonsil",
    "throat",
]
"""Places of the lining of the mouth in plain words (common clinical list, from memory)."""

Step = Literal[
    "smoothed edge",
    "eased denture",
    "pressed gently",
    "took photograph",
    "treated infection",
    "left alone",
]


class _Facts(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Person(_Facts):
    """Somebody who is handed a paper. ``called`` is the name for cards that others may see."""

    name: Line
    called: Line | None = None
    born: date | None = None
    record: Annotated[str, AfterValidator(clean_name)] | None = None
    language: str = "en"
    large_print: bool = False


class Finding(_Facts):
    """A dark area: where it is and what was done about it."""

    place: Place
    side: Side | None = None
    done: tuple[Step, ...] = Field(min_length=1)


class Visit(_Facts):
    """One visit. ``recheck`` is the booked day and time of the second look, local and naive."""

    person: Person
    day: date | None = None
    finding: Finding | None = None
    recheck: datetime | None = None
    next_visit: datetime | None = None
    explained_by: Staff | None = None
    done_by: Staff | None = None


def read_visit(path: Path) -> Visit:
    """A visit from a TOML file. Raises FactsProblem naming the line of the first mistake."""
    try:
        text = path.read_text(encoding="utf-8")
        return Visit.model_validate(tomllib.loads(text))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise FactsProblem(
            f"{path.name} cannot be read: {error}.",
            "A paper about a person must not be made from half a file.",
            "Correct the file, or write it again as plain text in UTF-8.",
        ) from error
    except ValidationError as error:
        first = error.errors()[0]
        raise fact_problem(path.name, line_of(text, first["loc"]), first) from error


def fact_problem(file: str, line: int | None, error: Any) -> FactsProblem:
    """The first mistake in a person's facts as three sentences."""
    name = ".".join(str(part) for part in error["loc"]) or "the file"
    reason = str(error["msg"]).removeprefix("Value error, ").rstrip(".")
    where = f"{file} line {line}" if line else file
    return FactsProblem(
        f"{where}: '{name}': {reason[:1].lower()}{reason[1:]}.",
        "What is printed about a person must be exactly what was recorded.",
        "Correct that value and try again.",
    )
