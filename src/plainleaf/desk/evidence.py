"""What the practice asks of the numbers: traces, what is out of date, its own rows, plain trees."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from plainleaf import paths
from plainleaf.desk.acts import OWN_FIGURES, Desk, demo_visit
from plainleaf.errors import EvidenceProblem, OutputProblem
from plainleaf.evidence.claims import Claim, read_claims
from plainleaf.evidence.own import RowProblem, append_rows, read_rows
from plainleaf.evidence.people import Estimate, PeopleTree, people_tree
from plainleaf.evidence.rates import Rate, fold, read_registry, standard, standardised
from plainleaf.evidence.tables import Source, Tables, load
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import PAPERS, paper
from plainleaf.papers.checks import references, trace

_TOLD = {"paper": "its code: wording, figures, facts, check"}
"""What a number stands for when it says nothing by itself."""


@dataclass(frozen=True)
class Cited:
    """A number on a paper: as printed, and where it comes from."""

    printed: str
    origin: str
    exact: str
    source: str
    how_read: str


def add_figures(desk: Desk, file: Path) -> tuple[int, tuple[RowProblem, ...]]:
    """Take a practice's or a country's own rows into its store; returns how many are new.

    Rows with a problem are returned, each with its line; the good ones are taken all the same.
    """
    if desk.folder is None:
        raise OutputProblem(
            "There is no folder of a practice to keep the rows in.",
            "Own figures belong to the practice that brought them.",
            "Run the command where your practice.toml is, or name it with '--practice'.",
        )
    tables = load()
    rows = read_rows(file, tables.sources)
    added = append_rows(
        desk.folder / OWN_FIGURES, rows, taken=frozenset(one.id for one in tables.figures)
    )
    return added, rows.problems


def claims() -> tuple[Claim, ...]:
    """Popular claims that the evidence does not carry, with what is and is not known."""
    ids = {figure.id for figure in load().figures}
    return read_claims(paths.evidence() / "claims.toml", ids)


def accuracy_tree(
    tables: Tables, study: str, prevalence_percent: float, total: int, with_caveat: bool
) -> PeopleTree:
    """What an accuracy from the tables means for ``total`` people, if so many percent are ill.

    Raises EvidenceProblem when the accuracy comes from specialist clinics, unless the caveat is
    to be printed.
    """
    rows = tables.study(study)
    if missing := {"sensitivity", "specificity"} - set(rows):
        raise EvidenceProblem(
            f"The study '{study}' has no {' and no '.join(sorted(missing))}.",
            "Without both, a false alarm and a miss cannot be told apart.",
            "Choose a study that has both ('plainleaf figures' lists them).",
        )
    sensitivity, specificity = (
        Estimate.percent(rows[name].value, rows[name].low, rows[name].high)
        for name in ("sensitivity", "specificity")
    )
    return people_tree(
        Estimate.percent(prevalence_percent),
        sensitivity,
        specificity,
        total,
        setting=rows["sensitivity"].setting,
        accept_caveat=with_caveat,
    )


def registry_rate(file: Path, standard_name: str) -> Rate:
    """The age-standardised rate of a registry file (age_from, cases, people)."""
    bands, weights = fold(read_registry(file), standard(standard_name))
    return standardised([one.cases for one in bands], [one.people for one in bands], weights)


def cite(desk: Desk, paper_id: str, visit: Visit | None = None, tag: str = "en") -> list[Cited]:
    """Every number on a paper traced: as printed, exact value, source, table, year, how read.

    A paper that needs a person is made for one of the demo's.
    """
    return [
        Cited(printed, kind, _TOLD.get(kind, reference), "", "")
        if kind != "figure"
        else _cited(desk.tables, printed, reference)
        for printed, kind, reference in trace(
            desk.page(paper_id, visit or demo_visit(paper(paper_id), "en", desk.today), tag)
        )
    ]


def _cited(tables: Tables, printed: str, reference: str) -> Cited:
    figures = [tables.figure(one) for one in references(reference)]
    mark = " - " if " - " in reference else " of "
    exact = mark.join(f"{one.value:,g}" for one in figures)
    source = tables.sources[figures[0].source]
    where = f", {figures[0].locator}" if figures[0].locator else ""
    edition = source.edition or source.published
    return Cited(
        printed,
        "figure",
        f"{exact} ({', '.join(one.id for one in figures)})",
        f"{source.publisher}. {source.title}, {edition}{where}; {figures[0].period}",
        ", ".join(sorted({one.how_read for one in figures})),
    )


def _english_pages(desk: Desk) -> Iterator[Page]:
    """Every paper as this practice prints it in English, for one of the demo's people."""
    for one in PAPERS.values():
        yield desk.page(one.id, demo_visit(one, "en", desk.today), "en")


def figure_places(desk: Desk) -> dict[str, list[str]]:
    """On which papers each figure stands, for this practice, in English: figure id to paper ids."""
    found: dict[str, list[str]] = {}
    for page in _english_pages(desk):
        for _, kind, reference in trace(page):
            for figure_id in references(reference) if kind == "figure" else ():
                if page.paper not in found.setdefault(figure_id, []):
                    found[figure_id].append(page.paper)
    return found


@dataclass(frozen=True)
class Overdue:
    """A source whose day of review has passed, and the papers that its figures stand on."""

    source: Source
    papers: tuple[str, ...]


def overdue(desk: Desk) -> list[Overdue]:
    """Which sources are out of date on the desk's day; those that stand on papers come first."""
    stands: dict[str, set[str]] = {}
    for page in _english_pages(desk):
        for note in page.sources:
            stands.setdefault(note.source, set()).add(page.paper)
    found = [
        Overdue(source, tuple(sorted(stands.get(source.id, ()))))
        for source in desk.tables.out_of_date(desk.today)
    ]
    return sorted(found, key=lambda one: (not one.papers, one.source.review_by, one.source.id))
