"""The advice that a visit gives to the team."""

from datetime import date, datetime, timedelta
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plainleaf.office import visits
from plainleaf.office.advice import Code, advise
from plainleaf.office.visits import Visit
from test_visits import CLOSED, DAY, FULL, LOOK, changed


def codes(paper: str | None = None, today: date = DAY, **facts: Any) -> dict[str, bool]:
    """The codes of the advice on a visit, and whether each contradicts."""
    finding = {"place": "cheek", "done": ["left alone"], **facts.pop("finding", {})}
    visit = Visit.model_validate(
        {"person": {"name": "Ana"}, "day": DAY, "finding": finding, **facts}
    )
    return {one.code: one.contradicts for one in advise(visit, today, LOOK, paper)}


def test_nothing_recorded_gives_nothing_to_say() -> None:
    assert codes() == {}
    assert advise(Visit.model_validate({"person": {"name": "Ana"}}), DAY, LOOK) == ()


SUSPICIOUS = [
    {"colour": "red"},
    {"colour": "red and white"},
    {"feel": "hard"},
    {"feel": "fixed"},
    {"feel": "hard and fixed"},
    {"surface": "ulcer", "since": {"days": 15}},
    {"surface": "ulcer", "since": {"weeks": 3}},
    {"symptoms": ["pain", "numbness"]},
    {"symptoms": ["neck lump"]},
    {"colour": "white"},
    {"colour": "brown or black"},
    {"surface": "wart-like"},
    {"feel": "firm"},
    {"surface": "rough", "since": {"weeks": 9}},
    {"since": {"days": 15}},
    *(
        {"symptoms": [sign]}
        for sign in ("bleeding", "loose tooth", "trouble swallowing", "trouble opening")
    ),
    {"symptoms": ["earache"]},
    {"symptoms": ["weight loss"]},
]


@pytest.mark.parametrize("finding", SUSPICIOUS)
def test_a_suspicious_area_is_referred_and_a_watch_contradicts(finding: dict[str, Any]) -> None:
    # ADA 2017 (CL-02), NICE NG12 (CL-05).
    assert codes(finding=finding) == {"suspicious": False}
    assert codes(finding=finding | {"plan": "re-check"}) == {"suspicious": True}
    assert codes(finding=finding | {"plan": "refer now"}) == {}


@pytest.mark.parametrize(
    "finding",
    [
        {"surface": "ulcer", "since": {"weeks": 2}},
        {"surface": "ulcer"},
        {"surface": "rough", "since": {"weeks": 2}},
        {"colour": "as around", "feel": "soft", "symptoms": ["pain", "burning"]},
    ],
)
def test_what_is_not_suspicious_is_left_alone(finding: dict[str, Any]) -> None:
    assert codes(finding=finding) == {}


def test_all_suspicious_features_are_named() -> None:
    finding = {"colour": "red", "feel": "hard", "symptoms": ["numbness"]}
    visit = Visit.model_validate(changed("finding", FULL["finding"] | finding))
    (advice,) = (one for one in advise(visit, DAY, LOOK) if one.code == "suspicious")
    assert advice.found == (
        "The record names a red patch, a hard feel, an area for longer than 2 weeks and numbness."
    )


def test_a_returning_colour_suggests_and_does_not_decide() -> None:
    assert codes(finding={"pressure": "colour comes back", "plan": "refer now"}) == {
        "colour-returns": False
    }
    assert codes(finding={"pressure": "partly"}) == {}


def test_no_cause_is_referred() -> None:
    assert codes(finding={"likely_cause": "none found"}) == {"no-cause": False}
    assert codes(finding={"likely_cause": "none found", "plan": "re-check"}) == {"no-cause": True}
    assert codes(finding={"likely_cause": "denture"}) == {}
    alone = {"likely_cause": "none found", "light": "dark", "ordinary_look": "not seen"}
    assert codes(finding=alone) == {"no-cause": False, "light-alone": False}


def test_who_does_not_come_back_gets_the_letter_at_once() -> None:
    assert codes(coming_back="cannot come") == {"not-coming-back": False}
    assert codes(coming_back="does not want to", finding={"plan": "re-check"}) == {
        "not-coming-back": True
    }
    assert codes(coming_back="will come") == {}


@pytest.mark.parametrize(
    ("found", "after", "expected"),
    [
        ("still there", 13, {}),
        ("still there", 14, {"still-there": False}),
        ("still there", 40, {"still-there": False}),
        ("smaller", 28, {"still-there": False}),
        ("smaller", 20, {}),
        ("gone", 28, {}),
    ],
)
def test_what_is_still_there_is_referred(found: str, after: int, expected: dict[str, bool]) -> None:
    day = DAY + timedelta(days=after)
    assert codes(recheck_outcome={"found": found, "day": day.isoformat()}) == expected


@pytest.mark.parametrize(
    ("after", "expected"), [(13, True), (14, False), (28, False), (29, True), (-1, True)]
)
def test_a_recheck_outside_the_window_contradicts(after: int, expected: bool) -> None:
    booked = datetime(2026, 11, 25, 10, 30) + timedelta(days=after)
    assert codes(recheck=booked) == ({"outside-window": True} if expected else {})


def test_a_second_look_that_did_not_happen_is_not_forgotten() -> None:
    late = DAY + timedelta(days=29)
    assert codes(today=late, finding={"plan": "re-check"}) == {"overdue": False}
    assert codes(today=DAY + timedelta(days=28), finding={"plan": "re-check"}) == {}
    seen = {"found": "gone", "day": "2026-12-10"}
    assert codes(today=late, finding={"plan": "re-check"}, recheck_outcome=seen) == {}
    assert codes(today=late) == {}


def test_a_tooth_on_the_other_side_is_asked_about() -> None:
    tooth = {"nearest_tooth": 46}
    assert codes(finding=tooth | {"side": "right"}) == {}
    assert codes(finding=tooth) == {}
    assert codes(finding=tooth | {"side": "left"}) == {"other-side": True}
    assert codes(finding=tooth | {"side": "middle"}) == {"other-side": True}
    assert codes(finding={"nearest_tooth": 42, "side": "middle"}) == {}
    assert codes(finding=tooth | {"place": "upper gum", "side": "right"}) == {"other-side": True}
    assert codes(finding=tooth | {"place": "lower gum", "side": "right"}) == {}


def test_a_light_look_without_a_yes_is_asked_about() -> None:
    for decision in ("declined", "wants time"):
        expected = {"light-without-yes": True}
        assert codes(decision=decision, finding={"light": "dark"}) == expected
        assert codes(decision=decision, nothing_dark=True) == expected
        assert codes(decision=decision) == {}
    assert codes(decision="agreed", finding={"light": "dark"}) == {}


def test_a_place_that_is_normal_and_was_found_is_asked_about() -> None:
    assert codes(normal=["cheek", "tonsil"]) == {"also-normal": True}
    assert codes(normal=["tonsil"]) == {}


def test_care_at_home_after_nothing_was_eased_is_asked_about() -> None:
    assert codes("home-care") == {"nothing-eased": True}
    assert codes("home-care", finding={"done": ["eased denture"]}) == {}
    assert codes("home-care", finding={"light": "unsure"}) == {}
    assert codes("dark-area") == {}


def test_a_referral_against_the_plan_is_asked_about() -> None:
    again = {"plan": "re-check"}
    for paper in ("referral", "referral-copy", "specialist-visit", "decline-referral"):
        assert codes(paper, finding=again) == {"letter-against-plan": True}
        assert codes(paper, finding={"plan": "refer now"}) == {}
        assert codes(paper) == {}
    assert codes("dark-area", finding=again) == {}
    assert codes("referral", finding=again, missed_rechecks=3) == {}
    away = codes("referral", finding=again, coming_back="cannot come")
    assert away == {"not-coming-back": True}
    # Still there without a cause: the old plan to look again has been carried out.
    still = {"found": "still there", "day": "2026-12-10"}
    assert codes("referral", finding=again, recheck_outcome=still) == {"still-there": False}


def test_an_area_that_is_gone_after_three_missed_looks_is_asked_about() -> None:
    gone = {"found": "gone", "day": "2026-12-10"}
    assert codes(recheck_outcome=gone, missed_rechecks=3) == {"came-after-all": True}
    assert codes(recheck_outcome=gone, missed_rechecks=2) == {}


def test_a_referral_of_what_is_gone_is_asked_about() -> None:
    gone = {"found": "gone", "day": "2026-12-10"}
    for paper in ("referral", "referral-copy", "specialist-visit", "decline-referral"):
        assert codes(paper, recheck_outcome=gone) == {"gone-and-referred": True}
        assert codes(paper, recheck_outcome={**gone, "plan": "refer now"}) == {}
    assert codes("recheck-outcome", recheck_outcome=gone) == {}


def test_a_plan_to_look_once_more_at_what_nobody_can_explain_contradicts() -> None:
    still = {"found": "still there", "day": "2026-12-10", "plan": "re-check"}
    finding = {"likely_cause": "none found"}
    expected = {"no-cause": True, "still-there": True}
    assert codes(recheck_outcome=still, finding=finding) == expected
    assert codes(recheck_outcome=still, finding={"likely_cause": "denture"}) == {
        "still-there": False
    }


def test_the_last_day_of_the_calendar_raises_nothing() -> None:
    assert codes(day=date.max, recheck="9999-12-31T10:00:00") == {}


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_advice_never_raises_and_says_each_thing_once(data: st.DataObject) -> None:
    closed = {
        name: data.draw(st.none() | st.sampled_from(get_args(kind)))
        for name, kind in CLOSED.items()
    }
    symptoms = data.draw(st.none() | st.lists(st.sampled_from(get_args(visits.Symptom))))
    facts = {
        "day": data.draw(st.none() | st.dates()),
        "recheck": data.draw(st.none() | st.datetimes()),
        "coming_back": data.draw(st.none() | st.sampled_from(get_args(visits.ComingBack))),
        "person": {"name": "Ana"},
        "finding": {"place": "cheek", "done": ["left alone"], "symptoms": symptoms, **closed},
    }
    advice = advise(Visit.model_validate(facts), data.draw(st.dates()), LOOK, "dark-area")
    said = [one.code for one in advice]
    assert len(said) == len(set(said))
    assert set(said) <= set(get_args(Code))
    assert all(one.found.endswith(".") and one.suggestion.endswith(".") for one in advice)


def test_there_are_six_ordinary_causes_and_none() -> None:
    *causes, none = get_args(visits.Cause)
    assert len(causes) == 6
    assert none == "none found"
