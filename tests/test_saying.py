"""What a paper may say is what it can be seen to say: for every paper and every recorded fact."""

import shutil
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any, get_args

import pytest

from conftest import PAPERS, WEDNESDAY, at_post, suited
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.desk.reminders import remind
from plainleaf.desk.translations import review_states
from plainleaf.errors import FactsProblem, LanguageProblem, PaperProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language import findings, phrases
from plainleaf.language.catalogs import Catalog, Key, catalog
from plainleaf.language.extraction import wanted
from plainleaf.language.locales import language
from plainleaf.language.messages import Counted, OneOf, Phrase
from plainleaf.office import visits as office
from plainleaf.office.practice import LanguageHelp, Practice, Role
from plainleaf.office.results import Results
from plainleaf.office.visits import Visit
from plainleaf.papers import covered, facts, saying
from plainleaf.papers.area import AreaFacts
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.compose import compose
from plainleaf.papers.facts import PracticeFacts, ResultFacts, VisitFacts
from plainleaf.papers.order import Order
from plainleaf.papers.quoting import Citations
from plainleaf.papers.saying import of_paper
from plainleaf.papers.template import template

FOLDER = paths.templates() / "papers"
TAG = "es"
WHOLE: dict[str, Any] = {
    "person": {
        "name": "Maren Whitlock",
        "language": TAG,
        "born": "1961-04-17",
        "record": "J-1001",
        "large_print": True,
        "interpreter": {"language": "es", "name_or_id": "I-20"},
        "guardian": {"name": "Tova Whitlock", "relationship": "parent"},
        "address": ["12 Larch Row", "Example City, EX 00000"],
        "phone": "+1 303 555 0151",
        "email": "maren@example.org",
    },
    "day": "2026-11-11",
    "decision": "agreed",
    "normal": ["cheek", "floor of mouth"],
    "finding": {
        "place": "side of tongue",
        "side": "left",
        "done": ["smoothed edge"],
        "nearest_tooth": 36,
        "size": {"length": 7.5, "width": 4},
        "colour": "red",
        "surface": "ulcer",
        "edge": "raised",
        "feel": "hard",
        "since": {"weeks": 3},
        "symptoms": ["numbness", "neck lump"],
        "ordinary_look": "seen",
        "light": "dark",
        "pressure": "does not",
        "likely_cause": "none found",
        "photographs": ["ordinary", "filtered"],
        "plan": "refer now",
        "urgency": "urgent",
    },
    "recheck": "2026-12-09T10:30",
    "recheck_outcome": {"found": "still there", "day": "2026-11-25"},
    "explained_by": {"name": "Rowan Ellery", "role": "dentist"},
    "done_by": {"name": "Rowan Ellery", "role": "dentist"},
}
CLOSED = {
    ("finding", "place"): office.Place,
    ("finding", "side"): office.Side,
    ("finding", "colour"): office.Colour,
    ("finding", "surface"): office.Surface,
    ("finding", "edge"): office.Edge,
    ("finding", "feel"): office.Feel,
    ("finding", "ordinary_look"): office.OrdinaryLook,
    ("finding", "light"): office.Light,
    ("finding", "pressure"): office.Pressure,
    ("finding", "likely_cause"): office.Cause,
    ("finding", "plan"): office.Plan,
    ("finding", "urgency"): office.Urgency,
    ("decision",): office.Decision,
    ("recheck_outcome", "found"): office.RecheckFound,
    ("person", "guardian", "relationship"): office.Relationship,
    ("done_by", "role"): Role,
    ("explained_by", "role"): Role,
}


def with_fact(place: tuple[str, ...], value: Any) -> Visit:
    """The whole visit with one fact changed."""
    facts = Visit.model_validate(WHOLE).model_dump(mode="json", exclude_none=True)
    inner = facts
    for name in place[:-1]:
        inner = inner[name]
    inner[place[-1]] = value
    return Visit.model_validate(facts)


@cache
def visits_of_all_kinds() -> tuple[Visit, ...]:
    """Visits that together hold every value of every closed set."""
    found = [Visit.model_validate(WHOLE)]
    for place, closed in CLOSED.items():
        found += [with_fact(place, value) for value in get_args(closed)]
    found += [with_fact(("normal",), [value]) for value in get_args(office.Place)]
    for name, many in (
        ("done", office.Step),
        ("symptoms", office.Symptom),
        ("photographs", office.Photograph),
    ):
        found.append(with_fact(("finding", name), list(get_args(many))))
    found += [with_fact(("finding", "symptoms"), []), with_fact(("missed_rechecks",), 3)]
    found.append(with_fact(("finding", "urgency"), None))
    missed = with_fact(("finding", "plan"), "re-check")
    found.append(missed.model_copy(update={"missed_rechecks": 2, "recheck_outcome": None}))
    found.append(with_fact(("nothing_dark",), True))
    found += [with_fact(("finding", "done"), [one]) for one in get_args(office.Step)]
    found.append(with_fact(("finding", "since"), {"days": 3}))
    for mode in get_args(office.InterpreterMode):
        found.append(with_fact(("person", "interpreter", "mode"), mode))
    for plan, outcome in product(get_args(office.Plan), get_args(office.RecheckFound)):
        for cause in ("denture", "none found"):
            facts = with_fact(("finding", "likely_cause"), cause).model_dump(mode="json")
            facts["recheck_outcome"] |= {"found": outcome, "plan": plan}
            facts["finding"]["plan"] = plan
            found.append(Visit.model_validate(facts))
            found.append(Visit.model_validate({**facts, "recheck_outcome": None}))
    return tuple(found)


def orders(name: str, practice: Practice) -> Iterator[Order]:
    """A paper for all kinds of visits, settings and results, in one language."""
    helping = LanguageHelp(confirmed=WEDNESDAY, languages=(TAG, "en"))
    offering = practice.model_copy(update={"language_help": helping})
    plain = Order(
        CATALOGUE[name], offering, suited(visits_of_all_kinds()[0], name), TAG, False, WEDNESDAY
    )
    yield from (replace(plain, visit=suited(visit, name)) for visit in visits_of_all_kinds())
    if not plain.paper.needs:
        yield replace(plain, visit=None)
    posting = at_post(offering)
    yield replace(plain, practice=posting)
    again = with_fact(("recheck_outcome", "plan"), "re-check")
    plain = replace(plain, visit=suited(again, name))
    if name == "nothing-seen" and again.finding:
        area = again.finding.model_copy(update={"light": "not dark", "plan": "re-check"})
        told = {"finding": area, "recheck_outcome": None}
        yield replace(plain, visit=again.model_copy(update=told))
    days = practice.look.model_copy(update={"recheck_days": 10, "recheck_latest_days": 20})
    yield replace(plain, practice=offering.model_copy(update={"look": days}))
    yield replace(plain, results=Results(WEDNESDAY, WEDNESDAY, 20, 15, 2, 2, 1, 2, 2, 1, 1))
    later = {"recheck": datetime(2040, 1, 9, 9, 0), "next_visit": None}
    if name == "missed-visit":
        later = {}
    yield replace(plain, today=date(2040, 1, 1), visit=plain.visit.model_copy(update=later))


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> set[Key]:
    """The messages that are asked for while a test runs, in the language of its papers."""
    found: set[Key] = set()
    real = Catalog._one

    def noting(words: Catalog, context: str | None, message: str, plural: str | None) -> Any:
        if words.language.tag == TAG:
            found.add((context, message, plural))
        return real(words, context, message, plural)

    monkeypatch.setattr(Catalog, "_one", noting)
    facts._hours.cache_clear()
    catalog.cache_clear()
    return found


def quoted(evidence: Tables) -> Tables:
    """The evidence with every figure as quoted by somebody else, which a page then names."""
    via = next(iter(evidence.sources))
    rows = (replace(one, quoted_in=via) for one in evidence.figures)
    return replace(evidence, figures=tuple(rows))


@pytest.mark.parametrize("name", PAPERS)
def test_a_paper_says_what_is_told_of_it_nothing_more_and_nothing_less(
    name: str, practice: Practice, evidence: Tables, asked: set[Key]
) -> None:
    told = of_paper(template(FOLDER, name), CATALOGUE[name], evidence.positions)
    for order in orders(name, practice):
        # A paper that the record denies says nothing.
        with suppress(FactsProblem):
            compose(order, evidence)
    for country in {place for one in evidence.positions for place in one.places if len(place) == 2}:
        there = practice.model_copy(update={"country": country})
        compose(replace(order, practice=there), evidence)
    compose(order, quoted(evidence))
    if "eml" in CATALOGUE[name].formats:
        phrases.appointment_title(catalog(language(TAG)))
    marks = saying.notice(CATALOGUE[name])
    apart = {*(marks.messages if marks else ()), *phrases.draft_card.messages}
    assert asked - told <= apart
    assert told - asked == set()


@pytest.fixture
def lacking(monkeypatch: pytest.MonkeyPatch) -> set[tuple[str | None, str]]:
    """Messages that the catalog is made to lack while a test runs."""
    found: set[tuple[str | None, str]] = set()
    real = Catalog.entry

    def entry(words: Catalog, context: str | None, message: str) -> Any:
        if words.language.tag == TAG and (context, message) in found:
            return None
        return real(words, context, message)

    monkeypatch.setattr(Catalog, "entry", entry)
    return found


def forget_what_was_worded() -> None:
    # Asked for as the desk and the papers do, to get the same one.
    catalog(language(TAG, "US", None), None)._sound.clear()
    facts._hours.cache_clear()


@pytest.mark.parametrize("name", ["before-visit", "decline", "missed-visit", "reminder-card"])
def test_deleting_a_message_stops_exactly_the_papers_that_may_say_it(
    name: str, practice: Practice, evidence: Tables, lacking: set[tuple[str | None, str]]
) -> None:
    paper = CATALOGUE[name]
    told = of_paper(template(FOLDER, name), paper, evidence.positions)
    marks = [saying.notice(paper), phrases.draft_card if paper.offers_help else None]
    said = {key[:2] for key in told} | {one.key[:2] for one in marks if one}
    every = list(orders(name, practice))
    for context, message, _ in wanted(FOLDER, evidence.positions):
        english = message if isinstance(message, str) else message[0]
        lacking.add((context, english))
        stopped = ""
        # A few visits tell that a paper goes on; the test above has looked at all it says.
        for order in every if (context, english) in said else every[::20]:
            forget_what_was_worded()
            try:
                with suppress(FactsProblem):
                    compose(order, evidence)
            except LanguageProblem as problem:
                stopped = problem.found
                break
        assert bool(stopped) == ((context, english) in said), (english, stopped)
        lacking.clear()


def own_language(folder: Path, english: str, said: str) -> Path:
    """An office with a language of its own: Spanish with one text changed."""
    shutil.copytree(paths.locales() / TAG, folder / "locales" / "ca")
    file = folder / "locales" / "ca" / "LC_MESSAGES" / "plainleaf.po"
    text = file.read_text("utf-8")
    start = text.index('msgstr "', text.index(f'msgid "{english}"\n'))
    end = text.index("\n", start)
    file.write_text(f'{text[:start]}msgstr "{said}"{text[end:]}', "utf-8")
    return folder


def test_an_empty_short_name_stops_one_paper_of_twenty_five(
    practice: Practice, tmp_path: Path
) -> None:
    desk = Desk(practice, WEDNESDAY, own_language(tmp_path, "Note for the record", ""))
    stopped = []
    for name in PAPERS:
        try:
            desk.page(name, suited(visits_of_all_kinds()[0], name), "ca")
        except LanguageProblem as problem:
            stopped.append((name, problem.found))
    assert [name for name, _ in stopped] == ["chart-note"], stopped
    states = {one.paper: one.state for one in review_states("ca", desk.locales)}
    assert {name for name, state in states.items() if state == "1 missing"} == {"chart-note"}


def test_a_changed_text_lapses_the_signatures_of_the_papers_that_say_it_and_no_other(
    tmp_path: Path,
) -> None:
    # The likely causes of a dark area stand on the record, the referral and after a re-check.
    own = own_language(tmp_path, "spot of color", "otra mancha") / "locales"
    before = {one.paper: one.digest for one in review_states(TAG)}
    after = {one.paper: one.digest for one in review_states("ca", own)}
    changed = {name for name in PAPERS if before[name] != after[name]}
    assert changed == {"chart-note", "recheck-outcome", "referral"}


def test_the_title_of_the_calendar_entry_goes_with_the_e_mail(
    practice: Practice, lacking: set[tuple[str | None, str]], tmp_path: Path
) -> None:
    people = tmp_path / "people.csv"
    people.write_text(
        "name,language,email,next visit,remind by\n"
        f"Ana Roe,{TAG},ana@example.org,2026-12-09T10:30,email\n",
        "utf-8",
    )
    desk = Desk(practice, WEDNESDAY)
    assert remind(desk, people, tmp_path / "one").left_out == ()
    lacking.add(phrases.appointment_title.key[:2])
    forget_what_was_worded()
    (left,) = remind(desk, people, tmp_path / "two").left_out
    assert "appointment" in left.problem.found
    said = of_paper(template(FOLDER, "reminder-mail"), CATALOGUE["reminder-mail"], ())
    assert phrases.appointment_title.key in said


def test_every_fact_with_words_of_its_own_is_one_that_a_template_may_ask_for() -> None:
    values = {
        "practice": PracticeFacts,
        "visit": VisitFacts,
        "area": AreaFacts,
        "results": ResultFacts,
    }
    for name in (*saying._PHRASES, *covered._SHOWN_BY):
        value, _, fact = name.partition(".")
        assert not value or isinstance(getattr(values[value], fact), property), name


def test_every_phrase_is_a_message_that_babel_reads() -> None:
    read = {
        (context, *(message if isinstance(message, tuple) else (message, None)))
        for context, message, _ in wanted(FOLDER, ())
    }
    for module in (phrases, findings):
        for one in vars(module).values():
            if isinstance(one, Phrase | Counted | OneOf):
                assert set(one.messages) <= read


def test_a_part_with_a_name_that_is_worked_out_stops_the_paper(tmp_path: Path) -> None:
    (tmp_path / "introduction.xml").write_text('{% include "a" ~ "b" %}', "utf-8")
    with pytest.raises(PaperProblem, match="whose name is worked out"):
        template(tmp_path, "introduction")


def test_parts_of_parts_are_parts(tmp_path: Path) -> None:
    (tmp_path / "a.xml").write_text('{% if x %}{%- include "b.xml" -%}{% endif %}', "utf-8")
    (tmp_path / "b.xml").write_text("{% include 'c.xml' %}", "utf-8")
    (tmp_path / "c.xml").write_text("{% trans %}Deep{% endtrans %}", "utf-8")
    told = template(tmp_path, "a")
    assert set(told.sources) == {"a.xml", "b.xml", "c.xml"}
    said = of_paper(told, CATALOGUE["introduction"], ())
    assert (None, "Deep", None) in said


@pytest.mark.parametrize("error", [KeyError, AttributeError, TypeError, ValueError])
def test_a_fact_that_breaks_is_not_blamed_on_the_template(
    error: type[Exception],
    practice: Practice,
    evidence: Tables,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(_: PracticeFacts) -> str:
        raise error("a fault of our own")

    monkeypatch.setattr(PracticeFacts, "fee", property(broken))
    order = Order(CATALOGUE["introduction"], practice, None, "en", False, WEDNESDAY)
    with pytest.raises(error, match="a fault of our own"):
        compose(order, evidence)


def test_a_day_of_review_without_a_source_is_told(practice: Practice, evidence: Tables) -> None:
    with pytest.raises(PaperProblem, match="day of its review"):
        Citations(evidence).review_by()
