"""The cells of one row of a list into a visit; everything that is wrong with them at once."""

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from typing import Any, get_args

from pydantic import ValidationError

from plainleaf.errors import FactsProblem, Problem
from plainleaf.evidence.cells import yes_or_no
from plainleaf.office import visits
from plainleaf.office.dates import Days, UnclearDayError, clock
from plainleaf.office.headings import Columns
from plainleaf.office.mistakes import DO, WHY, sentence, together, typed
from plainleaf.office.postal import address_lines
from plainleaf.office.practice import Practice, Role
from plainleaf.office.visits import Visit

_NOT_LOOKED = ("declined", "wants time")
"""Decisions with which nobody has looked with the light."""

_PERSON = ("name", "called", "language", "born", "record", "phone", "email", "large_print")
_CLOSED = {
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
    "coming_back": visits.ComingBack,
    "relationship": visits.Relationship,
    "interpreter_mode": visits.InterpreterMode,
}
_SEVERAL = {
    "done": visits.Step,
    "symptoms": visits.Symptom,
    "photographs": visits.Photograph,
    "channels": visits.Channel,
    "normal": visits.Place,
}
# A side or a step alone makes no finding, since a list may fill them in for everybody.
_FINDING = (
    *("place", "nearest_tooth", "colour", "surface", "edge", "feel", "size", "since", "symptoms"),
    *("ordinary_look", "light", "pressure", "likely_cause", "photographs", "plan", "urgency"),
)
_VISIT = (
    *("day", "recheck", "next_visit", "cancelled_visit", "decision"),
    *("coming_back", "normal", "nothing_dark", "missed_rechecks"),
)
_STREETS = ("address", "address_1", "address_2", "address_3")
_BESIDE: dict[tuple[str, ...], str] = {
    ("recheck_outcome", "found"): "outcome",
    ("recheck_outcome", "day"): "outcome_day",
    ("guardian", "relationship"): "relationship",
    ("guardian", "name"): "guardian",
    ("interpreter", "language"): "interpreter_language",
    ("interpreter", "mode"): "interpreter_mode",
    ("interpreter", "name_or_id"): "interpreter",
}
"""The column of a fact that has another name in a visit, by the last two parts of its place."""

_ALSO_SAID = {
    visits.Side: {"l": "left", "leftside": "left", "r": "right", "rightside": "right"},
    visits.Relationship: {
        **dict.fromkeys(("mother", "father", "mom", "mum", "dad"), "parent"),
        "guardian": "legal guardian",
    },
}
"""Other words of front desks for a value of a closed set; those for ways to be reminded are known
in a visit's file too (``visits``)."""

_NAMELESS = "(no name)"
_SIZE = re.compile(
    r"([0-9]{1,4}(?:[.,][0-9]{1,3})?)\s*(?:mm)?"
    r"(?:\s*(?:x|×|by)\s*([0-9]{1,4}(?:[.,][0-9]{1,3})?)\s*(?:mm)?)?",
    re.IGNORECASE,
)
_SINCE = re.compile(r"([0-9]{1,4})\s*(day|week)s?", re.IGNORECASE)


class _UnclearError(ValueError):
    """A cell that means nothing to us: the end of the sentence about it, and what to do."""

    def __init__(self, says: str, do: str = DO) -> None:
        super().__init__(says)
        self.do = do


class Cells:
    """One row's cells by what they tell, and what turned out to be wrong with them."""

    def __init__(
        self, values: Mapping[str, str], columns: Columns, days: Days, practice: Practice | None
    ) -> None:
        self.values = values
        self.columns = columns
        self.days = days
        self.practice = practice
        self.wrong: dict[str, Problem] = {}

    def name(self) -> str:
        """The person's name as the list has it, for whoever looks for the row."""
        return self._name() or _NAMELESS

    def visit(self) -> Visit:
        """The visit that the row tells. Raises one problem with all that is wrong."""
        facts = self._facts()
        try:
            visit = Visit.model_validate(facts)
        except ValidationError as error:
            for one in error.errors():
                fact = _fact(one["loc"])
                if fact not in self.wrong:
                    self.wrong[fact] = FactsProblem(self._told(fact, one), WHY, DO)
        if self.wrong:
            raise together(list(self.wrong.values()))
        return visit

    # ---- the parts of a visit ------------------------------------------------------------

    def _facts(self) -> dict[str, Any]:
        said = {one: text for one in self.values if (text := self._value(one)) is not None}
        facts: dict[str, Any] = {name: said[name] for name in _VISIT if name in said}
        facts["person"] = self._person(said)
        if "outcome" in said or "outcome_day" in said:
            parts = {"found": said.get("outcome"), "day": said.get("outcome_day")}
            facts["recheck_outcome"] = {name: value for name, value in parts.items() if value}
        if any(name in said for name in _FINDING):
            facts["finding"] = self._finding(said)
        for name in ("explained_by", "done_by"):
            if name in said:
                facts[name] = said[name]
        return facts

    def _finding(self, said: Mapping[str, Any]) -> dict[str, Any]:
        """What was found. A place under 'dark area' looked dark, unless another cell denies it."""
        parts = {name: said[name] for name in (*_FINDING, "side") if name in said}
        dark = "dark" in self.columns.head("place").lower() and "place" in said
        seen = {"light": "dark"} if dark and said.get("decision") not in _NOT_LOOKED else {}
        return seen | parts | {"done": said.get("done", ())}

    def _value(self, fact: str) -> Any:
        """What a cell means; None, with the reason kept, when it means nothing to us."""
        text = self.values[fact]
        try:
            if fact in _SEVERAL:
                return _several(text, _SEVERAL[fact])
            if fact in _CLOSED:
                return _said(text, _CLOSED[fact])
            reader = _READERS.get(fact)
            return reader(self, text) if reader else text
        except (_UnclearError, UnclearDayError) as error:
            do = getattr(error, "do", "Write days as 2026-12-09, with a time as 2026-12-09 10:30.")
            told = f"'{self.columns.head(fact)}' says {typed(text)}, {error}."
            self.wrong[fact] = FactsProblem(told, WHY, do)
            return None

    def _person(self, said: Mapping[str, Any]) -> dict[str, Any]:
        person: dict[str, Any] = {name: said[name] for name in _PERSON if name in said}
        person |= {"name": self._name(), "called": said.get("called") or said.get("first")}
        person["address"] = address_lines(
            [self.values.get(one, "") for one in _STREETS],
            self.values.get("city", ""),
            self.values.get("state", ""),
            self.values.get("postal_code", ""),
            self.practice.country if self.practice else "",
        )
        for name in ("channels", "guardian"):
            if name in said:
                person[name] = said[name]
        asked = {"interpreter", "interpreter_language", "interpreter_mode"} & set(said)
        if asked and said.get("interpreter") is not False:
            person["interpreter"] = self._interpreter(said)
        return {name: value for name, value in person.items() if value not in (None, "")}

    def _name(self) -> str:
        first, last = (self.values.get(one, "") for one in ("first", "last"))
        if "name" in self.columns.places:
            return self.values.get("name", "")
        if first and last and _is_east_asian(first + last):
            return last + first
        return f"{first} {last}".strip()

    def _interpreter(self, said: Mapping[str, Any]) -> dict[str, Any]:
        language = said.get("interpreter_language") or said.get("language")
        who = said.get("interpreter")
        parts = {"language": language, "mode": said.get("interpreter_mode")}
        named = {"name_or_id": who if isinstance(who, str) else None}
        return {name: value for name, value in (parts | named).items() if value}

    # ---- cells that are not plain texts ----------------------------------------------------

    def _moment(self, fact: str) -> Callable[[str], str]:
        return lambda text: self.days.moment(text, self.values.get(f"{fact}_time", ""))

    def _time(self, fact: str, text: str) -> None:
        """Sees that a time of day is one, and that its day is told in another column."""
        if not clock(text):
            raise _UnclearError("which is no time of day", "Write times as 10:30, or 10:30 AM.")
        if fact not in self.values:
            raise _UnclearError(
                f"and no day stands under '{self.columns.head(fact)}'", "Add the day, or no time."
            )

    def _guardian(self, text: str) -> dict[str, str]:
        """Name and relationship, which may stand in brackets behind the name."""
        known = get_args(visits.Relationship)
        parts = re.fullmatch(r"(.*\S)\s*\(([^()]*)\)", text)
        name, told = (parts[1], parts[2]) if parts else (text, self.values.get("relationship", ""))
        if not told and _squeezed(self.columns.head("guardian")) == "parent":
            told = "parent"
        if not told:
            raise _UnclearError(
                "and nobody says who that is to the person",
                f"Add a column 'relationship' with one of {', '.join(known)}.",
            )
        return {"name": name, "relationship": _said(told, visits.Relationship)}

    def _staff(self, text: str) -> dict[str, str]:
        """Somebody of the practice, by the name in its settings or with a role in brackets."""
        team = self.practice.staff if self.practice else ()
        for one in team:
            if _squeezed(one.name) == _squeezed(text):
                return {"name": one.name, "role": one.role}
        parts = re.fullmatch(r"(.*\S)\s*\(([^()]*)\)", text)
        if parts and _said(parts[2], Role) in get_args(Role):
            return {"name": parts[1], "role": _said(parts[2], Role)}
        names = ", ".join(one.name for one in team) or "nobody"
        raise _UnclearError(
            f"which is nobody of your team ({names})",
            "Write the name as in practice.toml, or add the role in brackets, such as (dentist).",
        )

    # ---- what is wrong, in the list's own words -----------------------------------------------

    def _told(self, fact: str, error: Any) -> str:
        head = f"'{self.columns.head(fact)}'"
        if error["type"] in ("missing", "too_short"):
            if fact == "place":
                told = [self.columns.head(one) for one in _FINDING if self.values.get(one)]
                return f"{head} is empty, though '{told[0]}' tells of an area."
            known = f"; we know {', '.join(get_args(visits.Step))}" if fact == "done" else ""
            return f"{head} is empty{known}."
        if not isinstance(error["loc"][-1], int):
            error = {**error, "input": self.values.get(fact, error["input"])}
        return sentence(head, error)


def _fact(location: Sequence[str | int]) -> str:
    """The column for the place of a value in a visit."""
    keys = tuple(part for part in location if isinstance(part, str))
    if keys[-2:] in _BESIDE:
        return _BESIDE[keys[-2:]]
    return keys[1] if keys[0] in ("person", "finding") and len(keys) > 1 else keys[0]


def _said(text: str, closed: Any) -> str:
    """The value of a closed set that a cell means, whatever its capitals, spaces and hyphens."""
    text = _ALSO_SAID.get(closed, {}).get(_squeezed(text), text)
    meant = (one for one in get_args(closed) if _squeezed(one) == _squeezed(text))
    return next(meant, text.strip().lower())


def _several(text: str, closed: Any) -> tuple[str, ...]:
    """The values of a closed set in a cell that joins them with ``+`` or commas."""
    if closed is visits.Symptom and _squeezed(text) == "none":
        return ()
    return tuple(_said(part, closed) for part in re.split("[+,;]", text) if part.strip())


def _squeezed(text: str) -> str:
    return re.sub(r"[\W_]+", "", text.lower())


def _is_east_asian(text: str) -> bool:
    """Whether a name is in Chinese, Japanese or Korean letters, so that the family comes first."""
    kinds = ("CJK", "HIRAGANA", "KATAKANA", "HANGUL")
    return all(unicodedata.name(char, "").startswith(kinds) for char in text if not char.isspace())


def _size(_: Cells, text: str) -> dict[str, float]:
    """Length and width out of a cell such as ``7 x 4`` or ``7.5 mm``, in millimetres."""
    found = _SIZE.fullmatch(text)
    if found is None:
        raise _UnclearError(
            "which is not a length in millimetres", "Write millimetres, such as 7 or 7 x 4."
        )
    numbers = (float(one.replace(",", ".")) for one in found.groups() if one)
    return dict(zip(("length", "width"), numbers, strict=False))


def _since(_: Cells, text: str) -> dict[str, int]:
    """A number of days or weeks out of a cell such as ``10 days`` or ``3 weeks``."""
    found = _SINCE.fullmatch(text)
    if found is None:
        raise _UnclearError(
            "which is no number of days or weeks", "Write it like 10 days or 3 weeks."
        )
    return {f"{found[2].lower()}s": int(found[1])}


def _yes_or_no(_: Cells, text: str) -> bool:
    said = yes_or_no(text)
    if said is None:
        raise _UnclearError("which is neither yes nor no", "Write yes or no.")
    return said


def _interpreted(_: Cells, text: str) -> str | bool:
    """Whether an interpreter is needed, or the name or number of the one who comes."""
    said = yes_or_no(text)
    return text if said is None else said


def _number(_: Cells, text: str) -> str | int:
    return int(text) if re.fullmatch("[0-9]{1,3}", text) else text


_READERS: dict[str, Callable[[Cells, str], Any]] = {
    "born": lambda cells, text: cells.days.day(text),
    "day": lambda cells, text: cells.days.day(text),
    "outcome_day": lambda cells, text: cells.days.day(text),
    "recheck": lambda cells, text: cells._moment("recheck")(text),
    "next_visit": lambda cells, text: cells._moment("next_visit")(text),
    "cancelled_visit": lambda cells, text: cells._moment("cancelled_visit")(text),
    "recheck_time": lambda cells, text: cells._time("recheck", text),
    "next_visit_time": lambda cells, text: cells._time("next_visit", text),
    "cancelled_visit_time": lambda cells, text: cells._time("cancelled_visit", text),
    "size": _size,
    "since": _since,
    "large_print": _yes_or_no,
    "nothing_dark": _yes_or_no,
    "missed_rechecks": _number,
    "guardian": Cells._guardian,
    "interpreter": _interpreted,
    "explained_by": Cells._staff,
    "done_by": Cells._staff,
}
