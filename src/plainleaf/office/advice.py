"""What a recorded visit gives cause to say to the clinician. Advice only: nothing is decided here.

The rules look at what was recorded and never at what was not. None of them raises or stops a paper:
the clinician's choice always wins.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from plainleaf.office.practice import Look
from plainleaf.office.visits import Finding, Visit

Code = Literal[
    "colour-returns",
    "no-cause",
    "suspicious",
    "not-coming-back",
    "still-there",
    "overdue",
    "outside-window",
    "light-alone",
    "not-dark",
]


@dataclass(frozen=True)
class Advice:
    """One thing to think about: what was found in the record, and what we suggest.

    ``contradicts`` says that the record disagrees with itself, or with the paper asked for.
    """

    code: Code
    found: str
    suggestion: str
    contradicts: bool = False

    @property
    def words(self) -> str:
        """The whole of it, beginning with how much it presses."""
        mark = "Please look again" if self.contradicts else "For your judgement"
        return f"{mark}: {self.found} {self.suggestion}"


@dataclass(frozen=True)
class _Case:
    visit: Visit
    finding: Finding
    today: date
    look: Look
    paper: str | None

    @property
    def window(self) -> tuple[date, date] | None:
        """First and last day for the second look, or None when the day of the visit is unknown."""
        if self.visit.day is None:
            return None
        start, end = self.visit.day.toordinal(), date.max.toordinal()
        first, last = self.look.recheck_days, self.look.recheck_latest_days
        return (
            date.fromordinal(min(start + first, end)),
            date.fromordinal(min(start + last, end)),
        )


def advise(visit: Visit, today: date, look: Look, paper: str | None = None) -> tuple[Advice, ...]:
    """Everything that the record gives cause to say, in the order of the rules; mostly nothing.

    ``look`` is the practice's own (``practice.look``): the window of the second look and the weeks
    after which a sore is too old. ``paper`` is the paper that is asked for, such as ``dark-area``.
    Without a finding there is nothing to say.
    """
    if visit.finding is None:
        return ()
    case = _Case(visit, visit.finding, today, look, paper)
    return tuple(advice for rule in _RULES if (advice := rule(case)) is not None)


def _colour_returns(case: _Case) -> Advice | None:
    # Common practice, no source: pressing empties the vessels of a blood-rich place.
    if case.finding.pressure != "colour comes back":
        return None
    return Advice(
        "colour-returns",
        "The colour comes back when the area is pressed gently.",
        "This suggests a blood vessel or an inflamed place as the cause. It does not prove it.",
    )


def _no_cause(case: _Case) -> Advice | None:
    # ADA guideline 2017 (CL-02): refer or biopsy when a disorder cannot be excluded; that an
    # area without a cause is not watched first is the cautious reading, common practice.
    if case.finding.likely_cause != "none found" or case.finding.plan == "refer now":
        return None
    return Advice(
        "no-cause",
        "No ordinary cause was found for the area.",
        "Refer now; do not only watch it.",
    )


def _suspicious(case: _Case) -> Advice | None:
    # ADA guideline 2017 (CL-02): a suspicious area is biopsied or referred at once, not watched.
    features = tuple(_features(case.finding, case.look.sore_weeks))
    if not features or case.finding.plan == "refer now":
        return None
    return Advice(
        "suspicious",
        f"The record names {_joined(features)}.",
        "Refer now; do not wait for a second look.",
        contradicts=case.finding.plan == "re-check",
    )


def _features(finding: Finding, sore_weeks: int) -> Iterator[str]:
    """What makes an area suspicious, by feature.

    Red or mixed patch, neck lump, old ulcer: NICE NG12 (CL-05; the weeks are the practice's own
    setting). Hard, fixed or numb: fields of referral forms and the Irish list (CL-06, CL-07).
    """
    symptoms = finding.symptoms or ()
    if finding.colour in ("red", "red and white"):
        yield "a red patch" if finding.colour == "red" else "a red and white patch"
    if finding.feel in ("hard", "fixed", "hard and fixed"):
        yield f"a {finding.feel} feel"
    if finding.surface == "ulcer" and finding.since and finding.since.in_days > 7 * sore_weeks:
        yield f"an ulcer for longer than {sore_weeks} week{'s' if sore_weeks > 1 else ''}"
    if "numbness" in symptoms:
        yield "numbness"
    if "neck lump" in symptoms:
        yield "a lump in the neck"


def _joined(parts: tuple[str, ...]) -> str:
    return " and ".join((", ".join(parts[:-1]), parts[-1])) if len(parts) > 1 else parts[0]


def _not_coming_back(case: _Case) -> Advice | None:
    # Common practice, no source; the follow-up letter promises it.
    said = case.visit.coming_back
    if said not in ("cannot come", "does not want to"):
        return None
    return Advice(
        "not-coming-back",
        f"The person {said.replace('want to', 'want to come')} for the second look.",
        "Offer the letter for a specialist at once.",
        contradicts=case.finding.plan == "re-check",
    )


def _still_there(case: _Case) -> Advice | None:
    # ADA guideline 2017 (CL-02): not gone and not explained, so biopsy or refer. A smaller area
    # has until the last day of the window; the window itself is common practice (CL-04).
    outcome = case.visit.recheck_outcome
    if outcome is None or outcome.found == "gone" or case.finding.plan == "refer now":
        return None
    if case.window and outcome.day < case.window[0 if outcome.found == "still there" else 1]:
        return None
    return Advice(
        "still-there",
        f"At the second look the area was {outcome.found}.",
        "Refer now, unless an ordinary cause explains it.",
    )


def _overdue(case: _Case) -> Advice | None:
    # Common practice, no source: a second look that did not happen must not be forgotten.
    planned = case.finding.plan == "re-check" or case.visit.recheck is not None
    if case.visit.recheck_outcome or not planned or case.finding.plan == "refer now":
        return None
    if case.window is None or case.today <= case.window[1]:
        return None
    return Advice(
        "overdue",
        f"The last day for the second look was {case.window[1].isoformat()}, and none is recorded.",
        "Call the person; look again now, or offer the letter for a specialist.",
    )


def _outside_window(case: _Case) -> Advice | None:
    # The window is common practice (CL-04); both of its days are settings of the practice.
    if case.visit.recheck is None or case.window is None:
        return None
    first, last = case.window
    booked = case.visit.recheck.date()
    if first <= booked <= last:
        return None
    return Advice(
        "outside-window",
        f"The second look is booked for {booked.isoformat()}.",
        f"Book it between {first.isoformat()} and {last.isoformat()}.",
        contradicts=True,
    )


def _light_alone(case: _Case) -> Advice | None:
    # ADA guideline 2017 (CL-02, CL-03): the light is not recommended for judging an area.
    seen = (case.finding.light, case.finding.ordinary_look, case.finding.likely_cause)
    if seen != ("dark", "not seen", "none found"):
        return None
    return Advice(
        "light-alone",
        "Only the light shows the area; the ordinary look does not, and no cause was found.",
        "Look and feel again in ordinary light. Say in a letter that the light alone showed it.",
    )


def _not_dark(case: _Case) -> Advice | None:
    # What the paper says would not be true of this person; no source needed.
    if case.paper != "dark-area" or case.finding.light != "not dark":
        return None
    return Advice(
        "not-dark",
        "The area was not dark under the light, and the letter about a dark area was asked for.",
        "Choose another paper, or correct the record.",
        contradicts=True,
    )


_RULES: tuple[Callable[[_Case], Advice | None], ...] = (
    _colour_returns,
    _no_cause,
    _suspicious,
    _not_coming_back,
    _still_there,
    _overdue,
    _outside_window,
    _light_alone,
    _not_dark,
)
