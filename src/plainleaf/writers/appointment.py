"""A calendar entry for an appointment (RFC 5545), as a file to hand out or to attach.

A calendar is seen by others than its owner, so an entry holds a title, a time and a phone number,
and nothing about health. The same appointment makes the same bytes.
"""

import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from icalendar import (
    Alarm,
    Calendar,
    Event,
    Timezone,
    TimezoneDaylight,
    TimezoneStandard,
)

from plainleaf.errors import FactsProblem, SettingsProblem

PRODUCT = "-//Plainleaf//Papers//EN"
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_URL, "urn:plainleaf:appointment")
_WARNING = timedelta(days=-1)
_YEARS = (1900, 2199)
"""What a mistyped year leaves; the definition of a zone needs a year before and two after."""


def event(
    start: datetime,
    minutes: int,
    time_zone: str,
    title: str,
    phone_line: str,
    uid_seed: str,
    day: str,
    language: str,
    *,
    sequence: int = 0,
    withdrawn: bool = False,
) -> bytes:
    """An appointment as a calendar file, or what takes it out of a calendar again.

    Args:
        start: The local time without a zone.
        minutes: How long it takes, more than zero.
        time_zone: The IANA name of the zone of ``start``, as ``America/Chicago``.
        title: What everybody who sees the calendar may read.
        phone_line: Whom to call, likewise.
        uid_seed: What tells this appointment from all others, the same for its changes. Only a
            digest leaves, but a seed that can be guessed (a name and a day) can be confirmed from
            it: take one that only the practice can make.
        day: The ISO day on which the file is made.
        language: The BCP 47 tag of title and phone line.
        sequence: Higher for each change of the appointment (RFC 5545, 3.8.7.4).
        withdrawn: Whether the appointment no longer stands.

    Raises SettingsProblem for an unknown zone; FactsProblem for a time that the clocks skip or a
    length that is not positive.
    """
    zone = _zone(time_zone)
    local = _local(start, zone)
    entry = Event()
    entry.add("UID", str(uuid.uuid5(_NAMESPACE, uid_seed)))
    entry.add("DTSTAMP", datetime.combine(date.fromisoformat(day), time(12), UTC))
    entry.add("SEQUENCE", sequence)
    entry.add("DTSTART", local)
    entry.add("DURATION", _length(minutes))
    entry.add("SUMMARY", title, {"LANGUAGE": language})
    entry.add("DESCRIPTION", phone_line, {"LANGUAGE": language})
    entry.add("CLASS", "PRIVATE")
    entry.add("TRANSP", "OPAQUE")
    entry.add("STATUS", "CANCELLED" if withdrawn else "CONFIRMED")
    if not withdrawn:  # RFC 5546, 3.2.5: what is withdrawn rings no more.
        entry.add_component(_alarm(title, language))
    return _file(entry, _definition(zone, time_zone, start.year), withdrawn)


def _file(entry: Event, definition: Timezone, withdrawn: bool) -> bytes:
    calendar = Calendar()
    calendar.add("VERSION", "2.0")
    calendar.add("PRODID", PRODUCT)
    calendar.add("METHOD", "CANCEL" if withdrawn else "PUBLISH")
    if b"DTSTART;TZID=" in entry.to_ical():  # A time in UTC names no zone (RFC 5545, 3.3.5).
        calendar.add_component(definition)
    calendar.add_component(entry)
    return bytes(calendar.to_ical())


def _alarm(title: str, language: str) -> Alarm:
    """A display one day before; its words are seen by others, so they are the title's."""
    alarm = Alarm()
    alarm.add("ACTION", "DISPLAY")
    alarm.add("TRIGGER", _WARNING)
    alarm.add("DESCRIPTION", title, {"LANGUAGE": language})
    return alarm


def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise SettingsProblem(
            f"'{name}' is no time zone that we know.",
            "An appointment in the wrong zone is missed by hours.",
            "Use the name of the nearest large city, as in 'America/Chicago'.",
        ) from error


def _local(start: datetime, zone: ZoneInfo) -> datetime:
    """The start with its zone; of an hour that comes twice, the first (RFC 5545, 3.3.5)."""
    if not _YEARS[0] <= start.year <= _YEARS[1]:
        raise FactsProblem(
            f"The appointment is in the year {start.year}.",
            "No calendar has the changes of the clocks around it.",
            "Correct the day of the appointment.",
        )
    local = start.replace(tzinfo=zone, fold=0)
    if local.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != start.replace(fold=0):
        raise FactsProblem(
            f"There is no {start:%H:%M} on {start:%Y-%m-%d}: the clocks are put forward.",
            "Calendars would disagree on when the appointment is.",
            "Correct the time of the appointment.",
        )
    return local


def _length(minutes: int) -> timedelta:
    if minutes <= 0:
        raise FactsProblem(
            f"An appointment of {minutes} minutes has no length.",
            "A calendar would show no time as taken.",
            "Say how many minutes the appointment takes.",
        )
    return timedelta(minutes=minutes)


def _definition(zone: ZoneInfo, name: str, year: int) -> Timezone:
    """The zone's offsets from the year before an appointment to the end of the year after.

    The library's own helper is not used: it puts a change to summer time at the hour after the
    gap, where RFC 5545, 3.6.5 counts the onset in the offset before the change.
    """
    first, last = (datetime(year + shift, 1, 1, tzinfo=UTC) for shift in (-1, 2))
    definition = Timezone()
    definition.add("TZID", name)
    before = first.astimezone(zone).utcoffset() or timedelta()
    for moment in (first, *_changes(zone, first, last)):
        after = moment.astimezone(zone)
        part = TimezoneDaylight() if after.dst() else TimezoneStandard()
        part.add("DTSTART", moment.replace(tzinfo=None) + before)
        part.TZOFFSETFROM, part.TZOFFSETTO = before, after.utcoffset() or timedelta()
        part.add("TZNAME", after.tzname())
        definition.add_component(part)
        before = part.TZOFFSETTO
    return definition


def _changes(zone: ZoneInfo, first: datetime, last: datetime) -> Iterator[datetime]:
    """The UTC moments between two others at which the offset changes, to the second."""
    for number in range((last - first).days):
        early, late = (first + timedelta(days=number + end) for end in (0, 1))
        if early.astimezone(zone).utcoffset() == late.astimezone(zone).utcoffset():
            continue
        while late - early > timedelta(seconds=1):
            middle = early + timedelta(seconds=(late - early).total_seconds() // 2)
            same = middle.astimezone(zone).utcoffset() == early.astimezone(zone).utcoffset()
            early, late = (middle, late) if same else (early, middle)
        yield late
