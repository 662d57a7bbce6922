"""Which papers somebody is handed: a rule over what was recorded, for when nobody says otherwise.

No published source orders whole sets of papers; each step is common practice (no source). The rule
chooses papers, never a treatment, and a clinician reads each paper before it is handed out.
"""

from plainleaf.office.plans import NOT_COMING, STEPS, is_referred, letter_about_missed, plan_now
from plainleaf.office.visits import Finding, Visit

REFERRAL = ("referral-copy", "specialist-visit", "referral")
"""What the patient keeps comes first, the letter to the specialist last (common practice)."""


def paper_set(visit: Visit) -> tuple[str, ...]:
    """The ids of the papers for one visit, in the order in which they are handed over.

    A paper is named even when a fact that it needs is missing, so that the gap shows: a dark area
    without a booked second look asks for its letter, and the letter asks for the booking.
    """
    # The newest thing that was recorded counts: an outcome makes earlier missed visits history.
    if visit.recheck_outcome is not None:
        return ("recheck-outcome", *(_referred(visit) if is_referred(visit) else ()))
    if visit.missed_rechecks:
        last = letter_about_missed(visit) == "last"
        return ("missed-visit", *(_referred(visit) if last else ()))
    return _after_the_visit(visit)


def _after_the_visit(visit: Visit) -> tuple[str, ...]:
    # A no to the light look is written down. An area that the ordinary check found is followed up
    # all the same, but no paper may call it dark: nobody looked at it with the light.
    if visit.decision == "declined":
        return ("decline", *_about_the_area(visit))
    # The clinician's plan comes before what the light showed: the ordinary check is the standard.
    if plan_now(visit) == "refer now":
        return _referred(visit)
    if visit.finding is not None:
        return _about_what_the_light_showed(visit, visit.finding)
    # A yes is no result: without one, the letter is named and says what it lacks.
    if visit.nothing_dark or visit.decision == "agreed":
        return ("nothing-seen",)
    # Nobody has decided yet, or somebody wants time: what to read, and the form for afterwards.
    return ("introduction", "consent")


def _about_what_the_light_showed(visit: Visit, area: Finding) -> tuple[str, ...]:
    if area.light is None and visit.decision == "wants time":
        return ("introduction", "consent", *_about_the_area(visit))
    if area.light == "not dark":
        after = _about_the_area(visit)
        return after if is_referred(visit) else ("nothing-seen", *_at_home(visit), *after)
    # Nobody may be told that an area was dark when the clinician was not sure.
    if area.light == "unsure":
        return _referred(visit) if is_referred(visit) else ("home-care",)
    offered = visit.coming_back in NOT_COMING
    return ("dark-area", *_at_home(visit), *(_referred(visit) if offered else ()))


def _about_the_area(visit: Visit) -> tuple[str, ...]:
    """A referral, or a card with the day of a second look that no letter of the set names."""
    if visit.finding is not None and is_referred(visit):
        return _referred(visit)
    return ("reminder-card",) if visit.recheck else ()


def _referred(visit: Visit) -> tuple[str, ...]:
    # Somebody who does not want to come may change their mind: the referral is written all the
    # same, and the form for a no lies beside it.
    unwilling = visit.coming_back == "does not want to"
    return (*REFERRAL, "decline-referral") if unwilling else REFERRAL


def _at_home(visit: Visit) -> tuple[str, ...]:
    """What to do at home until the second look; who is referred instead waits for none."""
    eased = visit.finding is not None and STEPS.intersection(visit.finding.done)
    return ("home-care",) if eased and not is_referred(visit) else ()
