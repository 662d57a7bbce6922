"""A day's list as other programs hand it over: an HL7 FHIR R4 Bundle in JSON.

Read are Patient (who) and Appointment (when), and of these only what a paper needs. Why somebody
comes is never read: no reason, no diagnosis, no note. Element names and codes are those of FHIR R4
(4.0.1), from memory.
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import ValidationError

from plainleaf.errors import FactsProblem, Problem
from plainleaf.office.fhir_elements import (
    Address,
    Appointment,
    Communication,
    Contact,
    ContactPoint,
    Entry,
    HumanName,
    Identifier,
    Patient,
)
from plainleaf.office.mistakes import DO, WHY, sentence, spot, together, unread
from plainleaf.office.people import People, Row
from plainleaf.office.postal import address_lines
from plainleaf.office.visits import Visit, strict_json

_NAMELESS = "(no name)"
_LOST = "Somebody in it could be left out without anyone knowing."
_EXPORT = "Export the day's patients and appointments again, as a FHIR R4 Bundle in JSON."
_CALLED_OFF = {
    "cancelled": "is cancelled",
    "noshow": "did not take place",
    "entered-in-error": "was entered by mistake",
}
_IN_WORDS = {
    "name": "The name",
    "called": "The first name",
    "born": "The birth date",
    "record": "The record number",
    "language": "The language",
    "phone": "The phone number",
    "email": "The e-mail address",
    "guardian": "The guardian",
    "address": "The address",
}
_OLD = ("old", "maiden", "temp", "anonymous")
_NOT_OURS = ("SS", "NI", "NIIP", "DL", "PPN", "TAX", "SB")
"""Identifier types (HL7 table 0203) that are no record number and must not stand on a paper."""

_INSTANT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}T([01][0-9]|2[0-3]):[0-9]{2}:[0-9]{2}(\.[0-9]+)?"
    r"(Z|[+-]((0[0-9]|1[0-3]):[0-5][0-9]|14:00))"
)
"""FHIR's instant: RFC 3339 without 24:00, and with offsets of at most 14 hours."""

_WHOLE_DATE = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_PART_DATE = re.compile(r"[0-9]{4}(-[0-9]{2})?")


@dataclass(frozen=True)
class _Known:
    """A Patient of the bundle: ``keys`` are all that a reference may call it."""

    line: int
    name: str
    place: str
    keys: frozenset[str]
    person: Mapping[str, Any] | None
    problem: Problem | None = None


@dataclass(frozen=True)
class _Booking:
    line: int
    place: str
    start: datetime


@dataclass
class _Diary:
    """The appointments of the bundle: bookings by the line of their patient, and what is wrong.

    ``called_off`` has the lines of patients with an appointment that will not be, ``kept`` of those
    with any other one.
    """

    bookings: defaultdict[int, list[_Booking]]
    strays: list[Row]
    called_off: dict[int, str]
    kept: set[int]


def read_bundle(path: Path, zone: ZoneInfo | None = None, country: str = "") -> People:
    """Everybody in a FHIR R4 Bundle, in its order. ``Row.line`` is the entry's index, from 0.

    A Patient becomes a row with the first booked or pending appointment as ``next_visit``; each
    further appointment becomes a row of its own, with the same ``whose``. A bad Patient, one whose
    every appointment is called off, a bad appointment, and one whose patient is not in the bundle
    become rows with their problem; none is lost. Entries of other types are passed over. Raises
    FactsProblem when the file as a whole cannot be understood.

    Appointments are moved to ``zone``, that of the practice's clock. Without it, none can be told
    and each becomes a row with its problem. Addresses are written as in ``country``.
    """
    rows: list[Row] = []
    patients: list[_Known] = []
    appointments: list[tuple[int, Mapping[str, Any]]] = []
    for line, raw in enumerate(_entries(path)):
        try:
            entry = Entry.model_validate(raw)
            kind = _kind(entry.resource)
        except (ValidationError, Problem) as error:
            rows.append(Row(line, _name_in(raw), None, _told(error), _place(line, raw)))
            continue
        if kind == "Patient":
            patients.append(_known(line, entry, country))
        elif kind == "Appointment":
            appointments.append((line, entry.resource))
    diary = _booked(appointments, patients, zone)
    rows += diary.strays
    for patient in patients:
        rows += _rows(patient, diary)
    return People(sorted(rows, key=lambda row: row.line))


def _place(line: int, raw: Any) -> str:
    """Where an entry stands in the bundle, with what it calls itself, as FHIRPath counts."""
    resource = raw.get("resource", raw) if isinstance(raw, dict) else None
    kind = resource if isinstance(resource, dict) else {}
    names = [kind.get(key) for key in ("resourceType", "id")]
    told = "/".join(one for one in names if isinstance(one, str) and one)
    return f"entry[{line}]" + (f" ({_shown(told)[:60]})" if told else "")


def _entries(path: Path) -> list[Any]:
    try:
        bundle = strict_json(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError) as error:
        raise unread(path, " as a FHIR Bundle", error, _LOST, _EXPORT) from error
    if not isinstance(bundle, dict) or bundle.get("resourceType") != "Bundle":
        raise _not_a_bundle(path.name, "its resourceType is not Bundle")
    entries = bundle.get("entry")
    if not isinstance(entries, list):
        raise _not_a_bundle(path.name, "it has no list of entries under 'entry'")
    return entries


def _not_a_bundle(file: str, why: str) -> FactsProblem:
    return FactsProblem(f"{file} cannot be read as a FHIR Bundle: {why}.", _LOST, _EXPORT)


def _bad(what: str, do: str) -> FactsProblem:
    return FactsProblem(f"{what[:1].upper()}{what[1:]}.", WHY, do)


def _told(error: ValidationError | Problem) -> Problem:
    """The error as a known problem; all that is wrong is told."""
    if isinstance(error, ValidationError):
        every = [FactsProblem(sentence(_named(one["loc"]), one), WHY, DO) for one in error.errors()]
        return together(every)
    return error


def _named(location: tuple[str | int, ...]) -> str:
    """A fact of a person in words; an element that FHIR names as FHIR names it."""
    room, about = (*location, "", "")[:2]
    return (_IN_WORDS.get(str(about)) if room == "person" else None) or spot(location)


def _kind(resource: Mapping[str, Any]) -> str:
    kind = resource.get("resourceType")
    if not isinstance(kind, str) or not kind:
        raise _bad("it does not say what it is (resourceType)", "Export the list again.")
    return kind


def _name_in(raw: Any) -> str:
    """The name in a bad entry as well as it can be read, so that somebody can find the person."""
    try:
        resource = raw.get("resource", raw)
        first = HumanName.model_validate(resource["name"][0])
    except (AttributeError, KeyError, IndexError, TypeError, ValidationError):
        return _NAMELESS
    return _shown(first.whole) or _NAMELESS


def _shown(text: str) -> str:
    # JSON can hold half a character, which no screen can show.
    return text.encode("utf-8", "replace").decode("utf-8")


def _known(line: int, entry: Entry, country: str) -> _Known:
    """A Patient entry as somebody whom appointments can point at, also when it is bad."""
    name = _name_in({"resource": entry.resource})
    number = entry.resource.get("id")
    local = f"Patient/{number}" if isinstance(number, str) and number else None
    keys = frozenset(key for key in (entry.fullUrl, local) if key)
    place = _place(line, {"resource": entry.resource})
    try:
        patient = Patient.model_validate(entry.resource)
        name = _shown(_chosen_name(patient).whole) or name
        return _Known(line, name, place, keys, _person(patient, country))
    except (ValidationError, Problem) as error:
        return _Known(line, name, place, keys, None, _told(error))


def _person(patient: Patient, country: str) -> dict[str, Any]:
    """The facts of a Patient in the words of ``visits.Person``, unchecked. Raises FactsProblem."""
    # FHIR forbids a reader to pass over these two: they change what all the rest means.
    if patient.deceasedBoolean or patient.deceasedDateTime:
        raise _bad("the record says that this person has died", "Send no paper.")
    if not patient.active:
        raise _bad("the record is not in use (active is false)", "Use the person's other.")
    found = {
        "name": _chosen_name(patient).whole,
        "called": _called(patient),
        "born": _born(patient.birthDate),
        "record": _record(patient.identifier),
        "language": _language(patient.communication),
        "phone": _reached(patient.telecom, "phone"),
        "email": _reached(patient.telecom, "email"),
        "guardian": _guardian(patient.contact),
        "address": _address(patient.address, country),
    }
    return {name: value for name, value in found.items() if value is not None}


def _chosen_name(patient: Patient) -> HumanName:
    """The official name, else the usual one, else the first that is not a former one."""
    names = [one for one in patient.name if one.use not in (*_OLD, "nickname") and one.whole]
    order = {"official": 0, "usual": 1}
    return min(names, key=lambda one: order.get(one.use or "", 2), default=HumanName())


def _called(patient: Patient) -> str | None:
    """The first given name: of the usual name, else of a nickname, else of the chosen one."""
    names = [one for use in ("usual", "nickname") for one in patient.name if one.use == use]
    for one in (*names, _chosen_name(patient)):
        given = next((part for part in one.given if part and part.strip()), None)
        if given:
            return given
    return None


def _born(text: str | None) -> str | None:
    # FHIR allows a year, or a month, alone: that is no mistake, and no date of birth to print.
    if text is None or _PART_DATE.fullmatch(text):
        return None
    if not _WHOLE_DATE.fullmatch(text):
        raise _bad(f"the birth date is {text[:40]!a}", "Write it as year-month-day.")
    return text


def _record(identifiers: tuple[Identifier, ...]) -> str | None:
    """The medical record number, else the usual identifier, else the first that may be printed."""
    ours = [
        one
        for one in identifiers
        if one.value and one.use != "old" and not set(one.type.codes) & set(_NOT_OURS)
    ]
    rank = {"usual": 1, "official": 2}
    best = min(
        ours,
        key=lambda one: 0 if "MR" in one.type.codes else rank.get(one.use or "", 3),
        default=Identifier(),
    )
    return best.value


def _language(spoken: tuple[Communication, ...]) -> str | None:
    """The preferred language, else the first; None, so the default, when none is given."""
    if not spoken:
        return None
    first = min(spoken, key=lambda one: not one.preferred).language
    tag = next(iter(first.codes), None) or first.text
    if not tag:
        raise _bad("a language is asked for and not named", "Name it, such as en or es.")
    return tag


def _reached(telecom: tuple[ContactPoint, ...], system: str) -> str | None:
    """The best phone or email: the lowest rank first, then in the order given."""
    points = [one for one in telecom if one.system == system and one.use != "old" and one.value]
    best = min(points, key=lambda one: one.rank if one.rank is not None else 1_000, default=None)
    return best.value if best else None


def _guardian(contacts: tuple[Contact, ...]) -> dict[str, str] | None:
    """The first contact who is a guardian. A mother of a grown-up is none, so it must be said."""
    for contact in contacts:
        codes = {code for one in contact.relationship for code in one.codes}
        words = " ".join(one.text or "" for one in contact.relationship).lower()
        if "GUARD" in codes or "guardian" in words:
            parent = codes & {"PRN", "MTH", "FTH", "NMTH", "NFTH"}
            relationship = "parent" if parent else "legal guardian"
            return {"name": contact.name.whole, "relationship": relationship}
    return None


def _address(addresses: tuple[Address, ...], country: str) -> list[str] | None:
    """The lines of the address for post, else of the first that is not a former or a bill's one."""
    ours = [one for one in addresses if one.use not in ("old", "billing")]
    both = ("postal", "both")
    best = min(ours, key=lambda one: (one.type not in both, one.use == "temp"), default=None)
    if best is None:
        return None
    parts = [part for part in best.line if part]
    if not parts and best.text:
        return address_lines([best.text])
    town = (best.city or "", best.state or "", best.postalCode or "")
    there = (best.country or "").strip()
    abroad = there if there.upper() not in (country, "USA" if country == "US" else "") else ""
    lines = address_lines(parts, *town, "" if abroad else country)
    return [*lines, abroad] if lines and abroad else lines or None


def _booked(
    appointments: list[tuple[int, Mapping[str, Any]]],
    patients: list[_Known],
    zone: ZoneInfo | None,
) -> _Diary:
    """The bookings of each patient, by the line of the Patient; and rows for those with a problem.

    Appointments that are neither booked nor pending bring no booking.
    """
    by_key: defaultdict[str, list[_Known]] = defaultdict(list)
    for patient in patients:
        for key in patient.keys:
            by_key[key].append(patient)
    diary = _Diary(defaultdict(list), [], {}, set())
    for line, raw in appointments:
        place = _place(line, {"resource": raw})
        named: list[_Known] = []
        try:
            appointment = Appointment.model_validate(raw)
            if appointment.status not in ("booked", "pending"):
                _pass_over(appointment, by_key, diary)
                continue
            named.extend(_whose(appointment, by_key))
            diary.kept.update(one.line for one in named)
            start = _start(appointment.start, zone)
        except (ValidationError, Problem) as error:
            name = named[0].name if named else _NAMELESS
            diary.strays.append(Row(line, name, None, _told(error), place))
            continue
        for patient in named:
            diary.bookings[patient.line].append(_Booking(line, place, start))
    return diary


def _pass_over(appointment: Appointment, by_key: Mapping[str, list[_Known]], diary: _Diary) -> None:
    """Remembers whose appointment will not be, so that nobody is prepared for it."""
    for actor in (one.actor for one in appointment.participant):
        for patient in by_key.get((actor.reference or "").partition("/_history/")[0], []):
            if appointment.status in _CALLED_OFF:
                diary.called_off[patient.line] = appointment.status
            else:
                diary.kept.add(patient.line)


def _whose(appointment: Appointment, by_key: Mapping[str, list[_Known]]) -> list[_Known]:
    """The patients that take part. Raises FactsProblem for none, and for one we do not know."""
    found: dict[int, _Known] = {}
    for actor in (one.actor for one in appointment.participant):
        called = (actor.reference or "").partition("/_history/")[0]
        known = by_key.get(called, [])
        if len(known) > 1:
            raise _bad(f"{called[:60]!a} is two patients", "Give each its own id.")
        if not known and (actor.type == "Patient" or re.search(r"(^|/)Patient/", called)):
            raise _bad(f"the patient {called[:60]!a} is not in the bundle", "Export it as well.")
        found.update((one.line, one) for one in known)
    if not found:
        raise _bad("the appointment names no patient in the bundle", "Export it as well.")
    return list(found.values())


def _start(text: str | None, zone: ZoneInfo | None) -> datetime:
    """Day and time on the practice's clock, naive. Raises FactsProblem when it cannot be told."""
    try:
        if not _INSTANT.fullmatch(text or ""):
            raise ValueError
        instant = datetime.fromisoformat(text or "")
        local = instant.astimezone(zone) if zone else None
    except (ValueError, OverflowError) as error:
        what = f"the start is {text[:40]!a}" if text else "the appointment has no start"
        do = "Write day, time and offset, such as 2026-12-09T10:30:00-07:00."
        raise _bad(what, do) from error
    if local is None:
        raise _unknown_clock()
    if local.utcoffset() != local.replace(fold=1 - local.fold).utcoffset():
        what = f"{local:%H:%M} comes twice on {local:%Y-%m-%d}, when the clocks are put back"
        raise _bad(what, "Book another time, or tell the person yourself.")
    return local.replace(tzinfo=None)


def _unknown_clock() -> FactsProblem:
    return FactsProblem(
        "The start is on a clock that may not be the practice's.",
        "A paper would name the wrong hour, or the wrong day.",
        "Set 'time_zone' under [reminders] in practice.toml; 'plainleaf init' shows how.",
    )


def _rows(patient: _Known, diary: _Diary) -> Iterator[Row]:
    """One row for the patient with the first booking, and one for each further booking."""
    problem = patient.problem or _called_off(patient, diary)
    if patient.person is None or problem:
        yield Row(patient.line, patient.name, None, problem, patient.place)
        return
    bookings = diary.bookings[patient.line]
    ordered = sorted(bookings, key=lambda one: (one.start, one.line))
    first = _row(patient, patient.line, patient.place, ordered[0].start if ordered else None)
    yield first
    # What is wrong with a person is told once, and not for each visit again.
    for later in ordered[1:] if first.visit else ():
        yield _row(patient, later.line, later.place, later.start)


def _called_off(patient: _Known, diary: _Diary) -> FactsProblem | None:
    status = diary.called_off.get(patient.line)
    if status is None or patient.line in diary.kept:
        return None
    return FactsProblem(
        f"The only appointment of this person {_CALLED_OFF[status]}.",
        "Papers for a visit that will not be would frighten or mislead.",
        "Book another visit, or take the person out.",
    )


def _row(patient: _Known, line: int, place: str, start: datetime | None) -> Row:
    try:
        visit = Visit.model_validate({"person": patient.person, "next_visit": start})
    except (ValidationError, Problem) as error:
        return Row(line, patient.name, None, _told(error), place)
    return Row(line, patient.name, visit, None, place, patient.place)
