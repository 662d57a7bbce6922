"""Faults that a fuzz once found in settings, visits, bundles and days, in their smallest form."""

import json
from pathlib import Path

import pypdfium2
import pytest

from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.desk.days import day
from plainleaf.desk.reminders import remind
from plainleaf.errors import FactsProblem, SettingsProblem
from plainleaf.office.fhir import read_bundle
from plainleaf.office.practice import Practice, read_practice
from plainleaf.office.visits import Visit

DEMO = (paths.templates() / "demo" / "practice.toml").read_text("utf-8")


def settings(folder: Path, old: str, new: str, before: str = "") -> Practice:
    """The demo's practice with one line changed."""
    assert old in DEMO
    file = folder / "practice.toml"
    file.write_text(before + DEMO.replace(old, new, 1), "utf-8")
    return read_practice(file)


@pytest.mark.parametrize("value", ["9" * 5_000, "[" * 100_000])
def test_a_value_that_python_cannot_hold_is_a_known_problem(tmp_path: Path, value: str) -> None:
    with pytest.raises(SettingsProblem, match="is not written correctly"):
        settings(tmp_path, "amount = 35", f"amount = {value}")


@pytest.mark.parametrize("name", ["America", "x" * 300, "../Denver", ""])
def test_what_is_no_zone_is_told_with_its_line(tmp_path: Path, name: str) -> None:
    with pytest.raises(SettingsProblem, match=r"line 37: 'reminders': '.*' is no time zone"):
        settings(tmp_path, '"America/Denver"', f'"{name}"')


def test_a_byte_order_mark_is_no_mistake(tmp_path: Path) -> None:
    assert settings(tmp_path, "amount = 35", "amount = 35", "\ufeff").fee.amount == 35


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("minutes = 5", "minutes = true"),
        ("amount = 35", "amount = true"),
        ("retention_years = 7", "retention_years = true"),
        ('emergency = "911"', 'emergency = "\u0669\u0661\u0661"'),
    ],
)
def test_true_is_no_number_and_a_short_number_has_plain_digits(
    tmp_path: Path, old: str, new: str
) -> None:
    with pytest.raises(SettingsProblem, match=old.split(" = ")[0]):
        settings(tmp_path, old, new)


def test_the_last_day_of_the_calendar_is_a_known_problem(desk: Desk) -> None:
    facts = {"person": {"name": "Ana"}, "day": "9999-12-31", "recheck": "9999-12-31T10:30"}
    finding = {"place": "cheek", "done": ["left alone"], "light": "dark"}
    with pytest.raises(FactsProblem, match="the end of the calendar"):
        desk.page("dark-area", Visit.model_validate({**facts, "finding": finding}))


@pytest.mark.parametrize("day", ["0001-01-01", "0206-12-09", "9998-12-31", "9999-12-31"])
def test_a_mistyped_year_stops_one_reminder_and_no_other(
    tmp_path: Path, desk: Desk, day: str
) -> None:
    rows = "".join(
        f"{name},email,a@example.org,{when}T10:30\n"
        for name, when in (("Ana", day), ("Bo", "2026-12-09"))
    )
    (tmp_path / "day.csv").write_text(f"name,remind by,email,next visit\n{rows}", "utf-8")
    done = remind(desk, tmp_path / "day.csv", tmp_path / "out")
    (left,) = done.left_out
    assert (left.name, done.ways) == ("Ana", {"email": 1})
    told = f"visit was on {day}." if day < "2026" else f"in the year {day[:4]}"
    assert told in left.problem.found


def bundle(folder: Path, *patients: dict[str, object]) -> Path:
    entries = [{"resource": {"resourceType": "Patient", **one}} for one in patients]
    file = folder / "day.json"
    file.write_text(json.dumps({"resourceType": "Bundle", "entry": entries}), "utf-8")
    return file


def test_half_a_character_in_a_language_can_be_told(tmp_path: Path, desk: Desk) -> None:
    odd = {"name": [{"text": "Ana"}], "communication": [{"language": {"text": "\ud800"}}]}
    file = bundle(tmp_path, odd, {"name": [{"text": "Bo"}]})
    (left,) = day(desk, file, ["before-visit"], tmp_path / "d.txt").left_out
    assert rb"'\ud800' is no language that we know" in str(left.problem).encode()


@pytest.mark.parametrize(
    ("row", "left", "shown"),
    [
        ("\U0001f600 Ana,1980-13-01", 1, r"\U0001f600 Ana"),
        ("\U0001f600 Ana,1980-12-01", 0, r"\U0001f600 Ana"),
        ("Bell\u0007,1980-12-01", 1, r"Bell\x07"),
    ],
)
def test_a_name_that_cannot_be_set_does_not_stop_the_desk_s_list(
    tmp_path: Path, desk: Desk, row: str, left: int, shown: str
) -> None:
    (tmp_path / "day.csv").write_text(f"name,born\n{row}\nJos\u00e9,\n", "utf-8")
    done = day(desk, tmp_path / "day.csv", ["introduction"], tmp_path / "d.pdf")
    assert (len(done.left_out), len(done.printed)) == (left, 2 - left)
    document = pypdfium2.PdfDocument(str(done.files[0]))
    text = " ".join(document[0].get_textpage().get_text_bounded().split())
    assert shown in text
    assert "Jos\u00e9" in text


def test_a_bundle_without_entries_is_not_an_empty_day(tmp_path: Path, practice: Practice) -> None:
    (tmp_path / "day.json").write_text('{"resourceType": "Bundle", "entri": [{}]}', "utf-8")
    with pytest.raises(FactsProblem, match="no list of entries under 'entry'"):
        read_bundle(tmp_path / "day.json", practice.zone)


@pytest.mark.parametrize("day", ["tuesday", "friday"])
def test_the_hours_of_each_day_are_checked(tmp_path: Path, day: str) -> None:
    line = next(one for one in DEMO.splitlines() if one.startswith(f"{day} = "))
    with pytest.raises(SettingsProblem, match="'8 to 5' is not of the form"):
        settings(tmp_path, line, f'{day} = "8 to 5"')


def test_a_card_that_cannot_be_set_stops_no_other_reminder(tmp_path: Path, desk: Desk) -> None:
    booked = "2026-12-09T10:30"
    (tmp_path / "day.csv").write_text(
        "name,remind by,email,next visit\n"
        f"\U0001f600 Ana,letter + email,a@example.org,{booked}\n"
        f"Bo,letter,,{booked}\n"
        f"{'Anneliese ' * 40},letter,,{booked}\n",
        "utf-8",
    )
    done = remind(desk, tmp_path / "day.csv", tmp_path / "out")
    assert [one.line for one in done.left_out] == [4]
    assert [(one.line, one.paper) for one in done.gaps] == [(2, "letter")]
    assert done.ways == {"letter": 1, "email": 1}
    assert [file.name for file in done.files] == [
        *("appointment-0002.ics", "cards.pdf", "mail-0002.eml")
    ]


@pytest.mark.parametrize("name", ["x" * 60, "W" * 26, "\u0645" * 60])
def test_a_long_word_stays_on_its_own_card(tmp_path: Path, desk: Desk, name: str) -> None:
    (tmp_path / "day.csv").write_text(f"name,next visit\n{name},2026-12-09T10:30\n", "utf-8")
    done = day(desk, tmp_path / "day.csv", ["reminder-card"], tmp_path / "d.pdf")
    sheet = pypdfium2.PdfDocument(str(done.files[0]))[0].render().to_pil().convert("L")
    width, height = sheet.size
    # The first card is the left upper quarter; the mark for cutting is left of the rest.
    beyond = sheet.crop((width // 2 + 25, 20, width - 25, height // 2 - 25))
    assert beyond.getextrema() == (255, 255)
