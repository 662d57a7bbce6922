"""What a recorded visit gives cause to say to the clinician. Advice only: nothing is decided here.

The rules look at what was recorded and never at what was not. None of them raises or stops a paper:
the clinician's choice always wins. What would make a paper untrue is no advice and stops it
(``office.contradictions``).
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

from plainleaf.errors import FactsProblem
from plainleaf.office.plans import LAST_LETTER, NOT_COMING, STEPS, plan_now
from plainleaf.office.practice import Look
from plainleaf.office.teeth import side_of, upper
from plainleaf.office.visits import Finding, Plan, Visit

Code = Literal[
    "colour-returns",
    "no-cause",
    "suspicious",
    "not-coming-back",
    "still-there",
    "overdue",
    "outside-window",
    "light-alone",
    "light-without-yes",
    "other-side",
    "also-normal",
    "nothing-eased",
    "letter-against-plan",
    "came-after-all",
    "gone-and-referred",
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
        """First and last day for the second look, or None when nobody can tell."""
        try:
            return self.look.recheck_window(self.visit.day) if self.visit.day else None
        except FactsProblem:
            return None

    @property
    def plan(self) -> Plan | None:
        """What the clinician planned last; no rule stands in for a plan here."""
        outcome = self.visit.recheck_outcome
        return (outcome.plan if outcome else None) or self.finding.plan


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
    if case.finding.likely_cause != "none found" or case.plan == "refer now":
        return None
    return Advice(
        "no-cause",
        "No ordinary cause was found for the area.",
        "Refer now; do not only watch it.",
        contradicts=case.plan == "re-check",
    )


def _suspicious(case: _Case) -> Advice | None:
    # ADA guideline 2017 (CL-02): a suspicious area is biopsied or referred at once, not watched.
    features = tuple(_features(case.finding, case.look.sore_weeks))
    if not features or case.plan == "refer now":
        return None
    return Advice(
        "suspicious",
        f"The record names {_joined(features)}.",
        "Refer now; do not wait for a second look.",
        contradicts=case.plan == "re-check",
    )


def _features(finding: Finding, sore_weeks: int) -> Iterator[str]:
    """What makes an area suspicious, by feature: every sign of which our letters warn, and more."""
    if finding.colour in _COLOURS:
        yield f"a {finding.colour} patch"
    if finding.surface == "wart-like":
        yield "a wart-like surface"
    if finding.feel in ("firm", "hard", "fixed", "hard and fixed"):
        yield f"a {finding.feel} feel"
    if finding.since and finding.since.in_days > 7 * sore_weeks:
        what = "an ulcer" if finding.surface == "ulcer" else "an area"
        yield f"{what} for longer than {sore_weeks} week{'s' if sore_weeks > 1 else ''}"
    yield from (said for name, said in _SIGNS.items() if name in (finding.symptoms or ()))


_COLOURS = ("red", "red and white", "white", "brown or black")
"""Red and mixed: NICE NG12 (CL-05). White and pigmented: the Irish list of NCCP (CL-06). Surface
and feel: fields of referral forms (CL-07), and a hard area on the Irish list. How long: NICE NG12
for ulcers, CL-04 and CL-06 for any area; the number of weeks is the practice's own."""

_SIGNS = {
    "numbness": "numbness",
    "bleeding": "bleeding",
    "loose tooth": "a loose tooth",
    "neck lump": "a lump in the neck",
    "trouble swallowing": "trouble swallowing",
    "trouble opening": "trouble opening the mouth",
    "earache": "earache",
    "weight loss": "weight loss",
}
"""Numb, loose: CL-06 (Ireland, Scotland). Neck lump: CL-05. Ear: CL-06 (Scotland). Bleeding,
swallowing, opening, weight: symptoms that a referral asks for (CL-07), bleeding also CL-16."""


def _joined(parts: tuple[str, ...]) -> str:
    return " and ".join((", ".join(parts[:-1]), parts[-1])) if len(parts) > 1 else parts[0]


def _not_coming_back(case: _Case) -> Advice | None:
    # Common practice, no source; the follow-up letter promises it.
    said = case.visit.coming_back
    if said is None or said not in NOT_COMING:
        return None
    return Advice(
        "not-coming-back",
        f"The person {said.replace('want to', 'want to come')} for the second look.",
        "Offer the letter for a specialist at once.",
        contradicts=case.plan == "re-check",
    )


def _still_there(case: _Case) -> Advice | None:
    # ADA guideline 2017 (CL-02): not gone and not explained, so biopsy or refer. A smaller area
    # has until the last day of the window; the window itself is common practice (CL-04).
    outcome = case.visit.recheck_outcome
    if outcome is None or outcome.found == "gone" or case.plan == "refer now":
        return None
    if case.window and outcome.day < case.window[0 if outcome.found == "still there" else 1]:
        return None
    return Advice(
        "still-there",
        f"At the second look the area was {outcome.found}.",
        "Refer now, unless an ordinary cause explains it.",
        contradicts=outcome.plan == "re-check" and case.finding.likely_cause == "none found",
    )


def _overdue(case: _Case) -> Advice | None:
    # Common practice, no source: a second look that did not happen must not be forgotten.
    planned = case.finding.plan == "re-check" or case.visit.recheck is not None
    if case.visit.recheck_outcome or not planned or case.plan == "refer now":
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


def _light_without_yes(case: _Case) -> Advice | None:
    # The record disagrees with itself; papers for the patient that tell of the light stop.
    shown = case.finding.light or ("nothing dark" if case.visit.nothing_dark else None)
    if shown is None or case.visit.decision not in ("declined", "wants time"):
        return None
    return Advice(
        "light-without-yes",
        f"The person {_DECIDED[case.visit.decision]}, and the light is recorded as '{shown}'.",
        "Correct the decision, or take out what the light showed.",
        contradicts=True,
    )


_DECIDED = {"declined": "declined the light look", "wants time": "wants time to decide"}


def _other_side(case: _Case) -> Advice | None:
    # ISO 3950: the first digit of a tooth is its quadrant. In the middle the first two teeth are
    # near enough.
    area, tooth = case.finding, case.finding.nearest_tooth
    if tooth is None:
        return None
    near = side_of(tooth)
    apart = area.side in ("left", "right") and area.side != near
    apart |= area.side == "middle" and tooth % 10 > _NEAR_THE_MIDDLE
    row = "upper" if upper(tooth) else "lower"
    jaw = next((one for one in ("upper", "lower") if one in area.place), row)
    if not apart and jaw == row:
        return None
    shown = area.place if area.side is None else f"{area.place}, {area.side}"
    return Advice(
        "other-side",
        f"The area is at '{shown}', and the nearest tooth, {tooth}, is {row} {near}.",
        "Correct the side, the place or the tooth: a referral with the wrong one misleads.",
        contradicts=True,
    )


_NEAR_THE_MIDDLE = 2


def _also_normal(case: _Case) -> Advice | None:
    # The note for the record would list one place twice. The other side of it may well be normal.
    if case.finding.place not in case.visit.normal:
        return None
    return Advice(
        "also-normal",
        f"The place '{case.finding.place}' is recorded as normal, and an area was found there.",
        "Take the place out of the normal ones, unless only its other side is meant.",
        contradicts=True,
    )


def _nothing_eased(case: _Case) -> Advice | None:
    # Common practice, no source. An area of which the light left us unsure has no other paper.
    if case.paper != "home-care" or case.finding.light == "unsure":
        return None
    if STEPS.intersection(case.finding.done):
        return None
    return Advice(
        "nothing-eased",
        "Nothing was smoothed, eased or treated, and the care at home was asked for.",
        "Add what was done, or choose another paper.",
        contradicts=True,
    )


_REFERRING = ("referral", "referral-copy", "specialist-visit", "decline-referral")


def _letter_against_plan(case: _Case) -> Advice | None:
    # What the paper says is to come differs from what the clinician planned; no source needed.
    if plan_now(case.visit) != "re-check" or case.visit.coming_back in NOT_COMING:
        return None
    # The last letter about a missed second look brings a referral whatever was planned.
    if case.paper not in _REFERRING or case.visit.missed_rechecks >= LAST_LETTER:
        return None
    return Advice(
        "letter-against-plan",
        "The plan is to look again, and a paper of a referral was asked for.",
        "Correct the plan, or choose the letter about the second look.",
        contradicts=True,
    )


def _came_after_all(case: _Case) -> Advice | None:
    # Common practice, no source: after the last letter a referral was on its way.
    outcome = case.visit.recheck_outcome
    if outcome is None or outcome.found != "gone" or case.visit.missed_rechecks < LAST_LETTER:
        return None
    return Advice(
        "came-after-all",
        f"{case.visit.missed_rechecks} second looks were missed, and the area is recorded as gone.",
        "Make sure that somebody looked at it, and take back a referral that is under way.",
        contradicts=True,
    )


def _gone_and_referred(case: _Case) -> Advice | None:
    # Common practice, no source: a specialist finds nothing to look at, and may wonder.
    outcome = case.visit.recheck_outcome
    if outcome is None or outcome.found != "gone" or case.plan == "refer now":
        return None
    if case.paper not in _REFERRING:
        return None
    return Advice(
        "gone-and-referred",
        "The area is recorded as gone, and a paper of a referral was asked for.",
        "Correct what the second look showed or the plan, or choose another paper.",
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
    _light_without_yes,
    _other_side,
    _also_normal,
    _nothing_eased,
    _letter_against_plan,
    _came_after_all,
    _gone_and_referred,
)
