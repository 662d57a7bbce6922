"""A finding in words: every closed set in every language, and all of it on the referral letter."""

from datetime import date
from typing import Any, get_args

import pytest

from conftest import LANGUAGES, WEDNESDAY
from plainleaf.desk import Desk
from plainleaf.language import findings
from plainleaf.language.catalogs import catalog
from plainleaf.language.locales import language
from plainleaf.office import visits
from plainleaf.office.people import read_list
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Fields, Page, plain, walk, words_of

SETS = (
    (findings.colour, visits.Colour),
    (findings.surface, visits.Surface),
    (findings.edge, visits.Edge),
    (findings.feel, visits.Feel),
    (findings.symptom, visits.Symptom),
    (findings.light, visits.Light),
    (findings.ordinary, visits.OrdinaryLook),
    (findings.pressure, visits.Pressure),
    (findings.cause, visits.Cause),
    (findings.photograph, visits.Photograph),
    (findings.decision, visits.Decision),
    (findings.plan, visits.Plan),
    (findings.urgency, visits.Urgency),
    (findings.outcome, visits.RecheckFound),
    (findings.relationship, visits.Relationship),
    (findings.place, visits.Place),
    (findings.side, visits.Side),
)

# Invented, with every slot of a referral letter filled that a visit can hold.
WHOLE = Visit.model_validate(
    {
        "person": {
            "name": "Maren Whitlock",
            "born": "1961-04-17",
            "record": "J-1001",
            "language": "es",
            "large_print": True,
            "interpreter": {"language": "es", "name_or_id": "I-20"},
            "guardian": {"name": "Tova Whitlock", "relationship": "power of attorney"},
            "address": ["12 Larch Row", "Example City, EX 00000"],
            "phone": "+1 303 555 0151",
            "email": "maren@example.org",
        },
        "day": "2026-11-11",
        "decision": "agreed",
        "normal": ["cheek", "floor of mouth"],
        "finding": {
            "place": "side of tongue",
            "side": "left",
            "done": ["smoothed edge"],
            "nearest_tooth": 36,
            "size": {"length": 7.5, "width": 4},
            "colour": "red and white",
            "surface": "ulcer",
            "edge": "raised",
            "feel": "hard and fixed",
            "since": {"weeks": 3},
            "symptoms": ["numbness", "neck lump"],
            "ordinary_look": "seen",
            "light": "dark",
            "pressure": "does not",
            "likely_cause": "none found",
            "photographs": ["ordinary", "filtered"],
            "plan": "refer now",
            "urgency": "urgent",
        },
        "recheck": "2026-11-25T10:30",
        "recheck_outcome": {"found": "still there", "day": "2026-11-25"},
        "next_visit": "2026-12-16T09:00",
    }
)


def values(page: Page) -> dict[str, str]:
    return {
        plain(field.label): plain(field.value)
        for block in walk(page.blocks)
        if isinstance(block, Fields)
        for field in block.fields
    }


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize(("wording", "closed"), SETS)
def test_every_value_of_a_closed_set_has_a_word_of_its_own(
    wording: Any, closed: Any, tag: str
) -> None:
    words = catalog(language(tag))
    said = [wording(words, value) for value in get_args(closed)]
    assert all(said)
    assert len(set(said)) == len(said)


def test_the_referral_letter_carries_all_that_was_recorded(desk: Desk) -> None:
    # Slots of a referral letter: Hodgson audit, Br Dent J, and referral form fields (CL-07).
    page = desk.page("referral", WHOLE)
    said = values(page)
    assert said["Name"] == "Maren Whitlock"
    assert said["Phone, e-mail"] == "+1 303 555 0151, maren@example.org"
    assert said["Language, interpreter, large print"] == "Spanish, interpreter needed, large print"
    assert said["Place"] == "side of the tongue, left"
    # ISO 3950: 36 is the lower left first molar, 19 in Universal numbers (from memory).
    assert said["Nearest tooth (FDI, Universal)"] == "FDI 36 (Universal 19)"
    assert said["Size in mm"] == "7.5 by 4"
    assert said["Color, surface, edge"] == "red and white, ulcer, raised edge"
    assert said["Feel"] == "hard, and fixed to what lies below"
    assert said["How long, who noticed it first, any change"] == "3 weeks"
    assert said["Symptoms"] == "numbness, lump in the neck"
    assert said["On gentle pressure"] == "the color does not come back"
    assert said["Can decide today, or who decides"] == "Tova Whitlock, power of attorney"
    assert said["Address"] == "12 Larch Row, Example City, EX 00000"
    assert said["Date"] == "November 25, 2026"
    assert said["Specialist, phone"] == ""
    assert said["Looked at again on"] == "Wednesday, November 25, 2026"
    assert said["What the re-check showed"] == "still there"
    # A re-check that is over is no safety net.
    assert said["We look after this again on"] == "Wednesday, December 16, 2026"
    assert "Tobacco, alcohol, betel, sun, HPV" in said
    assert "How soon" not in said
    words = words_of(page.blocks)
    assert "We smoothed a sharp edge of a tooth or filling." in words
    assert "We cannot explain an area in the mouth" in words
    assert "Urgent." in words
    assert "cancer" in words


def test_the_letter_to_a_colleague_is_in_the_practice_s_language_and_the_copy_in_the_patient_s(
    desk: Desk,
) -> None:
    assert desk.page("referral", WHOLE).language == "en"
    assert desk.page("chart-note", WHOLE).language == "en"
    assert desk.page("referral", WHOLE, "ar").language == "ar"
    assert desk.page("referral-copy", WHOLE).language == "es"


def test_what_was_not_recorded_is_a_line_to_write_on(desk: Desk) -> None:
    bare = Visit.model_validate(
        {"person": {"name": "Theo"}, "finding": {"place": "cheek", "done": ["left alone"]}}
    )
    said = values(desk.page("referral", bare))
    empty = {name for name, value in said.items() if not value}
    assert {"Symptoms", "Feel", "Size in mm", "Phone, e-mail"} <= empty
    assert said["Place"] == "cheek lining"
    asked = Visit.model_validate(
        {
            "person": {"name": "Theo"},
            "finding": {"place": "cheek", "done": ["left alone"], "symptoms": []},
        }
    )
    assert values(desk.page("referral", asked))["Symptoms"] == "none"


@pytest.mark.parametrize("tag", LANGUAGES)
def test_refusing_a_referral_names_what_can_happen_and_dates_of_new_offers(
    tag: str, desk: Desk
) -> None:
    page = desk.page("decline-referral", WHOLE, tag)
    offers = next(
        block for block in walk(page.blocks) if getattr(block, "element", "") == "repeat-offers"
    )
    rows = [one for block in walk((offers,)) if isinstance(block, Fields) for one in block.fields]
    assert len(rows) == 3
    assert "2026" in plain(rows[0].value)


def test_a_list_may_tell_all_of_a_finding(practice: Any, tmp_path: Any) -> None:
    file = tmp_path / "day.csv"
    file.write_text(
        "name;place;colour;surface;edge;feel;size;how long;symptoms;photos;priority;done\n"
        "Theo;cheek;Red and white;ulcer;raised;hard;7 x 4;3 Weeks;pain + neck lump;"
        "ordinary + filtered;Urgent;left alone\n"
        "Maren;cheek;;;;;;;none;;;left alone\n"
        "Hanne;cheek;;;;;;a while;;;;left alone\n",
        encoding="utf-8",
    )
    first, second, third = read_list(file)
    assert first.visit is not None
    assert first.visit.finding is not None
    found = first.visit.finding
    assert (found.colour, found.surface, found.feel) == ("red and white", "ulcer", "hard")
    assert found.since is not None
    assert found.since.in_days == 21
    assert found.symptoms == ("pain", "neck lump")
    assert found.photographs == ("ordinary", "filtered")
    assert found.urgency == "urgent"
    assert Desk(practice, WEDNESDAY).page("referral", first.visit).day == str(date(2026, 11, 25))
    assert second.visit is not None
    assert second.visit.finding is not None
    assert second.visit.finding.symptoms == ()
    assert third.problem is not None
    assert "10 days or 3 weeks" in third.problem.do


def told(recorded: dict[str, Any], **finding: Any) -> Visit:
    facts = {**WHOLE.model_dump(), **recorded}
    facts["finding"] = {**facts["finding"], **finding}
    return Visit.model_validate(facts)


def test_a_referral_without_urgency_has_a_line_for_it_and_never_a_past_day(desk: Desk) -> None:
    page = desk.page("referral", told({"next_visit": None}, urgency=None))
    said = values(page)
    assert said["How soon"] == ""
    assert said["We look after this again on"] == ""
    assert "Urgent." not in words_of(page.blocks)


@pytest.mark.parametrize("name", ["referral", "referral-copy", "decline-referral"])
def test_no_paper_of_a_referral_says_that_we_cannot_explain_what_was_explained(
    name: str, desk: Desk
) -> None:
    for cause in (None, "none found", "denture"):
        words = words_of(desk.page(name, told({}, likely_cause=cause), "en").blocks)
        assert ("cannot explain" in words) == (cause != "denture")
        assert ("found no common cause" in words) == (
            cause == "none found" and name == "decline-referral"
        )


def test_the_note_for_the_record_names_one_tooth_in_two_ways(desk: Desk) -> None:
    said = values(desk.page("chart-note", WHOLE))
    assert said["Nearest tooth (FDI, Universal)"] == "FDI 36 (Universal 19)"


def test_doing_nothing_is_a_choice_that_can_be_taken_back(desk: Desk) -> None:
    words = words_of(desk.page("decline-referral", WHOLE, "en").blocks)
    assert "You can also choose to do nothing for now. Tell us if you change your mind." in words
    assert "You can do nothing" not in words
