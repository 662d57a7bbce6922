"""The practice's own counts: what became of the dark areas that were looked at again.

The file has one row for each dark area and says nothing about whose it is: columns with other
headings are not read at all. Few areas say little, so under ``LEAST`` nothing is printed.
"""

from collections import Counter
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TypeVar

from plainleaf.errors import FactsProblem
from plainleaf.evidence.cells import (
    delimiter_of,
    iso_day,
    plain_words,
    read_lines,
    split,
    yes_or_no,
)
from plainleaf.evidence.intervals import Interval, wilson

LEAST = 20
"""How many dark areas a practice must have looked at before its own counts may be printed."""

_HEADINGS = {
    "seen": ("seen", "first seen", "day seen", "date seen"),
    "recheck": ("recheck", "re check", "second look"),
    "referred": ("referred", "referral"),
    "biopsied": ("biopsied", "biopsy"),
    "outcome": ("outcome", "result", "biopsy result"),
}
_RECHECKS = ("gone", "smaller", "still there", "not back")
_OUTCOMES = ("harmless", "early change", "cancer", "unknown")
_SERIOUS = ("early change", "cancer")
_Value = TypeVar("_Value")
_WHY = "A count with a wrong row in it would be printed as the practice's own result."


@dataclass(frozen=True)
class Results:
    """Counts of dark areas first seen from ``first_day`` to ``last_day``, both included.

    ``dark`` is the sum of ``gone``, ``smaller``, ``still_there`` and ``not_back``. ``harmless``
    and ``serious`` (early change or cancer) are biopsies; the others of ``biopsied`` have no
    known outcome yet.
    """

    first_day: date
    last_day: date
    dark: int
    gone: int
    smaller: int
    still_there: int
    not_back: int
    referred: int
    biopsied: int
    harmless: int
    serious: int

    @property
    def printable(self) -> bool:
        """Whether there are enough dark areas for a patient to be shown the counts."""
        return self.dark >= LEAST

    def interval(self, count: int, of: int | None = None) -> Interval:
        """The 95% interval for a share of the dark areas, or ``of`` fewer (those biopsied, say).

        Raises ValueError for counts that cannot be.
        """
        return wilson(count, self.dark if of is None else of)


@dataclass(frozen=True)
class _Area:
    seen: date
    recheck: str
    referred: bool
    biopsied: bool
    outcome: str


def read_results(path: Path) -> Results:
    """The counts of the file. Raises FactsProblem naming line and column of what is wrong.

    The first bad line is told in full, the numbers of the others follow.
    """
    (number, first), *rest = read_lines(path, _wrong)
    delimiter = delimiter_of(first)
    heads = split(f"{path.name} line {number}", first, delimiter, _wrong)
    columns = _columns(path.name, heads)
    areas: list[_Area] = []
    bad: dict[int, FactsProblem] = {}
    for number, text in rest:
        where = f"{path.name} line {number}"
        try:
            cells = [cell.strip() for cell in split(where, text, delimiter, _wrong)]
            if any(cells):
                _none_beyond(where, cells[len(heads) :])
                areas.append(_area(where, _named(columns, cells)))
        except FactsProblem as problem:
            bad[number] = problem
    _stop_for(bad)
    return _counted(path.name, areas)


def _wrong(where: str, what: str, do: str) -> FactsProblem:
    return FactsProblem(f"{where}: {what}.", _WHY, do)


def _columns(file: str, heads: list[str]) -> dict[str, int]:
    """Where each column stands. Other columns are not read."""
    plain = [plain_words(head) for head in heads]
    found: dict[str, int] = {}
    for name, spellings in _HEADINGS.items():
        wanted = (name,) if name in plain else spellings
        places = [index for index, head in enumerate(plain) if head in wanted]
        if len(places) != 1:
            raise _wrong(
                file,
                f"it has {'two columns' if places else 'no column'} for '{name}'",
                f"Give one column the heading '{name}'.",
            )
        found[name] = places[0]
    return found


def _none_beyond(where: str, surplus: list[str]) -> None:
    # One cell too many has moved the others under a wrong heading.
    if any(surplus):
        raise _wrong(where, "the row has too many cells", "Quote cells with commas.")


def _named(columns: Mapping[str, int], cells: list[str]) -> dict[str, str]:
    return {
        name: " ".join(cells[index].split()) if index < len(cells) else ""
        for name, index in columns.items()
    }


def _area(where: str, cells: Mapping[str, str]) -> _Area:
    area = _Area(
        seen=_in_column(where, cells, "seen", _day),
        recheck=_in_column(where, cells, "recheck", lambda text: _one_of(text, _RECHECKS)),
        referred=_in_column(where, cells, "referred", _yes_or_no),
        biopsied=_in_column(where, cells, "biopsied", _yes_or_no),
        outcome=_in_column(
            where, cells, "outcome", lambda text: _one_of(text or "unknown", _OUTCOMES)
        ),
    )
    if area.outcome != "unknown" and not area.biopsied:
        raise _wrong(
            f"{where}, column 'outcome'",
            f"it says '{area.outcome}', and 'biopsied' says no",
            "Leave the outcome empty where there was no biopsy, or correct 'biopsied'.",
        )
    return area


def _in_column(
    where: str, cells: Mapping[str, str], name: str, read: Callable[[str], _Value]
) -> _Value:
    try:
        return read(cells[name])
    except ValueError as error:
        what = f"'{cells[name][:40]}' cannot be used" if cells[name] else "it is empty"
        raise _wrong(f"{where}, column '{name}'", what, f"{error}") from error


def _day(text: str) -> date:
    day = iso_day(text)
    if day is None:
        raise ValueError("Write a day of the calendar as YYYY-MM-DD.")
    return day


def _one_of(text: str, allowed: Collection[str]) -> str:
    plain = plain_words(text)
    if plain not in allowed:
        raise ValueError(f"Write one of: {', '.join(allowed)}.")
    return plain


def _yes_or_no(text: str) -> bool:
    # An empty cell is not a no: it may be a yes that nobody has typed yet.
    said = yes_or_no(text)
    if said is None:
        raise ValueError("Write yes or no.")
    return said


def _stop_for(bad: Mapping[int, FactsProblem]) -> None:
    if not bad:
        return
    first, *others = sorted(bad)
    problem = bad[first]
    if not others:
        raise problem
    numbers = ", ".join(map(str, others))
    raise FactsProblem(
        problem.found, problem.why, f"{problem.do} Correct these lines as well: {numbers}."
    )


def _counted(file: str, areas: list[_Area]) -> Results:
    if not areas:
        raise _wrong(file, "it has no row", "Add the dark areas that you looked at again.")
    rechecks = Counter(area.recheck for area in areas)
    outcomes = Counter(area.outcome for area in areas)
    return Results(
        first_day=min(area.seen for area in areas),
        last_day=max(area.seen for area in areas),
        dark=len(areas),
        gone=rechecks["gone"],
        smaller=rechecks["smaller"],
        still_there=rechecks["still there"],
        not_back=rechecks["not back"],
        referred=sum(area.referred for area in areas),
        biopsied=sum(area.biopsied for area in areas),
        harmless=outcomes["harmless"],
        serious=sum(outcomes[name] for name in _SERIOUS),
    )
