"""Where the record and a paper cannot both be right: the paper would say what is not true.

Such a paper is not made, and whoever asked is told what disagrees. What is only odd is asked about
instead, as advice (``office.advice``). No source: a paper may not say what the record denies.
"""

from collections.abc import Callable
from datetime import date, datetime

from plainleaf.errors import FactsProblem
from plainleaf.office.plans import (
    STEPS,
    comes_next,
    is_looked_at_again,
    is_over,
    is_referred,
    next_look,
    plan_now,
)
from plainleaf.office.visits import Visit

_WHY = "The paper would tell the reader something that the record denies."

_SAY_WHAT_THE_LIGHT_SHOWED = ("dark-area", "missed-visit", "nothing-seen", "recheck-outcome")
_LIST_WHAT_WAS_DONE = ("dark-area", "home-care", "referral", "chart-note")
_SAY_WHAT_THE_RECHECK_SHOWED = ("recheck-outcome", "referral", "chart-note")
_SAY_WHEN_TO_COME = (
    "appointment-card",
    "reminder-card",
    "reminder-text",
    "reminder-mail",
    "voicemail-script",
)

_Rule = Callable[[str, Visit, date], tuple[str, str] | None]


def stop_if_untrue(paper: str, visit: Visit, today: date) -> None:
    """Raises FactsProblem for the first thing that the paper would say against the record."""
    for rule in _RULES:
        if found := rule(paper, visit, today):
            raise FactsProblem(found[0], _WHY, found[1])


def _born_later(_: str, visit: Visit, today: date) -> tuple[str, str] | None:
    born = visit.person.born
    if born is None or born <= today:
        return None
    return f"The date of birth is {born.isoformat()}, still to come.", "Correct the date of birth."


def _light_without_a_yes(paper: str, visit: Visit, _: date) -> tuple[str, str] | None:
    unwilling = visit.decision == "declined" or (
        visit.decision == "wants time" and paper != "decline"
    )
    if paper not in (*_SAY_WHAT_THE_LIGHT_SHOWED, "decline") or not unwilling:
        return None
    if not (visit.nothing_dark or (visit.finding and visit.finding.light)):
        return None
    said = "was declined" if visit.decision == "declined" else "waits for a decision"
    return (
        f"The record says that the light look {said}, and also what it showed.",
        "Correct the decision, or take out what the light showed.",
    )


def _agreed(paper: str, visit: Visit, _: date) -> tuple[str, str] | None:
    if paper != "decline" or visit.decision != "agreed":
        return None
    return (
        "The record says that the person agreed to the light look.",
        "Correct the decision, or choose another paper.",
    )


def _dark_and_not(paper: str, visit: Visit, _: date) -> tuple[str, str] | None:
    light = visit.finding.light if visit.finding else None
    if not visit.nothing_dark or light not in ("dark", "unsure"):
        return None
    if paper not in _SAY_WHAT_THE_LIGHT_SHOWED:
        return None
    return (
        f"The record says that nothing looked dark, and that an area was '{light}'.",
        "Correct what the light showed.",
    )


def _ordinary_checks_go_on(paper: str, visit: Visit, _: date) -> tuple[str, str] | None:
    gone = visit.recheck_outcome is not None and visit.recheck_outcome.found == "gone"
    says_so = paper == "nothing-seen" or (paper == "recheck-outcome" and gone)
    if not says_so or plan_now(visit) != "refer now":
        return None
    return (
        "The plan is to refer, and the letter says that the ordinary checks go on.",
        "Choose the papers of a referral, or correct the plan.",
    )


def _not_missed(paper: str, visit: Visit, today: date) -> tuple[str, str] | None:
    if paper != "missed-visit" or visit.recheck is None:
        return None
    booked = visit.recheck.date()
    outcome = visit.recheck_outcome
    if booked > today:
        found = f"The re-check is booked for {booked.isoformat()}, still to come."
        return found, "Wait for that day, or give the booking that was missed."
    if outcome and outcome.day >= booked:
        found = f"A re-check took place on {outcome.day.isoformat()}."
        return found, "Choose the letter about what it showed, or correct that day."
    return None


def _come_when_it_is_over(paper: str, visit: Visit, today: date) -> tuple[str, str] | None:
    booked = _named(paper, visit, today)
    if booked is None or not is_over(visit, booked, today):
        return None
    return (
        f"The paper asks the person to come on {booked.date().isoformat()}, and that is over.",
        "Give the next booking, or choose a paper that names none.",
    )


def _named(paper: str, visit: Visit, today: date) -> datetime | None:
    """The booking that a paper asks somebody to keep."""
    if paper in _SAY_WHEN_TO_COME:
        return comes_next(visit, today)
    if paper == "recheck-outcome":
        return next_look(visit) if is_looked_at_again(visit) else None
    if paper == "nothing-seen":
        return visit.recheck if plan_now(visit) == "re-check" else None
    if paper == "home-care" or (paper == "dark-area" and not is_referred(visit)):
        return visit.recheck
    return None


def _looked_again_later(paper: str, visit: Visit, today: date) -> tuple[str, str] | None:
    outcome = visit.recheck_outcome
    if paper not in _SAY_WHAT_THE_RECHECK_SHOWED or outcome is None or outcome.day <= today:
        return None
    return (
        f"The day of the re-check is {outcome.day.isoformat()}, still to come.",
        "Correct that day, or take out what the re-check showed.",
    )


def _changed_and_left_alone(paper: str, visit: Visit, _: date) -> tuple[str, str] | None:
    done = set(visit.finding.done) if visit.finding else set()
    changed = STEPS.intersection(done)
    if paper not in _LIST_WHAT_WAS_DONE or "left alone" not in done or not changed:
        return None
    return (
        f"The record says 'left alone' and also '{min(changed)}'.",
        "Take out the one that was not done.",
    )


_RULES: tuple[_Rule, ...] = (
    _born_later,
    _light_without_a_yes,
    _agreed,
    _dark_and_not,
    _ordinary_checks_go_on,
    _not_missed,
    _come_when_it_is_over,
    _looked_again_later,
    _changed_and_left_alone,
)
