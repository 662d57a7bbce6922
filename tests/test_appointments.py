"""Appointments, held against RFC 5545 and other people's readers (rules IC and PR)."""

import uuid
from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from dateutil.tz import tzical
from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import Calendar, Component

from plainleaf.errors import FactsProblem, Problem, SettingsProblem
from plainleaf.writers import appointment

VISIT: dict[str, Any] = {
    "start": datetime(2026, 12, 2, 10, 30),
    "minutes": 45,
    "time_zone": "America/Denver",
    "title": "Juniper Lane Dental: appointment",
    "phone_line": "Questions? Call +1 303 555 0142",
    "uid_seed": "Ann Example 2026-12-02",
    "day": "2026-11-25",
    "language": "en",
}


def invitation(**changes: Any) -> bytes:
    return appointment.event(**(VISIT | changes))


def entry(content: bytes) -> Component:
    (found,) = Calendar.from_ical(content).walk("VEVENT")
    return found


def unfolded(content: bytes) -> list[str]:
    """RFC 5545, 3.1: CRLF and a single space go, and what is left is UTF-8."""
    return content.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")


def test_what_an_entry_holds() -> None:
    """IC-02, IC-03, IC-05, IC-06, IC-08, IC-09."""
    lines = unfolded(invitation())
    for line in (
        "VERSION:2.0",
        "METHOD:PUBLISH",
        "DTSTAMP:20261125T120000Z",
        "DTSTART;TZID=America/Denver:20261202T103000",
        "DURATION:PT45M",
        "SEQUENCE:0",
        "STATUS:CONFIRMED",
        "CLASS:PRIVATE",
        "TRANSP:OPAQUE",
        "SUMMARY;LANGUAGE=en:Juniper Lane Dental: appointment",
        "DESCRIPTION;LANGUAGE=en:Questions? Call +1 303 555 0142",
        "ACTION:DISPLAY",
        "TRIGGER:-P1D",
        "DESCRIPTION;LANGUAGE=en:Juniper Lane Dental: appointment",
    ):
        assert lines.count(line) == 1, line
    assert any(line.startswith("PRODID:-//Plainleaf//") for line in lines)
    told = invitation()
    assert not any(name in told for name in (b"ATTENDEE", b"DTEND", b"ORGANIZER", b"RRULE"))


def test_the_uid_tells_nobody_who_it_is() -> None:
    """IC-06, PR-15; RFC 7986, 5.3."""
    content = invitation()
    assert b"Ann" not in content
    assert uuid.UUID(str(entry(content)["UID"])).version == 5
    assert entry(content)["UID"] == entry(invitation(minutes=60, day="2026-11-26"))["UID"]
    assert entry(content)["UID"] != entry(invitation(uid_seed="another"))["UID"]


def test_what_withdraws_an_entry_rings_no_more() -> None:
    """IC-06; RFC 5546, 3.2.5: the same UID, a method and a status of their own, and no alarm."""
    content = invitation(sequence=1, withdrawn=True)
    before, after = entry(invitation()), entry(content)
    assert "METHOD:CANCEL" in unfolded(content)
    assert after["STATUS"] == "CANCELLED"
    assert before["UID"] == after["UID"]
    assert before["DTSTART"].dt == after["DTSTART"].dt
    assert not after.walk("VALARM")


def test_a_later_version_of_an_entry_says_so() -> None:
    """IC-06; RFC 5545, 3.8.7.4: the same UID with a higher sequence replaces the entry."""
    before, after = entry(invitation()), entry(invitation(sequence=3))
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 3)
    assert before["UID"] == after["UID"]


ZONES = (
    "America/Denver",
    "America/Phoenix",
    "America/St_Johns",
    "Europe/Berlin",
    "Europe/Dublin",
    "Africa/Casablanca",
    "Asia/Kolkata",
    "Asia/Riyadh",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
)
CHANGE_DAYS = (
    datetime(2026, 3, 8, 10, 30),
    datetime(2026, 11, 1, 10, 30),
    datetime(2026, 3, 29, 10, 30),
    datetime(2026, 10, 25, 10, 30),
    datetime(2026, 1, 1, 0, 0),
    datetime(2026, 12, 31, 23, 30),
)


@pytest.mark.parametrize("zone", ZONES)
def test_a_file_reads_back_to_the_same_time(zone: str) -> None:
    """IC-04: each TZID has its VTIMEZONE; on the days of the change too."""
    for start in CHANGE_DAYS:
        content = invitation(start=start, time_zone=zone)
        found = entry(content)["DTSTART"]
        assert found.dt.replace(tzinfo=None) == start
        assert found.dt.utcoffset() == start.replace(tzinfo=ZoneInfo(zone)).utcoffset()
        defined = {str(one["TZID"]) for one in Calendar.from_ical(content).walk("VTIMEZONE")}
        assert defined == {found.params["TZID"]} == {zone}


@pytest.mark.parametrize("zone", ZONES)
def test_the_definition_gives_every_hour_its_offset(zone: str) -> None:
    """RFC 5545, 3.6.5, by two readers that know the zone from the file alone."""
    content = invitation(time_zone=zone)
    (definition,) = Calendar.from_ical(content).walk("VTIMEZONE")
    lines = [line for line in unfolded(content) if line]
    block = lines[lines.index("BEGIN:VTIMEZONE") : lines.index("END:VTIMEZONE") + 1]
    outside = tzical(StringIO("\r\n".join(block))).get()
    ours: Any = definition
    inside = ours.to_tz(lookup_tzid=False)
    moment = datetime(2026, 1, 1, 0, 30, tzinfo=UTC)
    for hour in range(24 * 365):
        then = moment + timedelta(hours=hour)
        local = then.astimezone(ZoneInfo(zone))
        naive = local.replace(tzinfo=None)
        if local.fold or naive.replace(tzinfo=ZoneInfo(zone), fold=1) - local != timedelta(0):
            continue
        for reader in (outside, inside):
            assert naive.replace(tzinfo=reader).utcoffset() == local.utcoffset(), naive


@pytest.mark.parametrize(
    ("zone", "onsets"),
    [
        ("America/Denver", {"20260308T020000", "20261101T020000"}),
        ("Europe/Berlin", {"20260329T020000", "20261025T030000"}),
        ("Australia/Lord_Howe", {"20260405T020000", "20261004T020000"}),
    ],
)
def test_an_onset_is_counted_in_the_offset_before(zone: str, onsets: set[str]) -> None:
    """RFC 5545, 3.6.5: the local times that the law of each place names."""
    lines = unfolded(invitation(time_zone=zone))
    assert {
        line.removeprefix("DTSTART:") for line in lines if line[:12] == "DTSTART:2026"
    } == onsets


def test_a_skipped_hour_is_refused_and_a_double_one_is_the_first() -> None:
    """RFC 5545, 3.3.5."""
    with pytest.raises(FactsProblem, match=r"There is no 02:30 on 2026-03-08"):
        invitation(start=datetime(2026, 3, 8, 2, 30))
    twice = entry(invitation(start=datetime(2026, 11, 1, 1, 30, fold=1)))["DTSTART"].dt
    assert twice.utcoffset() == timedelta(hours=-6)


@pytest.mark.parametrize("zone", ["UTC", "Etc/UTC"])
def test_a_time_in_utc_needs_no_definition(zone: str) -> None:
    """IC-04."""
    content = invitation(time_zone=zone)
    assert "DTSTART:20261202T103000Z" in unfolded(content)
    assert b"TZID" not in content


@pytest.mark.parametrize(
    ("changes", "kind"),
    [
        ({"time_zone": "Denver"}, SettingsProblem),
        ({"time_zone": ""}, SettingsProblem),
        ({"time_zone": "America"}, SettingsProblem),
        ({"time_zone": "../Denver"}, SettingsProblem),
        ({"minutes": 0}, FactsProblem),
        ({"minutes": -5}, FactsProblem),
    ],
)
def test_what_cannot_stand_in_a_calendar(changes: dict[str, Any], kind: type[Problem]) -> None:
    with pytest.raises(kind):
        invitation(**changes)


# Without line ends and control characters, and without a backslash before N, which readers may
# take for a line end.
LINES = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"])).filter(
    lambda line: "\\N" not in line
)


@given(LINES, LINES)
@example("موعد في العيادة " * 20, "予約のお知らせ" * 30)
@example("a,b;c\\d:e" * 20, "😀" * 60)
def test_folding_is_undone_by_every_reader(title: str, phone: str) -> None:
    """IC-01, IC-07: at most 75 octets a line, no UTF-8 sequence split, CRLF throughout."""
    content = invitation(title=title, phone_line=phone)
    assert content.endswith(b"\r\n")
    assert content.count(b"\n") == content.count(b"\r\n") == content.count(b"\r")
    for line in content.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")
    escaped = title.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    assert unfolded(content).count(f"SUMMARY;LANGUAGE=en:{escaped}") == 1
    found = entry(content)
    assert (str(found["SUMMARY"]), str(found["DESCRIPTION"])) == (title, phone)
