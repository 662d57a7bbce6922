"""Every check of a page is alive, every paper passes all of them, and no rule is forgotten."""

import re
from collections.abc import Callable
from dataclasses import replace

import pytest

from conftest import LANGUAGES, PAPERS, WEDNESDAY, renamed, suited
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.errors import PaperProblem
from plainleaf.evidence.tables import Tables
from plainleaf.faces import cli
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    NOTHING,
    Block,
    Blocks,
    Box,
    Choices,
    Code,
    Fields,
    Figure,
    Inline,
    Isolate,
    Link,
    Moment,
    Page,
    Paragraph,
    PeopleChart,
    Section,
    Table,
    Text,
)
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.checks import CHECKS, Check, check, exposed_words
from plainleaf.papers.compose import compose
from plainleaf.papers.order import Order
from plainleaf.papers.subject import Subject, parts

NAMES = [one.run.__name__ for one in CHECKS]


class Bench:
    """Composes the demo's papers and looks at them, whole or by one check."""

    def __init__(self, practice: Practice, visits: dict[str, Visit], evidence: Tables) -> None:
        self.practice, self.visits, self.evidence = practice, visits, evidence
        self.ids = {figure.id for figure in evidence.figures}

    def order(self, name: str, tag: str) -> Order:
        return Order(
            CATALOGUE[name], self.practice, suited(self.visits[tag], name), tag, False, WEDNESDAY
        )

    def page(self, name: str, tag: str) -> Page:
        return compose(self.order(name, tag), self.evidence)

    def check(self, page: Page, order: Order | None = None) -> None:
        order = order or self.order(page.paper, page.language)
        check(page, order.paper, self.ids, order=order)

    def run(self, one: Check, page: Page, order: Order | None = None) -> None:
        order = order or self.order(page.paper, page.language)
        one.run(Subject(page, order.paper, self.ids, paths.locales(), order))


@pytest.fixture(scope="module")
def bench(practice: Practice, visits: dict[str, Visit], evidence: Tables) -> Bench:
    return Bench(practice, visits, evidence)


def said(page: Page, *inlines: Inline | str, element: str = "added") -> Page:
    """The page with one more paragraph, in an element of this name."""
    run = tuple(Text(one) if isinstance(one, str) else one for one in inlines)
    return replace(page, blocks=(*page.blocks, Section(element, None, (Paragraph(run),))))


def mapped(page: Page, change: Callable[[Block], Block | None]) -> Page:
    """The page with every block changed from the inside out; None takes a block away."""

    def inside(blocks: Blocks) -> Blocks:
        return tuple(new for one in blocks if (new := change(deep(one))) is not None)

    def deep(block: Block) -> Block:
        if isinstance(block, Section | Box):
            return replace(block, blocks=inside(block.blocks))
        if isinstance(block, Table):
            rows = tuple(
                tuple(replace(cell, blocks=inside(cell.blocks)) for cell in row)
                for row in block.rows
            )
            return replace(block, rows=rows)
        return block

    return replace(page, blocks=inside(page.blocks))


def instead(page: Page, element: str, *blocks: Block) -> Page:
    """The page with other blocks in an element."""
    return mapped(
        page,
        lambda one: (
            replace(one, blocks=blocks)
            if isinstance(one, Section) and one.element == element
            else one
        ),
    )


def without_fields(page: Page, element: str) -> Page:
    found = next(one for one in page.blocks if getattr(one, "element", "") == element)
    assert isinstance(found, Section)
    return instead(page, element, *(one for one in found.blocks if not isinstance(one, Fields)))


def recounted(page: Page, *counts: int) -> Page:
    def change(block: Block) -> Block:
        if isinstance(block, PeopleChart):
            pairs = zip(block.parts, counts, strict=False)
            return replace(block, parts=tuple(replace(one, count=n) for one, n in pairs))
        return block

    return mapped(page, change)


def one_sided(page: Page) -> Page:
    """Each thing that can go wrong in one word."""

    def change(block: Block) -> Block:
        if isinstance(block, Table):
            short = Paragraph((Text("-"),))
            rows = tuple((good, replace(bad, blocks=(short,))) for good, bad in block.rows)
            return replace(block, rows=rows)
        return block

    return mapped(page, change)


def chosen(page: Page, mark: str) -> Page:
    def change(block: Block) -> Block:
        if isinstance(block, Choices):
            first, *rest = block.choices
            return Choices(((Text(mark), *first), *rest))
        return block

    return mapped(page, change)


def two_choices(page: Page) -> Page:
    return mapped(page, lambda one: Choices(one.choices[:2]) if isinstance(one, Choices) else one)


def asking(page: Page) -> Page:
    """The web address of the code with a question mark behind it."""

    def change(block: Block) -> Block:
        if isinstance(block, Code):
            return replace(block, payload=f"{block.payload}?r=J-1001")
        return block

    return mapped(page, change)


def without_box(page: Page) -> Page:
    boxes = tuple(one for one in page.blocks if isinstance(one, Box))
    return replace(page, blocks=(*(one for one in page.blocks if not isinstance(one, Box)), *boxes))


def own(text: str) -> Isolate:
    return Isolate(text, "auto", "", "practice")


WAIVERS = {
    "en": "You waive your right to complain.",
    "es": "Usted renuncia a sus derechos.",
    "ar": "أنتم تتنازلون عن حقوقكم.",
}
JUDGED = {
    "en": "There is only a small risk.",
    "es": "El riesgo es mínimo.",
    "ar": "الخطر ضئيل فقط.",
}
CLAIMS = {
    "en": "The light finds mouth cancer.",
    "es": "La luz detecta el cáncer.",
    "ar": "يكشف الضوء السرطان.",
}
SELLING = {
    "en": "Ask about our discount.",
    "es": "Pregunte por nuestro descuento.",
    "ar": "يرجى السؤال عن الخصم.",
}
ONE_IN = {"en": " in ", "es": " de cada ", "ar": " من كل "}

Broken = Callable[[Page, str], Page]
BROKEN: dict[str, tuple[str, Broken]] = {
    "_elements_present": ("consent", lambda page, _: instead(page, "limits")),
    "_every_number_traced": ("consent", lambda page, _: said(page, "4")),
    "_charts_agree": ("introduction", lambda page, _: recounted(page, 2, 30, 1, 67)),
    "_no_health_words": (
        "reminder-card",
        lambda page, tag: said(page, exposed_words(paths.locales(), tag)[0]),
    ),
    "only_what_a_reminder_needs": (
        "reminder-card",
        lambda page, _: said(page, Isolate("J-1001", "ltr", "", "visit")),
    ),
    "addresses_tell_nothing": ("dark-area", lambda page, _: asking(page)),
    "short_enough": ("reminder-text", lambda page, _: said(page, "ab " * 60)),
    "no_selling": ("reminder-mail", lambda page, tag: said(page, SELLING[tag])),
    "no_right_given_up": ("decline", lambda page, tag: said(page, WAIVERS[tag])),
    "no_value_words": (
        "consent",
        lambda page, tag: said(page, JUDGED[tag], element="limits"),
    ),
    "no_banned_claim": ("before-visit", lambda page, tag: said(page, CLAIMS[tag])),
    "one_in_one_number": (
        "introduction",
        lambda page, tag: said(
            said(page, own("1"), ONE_IN[tag], own("7")), own("1"), ONE_IN[tag], own("40")
        ),
    ),
    "calm": ("introduction", lambda page, _: said(page, "A!")),
    "most_important_first": ("introduction", lambda page, _: without_box(page)),
    "sides_even": ("consent", lambda page, _: one_sided(page)),
    "title_short": ("introduction", lambda page, _: replace(page, title="a" * 91)),
    "experts_quoted": (
        "consent",
        lambda page, _: instead(page, "experts", Paragraph((Text("All agree."),))),
    ),
    "weeks_agree": ("nothing-seen", lambda page, _: said(page, own("9"), element="call-us-if")),
    "other_formats_offered": (
        "introduction",
        lambda page, _: mapped(
            page, lambda one: replace(one, role="body") if isinstance(one, Paragraph) else one
        ),
    ),
    "sources_listed": (
        "introduction",
        lambda page, _: replace(page, sources=page.sources[:-1]),
    ),
    "dated": ("introduction", lambda page, _: replace(page, foot=page.foot[:1])),
    "accuracy_whole": ("introduction", lambda page, _: recounted(page, 1, 31)),
    "ranges_in_words": (
        "introduction",
        lambda page, _: said(page, own("2"), "\u2013", own("4")),
    ),
    "no_gap": (
        "dark-area",
        lambda page, _: said(page, "come back on ", Isolate("", "auto", "", NOTHING), "."),
    ),
    "says_whose_it_is": (
        "dark-area",
        lambda page, _: replace(page, letterhead=page.letterhead[:1]),
    ),
    "choices_equal": ("photo-permission", lambda page, _: chosen(page, "\u2611 ")),
    "decision_has_three_choices": ("consent", lambda page, _: two_choices(page)),
    "signature_lines": ("consent", lambda page, _: without_fields(page, "signature-patient")),
    "offers_again": (
        "decline-referral",
        lambda page, _: without_fields(page, "repeat-offers"),
    ),
    "one_purpose_each": ("photo-permission", lambda page, _: without_fields(page, "use-record")),
    "names_the_person": (
        "consent",
        lambda page, _: instead(page, "identity", Paragraph((Text("A. Nybody"),))),
    ),
    "foot_names_the_form": (
        "consent",
        lambda page, _: replace(
            page,
            foot=tuple(one for one in page.foot if getattr(one, "origin", "") != "visit"),
        ),
    ),
}


def test_there_is_a_broken_page_for_every_check() -> None:
    assert set(BROKEN) == set(NAMES)


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", NAMES)
def test_a_broken_page_does_not_leave(name: str, tag: str, bench: Bench) -> None:
    paper_id, harm = BROKEN[name]
    one = CHECKS[NAMES.index(name)]
    sound = bench.page(paper_id, tag)
    bench.check(sound)
    broken = harm(sound, tag)
    assert broken != sound
    with pytest.raises(PaperProblem) as caught:
        bench.run(one, broken)
    for sentence in (caught.value.found, caught.value.why, caught.value.do):
        assert sentence.rstrip().endswith(".")
        assert sentence[0].isupper() or sentence[0] == "'"
    with pytest.raises(PaperProblem):
        bench.check(broken)


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_every_paper_passes_every_check(name: str, tag: str, bench: Bench, desk: Desk) -> None:
    page = bench.page(name, tag)
    bench.check(page)
    for one in CHECKS:
        if one.where == "every paper":
            bench.run(one, page)
    assert desk.page(name, suited(bench.visits[tag], name), tag)


@pytest.mark.parametrize("one", CHECKS, ids=NAMES)
def test_a_check_names_its_rules_and_says_what_it_looks_at(one: Check) -> None:
    assert one.rules
    assert all(re.fullmatch(r"[A-Z]{2,3}(-[A-Z]?\d{1,2})?", rule) for rule in one.rules)
    assert one.says.endswith(".")
    assert len(one.says.split()) >= 4


def test_the_command_lists_every_check(capsys: pytest.CaptureFixture[str]) -> None:
    cli.papers(language="", elements=True)
    listed = capsys.readouterr().out
    assert all(one.says in listed for one in CHECKS)
    assert all(rule in listed for one in CHECKS for rule in one.rules)


# What only the order tells.


def test_the_weeks_are_those_of_the_practice_on_every_paper(bench: Bench) -> None:
    check_weeks = CHECKS[NAMES.index("weeks_agree")]
    look = bench.practice.look.model_copy(update={"sore_weeks": 3})
    other = bench.practice.model_copy(update={"look": look})
    seen = 0
    for name in PAPERS:
        page = bench.page(name, "en")
        if {"call-us-if", "call-sooner"} & set(parts(page)):
            with pytest.raises(PaperProblem, match="names 2 weeks"):
                bench.run(check_weeks, page, replace(bench.order(name, "en"), practice=other))
            seen += 1
    assert seen >= 5


@pytest.mark.parametrize(
    "more",
    [
        Isolate("J-1001", "ltr", "", "visit"),
        Isolate("12 Elm Street", "auto", "", "visit"),
        Moment("March 3, 1968", "1968-03-03"),
        Figure("7", "us-births", "7"),
        Isolate("$35", "auto", "", "practice"),
    ],
)
def test_a_card_shows_nothing_else_of_a_person(more: Inline, bench: Bench) -> None:
    # PR-02, after the HHS guidance on reminders: name, number, and what is needed to confirm.
    allowed = CHECKS[NAMES.index("only_what_a_reminder_needs")]
    for name in (one.id for one in CATALOGUE.values() if one.exposed):
        page = bench.page(name, "en")
        bench.run(allowed, page)
        with pytest.raises(PaperProblem, match="more than a reminder needs"):
            bench.run(allowed, said(page, more))


def test_the_foot_of_a_card_shows_nothing_of_a_person(bench: Bench) -> None:
    allowed = CHECKS[NAMES.index("only_what_a_reminder_needs")]
    page = bench.page("reminder-card", "en")
    for more in (Isolate("J-1001", "ltr", "", "visit"), Moment("March 3, 1968", "1968-03-03")):
        with pytest.raises(PaperProblem, match="more than a reminder needs"):
            bench.run(allowed, replace(page, foot=(*page.foot, more)))


def test_a_card_with_the_whole_name_of_somebody_with_a_short_one_stops(bench: Bench) -> None:
    person = bench.visits["en"].person.model_copy(update={"called": "Ann"})
    visit = bench.visits["en"].model_copy(update={"person": person})
    order = replace(bench.order("reminder-card", "en"), visit=visit)
    allowed = CHECKS[NAMES.index("only_what_a_reminder_needs")]
    bench.run(allowed, compose(order, bench.evidence), order)
    with pytest.raises(PaperProblem, match="more than a reminder needs"):
        bench.run(allowed, bench.page("reminder-card", "en"), order)


@pytest.mark.parametrize(
    "href",
    [
        "http://www.example.org",
        "https://www.example.org/?name=a",
        "https://www.example.org/#x",
        "https://a@www.example.org/",
        "https://www.example.org/J-1001",
        "tel:",
        "tel:+13035550142;ext=4",
        "javascript:alert()",
        "mailto:a@example.org?subject=biopsy",
    ],
)
def test_no_link_leads_to_an_address_that_tells(href: str, bench: Bench) -> None:
    page = said(bench.page("dark-area", "en"), Link((Text("here"),), href))
    with pytest.raises(PaperProblem, match="leads to"):
        bench.run(CHECKS[NAMES.index("addresses_tell_nothing")], page)


def test_a_form_for_somebody_else_stops(bench: Bench) -> None:
    order = bench.order("consent", "en")
    other = replace(order, visit=renamed(bench.visits["en"], "Somebody Else"))
    with pytest.raises(PaperProblem, match="does not name the person"):
        bench.check(bench.page("consent", "en"), other)


# No rule is forgotten.

RULES = (
    *(f"CF-{number:02}" for number in range(1, 38)),
    *(f"RF-{number:02}" for number in range(1, 14)),
    *(f"PH-{number:02}" for number in range(1, 7)),
    *(f"IPD-Q{number}" for number in range(1, 7)),
    *(f"IPD-C{number}" for number in range(1, 11)),
    "IPD-28",
    *(f"PR-{number:02}" for number in range(1, 17)),
    *(f"CL-{number:02}" for number in range(1, 17)),
)
"""The published checklists as they are counted in the catalogue's first lines."""

ELSEWHERE = {
    "CF-32": "a witness to a consent is optional; the form for a refusal has one",
    "CF-37": "no form is signed on a screen: it is printed and signed by hand",
    "RF-13": "a code for the record, which no paper for a patient prints",
    "PR-01": "says that reminders are allowed; there is nothing to look for on a page",
    "PR-03": "which envelope is used is for the team",
    "PR-06": "the ways somebody asked for are in office/people and desk/reminders",
    "PR-07": "policies of the practice, kept by people",
    "PR-09": "how often somebody is reminded is for whoever sends",
    "PR-10": "at what time of day is for whoever sends",
    "PR-11": "a law of the sending service, to be looked at by a person",
    "PR-16": "folding and envelopes: a test of the printed letter",
    "CL-06": "when to refer is advice to the team (office/advice), never a page's decision",
    "CL-08": "a yardstick for an audit, not for a page",
    "CL-10": "diagnosis codes stand on no paper for a patient",
    "CL-11": "as CL-10",
    "CL-12": "a licensed vocabulary that is not used",
}
"""Rules for a person or for another room, because …"""


def test_every_rule_is_in_the_catalogue_or_checked_or_said_to_be_elsewhere() -> None:
    told = {rule for paper in CATALOGUE.values() for one in paper.elements for rule in one.rules}
    checked = {rule for one in CHECKS for rule in one.rules}
    assert [rule for rule in RULES if rule not in told | checked | set(ELSEWHERE)] == []
    assert set(ELSEWHERE) <= set(RULES)
