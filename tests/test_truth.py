"""No paper says what the record denies, and each prints what the clinician planned."""

from datetime import date
from typing import Any

import pytest

from conftest import LANGUAGES, WEDNESDAY, at_post
from plainleaf.desk import Desk
from plainleaf.errors import FactsProblem
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Fields, Page, plain, walk, words_of

AREA: dict[str, Any] = {"place": "cheek", "side": "left", "done": ["eased denture"]}
DARK = {**AREA, "light": "dark"}
AGAIN = {"recheck": "2026-12-09T10:30"}


def visit(**facts: Any) -> Visit:
    finding = facts.pop("finding", DARK)
    day = facts.pop("day", "2026-11-11")
    return Visit.model_validate(
        {"person": {"name": "Ana Orr"}, "day": day, "finding": finding, **facts}
    )


def said(page: Page) -> str:
    return words_of(page.blocks)


def fields(page: Page) -> dict[str, str]:
    found = [
        one for block in walk(page.blocks) if isinstance(block, Fields) for one in block.fields
    ]
    return {plain(one.label): plain(one.value) for one in found}


def outcome(found: str, day: str = "2026-11-25", **more: str) -> dict[str, Any]:
    return {"recheck_outcome": {"found": found, "day": day, **more}}


# ---- what the light showed -------------------------------------------------------------------


@pytest.mark.parametrize(
    "facts",
    [
        {"decision": "agreed", "finding": None},
        {"finding": None},
        {"finding": AREA},
        {"finding": DARK},
        {"finding": {**AREA, "light": "unsure"}},
    ],
)
def test_a_yes_to_the_light_look_is_not_its_result(desk: Desk, facts: dict[str, Any]) -> None:
    with pytest.raises(FactsProblem, match="lacks a light look at which nothing looked dark"):
        desk.page("nothing-seen", visit(**facts))


def test_nothing_seen_is_told_when_it_was_recorded(desk: Desk) -> None:
    told = "no area in your mouth looked dark"
    assert told in said(desk.page("nothing-seen", visit(finding=None, nothing_dark=True)))
    not_dark = {**AREA, "light": "not dark"}
    assert told in said(desk.page("nothing-seen", visit(finding=not_dark)))
    again = visit(finding={**not_dark, "plan": "re-check"}, **AGAIN)
    page = desk.page("nothing-seen", again)
    assert fields(page)["Please come on"] == "Wednesday, December 9, 2026 at 10:30\u202fAM"
    assert "next ordinary check as usual" not in said(page)


@pytest.mark.parametrize("light", [None, "not dark", "unsure"])
@pytest.mark.parametrize("name", ["dark-area", "missed-visit", "recheck-outcome"])
def test_no_letter_calls_an_area_dark_that_was_not_recorded_so(
    desk: Desk, name: str, light: str | None
) -> None:
    past = {"recheck": "2026-11-20T09:00", "missed_rechecks": 1}
    past = AGAIN if name == "dark-area" else past
    facts = {**past, **(outcome("gone") if name == "recheck-outcome" else {})}
    with pytest.raises(FactsProblem, match="lacks an area that looked dark under the light"):
        desk.page(name, visit(finding={**AREA, "light": light}, **facts))
    assert "dark" in said(desk.page(name, visit(**facts)))


DENIED = [
    ("dark-area", {**AGAIN, "decision": "declined"}, "the light look was declined, and also"),
    ("dark-area", {**AGAIN, "decision": "wants time"}, "waits for a decision, and also"),
    ("recheck-outcome", {**outcome("gone"), "decision": "declined"}, "was declined, and also"),
    ("decline", {"decision": "declined"}, "was declined, and also what it showed"),
    ("decline", {"decision": "agreed"}, "the person agreed to the light look"),
    ("dark-area", {**AGAIN, "nothing_dark": True}, "nothing looked dark, and that an area"),
    ("nothing-seen", {"nothing_dark": True}, "nothing looked dark, and that an area was 'dark'"),
    (
        "nothing-seen",
        {"finding": {**AREA, "light": "not dark", "plan": "refer now"}},
        "The plan is to refer",
    ),
    ("recheck-outcome", {**outcome("gone", plan="refer now")}, "The plan is to refer"),
    ("missed-visit", {**AGAIN, "missed_rechecks": 1}, "2026-12-09, still to come"),
    ("missed-visit", {"recheck": "2026-11-20T09:00"}, "lacks a re-check that was missed"),
    (
        "missed-visit",
        {"recheck": "2026-11-20T09:00", "missed_rechecks": 1, **outcome("gone")},
        "A re-check took place on 2026-11-25",
    ),
    *(
        (name, {"recheck": "2026-11-24T09:00"}, "asks the person to come on 2026-11-24, and that")
        for name in ("dark-area", "home-care", "reminder-card", "appointment-card", "reminder-text")
    ),
    ("dark-area", {"recheck": "2026-11-25T09:00", **outcome("gone")}, "on 2026-11-25, and that is"),
    ("reminder-card", {"recheck": "2026-11-25T09:00", **outcome("gone")}, "2026-11-25, and that"),
    (
        "nothing-seen",
        {
            "finding": {**AREA, "light": "not dark", "plan": "re-check"},
            "recheck": "2026-11-24T09:00",
        },
        "asks the person to come on 2026-11-24, and that is over",
    ),
    (
        "recheck-outcome",
        {"next_visit": "2026-11-23T09:00", **outcome("smaller", "2026-11-20")},
        "asks the person to come on 2026-11-23, and that is over",
    ),
    ("recheck-outcome", outcome("gone", "2026-11-26"), "2026-11-26, still to come"),
    ("chart-note", outcome("gone", "2026-11-26"), "2026-11-26, still to come"),
    ("referral", outcome("gone", "2026-11-26"), "2026-11-26, still to come"),
    *(
        (name, {**AGAIN, "finding": {**DARK, "done": ["left alone", "smoothed edge"]}}, "'left")
        for name in ("dark-area", "home-care", "referral", "chart-note")
    ),
]


@pytest.mark.parametrize(("name", "facts", "says"), DENIED)
def test_a_paper_that_the_record_denies_is_not_made(
    desk: Desk, name: str, facts: dict[str, Any], says: str
) -> None:
    with pytest.raises(FactsProblem) as caught:
        desk.page(name, visit(**facts))
    problem = caught.value
    assert says in problem.found
    assert all(one.endswith(".") for one in (problem.found, problem.why, problem.do))


def test_nobody_is_born_after_today(desk: Desk) -> None:
    person = {"name": "Ana Orr", "born": "2026-11-26"}
    unborn = Visit.model_validate({"person": person})
    for name in ("introduction", "consent", "reminder-card"):
        with pytest.raises(FactsProblem, match="The date of birth is 2026-11-26, still to come"):
            desk.page(name, unborn)


def test_a_record_that_agrees_with_itself_stops_nothing(desk: Desk) -> None:
    agreed = {"decision": "agreed", **AGAIN}
    for name in ("dark-area", "home-care", "chart-note", "referral", "decline-referral"):
        assert desk.page(name, visit(**agreed))
    assert desk.page("decline", visit(finding=AREA, decision="declined"))
    assert desk.page("decline", visit(finding=None, decision="wants time"))


def test_a_booking_of_today_and_one_that_no_letter_names_stop_nothing(desk: Desk) -> None:
    today, past = {"recheck": "2026-11-25T16:00"}, {"recheck": "2026-11-20T09:00"}
    assert desk.page("dark-area", visit(**today))
    assert desk.page("dark-area", visit(finding={**DARK, "plan": "refer now"}, **past))
    later = {"next_visit": "2026-11-25T16:00", **outcome("gone")}
    assert desk.page("reminder-card", visit(**past, **later))


def test_a_card_names_the_sooner_of_two_bookings(desk: Desk) -> None:
    both = visit(next_visit="2027-05-25T09:00", **AGAIN)
    assert fields(desk.page("reminder-card", both))["Day"] == "Wednesday, December 9, 2026"
    later = visit(next_visit="2027-05-25T09:00", recheck="2026-11-20T09:00")
    assert fields(desk.page("reminder-card", later))["Day"] == "Tuesday, May 25, 2027"


# ---- what was planned ------------------------------------------------------------------------

SMALLER = "The area is smaller, but it is still there."


def test_smaller_prints_the_next_look_and_not_the_last_one(desk: Desk) -> None:
    past = {"recheck": "2026-11-25T09:00", **outcome("smaller")}
    with pytest.raises(FactsProblem, match="lacks the visit for the next look"):
        desk.page("recheck-outcome", visit(**past))
    page = desk.page("recheck-outcome", visit(**past, next_visit="2026-12-16T09:00"))
    assert f"{SMALLER} Please come back once more on Wednesday, December 16, 2026" in said(page)


@pytest.mark.parametrize(
    ("found", "cause", "plan", "then", "begins", "refers"),
    [
        ("still there", "denture", "re-check", None, "The area is still there. This is", False),
        ("still there", "denture", "refer now", None, "The area is still there. This is", True),
        ("still there", "denture", "re-check", "refer now", "The area is still there. Thi", True),
        ("still there", "none found", "re-check", None, "The area is still there, and we do", True),
        ("still there", None, None, None, "The area is still there, and we do not know", True),
        ("still there", "none found", None, "re-check", "The area is still there. This is", False),
        ("smaller", None, None, None, SMALLER, False),
        ("smaller", None, None, "refer now", SMALLER, True),
        ("smaller", "denture", "refer now", None, SMALLER, True),
    ],
)
def test_the_letter_after_the_second_look_says_what_was_planned(
    desk: Desk,
    found: str,
    cause: str | None,
    plan: str | None,
    then: str | None,
    begins: str,
    refers: bool,
) -> None:
    finding = {**DARK, "likely_cause": cause, "plan": plan}
    more = {"plan": then} if then else {}
    recorded = visit(finding=finding, next_visit="2026-12-16T09:00", **outcome(found, **more))
    words = said(desk.page("recheck-outcome", recorded))
    assert begins in words
    assert ("We refer you to a specialist." in words) == refers
    assert ("December 16, 2026" in words) != refers
    assert ("We give you a letter for the specialist." in words) == refers
    assert ("Likely cause" in words) == (cause == "denture")


def test_an_explained_area_that_is_still_there_needs_a_plan(desk: Desk) -> None:
    still = visit(finding={**DARK, "likely_cause": "denture"}, **outcome("still there"))
    with pytest.raises(FactsProblem, match="lacks the plan after the re-check"):
        desk.page("recheck-outcome", still)


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize(
    "facts",
    [
        {"finding": {**DARK, "plan": "refer now"}, **AGAIN},
        {"coming_back": "cannot come"},
        {"coming_back": "does not want to"},
    ],
)
def test_who_is_referred_or_cannot_come_reads_of_the_letter_and_of_no_date(
    desk: Desk, facts: dict[str, Any], tag: str
) -> None:
    page = desk.page("dark-area", visit(**facts), tag)
    words = said(page)
    assert "2026-12-09" not in repr(page.blocks)
    if tag == "en":
        assert "With this paper you get a letter for a specialist." in words
        assert "lease come" not in words
        assert "we look again" not in words


def test_a_booked_second_look_stands_whatever_somebody_said(desk: Desk) -> None:
    words = said(desk.page("dark-area", visit(coming_back="cannot come", **AGAIN)))
    assert "Please come back on Wednesday, December 9, 2026" in words


def test_without_a_booking_nor_a_referral_the_letter_is_not_made(desk: Desk) -> None:
    with pytest.raises(FactsProblem, match="lacks the booked re-check, or a referral"):
        desk.page("dark-area", visit(coming_back="will come"))


def test_the_note_for_the_record_has_the_newest_plan_and_what_it_lacked(desk: Desk) -> None:
    planned = {**DARK, "plan": "re-check", "urgency": "prompt"}
    first = fields(desk.page("chart-note", visit(finding=planned, **AGAIN)))
    assert first["Plan"] == "look again"
    assert "We look after this again on" not in first
    found = outcome("smaller", plan="refer now")
    then = visit(finding=planned, next_visit="2026-12-16T09:00", **found)
    said = fields(desk.page("chart-note", then))
    assert said["Plan"] == "refer now"
    assert said["How soon"] == "As soon as you can."
    assert said["We look after this again on"] == "Wednesday, December 16, 2026"
    nothing = fields(desk.page("chart-note", visit(finding=None, nothing_dark=True)))
    assert nothing["Under the light"] == "not dark"


def test_each_letter_about_a_missed_look_says_something_else(desk: Desk) -> None:
    past = {"recheck": "2026-11-20T09:00"}
    told = [said(desk.page("missed-visit", visit(missed_rechecks=n, **past))) for n in (1, 2, 3)]
    assert len(set(told)) == 3
    offered = "we give you a letter for a specialist at once"
    assert [offered in one for one in told] == [True, True, False]
    with_it = "With this letter you get a letter for a specialist."
    assert [with_it in one for one in told] == [False, False, True]


# ---- who decides, who interprets, who is written to ------------------------------------------

CHILD = {
    "name": "Maren Whitlock",
    "born": "2018-04-17",
    "guardian": {"name": "Ilse Whitlock", "relationship": "parent"},
    "interpreter": {"language": "Spanish", "name_or_id": "no. 4711", "mode": "by phone"},
    "address": ["12 Larch Row", "Example City, EX 00000"],
}


def of_child(**facts: Any) -> Visit:
    return visit(**facts).model_copy(
        update={"person": Visit.model_validate({"person": CHILD}).person}
    )


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", ["consent", "decline", "decline-referral", "photo-permission"])
def test_every_form_has_a_place_for_whoever_decides(desk: Desk, name: str, tag: str) -> None:
    page = desk.page(name, of_child(finding=AREA), tag)
    part = next(one for one in walk(page.blocks) if getattr(one, "element", "") == "representative")
    assert "Ilse Whitlock" in words_of((part,))


def test_the_consent_form_names_the_language_and_the_way_of_the_interpreter(desk: Desk) -> None:
    said = fields(desk.page("consent", of_child(finding=None), "en"))
    assert said["Language"] == "Spanish"
    assert said["Interpreter (name or number)"].split() == ["no.", "4711", "By", "phone"]
    for name in ("decline", "decline-referral", "photo-permission", "chart-note"):
        other = fields(desk.page(name, of_child(finding=AREA), "en"))
        assert other["Language"] == "Spanish"
        assert other["Interpreter (name or number)"].startswith("no. 4711")
        assert "Interpreter (name or number)" not in fields(desk.page(name, visit(finding=AREA)))
    told = fields(desk.page("referral", of_child(finding=AREA)))
    assert told["Language, interpreter, large print"] == "Spanish, interpreter needed"
    bare = fields(desk.page("consent", visit(finding=None), "en"))
    assert bare["Language"] == bare["Interpreter (name or number)"] == ""


LETTERS = {
    "dark-area": AGAIN,
    "nothing-seen": {"finding": None, "nothing_dark": True},
    "recheck-outcome": outcome("gone"),
    "missed-visit": {"recheck": "2026-11-20T09:00", "missed_rechecks": 1},
    "referral-copy": {},
    "home-care": AGAIN,
}


@pytest.mark.parametrize("name", LETTERS)
def test_a_letter_about_a_child_goes_to_whoever_decides(practice: Practice, name: str) -> None:
    desk = Desk(at_post(practice), WEDNESDAY)
    page = desk.page(name, of_child(**LETTERS[name]))
    words = said(page)
    assert "Dear Ilse Whitlock," in words
    assert "for Maren Whitlock" in words
    if page.address:
        lines = [plain(line) for line in page.address]
        assert lines == ["Ilse Whitlock", "for Maren Whitlock", *CHILD["address"]]
    own = said(desk.page(name, visit(**LETTERS[name])))
    assert "Dear Ana Orr," in own
    assert "for Ana Orr" not in own


def test_today_is_the_day_of_the_desk(desk: Desk) -> None:
    assert fields(desk.page("referral", visit()))["Date"] == "November 25, 2026"
    assert desk.today == date(2026, 11, 25)
