"""A day's list: a CSV file with one person a line, as the front desk saves it from a table."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from plainleaf.errors import FactsProblem, Problem
from plainleaf.office.visits import Visit, fact_problem

_HEADINGS = {
    "name": ("name", "patient", "full name", "patient name"),
    "called": ("called", "first name", "given name", "preferred name"),
    "language": ("language", "preferred language", "lang"),
    "born": ("born", "date of birth", "birth date", "dob"),
    "record": ("record", "record number", "chart", "chart number", "id"),
    "large_print": ("large print", "largeprint"),
    "day": ("visit day", "visit date", "day", "date"),
    "place": ("dark area", "place", "site"),
    "side": ("side",),
    "done": ("done", "what was done"),
    "recheck": ("recheck", "re check"),
    "next_visit": ("next visit", "next appointment", "appointment"),
}
_PERSON = ("name", "called", "language", "born", "record", "large_print")
_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0", ""})


@dataclass(frozen=True)
class Row:
    """One line of the list: its line number in the file, and the visit or the problem with it."""

    line: int
    name: str
    visit: Visit | None
    problem: Problem | None = None


def read_list(path: Path) -> list[Row]:
    """Everybody on the list, in order. A bad line becomes a Row with its problem, never lost.

    Raises FactsProblem when the file as a whole cannot be understood.
    """
    text = _text(path)
    delimiter = max(",;\t", key=text.partition("\n")[0].count)
    reader = csv.reader(text.splitlines(keepends=True), delimiter=delimiter, strict=True)
    try:
        heads = _columns(path.name, next(reader, []))
        return list(_rows(path.name, reader, heads))
    except csv.Error as error:
        raise _unreadable(path.name, f"line {reader.line_num}: {error}") from error


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig").replace("\x00", "")
    except (OSError, UnicodeDecodeError) as error:
        raise _unreadable(path.name, error.__class__.__name__) from error


def _unreadable(file: str, why: str) -> FactsProblem:
    return FactsProblem(
        f"{file} cannot be read as a list ({why}).",
        "Somebody on it could be left out without anyone knowing.",
        "Save the table as CSV in UTF-8 and try again.",
    )


def _columns(file: str, heads: list[str]) -> dict[int, str]:
    found: dict[int, str] = {}
    for index, head in enumerate(heads):
        plain = re.sub(r"[\s_\-]+", " ", head).strip().lower()
        for name, spellings in _HEADINGS.items():
            if plain in spellings and name not in found.values():
                found[index] = name
    if "name" not in found.values():
        raise FactsProblem(
            f"{file} has no column of names in its first line.",
            "Without it we cannot tell whose paper is whose.",
            "Give the columns headings, one of them 'name' and one 'language'.",
        )
    return found


def _rows(file: str, reader: Any, heads: dict[int, str]) -> Iterator[Row]:
    for cells in reader:
        values = {
            name: cells[index].strip()
            for index, name in heads.items()
            if index < len(cells) and cells[index].strip()
        }
        if not values:
            continue
        yield _row(file, reader.line_num, values)


def _row(file: str, line: int, values: dict[str, str]) -> Row:
    name = values.get("name", "(no name)")
    try:
        return Row(line, name, _visit(values))
    except ValidationError as error:
        return Row(line, name, None, fact_problem(file, line, error.errors()[0]))
    except Problem as known:
        return Row(line, name, None, known)


def _visit(values: dict[str, str]) -> Visit:
    person: dict[str, Any] = {name: values[name] for name in _PERSON if name in values}
    person["large_print"] = _yes_or_no(values.get("large_print", ""))
    facts: dict[str, Any] = {"person": person}
    for name in ("day", "recheck", "next_visit"):
        if name in values:
            facts[name] = values[name]
    if "place" in values:
        facts["finding"] = {
            "place": values["place"].lower(),
            "side": values.get("side", "").lower() or None,
            "done": [step.strip() for step in values.get("done", "").split("+") if step.strip()],
        }
    return Visit.model_validate(facts)


def _yes_or_no(text: str) -> bool:
    plain = text.lower()
    if plain not in _YES | _NO:
        raise FactsProblem(
            f"Large print is '{text}', which is neither yes nor no.",
            "We would have to guess how large to print.",
            "Write yes or no.",
        )
    return plain in _YES
