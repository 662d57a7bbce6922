"""Which papers somebody is handed: a rule over what was recorded, for when nobody says otherwise.

No published source orders whole sets of papers; each step is common practice (no source). The rule
chooses papers, never a treatment, and a clinician reads each paper before it is handed out.
"""

from plainleaf.office.visits import Finding, Visit

REFERRAL = ("referral-copy", "specialist-visit", "referral")
"""What the patient keeps comes first, the letter to the specialist last (common practice)."""

LAST_MISSED = 3
"""After so many missed second looks a referral goes with the letter, as that letter says."""

_CARE_AFTER = {"smoothed edge", "eased denture", "treated infection"}
"""Steps after which the mouth needs some care at home (common practice, no source)."""


def paper_set(visit: Visit) -> tuple[str, ...]:
    """The ids of the papers for one visit, in the order in which they are handed over.

    A paper is named even when a fact that it needs is missing, so that the gap shows: a dark area
    without a booked second look asks for its letter, and the letter asks for the booking.
    """
    # The newest thing that was recorded counts: an outcome makes earlier missed visits history.
    if visit.recheck_outcome is not None:
        still_there = visit.recheck_outcome.found == "still there"
        return ("recheck-outcome", *(_referred(visit) if still_there else ()))
    if visit.missed_rechecks:
        last = visit.missed_rechecks >= LAST_MISSED
        return ("missed-visit", *(_referred(visit) if last else ()))
    return _after_the_visit(visit)


def _after_the_visit(visit: Visit) -> tuple[str, ...]:
    area = visit.finding
    refer_now = area is not None and area.plan == "refer now"
    # A no to the light look is written down. An area that the ordinary check found is followed up
    # all the same, but no paper may call it dark: nobody looked at it with the light.
    if visit.decision == "declined":
        return ("decline", *(_referred(visit) if refer_now else _booked(visit)))
    # The clinician's plan comes before what the light showed: the ordinary check is the standard.
    if refer_now:
        return _referred(visit)
    if area is not None and area.light != "not dark":
        return ("dark-area", *_at_home(area))
    if area is not None:
        return ("nothing-seen", *_at_home(area), *_booked(visit))
    if visit.decision == "agreed":
        return ("nothing-seen",)
    # Nobody has decided yet, or somebody wants time: what to read, and the form for afterwards.
    return ("introduction", "consent")


def _referred(visit: Visit) -> tuple[str, ...]:
    # Somebody who does not want to come may change their mind: the referral is written all the
    # same, and the form for a no lies beside it.
    unwilling = visit.coming_back == "does not want to"
    return (*REFERRAL, "decline-referral") if unwilling else REFERRAL


def _at_home(area: Finding) -> tuple[str, ...]:
    return ("home-care",) if _CARE_AFTER.intersection(area.done) else ()


def _booked(visit: Visit) -> tuple[str, ...]:
    """A card with the day, when a second look is booked and no letter of the set names it."""
    return ("reminder-card",) if visit.recheck else ()
