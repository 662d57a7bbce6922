"""The acts of the practice: where settings, evidence, words and writers meet.

This is the only room that asks the clock. The steps of one paper are numbered in the log as in
DEVELOPERS.md: 1 check, 2 look up, 3 compose, 4 check, 5 write, 7 tell (6, record, is not built).
"""

import logging
import os
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from importlib import import_module
from pathlib import Path

from plainleaf import paths
from plainleaf.errors import EvidenceProblem, FactsProblem, LanguageProblem, OutputProblem, Problem
from plainleaf.evidence.claims import Claim, read_claims
from plainleaf.evidence.own import OwnRows, RowProblem, append_rows, merged, read_rows
from plainleaf.evidence.people import Estimate, PeopleTree, people_tree
from plainleaf.evidence.rates import Rate, fold, read_registry, standard, standardised
from plainleaf.evidence.tables import Source, Tables, load
from plainleaf.language.catalogs import Review, available, catalog, reviews
from plainleaf.language.extraction import of_paper, updated, wanted
from plainleaf.language.locales import language
from plainleaf.office.people import Row, read_list
from plainleaf.office.practice import Practice, read_practice
from plainleaf.office.results import Results, read_results
from plainleaf.office.visits import Visit, read_visit
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import PAPERS, paper
from plainleaf.papers.checks import check, references, trace
from plainleaf.papers.compose import Order, compose

log = logging.getLogger("plainleaf")

FORMATS = {"pdf": "pdf", "docx": "docx", "html": "html", "txt": "text"}
"""Each format with its writer's module. A writer is imported when it is first asked for: together
they would cost every command more time than most commands take."""

OWN_FIGURES = "own_figures.csv"
"""The practice's own rows of figures, beside practice.toml."""

Progress = Callable[[str], None]


def _silent(_: str) -> None:
    """Progress that nobody watches."""


@dataclass(frozen=True)
class LeftOut:
    """Somebody on a list for whom no paper was made, and why."""

    line: int
    name: str
    problem: Problem


@dataclass(frozen=True)
class DayResult:
    """What came of a list: the file, who is in it in order, and who is not."""

    file: Path
    printed: tuple[str, ...]
    left_out: tuple[LeftOut, ...]


class Desk:
    """One practice at work on one day. ``today`` is the clock's day unless it is given."""

    def __init__(
        self, practice: Practice, today: date | None = None, folder: Path | None = None
    ) -> None:
        self.practice = practice
        self.today = today or date.today()
        self.folder = folder

    @cached_property
    def tables(self) -> Tables:
        """The evidence with the practice's own rows, read once."""
        tables = load()
        store = self.folder / OWN_FIGURES if self.folder else None
        if store is None or not store.exists():
            return tables
        return merged(tables, _sound(read_rows(store, tables.sources)))

    @cached_property
    def results(self) -> Results | None:
        """The practice's own counts of dark areas, read once; None when it keeps none."""
        if self.practice.results is None or self.folder is None:
            return None
        return read_results(self.folder / self.practice.results.file)

    @cached_property
    def figure_ids(self) -> frozenset[str]:
        """The ids of all figures that are known."""
        return frozenset(figure.id for figure in self.tables.figures)

    @cached_property
    def signatures(self) -> tuple[Review, ...]:
        """Who has signed which translation, read once."""
        return reviews()

    def page(
        self, paper_id: str, visit: Visit | None = None, tag: str = "", large: bool = False
    ) -> Page:
        """A finished, checked page. Raises a Problem when it may not leave."""
        asked = paper(paper_id)
        tag = self._language(visit, tag)
        log.debug("1 check: %s for %s", paper_id, "a person" if visit else "nobody yet")
        large = large or (visit.person.large_print if visit else False)
        order = Order(asked, self.practice, visit, tag, large, self.today, self.results)
        log.debug("2 look up: practice, %s, figures", tag)
        tables, signatures = self.tables, self.signatures
        log.debug("3 compose")
        page = compose(order, tables, signatures)
        log.debug("4 check the page")
        check(page, asked, self.figure_ids)
        return page

    def hand_out(
        self,
        paper_id: str,
        out: Path,
        visit: Visit | None = None,
        tag: str = "",
        file_format: str = "",
        large: bool = False,
    ) -> Path:
        """Make one paper and put it where it was asked for. Returns the file."""
        writer = _format(out, file_format)
        page = self.page(paper_id, visit, tag, large)
        copies = 4 if page.shape == "card" and visit is None else 1
        return _put(out, write([page] * copies, writer))

    def day(
        self,
        people: Path,
        paper_id: str,
        out: Path,
        file_format: str = "",
        progress: Progress = _silent,
    ) -> DayResult:
        """Everybody's paper in their own language, in the order of the list, in one file.

        Nobody is lost: who cannot be printed is returned with the reason. Raises FactsProblem
        when nobody can be.
        """
        writer = _format(out, file_format)
        pages: list[Page] = []
        printed: list[str] = []
        left: list[LeftOut] = []
        for row in read_list(people):
            try:
                pages.append(self._row_page(row, paper_id))
                printed.append(row.name)
            except Problem as problem:
                left.append(LeftOut(row.line, row.name, problem))
            progress(row.name)
        if not pages:
            raise _nobody(people, left)
        return DayResult(_put(out, write(pages, writer)), tuple(printed), tuple(left))

    def _row_page(self, row: Row, paper_id: str) -> Page:
        if row.visit is None:
            assert row.problem is not None
            raise row.problem
        return self.page(paper_id, row.visit)

    def _language(self, visit: Visit | None, asked: str) -> str:
        tag = asked or (visit.person.language if visit else "")
        if not tag:
            tag = self.practice.languages[0]
        if tag not in available():
            raise LanguageProblem(
                f"There is no translation into '{tag}'.",
                "We do not print a paper in another language than the one that was asked for.",
                f"Choose one of {', '.join(available())}, or ask for an interpreter.",
            )
        return tag


def _nobody(people: Path, left: Sequence[LeftOut]) -> FactsProblem:
    reason = f" The first reason, line {left[0].line}: {left[0].problem.found}" if left else ""
    return FactsProblem(
        f"Nobody on {people.name} can be given this paper.{reason}",
        "An empty print file would look like a finished job.",
        "Correct the list, or choose a paper that needs fewer facts.",
    )


def _format(out: Path, asked: str) -> str:
    name = (asked or out.suffix.lstrip(".")).lower()
    if name not in FORMATS:
        raise OutputProblem(
            f"'{name or out.name}' is no format that we write.",
            "We do not guess what a file should be.",
            f"Use one of: {', '.join(FORMATS)}.",
        )
    return name


def write(pages: Sequence[Page], file_format: str) -> bytes:
    """Pages in one of the formats."""
    log.debug("5 write: %s", file_format)
    module = import_module(f"plainleaf.writers.{FORMATS[file_format]}")
    return bytes(module.write(pages))


def _put(out: Path, content: bytes) -> Path:
    """Write a file whole or not at all. Raises OutputProblem when the place will not take it."""
    try:
        with _beside(out) as part:
            part.write_bytes(content)
            part.replace(out)
    except OSError as error:
        raise OutputProblem(
            f"{out.name} cannot be written ({error.strerror}).",
            "The paper is not where you want it, so it counts as not made.",
            "Choose another place with '--out', or close the program that holds the file.",
        ) from error
    log.debug("7 tell: %s", out)
    return out


@contextmanager
def _beside(out: Path) -> Iterator[Path]:
    """A temporary file in the folder of ``out`` that is gone afterwards, whatever happens."""
    out.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=out.parent, prefix=f".{out.name}.")
    os.close(handle)
    part = Path(name)
    part.chmod(0o644)
    try:
        yield part
    finally:
        part.unlink(missing_ok=True)


def begin(folder: Path) -> Path:
    """Write a commented practice.toml. Raises OutputProblem rather than overwrite one."""
    out = folder / "practice.toml"
    if out.exists():
        raise OutputProblem(
            f"There is already a {out.name} here.",
            "Your settings would be lost.",
            "Edit the file that is there, or run 'plainleaf init' in another folder.",
        )
    return _put(out, (paths.templates() / "start" / "practice.toml").read_bytes())


@dataclass(frozen=True)
class Made:
    """One file of the demo."""

    paper: str
    language: str
    file: Path


def demo(folder: Path, progress: Progress = _silent) -> list[Made]:
    """Papers for an invented practice and its invented day, in all languages and formats.

    The day is that of the list, so that the demo makes the same bytes whenever it runs.
    """
    source = paths.templates() / "demo"
    rows = read_list(source / "day.csv")
    visits = [row.visit for row in rows if row.visit]
    desk = Desk(read_practice(source / "practice.toml"), visits[0].day)
    # Everything is made before anything is written: a problem leaves no half of a demo behind.
    files = {folder / name: (source / name).read_bytes() for name in ("practice.toml", "day.csv")}
    made = []
    for tag in desk.practice.languages:
        visit = next(one for one in visits if one.person.language == tag)
        for one in PAPERS.values():
            page = desk.page(one.id, visit)
            for file_format in FORMATS:
                out = folder / tag / f"{one.id}.{file_format}"
                files[out] = write([page], file_format)
                made.append(Made(one.id, tag, out))
                progress(f"{tag}/{out.name}")
    for paper_id in ("introduction", "reminder-card"):
        out = folder / f"day-{paper_id}.pdf"
        files[out] = write([desk.page(paper_id, visit) for visit in visits], "pdf")
        made.append(Made(paper_id, "each in their own", out))
        progress(out.name)
    for file, content in files.items():
        _put(file, content)
    return made


@dataclass(frozen=True)
class ReviewState:
    """Who has signed a paper in a language, and the digest of the text as it stands."""

    paper: str
    signed_by: str
    digest: str


def review_states(tag: str) -> list[ReviewState]:
    """The state of every paper in a language."""
    words = catalog(language(tag))
    positions = load().positions
    states = []
    for name in PAPERS:
        digest = words.digest(of_paper(paths.templates() / "papers", name, positions))
        signed = [
            f"{one.reviewer}, {one.qualification}, {one.day}"
            for one in reviews()
            if (one.language, one.paper, one.digest) == (tag, name, digest)
        ]
        states.append(ReviewState(name, "; ".join(signed), digest))
    return states


def update_catalog(tag: str) -> tuple[Path, int]:
    """Bring a catalog up to date with the papers; returns the file and how many texts are empty."""
    locale = str(language(tag).locale)
    file = paths.locales() / tag.replace("-", "_") / "LC_MESSAGES" / "plainleaf.po"
    needed = list(wanted(paths.templates() / "papers", load().positions))
    _put(file, updated(file, locale, needed))
    catalog.cache_clear()
    messages = catalog(language(tag)).messages or ()
    return file, sum(1 for one in messages if one.id and not any(one.string or ()))


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


def _sound(rows: OwnRows) -> OwnRows:
    """The rows of the practice's store; it was checked on the way in, so any problem stops."""
    if rows.problems:
        raise rows.problems[0].problem
    return rows


def cite(desk: Desk, paper_id: str, visit: Visit | None = None, tag: str = "en") -> list[Cited]:
    """Every number on a paper traced: as printed, exact value, source, table, year, how read.

    A paper that needs a person is made for one of the demo's.
    """
    return [
        Cited(printed, kind, reference, "", "")
        if kind != "figure"
        else _cited(desk.tables, printed, reference)
        for printed, kind, reference in trace(desk.page(paper_id, visit or _sample(), tag))
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


def _sample() -> Visit | None:
    return read_list(paths.templates() / "demo" / "day.csv")[0].visit


def figure_places(desk: Desk) -> dict[str, list[str]]:
    """On which papers each figure stands, for this practice, in English: figure id to paper ids."""
    found: dict[str, list[str]] = {}
    for name in PAPERS:
        for _, kind, reference in trace(desk.page(name, _sample(), "en")):
            for figure_id in references(reference) if kind == "figure" else ():
                if name not in found.setdefault(figure_id, []):
                    found[figure_id].append(name)
    return found


@dataclass(frozen=True)
class Overdue:
    """A source whose day of review has passed, and the papers that its figures stand on."""

    source: Source
    papers: tuple[str, ...]


def overdue(desk: Desk) -> list[Overdue]:
    """Which sources are out of date on the desk's day; those that stand on papers come first."""
    stands: dict[str, set[str]] = {}
    for name in PAPERS:
        page = desk.page(name, _sample(), "en")
        for note in page.sources:
            stands.setdefault(note.source, set()).add(name)
    found = [
        Overdue(source, tuple(sorted(stands.get(source.id, ()))))
        for source in desk.tables.out_of_date(desk.today)
    ]
    return sorted(found, key=lambda one: (not one.papers, one.source.review_by, one.source.id))


__all__ = [
    "FORMATS",
    "PAPERS",
    "DayResult",
    "Desk",
    "LeftOut",
    "Made",
    "accuracy_tree",
    "add_figures",
    "begin",
    "cite",
    "claims",
    "demo",
    "figure_places",
    "overdue",
    "read_practice",
    "read_visit",
    "registry_rate",
    "review_states",
    "update_catalog",
]
