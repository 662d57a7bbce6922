"""A FHIR R4 Bundle becomes the same rows as a list: nobody lost, no reason read, no traceback."""

import copy
import json
from datetime import date, datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plainleaf.errors import FactsProblem
from plainleaf.office.fhir import read_bundle
from plainleaf.office.people import People, Row, one_each

DENVER = ZoneInfo("America/Denver")
MAREN: dict[str, Any] = {
    "resourceType": "Patient",
    "id": "p1",
    "active": True,
    "identifier": [
        {
            "type": {"coding": [{"code": "SS"}]},
            "value": "000-00-0000",
        },
        {"use": "official", "value": "X-9"},
        {"type": {"coding": [{"code": "MR"}]}, "value": "J-1001"},
    ],
    "name": [
        {"use": "maiden", "family": "Alder", "given": ["Maren"]},
        {"use": "usual", "given": ["Mari"]},
        {"use": "official", "family": "Whitlock", "given": ["Maren", None, "Rose"]},
    ],
    "birthDate": "1961-04-17",
    "communication": [
        {"language": {"coding": [{"system": "urn:ietf:bcp:47", "code": "en"}]}},
        {"language": {"coding": [{"code": "es"}]}, "preferred": True},
    ],
    "telecom": [
        {"system": "phone", "value": "+1 303 555 0001", "use": "old"},
        {"system": "phone", "value": "+1 303 555 0002", "rank": 2},
        {"system": "phone", "value": "+1 303 555 0003", "rank": 1},
        {"system": "email", "value": "maren@example.org"},
    ],
    "contact": [
        {"relationship": [{"text": "sister"}], "name": {"text": "Ada Alder"}},
        {
            "relationship": [{"coding": [{"code": "GUARD"}, {"code": "MTH"}]}],
            "name": {"family": "Alder", "given": ["Ilse"]},
        },
    ],
    "maritalStatus": {"text": "never read"},
}
BO: dict[str, Any] = {"resourceType": "Patient", "id": "p2", "name": [{"text": "Bo Lind"}]}
BOOKED: dict[str, Any] = {
    "resourceType": "Appointment",
    "status": "booked",
    "start": "2026-12-09T10:30:00-07:00",
    "reasonCode": [{"text": "SECRET-REASON"}],
    "description": "SECRET-REASON",
    "participant": [
        {"actor": {"reference": "Practitioner/d1"}, "status": "accepted"},
        {"actor": {"reference": "Patient/p1"}, "status": "accepted"},
    ],
}


def entry(resource: dict[str, Any], url: str | None = None, **changes: Any) -> dict[str, Any]:
    """An entry of a bundle; a change to None takes the element out."""
    whole = copy.deepcopy(resource) | changes
    kept = {name: value for name, value in whole.items() if value is not None}
    return ({"fullUrl": url} if url else {}) | {"resource": kept}


def at(reference: str | None, start: str = "2026-12-09T10:30:00-07:00", **changes: Any) -> Any:
    actor = {"reference": reference} if reference else {"display": "Somebody"}
    return entry(BOOKED, start=start, participant=[{"actor": actor}], **changes)


def rows(folder: Path, *entries: Any) -> list[Row]:
    file = folder / "day.json"
    bundle = {"resourceType": "Bundle", "type": "collection", "entry": list(entries)}
    file.write_text(json.dumps(bundle), "utf-8")
    return read_bundle(file, DENVER)


def person(folder: Path, **changes: Any) -> Any:
    (row,) = rows(folder, entry(MAREN, **changes))
    assert row.visit is not None, row.problem
    return row.visit.person


def problem(row: Row) -> str:
    assert row.visit is None
    assert row.problem is not None
    return row.problem.found


def test_a_patient_and_the_booked_appointment_become_a_row(tmp_path: Path) -> None:
    (row,) = rows(tmp_path, entry(MAREN), entry(BOOKED))
    assert (row.line, row.name) == (0, "Maren Rose Whitlock")
    assert row.visit is not None
    assert row.visit.next_visit == datetime(2026, 12, 9, 10, 30)
    one = row.visit.person
    assert (one.name, one.called, one.born) == ("Maren Rose Whitlock", "Mari", date(1961, 4, 17))
    assert (one.language, one.record) == ("es", "J-1001")
    assert (one.phone, one.email) == ("+1 303 555 0003", "maren@example.org")
    assert one.guardian is not None
    assert (one.guardian.name, one.guardian.relationship) == ("Ilse Alder", "parent")


def test_why_somebody_comes_is_never_read(tmp_path: Path) -> None:
    assert "SECRET-REASON" not in repr(rows(tmp_path, entry(MAREN), entry(BOOKED)))


def test_a_patient_without_an_appointment_is_a_row_too(tmp_path: Path) -> None:
    found = rows(tmp_path, entry(BO), entry(MAREN), entry(BOOKED))
    assert [(row.line, row.name) for row in found] == [(0, "Bo Lind"), (1, "Maren Rose Whitlock")]
    assert found[0].visit is not None
    assert found[0].visit.next_visit is None
    assert found[0].visit.person.language is None, "nobody told it, so nothing is guessed"


@pytest.mark.parametrize(
    ("url", "reference"),
    [
        ("urn:uuid:0c3151bd", "urn:uuid:0c3151bd"),
        ("https://example.org/fhir/Patient/p2", "https://example.org/fhir/Patient/p2"),
        ("https://example.org/fhir/Patient/p2", "Patient/p2"),
        (None, "Patient/p2"),
        (None, "Patient/p2/_history/3"),
    ],
)
def test_an_appointment_finds_its_patient(tmp_path: Path, url: str, reference: str) -> None:
    (row,) = rows(tmp_path, at(reference), entry(BO, url))
    assert row.line == 1
    assert row.visit is not None
    assert row.visit.next_visit == datetime(2026, 12, 9, 10, 30)


@pytest.mark.parametrize(
    "reference", ["Patient/p9", "urn:uuid:9", "https://elsewhere.org/Patient/p2", "#p2", None]
)
def test_an_appointment_without_a_known_patient_is_a_row(
    tmp_path: Path, reference: str | None
) -> None:
    good, stray = rows(tmp_path, entry(BO), at(reference))
    assert good.problem is None
    assert stray.line == 1
    assert stray.where == "entry[1] (Appointment)"
    assert problem(stray).startswith("The ")


def test_one_unknown_patient_among_others_is_told(tmp_path: Path) -> None:
    both = [{"actor": {"reference": f"Patient/{name}"}} for name in ("p2", "p9")]
    _, stray = rows(tmp_path, entry(BO), entry(BOOKED, participant=both))
    assert "'Patient/p9' is not in the bundle" in problem(stray)


def test_two_patients_with_one_id_are_not_mixed_up(tmp_path: Path) -> None:
    found = rows(tmp_path, entry(BO), entry(MAREN, id="p2"), at("Patient/p2"))
    assert [row.name for row in found] == ["Bo Lind", "Maren Rose Whitlock", "(no name)"]
    assert "is two patients" in problem(found[2])
    assert all(row.visit and row.visit.next_visit is None for row in found[:2])


def test_each_further_appointment_is_a_row_of_its_own(tmp_path: Path) -> None:
    found = rows(
        tmp_path,
        at("Patient/p2", "2026-12-10T09:00:00-07:00"),
        entry(BO),
        at("Patient/p2", "2026-12-09T09:00:00-07:00"),
    )
    shown = [(row.line, row.visit.next_visit) for row in found if row.visit]
    assert shown == [(0, datetime(2026, 12, 10, 9)), (1, datetime(2026, 12, 9, 9))]


@pytest.mark.parametrize("status", ["fulfilled", "arrived", "waitlist", "proposed"])
def test_only_what_is_booked_or_pending_counts(tmp_path: Path, status: str) -> None:
    (row,) = rows(tmp_path, entry(MAREN), entry(BOOKED, status=status, start=None))
    assert row.visit is not None
    assert row.visit.next_visit is None
    (row,) = rows(tmp_path, entry(MAREN), entry(BOOKED, status="pending"))
    assert row.visit is not None
    assert row.visit.next_visit is not None


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"start": None}, "The appointment has no start"),
        ({"start": "2026-12-09"}, "The start is '2026-12-09'"),
        ({"start": "2026-12-09T10:30:00"}, "The start is"),
        ({"start": "2026-13-09T10:30:00Z"}, "The start is"),
        ({"start": "2026-12-09T10:30:00+99:00"}, "The start is"),
        ({"start": 5}, "'start'"),
        ({"status": None}, "'status'"),
        ({"status": "perhaps"}, "'status'"),
        ({"participant": "Patient/p1"}, "'participant'"),
    ],
)
def test_a_bad_appointment_is_a_row_and_its_patient_stays(
    tmp_path: Path, changes: dict[str, Any], says: str
) -> None:
    good, bad = rows(tmp_path, entry(MAREN), entry(BOOKED, **changes))
    assert good.visit is not None
    assert says in problem(bad)
    assert bad.where == "entry[1] (Appointment)"


@pytest.mark.parametrize(
    ("changes", "says", "name"),
    [
        ({"birthDate": "17.04.1961"}, "The birth date is '17.04.1961'", "Maren Rose Whitlock"),
        ({"birthDate": "1961-13-01"}, "The birth date says '1961-13-01'", "Maren Rose Whitlock"),
        ({"birthDate": 1961}, "'birthDate'", "Maren Alder"),
        ({"name": []}, "The name", "(no name)"),
        ({"name": "Maren"}, "'name'", "(no name)"),
        ({"name": [{"text": "M\u0007"}]}, "The name", "M\u0007"),
        (
            {"telecom": [{"system": "email", "value": "none"}]},
            "The e-mail address says 'none'",
            None,
        ),
        ({"communication": [{"language": {}}]}, "not named", None),
        ({"communication": [{}]}, "'communication.language', number 1,", None),
        ({"identifier": [{"value": "\u0007"}]}, "The record number says", None),
        ({"deceasedBoolean": True}, "has died", None),
        ({"deceasedDateTime": "2026-10-01"}, "has died", None),
        ({"active": False}, "not in use", None),
        (
            {"contact": [{"relationship": [{"text": "Guardian"}]}]},
            "The guardian",
            None,
        ),
    ],
)
def test_a_bad_patient_is_a_row_with_its_reason(
    tmp_path: Path, changes: dict[str, Any], says: str, name: str | None
) -> None:
    bad, good = rows(tmp_path, entry(MAREN, **changes), entry(BO), entry(BOOKED))
    assert says in problem(bad)
    assert bad.where == "entry[0] (Patient/p1)"
    assert name is None or bad.name == name
    assert good.visit is not None


def test_names_languages_and_numbers_are_chosen_by_rule(tmp_path: Path) -> None:
    usual = {"use": "usual", "text": "Mari W."}
    assert person(tmp_path, name=[usual]).name == "Mari W."
    assert person(tmp_path, name=[usual]).called is None
    assert person(tmp_path, name=[{"family": "Li"}, usual]).name == "Mari W."
    assert person(tmp_path, communication=None).language is None
    assert person(tmp_path, communication=MAREN["communication"][:1]).language == "en"
    assert person(tmp_path, communication=[{"language": {"text": "ar"}}]).language == "ar"
    assert person(tmp_path, identifier=MAREN["identifier"][:2]).record == "X-9"
    assert person(tmp_path, identifier=MAREN["identifier"][:1]).record is None
    assert person(tmp_path, birthDate="1961-04").born is None
    assert person(tmp_path, contact=MAREN["contact"][:1]).guardian is None
    ward = [{"relationship": [{"text": "legal guardian"}], "name": {"text": "Ilse"}}]
    assert person(tmp_path, contact=ward).guardian.relationship == "legal guardian"


@pytest.mark.parametrize(
    "odd", [None, 5, "Patient", [], {}, {"resource": None}, {"resource": {}}, {"fullUrl": 5}]
)
def test_a_bad_entry_is_a_row_and_the_others_stay(tmp_path: Path, odd: Any) -> None:
    found = rows(tmp_path, entry(BO), odd, entry(MAREN))
    assert [row.line for row in found] == [0, 1, 2]
    assert found[1].where == "entry[1]"
    assert problem(found[1])


def test_other_entries_are_passed_over(tmp_path: Path) -> None:
    assert rows(tmp_path, {"resource": {"resourceType": "Condition", "id": "c"}}) == []
    assert rows(tmp_path) == []


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"resourceType": "Patient"}',
        '{"resourceType": "Bundle", "entry": {}}',
        '{"resourceType": "Bundle", "entry": [], "entry": []}',
        '{"resourceType": "Bundle", "total": NaN}',
        "[" * 100_000,
    ],
)
def test_what_is_no_bundle_is_refused_whole(tmp_path: Path, text: str) -> None:
    file = tmp_path / "day.json"
    file.write_text(text, "utf-8")
    with pytest.raises(FactsProblem, match="cannot be read as a FHIR Bundle"):
        read_bundle(file)
    with pytest.raises(FactsProblem, match=r"There is no none\.json in "):
        read_bundle(tmp_path / "none.json")


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec=None), max_size=12)
    | st.sampled_from(["Patient", "Appointment", "Patient/p1", "booked", "official", "phone"]),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.text(max_size=6) | st.sampled_from(sorted({*MAREN, *BOOKED, "resource", "value"})),
            inner,
            max_size=4,
        )
    ),
    max_leaves=10,
)
ODD_ENTRY = (
    JSON
    | st.builds(lambda key, value: entry(MAREN, **{key: value}), st.sampled_from([*MAREN]), JSON)
    | st.builds(lambda key, value: entry(BOOKED, **{key: value}), st.sampled_from([*BOOKED]), JSON)
)


@settings(max_examples=500, deadline=None)
@given(st.lists(ODD_ENTRY, max_size=5))
def test_no_bundle_however_odd_ends_in_a_traceback_or_loses_anybody(
    tmp_path_factory: pytest.TempPathFactory, entries: list[Any]
) -> None:
    found = rows(tmp_path_factory.mktemp("bundle"), *entries)
    lines = {row.line for row in found}
    for row in found:
        assert (row.visit is None) == (row.problem is not None)
        f"{row.name} {row.problem}".encode()
    for line, odd in enumerate(entries):
        resource = odd.get("resource") if isinstance(odd, dict) else None
        kind = resource.get("resourceType") if isinstance(resource, dict) else None
        if kind == "Patient" or not isinstance(kind, str):
            assert line in lines


@settings(max_examples=200, deadline=None)
@given(
    st.integers(0, 4),
    st.lists(
        st.tuples(st.integers(0, 5), st.integers(1, 9), st.sampled_from(["booked", "noshow"]))
    ),
)
def test_every_booking_is_shown_once_or_told(
    tmp_path_factory: pytest.TempPathFactory, people: int, bookings: list[tuple[int, int, str]]
) -> None:
    patients = [entry(BO, id=str(number)) for number in range(people)]
    appointments = [
        at(f"Patient/{number}", f"2026-12-0{day}T10:00:00Z", status=status)
        for number, day, status in bookings
    ]
    found = rows(tmp_path_factory.mktemp("bundle"), *appointments, *patients)
    shown = sum(1 for row in found if row.visit and row.visit.next_visit)
    off = {number for number, _, status in bookings if number < people and status == "noshow"}
    kept = {number for number, _, status in bookings if status == "booked"}
    told = sum(1 for row in found if row.problem) - len(off - kept)
    assert shown == sum(number < people and status == "booked" for number, _, status in bookings)
    assert told == sum(number >= people and status == "booked" for number, _, status in bookings)
    assert {row.line for row in found} >= set(range(len(bookings), len(bookings) + people))


@settings(max_examples=300, deadline=None)
@given(JSON)
def test_no_json_however_odd_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, value: Any
) -> None:
    file = tmp_path_factory.mktemp("bundle") / "day.json"
    file.write_text(json.dumps(value), "utf-8")
    with pytest.raises(FactsProblem):
        read_bundle(file)


# ---- where letters go, and who gets none -------------------------------------------------------

HOME = {
    "line": ["1 Larch Row", "Flat 2"],
    "city": "Millbrook",
    "state": "CO",
    "postalCode": "80000",
}


@pytest.mark.parametrize(
    ("addresses", "country", "lines"),
    [
        ([HOME], "US", ("1 Larch Row", "Flat 2", "Millbrook, CO 80000")),
        ([HOME], "DE", ("1 Larch Row", "Flat 2", "80000 Millbrook", "CO")),
        ([{**HOME, "country": "USA"}], "US", ("1 Larch Row", "Flat 2", "Millbrook, CO 80000")),
        (
            [{"use": "old", "line": ["Gone 1"]}, HOME],
            "US",
            ("1 Larch Row", "Flat 2", "Millbrook, CO 80000"),
        ),
        (
            [HOME, {"type": "postal", "line": ["Box 7"], "city": "Millbrook"}],
            "US",
            ("Box 7", "Millbrook"),
        ),
        (
            [{"text": "1 Larch Row\nMillbrook, CO 80000"}],
            "US",
            ("1 Larch Row", "Millbrook, CO 80000"),
        ),
        ([{"line": [None], "city": None}], "US", ()),
        ([], "US", ()),
    ],
)
def test_the_address_for_post_is_read(
    tmp_path: Path, addresses: list[Any], country: str, lines: tuple[str, ...]
) -> None:
    rows(tmp_path, entry(MAREN, address=addresses))
    (row,) = read_bundle(tmp_path / "day.json", DENVER, country)
    assert row.visit is not None, row.problem
    assert row.visit.person.address == lines


@pytest.mark.parametrize(
    ("statuses", "told"),
    [
        (("cancelled",), "is cancelled"),
        (("noshow", "cancelled"), "is cancelled"),
        (("entered-in-error",), "was entered by mistake"),
        (("cancelled", "booked"), ""),
        (("cancelled", "fulfilled"), ""),
        ((), ""),
    ],
)
def test_nobody_is_prepared_for_a_visit_that_will_not_be(
    tmp_path: Path, statuses: tuple[str, ...], told: str
) -> None:
    bookings = [at("Patient/p1", status=status) for status in statuses]
    row, *_ = rows(tmp_path, entry(MAREN), *bookings)
    if told:
        assert told in problem(row)
    else:
        assert row.problem is None


def test_somebody_booked_twice_gets_one_set_and_the_next_visit_is_named(tmp_path: Path) -> None:
    days = ("2026-11-25", "2026-12-11", "2026-12-09")
    bookings = [at("Patient/p1", f"{day}T10:30:00-07:00") for day in days]
    found = rows(tmp_path, entry(MAREN), entry(BO), *bookings)
    assert len(found) == 4
    maren, bo = one_each(People(found), date(2026, 11, 25))
    assert (maren.visit and maren.visit.next_visit) == datetime(2026, 12, 9, 10, 30)
    assert bo.visit is not None
    (note,) = one_each(People(found), date(2026, 11, 25)).notes
    assert "has 3 visits booked" in note
    assert "2026-12-09" in note
    (past, _) = one_each(People(found), date(2027, 1, 1))
    assert (past.visit and past.visit.next_visit) == datetime(2026, 12, 11, 10, 30)


def test_what_is_wrong_with_a_person_is_told_once_for_all_visits(tmp_path: Path) -> None:
    bad = entry(MAREN, telecom=[{"system": "email", "value": "none"}])
    (row,) = rows(tmp_path, bad, at("Patient/p1"), at("Patient/p1", "2026-12-10T10:30:00-07:00"))
    assert "The e-mail address says 'none'" in problem(row)
