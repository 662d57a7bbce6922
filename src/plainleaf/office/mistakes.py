"""What is wrong with recorded facts, in words that whoever typed them can use.

Pydantic tells a mistake in a programmer's words; here it becomes the end of a sentence that
begins with where the value stands, such as "'done' says 'polished', …".
"""

import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any

from plainleaf.errors import FactsProblem, Problem

WHY = "What is printed about a person must be exactly what was recorded."
DO = "Correct that value and try again."
_SHOWN = 40
_SAID = {
    "extra_forbidden": "is nothing that we know here",
    "missing": "is missing",
    "too_short": "has nothing in it",
    "string_type": "should be a text",
    "string_too_short": "is empty",
    "bool_type": "should be true or false",
    "bool_parsing": "should be true or false",
    "int_type": "should be a whole number",
    "int_parsing": "should be a whole number",
    "int_from_float": "should be a whole number",
    "float_type": "should be a number",
    "float_parsing": "should be a number",
    "finite_number": "should be a number",
    "tuple_type": "should be a list in square brackets",
    "model_type": "should be a table with entries of its own",
    "model_attributes_type": "should be a table with entries of its own",
    "dict_type": "should be a table with entries of its own",
    "date_parsing": "is no day of the calendar",
    "date_from_datetime_parsing": "is no day of the calendar",
    "date_from_datetime_inexact": "has a time of day, and a day alone is wanted",
    "date_type": "should be a day, such as 2026-11-25",
    "datetime_parsing": "is no day and time, such as 2026-12-09T10:30",
    "datetime_from_date_parsing": "is no day and time, such as 2026-12-09T10:30",
    "datetime_type": "should be a day and time, such as 2026-12-09T10:30",
}
_NO_VALUE = {"extra_forbidden", "missing", "too_short"}


def reason(error: Any) -> str:
    """The end of a sentence about a mistake that pydantic found, without its point."""
    kind, context = error["type"], error.get("ctx", {})
    if kind == "literal_error":
        return f"is not known; we know {context['expected']}"
    if kind == "too_long":
        return f"has more than {context['max_length']} entries"
    if kind in _SAID:
        return _SAID[kind]
    return _bare(error)[:1].lower() + _bare(error)[1:]


def _bare(error: Any) -> str:
    words = str(error["msg"]).removeprefix("Value error, ").removeprefix("Input ").rstrip(".")
    return re.sub(r"^it (?=is|has)", "", words)


def typed(value: object) -> str:
    """What was typed, as a screen can show it; empty for what is no single value."""
    if not isinstance(value, str | int | float | date):
        return ""
    # JSON can hold half a character, which no screen can show.
    text = str(value).encode("utf-8", "replace").decode("utf-8")
    return f"'{text[:_SHOWN]}{'…' if len(text) > _SHOWN else ''}'"


def spot(location: Sequence[str | int]) -> str:
    """Where a value stands in a file of tables: names with points, and which one of several."""
    keys = ".".join(str(part) for part in location if isinstance(part, str))
    number = next((f", number {part + 1}," for part in location[::-1] if isinstance(part, int)), "")
    shown = keys.encode("utf-8", "replace").decode("utf-8")
    return f"'{shown}'{number}" if keys else "the file"


def sentence(where: str, error: Any) -> str:
    """One whole sentence about a mistake, with what was typed."""
    said = typed(error["input"]) if error["type"] not in _NO_VALUE else ""
    if said and _bare(error).startswith(said):
        return f"{where}: {_bare(error)}."
    shown = f"{where} says {said}" if said else where
    if error["type"] == "value_error" and not re.match("is|has", _bare(error)):
        return f"{shown}: {reason(error)}."
    return f"{shown}{', which' if said else ''} {reason(error)}."


def together(problems: Sequence[Problem]) -> Problem:
    """All that is wrong with one person's facts as one problem; at least one is given."""
    if len(problems) == 1:
        return problems[0]
    found, do = (
        " ".join(dict.fromkeys(getattr(one, part) for one in problems)) for part in ("found", "do")
    )
    return FactsProblem(found, problems[0].why, do)


def unread(path: Path, what: str, error: Exception, why: str, do: str) -> FactsProblem:
    """The problem with a file that cannot be read as what it should be."""
    name = path.name or str(path)
    if isinstance(error, FileNotFoundError):
        where = path.parent.resolve().name or "this folder"
        return FactsProblem(f"There is no {name} in {where}.", why, "Correct its name or folder.")
    if path.is_dir():
        return FactsProblem(f"{name} is a folder.", why, "Name the file itself.")
    if isinstance(error, UnicodeDecodeError):
        told = "its letters are not in UTF-8"
    elif isinstance(error, RecursionError):
        told = "it has too many brackets in brackets"
    else:
        told = (error.strerror or "") if isinstance(error, OSError) else str(error).rstrip(".")
    return FactsProblem(f"{name} cannot be read{what}: {told}.", why, do)
