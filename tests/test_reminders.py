"""Reminders: the right visit, on the ways that were chosen, once, and nothing for a spreadsheet."""

import csv
import json
import shutil
from datetime import date, datetime, timedelta
from decimal import Decimal
from email import policy
from email.parser import BytesParser
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from conftest import WEDNESDAY
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.desk.entries import KEY, sequence_of
from plainleaf.desk.exports import dialled, not_computed, table
from plainleaf.desk.reminders import Reminded, remind
from plainleaf.errors import FactsProblem, OutputProblem, PaperProblem, SettingsProblem
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit

HEADS = "name,language,born,record,phone,email,recheck,next visit,cancelled visit,remind by"
PHONE, MAIL = "+1 303 555 0151", "ana@example.org"
BOOKED = "2026-12-09T10:30"


def listed(folder: Path, *rows: str) -> Path:
    file = folder / "list.csv"
    file.write_text("\n".join((HEADS, *rows)), "utf-8")
    return file


def row(name: str = "Ana Roe", **cells: str) -> str:
    cells = {"name": name, "next visit": BOOKED} | {
        key.replace("_", " "): cell for key, cell in cells.items()
    }
    return ",".join(f'"{cells.get(head, "")}"' for head in HEADS.split(","))


def reminded(desk: Desk, folder: Path, *rows: str) -> Reminded:
    return remind(desk, listed(folder, *rows), folder / "out")


def names(done: Reminded) -> list[str]:
    return [file.name for file in done.files]


def texts(done: Reminded, name: str = "texts.csv") -> list[dict[str, str]]:
    (file,) = (one for one in done.files if one.name == name)
    return list(csv.DictReader(StringIO(file.read_text("utf-8-sig"), newline="")))


def event(folder: Path, line: int = 2) -> Any:
    content = (folder / "out" / f"appointment-{line:04}.ics").read_bytes()
    (found,) = Calendar.from_ical(content).walk("VEVENT")
    return found


def set_up(practice: Practice, **changes: Any) -> Practice:
    assert practice.reminders is not None
    reminders = practice.reminders.model_copy(update=changes)
    return practice.model_copy(update={"reminders": reminders})


# ---- which visit ------------------------------------------------------------------------------


def booked(**facts: Any) -> Visit:
    return Visit.model_validate({"person": {"name": "Ana Roe"}, **facts})


def test_the_earliest_visit_that_is_not_over_is_the_next() -> None:
    both = booked(recheck="2026-12-09T10:30", next_visit="2027-05-20T09:00")
    assert both.comes_next_from(date(2026, 11, 25)) == datetime(2026, 12, 9, 10, 30)
    assert both.comes_next_from(date(2026, 12, 9)) == datetime(2026, 12, 9, 10, 30)
    assert both.comes_next_from(date(2026, 12, 10)) == datetime(2027, 5, 20, 9)
    assert both.comes_next_from(date(2027, 5, 21)) is None
    over = booked(
        recheck="2026-12-09T10:30", recheck_outcome={"found": "gone", "day": "2026-12-09"}
    )
    assert over.comes_next_from(date(2026, 12, 9)) is None


def test_a_text_names_the_earliest_visit(desk: Desk, tmp_path: Path) -> None:
    cells = {"recheck": BOOKED, "next_visit": "2027-05-20T09:00", "phone": PHONE}
    done = reminded(desk, tmp_path, row(language="en", remind_by="text message", **cells))
    assert "Wednesday, December 9, 2026, 10:30" in texts(done)[0]["text"]


def test_a_visit_that_is_over_is_left_out_with_its_reason(desk: Desk, tmp_path: Path) -> None:
    done = reminded(desk, tmp_path, row(next_visit="2025-05-20T09:00"), row("Bo"))
    assert [(one.name, one.problem.found) for one in done.left_out] == [
        ("Ana Roe", "The last booked visit was on 2025-05-20.")
    ]
    with pytest.raises(FactsProblem, match="come on 2025-05-20, and that is over"):
        desk.page("reminder-card", booked(next_visit="2025-05-20T09:00"))


@pytest.mark.parametrize(
    ("when", "told"),
    [
        ("2026-11-29T03:00", "Sunday, 2026-11-29 03:00; on Sunday you are closed."),
        ("2026-12-04T16:00", "Friday, 2026-12-04 16:00; on Friday you are open 08:00 to 13:00."),
        (BOOKED, ""),
    ],
)
def test_a_visit_when_the_practice_is_closed_is_asked_about(
    desk: Desk, tmp_path: Path, when: str, told: str
) -> None:
    done = reminded(desk, tmp_path, row(next_visit=when))
    assert done.ways == {"letter": 1}
    assert list(done.asks) == ([f"line 2, Ana Roe: the visit is booked for {told}"] if told else [])


def test_the_same_person_is_reminded_once_of_the_earliest_visit(desk: Desk, tmp_path: Path) -> None:
    done = reminded(
        desk,
        tmp_path,
        row(record="J-1", next_visit="2026-12-16T10:30"),
        row("Ana M. Roe", record="j-1"),
        row("Bo Lind", born="1980-01-01"),
        row("bo  lind", born="1980-01-01"),
        row("Bo Lind", born="1990-01-01"),
        row("Bo Lind", born="1990-01-01", next_visit="2025-05-20T09:00"),
    )
    assert done.ways == {"letter": 3}
    assert [(one.line, one.problem.found) for one in done.left_out] == [
        (2, "The same person is reminded of the visit on line 3."),
        (5, "The same person is reminded of the visit on line 4."),
        (7, "The last booked visit was on 2025-05-20."),
    ]


def test_a_bundle_tells_two_people_of_one_name_apart(desk: Desk, tmp_path: Path) -> None:
    resources: list[dict[str, Any]] = [
        {"resourceType": "Patient", "id": one, "name": [{"text": "Bo Lind"}]} for one in ("a", "b")
    ]
    for one, start in (("a", "2026-12-16"), ("a", "2026-12-09"), ("b", "2026-12-10")):
        actor = {"actor": {"reference": f"Patient/{one}"}, "status": "accepted"}
        booked = {"resourceType": "Appointment", "status": "booked", "participant": [actor]}
        resources.append({**booked, "start": f"{start}T10:30:00-07:00"})
    bundle = {"resourceType": "Bundle", "type": "collection"}
    file = tmp_path / "day.json"
    file.write_text(json.dumps({**bundle, "entry": [{"resource": one} for one in resources]}))
    done = remind(desk, file, tmp_path / "out")
    assert done.ways == {"letter": 2}
    (left,) = done.left_out
    assert left.problem.found.startswith(
        "The same person is reminded of the visit on entry[0] (Patient/a)"
    )


# ---- on which ways ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("chosen", "ways"),
    [
        ("", {"letter": 1}),
        ("letter", {"letter": 1}),
        ("SMS", {"text message": 1}),
        ("text, e-mail", {"text message": 1, "email": 1}),
        ("Card + SMS; Email", {"letter": 1, "text message": 1, "email": 1}),
        ("phone call", {"phone call": 1}),
        ("email, email", {"email": 1}),
    ],
)
def test_each_way_that_was_chosen_is_served(
    desk: Desk, tmp_path: Path, chosen: str, ways: dict[str, int]
) -> None:
    done = reminded(desk, tmp_path, row(remind_by=chosen, phone=PHONE, email=MAIL))
    assert (done.ways, done.left_out, done.gaps) == (ways, (), ())
    assert ("cards.pdf" in names(done)) == ("letter" in ways)


def test_a_way_that_cannot_be_served_stops_no_other(desk: Desk, tmp_path: Path) -> None:
    done = reminded(desk, tmp_path, row(remind_by="text message + email", phone=PHONE))
    assert done.ways == {"text message": 1}
    assert done.left_out == ()
    assert [(one.paper, one.problem.found) for one in done.gaps] == [
        ("email", "There is no e-mail address, and the person chose e-mail.")
    ]


def test_who_can_be_reached_on_no_way_is_told_with_every_reason(desk: Desk, tmp_path: Path) -> None:
    done = reminded(desk, tmp_path, row(remind_by="text message + email"))
    assert [one.paper for one in done.left_out] == ["text message", "email"]
    assert done.files == ()


def test_who_wants_no_reminder_gets_none_and_is_named(desk: Desk, tmp_path: Path) -> None:
    done = reminded(desk, tmp_path, row(remind_by="none"), row("Bo", remind_by="none + email"))
    assert done.files == ()
    assert [one.problem.found for one in done.left_out][0] == "The person asked for no reminders."
    assert "'none' stands beside other ways" in done.left_out[1].problem.found


def test_calls_to_make_are_listed_with_the_words_for_a_machine(desk: Desk, tmp_path: Path) -> None:
    done = reminded(desk, tmp_path, row("=Ana", remind_by="phone call", phone=PHONE, language="es"))
    assert names(done) == ["call-0002.txt", "calls.csv"]
    (call,) = texts(done, "calls.csv")
    assert call == {
        "line": "2",
        "name": "'=Ana",
        "phone": "+13035550151",
        "language": "es",
        "script": "call-0002.txt",
    }
    assert "9 de diciembre" in (tmp_path / "out" / "call-0002.txt").read_text("utf-8")


# ---- numbers and tables -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "country", "expected"),
    [
        ("(303) 555-0151", "US", "+13035550151"),
        ("+1 303 555 0151", "DE", "+13035550151"),
        ("030 901820", "DE", "+4930901820"),
        ("+34 612 34 56 78", "US", "+34612345678"),
    ],
)
def test_a_phone_number_is_exported_in_its_global_form(
    number: str, country: str, expected: str
) -> None:
    assert dialled(number, country) == expected


@pytest.mark.parametrize(
    "number",
    [
        "=1+1",
        '=HYPERLINK("http://example.org")',
        "ring me at home",
        "555 0151",
        "+1",
        "911",
        "1" * 30,
    ],
)
def test_what_is_no_phone_number_is_told_and_not_exported(
    desk: Desk, tmp_path: Path, number: str
) -> None:
    with pytest.raises(FactsProblem, match="cannot be dialled"):
        dialled(number, "US")
    done = reminded(desk, tmp_path, row(remind_by="SMS", phone=number.replace('"', '""')))
    assert (done.files, len(done.left_out)) == ((), 1)


@pytest.mark.parametrize("cell", ["=1+1", "+SUM(A1)", "-2", "@A1", "\t=1", "\r=1", "+1 303"])
def test_no_cell_is_a_formula(cell: str) -> None:
    content = table(("a", "b"), [(cell, "+13035550151")]).decode("utf-8-sig")
    (found,) = csv.DictReader(StringIO(content, newline=""))
    assert found == {"a": f"'{cell}", "b": "+13035550151"}
    with pytest.raises(PaperProblem, match="formula"):
        not_computed(cell)


def test_a_text_that_begins_like_a_formula_is_told(practice: Practice, tmp_path: Path) -> None:
    desk = Desk(practice.model_copy(update={"name": "@Home Dental"}), WEDNESDAY)
    done = reminded(desk, tmp_path, row(remind_by="SMS", phone=PHONE))
    assert "begins with '@'" in done.left_out[0].problem.found
    assert "called" in done.left_out[0].problem.do


def test_our_own_words_are_no_signed_translation(desk: Desk, tmp_path: Path) -> None:
    cells = {"phone": PHONE, "remind_by": "SMS"}
    done = reminded(desk, tmp_path, row(language="en", **cells), row("Bo", language="es", **cells))
    states = {one["language"]: one["translation"] for one in texts(done)}
    assert states == {"en": "source, not reviewed", "es": "draft"}
    assert done.parts == (("en", 1, 1), ("es", 1, 1))


# ---- what anybody may see -----------------------------------------------------------------------


def test_a_calendar_title_with_a_health_word_does_not_leave(
    practice: Practice, tmp_path: Path
) -> None:
    own = tmp_path / "locales" / "es"
    shutil.copytree(paths.locales() / "es", own)
    file = own / "LC_MESSAGES" / "plainleaf.po"
    text = file.read_text("utf-8")
    file.write_text(text.replace('"%(practice)s: cita"', '"%(practice)s: tumor"'), "utf-8")
    desk = Desk(practice, WEDNESDAY, tmp_path)
    done = reminded(desk, tmp_path, row(language="es", remind_by="email", email=MAIL))
    assert done.files == ()
    assert done.left_out[0].problem.found == (
        "The calendar entry in 'es' carries the health word 'tumor'."
    )


def test_a_sender_s_address_with_a_health_word_does_not_leave(
    practice: Practice, tmp_path: Path
) -> None:
    desk = Desk(set_up(practice, email="oral-cancer@example.org"), WEDNESDAY)
    done = reminded(desk, tmp_path, row(remind_by="email + letter", email=MAIL))
    assert done.ways == {"letter": 1}
    assert "The sender's address in practice.toml carries the health" in done.gaps[0].problem.found


def test_file_names_tell_nothing(desk: Desk, tmp_path: Path) -> None:
    ways = "letter + SMS + email + phone call"
    done = reminded(desk, tmp_path, row("Ana Roe", phone=PHONE, email=MAIL, remind_by=ways))
    assert names(done) == [
        *("appointment-0002.ics", "call-0002.txt", "calls.csv", "cards.pdf"),
        *("mail-0002.eml", "texts.csv"),
    ]
    mail = BytesParser(policy=policy.default).parsebytes(done.files[4].read_bytes())
    assert [part.get_filename() for part in mail.iter_attachments()] == ["appointment.ics"]


# ---- all or nothing, and once -------------------------------------------------------------------


def test_files_of_an_earlier_run_are_not_mixed_with_new_ones(desk: Desk, tmp_path: Path) -> None:
    reminded(desk, tmp_path, row(remind_by="email", email=MAIL))
    before = sorted((tmp_path / "out").iterdir())
    with pytest.raises(OutputProblem, match=r"appointment-0002\.ics and 1 more of an earlier run"):
        reminded(desk, tmp_path, row(remind_by="letter"))
    assert sorted((tmp_path / "out").iterdir()) == before
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "notes.txt").write_text("ours", "utf-8")
    assert remind(desk, tmp_path / "list.csv", tmp_path / "other").ways == {"letter": 1}


def test_one_place_that_is_taken_leaves_nothing(
    desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    moved = Path.replace

    def refused(part: Path, target: Path) -> Path:
        if target.name == "texts.csv":
            raise PermissionError(13, "open elsewhere")
        return moved(part, target)

    monkeypatch.setattr(Path, "replace", refused)
    with pytest.raises(OutputProblem, match="texts.csv cannot be written") as raised:
        reminded(desk, tmp_path, row(phone=PHONE, email=MAIL, remind_by="letter + SMS + email"))
    assert "--out" not in str(raised.value)
    assert list((tmp_path / "out").iterdir()) == []


# ---- the calendar -------------------------------------------------------------------------------


def entry(practice: Practice, folder: Path, day: date = WEDNESDAY, **cells: str) -> Any:
    shutil.rmtree(folder / "out", ignore_errors=True)
    cells = {"email": MAIL, "remind_by": "email", "record": "J-1"} | cells
    done = reminded(Desk(practice, day, folder), folder, row(**cells))
    assert done.ways == {"email": 1}, done.left_out
    return event(folder)


def test_a_setting_makes_no_second_entry(practice: Practice, tmp_path: Path) -> None:
    before = entry(practice, tmp_path)
    dearer = practice.model_copy(
        update={"fee": practice.fee.model_copy(update={"amount": Decimal(36)})}
    )
    assert entry(dearer, tmp_path)["UID"] == before["UID"]
    assert entry(practice, tmp_path, record="J-2")["UID"] != before["UID"]


def test_a_visit_that_was_moved_replaces_its_entry(practice: Practice, tmp_path: Path) -> None:
    before = entry(practice, tmp_path)
    after = entry(practice, tmp_path, date(2026, 11, 26), next_visit="2026-12-10T11:00")
    assert after["UID"] == before["UID"]
    assert after["SEQUENCE"] > before["SEQUENCE"]
    assert after["DTSTART"].dt.day == 10


def test_a_cancelled_visit_leaves_the_calendar_again(practice: Practice, tmp_path: Path) -> None:
    before = entry(practice, tmp_path)
    shutil.rmtree(tmp_path / "out")
    cells = {"record": "J-1", "email": MAIL, "next_visit": "", "cancelled_visit": BOOKED}
    desk = Desk(practice, WEDNESDAY, tmp_path)
    done = reminded(
        desk,
        tmp_path,
        row(remind_by="email", language="es", **cells),
        row("Bo", remind_by="letter", **cells | {"record": "J-2"}),
    )
    assert (names(done), done.withdrawn, done.ways) == (["cancelled-0002.ics"], 1, {})
    assert [one.problem.found for one in done.left_out] == ["The visit on 2026-12-09 is cancelled."]
    content = (tmp_path / "out" / "cancelled-0002.ics").read_bytes()
    (after,) = Calendar.from_ical(content).walk("VEVENT")
    assert b"METHOD:CANCEL" in content
    assert (after["STATUS"], after["UID"]) == ("CANCELLED", before["UID"])
    assert after["SUMMARY"] == "Juniper Lane Dental: cita"
    assert after["SEQUENCE"] > before["SEQUENCE"]
    assert after["SEQUENCE"] < sequence_of(WEDNESDAY + timedelta(1))


def test_a_new_booking_replaces_the_entry_of_a_cancelled_one(desk: Desk, tmp_path: Path) -> None:
    cells = {"record": "J-1", "email": MAIL, "remind_by": "email", "cancelled_visit": BOOKED}
    done = reminded(desk, tmp_path, row(**cells | {"next_visit": "2026-12-16T10:30"}))
    assert names(done) == ["appointment-0002.ics", "mail-0002.eml"]
    shutil.rmtree(tmp_path / "out")
    done = reminded(
        desk,
        tmp_path,
        row(**cells, next_visit=""),
        row(record="J-1", email=MAIL, remind_by="email"),
    )
    assert names(done) == ["appointment-0003.ics", "mail-0003.eml"]
    assert [one.line for one in done.left_out] == [2]


def test_an_id_cannot_be_confirmed_without_the_practice_s_key(
    practice: Practice, tmp_path: Path
) -> None:
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    one, two = (entry(practice, tmp_path / name) for name in ("one", "two"))
    assert one["UID"] != two["UID"]
    assert (tmp_path / "one" / KEY).stat().st_mode & 0o777 == 0o600
    assert entry(practice, tmp_path / "one")["UID"] == one["UID"]
    (tmp_path / "one" / KEY).write_text("owl", "utf-8")
    done = reminded(
        Desk(practice, WEDNESDAY, tmp_path / "one"),
        tmp_path,
        row(email=MAIL, remind_by="email"),
    )
    assert isinstance(done.left_out[0].problem, SettingsProblem)
