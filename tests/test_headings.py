"""Headings as front desks write them: understood, asked about or named, and never dropped."""

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from plainleaf.errors import FactsProblem
from plainleaf.office.headings import understood
from plainleaf.office.people import People, read_list
from plainleaf.office.practice import Practice


def listed(folder: Path, text: str | bytes, practice: Practice | None = None) -> People:
    file = folder / "day.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_list(file, practice)


def first(people: People) -> dict[str, Any]:
    visit = people[0].sound_visit()
    return visit.model_dump(mode="json", exclude_unset=True)


@pytest.mark.parametrize(
    ("heading", "fact"),
    [
        ("Large print needed", "large_print"),
        ("Large Print?", "large_print"),
        ("large-print (Y/N)", "large_print"),
        ("Lang.", "language"),
        ("Patient's preferred language", "language"),
        ("Re-check date", "recheck"),
        ("Recheck Date/Time", "recheck"),
        ("Date of re-check", "recheck"),
        ("Appointment date/time", "next_visit"),
        ("Appt time", "next_visit_time"),
        ("Remind via", "channels"),
        ("E-Mail", "email"),
        ("Cell #", "phone"),
        ("D.O.B.", "born"),
        ("Chart #", "record"),
        ("DARK_AREA", "place"),
        ("Parent/Guardian", "guardian"),
        ("Interpreter needed?", "interpreter"),
        ("Coming back?", "coming_back"),
        ("Normal", "normal"),
        ("Explained by", "explained_by"),
        ("Done by", "done_by"),
        ("Mailing address", "address"),
        ("ZIP", "postal_code"),
        ("Visit Date", "day"),
    ],
)
def test_a_heading_is_understood_with_its_marks_and_fillers(heading: str, fact: str) -> None:
    columns = understood("day.csv", ["name", heading])
    assert columns.places[fact] == 1
    assert columns.head(fact) == heading
    assert columns.unread == ()


@pytest.mark.parametrize(
    ("heading", "meant"),
    [
        ("dark aera", "dark area"),
        ("Dark areas", "dark area"),
        ("Dark spot", "dark area"),
        ("Lesion site", "dark area"),
        ("Area", "dark area"),
        ("large pritn", "large print"),
        ("LP", "large print"),
        ("languge", "language"),
        ("Re-chek", "recheck"),
        ("Guardain", "guardian"),
    ],
)
def test_a_near_miss_is_asked_about(heading: str, meant: str) -> None:
    with pytest.raises(FactsProblem) as caught:
        understood("day.csv", ["name", heading])
    assert f"'{heading}' (did you mean '{meant}'?)" in caught.value.found


def test_two_columns_for_one_fact_are_asked_about() -> None:
    with pytest.raises(FactsProblem, match=r"'Lang\.' and 'Language'"):
        understood("day.csv", ["name", "Lang.", "Language"])


def test_a_column_that_nobody_reads_is_named(tmp_path: Path) -> None:
    people = listed(tmp_path, "name,Insurance,,room\nAna,x,y,1\n")
    assert people.notes == (
        "Not read on the list: 'Insurance', 'room', column 3, which has no heading.",
    )


def test_a_list_without_names_shows_what_was_taken_for_its_headings(tmp_path: Path) -> None:
    with pytest.raises(FactsProblem, match=r"its headings are 'Day list, 25 Nov'"):
        listed(tmp_path, '"Day list, 25 Nov",,\nname,language,born\nAna,es,\n')


@pytest.mark.parametrize(
    ("heads", "row", "name"),
    [
        ("First name,Last name", "Ana,Roe", "Ana Roe"),
        ("Last,First", "Roe,Ana", "Ana Roe"),
        ("Surname;Given name", "山田;太郎", "山田太郎"),
    ],
)
def test_names_in_two_columns_are_joined(tmp_path: Path, heads: str, row: str, name: str) -> None:
    person = first(listed(tmp_path, f"{heads}\n{row}\n"))["person"]
    assert person["name"] == name
    assert person["called"] in name


def test_a_first_name_called_name_is_asked_about() -> None:
    with pytest.raises(FactsProblem, match="'Name' and 'Last name'"):
        understood("day.csv", ["Name", "Last name"])


def test_the_new_columns_reach_the_visit(tmp_path: Path, practice: Practice) -> None:
    heads = (
        "name,language,guardian,interpreter,interpreter by,coming back,normal,explained by,done by,"
        "street,city,state,zip"
    )
    row = (
        "Ana,es,Bea Roe (legal guardian),yes,by phone,Will come,cheek + tonsil,"
        f"{practice.staff[0].name},Kim Lee (dentist),1 Larch Row,Millbrook,CO,80000"
    )
    visit = first(listed(tmp_path, f"{heads}\n{row}\n", practice))
    person = visit["person"]
    assert person["guardian"] == {"name": "Bea Roe", "relationship": "legal guardian"}
    assert person["interpreter"] == {"language": "es", "mode": "by phone"}
    assert person["address"] == ["1 Larch Row", "Millbrook, CO 80000"]
    assert visit["coming_back"] == "will come"
    assert visit["normal"] == ["cheek", "tonsil"]
    assert visit["explained_by"]["name"] == practice.staff[0].name
    assert visit["done_by"] == {"name": "Kim Lee", "role": "dentist"}


@pytest.mark.parametrize(
    ("heads", "row", "says"),
    [
        ("name,guardian", "Ana,Bea Roe", "nobody says who that is to the person"),
        ("name,done by", "Ana,Somebody Else", "which is nobody of your team"),
        ("name,coming back", "Ana,perhaps", "'coming back' says 'perhaps'"),
        ("name,interpreter,interpreter by", "Ana,yes,by owl", "'interpreter by' says 'by owl'"),
        ("name,appointment time", "Ana,10:30", "no day stands under"),
        ("name,recheck,recheck time", "Ana,2026-12-09,noon", "'noon', which is no time of day"),
    ],
)
def test_a_new_column_that_means_nothing_is_told(
    tmp_path: Path, practice: Practice, heads: str, row: str, says: str
) -> None:
    (one,) = listed(tmp_path, f"{heads}\n{row}\n", practice)
    assert one.problem is not None
    assert says in one.problem.found


def test_all_that_is_wrong_with_a_row_is_told_in_the_lists_own_words(tmp_path: Path) -> None:
    (one,) = listed(
        tmp_path,
        "name,Large Print?,DOB,Dark Area,What was done\nAna,perhaps,1980-13-01,elbow,polished\n",
    )
    assert one.problem is not None
    for says in (
        "'Large Print?' says 'perhaps'",
        "'DOB' says '1980-13-01', which is no day of the calendar",
        "'Dark Area' says 'elbow'",
        "'What was done' says 'polished'",
    ):
        assert says in one.problem.found


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Text", "text message"),
        ("SMS", "text message"),
        ("phone", "phone call"),
        ("E-Mail", "email"),
        ("Post card", "letter"),
    ],
)
def test_a_way_to_be_reminded_is_known_by_its_everyday_name(
    tmp_path: Path, said: str, meant: str
) -> None:
    people = listed(tmp_path, f"name,remind via\nAna,{said} + phone call\n")
    assert first(people)["person"]["channels"] == list(dict.fromkeys((meant, "phone call")))


def test_a_word_for_two_ways_is_asked_about_and_none_stands_alone(tmp_path: Path) -> None:
    people = listed(tmp_path, "name,remind by\nAna,mail\nBo,none + text\nCy,no reminders\n")
    assert [row.visit is None for row in people] == [True, True, False]
    assert "'remind by' says 'mail'" in str(people[0].problem)
    assert "'none' stands beside other ways" in str(people[1].problem)
    assert people[2].visit and people[2].visit.person.channels == ("none",)


@pytest.mark.parametrize(
    ("heads", "cells", "moment"),
    [
        ("cancelled visit", "2026-12-02T09:00", datetime(2026, 12, 2, 9)),
        ("Canceled Appt,Canceled Appt Time", "12/2/2026,9:00 AM", datetime(2026, 12, 2, 9)),
        ("Cancelled?", "no", None),
        ("cancelled on", "-", None),
    ],
)
def test_a_cancelled_visit_has_a_column_of_its_own(
    tmp_path: Path, practice: Practice, heads: str, cells: str, moment: datetime | None
) -> None:
    file = tmp_path / "day.csv"
    file.write_text(f"name,{heads}\nAna,{cells}\n", "utf-8")
    (row,) = read_list(file, practice)
    assert row.sound_visit().cancelled_visit == moment


def test_a_dash_says_nothing_and_no_dark_area_is_none(tmp_path: Path) -> None:
    heads = "name,large print,dark area,done,recheck,phone"
    people = listed(tmp_path, f"{heads}\nAna,-,none,n/a,—,N/A\nBo,,no,,,\n-,,,,,\n")
    assert first(people) == {"person": {"name": "Ana", "address": []}}
    assert [row.visit and row.visit.finding for row in people] == [None, None, None]
    assert [row.name for row in people] == ["Ana", "Bo", "-"]
    # What tells of an area beside it is a contradiction, and no area is lost.
    (one,) = listed(tmp_path, "name,dark area,colour\nAna,no,red\n")
    assert one.problem is not None
    assert "'dark area' is empty, though 'colour' tells of an area" in one.problem.found


def test_who_came_along_and_which_side_in_everyday_words(tmp_path: Path) -> None:
    heads = "name,parent,relationship,dark area,side,done"
    visit = first(listed(tmp_path, f"{heads}\nAna,Bea Roe,mother,cheek,L,left alone\n"))
    assert visit["person"]["guardian"] == {"name": "Bea Roe", "relationship": "parent"}
    assert visit["finding"]["side"] == "left"


@pytest.mark.parametrize("time", ["10:30", "10.30", "10:30 AM", "10:30:00"])
def test_day_and_time_may_stand_in_two_columns(tmp_path: Path, time: str) -> None:
    visit = first(listed(tmp_path, f"name,re-check date,re-check time\nAna,2026-12-09,{time}\n"))
    assert visit["recheck"] == "2026-12-09T10:30:00"
