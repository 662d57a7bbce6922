"""A day's list: a CSV file with one person a line, as the front desk saves it from a table."""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any, get_args

from pydantic import ValidationError

from plainleaf.errors import FactsProblem, Problem
from plainleaf.evidence.cells import delimiter_of, plain_words, yes_or_no
from plainleaf.office import visits
from plainleaf.office.visits import Visit, fact_problem

_HEADINGS = {
    "name": ("name", "patient", "full name", "patient name"),
    "called": ("called", "first name", "given name", "preferred name"),
    "language": ("language", "preferred language", "lang"),
    "born": ("born", "date of birth", "birth date", "dob"),
    "record": ("record", "record number", "chart", "chart number", "id"),
    "large_print": ("large print", "largeprint"),
    "day": ("visit day", "visit date", "day", "date"),
    "dark_area": ("dark area",),
    "place": ("place", "site"),
    "side": ("side",),
    "done": ("done", "what was done"),
    "recheck": ("recheck", "re check"),
    "next_visit": ("next visit", "next appointment", "appointment"),
    "nearest_tooth": ("nearest tooth", "tooth"),
    "colour": ("colour", "color"),
    "size": ("size", "size mm", "size (mm)", "size in mm"),
    "light": ("light", "light look", "under the light"),
    "pressure": ("pressure", "on pressure", "pressed"),
    "likely_cause": ("cause", "likely cause"),
    "plan": ("plan",),
    "urgency": ("urgency", "priority"),
    "surface": ("surface",),
    "edge": ("edge", "border"),
    "feel": ("feel", "palpation"),
    "ordinary_look": ("ordinary look", "in ordinary light"),
    "since": ("since", "how long", "duration"),
    "symptoms": ("symptoms",),
    "photographs": ("photographs", "photos"),
    "nothing_dark": ("nothing dark", "nothing looked dark"),
    "decision": ("decision",),
    "phone": ("phone", "phone number", "telephone", "mobile", "cell phone"),
    "email": ("email", "e mail", "email address"),
    "address": ("address", "postal address"),
    "outcome": ("recheck outcome", "re check outcome"),
    "outcome_day": ("recheck outcome day", "outcome day", "day of outcome"),
    "missed_rechecks": ("missed rechecks", "missed re checks"),
    "channels": ("channels", "reach by", "remind by", "contact by"),
}
_PERSON = ("name", "called", "language", "born", "record", "phone", "email")
_CLOSED = {
    "dark_area": visits.Place,
    "place": visits.Place,
    "side": visits.Side,
    "colour": visits.Colour,
    "light": visits.Light,
    "pressure": visits.Pressure,
    "likely_cause": visits.Cause,
    "plan": visits.Plan,
    "urgency": visits.Urgency,
    "surface": visits.Surface,
    "edge": visits.Edge,
    "feel": visits.Feel,
    "ordinary_look": visits.OrdinaryLook,
    "decision": visits.Decision,
    "outcome": visits.RecheckFound,
}
# A side or a step alone makes no finding, since a list may fill them in for everybody.
_FINDING = (
    *("place", "nearest_tooth", "colour", "surface", "edge", "feel", "size", "since", "symptoms"),
    *("ordinary_look", "light", "pressure", "likely_cause", "photographs", "plan", "urgency"),
)
_SIZE = re.compile(
    r"([0-9]{1,4}(?:[.,][0-9]{1,3})?)\s*(?:mm)?"
    r"(?:\s*(?:x|×|by)\s*([0-9]{1,4}(?:[.,][0-9]{1,3})?)\s*(?:mm)?)?",
    re.IGNORECASE,
)
_SINCE = re.compile(r"([0-9]{1,4})\s*(day|week)s?", re.IGNORECASE)


@dataclass(frozen=True)
class Row:
    """One line of the list: its line number in the file, and the visit or the problem with it."""

    line: int
    name: str
    visit: Visit | None
    problem: Problem | None = None

    def sound_visit(self) -> Visit:
        """The visit. Raises the problem that the line has instead."""
        if self.visit is None:
            assert self.problem is not None
            raise self.problem
        return self.visit


def read_list(path: Path) -> list[Row]:
    """Everybody on the list, in order. A bad line becomes a Row with its problem, never lost.

    Raises FactsProblem when the file as a whole cannot be understood.
    """
    text = _text(path)
    # A heading in quotation marks may have commas and two lines.
    delimiter = delimiter_of(re.sub('"[^"]*"', "", text).partition("\n")[0])
    # Only a line end ends a line: splitlines would also cut a name at marks such as U+2028.
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    try:
        heads = next(reader, [])
        return list(_rows(path.name, reader, _columns(path.name, heads), len(heads)))
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
        plain = plain_words(head)
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


def _rows(file: str, reader: Any, heads: dict[int, str], width: int) -> Iterator[Row]:
    for cells in reader:
        # A line is passed over only when it is blank, also in the columns that we do not read.
        if any(cell.strip() for cell in cells):
            values = {
                name: cells[index].strip()
                for index, name in heads.items()
                if index < len(cells) and cells[index].strip()
            }
            yield _row(file, reader.line_num, values, "".join(cells[width:]).strip())


def _row(file: str, line: int, values: dict[str, str], beyond: str) -> Row:
    name = values.get("name", "(no name)")
    if beyond:
        return Row(line, name, None, _shifted(file, line, beyond))
    try:
        return Row(line, name, _visit(values))
    except ValidationError as error:
        return Row(line, name, None, fact_problem(file, line, error.errors()[0]))
    except Problem as known:
        return Row(line, name, None, known)


def _shifted(file: str, line: int, beyond: str) -> FactsProblem:
    return FactsProblem(
        f"{file} line {line}: there are more cells than headings, at the end {beyond[:40]!a}.",
        "A name with a comma in it moves all that follows into the wrong column.",
        "Put the cell with the comma into quotation marks, or give each column a heading.",
    )


def _visit(values: dict[str, str]) -> Visit:
    said = _in_full({name: _said(text, _CLOSED.get(name)) for name, text in values.items()})
    facts: dict[str, Any] = {"person": _person(said)}
    for name in ("day", "recheck", "next_visit", "decision"):
        if name in said:
            facts[name] = said[name]
    if "nothing_dark" in said:
        facts["nothing_dark"] = _yes_or_no(said["nothing_dark"], "Nothing dark")
    if "outcome" in said or "outcome_day" in said:
        parts = {"found": said.get("outcome"), "day": said.get("outcome_day")}
        facts["recheck_outcome"] = {name: value for name, value in parts.items() if value}
    if "missed_rechecks" in said:
        number = said["missed_rechecks"]
        facts["missed_rechecks"] = int(number) if re.fullmatch("[0-9]{1,3}", number) else number
    if any(name in said for name in _FINDING):
        facts["finding"] = _finding(said)
    return Visit.model_validate(facts)


def _in_full(said: dict[str, str]) -> dict[str, str]:
    """What the heading 'dark area' says: a place, and that it looked dark, unless a cell denies it.

    Nobody looked with the light when the person has not said yes to it.
    """
    if "dark_area" not in said:
        return said
    seen = {} if said.get("decision") in ("declined", "wants time") else {"light": "dark"}
    return {"place": said["dark_area"], **seen, **said}


def _person(values: dict[str, str]) -> dict[str, Any]:
    person: dict[str, Any] = {name: values[name] for name in _PERSON if name in values}
    person["large_print"] = _yes_or_no(values.get("large_print", ""), "Large print")
    if "address" in values:
        lines = re.split(r"[|\n]", values["address"])
        person["address"] = [line.strip() for line in lines if line.strip()]
    if "channels" in values:
        person["channels"] = _several(values["channels"], visits.Channel)
    return person


def _finding(values: dict[str, str]) -> dict[str, Any]:
    finding: dict[str, Any] = {name: values[name] for name in _FINDING if name in values}
    if "side" in values:
        finding["side"] = values["side"]
    if "size" in values:
        finding["size"] = _size(values["size"])
    if "since" in values:
        finding["since"] = _since(values["since"])
    if "symptoms" in values:
        asked = values["symptoms"]
        finding["symptoms"] = () if asked == "none" else _several(asked, visits.Symptom)
    finding["photographs"] = _several(values.get("photographs", ""), visits.Photograph)
    finding["done"] = _several(values.get("done", ""), visits.Step)
    return finding


def _said(text: str, closed: Any) -> str:
    """The value of a closed set that a cell means, whatever its capitals, spaces and hyphens."""
    if closed is None:
        return text
    meant = (one for one in get_args(closed) if _squeezed(one) == _squeezed(text))
    return next(meant, text.strip().lower())


def _several(text: str, closed: Any) -> list[str]:
    """The values of a closed set in a cell that joins them with ``+``."""
    return [_said(part, closed) for part in text.split("+") if part.strip()]


def _squeezed(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.lower())


def _size(text: str) -> dict[str, float]:
    """Length and width out of a cell such as ``7 x 4`` or ``7.5 mm``, in millimetres."""
    found = _SIZE.fullmatch(text)
    if found is None:
        raise FactsProblem(
            f"The size is '{text[:40]}', which is not a length in millimetres.",
            "A referral with a wrong size misleads whoever reads it.",
            "Write millimetres, such as 7 or 7 x 4.",
        )
    numbers = (float(one.replace(",", ".")) for one in found.groups() if one)
    return dict(zip(("length", "width"), numbers, strict=False))


def _since(text: str) -> dict[str, int]:
    """A number of days or weeks out of a cell such as ``10 days`` or ``3 weeks``."""
    found = _SINCE.fullmatch(text)
    if found is None:
        raise FactsProblem(
            f"How long it has been there is '{text[:40]}', which is no number of days or weeks.",
            "How long an area stays decides how soon somebody should be seen.",
            "Write it like 10 days or 3 weeks.",
        )
    return {f"{found[2].lower()}s": int(found[1])}


def _yes_or_no(text: str, what: str) -> bool:
    said = yes_or_no(text) if text else False
    if said is None:
        raise FactsProblem(
            f"{what} is '{text}', which is neither yes nor no.",
            "We would have to guess what to print.",
            "Write yes or no.",
        )
    return said
