"""A language that nobody told, or one with several forms, is never chosen in silence."""

import logging
from pathlib import Path

import pytest

from conftest import WEDNESDAY
from plainleaf import paths
from plainleaf.desk import Desk, read_practice
from plainleaf.desk.days import day
from plainleaf.desk.reminders import remind
from plainleaf.errors import LanguageProblem, SettingsProblem
from plainleaf.office.practice import LanguageHelp, Practice
from plainleaf.office.visits import Visit
from test_cli import office, run

__all__ = ["office"]

SETTINGS = (paths.templates() / "demo" / "practice.toml").read_text("utf-8")
OURS = 'languages = ["en", "es", "ar"]'


def practice_with(folder: Path, languages: str, country: str = "US") -> Practice:
    assert OURS in SETTINGS
    file = folder / "practice.toml"
    text = SETTINGS.replace(OURS, f"languages = [{languages}]")
    file.write_text(text.replace('country = "US"', f'country = "{country}"'), "utf-8")
    return read_practice(file)


@pytest.mark.parametrize(
    ("written", "printed"),
    [("en-US", "en"), ("es-MX", "es"), ("pt", "pt-BR"), ("Spanish", "es"), ("Kreyòl", "ht")],
)
def test_a_practice_may_name_its_languages_like_anybody(
    tmp_path: Path, written: str, printed: str
) -> None:
    practice = practice_with(tmp_path, f'"{written}"')
    assert Desk(practice, WEDNESDAY).page("before-visit").language == printed


def test_what_is_no_language_is_refused_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(SettingsProblem, match=r"line \d+: 'languages.0': 'Spnish' is no language"):
        practice_with(tmp_path, '"Spnish"')
    # A tag may be one of the office's own languages: the desk knows.
    with pytest.raises(LanguageProblem, match="no translation into 'qxx'"):
        Desk(practice_with(tmp_path, '"qxx"'), WEDNESDAY).page("before-visit")


def test_language_help_takes_the_same_names(desk: Desk) -> None:
    help_in = LanguageHelp(confirmed=WEDNESDAY, languages=("Spanish", "zh-CN", "Portuguese"))
    practice = desk.practice.model_copy(update={"language_help": help_in})
    assert help_in.languages == ("es", "zh-CN", "pt")
    page = Desk(practice, WEDNESDAY).page("language-help")
    shown = str(page.blocks)
    assert all(f"'{tag}'" in shown for tag in ("es", "zh-Hans", "pt-BR"))


def somebody(language: str | None = None) -> Visit:
    person = {"name": "Bo Wu", "language": language}
    return Visit.model_validate({"day": WEDNESDAY, "person": person})


@pytest.mark.parametrize(
    ("language", "country", "told"),
    [
        (None, "US", "No language was told, so it is in 'en'."),
        ("pt", "PT", "'pt' is printed in Brazilian Portuguese ('pt-BR'). We have no other form"),
        ("Portuguese", "PT", "'pt' is printed in Brazilian Portuguese ('pt-BR')."),
        ("Chinese", "TW", "'zh' is printed in Simplified Chinese ('zh-Hans'). Many here read Trad"),
        ("Chinese", "US", "'zh' is printed in Simplified Chinese ('zh-Hans'). Many here read Trad"),
        ("Chinese", "CN", ""),
        ("zh-CN", "TW", ""),
        ("Portuguese", "BR", ""),
        ("pt-BR", "PT", ""),
        ("es", "US", ""),
        ("Spanish (Mexico)", "US", ""),
    ],
)
def test_what_was_chosen_is_told(
    language: str | None,
    country: str,
    told: str,
    desk: Desk,
    caplog: pytest.LogCaptureFixture,
) -> None:
    practice = desk.practice.model_copy(update={"country": country})
    at_work = Desk(practice, WEDNESDAY)
    remarks = at_work.remarks("before-visit", somebody(language))
    assert [one[: len(told)] for one in remarks] == ([told] if told else [])
    with caplog.at_level(logging.DEBUG, "plainleaf"):
        at_work.page("before-visit", somebody(language))
    assert all(one in caplog.text for one in remarks)


def test_nobody_is_missed_when_the_practice_asks_for_a_language(desk: Desk) -> None:
    assert desk.remarks("before-visit", None) == ()
    assert desk.remarks("before-visit", somebody(), "es") == ()
    # The team's own papers are in the practice's first language, whoever the patient is.
    assert desk.remarks("chart-note", somebody()) == ()
    assert len(desk.remarks("consent", somebody("es"), "", "zh")) == 1


def test_make_says_it_on_the_screen(office: Path) -> None:
    (office / "visit.toml").write_text('day = 2026-11-25\n[person]\nname = "Bo Wu"\n', "utf-8")
    words = ("make", "before-visit", "--visit", "visit.toml", "--out", "a.txt")
    done = run(*words, folder=office)
    assert done.returncode == 0
    assert "No language was told, so it is in 'en'." in done.stderr
    done = run(*words, "--language", "Chinese", folder=office)
    assert "'Chinese' is printed in Simplified Chinese ('zh-Hans')." in done.stderr
    assert "No language was told" not in done.stderr


LIST = """name,language,next visit,remind by
Ana,Spanish,2026-12-09 10:30,letter
Bo,,2026-12-09 10:30,letter
Chi,Chinese,2026-12-09 10:30,letter
Dao,Mandarin,2026-12-09 10:30,letter
Eva,zh,2026-12-09 10:30,letter
"""


def test_lists_name_everybody_for_whom_something_was_chosen(tmp_path: Path, desk: Desk) -> None:
    file = tmp_path / "list.csv"
    file.write_text(LIST, "utf-8")
    told = day(desk, file, ["before-visit", "reminder-card"], tmp_path / "d.txt").remarks
    assert told == remind(desk, file, tmp_path / "r").remarks
    assert told[0] == "No language was told, so it is in 'en'. (Bo)"
    assert told[1].startswith("'zh' is printed in Simplified Chinese")
    assert told[1].endswith("(Chi, Eva)")
    assert len(told) == 2
