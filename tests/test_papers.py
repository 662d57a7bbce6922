"""Composition: strict templates, sourced numbers, whole papers, and what stops one."""

import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from conftest import HOSTILE, LANGUAGES, PAPERS, WEDNESDAY, renamed
from plainleaf import paths
from plainleaf.errors import (
    EvidenceProblem,
    FactsProblem,
    LanguageProblem,
    PaperProblem,
    Problem,
)
from plainleaf.evidence.tables import Tables
from plainleaf.language.catalogs import Review, catalog, is_reviewed
from plainleaf.language.extraction import of_paper
from plainleaf.language.locales import language
from plainleaf.office.practice import Forms, Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Figure, Isolate, Page, flat, runs, walk, words_of
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.catalogue import paper
from plainleaf.papers.checks import check, elements, exposed_words, trace
from plainleaf.papers.compose import Order, compose, digest
from plainleaf.papers.markup import parse


@pytest.fixture
def templates(tmp_path: Path) -> Path:
    return Path(shutil.copytree(paths.templates() / "papers", tmp_path / "papers"))


def order(
    name: str, practice: Practice, visit: Visit | None = None, tag: str = "en", large: bool = False
) -> Order:
    return Order(CATALOGUE[name], practice, visit, tag, large, WEDNESDAY)


def made(asked: Order, evidence: Tables, **where: Path) -> Page:
    page = compose(asked, evidence, **where)
    check(page, asked.paper)
    return page


@pytest.mark.parametrize("name", PAPERS)
def test_every_required_element_that_is_removed_stops_the_paper(
    name: str, templates: Path, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    asked = order(name, practice, visits["en"])
    for element in CATALOGUE[name].elements:
        pattern = re.compile(rf'element="{element.name}"')
        files = [
            file for file in templates.rglob("*.xml") if pattern.search(file.read_text("utf-8"))
        ]
        kept = {file: file.read_text("utf-8") for file in files}
        assert files, element.name
        for file, text in kept.items():
            file.write_text(pattern.sub('element="something-else"', text), "utf-8")
        with pytest.raises(PaperProblem, match=f"lacks the part '{element.name}'"):
            made(asked, evidence, templates=templates)
        for file, text in kept.items():
            file.write_text(text, "utf-8")
    made(asked, evidence, templates=templates)


def harm(templates: Path, old: str, new: str) -> None:
    file = templates / "introduction.xml"
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), "utf-8")


@pytest.mark.parametrize(
    ("old", "new", "kind", "says"),
    [
        ("You wear eye protection.", "You wear 2 lenses.", LanguageProblem, "number is typed"),
        ("<ul>", "<ul>12", PaperProblem, "loose text"),
        ("<h2>{% trans %}What it is", "<h2>5 {% trans %}What it is", PaperProblem, "typed number"),
        ("fee=practice.fee", "fee=practice.price", PaperProblem, "not there"),
        ("{{ both.deaths_compared }}", "{{ both.births }}", PaperProblem, "not there"),
        ('"mouth")', '"elbow")', PaperProblem, "not there"),
        ('study("general-practice-light")', 'study("nothing")', EvidenceProblem, "study 'nothing'"),
        ('positions("light-look")', 'positions("moon")', EvidenceProblem, "No expert position"),
        ("<box element=", "<blink element=", PaperProblem, "breaks"),
        ("{% endtrans %}</p>\n</box>", "{% endtrans %}</box>", PaperProblem, "breaks"),
        ("{% trans %}You wear", "{% trans %}<b>You</b> wear", PaperProblem, "<b> may not stand"),
        ("<ul>", '<ul class="x">', PaperProblem, "unknown attribute 'class'"),
        ("{% trans fee", "{% tranz fee", PaperProblem, "not there"),
    ],
)
def test_a_harmed_template_stops_the_paper(
    templates: Path,
    practice: Practice,
    evidence: Tables,
    old: str,
    new: str,
    kind: type[Problem],
    says: str,
) -> None:
    harm(templates, old, new)
    with pytest.raises(kind) as caught:
        made(order("introduction", practice), evidence, templates=templates)
    assert says in caught.value.found
    for sentence in (caught.value.found, caught.value.why, caught.value.do):
        assert sentence.rstrip().endswith(".")


def test_a_removed_figure_stops_the_papers_that_show_it(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    bare = replace(
        evidence, figures=tuple(one for one in evidence.figures if one.id != "gp-light-dark")
    )
    for name in ("introduction", "consent", "dark-area"):
        with pytest.raises(PaperProblem, match="people-dark"):
            compose(order(name, practice, visits["en"]), bare)
    compose(order("reminder-card", practice, visits["en"]), bare)


def test_a_remembered_figure_is_refused_even_if_a_template_gets_hold_of_it(
    practice: Practice, evidence: Tables
) -> None:
    remembered = [
        replace(one, how_read="memory") if one.id == "gp-light-missed" else one
        for one in evidence.figures
    ]
    with pytest.raises(PaperProblem, match="people-missed"):
        compose(order("introduction", practice), replace(evidence, figures=tuple(remembered)))


def test_with_the_2006_edition_the_paper_prints_the_trades_round_numbers(
    practice: Practice, evidence: Tables
) -> None:
    # As if the remembered oral values of Cancer Facts & Figures 2006 had been read.
    old = tuple(
        replace(one, how_read="read") if one.period == "2006" else one
        for one in evidence.figures
        if one.period == "2006" or one.place == "study"
    )
    words = words_of(made(order("introduction", practice), replace(evidence, figures=old)).blocks)
    assert "United States, 2006. In one year, about 31,000 people" in words
    assert "More than twice as many people die of this cancer as of cancer of the cervix" in words
    assert "(about 3,700 people)" in words


def test_a_practice_abroad_gets_the_world_and_is_told_so(
    practice: Practice, evidence: Tables
) -> None:
    abroad = practice.model_copy(update={"country": "NZ"})
    page = made(order("introduction", abroad), evidence)
    assert (
        "world, 2020. In one year, about 380,000 people learn that they have cancer of the lip"
        in (words_of(page.blocks))
    )


def test_asking_for_a_figure_cites_it_and_lists_its_source(
    practice: Practice, evidence: Tables
) -> None:
    page = made(order("introduction", practice), evidence)
    shown = {
        part
        for block in walk(page.blocks)
        for run in runs(block)
        for one in flat(run)
        if isinstance(one, Figure)
        for part in one.figure.replace(" / ", " - ").split(" - ")
    }
    listed = " ".join(note.text for note in page.sources)
    for figure_id in shown:
        source = evidence.sources[evidence.figure(figure_id).source]
        assert source.title in listed
    assert len(page.sources) == len({note.text for note in page.sources})
    assert [note.number for note in page.sources] == list(range(1, len(page.sources) + 1))


def test_every_number_on_a_page_has_an_origin(practice: Practice, evidence: Tables) -> None:
    page = made(order("introduction", practice), evidence)
    origins = {text: reference for text, kind, reference in trace(page) if kind == "figure"}
    assert origins["130"] == "gp-light-looked-at"
    assert origins["41"] == "gp-light-dark - gp-light-dark-disease"


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", ["introduction", "consent"])
def test_help_and_harm_are_told_in_equal_detail(
    name: str, tag: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    # IPDAS minimum standards (Joseph-Williams 2014): both sides in equal detail; 25 % is ours.
    page = made(order(name, practice, visits[tag], tag), evidence)
    table = next(block for block in walk(page.blocks) if type(block).__name__ == "Table")
    help_side, harm_side = (
        sum(len(words_of(row[side].blocks).split()) for row in table.rows) for side in (0, 1)
    )
    assert 0.75 <= help_side / harm_side <= 1.25, (help_side, harm_side)


BANNED = (
    "detects cancer",
    "finds cancer",
    "early detection",
    "peace of mind",
    "painless",
    "don't worry",
    "rules out",
    "simple",
    "safe",
    "waive",
    "hold harmless",
    "not liable",
)


@pytest.mark.parametrize("name", PAPERS)
def test_no_paper_sells_or_promises(
    name: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    words = words_of(made(order(name, practice, visits["en"]), evidence).blocks).casefold()
    assert [phrase for phrase in BANNED if re.search(rf"\b{phrase}", words)] == []
    assert "!" not in words


def test_facts_that_are_missing_are_all_listed(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    with pytest.raises(FactsProblem) as caught:
        compose(order("dark-area", practice), evidence)
    for need in paper("dark-area").needs:
        assert need in caught.value.found
    partly = visits["en"].model_copy(update={"recheck": None})
    with pytest.raises(FactsProblem, match="lacks the booked re-check"):
        compose(order("dark-area", practice, partly), evidence)


def test_a_form_to_be_signed_refuses_a_draft_translation_unless_the_practice_allows_it(
    practice: Practice, evidence: Tables
) -> None:
    strict = practice.model_copy(update={"forms": Forms()})
    with pytest.raises(LanguageProblem, match="is a draft"):
        compose(order("consent", strict, tag="es"), evidence)
    compose(order("consent", strict, tag="en"), evidence)
    allowed = made(order("consent", practice, tag="es"), evidence)
    assert "draft-notice" in elements(allowed)


def test_a_signature_lifts_the_notice_for_that_exact_text_only(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    asked = order("introduction", practice, tag="es")
    words = catalog(language("es"))
    messages = list(of_paper(templates, "introduction", evidence.positions))
    digest = words.digest(messages)
    signed = [Review("es", "introduction", "A. Translator", "certified", "2026-01-31", digest)]
    assert "draft-notice" in elements(compose(asked, evidence))
    assert "draft-notice" not in elements(compose(asked, evidence, signed))
    other = order("dark-area", practice, tag="es")
    assert not is_reviewed(words, other.paper.id, signed, lambda: messages)
    harm(templates, "{% trans %}You wear eye protection.", "{% trans %}It is your choice")
    changed = compose(asked, evidence, signed, templates)
    assert "draft-notice" in elements(changed), "another text: the signature lapses"
    assert is_reviewed(catalog(language("en")), "introduction", [], list)


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_notice_on_a_draft_is_in_both_languages(
    tag: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    page = made(order("dark-area", practice, visits[tag], tag), evidence)
    notice = elements(page).get("draft-notice", "")
    assert ("A machine drafted this translation." in notice) == (tag != "en")
    assert len(notice.splitlines()) == (0 if tag == "en" else 2)


@pytest.mark.parametrize("tag", LANGUAGES)
def test_a_card_carries_no_health_word(
    tag: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    made(order("reminder-card", practice, visits[tag], tag), evidence)
    # The lists are alive: the other papers, which say what they are about, would not pass.
    exposed = replace(CATALOGUE["introduction"], exposed=True)
    with pytest.raises(PaperProblem, match="carries the health word"):
        check(compose(order("introduction", practice, tag=tag), evidence), exposed)
    assert len(exposed_words(paths.locales(), tag)) >= 20


def test_a_card_stops_when_the_practices_own_name_betrays_the_reason(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    telling = practice.model_copy(update={"name": "Center for Oral Cancer"})
    with pytest.raises(PaperProblem, match="health word 'cancer'"):
        made(order("reminder-card", telling, visits["en"]), evidence)


@pytest.mark.parametrize("name", ["consent", "dark-area", "reminder-card"])
@pytest.mark.parametrize(
    "person", [HOSTILE, "{{7*7}} %(n)s ${x} </p>", "نورة السالمي", "O’Brien-\u202eSmith"]
)
def test_names_come_through_literally(
    name: str, person: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    visit = visits["en"]
    named = Visit.model_validate(
        {
            **visit.model_dump(),
            "person": {**visit.person.model_dump(), "name": person, "called": person},
        }
    )
    page = made(order(name, practice, named), evidence)
    values = {
        one.text
        for block in walk(page.blocks)
        for run in runs(block)
        for one in flat(run)
        if isinstance(one, Isolate)
    }
    assert person.replace("\u202e", "") in values


def test_the_same_order_makes_the_same_page(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    asked = order("dark-area", practice, visits["ar"], "ar")
    assert digest(compose(asked, evidence)) == digest(compose(asked, evidence))
    other = order("dark-area", practice, renamed(visits["ar"], "Another"), "ar")
    assert digest(compose(asked, evidence)) != digest(compose(other, evidence))


def test_form_numbers_are_the_same_in_every_language(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    numbers = {
        tag: [
            (block.element, block.heading.number)
            for block in compose(order("consent", practice, visits[tag], tag), evidence).blocks
            if getattr(block, "heading", None)
        ]
        for tag in LANGUAGES
    }
    assert numbers["en"] == numbers["es"] == numbers["ar"]
    assert numbers["en"][-1] == ("withdrawal", len(numbers["en"]))


def test_an_unknown_paper_is_a_known_problem() -> None:
    with pytest.raises(PaperProblem, match="no paper called 'brochure'"):
        paper("brochure")


@pytest.mark.parametrize(
    "xml",
    [
        "<doc/>",
        "<paper>text</paper>",
        "<paper><p><section/></p></paper>",
        "<paper><section><p>a</p></section></paper>",
        "<paper><table></table></paper>",
        "<paper><table><tr><th>a</th></tr><tr><td/><td/></tr></table></paper>",
        "<paper><fields><field><label>a</label></field></fields></paper>",
        "<paper><ul><p>a</p></ul></paper>",
        '<paper><p><bdi dir="up">a</bdi></p></paper>',
        '<paper><p><data figure="x">a</data></p></paper>',
    ],
)
def test_markup_that_is_not_in_the_vocabulary_is_refused(xml: str) -> None:
    with pytest.raises(PaperProblem):
        parse(xml, "test")
