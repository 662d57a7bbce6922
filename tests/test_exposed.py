"""Health words on what anybody may see: the practice's name, and where its addresses lead."""

import shutil
from pathlib import Path
from typing import Any
from zoneinfo import available_timezones

import pytest
from babel import Locale

from conftest import SIXTEEN, WEDNESDAY
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.desk.days import day
from plainleaf.errors import PaperProblem
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.backs import with_back
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.exposed import Watch, exposed_words, listed

BETRAYING = (
    "Juniper Biopsy Center",
    "Screening Clinic",
    "Oral Medicine",
    "Oralcancer Care",
    "Precancer Clinic",
    "Leukoplakia Center",
    "Mucosa Clinic",
    "HPV Dental",
    "Head and Neck Dental",
    "Head & Neck Partners",
    "Mouth Lesions Group",
)
HIDDEN = (
    "https://oralcancerscreening.example.org",
    "https://www.head-and-neck.example.org",
    "https://www.example.org/oral_medicine",
    "oral-cancer@example.org",
    "desk@mundkrebs.example.org",
)
ORDINARY = (
    "Juniper Lane Dental",
    "Cherry Creek Family Dentistry of Denver",
    "After Hours Dental",
    "Smoky Hill Road 14",
    "Smokey Point Dental",
    "Dr. Sorensen",
    "Soren Lumpkin",
    "Tesfaye & Tessa Dental",
    "Mustache Lane Dental",
    "Blessing Dental",
    "Malad City Dental",
    "Praxis Dr. Krebs",
    "Krebsbach Dental",
    "Rakowski",
    "Guzik Dental",
    "Chorzów",
    "Fleckenstein",
    "Wundt",
    "Lichtenberg",
    "Rauch Dental",
    "Bolaños",
    "Fumagalli",
    "Malatesta",
    "Macchiato Street",
    "Tabacchi",
    "Bossert",
    "Malinowski",
    "Раков",
    "Шишкин",
    "암사 치과",
    "Smile Dental",
    "Oral Roberts Boulevard",
    "Hope Dental",
    "Headley & Necker",
)
ORDINARY_ADDRESSES = (
    "https://www.example.org/juniper",
    "https://smokyhilldental.example.org",
    "https://sorensen-dental.example.org",
    "https://www.cherrycreekfamilydentistry.example.org",
    "https://mustachedental.example.org",
    "desk@example.org",
    "hello@praxis-krebs.example.org",
)


def watch(tag: str) -> Watch:
    return Watch(paths.locales(), tag, SIXTEEN)


def stopped(look: Any, text: str) -> bool:
    try:
        look(text, "It")
    except PaperProblem:
        return True
    return False


@pytest.mark.parametrize("tag", SIXTEEN)
def test_a_name_that_betrays_stops_in_every_language(tag: str) -> None:
    passed = [name for name in BETRAYING if not stopped(watch(tag).check_name, name)]
    passed += [name for name in HIDDEN if not stopped(watch(tag).check_address, name)]
    assert passed == []


@pytest.mark.parametrize("tag", SIXTEEN)
def test_ordinary_names_and_addresses_pass_in_every_language(tag: str) -> None:
    hit = [name for name in ORDINARY if stopped(watch(tag).check_name, name)]
    hit += [name for name in ORDINARY_ADDRESSES if stopped(watch(tag).check_address, name)]
    assert hit == []


@pytest.mark.parametrize("tag", SIXTEEN)
def test_cities_and_countries_pass_as_parts_of_a_name(tag: str) -> None:
    cities = {zone.rsplit("/", 1)[-1].replace("_", " ") for zone in available_timezones()}
    named = Locale.parse(tag, sep="-").territories.items()
    own = [name for code, name in named if code not in ("XA", "XB")]  # Not places, but tests.
    watch(tag).check_name("\n".join(sorted(map(str, {*cities, *own}))), "A place")


def named(practice: Practice, name: str = "", website: str = "", **more: Any) -> Practice:
    links = practice.links.model_copy(update={"website": website or practice.links.website})
    changes = {"name": name or practice.name, "links": links, **more}
    return practice.model_copy(update=changes)


@pytest.mark.parametrize("tag", SIXTEEN)
@pytest.mark.parametrize(
    "changes",
    [
        {"name": "Juniper Biopsy Center"},
        {"website": "https://oralcancerscreening.example.org"},
        {"name": "Mundkrebspraxis", "languages": ("de", "en")},
    ],
)
def test_no_card_of_such_a_practice_leaves(
    practice: Practice, visits: dict[str, Visit], tag: str, changes: dict[str, Any]
) -> None:
    desk = Desk(named(practice, **changes), WEDNESDAY)
    with pytest.raises(PaperProblem, match="health word"):
        desk.page("reminder-card", visits["en"], tag)


def test_a_language_without_a_list_stops_no_card_in_another(
    practice: Practice, visits: dict[str, Visit]
) -> None:
    desk = Desk(practice.model_copy(update={"languages": ("en", "so", "de")}), WEDNESDAY)
    assert desk.page("reminder-card", visits["en"], "en")
    other = Desk(named(desk.practice, "Mundkrebspraxis", languages=("en", "so", "de")), WEDNESDAY)
    with pytest.raises(PaperProblem, match="health word"):
        other.page("reminder-card", visits["en"], "en")


@pytest.mark.parametrize("paper", [one.id for one in PAPERS.values() if one.exposed])
def test_our_own_words_pass_the_lists_of_all_sixteen(
    practice: Practice, visits: dict[str, Visit], paper: str
) -> None:
    desk = Desk(practice.model_copy(update={"languages": SIXTEEN}), WEDNESDAY)
    for tag in SIXTEEN:
        assert desk.page(paper, visits["en"], tag).language == tag


def test_marks_and_strokes_do_not_hide_an_arabic_word() -> None:
    plain = exposed_words(paths.locales(), "ar")[0]
    assert stopped(watch("ar").check_words, "مركز سرطان")
    assert plain == "سرطان"
    for hidden in ("سَرَطان", "ســرطــان", "مركز السَّرَطانِ"):
        assert stopped(watch("ar").check_words, hidden), hidden


def test_words_of_other_languages_do_not_stop_everyday_ones() -> None:
    assert "afte" in exposed_words(paths.locales(), "it")
    for tag in ("en", "it"):
        assert not stopped(watch(tag).check_name, "After Hours Dental")
        assert stopped(watch(tag).check_name, "Studio Afte")


def test_every_list_says_its_own_form() -> None:
    for tag in SIXTEEN:
        for word in listed(paths.locales(), tag):
            assert word.text and "*" not in word.text, (tag, word)


def test_the_back_of_a_card_in_an_office_s_own_language(practice: Practice, tmp_path: Path) -> None:
    shutil.copytree(paths.locales() / "es", tmp_path / "locales" / "so")
    assert practice.reminders is not None
    reminders = practice.reminders.model_copy(update={"backs": "long edge"})
    desk = Desk(practice.model_copy(update={"reminders": reminders}), WEDNESDAY, tmp_path)
    person = {"name": "Ana Roe", "language": "so", "address": ["1 Oak Street", "Millbrook Falls"]}
    visit = Visit.model_validate({"person": person, "next_visit": "2026-12-09T10:30"})
    page = desk.page("reminder-card", visit)
    assert with_back(page, desk.practice, visit, desk.locales).back is not None
    (people := tmp_path / "list.csv").write_text(
        "name,language,next visit,address\nAna Roe,so,2026-12-09T10:30,1 Oak Street|Millbrook\n",
        "utf-8",
    )
    assert not day(desk, people, ["reminder-card"], tmp_path / "day.pdf").left_out
