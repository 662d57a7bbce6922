"""One setting, one fact, one text changed at a time: the same code means the same bytes."""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from conftest import PAPERS, WEDNESDAY, suited
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.desk.acts import write
from plainleaf.desk.again import Asked, again
from plainleaf.errors import ChangedProblem, FactsProblem, LanguageProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language.catalogs import Key, Review, catalog
from plainleaf.language.locales import language
from plainleaf.office.practice import Forms, LanguageHelp, Post, Practice
from plainleaf.office.results import Results
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Isolate, Page
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.compose import compose
from plainleaf.papers.order import Order
from plainleaf.papers.saying import of_paper
from plainleaf.papers.template import folder_of_papers, template
from test_saying import WHOLE

ADDRESS = ["1 Oak Street", "Springfield, CO 80000"]
AT_HOME = {"language": "en", "address": ADDRESS, "large_print": False}
SETTINGS: dict[str, Any] = {
    "name": "Another Practice",
    "paper_size": "a4",
    "languages": ("en", "de", "fr"),
    "address.lines": ("2 Elm Street",),
    "phones.desk": "+1 303 555 0199",
    "phones.out_of_hours": "+1 303 555 0198",
    "phones.emergency": "112",
    "hours.monday": "09:00-12:00",
    "fee.amount": Decimal(36),
    "fee.currency": "CAD",
    "look.minutes": 7,
    "look.recheck_days": 10,
    "look.recheck_latest_days": 21,
    "look.sore_weeks": 3,
    "look.retention_years": 9,
    "links.website": "https://www.example.org/elsewhere",
    "staff": (),
    "forms.allow_draft_translations": False,
    "reminders.email": "other@example.org",
    "reminders.time_zone": "Europe/Madrid",
    "reminders.visit_minutes": 45,
    "reminders.backs": "long edge",
    "reminders.called": "Elsewhere",
    "post": None,
    "language_help.confirmed": date(2026, 11, 1),
    "language_help.languages": ("es", "fr"),
    "language_help": None,
}
"""Every setting, each with another value. The country is not among them: it chooses figures too."""

VISIT: dict[str, Any] = {
    "person.name": "Another Name",
    "person.called": "Other",
    "person.born": "1950-01-02",
    "person.record": "J-9",
    "person.language": "es",
    "person.address": ["9 Elm Avenue", "Otherville, CO 80001"],
    "person.phone": "+1 303 555 0100",
    "person.email": "other@example.org",
    "day": "2026-11-10",
    "decision": "declined",
    "recheck": "2026-12-10T09:00",
    "missed_rechecks": 3,
    "recheck_outcome.found": "gone",
    "finding.place": "cheek",
    "finding.urgency": "routine",
    "next_visit": "2027-05-20T09:00",
    "cancelled_visit": "2026-12-02T09:00",
}


def changed(before: Any, name: str, value: Any) -> Any:
    """Settings with one of them changed, as if the file said so."""
    first, _, rest = name.partition(".")
    if rest:
        return before.model_copy(update={first: changed(getattr(before, first), rest, value)})
    if name == "staff":
        value = (before.staff[0].model_copy(update={"name": "Tamsin Other"}),)
    return before.model_copy(update={name: value})


def whole_visit(**more: Any) -> Visit:
    facts = Visit.model_validate({**WHOLE, "person": {**WHOLE["person"], **AT_HOME}}).model_dump(
        mode="json", exclude_none=True
    )
    for name, value in more.items():
        *outer, last = name.split(".")
        inner = facts
        for part in outer:
            inner = inner[part]
        inner[last] = value
    return Visit.model_validate(facts)


def saying_of(name: str, evidence: Tables) -> frozenset[Key]:
    told = template(folder_of_papers(), name)
    return of_paper(told, CATALOGUE[name], evidence.positions)


@pytest.fixture(scope="module")
def office(practice: Practice) -> Practice:
    """The demo's practice with all that can be set, set."""
    return practice.model_copy(
        update={
            "forms": Forms(allow_draft_translations=True),
            "post": Post(envelope="#10"),
            "language_help": LanguageHelp(confirmed=WEDNESDAY, languages=("es", "ar")),
        }
    )


def apart_from_code(page: Page) -> Page:
    """A page without its code, which stands in its last line as well."""
    foot = tuple(one for one in page.foot if one != Isolate(page.code, "ltr", "", "paper"))
    # A card has no room for the practice's address: writers never see to it.
    head = page.letterhead if page.shape != "card" else page.letterhead[:1]
    return replace(page, code="", foot=foot, letterhead=head)


def fit(order: Order) -> Order:
    """The order with its visit as it must be recorded for the paper."""
    visit = order.visit
    if visit is None:
        return order
    outcome, area = visit.recheck_outcome, visit.finding
    if order.paper.id == "nothing-seen" and outcome and area and outcome.plan == "re-check":
        seen = area.model_copy(update={"light": "not dark", "plan": "re-check"})
        again = {"finding": seen, "recheck_outcome": None}
        return replace(order, visit=visit.model_copy(update=again))
    return replace(order, visit=suited(visit, order.paper.id))


def variants(order: Order) -> Iterator[tuple[str, Order]]:
    """The order with each setting and each fact changed, one at a time."""
    for name, value in SETTINGS.items():
        yield name, replace(order, practice=changed(order.practice, name, value))
    for name, value in VISIT.items():
        yield name, replace(order, visit=whole_visit(**{name: value}))
    yield "large print", replace(order, large_print=True)
    yield "day form", replace(order, day_form="brief")
    yield "day", replace(order, today=date(2026, 11, 26))
    counts = Results(WEDNESDAY, WEDNESDAY, 20, 15, 2, 2, 1, 2, 2, 1, 1)
    yield "results", replace(order, results=counts)


@pytest.mark.parametrize("name", PAPERS)
def test_the_same_code_means_the_same_page_and_what_is_not_shown_leaves_it(
    name: str, office: Practice, evidence: Tables
) -> None:
    asked = Order(CATALOGUE[name], office, whole_visit(), "en", False, WEDNESDAY)
    signed_by = whole_visit()
    nobody_signed = signed_by.model_copy(update={"done_by": None})
    shown: dict[str, set[bool]] = {}
    again = whole_visit(**{"recheck_outcome.plan": "re-check"})
    for visit in (signed_by, nobody_signed, again):
        before = compose(fit(replace(asked, visit=visit)), evidence)
        for what, order in variants(replace(asked, visit=visit)):
            if what not in VISIT:
                order = replace(order, visit=visit)
            try:
                after = compose(fit(order), evidence)
            except FactsProblem:
                # A paper that the record denies is not made, and has no code either.
                assert what in VISIT
                continue
            except LanguageProblem:
                # A form that is refused has no code at all.
                assert what == "forms.allow_draft_translations"
                continue
            same = apart_from_code(before) == apart_from_code(after)
            if before.code == after.code:
                assert same, f"{what} changes '{name}' and leaves its code"
                assert write([before], "html") == write([after], "html"), what
            elif what in SETTINGS:
                shown.setdefault(what, set()).add(not same)
    # Who stands under a letter is a setting only where nobody is recorded to have done the look.
    assert all(any(seen) for seen in shown.values()), shown


NAMES = st.sampled_from(sorted({*SETTINGS, *VISIT} - {"forms.allow_draft_translations"}))


@settings(max_examples=100, deadline=None)
@given(
    name=st.sampled_from(PAPERS),
    tag=st.sampled_from(["en", "es", "ht"]),
    base=st.sets(NAMES, max_size=8),
    few=st.sets(NAMES, min_size=1, max_size=2),
)
def test_any_two_papers_with_one_code_are_one_paper(
    name: str, tag: str, base: set[str], few: set[str], office: Practice, evidence: Tables
) -> None:
    pages = []
    # The same but for one or two settings or facts: those that a code may miss.
    for names in (base, base ^ few):
        practice = office
        # Longer names first: what is taken away whole is taken away last.
        for one in sorted(names & set(SETTINGS), key=len, reverse=True):
            practice = changed(practice, one, SETTINGS[one])
        visit = whole_visit(**{one: VISIT[one] for one in names & set(VISIT)})
        asked = Order(CATALOGUE[name], practice, visit, tag, False, WEDNESDAY)
        try:
            pages.append(compose(fit(asked), evidence))
        except FactsProblem:
            return  # A paper that the record denies is not made.
    first, second = pages
    assert first.code != second.code or apart_from_code(first) == apart_from_code(second)


def test_every_setting_is_tried() -> None:
    tried = {name.partition(".")[0] for name in SETTINGS}
    assert set(Practice.model_fields) - tried == {"country", "results"}


def test_two_people_at_two_addresses_have_two_codes(office: Practice) -> None:
    desk = Desk(office, WEDNESDAY)
    for name in ("before-visit", "specialist-visit"):
        one = desk.page(name, whole_visit())
        other = desk.page(name, whole_visit(**{"person.address": ["9 Elm Avenue"]}))
        renamed = desk.page(name, whole_visit(**{"person.name": "Bo Lind"}))
        assert len({one.code, other.code, renamed.code}) == 3
        # Handed out, the paper tells nothing of a person and has one code for everybody.
        plain = Desk(office.model_copy(update={"post": None}), WEDNESDAY)
        assert plain.page(name, whole_visit()).code == plain.page(name, None).code


def test_a_changed_sentence_of_the_offer_of_help_is_noticed(
    office: Practice, tmp_path: Path
) -> None:
    before = Desk(office, WEDNESDAY).page("consent", None, "en").code
    shutil.copytree(paths.locales() / "es", tmp_path / "locales" / "es")
    file = tmp_path / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po"
    old = "La ayuda en su idioma"
    assert old in file.read_text("utf-8")
    file.write_text(file.read_text("utf-8").replace(old, "Ayuda en su idioma"), "utf-8")
    desk = Desk(office, WEDNESDAY, tmp_path)
    assert desk.page("introduction", None, "en").code == (
        Desk(office, WEDNESDAY).page("introduction", None, "en").code
    )
    with pytest.raises(ChangedProblem, match="the wording"):
        again(desk, before, Asked("consent", None, "en"), tmp_path / "again.html")


def test_a_signature_under_the_offer_of_help_is_noticed(office: Practice, evidence: Tables) -> None:
    order = Order(CATALOGUE["consent"], office, None, "en", False, WEDNESDAY)
    words = catalog(language("es", "US"))
    said = saying_of("language-help", evidence)
    signed = [Review("es", "language-help", "A", "certified", "2026-01-31", words.digest(said))]
    assert compose(order, evidence).code != compose(order, evidence, signed).code


def test_own_dates_of_a_language_belong_to_the_wording_and_to_what_is_signed(
    office: Practice, evidence: Tables, tmp_path: Path
) -> None:
    desk = Desk(office, WEDNESDAY, tmp_path)
    before = desk.page("dark-area", whole_visit(), "ht").code
    shutil.copytree(paths.locales() / "ht", tmp_path / "locales" / "ht")
    file = tmp_path / "locales" / "ht" / "locale.toml"
    text = file.read_text("utf-8")
    said = saying_of("dark-area", evidence)
    digest = catalog(language("ht", "US")).digest(said)
    file.write_text(text.replace('"desanm"', '"desanb"'), "utf-8")
    later = Desk(office, WEDNESDAY, tmp_path)
    assert later.page("dark-area", whole_visit(), "ht").code.split("-")[0] != before.split("-")[0]
    assert later.words("ht").digest(said) != digest
    file.write_text(text.replace("reviewed = false", "reviewed = true"), "utf-8")
    language.cache_clear()
    assert Desk(office, WEDNESDAY, tmp_path).words("ht").digest(said) == digest
