"""Appointments in a bundle stand on the practice's clock or are told, never on a wrong hour."""

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

import pytest
from dateutil import tz
from hypothesis import given, settings
from hypothesis import strategies as st

from plainleaf.desk import Desk
from plainleaf.desk.days import day
from plainleaf.office.fhir import read_bundle
from plainleaf.office.people import Row
from plainleaf.office.practice import Practice

DENVER = ZoneInfo("America/Denver")
ZONES = sorted(available_timezones() - {"Factory", "localtime"})


def bundle(folder: Path, *starts: str) -> Path:
    """One patient with an appointment at each start."""
    patient = {"resourceType": "Patient", "id": "p", "name": [{"text": "Bo Lind"}]}
    entries = [{"resource": patient}]
    for start in starts:
        booked = {"resourceType": "Appointment", "status": "booked", "start": start}
        who = [{"actor": {"reference": "Patient/p"}}]
        entries.append({"resource": {**booked, "participant": who}})
    file = folder / "day.json"
    file.write_text(json.dumps({"resourceType": "Bundle", "entry": entries}), "utf-8")
    return file


def shown(folder: Path, start: str, zone: ZoneInfo | None) -> datetime:
    (row,) = read_bundle(bundle(folder, start), zone)
    assert row.visit is not None and row.visit.next_visit is not None
    assert row.visit.next_visit.tzinfo is None
    return row.visit.next_visit


def told(folder: Path, start: str, zone: ZoneInfo | None) -> Row:
    """The row of an appointment with a problem; its patient stays, with nothing booked."""
    person, stray = read_bundle(bundle(folder, start), zone)
    assert person.visit is not None and person.visit.next_visit is None
    assert (stray.line, stray.name, stray.visit) == (1, "Bo Lind", None)
    return stray


# RFC 3339, section 5.8: its examples, each with the same instant as the section explains it.
EXAMPLES = [
    ("1985-04-12T23:20:50.52Z", "UTC", datetime(1985, 4, 12, 23, 20, 50, 520_000)),
    ("1996-12-19T16:39:57-08:00", "UTC", datetime(1996, 12, 20, 0, 39, 57)),
    ("1996-12-20T00:39:57Z", "America/Los_Angeles", datetime(1996, 12, 19, 16, 39, 57)),
    ("1996-12-19T16:39:57-08:00", "America/Los_Angeles", datetime(1996, 12, 19, 16, 39, 57)),
    ("1937-01-01T12:00:27.87+00:20", "UTC", datetime(1937, 1, 1, 11, 40, 27, 870_000)),
]


@pytest.mark.parametrize(("start", "zone", "expected"), EXAMPLES)
def test_the_examples_of_rfc_3339(
    tmp_path: Path, start: str, zone: str, expected: datetime
) -> None:
    assert shown(tmp_path, start, ZoneInfo(zone)) == expected


@pytest.mark.parametrize("start", ["1990-12-31T23:59:60Z", "1990-12-31T15:59:60-08:00"])
def test_a_leap_second_is_told(tmp_path: Path, start: str) -> None:
    # RFC 3339, 5.8 has both; no diary books one, and Python's clock has none.
    problem = told(tmp_path, start, DENVER).problem
    assert problem is not None and "The start is" in problem.found


@pytest.mark.parametrize(
    ("start", "zone", "expected"),
    [
        # The day changes on the way.
        ("2026-12-10T06:59:59Z", "America/Denver", datetime(2026, 12, 9, 23, 59, 59)),
        ("2026-12-10T07:00:00Z", "America/Denver", datetime(2026, 12, 10)),
        ("2026-12-31T23:30:00-07:00", "Pacific/Kiritimati", datetime(2027, 1, 1, 20, 30)),
        ("2027-01-01T00:30:00+14:00", "Pacific/Pago_Pago", datetime(2026, 12, 30, 23, 30)),
        # Half and quarter hours.
        ("2026-12-09T10:30:00Z", "Asia/Kathmandu", datetime(2026, 12, 9, 16, 15)),
        ("2026-12-09T10:30:00-00:00", "America/St_Johns", datetime(2026, 12, 9, 7)),
        # A fraction never rounds up to the next minute, or day.
        (
            "2026-12-10T06:59:59.9999999Z",
            "America/Denver",
            datetime(2026, 12, 9, 23, 59, 59, 999_999),
        ),
        # The days of the changes of 2026 in the United States: 8 March and 1 November, 2 am.
        ("2026-03-08T08:59:00Z", "America/Denver", datetime(2026, 3, 8, 1, 59)),
        ("2026-03-08T09:00:00Z", "America/Denver", datetime(2026, 3, 8, 3)),
        ("2026-03-08T16:00:00Z", "America/Denver", datetime(2026, 3, 8, 10)),
        ("2026-11-01T06:59:00Z", "America/Denver", datetime(2026, 11, 1, 0, 59)),
        ("2026-11-01T09:00:00Z", "America/Denver", datetime(2026, 11, 1, 2)),
        ("2026-11-01T17:00:00Z", "America/Denver", datetime(2026, 11, 1, 10)),
    ],
)
def test_an_instant_stands_on_the_practice_s_clock(
    tmp_path: Path, start: str, zone: str, expected: datetime
) -> None:
    assert shown(tmp_path, start, ZoneInfo(zone)) == expected


@pytest.mark.parametrize("start", ["2026-11-01T07:30:00Z", "2026-11-01T01:30:00-07:00"])
def test_an_hour_that_comes_twice_is_told(tmp_path: Path, start: str) -> None:
    problem = told(tmp_path, start, DENVER).problem
    assert problem is not None
    assert "01:30 comes twice on 2026-11-01" in problem.found


@pytest.mark.parametrize("start", ["2026-12-09T10:30:00Z", "2026-12-09T10:30:00-07:00"])
def test_without_a_zone_the_hour_is_told_and_not_guessed(tmp_path: Path, start: str) -> None:
    problem = told(tmp_path, start, None).problem
    assert problem is not None
    assert "may not be the practice's" in problem.found
    assert "time_zone" in problem.do and "practice.toml" in problem.do


@pytest.mark.parametrize(
    "start",
    [
        "0001-01-01T00:00:00+14:00",  # before the first day of the calendar
        "9999-12-31T23:59:59-12:00",  # after the last
        "2026-12-09T24:00:00Z",  # FHIR R4, dateTime: "24:00" is not allowed
        "2026-12-09T10:30:00+14:01",  # FHIR R4, instant: 14:00 is the largest offset
        "2026-12-09T10:30:00+05:60",
        "2026-12-09T10:30:00+0530",
        "2026-12-09T10:30Z",  # FHIR R4, instant: known at least to the second
        "2026-02-29T10:30:00Z",
        "2026-12-09t10:30:00z",  # RFC 3339 may have small letters, FHIR not
    ],
)
@pytest.mark.parametrize("zone", ["UTC", "America/Denver", None])
def test_what_is_no_instant_is_told(tmp_path: Path, start: str, zone: str | None) -> None:
    problem = told(tmp_path, start, ZoneInfo(zone) if zone else None).problem
    assert problem is not None


@settings(max_examples=300, deadline=None)
@given(
    st.datetimes(datetime(1990, 1, 1), datetime(2037, 1, 1)),
    st.integers(-14 * 60, 14 * 60),
    st.sampled_from(ZONES),
)
def test_every_zone_of_the_database_agrees_with_a_second_reader(
    tmp_path_factory: pytest.TempPathFactory, clock: datetime, minutes: int, name: str
) -> None:
    # dateutil reads the same IANA files with code of its own.
    sign, away = "-" if minutes < 0 else "+", abs(minutes)
    start = f"{clock:%Y-%m-%dT%H:%M:%S}{sign}{away // 60:02}:{away % 60:02}"
    zone = tz.gettz(name)
    assert zone is not None
    instant = (clock.replace(microsecond=0) - timedelta(minutes=minutes)).replace(tzinfo=UTC)
    expected = instant.astimezone(zone)
    file = bundle(tmp_path_factory.mktemp("zone"), start)
    row = read_bundle(file, ZoneInfo(name))[-1]
    if row.visit is None:
        assert tz.datetime_ambiguous(expected.replace(tzinfo=None), zone)
    else:
        assert row.visit.next_visit == expected.replace(tzinfo=None)


def test_later_bookings_keep_the_order_of_time(tmp_path: Path) -> None:
    file = bundle(tmp_path, "2026-12-09T09:00:00-07:00", "2026-12-09T15:59:00Z")
    first, second = read_bundle(file, DENVER)
    assert first.visit is not None and first.visit.next_visit == datetime(2026, 12, 9, 8, 59)
    assert second.visit is not None and second.visit.next_visit == datetime(2026, 12, 9, 9)
    assert second.line == 1


def test_the_card_prints_the_practice_s_clock(tmp_path: Path, practice: Practice) -> None:
    assert practice.zone == DENVER
    desk = Desk(practice, date(2026, 11, 25))
    done = day(
        desk, bundle(tmp_path, "2026-12-10T03:05:00Z"), ["reminder-card"], tmp_path / "d.txt"
    )
    text = done.files[0].read_text("utf-8").replace("\u202f", " ").replace("\u00a0", " ")
    assert "Wednesday, December 9, 2026" in text and "8:05 PM" in text
    bare = Desk(practice.model_copy(update={"reminders": None}), date(2026, 11, 25))
    mixed = bundle(tmp_path, "2026-12-10T03:05:00Z")
    left = day(bare, mixed, ["introduction"], tmp_path / "d.txt").left_out
    assert [(one.line, one.name) for one in left] == [(1, "Bo Lind")]
