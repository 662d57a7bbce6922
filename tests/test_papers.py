"""Composition: strict templates, sourced numbers, whole papers, and what stops one."""

import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from conftest import HOSTILE, LANGUAGES, PAPERS, WEDNESDAY, renamed, suited
from plainleaf import paths
from plainleaf.errors import (
    EvidenceProblem,
    FactsProblem,
    LanguageProblem,
    PaperProblem,
    Problem,
)
from plainleaf.evidence.tables import Tables
from plainleaf.language.catalogs import Review, catalog, standing
from plainleaf.language.locales import language
from plainleaf.office.practice import Forms, Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    Figure,
    Isolate,
    Page,
    PeopleChart,
    flat,
    plain,
    runs,
    walk,
    words_of,
)
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.catalogue import paper
from plainleaf.papers.checks import check, exposed_words, trace
from plainleaf.papers.compose import compose
from plainleaf.papers.markup import parse
from plainleaf.papers.order import Order
from plainleaf.papers.saying import of_paper
from plainleaf.papers.subject import parts
from plainleaf.papers.template import environment, template


@pytest.fixture
def templates(tmp_path: Path) -> Path:
    return Path(shutil.copytree(paths.templates() / "papers", tmp_path / "papers"))


def order(
    name: str, practice: Practice, visit: Visit | None = None, tag: str = "en", large: bool = False
) -> Order:
    return Order(CATALOGUE[name], practice, visit, tag, large, WEDNESDAY)


def made(asked: Order, evidence: Tables, **where: Path) -> Page:
    page = compose(asked, evidence, **where)
    check(page, asked.paper, {figure.id for figure in evidence.figures}, order=asked)
    return page


@pytest.mark.parametrize("name", PAPERS)
def test_every_required_element_that_is_removed_stops_the_paper(
    name: str, templates: Path, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    asked = order(name, practice, suited(visits["en"], name))
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
        ('mouth["deaths"].about', 'mouth["births"].about', PaperProblem, "not there"),
        ('"mouth")', '"elbow")', PaperProblem, "not there"),
        (
            "<box element=",
            "{{ figures.study('nothing') }}<box element=",
            EvidenceProblem,
            "'nothing'",
        ),
        ('positions("light-look",', 'positions("moon",', EvidenceProblem, "No expert position"),
        ("<box element=", "<blink element=", PaperProblem, "breaks"),
        ("{% endtrans %}</p>\n</box>", "{% endtrans %}</box>", PaperProblem, "breaks"),
        ("{% trans %}You wear", "{% trans %}<b>You</b> wear", PaperProblem, "<b> may not stand"),
        ("<ul>", '<ul class="x">', PaperProblem, "unknown attribute 'class'"),
        ("<ul>", '<p role="loud"/><ul>', PaperProblem, "'loud' is no role"),
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
            compose(order(name, practice, suited(visits["en"], name)), bare)
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


COMPARED = """
<section element="compared">
  {% set both = figures.newest(("deaths",), "mouth", beside="cervix") %}
  <p>{{ both.deaths_compared }}</p>
</section>
{% include "parts/questions.xml" %}"""


def test_with_the_2006_edition_the_paper_prints_the_trades_round_numbers(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    # As if the remembered oral values of Cancer Facts & Figures 2006 had been read.
    old = tuple(
        replace(one, how_read="read", quoted_in="", source="acs-2006", period="2006")
        for one in evidence.figures
        if one.period == "2006" and one.group == "all"
    )
    studies = tuple(one for one in evidence.figures if one.place == "study")
    harm(templates, '{% include "parts/questions.xml" %}', COMPARED)
    then = replace(evidence, figures=old + studies)
    asked = replace(order("introduction", practice), today=WEDNESDAY.replace(year=2007))
    words = words_of(made(asked, then, templates=templates).blocks)
    assert "United States, 2006. In one year, about 31,000 people" in words
    assert "More than twice as many people die of this cancer as of cancer of the cervix" in words
    assert "(about 3,700 people)" in words


def test_with_the_newest_editions_the_comparison_says_nearly_three_times(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    harm(templates, '{% include "parts/questions.xml" %}', COMPARED)
    words = words_of(made(order("introduction", practice), evidence, templates=templates).blocks)
    assert "Nearly 3 times as many people die of this cancer" in words


def test_a_practice_abroad_gets_the_world_and_is_told_so(
    practice: Practice, evidence: Tables
) -> None:
    abroad = practice.model_copy(update={"country": "NZ"})
    page = made(order("introduction", abroad), evidence)
    assert (
        "World, 2020. In one year, about 380,000 people learn that they have cancer of the lip"
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


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_every_number_on_a_page_has_an_origin(
    name: str, tag: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    page = made(order(name, practice, suited(visits[tag], name), tag), evidence)
    origins = {kind for _, kind, _ in trace(page)}
    assert origins <= {"figure", "date", "practice", "visit", "paper"}
    numerals = {
        number
        for block in walk(page.blocks)
        for run in runs(block)
        for number in re.findall(r"\d+", plain(run))
    }
    traced = " ".join(text for text, _, _ in trace(page))
    assert all(number in traced for number in numerals)


def test_a_number_that_stands_for_no_figure_does_not_leave(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    harm(templates, "<ul>", '<p><data figure="us-births" value="4">4</data></p><ul>')
    with pytest.raises(PaperProblem, match="stands for no figure"):
        made(order("introduction", practice), evidence, templates=templates)


def test_a_value_without_an_origin_does_not_leave(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    harm(templates, "<ul>", "<p><bdi>4</bdi></p><ul>")
    with pytest.raises(PaperProblem, match="typed number"):
        made(order("introduction", practice), evidence, templates=templates)


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", ["introduction", "consent"])
def test_the_chart_draws_the_study_as_whole_people(
    name: str, tag: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    # 42 dark of 130 people, 1 of the 42 real, 1 missed: a study in general practice (2012).
    page = made(order(name, practice, suited(visits[tag], name), tag), evidence)
    chart = next(block for block in walk(page.blocks) if isinstance(block, PeopleChart))
    assert [part.count for part in chart.parts] == [1, 31, 1, 67]
    assert [part.fill for part in chart.parts] == ["solid", "shaded", "crossed", "open"]
    assert chart.total == 100
    assert [n in chart.alt for n in ("100", "31", "67")] == [True] * 3
    # Wilson for 1 of 130: 0.14 to 4.2 percent, so 0 to 5 of 100 people.
    after = page.blocks
    assert re.search(r"\b0\b.*\b5\b", words_of(after))


def test_a_chart_that_disagrees_with_its_words_does_not_leave(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    part = templates / "parts" / "study_chart.xml"
    text = part.read_text("utf-8")
    swapped = text.replace("people.found|int", "people.missed|int + 1", 1)
    part.write_text(swapped.replace("people.cleared|int", "people.cleared|int - 1", 1), "utf-8")
    with pytest.raises(PaperProblem, match="draws 2 people"):
        made(order("introduction", practice), evidence, templates=templates)
    part.write_text(text.replace("people.cleared|int", "people.cleared|int - 1"), "utf-8")
    with pytest.raises(PaperProblem, match="99 people in place of 100"):
        made(order("introduction", practice), evidence, templates=templates)


def test_a_paper_counts_out_of_one_number_only(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    other = "".join(
        f'<part count="{n}" fill="{fill}">'
        f'<data figure="gp-light-dark" value="{n}">{n}</data></part>'
        for n, fill in ((400, "solid"), (600, "open"))
    )
    harm(templates, "<ul>", f'<chart alt="x">{other}</chart><ul>')
    with pytest.raises(PaperProblem, match="out of 100 and out of 1000"):
        made(order("introduction", practice), evidence, templates=templates)


def test_a_paper_from_an_out_of_date_source_says_of_which_year_its_figures_are(
    practice: Practice, evidence: Tables
) -> None:
    asked = order("introduction", practice)
    today = words_of(made(asked, evidence).blocks)
    assert "We must check the numbers again before December 31, 2026." in today
    assert "Some figures here are from" not in today
    later = made(replace(asked, today=WEDNESDAY.replace(year=2028)), evidence)
    assert "old-figures" in parts(later)
    assert "Newer ones may exist." in words_of(later.blocks)
    assert "We must check the numbers again" not in words_of(later.blocks)


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", ["introduction", "consent"])
def test_help_and_harm_are_told_in_equal_detail(
    name: str, tag: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    # IPDAS minimum standards (Joseph-Williams 2014): both sides in equal detail; 25 % is ours.
    page = made(order(name, practice, suited(visits[tag], name), tag), evidence)
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
    words = words_of(
        made(order(name, practice, suited(visits["en"], name)), evidence).blocks
    ).casefold()
    assert [phrase for phrase in BANNED if re.search(rf"\b{phrase}", words)] == []
    assert "!" not in words


def test_facts_that_are_missing_are_all_listed(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    with pytest.raises(FactsProblem) as caught:
        compose(order("dark-area", practice), evidence)
    for need in paper("dark-area").needs:
        assert need in caught.value.found
    partly = visits["en"].model_copy(update={"recheck": None, "recheck_outcome": None})
    with pytest.raises(FactsProblem, match="lacks the booked re-check, or a referral"):
        compose(order("dark-area", practice, partly), evidence)


def test_a_form_to_be_signed_refuses_a_draft_translation_unless_the_practice_allows_it(
    practice: Practice, evidence: Tables
) -> None:
    strict = practice.model_copy(update={"forms": Forms()})
    with pytest.raises(LanguageProblem, match="is a draft"):
        compose(order("consent", strict, tag="es"), evidence)
    compose(order("consent", strict, tag="en"), evidence)
    allowed = made(order("consent", practice, tag="es"), evidence)
    assert "draft-notice" in parts(allowed)


def test_a_signature_lifts_the_notice_for_that_exact_text_only(
    practice: Practice, evidence: Tables, templates: Path
) -> None:
    asked = order("introduction", practice, tag="es")
    words = catalog(language("es"))
    messages = of_paper(template(templates, "introduction"), asked.paper, evidence.positions)
    digest = words.digest(messages)
    signed = [Review("es", "introduction", "A. Translator", "certified", "2026-01-31", digest)]
    assert "draft-notice" in parts(compose(asked, evidence))
    assert "draft-notice" not in parts(compose(asked, evidence, signed))
    other = order("dark-area", practice, tag="es")
    assert standing(words, other.paper.id, signed, lambda: messages).draft
    environment.cache_clear()
    harm(templates, "{% trans %}You wear eye protection.", "{% trans %}It is your choice")
    changed = compose(asked, evidence, signed, templates)
    assert "draft-notice" in parts(changed), "another text: the signature lapses"
    # The source is no draft without a signature, and does not pass for signed either.
    source = standing(catalog(language("en")), "introduction", [], frozenset)
    assert (source.draft, source.state) == (False, "source, not reviewed")


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_notice_on_a_draft_is_in_both_languages(
    tag: str, practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    page = made(order("dark-area", practice, visits[tag], tag), evidence)
    notice = words_of(parts(page).get("draft-notice", ()))
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
        ids = {figure.id for figure in evidence.figures}
        check(compose(order("introduction", practice, tag=tag), evidence), exposed, ids)
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
    assert compose(asked, evidence) == compose(asked, evidence)
    other = order("dark-area", practice, renamed(visits["ar"], "Another"), "ar")
    assert compose(asked, evidence) != compose(other, evidence)


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
