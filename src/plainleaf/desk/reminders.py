"""Reminders of booked visits, on the ways that each person chose; none carries a health word.

The files are made for the office to send. No record is kept of what was sent: that is not built.
"""

import csv
from collections.abc import Callable
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

from plainleaf.desk.acts import (
    Desk,
    LeftOut,
    Progress,
    by_remark,
    put,
    read_people,
    silent,
    write,
)
from plainleaf.errors import FactsProblem, Problem, SettingsProblem
from plainleaf.language import phrases
from plainleaf.office.people import Row
from plainleaf.office.plans import comes_next
from plainleaf.office.practice import Reminders
from plainleaf.office.visits import Visit
from plainleaf.papers.backs import with_back
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.compose import stands_in
from plainleaf.writers import appointment, mail, message

TEXTS = "texts.csv"
CARDS = "cards.pdf"
_HEADS = ("line", "phone", "language", "text", "encoding", "parts", "code", "translation")


@dataclass(frozen=True)
class Reminded:
    """What was made: the files, how many people on each way, and who was left out and why.

    ``remarks`` say for whom a language was chosen that nobody told, or which form of one.
    """

    files: tuple[Path, ...]
    ways: dict[str, int]
    drafts: tuple[str, ...]
    left_out: tuple[LeftOut, ...]
    remarks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


class _Bag:
    """What has been made so far; nothing is written before everybody on the list was looked at."""

    def __init__(self, desk: Desk, settings: Reminders, alone: bool) -> None:
        self.desk = desk
        self.settings = settings
        self.alone = alone
        self.cards: list[Page] = []
        self.texts: list[tuple[object, ...]] = []
        self.files: dict[str, bytes] = {}
        self.ways: dict[str, int] = {}
        self.remarks: list[tuple[str, str]] = []

    def add(self, row: Row) -> None:
        """Make one person's reminders; all of them or, by a Problem, none."""
        visit = row.sound_visit()
        if visit.comes_next is None:
            raise FactsProblem(
                "No visit is booked.",
                "A reminder without a day and a time reminds of nothing.",
                "Add the next visit to the list, or leave the person out.",
            )
        ways = [way for way in visit.person.channels if way in _WAYS] or ["letter"]
        made: list[Callable[[], None]] = [_WAYS[way](self, row.line, visit) for way in ways]
        for keep in made:
            keep()
        self.remarks += [(one, row.name) for one in self.desk.remarks("reminder-card", visit)]
        for way in ways:
            self.ways[way] = self.ways.get(way, 0) + 1

    def card(self, _: int, visit: Visit) -> Callable[[], None]:
        """A card for the sheet of cards."""
        page = with_back(self.desk.page("reminder-card", visit), self.desk.practice, visit)
        if self.alone:
            write([page], "pdf")
        return lambda: self.cards.append(page)

    def text(self, line: int, visit: Visit) -> Callable[[], None]:
        """A line of the text export, with what it costs."""
        phone = _needed(visit.person.phone, "phone number", "text message")
        page = self.desk.page("reminder-text", visit)
        told = message.report(page)
        desk = self.desk
        words = desk.words(page.language)
        state = stands_in(PAPERS[page.paper], words, desk.tables, desk.signatures).state
        row = (line, phone, page.language, told.text, told.encoding, told.parts, page.code, state)
        return lambda: self.texts.append(row)

    def mail(self, line: int, visit: Visit) -> Callable[[], None]:
        """An e-mail with its calendar entry, and the entry on its own."""
        to = _needed(visit.person.email, "e-mail address", "e-mail")
        page = self.desk.page("reminder-mail", visit)
        entry = self.calendar(visit, page.language)
        content = mail.write(page, self.settings.email, to, entry)
        return lambda: self.files.update(
            {f"mail-{line:04}.eml": content, f"appointment-{line:04}.ics": entry}
        )

    def calendar(self, visit: Visit, tag: str) -> bytes:
        """The calendar entry of the next visit in one of our languages."""
        start = comes_next(visit, self.desk.today)
        assert start is not None
        practice, person = self.desk.practice, visit.person
        words = self.desk.words(tag)
        return appointment.event(
            start,
            self.settings.visit_minutes,
            self.settings.time_zone,
            phrases.appointment_title(words) % {"practice": practice.name},
            practice.national(practice.phones.desk),
            # With all settings in it, the id cannot be guessed from a name and a day.
            f"{practice.model_dump_json()} {person.record or person.name} {start.isoformat()}",
            self.desk.today.isoformat(),
            tag,
        )


_WAYS = {"letter": _Bag.card, "text message": _Bag.text, "email": _Bag.mail}
"""The ways we make files for; a phone call is the office's own."""


def _needed(value: str | None, what: str, way: str) -> str:
    if value:
        return value
    raise FactsProblem(
        f"There is no {what}, and the person chose {way}.",
        "A reminder that goes nowhere looks like one that was sent.",
        f"Add the {what} to the list, or choose another way.",
    )


def remind(desk: Desk, people: Path, folder: Path, progress: Progress = silent) -> Reminded:
    """Make the reminders of everybody on a list who has a visit booked.

    Raises SettingsProblem when the practice has no ``[reminders]``. Nobody is lost: who gets no
    reminder is returned with the reason.
    """
    if desk.practice.reminders is None:
        raise SettingsProblem(
            "practice.toml has no [reminders].",
            "E-mails need a sender, and calendar entries the practice's time zone.",
            "Add them as 'plainleaf init' shows.",
        )
    rows = read_people(people, desk.practice)
    settings = desk.practice.reminders
    try:
        bag, left = _filled(_Bag(desk, settings, alone=False), rows, progress)
    except Problem:
        # Somebody's card cannot be set: find out whose, and remind the others.
        bag, left = _filled(_Bag(desk, settings, alone=True), rows, silent)
    drafts = sorted({str(row[2]) for row in bag.texts if row[-1] == "draft"})
    files, remarks = tuple(_kept(bag, folder)), by_remark(bag.remarks)
    return Reminded(files, bag.ways, tuple(drafts), tuple(left), remarks, rows.notes)


def _filled(bag: _Bag, rows: list[Row], progress: Progress) -> tuple[_Bag, list[LeftOut]]:
    """The bag with everybody's reminders, and who gets none. Raises what the cards raise."""
    left: list[LeftOut] = []
    for row in rows:
        try:
            bag.add(row)
        except Problem as problem:
            left.append(LeftOut(row.line, row.name, problem, place=row.place))
        progress(row.name)
    if bag.cards:
        bag.files[CARDS] = write(bag.cards, "pdf")
    return bag, left


def _kept(bag: _Bag, folder: Path) -> list[Path]:
    files = dict(bag.files)
    if bag.texts:
        files[TEXTS] = _table(bag.texts)
    bag.desk.spare(*(folder / name for name in files))
    return [put(folder / name, content) for name, content in sorted(files.items())]


def _table(rows: list[tuple[object, ...]]) -> bytes:
    stream = StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(_HEADS)
    writer.writerows(rows)
    # The mark at the beginning lets a spreadsheet know that this is UTF-8.
    return stream.getvalue().encode("utf-8-sig")
