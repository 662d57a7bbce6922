"""Reminders of booked visits, on the ways that each person chose; none carries a health word.

The files are made for the office to send. No record is kept of what was sent: that is not built.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from plainleaf import paths
from plainleaf.desk.acts import (
    Desk,
    LeftOut,
    Progress,
    by_remark,
    read_people,
    silent,
    write,
)
from plainleaf.desk.entries import calendar_key, identity, sequence_of, uid_seed
from plainleaf.desk.exports import dialled, not_computed, table
from plainleaf.desk.files import none_of_an_earlier_run, put_all
from plainleaf.errors import FactsProblem, Problem, SettingsProblem
from plainleaf.language import phrases
from plainleaf.language.marks import WEEK
from plainleaf.office.people import People, Row
from plainleaf.office.practice import Practice, Reminders
from plainleaf.office.visits import Channel, Visit
from plainleaf.papers.backs import with_back
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.compose import stands_in
from plainleaf.papers.exposed import Watch
from plainleaf.writers import appointment, mail, message

TEXTS = "texts.csv"
CALLS = "calls.csv"
CARDS = "cards.pdf"
_OURS = r"(texts|calls)\.csv|cards\.pdf|(mail|appointment|cancelled|call)-[0-9]+\.(eml|ics|txt)"
"""The names of all files that an earlier run may have left."""

_TEXT_HEADS = ("line", "phone", "language", "text", "encoding", "parts", "code", "translation")
_CALL_HEADS = ("line", "name", "phone", "language", "script")


@dataclass(frozen=True)
class Reminded:
    """What was made: the files, how many people on each way, and who was left out and why.

    ``gaps`` has each way that could not be served for somebody who is reminded on another one;
    ``asks`` visits that the office should look at again, though their reminders were made. Each of
    ``parts`` is a language, a number of messages, and how many texts are sent as so many.
    ``withdrawn`` is the number of entries that are taken out of calendars again. ``remarks`` say
    for whom a language was chosen that nobody told, or which form of one; ``notes`` how the list
    was read.
    """

    files: tuple[Path, ...]
    ways: dict[str, int]
    drafts: tuple[str, ...]
    left_out: tuple[LeftOut, ...]
    gaps: tuple[LeftOut, ...] = ()
    asks: tuple[str, ...] = ()
    parts: tuple[tuple[str, int, int], ...] = ()
    withdrawn: int = 0
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
        self.calls: list[tuple[object, ...]] = []
        self.files: dict[str, bytes] = {}
        self.ways: Counter[str] = Counter()
        self.gaps: list[LeftOut] = []
        self.asks: list[str] = []
        self.withdrawn = 0
        self.remarks: list[tuple[str, str]] = []

    def add(self, row: Row) -> list[LeftOut]:
        """Make one person's reminders, on each way that can be served.

        Returns why no way could be, one reason each; ways that fail beside others are ``gaps``.
        """
        visit = row.sound_visit()
        if visit.cancelled_visit and not visit.comes_next_from(self.desk.today):
            self.withdraw(row.line, visit, visit.cancelled_visit)
            self.remark(row, visit)
            return []
        start = _booked(visit, self.desk.today)
        ways: tuple[Channel, ...] = visit.person.channels or ("letter",)
        served: dict[str, Callable[[], None]] = {}
        lost: list[LeftOut] = []
        for way in ways:
            try:
                served[way] = _WAYS[way](self, row.line, visit)
            except Problem as problem:
                lost.append(LeftOut(row.line, row.name, problem, way, row.place))
        if not served:
            return lost
        self.gaps += lost
        for name, keep in served.items():
            keep()
            self.ways[name] += 1
        self.remark(row, visit)
        if found := _closed_then(self.desk.practice, start):
            self.asks.append(f"{row.where}, {row.name}: {found}")
        return []

    def remark(self, row: Row, visit: Visit) -> None:
        """Keep what is to be told about the language of somebody's reminders."""
        self.remarks += [(one, row.name) for one in self.desk.remarks("reminder-card", visit)]

    def card(self, _: int, visit: Visit) -> Callable[[], None]:
        """A card for the sheet of cards."""
        desk = self.desk
        page = with_back(desk.page("reminder-card", visit), desk.practice, visit, desk.locales)
        if self.alone:
            write([page], "pdf")
        return lambda: self.cards.append(page)

    def text(self, line: int, visit: Visit) -> Callable[[], None]:
        """A line of the text export, with what it costs."""
        phone = self._phone(visit, "text message")
        page = self.desk.page("reminder-text", visit)
        told = message.report(page)
        text = not_computed(told.text)
        row = (line, phone, page.language, text, told.encoding, told.parts, page.code)
        return lambda: self.texts.append((*row, _state(self.desk, page)))

    def call(self, line: int, visit: Visit) -> Callable[[], None]:
        """A line of the calls to make, and what to say to an answering machine."""
        phone = self._phone(visit, "phone call")
        page = self.desk.page("voicemail-script", visit)
        script = f"call-{line:04}.txt"
        content = write([page], "txt")
        row = (line, visit.person.called or visit.person.name, phone, page.language, script)

        def keep() -> None:
            self.calls.append(row)
            self.files[script] = content

        return keep

    def mail(self, line: int, visit: Visit) -> Callable[[], None]:
        """An e-mail with its calendar entry, and the entry on its own."""
        to = _needed(visit.person.email, "e-mail address", "e-mail")
        page = self.desk.page("reminder-mail", visit)
        watch = self._watch(page.language)
        watch.check_address(self.settings.email, "The sender's address in practice.toml")
        entry = self.calendar(visit, page.language, _booked(visit, self.desk.today))
        content = mail.write(page, self.settings.email, to, entry)
        return lambda: self.files.update(
            {f"mail-{line:04}.eml": content, f"appointment-{line:04}.ics": entry}
        )

    def withdraw(self, line: int, visit: Visit, start: datetime) -> None:
        """The file that takes a cancelled visit out of the calendar of who had it by e-mail."""
        if "email" not in visit.person.channels:
            raise FactsProblem(
                f"The visit on {start:%Y-%m-%d} is cancelled.",
                "There is nothing to remind of, and no calendar entry went out by e-mail.",
                "Tell the person yourself.",
            )
        tag = self.desk.tag_for(visit.person.language)
        entry = self.calendar(visit, tag, start, withdrawn=True)
        self.files[f"cancelled-{line:04}.ics"] = entry
        self.withdrawn += 1

    def calendar(
        self, visit: Visit, tag: str, start: datetime, *, withdrawn: bool = False
    ) -> bytes:
        """The calendar entry of a visit in one of our languages.

        Raises PaperProblem when its title carries a health word: others see the calendar too.
        """
        practice, today = self.desk.practice, self.desk.today
        title = phrases.appointment_title(self.desk.words(tag))
        watch, where = self._watch(tag), f"The calendar entry in '{tag}'"
        watch.check_words(title % {"practice": "\n"}, where)
        watch.check_name(practice.name, where)
        return appointment.event(
            start,
            self.settings.visit_minutes,
            self.settings.time_zone,
            title % {"practice": practice.name},
            practice.national(practice.phones.desk),
            uid_seed(calendar_key(self.desk.folder), practice, visit.person),
            today.isoformat(),
            tag,
            sequence=sequence_of(today, withdrawn),
            withdrawn=withdrawn,
        )

    def none(self, _: int, visit: Visit) -> Callable[[], None]:
        """Nothing is made for who asked for nothing; the office is told."""
        raise FactsProblem(
            "The person asked for no reminders.",
            "That is their choice.",
            "There is nothing to do.",
        )

    def _phone(self, visit: Visit, way: str) -> str:
        number = _needed(visit.person.phone, "phone number", way)
        return dialled(number, self.desk.practice.country)

    def _watch(self, tag: str) -> Watch:
        folder = self.desk.locales or paths.locales()
        return Watch(folder, tag, self.desk.practice.languages)


_WAYS = {
    "letter": _Bag.card,
    "text message": _Bag.text,
    "email": _Bag.mail,
    "phone call": _Bag.call,
    "none": _Bag.none,
}
"""What is made for each way. The office makes the calls itself; a card is for who chose no way."""


def _needed(value: str | None, what: str, way: str) -> str:
    if value:
        return value
    raise FactsProblem(
        f"There is no {what}, and the person chose {way}.",
        "A reminder that goes nowhere looks like one that was sent.",
        f"Add the {what} to the list, or choose another way.",
    )


def _booked(visit: Visit, today: date) -> datetime:
    """The first booking that is not over. Raises FactsProblem when there is none."""
    start = visit.comes_next_from(today)
    if start is None:
        last = visit.bookings and visit.bookings[-1].date().isoformat()
        raise FactsProblem(
            f"The last booked visit was on {last}." if last else "No visit is booked.",
            "A reminder without a day and a time that are still to come reminds of nothing.",
            "Add the next visit to the list, or leave the person out.",
        )
    return start


def _closed_then(practice: Practice, start: datetime) -> str:
    """What is odd about the time of a visit; empty when the practice is open then."""
    day = WEEK[start.weekday()]
    hours = practice.hours.times(day)
    if hours and hours[0] <= start.time() < hours[1]:
        return ""
    told = f"open {hours[0]:%H:%M} to {hours[1]:%H:%M}" if hours else "closed"
    name = day.capitalize()
    return f"the visit is booked for {name}, {start:%Y-%m-%d %H:%M}; on {name} you are {told}."


def _state(desk: Desk, page: Page) -> str:
    """How the text of a page stands; ours is no translation, and nobody has signed it either."""
    words = desk.words(page.language)
    return stands_in(PAPERS[page.paper], words, desk.tables, desk.signatures).state


def remind(desk: Desk, people: Path, folder: Path, progress: Progress = silent) -> Reminded:
    """Make the reminders of everybody on a list who has a visit booked.

    Raises SettingsProblem when the practice has no ``[reminders]``, and OutputProblem when the
    folder holds files of an earlier run: they could be sent again. Nobody is lost: who gets no
    reminder is returned with the reason.
    """
    if desk.practice.reminders is None:
        raise SettingsProblem(
            "practice.toml has no [reminders].",
            "E-mails need a sender, and calendar entries the practice's time zone.",
            "Add them as 'plainleaf init' shows.",
        )
    desk.spare(*(folder / name for name in (TEXTS, CALLS, CARDS)))
    none_of_an_earlier_run(folder, _OURS)
    listed = read_people(people, desk.practice)
    rows, again = _each_once(listed, desk.today)
    settings = desk.practice.reminders
    try:
        bag, left = _filled(_Bag(desk, settings, alone=False), rows, progress)
    except Problem:
        # Somebody's card cannot be set: find out whose, and remind the others.
        bag, left = _filled(_Bag(desk, settings, alone=True), rows, silent)
    left = sorted([*left, *again], key=lambda one: one.line)
    return _told(bag, left, listed.notes, _kept(bag, folder))


def _told(bag: _Bag, left: list[LeftOut], notes: tuple[str, ...], files: list[Path]) -> Reminded:
    drafts = sorted({str(row[2]) for row in bag.texts if row[-1] == "draft"})
    counted = Counter((str(row[2]), int(str(row[5]))) for row in bag.texts)
    parts = tuple((tag, number, count) for (tag, number), count in sorted(counted.items()))
    return Reminded(
        tuple(files),
        dict(bag.ways),
        tuple(drafts),
        tuple(left),
        tuple(bag.gaps),
        tuple(bag.asks),
        parts,
        bag.withdrawn,
        by_remark(bag.remarks),
        notes,
    )


def _each_once(rows: People, today: date) -> tuple[list[Row], list[LeftOut]]:
    """The rows without those of somebody who has another one with an earlier visit."""
    first: dict[object, Row] = {}
    for row in sorted(rows, key=lambda row: _when(row, today)):
        if row.visit and row.visit.comes_next_from(today):
            first.setdefault(_whose(row), row)
    kept, again = [], []
    for row in rows:
        other = first.get(_whose(row))
        if other is None or other is row or _only_past(row, today):
            kept.append(row)
        else:
            again.append(LeftOut(row.line, row.name, _twice(other), place=row.place))
    return kept, again


def _whose(row: Row) -> object:
    """Who a row is about: as a bundle tells it, else as far as the list tells people apart."""
    return row.whose or (identity(row.visit.person) if row.visit else None)


def _only_past(row: Row, today: date) -> bool:
    """Nothing stands in such a row but what is over; no new entry replaces what it cancels."""
    visit = row.visit
    return visit is not None and not (visit.cancelled_visit or visit.comes_next_from(today))


def _when(row: Row, today: date) -> datetime:
    return (row.visit and row.visit.comes_next_from(today)) or datetime.max


def _twice(other: Row) -> FactsProblem:
    return FactsProblem(
        f"The same person is reminded of the visit on {other.where}.",
        "Two reminders at once look like one visit that was moved.",
        "Remind of this one when that one is over.",
    )


def _filled(bag: _Bag, rows: list[Row], progress: Progress) -> tuple[_Bag, list[LeftOut]]:
    """The bag with everybody's reminders, and who gets none. Raises what the cards raise."""
    left: list[LeftOut] = []
    for row in rows:
        try:
            left += bag.add(row)
        except Problem as problem:
            left.append(LeftOut(row.line, row.name, problem, place=row.place))
        progress(row.name)
    if bag.cards:
        bag.files[CARDS] = write(bag.cards, "pdf")
    return bag, left


def _kept(bag: _Bag, folder: Path) -> list[Path]:
    files = [(folder / name, content) for name, content in sorted(_files(bag))]
    bag.desk.spare(*(file for file, _ in files))
    return put_all(files)


def _files(bag: _Bag) -> Iterator[tuple[str, bytes]]:
    yield from bag.files.items()
    if bag.texts:
        yield TEXTS, table(_TEXT_HEADS, bag.texts)
    if bag.calls:
        yield CALLS, table(_CALL_HEADS, bag.calls)
