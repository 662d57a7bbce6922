"""The offer of help in other languages: whose, signed by whom, checked when, and what is told."""

import shutil
from datetime import date, timedelta
from pathlib import Path

import pypdfium2
import pytest
from pydantic import ValidationError

from conftest import LANGUAGES, WEDNESDAY
from plainleaf import paths
from plainleaf.desk import Desk, read_practice, write
from plainleaf.desk.acts import demo_visit
from plainleaf.errors import LanguageProblem, SettingsProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language import phrases
from plainleaf.language.catalogs import SOURCE, Review, available, catalog
from plainleaf.language.locales import language
from plainleaf.office.practice import Forms, LanguageHelp, Practice
from plainleaf.papers.blocks import Page, Paragraph, Section, plain, words_of
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.compose import compose
from plainleaf.papers.helping import CONFIRMED_DAYS, ELEMENT
from plainleaf.papers.order import Order
from plainleaf.papers.saying import of_paper
from plainleaf.papers.template import folder_of_papers, template

SIGNED = [name for name, one in CATALOGUE.items() if one.offers_help]
FIFTEEN = tuple(tag for tag in available() if tag != SOURCE)


def offering(
    practice: Practice,
    *languages: str,
    confirmed: date = WEDNESDAY,
    drafts: bool = True,
) -> Practice:
    """The practice with the offer in some languages, drafts allowed or not."""
    settings = LanguageHelp(confirmed=confirmed, languages=languages)
    forms = Forms(allow_draft_translations=drafts)
    return practice.model_copy(update={"language_help": settings, "forms": forms})


def offers(page: Page) -> list[Paragraph]:
    """The paragraphs of the offer at the end of a form."""
    (part,) = [one for one in page.blocks if isinstance(one, Section) and one.element == ELEMENT]
    return [one for one in part.blocks if isinstance(one, Paragraph)]


def sign(evidence: Tables, *tags: str) -> list[Review]:
    """The signatures of the offer in some languages, for the texts as they stand."""
    said = of_paper(template(folder_of_papers(), ELEMENT), CATALOGUE[ELEMENT], evidence.positions)
    return [
        Review(tag, ELEMENT, "A", "certified", "2026-01-31", catalog(language(tag)).digest(said))
        for tag in tags
    ]


@pytest.mark.parametrize("name", SIGNED)
def test_a_form_that_is_signed_ends_with_the_offer_and_says_what_is_a_draft(
    name: str, practice: Practice
) -> None:
    desk = Desk(offering(practice, "es", "ar"), WEDNESDAY)
    page = desk.page(name, demo_visit(CATALOGUE[name], "en"), "en")
    spanish, arabic, mark = offers(page)
    for tag, told in (("es", spanish), ("ar", arabic)):
        assert told.language == tag
        words = catalog(language(tag))
        assert plain(told.inlines).endswith(phrases.draft_card(words))
    assert arabic.direction == "rtl"
    # In the source language once for all of them: the staff has to understand it as well.
    assert (plain(mark.inlines), mark.language) == ("Draft translation, not checked yet.", "en")


def test_a_form_with_an_offer_that_nobody_signed_is_refused(
    practice: Practice, evidence: Tables
) -> None:
    strict = offering(practice, "es", "vi", "en", drafts=False)
    order = Order(CATALOGUE["consent"], strict, None, "en", False, WEDNESDAY)
    with pytest.raises(LanguageProblem) as caught:
        compose(order, evidence)
    assert "draft in Spanish, Vietnamese:" in caught.value.found
    with pytest.raises(LanguageProblem, match="draft in Vietnamese:"):
        compose(order, evidence, sign(evidence, "es"))
    page = compose(order, evidence, sign(evidence, "es", "vi"))
    assert [one.language for one in offers(page)] == ["es", "vi", "en"]
    assert "draft" not in words_of(page.blocks).casefold()


def test_without_the_setting_no_form_offers_help_and_the_sheet_offers_the_languages_of_work(
    practice: Practice,
) -> None:
    plain_one = practice.model_copy(update={"language_help": None, "languages": ("en", "es")})
    desk = Desk(plain_one, WEDNESDAY)
    form = desk.page("consent", None, "en")
    assert ELEMENT not in [one.element for one in form.blocks if isinstance(one, Section)]
    assert desk.about_help("consent") == []
    sheet = desk.page(ELEMENT, None, "en")
    assert "español" in words_of(sheet.blocks)
    (told,) = desk.about_help(ELEMENT)
    assert "nobody has confirmed" in told


@pytest.mark.parametrize("written", ["es", "Spanish", "español", "spa", "es-MX"])
def test_a_language_may_be_spelled_as_lists_spell_it(written: str, practice: Practice) -> None:
    desk = Desk(offering(practice, written, "es"), WEDNESDAY)
    assert [one.language for one in offers(desk.page("consent", None, "en"))] == ["es", "en"]
    assert desk.about_help("consent") == []


def test_a_language_without_a_translation_is_left_out_and_told(practice: Practice) -> None:
    desk = Desk(offering(practice, "es", "Swahili", "ar"), WEDNESDAY)
    assert [one.language for one in offers(desk.page("consent", None, "en"))] == ["es", "ar", "en"]
    (told,) = desk.about_help("consent", "decline")
    assert "leaves out 'sw'" in told
    assert "plainleaf catalog sw" in told


def test_the_offices_own_language_is_offered_by_its_name(
    practice: Practice, tmp_path: Path
) -> None:
    shutil.copytree(paths.locales() / "es", tmp_path / "locales" / "ca")
    desk = Desk(offering(practice, "ca"), WEDNESDAY, tmp_path)
    assert [one.language for one in offers(desk.page("consent", None, "en"))] == ["ca", "en"]
    assert desk.about_help("consent") == []


def test_what_is_no_language_stops_when_the_settings_are_read(tmp_path: Path) -> None:
    with pytest.raises(ValidationError, match="is no language that we know"):
        LanguageHelp(confirmed=WEDNESDAY, languages=("es", "Klingonish!"))
    text = (paths.templates() / "demo" / "practice.toml").read_text("utf-8")
    text += '\n[language_help]\nconfirmed = 2026-11-25\nlanguages = ["es", "???"]\n'
    (tmp_path / "practice.toml").write_text(text, "utf-8")
    with pytest.raises(SettingsProblem, match=r"language_help.*\?\?\?"):
        read_practice(tmp_path / "practice.toml")


def test_the_day_of_the_check_is_never_after_that_of_the_paper(practice: Practice) -> None:
    late = offering(practice, "es", confirmed=WEDNESDAY + timedelta(days=1))
    with pytest.raises(SettingsProblem, match="2026-11-26, after the day on the paper"):
        Desk(late, WEDNESDAY).page("consent", None, "en")
    # A paper that does not carry the offer is not stopped by it.
    assert Desk(late, WEDNESDAY).page("introduction", None, "en")


def test_an_old_check_is_told_and_stops_nothing(practice: Practice) -> None:
    for days, told in ((CONFIRMED_DAYS, 0), (CONFIRMED_DAYS + 1, 1)):
        old = offering(practice, "es", confirmed=WEDNESDAY - timedelta(days=days))
        desk = Desk(old, WEDNESDAY)
        assert len(desk.about_help("consent")) == told
        assert desk.about_help("introduction") == []
        assert offers(desk.page("consent", None, "en"))


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", [*SIGNED, ELEMENT])
def test_fifteen_languages_take_a_page_more_at_the_most(
    name: str, tag: str, practice: Practice
) -> None:
    desk = Desk(offering(practice, *FIFTEEN), WEDNESDAY)
    page = desk.page(name, demo_visit(CATALOGUE[name], tag), tag)
    printed = len(pypdfium2.PdfDocument(write([page], "pdf")))
    assert printed <= CATALOGUE[name].most_pages + (name != ELEMENT)


@pytest.mark.parametrize(
    ("tag", "between"), [("es", ". "), ("ko", " \u00b7 "), ("zh-Hans", "。"), ("ja", "。")]
)
def test_the_mark_on_a_draft_is_a_sentence_of_its_own(
    tag: str, between: str, practice: Practice
) -> None:
    page = Desk(offering(practice, tag), WEDNESDAY).page("consent", None, "en")
    said = plain(offers(page)[0].inlines)
    mark = phrases.draft_card(catalog(language(tag)))
    assert said.endswith(f"{between}{mark}")
    assert not said.removesuffix(f"{between}{mark}").endswith((" ", "·"))


def test_few_languages_take_no_page_of_their_own(practice: Practice) -> None:
    desk = Desk(offering(practice, "es", "ar", "vi", "ko"), WEDNESDAY)
    page = desk.page("consent", None, "en")
    assert len(pypdfium2.PdfDocument(write([page], "pdf"))) <= CATALOGUE["consent"].most_pages
