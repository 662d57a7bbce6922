"""What a template may ask about the practice, the person and the visit.

A fact that was not given prints as an empty line to write on; facts that a paper cannot do without
are listed in the catalogue and checked before anything is composed.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date as Date
from datetime import datetime
from functools import lru_cache, reduce
from itertools import groupby

from markupsafe import Markup

from plainleaf.language import findings, phrases
from plainleaf.language.catalogs import Catalog
from plainleaf.language.marks import WEEK
from plainleaf.language.matching import tag_of
from plainleaf.language.texting import FORMS, day_forms
from plainleaf.office.plans import (
    comes_next,
    explained,
    is_looked_at_again,
    is_referred,
    letter_about_missed,
    next_look,
    plan_now,
)
from plainleaf.office.practice import Practice, Staff
from plainleaf.office.results import Results
from plainleaf.office.visits import Visit
from plainleaf.papers import insets
from plainleaf.papers.insets import EMPTY, Count

COUNTED = frozenset(("dark", "gone", "not_back", "referred", "biopsied", "harmless", "serious"))
_OUT_OF = 100
_KEPT = 64
"""How many practices, each in one language, are remembered by the words for their hours."""


@dataclass(frozen=True)
class PracticeFacts:
    """The practice's settings in the words of one language."""

    practice: Practice
    words: Catalog

    @property
    def name(self) -> Markup:
        """The practice's name."""
        return insets.name(self.practice.name, "practice", self.words.language)

    @property
    def called(self) -> Markup:
        """The practice's name in text messages: the short one that it set, or the whole one."""
        return insets.name(self.practice.called, "practice", self.words.language)

    @property
    def phone(self) -> Markup:
        """The front desk's number."""
        return insets.phone(self.practice, self.practice.phones.desk)

    @property
    def out_of_hours(self) -> Markup:
        """Whom to call when the practice is closed; empty when there is nobody."""
        number = self.practice.phones.out_of_hours
        return insets.phone(self.practice, number) if number else EMPTY

    @property
    def emergency(self) -> Markup:
        """The local emergency number."""
        return insets.phone(self.practice, self.practice.phones.emergency)

    @property
    def website(self) -> Markup:
        """The practice's address on the web, as it is printed."""
        shown = self.practice.links.website.removeprefix("https://").rstrip("/")
        link = Markup('<a href="{}">{}</a>')
        return link.format(self.practice.links.website, insets.isolate(shown, "practice", "ltr"))

    @property
    def website_address(self) -> str:
        """The practice's address on the web, whole, for a QR code."""
        return self.practice.links.website

    @property
    def fee(self) -> Markup:
        """The price of the light look."""
        fee = self.practice.fee
        return insets.isolate(self.words.language.money(fee.amount, fee.currency), "practice")

    @property
    def hours(self) -> Markup:
        """Opening hours; days that follow each other with the same hours stand together."""
        return _hours(self.practice, self.words)

    @property
    def look_minutes(self) -> Count:
        """How long the room is dark, in minutes."""
        return Count.own(self.practice.look.minutes, self.words.language)

    @property
    def sore_weeks(self) -> Count:
        """After how many weeks a sore that stays is a reason to call."""
        return Count.own(self.practice.look.sore_weeks, self.words.language)

    @property
    def retention_years(self) -> Count:
        """How many years a record is kept."""
        return Count.own(self.practice.look.retention_years, self.words.language)

    @property
    def recheck_span(self) -> Markup:
        """The time after which an area is looked at again, such as two to four weeks."""
        look = self.practice.look
        message, first, last = phrases.weeks_or_days(
            self.words, look.recheck_days, look.recheck_latest_days
        )
        language = self.words.language
        return insets.fill(
            message, {"first": Count.own(first, language), "last": Count.own(last, language)}
        )


@lru_cache(maxsize=_KEPT)
def _hours(practice: Practice, words: Catalog) -> Markup:
    parts = []
    for times, group in groupby(WEEK, practice.hours.times):
        days = [words.language.weekday(day) for day in group]
        if times is None:
            continue
        shown = days[0]
        if len(days) > 1:
            shown = phrases.day_range(words, days[0], days[-1])
        opens, closes = (words.language.clock(t).replace(" ", "\u00a0") for t in times)
        span = f"{times[0]:%H:%M}/{times[1]:%H:%M}"
        parts.append(insets.moment(phrases.opening(words, shown, opens, closes), span))
    message = phrases.hours_joined(words)
    return reduce(lambda one, two: insets.fill(message, {"first": one, "following": two}), parts)


@dataclass(frozen=True)
class VisitFacts:
    """What was recorded about the person and the visit, in the words of one language."""

    visit: Visit | None
    practice: Practice
    words: Catalog
    today: Date

    @property
    def name(self) -> Markup:
        """The person's whole name."""
        return (
            insets.name(self.visit.person.name, "visit", self.words.language)
            if self.visit
            else EMPTY
        )

    @property
    def called(self) -> Markup:
        """The name for a card: the one the person goes by, else the whole name."""
        if self.visit is None:
            return EMPTY
        person = self.visit.person
        return insets.name(person.called or person.name, "visit", self.words.language)

    @property
    def addressed(self) -> Markup:
        """Whom a letter greets: the person, or whoever decides for them."""
        guardian = self.visit.person.guardian if self.visit else None
        return insets.name(guardian.name, "visit", self.words.language) if guardian else self.name

    @property
    def on_behalf(self) -> Markup:
        """A line with the person's name, when the letter greets somebody else."""
        if self.visit is None or self.visit.person.guardian is None:
            return EMPTY
        return insets.fill(phrases.for_somebody(self.words), {"name": self.name})

    @property
    def born(self) -> Markup:
        """Date of birth, without the weekday."""
        born = self.visit.person.born if self.visit else None
        if born is None:
            return EMPTY
        return insets.moment(self.words.language.short_date(born), born.isoformat())

    @property
    def record(self) -> Markup:
        """The practice's own number for the person."""
        record = self.visit.person.record if self.visit else None
        return insets.isolate(record, "visit", "ltr") if record else EMPTY

    @property
    def guardian(self) -> Markup:
        """Who decides for the person, and who that is to them; empty when the person decides."""
        one = self.visit.person.guardian if self.visit else None
        if one is None:
            return EMPTY
        message = phrases.name_and_role(self.words)
        shown = insets.name(one.name, "visit", self.words.language)
        role = findings.relationship(self.words, one.relationship)
        return insets.fill(message, {"name": shown, "role": role})

    @property
    def interpreter(self) -> Markup:
        """The name or the number of the interpreter."""
        one = self.visit.person.interpreter if self.visit else None
        return (
            insets.name(one.name_or_id, "visit", self.words.language)
            if one and one.name_or_id
            else EMPTY
        )

    @property
    def interpreter_language(self) -> Markup:
        """The language into which the talk is interpreted."""
        one = self.visit.person.interpreter if self.visit else None
        if one is None:
            return EMPTY
        tag = tag_of(one.language)
        named = self.words.language.named(tag) if tag else one.language
        return insets.isolate(named, "visit")

    @property
    def interpreter_way(self) -> str:
        """How the interpreter takes part; empty when that is not known."""
        one = self.visit.person.interpreter if self.visit else None
        return findings.interpreted(self.words, one.mode) if one and one.mode else ""

    @property
    def date(self) -> Markup:
        """The day of the visit."""
        return self._day(self.visit.day if self.visit else None)

    @property
    def place(self) -> Markup:
        """Where the dark area is, in plain words."""
        assert self.visit is not None
        assert self.visit.finding is not None
        place = phrases.mouth_place(self.words, self.visit.finding.place)
        if self.visit.finding.side is None:
            return Markup(place)
        side = phrases.mouth_side(self.words, self.visit.finding.side)
        return Markup(phrases.place_and_side(self.words, place, side))

    @property
    def done(self) -> list[Markup]:
        """What the team did, a sentence each."""
        assert self.visit is not None
        assert self.visit.finding is not None
        return [Markup(phrases.step_done(self.words, step)) for step in self.visit.finding.done]

    @property
    def recheck(self) -> Markup:
        """Day and time of the booked second look."""
        when = self.visit.recheck if self.visit else None
        return insets.day_and_time(self.words, when) if when else EMPTY

    @property
    def latest(self) -> Markup:
        """The last day on which the second look should happen."""
        day = self.visit.day if self.visit else None
        return self._day(self.practice.look.recheck_window(day)[1] if day else None)

    @property
    def referred(self) -> bool:
        """Whether a specialist is what comes next, so that no day for a second look is named."""
        return self.visit is not None and is_referred(self.visit)

    @property
    def explained(self) -> bool:
        """Whether an ordinary cause of the area was recorded."""
        return self.visit is not None and explained(self.visit)

    @property
    def cause(self) -> str:
        """The ordinary cause of the area; empty when none was recorded."""
        finding = self.visit.finding if self.visit else None
        cause = finding.likely_cause if finding and self.explained else None
        return findings.cause(self.words, cause) if cause else ""

    @property
    def unexplained(self) -> bool:
        """Whether it was recorded that no ordinary cause was found."""
        finding = self.visit.finding if self.visit else None
        return finding is not None and finding.likely_cause == "none found"

    @property
    def looked_at_again(self) -> bool:
        """Whether the practice itself looks at an area again."""
        return self.visit is not None and plan_now(self.visit) == "re-check"

    @property
    def next_look(self) -> Markup:
        """Day and time of the look that follows the last one that was recorded."""
        when = next_look(self.visit) if self.visit else None
        return insets.day_and_time(self.words, when) if when else EMPTY

    @property
    def coming_day(self) -> Markup:
        """The day of the first booking that is not over, whatever it is for."""
        when = self.visit.comes_next_from(self.today) if self.visit else None
        return self._day(when.date() if when else None)

    @property
    def outcome(self) -> str:
        """What the second look showed: gone, smaller, still there, or nothing yet."""
        found = self.visit.recheck_outcome if self.visit else None
        return found.found if found else ""

    @property
    def outcome_day(self) -> Markup:
        """The day of the second look."""
        found = self.visit.recheck_outcome if self.visit else None
        return self._day(found.day if found else None)

    @property
    def missed_day(self) -> Markup:
        """The day on which the second look was booked and did not take place."""
        when = self.visit.recheck if self.visit else None
        return self._day(when.date() if when else None)

    @property
    def letter(self) -> str:
        """Which letter about a missed second look this is: first, second or last."""
        return letter_about_missed(self.visit) if self.visit else ""

    @property
    def next_days(self) -> dict[str, Markup]:
        """The day of the next visit in each form that a short message may have."""
        if self._next is None:
            return dict.fromkeys(FORMS, EMPTY)
        day = self._next.date()
        forms = day_forms(self.words.language, day)
        return {form: insets.moment(text, day.isoformat()) for form, text in forms.items()}

    @property
    def next_day(self) -> Markup:
        """The day of the next visit, whatever it is for."""
        return self._day(self._next.date() if self._next else None)

    @property
    def next_time(self) -> Markup:
        """The time of the next visit."""
        if self._next is None:
            return EMPTY
        return insets.moment(self.words.language.clock(self._next), f"{self._next:%H:%M}")

    @property
    def explained_by(self) -> Markup:
        """Who explained the light look."""
        return self._staff(self.visit.explained_by if self.visit else None)

    @property
    def done_by(self) -> Markup:
        """Who did the light look."""
        return self._staff(self.visit.done_by if self.visit else None)

    @property
    def signed_by(self) -> Markup:
        """Who stands under a letter: who did the look, else the practice's dentist."""
        one = (self.visit.done_by if self.visit else None) or self.practice.first("dentist")
        return self._staff(one)

    @property
    def _next(self) -> datetime | None:
        return comes_next(self.visit, self.today) if self.visit else None

    def _day(self, day: Date | None) -> Markup:
        return insets.whole_date(self.words.language, day) if day else EMPTY

    def _staff(self, one: Staff | None) -> Markup:
        if one is None:
            return EMPTY
        message = phrases.name_and_role(self.words)
        shown = insets.name(one.name, "practice", self.words.language)
        return insets.fill(message, {"name": shown, "role": phrases.role(self.words, one.role)})


@dataclass(frozen=True)
class ResultFacts:
    """The practice's own counts of dark areas, in the words of one language.

    ``gone_range`` is the Wilson interval of the share that was gone, of those looked at again.
    """

    results: Results
    words: Catalog

    def __getattr__(self, name: str) -> Count:
        if name not in COUNTED:
            raise AttributeError(name)
        return Count.own(getattr(self.results, name), self.words.language)

    @property
    def first_day(self) -> Markup:
        """The day on which the first of the areas was seen."""
        return self._day(self.results.first_day)

    @property
    def last_day(self) -> Markup:
        """The day on which the last of the areas was seen."""
        return self._day(self.results.last_day)

    @property
    def remaining(self) -> Count:
        """Still there at the re-check, smaller or not."""
        return Count.own(self.results.smaller + self.results.still_there, self.words.language)

    @property
    def gone_range(self) -> tuple[Count, Count, Count]:
        """Low, high and out of how many."""
        looked_at = self.results.dark - self.results.not_back
        low, high = self.results.interval(self.results.gone, looked_at).out_of(_OUT_OF)
        language = self.words.language
        return Count.own(low, language), Count.own(high, language), Count.own(_OUT_OF, language)

    def _day(self, day: Date) -> Markup:
        return insets.moment(self.words.language.short_date(day), day.isoformat())


_NEEDS: dict[str, Callable[[Visit], bool]] = {
    "the person": lambda visit: True,
    "the day of the visit": lambda visit: visit.day is not None,
    "the area": lambda visit: visit.finding is not None,
    "an area that looked dark under the light": lambda visit: (
        visit.finding is not None and visit.finding.light == "dark"
    ),
    "a light look at which nothing looked dark": lambda visit: (
        visit.nothing_dark or (visit.finding is not None and visit.finding.light == "not dark")
    ),
    "the booked re-check": lambda visit: visit.recheck is not None,
    "the booked re-check, or a referral": lambda visit: (
        visit.recheck is not None or is_referred(visit)
    ),
    "a re-check that was missed": lambda visit: visit.missed_rechecks > 0,
    "what the re-check showed": lambda visit: visit.recheck_outcome is not None,
    "the plan after the re-check": lambda visit: (
        visit.recheck_outcome is None
        or visit.recheck_outcome.found != "still there"
        or plan_now(visit) is not None
    ),
    "the visit for the next look": lambda visit: (
        not is_looked_at_again(visit) or next_look(visit) is not None
    ),
    "the next visit": lambda visit: visit.comes_next is not None,
}
"""The facts that the catalogue may ask for, in its words, and whether a visit has them."""


def missing(needs: tuple[str, ...], visit: Visit | None) -> list[str]:
    """Which of the needed facts were not given."""
    return [need for need in needs if visit is None or not _NEEDS[need](visit)]
