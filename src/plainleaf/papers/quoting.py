"""Figures and positions for a template: asking for one words it, cites it and lists its source."""

from dataclasses import dataclass, field
from datetime import date

from markupsafe import Markup

from plainleaf.errors import EvidenceProblem, PaperProblem
from plainleaf.evidence.arithmetic import ratio
from plainleaf.evidence.intervals import wilson
from plainleaf.evidence.measures import FAMILIES, WORLD
from plainleaf.evidence.people import PeopleTree, tree_from_counts
from plainleaf.evidence.tables import Figure, Position, Source, Tables
from plainleaf.language import phrases
from plainleaf.language.catalogs import Catalog
from plainleaf.papers import insets
from plainleaf.papers.insets import Count


@dataclass
class Citations:
    """The sources of one page in the order in which they were first asked for.

    ``rows`` are the figures that the page worded or counted with, ``positions`` those it tells.
    """

    tables: Tables
    order: dict[str, list[str]] = field(default_factory=dict)
    rows: dict[str, Figure] = field(default_factory=dict)
    positions: list[Position] = field(default_factory=list)

    def number(self, source: str, quoted_in: str = "") -> int:
        """The number of a source on this page; a source not yet cited joins the list."""
        vias = self.order.setdefault(source, [])
        if quoted_in and quoted_in not in vias:
            vias.append(quoted_in)
        return list(self.order).index(source) + 1

    @property
    def cited(self) -> list[tuple[Source, list[Source]]]:
        """Each cited source, and those in which its values were seen quoted."""
        known = self.tables.sources
        return [(known[name], [known[via] for via in vias]) for name, vias in self.order.items()]

    def noted(self, rows: dict[str, Figure]) -> dict[str, Figure]:
        """The same rows; each one that is asked for is kept as used on this page."""
        return _Noted(rows, self.rows)

    def review_by(self) -> date:
        """The first day on which one of the cited sources must be looked at again.

        Raises PaperProblem on a page that cites none.
        """
        if not self.cited:
            raise _not_there("a source with the day of its review")
        return min(source.review_by for source, _ in self.cited)


class _Noted(dict[str, Figure]):
    """Rows by measure that note which of them are asked for."""

    def __init__(self, rows: dict[str, Figure], used: dict[str, Figure]) -> None:
        super().__init__(rows)
        self.used = used

    def __getitem__(self, measure: str) -> Figure:
        if measure not in self:
            raise _not_there(f"a figure of '{measure}' among {', '.join(self)}")
        row = super().__getitem__(measure)
        self.used[row.id] = row
        return row


def _not_there(what: str) -> PaperProblem:
    return PaperProblem(
        f"The template asks for something that is not there: {what}.",
        "A gap in a sentence could change what it means.",
        "Correct the template, or bring the figures that it asks for.",
    )


@dataclass(frozen=True)
class Worded:
    """One figure, ready to be set into a sentence."""

    figure: Figure
    words: Catalog
    citations: Citations

    @property
    def about(self) -> Markup:
        """The value to two leading digits, cited; the sentence says 'about'."""
        return self._set(phrases.about(self.words, self.figure.value))

    @property
    def exact(self) -> Markup:
        """The value as it was published, cited."""
        return self._set(self.words.language.number(self.figure.value))

    def _set(self, text: str) -> Markup:
        if not self.figure.printable:
            raise EvidenceProblem(
                f"The figure '{self.figure.id}' is only remembered and was never read.",
                "A remembered number must not reach a patient.",
                "Read it at its source and correct 'how_read', or ask for another figure.",
            )
        number = self.citations.number(self.figure.source, self.figure.quoted_in)
        return insets.figure(text, self.figure.id, self.figure.value) + insets.cite(number)


@dataclass(frozen=True)
class Group:
    """Figures that belong together: one edition for one place, or one study."""

    figures: dict[str, Figure]
    words: Catalog
    citations: Citations
    other: dict[str, Figure] = field(default_factory=dict)

    def __getitem__(self, measure: str) -> Worded:
        return Worded(self.figures[measure], self.words, self.citations)

    @property
    def _one(self) -> Figure:
        return self.figures[next(iter(self.figures))]

    @property
    def place(self) -> Markup:
        """The country or the world in the language of the page, as it begins a sentence."""
        place = "001" if self._one.place == WORLD else self._one.place
        name = self.words.language.territory(place)
        return insets.isolate(name[:1].upper() + name[1:], "source")

    @property
    def year(self) -> Markup:
        """The year of the figures."""
        return insets.moment(self._one.period, self._one.period)

    @property
    def site(self) -> str:
        """The disease in plain words, as the source groups it."""
        return phrases.site(self.words, self._one.site)

    def rest(self, whole: str, part: str) -> Markup:
        """How many of the whole are not in the part."""
        left, right = self.figures[whole], self.figures[part]
        value = left.value - right.value
        shown = self.words.language.number(value)
        number = self.citations.number(left.source, left.quoted_in)
        return insets.figure(shown, f"{left.id} - {right.id}", value) + insets.cite(number)

    def people(self, total: int) -> "People":
        """The people of a study of the light look, out of a round number of people like them."""
        counts = {
            name: int(self.figures[name].value)
            for name in ("people-looked-at", "people-dark", "people-dark-disease", "people-missed")
        }
        tree = tree_from_counts(*counts.values(), total=total)
        range_ = wilson(counts["people-dark-disease"], counts["people-looked-at"])
        return People(tree, range_.out_of(total), self)

    @property
    def deaths_compared(self) -> Markup:
        """A sentence that compares the deaths with those of the familiar disease beside them."""
        mine, other = self.figures["deaths"], self.other["deaths"]
        worded = ratio(mine.value / other.value)
        if worded is None:
            raise EvidenceProblem(
                f"No plain words fit the ratio of '{mine.id}' to '{other.id}'.",
                "A comparison must be true for the whole interval.",
                "Leave the comparison out of the paper, or bring figures that can be compared.",
            )
        base = Worded(other, self.words, self.citations).about
        self.citations.number(mine.source, mine.quoted_in)
        times = insets.figure(
            self.words.language.number(worded.times),
            f"{mine.id} / {other.id}",
            mine.value / other.value,
        )
        message = phrases.deaths_compared(self.words, worded.kind)
        return insets.fill(message, {"other": base, "times": times})


@dataclass(frozen=True)
class People:
    """A study as whole people out of a round number, for a chart and its legend.

    The sentence that leads to the chart cites the study; the lines of the legend need not.
    """

    tree: PeopleTree
    range: tuple[int, int]
    group: Group

    def _share(self, value: int, *measures: str) -> Count:
        ids = (self.group.figures[name].id for name in (*measures, "people-looked-at"))
        shown = self.group.words.language.number(value)
        return Count.of(value, insets.figure(shown, " / ".join(ids), value))

    @property
    def total(self) -> Count:
        """The round number that all the others are parts of, cited."""
        one = self.group.figures["people-looked-at"]
        number = self.group.citations.number(one.source, one.quoted_in)
        count = self._share(self.tree.total)
        return Count.of(self.tree.total, count.markup + insets.cite(number))

    @property
    def found(self) -> Count:
        """Dark, and a sample showed disease."""
        return self._share(self.tree.found, "people-dark-disease")

    @property
    def false_alarms(self) -> Count:
        """Dark, and no disease was found."""
        return self._share(self.tree.false_alarms, "people-dark", "people-dark-disease")

    @property
    def missed(self) -> Count:
        """Not dark, and there was disease."""
        return self._share(self.tree.missed, "people-missed")

    @property
    def cleared(self) -> Count:
        """Not dark, and no disease was found."""
        return self._share(self.tree.cleared, "people-dark", "people-missed")

    @property
    def low(self) -> Count:
        """The least that ``found`` could be, by the Wilson interval of the study."""
        return self._share(self.range[0], "people-dark-disease")

    @property
    def high(self) -> Count:
        """The most that ``found`` could be, by the Wilson interval of the study."""
        return self._share(self.range[1], "people-dark-disease")

    @property
    def alt(self) -> str:
        """The chart in words, for those who cannot see it."""
        number = self.group.words.language.number
        return phrases.chart_alt(self.group.words) % {
            "total": number(self.tree.total),
            "solid": number(self.tree.found),
            "shaded": number(self.tree.false_alarms),
            "crossed": number(self.tree.missed),
            "open": number(self.tree.cleared),
        }


@dataclass(frozen=True)
class Figures:
    """What a template may ask of the evidence tables."""

    tables: Tables
    words: Catalog
    citations: Citations
    country: str
    oldest: int

    def newest(self, measures: tuple[str, ...], family: str, beside: str = "") -> Group:
        """The newest edition for the practice's country, else the world."""
        for one in (family, beside or family):
            if one not in FAMILIES:
                raise _not_there(f"cancer sites with the name '{one}'")
        found = self.tables.newest(measures, family, self.country, beside or None, self.oldest)
        mine = {figure.measure: figure for figure in found[: len(measures)]}
        other = {figure.measure: figure for figure in found[len(measures) :]}
        noted = self.citations.noted
        return Group(noted(mine), self.words, self.citations, noted(other))

    def study(self, name: str) -> Group:
        """All figures of one study."""
        rows = self.citations.noted(self.tables.study(name))
        return Group(rows, self.words, self.citations)


@dataclass(frozen=True)
class Stance:
    """One expert position, ready to be set into a sentence."""

    position: Position
    words: Catalog
    citations: Citations

    @property
    def body(self) -> Markup:
        """The name of the body, as it calls itself."""
        return insets.isolate(self.position.body, "position", "ltr", "en")

    @property
    def year(self) -> Markup:
        """The year of the position."""
        return insets.moment(str(self.position.year), str(self.position.year))

    @property
    def says(self) -> Markup:
        """What it says, cited."""
        number = self.citations.number(self.position.source)
        return Markup(phrases.says(self.words, self.position)) + insets.cite(number)

    @property
    def status_note(self) -> str:
        """A sentence if the position is being replaced."""
        return phrases.under_revision(self.words) if self.position.under_revision else ""


def stances(
    tables: Tables, topic: str, country: str, words: Catalog, citations: Citations
) -> list[Stance]:
    """The positions in force on a topic. Raises EvidenceProblem when there is none."""
    found = tables.positions_on(topic, country)
    if not found:
        raise EvidenceProblem(
            f"No expert position on '{topic}' is in force for {country}.",
            "A paper must say what expert panels advise, also when they advise against.",
            "Add one to positions.toml, or mark one as valid elsewhere.",
        )
    citations.positions += found
    return [Stance(position, words, citations) for position in found]
