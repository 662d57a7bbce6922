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
from typing import Any, Literal
from zoneinfo import ZoneInfo

from pydantic import BaseModel, ConfigDict, Field, StrictBool, ValidationError

from plainleaf.errors import FactsProblem, Problem
from plainleaf.office.people import Row
from plainleaf.office.visits import Visit, fact_problem, strict_json

_NAMELESS = "(no name)"
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


class _Element(BaseModel):
    # FHIR lets a sender add more than we read, so other keys are passed over.
    model_config = ConfigDict(extra="ignore", frozen=True)


_Strings = tuple[str | None, ...]  # an entry is null where only an extension stands


class _Coding(_Element):
    system: str | None = None
    code: str | None = None


class _Concept(_Element):
    coding: tuple[_Coding, ...] = ()
    text: str | None = None

    @property
    def codes(self) -> tuple[str, ...]:
        return tuple(one.code for one in self.coding if one.code)


class _HumanName(_Element):
    use: str | None = None
    text: str | None = None
    family: str | None = None
    given: _Strings = ()

    @property
    def whole(self) -> str:
        """The name as the sender wrote it, else given names before the family name."""
        parts = (*self.given, self.family)
        return (self.text or "").strip() or " ".join(part.strip() for part in parts if part)


class _ContactPoint(_Element):
    system: str | None = None
    value: str | None = None
    use: str | None = None
    rank: int | None = None


class _Identifier(_Element):
    use: str | None = None
    type: _Concept = _Concept()
    value: str | None = None


class _Communication(_Element):
    language: _Concept
    preferred: StrictBool = False


class _Contact(_Element):
    relationship: tuple[_Concept, ...] = ()
    name: _HumanName = _HumanName()


class _Patient(_Element):
    id: str | None = None
    active: StrictBool = True
    name: tuple[_HumanName, ...] = ()
    birthDate: str | None = None
    deceasedBoolean: StrictBool = False
    deceasedDateTime: str | None = None
    communication: tuple[_Communication, ...] = ()
    telecom: tuple[_ContactPoint, ...] = ()
    contact: tuple[_Contact, ...] = ()
    identifier: tuple[_Identifier, ...] = ()


class _Reference(_Element):
    reference: str | None = None
    type: str | None = None


class _Participant(_Element):
    actor: _Reference = _Reference()


class _Appointment(_Element):
    status: Literal[
        "proposed",
        "pending",
        "booked",
        "arrived",
        "fulfilled",
        "cancelled",
        "noshow",
        "entered-in-error",
        "checked-in",
        "waitlist",
    ]
    start: str | None = None
    participant: tuple[_Participant, ...] = ()


class _Entry(_Element):
    fullUrl: str | None = None
    resource: dict[str, Any] = Field(min_length=1)


@dataclass(frozen=True)
class _Known:
    """A Patient of the bundle: ``keys`` are all that a reference may call it."""

    line: int
    name: str
    keys: frozenset[str]
    person: Mapping[str, Any] | None
    problem: Problem | None = None


@dataclass(frozen=True)
class _Booking:
    line: int
    start: datetime


def read_bundle(path: Path, zone: ZoneInfo | None = None) -> list[Row]:
    """Everybody in a FHIR R4 Bundle, in its order. ``Row.line`` is the entry's index, from 0.

    A Patient becomes a row with the first booked or pending appointment as ``next_visit``; each
    further appointment becomes a row of its own. A bad Patient, a bad appointment, and one whose
    patient is not in the bundle become rows with their problem; none is lost. Entries of other
    types are passed over. Raises FactsProblem when the file as a whole cannot be understood.

    Appointments are moved to ``zone``, that of the practice's clock. Without it, none can be told
    and each becomes a row with its problem.
    """
    rows: list[Row] = []
    patients: list[_Known] = []
    appointments: list[tuple[int, Mapping[str, Any]]] = []
    for line, raw in enumerate(_entries(path)):
        where = f"{path.name} entry[{line}]"
        try:
            entry = _Entry.model_validate(raw)
            kind = _kind(where, entry.resource)
        except (ValidationError, Problem) as error:
            rows.append(Row(line, _name_in(raw), None, _told(where, error)))
            continue
        if kind == "Patient":
            patients.append(_known(where, line, entry))
        elif kind == "Appointment":
            appointments.append((line, entry.resource))
    bookings, strays = _booked(path.name, appointments, patients, zone)
    rows += strays
    for patient in patients:
        rows += _rows(path.name, patient, bookings[patient.line])
    return sorted(rows, key=lambda row: row.line)


def _entries(path: Path) -> list[Any]:
    try:
        bundle = strict_json(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError) as error:
        raise _not_a_bundle(path.name, str(error)) from error
    if not isinstance(bundle, dict) or bundle.get("resourceType") != "Bundle":
        raise _not_a_bundle(path.name, "its resourceType is not Bundle")
    entries = bundle.get("entry")
    if not isinstance(entries, list):
        raise _not_a_bundle(path.name, "it has no list of entries under 'entry'")
    return entries


def _not_a_bundle(file: str, why: str) -> FactsProblem:
    return FactsProblem(
        f"{file} cannot be read as a FHIR Bundle ({why}).",
        "Somebody in it could be left out without anyone knowing.",
        "Export the day's patients and appointments again, as a FHIR R4 Bundle in JSON.",
    )


def _bad(where: str, what: str, do: str) -> FactsProblem:
    why = "What is printed about a person must be exactly what was recorded."
    return FactsProblem(f"{where}: {what}.", why, do)


def _told(where: str, error: ValidationError | Problem) -> Problem:
    """The error as a known problem that names the entry."""
    if isinstance(error, ValidationError):
        return fact_problem(where, None, error.errors()[0])
    return error


def _kind(where: str, resource: Mapping[str, Any]) -> str:
    kind = resource.get("resourceType")
    if not isinstance(kind, str) or not kind:
        raise _bad(where, "it does not say what it is (resourceType)", "Export the list again.")
    return kind


def _name_in(raw: Any) -> str:
    """The name in a bad entry as well as it can be read, so that somebody can find the person."""
    try:
        resource = raw.get("resource", raw)
        first = _HumanName.model_validate(resource["name"][0])
    except (AttributeError, KeyError, IndexError, TypeError, ValidationError):
        return _NAMELESS
    return _shown(first.whole) or _NAMELESS


def _shown(text: str) -> str:
    # JSON can hold half a character, which no screen can show.
    return text.encode("utf-8", "replace").decode("utf-8")


def _known(where: str, line: int, entry: _Entry) -> _Known:
    """A Patient entry as somebody whom appointments can point at, also when it is bad."""
    name = _name_in({"resource": entry.resource})
    number = entry.resource.get("id")
    local = f"Patient/{number}" if isinstance(number, str) and number else None
    keys = frozenset(key for key in (entry.fullUrl, local) if key)
    try:
        patient = _Patient.model_validate(entry.resource)
        name = _shown(_chosen_name(patient).whole) or name
        return _Known(line, name, keys, _person(where, patient))
    except (ValidationError, Problem) as error:
        return _Known(line, name, keys, None, _told(where, error))


def _person(where: str, patient: _Patient) -> dict[str, Any]:
    """The facts of a Patient in the words of ``visits.Person``, unchecked. Raises FactsProblem."""
    # FHIR forbids a reader to pass over these two: they change what all the rest means.
    if patient.deceasedBoolean or patient.deceasedDateTime:
        raise _bad(where, "the record says that this person has died", "Send no paper.")
    if not patient.active:
        raise _bad(where, "the record is not in use (active is false)", "Use the person's other.")
    found = {
        "name": _chosen_name(patient).whole,
        "called": _called(patient),
        "born": _born(where, patient.birthDate),
        "record": _record(patient.identifier),
        "language": _language(where, patient.communication),
        "phone": _reached(patient.telecom, "phone"),
        "email": _reached(patient.telecom, "email"),
        "guardian": _guardian(patient.contact),
    }
    return {name: value for name, value in found.items() if value is not None}


def _chosen_name(patient: _Patient) -> _HumanName:
    """The official name, else the usual one, else the first that is not a former one."""
    names = [one for one in patient.name if one.use not in (*_OLD, "nickname") and one.whole]
    order = {"official": 0, "usual": 1}
    return min(names, key=lambda one: order.get(one.use or "", 2), default=_HumanName())


def _called(patient: _Patient) -> str | None:
    """The first given name: of the usual name, else of a nickname, else of the chosen one."""
    names = [one for use in ("usual", "nickname") for one in patient.name if one.use == use]
    for one in (*names, _chosen_name(patient)):
        given = next((part for part in one.given if part and part.strip()), None)
        if given:
            return given
    return None


def _born(where: str, text: str | None) -> str | None:
    # FHIR allows a year, or a month, alone: that is no mistake, and no date of birth to print.
    if text is None or _PART_DATE.fullmatch(text):
        return None
    if not _WHOLE_DATE.fullmatch(text):
        raise _bad(where, f"the birth date is {text[:40]!a}", "Write it as year-month-day.")
    return text


def _record(identifiers: tuple[_Identifier, ...]) -> str | None:
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
        default=_Identifier(),
    )
    return best.value


def _language(where: str, spoken: tuple[_Communication, ...]) -> str | None:
    """The preferred language, else the first; None, so the default, when none is given."""
    if not spoken:
        return None
    first = min(spoken, key=lambda one: not one.preferred).language
    tag = next(iter(first.codes), None) or first.text
    if not tag:
        raise _bad(where, "a language is asked for and not named", "Name it, such as en or es.")
    return tag


def _reached(telecom: tuple[_ContactPoint, ...], system: str) -> str | None:
    """The best phone or email: the lowest rank first, then in the order given."""
    points = [one for one in telecom if one.system == system and one.use != "old" and one.value]
    best = min(points, key=lambda one: one.rank if one.rank is not None else 1_000, default=None)
    return best.value if best else None


def _guardian(contacts: tuple[_Contact, ...]) -> dict[str, str] | None:
    """The first contact who is a guardian. A mother of a grown-up is none, so it must be said."""
    for contact in contacts:
        codes = {code for one in contact.relationship for code in one.codes}
        words = " ".join(one.text or "" for one in contact.relationship).lower()
        if "GUARD" in codes or "guardian" in words:
            parent = codes & {"PRN", "MTH", "FTH", "NMTH", "NFTH"}
            relationship = "parent" if parent else "legal guardian"
            return {"name": contact.name.whole, "relationship": relationship}
    return None


def _booked(
    file: str,
    appointments: list[tuple[int, Mapping[str, Any]]],
    patients: list[_Known],
    zone: ZoneInfo | None,
) -> tuple[defaultdict[int, list[_Booking]], list[Row]]:
    """The bookings of each patient, by the line of the Patient; and rows for those with a problem.

    Appointments that are neither booked nor pending are passed over.
    """
    by_key: defaultdict[str, list[_Known]] = defaultdict(list)
    for patient in patients:
        for key in patient.keys:
            by_key[key].append(patient)
    bookings: defaultdict[int, list[_Booking]] = defaultdict(list)
    strays: list[Row] = []
    for line, raw in appointments:
        where = f"{file} entry[{line}]"
        named: list[_Known] = []
        try:
            appointment = _Appointment.model_validate(raw)
            if appointment.status not in ("booked", "pending"):
                continue
            named.extend(_whose(where, appointment, by_key))
            start = _start(where, appointment.start, zone)
        except (ValidationError, Problem) as error:
            name = named[0].name if named else _NAMELESS
            strays.append(Row(line, name, None, _told(where, error)))
            continue
        for patient in named:
            bookings[patient.line].append(_Booking(line, start))
    return bookings, strays


def _whose(
    where: str, appointment: _Appointment, by_key: Mapping[str, list[_Known]]
) -> list[_Known]:
    """The patients that take part. Raises FactsProblem for none, and for one we do not know."""
    found: dict[int, _Known] = {}
    for actor in (one.actor for one in appointment.participant):
        called = (actor.reference or "").partition("/_history/")[0]
        known = by_key.get(called, [])
        if len(known) > 1:
            raise _bad(where, f"{called[:60]!a} is two patients", "Give each its own id.")
        if not known and (actor.type == "Patient" or re.search(r"(^|/)Patient/", called)):
            raise _bad(
                where, f"the patient {called[:60]!a} is not in the bundle", "Export it as well."
            )
        found.update((one.line, one) for one in known)
    if not found:
        raise _bad(where, "the appointment names no patient in the bundle", "Export it as well.")
    return list(found.values())


def _start(where: str, text: str | None, zone: ZoneInfo | None) -> datetime:
    """Day and time on the practice's clock, naive. Raises FactsProblem when it cannot be told."""
    try:
        if not _INSTANT.fullmatch(text or ""):
            raise ValueError
        instant = datetime.fromisoformat(text or "")
        local = instant.astimezone(zone) if zone else None
    except (ValueError, OverflowError) as error:
        what = f"the start is {text[:40]!a}" if text else "the appointment has no start"
        do = "Write day, time and offset, such as 2026-12-09T10:30:00-07:00."
        raise _bad(where, what, do) from error
    if local is None:
        raise _unknown_clock(where)
    if local.utcoffset() != local.replace(fold=1 - local.fold).utcoffset():
        what = f"{local:%H:%M} comes twice on {local:%Y-%m-%d}, when the clocks are put back"
        raise _bad(where, what, "Book another time, or tell the person yourself.")
    return local.replace(tzinfo=None)


def _unknown_clock(where: str) -> FactsProblem:
    return FactsProblem(
        f"{where}: the start is on a clock that may not be the practice's.",
        "A paper would name the wrong hour, or the wrong day.",
        "Set 'time_zone' under [reminders] in practice.toml; 'plainleaf init' shows how.",
    )


def _rows(file: str, patient: _Known, bookings: list[_Booking]) -> Iterator[Row]:
    """One row for the patient with the first booking, and one for each further booking."""
    if patient.person is None:
        yield Row(patient.line, patient.name, None, patient.problem)
        return
    ordered = sorted(bookings, key=lambda one: (one.start, one.line))
    yield _row(file, patient, patient.line, ordered[0].start if ordered else None)
    for later in ordered[1:]:
        yield _row(file, patient, later.line, later.start)


def _row(file: str, patient: _Known, line: int, start: datetime | None) -> Row:
    try:
        visit = Visit.model_validate({"person": patient.person, "next_visit": start})
    except (ValidationError, Problem) as error:
        return Row(line, patient.name, None, _told(f"{file} entry[{line}]", error))
    return Row(line, patient.name, visit)
