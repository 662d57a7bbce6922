"""How long the text of a reminder is, on every day of the year and with a short name."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from conftest import SIXTEEN, WEDNESDAY
from plainleaf.desk import Desk
from plainleaf.errors import Problem
from plainleaf.language.texting import day_forms
from plainleaf.office.practice import MOST_CALLED, Practice, Reminders
from plainleaf.papers.privacy import length
from plainleaf.writers import message
from test_reminders import BOOKED, booked, set_up

MOST_PARTS = dict.fromkeys(SIXTEEN, 1) | {
    "ru": 2, "vi": 2, "ko": 2, "ja": 2, "ar": 2, "hi": 2,
}  # fmt: skip
"""The most messages as which a text of our own words is sent, on any day of the year."""

DAYS = [date(2027, month, day) for month in range(1, 13) for day in range(20, 27)]
"""Every weekday of every month, with two digits."""


def text_on(practice: Practice, tag: str, day: date, before: int = 7) -> message.Report:
    desk = Desk(practice, day - timedelta(before))
    page = desk.page("reminder-text", booked(next_visit=f"{day}T10:30"), tag)
    assert length(page) <= 160
    return message.report(page)


@pytest.mark.parametrize("tag", SIXTEEN)
def test_a_text_costs_the_same_on_every_day_of_the_year(practice: Practice, tag: str) -> None:
    parts = {day: text_on(practice, tag, day).parts for day in DAYS}
    assert max(parts.values()) == MOST_PARTS[tag]


@pytest.mark.parametrize("tag", SIXTEEN)
def test_a_short_name_makes_a_text_sure_in_every_language(practice: Practice, tag: str) -> None:
    long = "Cherry Creek Family Dentistry of Denver"
    short = set_up(practice.model_copy(update={"name": long}), called="C" * MOST_CALLED)
    for day in DAYS[::8]:
        assert text_on(short, tag, day, before=300).text.count("C" * MOST_CALLED) == 1


def test_an_accent_in_the_whole_name_costs_nothing_with_a_short_one(practice: Practice) -> None:
    named = practice.model_copy(update={"name": "Clínica Junípero"})
    assert text_on(named, "es", DAYS[40]).parts == 3
    assert text_on(set_up(named, called="Clinica J"), "es", DAYS[40]).parts == 1


@pytest.mark.parametrize("name", ["=Dental", "+Dental", "@Home", "-", "D" * (MOST_CALLED + 1)])
def test_a_short_name_is_checked(name: str) -> None:
    settings = {"email": "a@example.org", "time_zone": "America/Denver", "called": name}
    with pytest.raises(ValueError, match="called"):
        Reminders.model_validate(settings)


def test_a_short_name_is_looked_at_for_health_words(practice: Practice) -> None:
    desk = Desk(set_up(practice, called="Biopsy Lane"), WEDNESDAY)
    with pytest.raises(Problem, match="health word 'biops'"):
        desk.page("reminder-text", booked(next_visit=BOOKED))


def test_a_day_has_its_weekday_where_that_costs_no_part(practice: Practice) -> None:
    def said(tag: str, day: date, before: int = 7) -> str:
        return text_on(practice, tag, day, before).text

    wednesday, saturday = date(2026, 12, 9), date(2026, 12, 12)
    assert "Wednesday, December 9, 2026, " in said("en", wednesday)
    assert "miércoles, 9 de diciembre (" in said("es", wednesday)
    assert "el 12 de diciembre de 2026 (" in said("es", saturday), "sábado would cost two more"
    assert "de 2026 (" in said("es", wednesday, before=300), "so far ahead the year is needed"
    assert "mercredi 9 décembre 2026" in said("fr", wednesday)
    assert " aout" in said("fr", date(2027, 8, 4))
    assert " de mar. de 2027" in said("pt-BR", date(2027, 3, 3))
    assert "20.10.2027" in said("pl", date(2027, 10, 20)), "ź would cost another part"
    assert " 20 sierpnia 2027" in said("pl", date(2027, 8, 20)), "so here the name stands"


def test_the_month_has_its_name_where_its_number_could_be_a_day(desk: Desk) -> None:
    for tag in SIXTEEN:
        if tag in ("zh-Hans", "ja", "ko", "vi"):
            continue  # Their months are numbers by name.
        forms = day_forms(desk.words(tag).language, DAYS[40])
        if tag == "pl":
            assert forms.pop("brief") == "25.06.2027"
        for form in forms.values():
            assert any(char.isalpha() for char in form.replace(" de ", "")), (tag, form)


@pytest.mark.parametrize("tag", ["zh-Hans", "ja"])
def test_no_space_stands_after_a_full_stop_where_none_is_written(
    practice: Practice, tag: str
) -> None:
    text = text_on(practice, tag, DAYS[10]).text
    assert text.count("。") == 3
    assert "。 " not in text


def test_the_first_page_that_fits_and_costs_the_fewest_parts_is_taken(desk: Desk) -> None:
    pages = [
        replace(desk.page("reminder-text", booked(next_visit=BOOKED), tag))
        for tag in ("ar", "en", "fr")
    ]
    assert message.fewest_parts(pages, lambda _: True) is pages[1]
    assert message.fewest_parts(pages, lambda page: page is pages[0]) is pages[0]
    assert message.fewest_parts(pages, lambda _: False) is pages[2]
