"""What a template may ask about an area as clinicians tell it: for the referral and the record.

Everything that was not recorded is empty, and prints as a line to write on.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import reduce

from markupsafe import Markup

from plainleaf.language import findings, phrases
from plainleaf.language.catalogs import Catalog
from plainleaf.language.matching import tag_of
from plainleaf.office.teeth import universal
from plainleaf.office.visits import Finding, Person, Size, Visit
from plainleaf.papers import insets
from plainleaf.papers.insets import EMPTY

Wording = Callable[[Catalog, str], str]


@dataclass(frozen=True)
class AreaFacts:
    """The finding of a visit in the words of one language."""

    visit: Visit | None
    words: Catalog

    @property
    def place(self) -> Markup:
        """Where it is, with its side, as clinicians say it."""
        if self._finding is None:
            return EMPTY
        parts = [findings.place(self.words, self._finding.place)]
        if self._finding.side:
            parts.append(findings.side(self.words, self._finding.side))
        return self._listed(parts)

    @property
    def tooth(self) -> Markup:
        """The nearest tooth in FDI and in Universal numbers: one tooth, in two ways."""
        tooth = self._finding.nearest_tooth if self._finding else None
        if tooth is None:
            return EMPTY
        return insets.isolate(f"FDI {tooth} (Universal {universal(tooth)})", "visit", "ltr")

    @property
    def size(self) -> Markup:
        """Length, and width where it was measured, in millimetres."""
        size = self._finding.size if self._finding else None
        if size is None:
            return EMPTY
        message = "%(length)s" if size.width is None else findings.millimetres(self.words)
        return insets.fill(message, {name: self._number(n) for name, n in _sides(size).items()})

    @property
    def looks(self) -> Markup:
        """Colour, surface and edge."""
        if self._finding is None:
            return EMPTY
        said = (
            (findings.colour, self._finding.colour),
            (findings.surface, self._finding.surface),
            (findings.edge, self._finding.edge),
        )
        return self._listed(wording(self.words, value) for wording, value in said if value)

    @property
    def feel(self) -> Markup:
        """How it feels to the finger."""
        return self._one(findings.feel, self._finding.feel if self._finding else None)

    @property
    def since(self) -> Markup:
        """How long it has been there, as it was told."""
        since = self._finding.since if self._finding else None
        if since is None:
            return EMPTY
        say = findings.days if since.days is not None else findings.weeks
        count = since.days if since.days is not None else since.weeks or 0
        return insets.fill(say(self.words, count), {"n": self._number(count)})

    @property
    def symptoms(self) -> Markup:
        """What the person feels; a word of its own when they were asked and feel nothing."""
        symptoms = self._finding.symptoms if self._finding else None
        if symptoms is None:
            return EMPTY
        if not symptoms:
            return Markup(findings.no_symptoms(self.words))
        return self._listed(findings.symptom(self.words, one) for one in symptoms)

    @property
    def ordinary(self) -> Markup:
        """Whether it shows in ordinary light."""
        return self._one(findings.ordinary, self._finding.ordinary_look if self._finding else None)

    @property
    def light(self) -> Markup:
        """How it looks under the light, or that nothing looked dark."""
        seen = self._finding.light if self._finding else None
        nothing = self.visit is not None and self.visit.nothing_dark
        return self._one(findings.light, seen or ("not dark" if nothing else None))

    @property
    def pressure(self) -> Markup:
        """What it does under gentle pressure."""
        return self._one(findings.pressure, self._finding.pressure if self._finding else None)

    @property
    def cause(self) -> Markup:
        """The likely cause."""
        return self._one(findings.cause, self._finding.likely_cause if self._finding else None)

    @property
    def photographs(self) -> Markup:
        """In which light photographs were taken."""
        taken = self._finding.photographs if self._finding else ()
        return self._listed(findings.photograph(self.words, one) for one in taken)

    @property
    def done(self) -> list[Markup]:
        """What the team did, a sentence each."""
        steps = self._finding.done if self._finding else ()
        return [Markup(phrases.step_done(self.words, step)) for step in steps]

    @property
    def plan(self) -> Markup:
        """What was planned last: at the second look, else at the first."""
        outcome = self.visit.recheck_outcome if self.visit else None
        first = self._finding.plan if self._finding else None
        return self._one(findings.plan, (outcome.plan if outcome else None) or first)

    @property
    def urgency(self) -> Markup:
        """How soon a specialist should see the person."""
        return self._one(findings.urgency, self._finding.urgency if self._finding else None)

    @property
    def outcome(self) -> Markup:
        """What the second look showed."""
        found = self.visit.recheck_outcome if self.visit else None
        return self._one(findings.outcome, found.found if found else None)

    @property
    def decision(self) -> Markup:
        """What the person decided about the light look."""
        return self._one(findings.decision, self.visit.decision if self.visit else None)

    @property
    def normal(self) -> Markup:
        """The places that were looked at and were as they should be."""
        places = self.visit.normal if self.visit else ()
        return self._listed(findings.place(self.words, one) for one in places)

    @property
    def reach(self) -> Markup:
        """Phone and e-mail of the person."""
        if self.visit is None:
            return EMPTY
        ways = (self.visit.person.phone, self.visit.person.email)
        return self._listed(insets.isolate(way, "visit", "ltr") for way in ways if way)

    @property
    def address(self) -> Markup:
        """Where the person lives."""
        lines = self.visit.person.address if self.visit else ()
        return self._listed(insets.isolate(line, "visit") for line in lines)

    @property
    def language_needs(self) -> Markup:
        """The person's language, and whether an interpreter or large print is needed."""
        if self.visit is None:
            return EMPTY
        person = self.visit.person
        needs: list[str] = list(self._languages(person))
        needs += [findings.interpreter_needed(self.words)] if person.interpreter else []
        needs += [findings.large_print(self.words)] if person.large_print else []
        return self._listed(needs)

    @property
    def _finding(self) -> Finding | None:
        return self.visit.finding if self.visit else None

    def _languages(self, person: Person) -> Iterator[Markup]:
        """What the person reads, and what is interpreted where that is another language."""
        helped = person.interpreter.language if person.interpreter else None
        told = [tag_of(one) or one for one in (person.language, helped) if one]
        for one in dict.fromkeys(told):
            named = self.words.language.named(one) if tag_of(one) else one
            yield insets.isolate(named, "visit")

    def _one(self, wording: Wording, value: str | None) -> Markup:
        return Markup(wording(self.words, value)) if value else EMPTY

    def _number(self, value: float) -> Markup:
        return insets.isolate(self.words.language.number(value), "visit")

    def _listed(self, parts: Iterable[str]) -> Markup:
        return reduce(self._after, map(Markup.escape, parts), EMPTY)

    def _after(self, first: Markup, following: Markup) -> Markup:
        if not first:
            return following
        return insets.fill(findings.joined(self.words), {"first": first, "following": following})


def _sides(size: Size) -> dict[str, float]:
    sides = {"length": size.length, "width": size.width}
    return {name: value for name, value in sides.items() if value is not None}
