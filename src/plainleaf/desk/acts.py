"""The acts of the practice: where settings, evidence, words and writers meet.

This is the only room that asks the clock. The steps of one paper are numbered in the log as in
DEVELOPERS.md: 1 check, 2 look up, 3 compose, 4 check, 5 write, 7 tell (6, record, is not built).
"""

import logging
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cache, cached_property
from importlib import import_module
from itertools import chain, product
from pathlib import Path
from typing import cast

from babel import Locale

from plainleaf import paths
from plainleaf.desk.files import put as put
from plainleaf.desk.files import put_all
from plainleaf.errors import LanguageProblem, OutputProblem, Problem
from plainleaf.evidence.own import OwnRows, merged, read_rows
from plainleaf.evidence.tables import Tables, load
from plainleaf.language.catalogs import Catalog, Review, available, catalog, reviews
from plainleaf.language.locales import language
from plainleaf.language.matching import likely, lookup, tag_of
from plainleaf.language.texting import FORMS
from plainleaf.office.advice import Advice, advise
from plainleaf.office.fhir import read_bundle
from plainleaf.office.people import People, read_list
from plainleaf.office.practice import Practice, read_practice
from plainleaf.office.results import Results, read_results
from plainleaf.office.visits import Visit
from plainleaf.papers.beside import joined, may_stand_beside
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import PAPERS, Paper, paper
from plainleaf.papers.checks import check
from plainleaf.papers.compose import compose
from plainleaf.papers.facts import missing
from plainleaf.papers.helping import remarks
from plainleaf.papers.order import Order
from plainleaf.papers.privacy import MOST_CHARACTERS, length

log = logging.getLogger("plainleaf")

FORMATS = {"pdf": "pdf", "docx": "docx", "html": "html", "txt": "text"}
"""Each format with its writer's module. A writer is imported when it is first asked for: together
they would cost every command more time than most commands take."""

_OTHER_ENDINGS = {
    "htm": "html",
    "text": "txt",
    **dict.fromkeys(("csv", "json", "toml", "po", "xlf", "doc", "odt", "rtf", "xlsx", "xls"), ""),
    **dict.fromkeys(("png", "jpg", "ics", "eml"), ""),
}
"""Endings that say what a file is, and which of our formats they may have, if any."""

OWN_FIGURES = "own_figures.csv"
"""The practice's own rows of figures, beside practice.toml."""

_NEAR_DAYS = 180
"""For so many days ahead a day is clear without its year."""

_CARDS_A_SHEET = {"post": 4, "wallet": 8}
"""How many cards for nobody yet make one sheet."""

Progress = Callable[[str], None]


def silent(_: str) -> None:
    """Progress that nobody watches."""


@dataclass(frozen=True)
class LeftOut:
    """Somebody on a list for whom a paper was not made, and why; ``paper`` is empty for all.

    ``place`` is for lists without lines, as ``Row.place``.
    """

    line: int
    name: str
    problem: Problem
    paper: str = ""
    place: str = ""

    @property
    def where(self) -> str:
        """Where somebody finds the person on the list."""
        return self.place or f"line {self.line}"


def by_remark(pairs: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Remarks with the names of those whom each concerns, from pairs of a remark and a name."""
    found: dict[str, list[str]] = {}
    for remark, name in pairs:
        found.setdefault(remark, []).append(name)
    return tuple(f"{remark} ({', '.join(names)})" for remark, names in found.items())


class Desk:
    """One practice at work on one day. ``today`` is the clock's day unless it is given.

    ``inputs`` are the files that were read, such as the settings: no paper is written over them.
    """

    def __init__(
        self,
        practice: Practice,
        today: date | None = None,
        folder: Path | None = None,
        inputs: Sequence[Path] = (),
    ) -> None:
        self.practice = practice
        self.today = today or date.today()
        self.folder = folder
        self.inputs = tuple(inputs)

    def spare(self, *targets: Path) -> None:
        """Raises OutputProblem when one of the files to be written is one that we read."""
        own = [OWN_FIGURES, self.practice.results.file if self.practice.results else ""]
        kept = [self.folder / name for name in own if name] if self.folder else []
        for target in targets:
            if any(_same(target, one) for one in (*self.inputs, *kept)):
                raise OutputProblem(
                    f"{target.name} is a file that we read, and it would be written over.",
                    "Your settings, or your list, would be lost.",
                    "Choose another name with '--out'.",
                )

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
        return reviews(self.locales)

    @cached_property
    def locales(self) -> Path | None:
        """The office's own folder of languages beside its settings; None when it has none."""
        return paths.own_languages(self.folder)

    @cached_property
    def languages(self) -> list[str]:
        """The tags of all languages that there are, looked up once."""
        return available(self.locales)

    def words(self, tag: str) -> Catalog:
        """The words of one of our languages, as the practice's country writes it."""
        return catalog(language(tag, self.practice.country, self.locales), self.locales)

    def page(
        self, paper_id: str, visit: Visit | None = None, tag: str = "", large: bool = False
    ) -> Page:
        """A finished, checked page. Raises a Problem when it may not leave."""
        asked = paper(paper_id)
        remarks = self.remarks(paper_id, visit, tag)
        tag = self._language(asked, visit, tag)
        log.debug("1 check: %s for %s", paper_id, "a person" if visit else "nobody yet")
        large = large or (visit.person.large_print if visit else False)
        order = Order(
            asked, self.practice, visit, tag, large, self.today, self.results, self.locales
        )
        log.debug("2 look up: %s", " ".join((f"practice, {tag}, figures.", *remarks)))
        _ = self.tables, self.signatures
        log.debug("3 compose")
        page = self._composed(order)
        log.debug("4 check the page: its code is %s", page.code)
        check(page, asked, self.figure_ids, self.locales, order)
        return page

    def _composed(self, order: Order) -> Page:
        """The page of an order; a text with the fullest day that costs no further part."""
        orders = [order]
        if order.paper.id == "reminder-text":
            orders = [replace(order, day_form=form) for form in self._day_forms(order.visit)]
        pages = (compose(one, self.tables, self.signatures) for one in orders)
        if len(orders) == 1:
            return next(pages)
        fewest = import_module("plainleaf.writers.message").fewest_parts
        return cast(Page, fewest(pages, lambda page: length(page) <= MOST_CHARACTERS))

    def _day_forms(self, visit: Visit | None) -> tuple[str, ...]:
        """How a text may name its day, fullest first; the year is left out of a near one only."""
        when = visit.comes_next_from(self.today) if visit else None
        near = when is not None and (when.date() - self.today).days <= _NEAR_DAYS
        return tuple(form for form in FORMS if near or form != "near")

    def page_or_both(
        self,
        paper_id: str,
        visit: Visit | None,
        tag: str = "",
        large: bool = False,
        beside: str = "",
    ) -> Page:
        """A page in one language, or with a second one ``beside`` it where that is asked for."""
        if beside:
            return self.page_beside(paper_id, beside, visit, tag, large)
        return self.page(paper_id, visit, tag, large)

    def page_beside(
        self, paper_id: str, beside: str, visit: Visit | None, tag: str = "", large: bool = False
    ) -> Page:
        """A form with another language beside its own. Raises a Problem when it may not leave."""
        asked = paper(paper_id)
        may_stand_beside(
            asked, self._language(asked, visit, tag), self._language(asked, None, beside)
        )
        page = joined(
            self.page(paper_id, visit, tag, large), self.page(paper_id, visit, beside, large)
        )
        check(page, asked, self.figure_ids, self.locales)
        return page

    def about_help(self, *papers: str) -> list[str]:
        """What the office must know of some papers beside what is on them.

        It is about the offer of help in other languages; if no paper is named, on any form.
        """
        asked = (
            map(paper, papers) if papers else (one for one in PAPERS.values() if one.offers_help)
        )
        told = (remarks(one, self.practice, self.locales, self.today) for one in asked)
        return list(dict.fromkeys(chain.from_iterable(told)))

    def advice(self, visit: Visit, paper_id: str) -> tuple[Advice, ...]:
        """What in the visit deserves a second thought. It never decides and never stops a paper."""
        return advise(visit, self.today, self.practice.look, paper_id)

    def hand_out(
        self,
        paper_id: str,
        out: Path,
        visit: Visit | None = None,
        tag: str = "",
        file_format: str = "",
        large: bool = False,
        beside: str = "",
        told: Progress = silent,
    ) -> Path:
        """Make one paper and put it where it was asked for. Returns the file; tells the code."""
        writer = format_of(out, file_format)
        self.spare(out)
        page = self.page_or_both(paper_id, visit, tag, large, beside)
        told(page.code)
        return put(out, alone(page, visit, writer))

    def remarks(
        self, paper_id: str, visit: Visit | None, tag: str = "", beside: str = ""
    ) -> tuple[str, ...]:
        """What was chosen about the languages of a paper that nobody asked for, a sentence each."""
        told = tag or self._told(paper(paper_id), visit)
        found = [self.form_of(one) for one in (told or self.practice.languages[0], beside) if one]
        if not told and visit and not paper(paper_id).for_team:
            found.insert(0, f"No language was told, so it is in '{self.first_language}'.")
        return tuple(filter(None, found))

    def form_of(self, told: str) -> str:
        """In which form a language is printed where another one was as likely meant; else empty."""
        ours = self._answer(told)
        wanted, own = likely(tag_of(told) or told, self.practice.country), likely(ours)
        names = ours.split("-")[1:]
        english = Locale.parse("en")
        name = english.languages.get(ours.replace("-", "_"), ours)
        printed = f"'{told}' is printed in {name} ('{ours}')."
        if own[1] in names and own[1] != wanted[1]:
            script = english.scripts.get(wanted[1], wanted[1])
            return f"{printed} Many here read {script}: ask before you hand it out."
        if own[2] in names and own[2] != wanted[2]:
            return f"{printed} We have no other form of it: ask whether that one will do."
        return ""

    @property
    def first_language(self) -> str:
        """The tag of ours for the first of the practice's languages."""
        return self._answer(self.practice.languages[0])

    def _language(self, wanted: Paper, visit: Visit | None, asked: str) -> str:
        """The tag of ours for what was asked for, else what the person reads, else our first."""
        return self.tag_for(asked or self._told(wanted, visit))

    def tag_for(self, told: str | None) -> str:
        """The tag of ours for a language that somebody named, else our first.

        Raises LanguageProblem when none of ours answers: nobody gets another language in silence.
        """
        return self._answer(told or self.practice.languages[0])

    def _told(self, wanted: Paper, visit: Visit | None) -> str:
        """What the reader of a paper reads; empty when nobody told, and for the team's papers."""
        return (visit.person.language if visit and not wanted.for_team else None) or ""

    def _answer(self, told: str) -> str:
        return answering(told, self.languages)


def answering(told: str, have: Collection[str]) -> str:
    """The tag of one of the languages that there are, for one as people spell it.

    Raises LanguageProblem when none answers.
    """
    tag = told if told in have else tag_of(told)
    found = lookup(tag, have) if tag else None
    if found is None:
        raise LanguageProblem(
            f"There is no translation into '{told}'.",
            "We do not print a paper in another language than the one that was asked for.",
            f"Choose one of {', '.join(have)}, or ask for an interpreter.",
        )
    return found


def read_people(file: Path, practice: Practice) -> People:
    """Everybody on a day's list: a CSV file, or a FHIR R4 bundle in JSON."""
    if file.suffix.lower() == ".json":
        return read_bundle(file, practice.zone, practice.country)
    return read_list(file, practice)


def alone(page: Page, visit: Visit | None, writer: str) -> bytes:
    """One paper in a file of its own; a card for nobody yet comes four to a sheet."""
    copies = _CARDS_A_SHEET[page.card] if page.shape == "card" and visit is None else 1
    return write([page] * copies, writer)


def format_of(out: Path, asked: str) -> str:
    """The format that was asked for, else the ending of the file.

    Raises OutputProblem, also when the ending says that the file is of another kind.
    """
    ending = out.suffix.lstrip(".").lower()
    name = (asked or ending).lower()
    if name not in FORMATS:
        raise OutputProblem(
            f"'{name or out.name}' is no format that we write.",
            "We do not guess what a file should be.",
            f"Use one of: {', '.join(FORMATS)}.",
        )
    if ending in (*FORMATS, *_OTHER_ENDINGS) and name not in (ending, _OTHER_ENDINGS.get(ending)):
        raise OutputProblem(
            f"{out.name} ends in '.{ending}', and the format asked for is '{name}'.",
            "Whoever opens the file would not see what it is.",
            f"Give the file the ending '.{name}', or leave '--format' out.",
        )
    return name


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def write(pages: Sequence[Page], file_format: str) -> bytes:
    """Pages in one of the formats."""
    log.debug("5 write: %s", file_format)
    module = import_module(f"plainleaf.writers.{FORMATS[file_format]}")
    return bytes(module.write(pages))


def begin(folder: Path) -> Path:
    """Write a commented practice.toml. Raises OutputProblem rather than overwrite one."""
    out = folder / "practice.toml"
    if out.exists():
        raise OutputProblem(
            f"There is already a {out.name} here.",
            "Your settings would be lost.",
            "Edit the file that is there, or run 'plainleaf init' in another folder.",
        )
    return put(out, (paths.templates() / "start" / "practice.toml").read_bytes())


@dataclass(frozen=True)
class Made:
    """One file of the demo."""

    paper: str
    language: str
    file: Path


_DEMO = ("practice.toml", "day.csv", "letters.csv")
"""The demo's settings, those who come on its day, and those who are written to."""


@cache
def _demo_visits(*lists: str) -> tuple[Visit, ...]:
    rows = (row for one in lists for row in read_list(paths.templates() / "demo" / one))
    return tuple(row.visit for row in rows if row.visit)


def demo_visit(asked: Paper, tag: str, today: date | None = None) -> Visit:
    """The demo's first visit in a language that has all the facts a paper needs.

    In a language that nobody of the invented day reads, somebody else is taken to read it. With
    ``today`` the invented day is that day, so that no booking is over.
    """
    everybody = _demo_visits(*_DEMO[1:])
    visits = [one for one in everybody if one.person.language == tag]
    visits += [_reading(one, tag) for one in everybody]
    found = next(one for one in visits if not missing(asked.needs, one))
    day = everybody[0].day
    return _later(found, today - day) if today and day else found


def _later(visit: Visit, by: timedelta) -> Visit:
    """The visit with all its days moved; as it is where the calendar ends."""
    days = ("day", "recheck", "next_visit", "cancelled_visit")
    outcome = visit.recheck_outcome
    try:
        moved = {name: day + by for name in days if (day := getattr(visit, name))}
        if outcome:
            moved["recheck_outcome"] = outcome.model_copy(update={"day": outcome.day + by})
    except OverflowError:
        return visit
    return visit.model_copy(update=moved)


def _reading(visit: Visit, tag: str) -> Visit:
    return visit.model_copy(update={"person": visit.person.model_copy(update={"language": tag})})


def demo(folder: Path, progress: Progress = silent) -> list[Made]:
    """Papers for an invented practice and its invented day, in all languages and formats.

    The day is that of the list, so that the demo makes the same bytes whenever it runs.
    """
    source = paths.templates() / "demo"
    visits = _demo_visits(_DEMO[1])
    desk = Desk(read_practice(source / "practice.toml"), visits[0].day)
    # Everything is made before anything is written: a problem leaves no half of a demo behind.
    files = {folder / name: (source / name).read_bytes() for name in _DEMO}
    _nothing_of_theirs(files)
    made = []
    for tag, one in product(desk.practice.languages, PAPERS.values()):
        page = desk.page(one.id, demo_visit(one, tag))
        for file_format in FORMATS:
            out = folder / tag / f"{one.id}.{file_format}"
            files[out] = write([page], file_format)
            made.append(Made(one.id, tag, out))
            progress(f"{tag}/{out.name}")
    for paper_id in ("introduction", "reminder-card"):
        out = folder / f"day-{paper_id}.pdf"
        asked = [one for one in visits if one.bookings or not PAPERS[paper_id].exposed]
        files[out] = write([desk.page(paper_id, visit) for visit in asked], "pdf")
        made.append(Made(paper_id, "each in their own", out))
        progress(out.name)
    put_all(files.items())
    return made


def _nothing_of_theirs(files: Mapping[Path, bytes]) -> None:
    """Raises OutputProblem when a practice's own settings or list stand where ours would go."""
    for file, content in files.items():
        if file.is_file() and file.read_bytes() != content:
            raise OutputProblem(
                f"There is already a {file.name} in this folder, and it is not that of the demo.",
                "Your settings, or your list, would be lost.",
                "Choose another folder with '--to'.",
            )


def _sound(rows: OwnRows) -> OwnRows:
    """The rows of the practice's store; it was checked on the way in, so any problem stops."""
    if rows.problems:
        raise rows.problems[0].problem
    return rows
