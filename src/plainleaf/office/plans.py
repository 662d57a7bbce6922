"""What comes next for somebody, as the clinician recorded it; a rule only where nothing was said.

The clinician's own plan always wins. Where none was recorded, the published rule stands in: an area
that is still there and has no ordinary cause is referred (ADA guideline 2017, CL-02).
"""

from datetime import date, datetime
from typing import Literal, get_args

from plainleaf.office.visits import Cause, Plan, Visit

LAST_LETTER = 3
"""After so many missed second looks the letter is the last one, and a referral goes with it
(common practice, no source)."""

NOT_COMING = ("cannot come", "does not want to")
"""What somebody says who is offered the letter for a specialist at once, as our letters promise."""

STEPS = frozenset(("smoothed edge", "eased denture", "treated infection"))
"""What changes something in the mouth, so that the place needs some care at home."""

ORDINARY = tuple(one for one in get_args(Cause) if one != "none found")
"""The causes that explain an area."""

Letter = Literal["first", "second", "last"]


def explained(visit: Visit) -> bool:
    """Whether an ordinary cause of the area was recorded."""
    return visit.finding is not None and visit.finding.likely_cause in ORDINARY


def plan_now(visit: Visit) -> Plan | None:
    """What is planned as things stand; None when nobody planned anything, or nothing is left to.

    A plan of the second look wins. The first visit's re-check has then taken place: it stands for
    one more only when the area is smaller, or is still there and was explained.
    """
    planned = visit.finding.plan if visit.finding else None
    outcome = visit.recheck_outcome
    if outcome is None or outcome.plan or planned == "refer now":
        return (outcome.plan if outcome else None) or planned
    if outcome.found == "smaller":
        return "re-check"
    if outcome.found == "still there":
        return planned if explained(visit) else "refer now"
    return None


def is_looked_at_again(visit: Visit) -> bool:
    """Whether the practice looks at an area once more after a second look."""
    outcome = visit.recheck_outcome
    return outcome is not None and outcome.found != "gone" and plan_now(visit) == "re-check"


def next_look(visit: Visit) -> datetime | None:
    """When an area is looked at next: the booking after the last look that was recorded."""
    outcome = visit.recheck_outcome
    if outcome is None:
        return visit.recheck
    booked = sorted(one for one in (visit.recheck, visit.next_visit) if one)
    return next((one for one in booked if one.date() > outcome.day), None)


def is_referred(visit: Visit) -> bool:
    """Whether a specialist is what comes next: by the plan, or because nobody can look again here.

    A booked look stands until it is cancelled, whatever the person said.
    """
    if plan_now(visit) == "refer now":
        return True
    offered = visit.coming_back in NOT_COMING and next_look(visit) is None
    return offered and (_waits(visit) or is_looked_at_again(visit))


def _waits(visit: Visit) -> bool:
    """Whether an area waits for its second look."""
    area = visit.finding
    if area is None or visit.recheck_outcome:
        return False
    return area.light != "not dark" or area.plan == "re-check"


def comes_next(visit: Visit, today: date) -> datetime | None:
    """What somebody is asked to keep: the first booking that is not over, else the last one."""
    return visit.comes_next_from(today) or visit.comes_next


def is_over(visit: Visit, booked: datetime, today: date) -> bool:
    """Whether somebody can no longer come: the day has passed, or the look has taken place."""
    outcome = visit.recheck_outcome
    looked = outcome is not None and booked != visit.next_visit and outcome.day >= booked.date()
    return booked.date() < today or looked


def letter_about_missed(visit: Visit) -> Letter:
    """Which of the letters about a missed second look is due; a referral goes with the last."""
    ends = visit.coming_back in NOT_COMING or plan_now(visit) == "refer now"
    if ends or visit.missed_rechecks >= LAST_LETTER:
        return "last"
    return "first" if visit.missed_rechecks < LAST_LETTER - 1 else "second"
