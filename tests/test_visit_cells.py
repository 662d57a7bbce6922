"""Visits in a list: cells that are read and forgiven or told, and days in the wrong order."""

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plainleaf.errors import FactsProblem, Problem
from plainleaf.office.visits import read_visit
from test_visits import FULL, listed, written


def test_the_new_columns_are_read_and_forgiven(tmp_path: Path) -> None:
    heads = (
        "name,dark area,side,done,Tooth,Color,Size (mm),Light look,on_pressure,Likely-cause,PLAN,"
        "decision,Mobile,e-mail,address,Remind by"
    )
    row = (
        "Ana,Side-of-Tongue,LEFT,Left Alone + took photograph,36,White,7 x 4.5 mm,Dark,"
        "Does not,none found,recheck,Agreed,+1 303 555 0100,a@example.org,12 Larch Row | Example,"
        "letter + E-Mail"
    )
    (found,) = listed(tmp_path, heads, row)
    assert found.problem is None, found.problem
    finding = found.visit.finding
    assert finding.place == "side of tongue"
    assert finding.done == ("left alone", "took photograph")
    assert (finding.nearest_tooth, finding.colour, finding.light) == (36, "white", "dark")
    assert (finding.size.length, finding.size.width) == (7, 4.5)
    assert (finding.pressure, finding.likely_cause) == ("does not", "none found")
    assert (finding.plan, found.visit.decision) == ("re-check", "agreed")
    person = found.visit.person
    assert (person.phone, person.email) == ("+1 303 555 0100", "a@example.org")
    assert person.address == ("12 Larch Row", "Example")
    assert person.channels == ("letter", "email")


def test_a_second_look_is_read_from_the_list(tmp_path: Path) -> None:
    heads = "name,Re-check outcome,outcome day,missed rechecks"
    first, second = listed(tmp_path, heads, "Ana,Still-there,2026-12-09,2", "Bo,,,")
    assert first.visit.recheck_outcome.found == "still there"
    assert first.visit.recheck_outcome.day == date(2026, 12, 9)
    assert first.visit.missed_rechecks == 2
    assert second.visit.recheck_outcome is None


@pytest.mark.parametrize(
    ("heads", "row", "says"),
    [
        ("name,recheck outcome,outcome day", "Ana,gone,", "'outcome day' is empty"),
        ("name,recheck outcome,outcome day", "Ana,,2026-12-09", "'recheck outcome' is empty"),
        ("name,missed rechecks", "Ana,twice", "'missed rechecks' says 'twice', which should be"),
        ("name,dark area,done,size", "Ana,cheek,left alone,0.7 cm", "not a length in millimetres"),
        ("name,dark area,done,size", "Ana,cheek,left alone,small", "not a length in millimetres"),
        (
            "name,dark area,done,tooth",
            "Ana,cheek,left alone,#19",
            "'tooth' says '#19', which should be a whole number",
        ),
        (
            "name,dark area,done,colour",
            "Ana,cheek,left alone,mauve",
            "'colour' says 'mauve', which is not known; we know 'white', 'red",
        ),
        ("name,colour", "Ana,red", "'dark area' is empty, though 'colour' tells of an area"),
        ("name,decision", "Ana,yes", "'decision' says 'yes'"),
        ("name,email", "Ana,none", "'email' says 'none', which is not an email address"),
        ("name,remind by", "Ana,letter + owl", "'remind by' says 'owl'"),
        ("name,recheck", "Ana,20261209", "'recheck' says '20261209', which is not written as"),
    ],
)
def test_a_bad_new_cell_is_told_and_the_row_kept(
    tmp_path: Path, heads: str, row: str, says: str
) -> None:
    (found,) = listed(tmp_path, heads, row)
    assert found.name == "Ana"
    assert says in str(found.problem)


@settings(max_examples=200, deadline=None)
@given(st.lists(st.text(st.characters(codec="utf-8", exclude_characters='",\n\r\0'), max_size=12)))
def test_nobody_is_lost_from_a_list_with_odd_cells(
    tmp_path_factory: pytest.TempPathFactory, cells: list[str]
) -> None:
    folder = tmp_path_factory.mktemp("list")
    rows = [f'Ana,cheek,left alone,"{cell}","{cell}","{cell}"' for cell in cells]
    try:
        found = listed(folder, "name,place,done,size,tooth,address", *rows)
    except Problem:
        return
    # Python splits lines at more marks than the list's own reader of lines was given here.
    if all(len(cell.splitlines()) <= 1 for cell in cells):
        assert [row.name for row in found] == ["Ana"] * len(cells)


@pytest.mark.parametrize(
    ("heads", "row", "light"),
    [
        ("name,dark area,done", "Ana,cheek,left alone", "dark"),
        ("name,dark area,done,light", "Ana,cheek,left alone,not dark", "not dark"),
        ("name,dark area,done,decision", "Ana,cheek,left alone,declined", None),
        ("name,dark area,done,decision", "Ana,cheek,left alone,wants time", None),
        ("name,place,done", "Ana,cheek,left alone", None),
        ("name,site,done", "Ana,cheek,left alone", None),
    ],
)
def test_only_the_heading_dark_area_says_that_it_was_dark(
    tmp_path: Path, heads: str, row: str, light: str | None
) -> None:
    (found,) = listed(tmp_path, heads, row)
    assert found.visit.finding.place == "cheek"
    assert found.visit.finding.light == light


def test_a_list_may_say_that_nothing_looked_dark(tmp_path: Path) -> None:
    heads = "name,nothing looked dark"
    rows = listed(tmp_path, heads, "Ana,yes", "Bo,no", "Caz,", "Dov,perhaps")
    assert [row.visit and row.visit.nothing_dark for row in rows] == [True, False, False, None]
    assert rows[3].problem.found == (
        "'nothing looked dark' says 'perhaps', which is neither yes nor no."
    )


@pytest.mark.parametrize(
    ("facts", "says"),
    [
        (
            {"person": {"name": "Ana", "born": "2026-11-26"}, "day": "2026-11-25"},
            "'day' says '2026-11-25': 2026-11-25 is before the date of birth, 2026-11-26",
        ),
        (
            {**FULL, "recheck_outcome": {"found": "gone", "day": "2026-11-24"}},
            "'recheck_outcome': 2026-11-24 is before the day of the visit, 2026-11-25",
        ),
    ],
)
def test_days_in_the_wrong_order_are_refused(
    tmp_path: Path, facts: dict[str, Any], says: str
) -> None:
    with pytest.raises(FactsProblem) as caught:
        read_visit(written(tmp_path, "visit.json", json.dumps(facts)))
    assert says in caught.value.found
