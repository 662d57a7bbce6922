"""The practice's settings, the people on a list, and the visits: every mistake has its line."""

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plainleaf import paths
from plainleaf.errors import FactsProblem, Problem, SettingsProblem
from plainleaf.office.people import read_list
from plainleaf.office.practice import Practice, read_practice
from plainleaf.office.visits import read_visit

DEMO = (paths.templates() / "demo" / "practice.toml").read_text("utf-8")


def written(folder: Path, text: str) -> Path:
    file = folder / "practice.toml"
    file.write_text(text, "utf-8")
    return file


def line_with(text: str, part: str) -> int:
    return next(n for n, line in enumerate(text.splitlines(), 1) if part in line)


def test_the_starting_settings_are_valid() -> None:
    read_practice(paths.templates() / "start" / "practice.toml")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("amount = 35", "amout = 35", "'fee.amout' is no setting"),
        ("minutes = 5", "minutes = 500", "'look.minutes'"),
        ("minutes = 5", 'minutes = "five"', "'look.minutes'"),
        ('country = "US"', 'country = "USA"', "'country'"),
        ('paper_size = "letter"', 'paper_size = "legal"', "'paper_size'"),
        ('role = "hygienist"', 'role = "wizard"', "'staff.1.role'"),
        ('monday = "08:00-17:00"', 'monday = "8 to 5"', "'8 to 5' is not of the form"),
        ('monday = "08:00-17:00"', 'monday = "17:00-08:00"', "closes before it opens"),
        ('name = "Juniper Lane Dental"', 'name = "  "', "it is empty"),
        ('website = "https://www', 'website = "http://www', "'links.website'"),
        ("recheck_latest_days = 28", "recheck_latest_days = 10", "comes before the first"),
    ],
)
def test_a_bad_setting_gets_a_sentence_with_its_line(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    assert old in DEMO
    text = DEMO.replace(old, new, 1)
    with pytest.raises(SettingsProblem) as caught:
        read_practice(written(tmp_path, text))
    assert says in caught.value.found
    spot = line_with(text, new)
    table = max(
        n for n, line in enumerate(text.splitlines()[:spot], 1) if line.startswith("[") or n == 1
    )
    lines = {f"practice.toml line {n}: " for n in (spot, table)}
    whole_file = old.startswith(("recheck", "monday"))
    assert any(line in caught.value.found for line in lines) or whole_file, caught.value.found


def test_a_wrong_phone_is_refused(tmp_path: Path) -> None:
    text = DEMO.replace("+1 303 555 0142", "12")
    with pytest.raises(SettingsProblem, match="'12' has too many or too few digits"):
        read_practice(written(tmp_path, text))


def test_a_missing_file_table_or_quote_is_a_known_problem(tmp_path: Path) -> None:
    with pytest.raises(SettingsProblem, match=r"There is no practice.toml") as caught:
        read_practice(tmp_path / "practice.toml")
    assert "plainleaf init" in caught.value.do
    with pytest.raises(SettingsProblem, match="'fee' is missing"):
        read_practice(written(tmp_path, DEMO.replace('[fee]\namount = 35\ncurrency = "USD"\n', "")))
    with pytest.raises(SettingsProblem, match="line 3"):
        read_practice(
            written(tmp_path, DEMO.replace('name = "Juniper Lane Dental"', "name = Juniper"))
        )


def test_the_recheck_window_is_two_to_four_weeks(practice: Practice) -> None:
    # Two to four weeks: common practice, no source. Both days are settings.
    first, last = practice.look.recheck_window(date(2026, 11, 25))
    assert (first, last) == (date(2026, 12, 9), date(2026, 12, 23))
    assert {first.strftime("%A"), last.strftime("%A")} == {"Wednesday"}


def test_phones_as_the_country_writes_and_dials_them(practice: Practice) -> None:
    # ITU-T E.164 and the North American national form, by the phonenumbers library.
    assert practice.national("+13035550142") == "(303) 555-0142"
    assert practice.dialled("+1 303 555 0142") == "+13035550142"
    assert practice.national("+442079460958").startswith("+44 ")


def csv(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    file = folder / "day.csv"
    file.write_bytes(text.encode(encoding))
    return file


def test_headings_are_forgiven_and_rows_keep_their_order(tmp_path: Path) -> None:
    text = "\ufeffPatient Name;Preferred_Language;DOB\nAna;es;1980-02-03\n\n;;\nBo;en;\n"
    rows = read_list(csv(tmp_path, text))
    assert [(row.line, row.name) for row in rows] == [(2, "Ana"), (5, "Bo")]
    assert rows[0].visit is not None
    assert rows[0].visit.person.born == date(1980, 2, 3)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("Ana,es,1980-13-03,,,", "born"),
        ("Ana,es,,perhaps,,", "neither yes nor no"),
        ("Ana,es,,,elbow,", "'dark area' says 'elbow', which is not known; we know 'upper lip', "),
        ("Ana,es,,,cheek,", "'done' is empty; we know smoothed edge, "),
        ("Ana,es,,,cheek,polished it", "'done' says 'polished it', which is not known"),
        ("A\x07na,es,,,,", "cannot be printed"),
        (",es,1980-01-01,,,", "name"),
    ],
)
def test_a_bad_row_is_returned_with_its_reason_and_never_lost(
    tmp_path: Path, row: str, says: str
) -> None:
    text = f"name,language,born,large print,dark area,done\nBo,en,,,,\n{row}\nCy,en,,,,\n"
    rows = read_list(csv(tmp_path, text))
    assert len(rows) == 3
    assert rows[0].problem is None
    assert rows[2].problem is None
    assert rows[1].problem is not None
    assert says in str(rows[1].problem)


@pytest.mark.parametrize("text", ["", "language\nes\n", 'name,"language\nAna,es\n'])
def test_a_list_that_cannot_be_understood_is_refused_whole(tmp_path: Path, text: str) -> None:
    with pytest.raises(FactsProblem):
        read_list(csv(tmp_path, text))
    with pytest.raises(FactsProblem, match="cannot be read as a list"):
        read_list(csv(tmp_path, "name,language\nJosé,es\n", "latin-1"))


# An unknown language loads the names in all languages once, which takes longer than a deadline.
@settings(max_examples=300, deadline=None)
@given(st.text(max_size=200))
def test_no_list_however_odd_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, text: str
) -> None:
    file = tmp_path_factory.mktemp("list") / "day.csv"
    file.write_text("name,language,born,dark area,done\n" + text, "utf-8", errors="ignore")
    try:
        rows = read_list(file)
    except Problem:
        return
    assert all((row.visit is None) == (row.problem is not None) for row in rows)


@settings(max_examples=200)
@given(st.text(max_size=120), st.integers(0, 40))
def test_no_settings_file_however_odd_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, text: str, line: int
) -> None:
    lines = DEMO.splitlines()
    lines[min(line, len(lines) - 1)] = text
    file = tmp_path_factory.mktemp("practice") / "practice.toml"
    file.write_text("\n".join(lines), "utf-8", errors="ignore")
    try:
        read_practice(file)
    except Problem as problem:
        assert problem.found
        assert problem.why
        assert problem.do


def test_a_visit_is_read_and_its_mistakes_have_lines(tmp_path: Path) -> None:
    good = (
        'day = 2026-11-25\nrecheck = 2026-12-09T10:30:00\n[person]\nname = "Ana"\n'
        '[finding]\nplace = "cheek"\nside = "left"\ndone = ["left alone"]\n'
    )
    file = tmp_path / "visit.toml"
    file.write_text(good, "utf-8")
    visit = read_visit(file)
    assert visit.finding is not None
    assert visit.finding.place == "cheek"
    file.write_text(good.replace("left alone", "blessed it"), "utf-8")
    with pytest.raises(FactsProblem, match=r"line 8: 'finding.done', number 1, says 'blessed it'"):
        read_visit(file)
    file.write_text("day = yesterday", "utf-8")
    with pytest.raises(FactsProblem, match="cannot be read"):
        read_visit(file)
