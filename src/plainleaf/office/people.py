"""A day's list: a CSV file with one person a line, as the front desk saves it from a table."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path

from babel import Locale

from plainleaf.errors import FactsProblem, Problem
from plainleaf.office.dates import Days, order_in, settled
from plainleaf.office.headings import Columns, understood
from plainleaf.office.practice import Practice
from plainleaf.office.recorded import Cells
from plainleaf.office.saved import Record, Saved, opened
from plainleaf.office.visits import Visit

_FREE = ("name", "first", "last", "called", "record")
"""What may be any text, and be called as oddly as ``N/A``."""

_NOTHING = re.compile(r"[-–—]+|n\s?/\s?a\.?", re.IGNORECASE)
_WITH_DAYS = ("born", "day", "recheck", "next_visit", "outcome_day")


@dataclass(frozen=True)
class Row:
    """One line of the list: its line number in the file, and the visit or the problem with it.

    ``place`` says where it stands when that is no line of a file. Rows with the same ``whose`` are
    about the same person; it is empty when nobody can tell.
    """

    line: int
    name: str
    visit: Visit | None
    problem: Problem | None = None
    place: str = ""
    whose: str = ""

    @property
    def where(self) -> str:
        """Where somebody finds the row, such as ``line 3``."""
        return self.place or f"line {self.line}"

    def sound_visit(self) -> Visit:
        """The visit. Raises the problem that the line has instead."""
        if self.visit is None:
            assert self.problem is not None
            raise self.problem
        return self.visit


class People(list[Row]):
    """Everybody on a list, in order. ``notes`` tell what was not read, or read by a rule."""

    def __init__(self, rows: Iterable[Row], notes: Iterable[str] = ()) -> None:
        super().__init__(rows)
        self.notes = tuple(notes)


def read_list(path: Path, practice: Practice | None = None) -> People:
    """Everybody on the list, in order. A bad line becomes a Row with its problem, never lost.

    The practice's country tells how its spreadsheets write days and letters, and its team who is
    meant. Raises FactsProblem when the file as a whole cannot be understood.
    """
    country = practice.country if practice else ""
    table = opened(path, country)
    columns = understood(path.name, table.heads)
    told = [_values(record, columns) for record in table.rows]
    written = [one[fact] for one in told for fact in _WITH_DAYS if fact in one]
    days = Days(settled(order_in(country), written))
    rows = [
        _row(record, Cells(values, columns, days, practice), len(table.heads))
        for record, values in zip(table.rows, told, strict=True)
        # A line is passed over only when it is blank, also in the columns that we do not read.
        if any(cell.strip() for cell in record.cells)
    ]
    return People(rows, (*table.notes, *_by_rule(days, country), *_not_read(table, columns)))


def one_each(people: People, today: date) -> People:
    """The list with one row for each person, however often somebody is booked.

    The visit that comes next is the first one booked after ``today``, else that of today, else the
    last of all. Rows of nobody known stay as they are.
    """
    booked: dict[str, list[Row]] = {}
    for row in people:
        if row.whose and row.visit:
            booked.setdefault(row.whose, []).append(row)
    rows: list[Row] = []
    notes = []
    for row in people:
        same = booked.get(row.whose, []) if row.visit else []
        if len(same) < 2:
            rows.append(row)
        elif row is same[0]:
            visit = min((one.visit for one in same if one.visit), key=partial(_soon, today))
            rows.append(replace(row, visit=visit))
            day = visit.next_visit.date() if visit.next_visit else today
            notes.append(
                f"{row.name} has {len(same)} visits booked: the papers are made once and name that"
                f" of {day.isoformat()}."
            )
    return People(rows, (*people.notes, *notes))


def _soon(today: date, visit: Visit) -> tuple[int, float]:
    """Orders visits by how soon they come after today; those before it last, the newest first."""
    if visit.next_visit is None:
        return (3, 0)
    moment, day = visit.next_visit, visit.next_visit.date()
    since = (day - date.min).days * 86_400.0 + moment.hour * 3_600 + moment.minute * 60
    return (0, since) if day > today else (1, since) if day == today else (2, -since)


def _values(record: Record, columns: Columns) -> dict[str, str]:
    cells = ((fact, "".join(record.cells[at : at + 1])) for fact, at in columns.places.items())
    return {fact: cell.strip() for fact, cell in cells if not _is_empty(fact, cell.strip())}


def _is_empty(fact: str, cell: str) -> bool:
    """Whether a cell says nothing, also where somebody wrote a dash or that there is none."""
    if fact == "place" and cell.casefold() in ("no", "none", "nothing"):
        return True
    return not cell or (fact not in _FREE and _NOTHING.fullmatch(cell) is not None)


def _row(record: Record, cells: Cells, width: int) -> Row:
    name = cells.name()
    beyond = "".join(record.cells[width:]).strip()
    if record.broken:
        return Row(record.line, name, None, _broken(record.broken))
    if beyond:
        return Row(record.line, name, None, _shifted(beyond))
    try:
        return Row(record.line, name, cells.visit())
    except Problem as known:
        return Row(record.line, name, None, known)


def _broken(why: str) -> FactsProblem:
    return FactsProblem(
        f"The line {why}.",
        "We cannot tell which cell is which.",
        "Take the mark out, or put one at the beginning and one at the end of that cell.",
    )


def _shifted(beyond: str) -> FactsProblem:
    return FactsProblem(
        f"There are more cells than headings, at the end {beyond[:40]!a}.",
        "A name with a comma in it moves all that follows into the wrong column.",
        "Put the cell with the comma into quotation marks, or give each column a heading.",
    )


def _by_rule(days: Days, country: str) -> Iterator[str]:
    if days.guessed:
        text, day = days.guessed
        first = "month/day/year" if days.order == "month" else "day/month/year"
        place = Locale.parse("en").territories[country]
        shown = f"{day:%B} {day.day}, {day.year}"
        yield (
            f"Days such as '{text}' were read as {first}, as is usual in the practice's country"
            f" ({place}): {shown}."
        )


def _not_read(table: Saved, columns: Columns) -> Iterator[str]:
    heads = [f"'{' '.join(table.heads[index].split())[:40]}'" for index in columns.unread]
    heads += [
        f"column {index + 1}, which has no heading"
        for index, head in enumerate(table.heads)
        if not head.strip()
        and any("".join(one.cells[index : index + 1]).strip() for one in table.rows)
    ]
    if heads:
        yield f"Not read on the list: {', '.join(heads)}."
