"""Every paper in every language and format: whole, accessible, readable, within its sheets."""

import re
import zipfile
from html import unescape
from io import BytesIO
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import page as page_validation
import pypdfium2
import pytest
from babel import Locale

from backing import backs, digest, said, weighty
from conftest import PAPERS, SIXTEEN, WEDNESDAY
from overlapping import overlaps
from plainleaf import paths
from plainleaf.desk import Desk, write
from plainleaf.desk.acts import demo_visit
from plainleaf.desk.readability import readability
from plainleaf.errors import Problem
from plainleaf.language.catalogs import available, catalog, plural_categories, plural_index
from plainleaf.language.locales import language
from plainleaf.office.practice import Practice
from plainleaf.papers.blocks import Code, Page, plain, runs, walk
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.writers import message

EVERY = list(product(PAPERS, SIXTEEN))
JOINED = ("ar", "hi")
"""Languages whose letters are pieced together, so that their boxes overlap."""


@pytest.fixture(scope="session")
def desks(practice: Practice) -> dict[str, Desk]:
    return {
        size: Desk(practice.model_copy(update={"paper_size": size}), WEDNESDAY)
        for size in ("letter", "a4")
    }


def made(desk: Desk, name: str, tag: str, large: bool = False) -> Page:
    visit = demo_visit(CATALOGUE[name], tag)
    person = visit.person.model_copy(update={"large_print": large})
    return desk.page(name, visit.model_copy(update={"person": person}), tag, large)


def test_all_sixteen_are_there() -> None:
    assert set(available()) == set(SIXTEEN)


@pytest.mark.parametrize(("name", "tag"), EVERY)
def test_every_pdf_is_accessible_and_nothing_on_it_is_clipped(
    name: str, tag: str, desks: dict[str, Desk], tmp_path: Path
) -> None:
    # ISO 14289-1:2014 as the rules of page-validation. The typesetter stops at a missing glyph.
    for size, large in (("letter", False), ("a4", False), ("a4", True)):
        file = tmp_path / f"{size}-{large}.pdf"
        file.write_bytes(write([made(desks[size], name, tag, large)], "pdf"))
        document = pypdfium2.PdfDocument(str(file))
        most = CATALOGUE[name].most_pages
        assert large or not most or len(document) <= most, "does not fit its sheets"
        assert overlaps(document, joined=tag in JOINED or name == "language-help") == []
        for sheet in document:
            _inside(sheet)
        if (size, large) != ("a4", False):
            report = page_validation.validate_pdf(
                str(file), profile="ua1", limits=page_validation.SafetyLimits.unlimited()
            )
            assert [failure.message for failure in report.failures] == []


def _inside(sheet: pypdfium2.PdfPage) -> None:
    width, height = sheet.get_size()
    boxes = (one.get_bounds() for one in sheet.get_objects(max_depth=5) if one.type == 1)
    for left, bottom, right, top in boxes:
        assert left >= 10
        assert right <= width - 10
        assert bottom >= 10
        assert top <= height - 10


@pytest.mark.parametrize(("name", "tag"), EVERY)
def test_every_word_is_in_the_other_formats(name: str, tag: str, desks: dict[str, Desk]) -> None:
    page = made(desks["letter"], name, tag)
    with zipfile.ZipFile(BytesIO(write([page], "docx"))) as archive:
        body = archive.read("word/document.xml")
    told = {
        "docx": _letters("".join(ElementTree.fromstring(body).itertext())),
        "html": _letters(unescape(re.sub(r"<[^>]+>", "", write([page], "html").decode()))),
        "txt": _letters(write([page], "txt").decode()),
    }
    for word in _words(page):
        for file_format, text in told.items():
            assert _letters(word) in text, f"'{word}' is not in the {file_format}"


def _words(page: Page) -> list[str]:
    """Every word; a card has no room for the address beside its code."""
    return [
        word
        for block in walk(page.blocks)
        if not (isinstance(block, Code) and page.shape == "card")
        for run in runs(block)
        for word in plain(run).split()
    ]


def _letters(text: str) -> str:
    return "".join(char for char in text if char.isalpha())


@pytest.mark.parametrize(("name", "tag"), EVERY)
def test_every_paper_is_about_as_easy_in_every_language(
    name: str, tag: str, desks: dict[str, Desk]
) -> None:
    found = readability(desks["letter"], name, demo_visit(CATALOGUE[name], tag), tag)
    for score in found.scores:
        if score.measure.name not in HARD.get(tag, ()):
            assert score.met in (True, None), f"{score.measure.name} {score.value:.1f}"
    if not CATALOGUE[name].for_team:
        assert found.lengths.mean_sentence < (14 if found.lengths.unit == "words" else 40)


HARD = {"ru": ("Flesch after Oborneva, variant A",)}
"""Measures whose goal a language's own medical words miss; sentences are short all the same."""

PARTS = {
    **dict.fromkeys(("en", "es", "fr", "de", "it", "pt-BR", "pl", "fil", "ht", "zh-Hans"), 1),
    **dict.fromkeys(("ru", "vi", "ko", "ja", "ar", "hi"), 2),
}
"""How many parts the reminder by text takes; two where the alphabet needs the wide encoding."""


@pytest.mark.parametrize("tag", SIXTEEN)
def test_a_text_message_costs_no_more_parts_than_its_alphabet_needs(
    tag: str, desks: dict[str, Desk]
) -> None:
    told = message.report(made(desks["letter"], "reminder-text", tag))
    assert told.parts == PARTS[tag]
    assert len(told.text) <= 160


# The numbers that hit every plural category (CLDR, through Babel 2.18); a million for "many" in
# Romance languages; a fraction for "other" in Slavic ones.
NUMBERS = (0, 1, 2, 3, 4, 5, 11, 12, 14, 21, 22, 25, 100, 101, 111, 1_000_000, 1.5)


@pytest.mark.parametrize("tag", SIXTEEN)
def test_every_plural_form_is_used_and_every_counted_text_has_them_all(tag: str) -> None:
    tongue = language(tag)
    categories = plural_categories(tongue)
    assert {categories[plural_index(tongue, number)] for number in NUMBERS} == set(categories)
    words = catalog(tongue)
    for entry in words.messages or ():
        if isinstance(entry.id, tuple):
            assert len(entry.string) == len(categories)
            assert all(form.strip() for form in entry.string)
    said = {words.ngettext("%(n)s day", "%(n)s days", number) for number in NUMBERS}
    assert all("%(n)s" in one for one in said)


def test_plural_rules_are_those_of_the_language_and_not_of_a_neighbour() -> None:
    # Polish 21 is "many" and Russian 21 "one" (CLDR).
    assert Locale("pl").plural_form(21) == "many"
    assert Locale("ru").plural_form(21) == "one"
    polish, russian = language("pl"), language("ru")
    assert plural_categories(polish)[plural_index(polish, 21)] == "many"
    assert plural_categories(russian)[plural_index(russian, 21)] == "one"


@pytest.mark.parametrize("tag", [tag for tag in SIXTEEN if tag != "en"])
def test_every_weighty_sentence_was_translated_back_as_it_stands(tag: str) -> None:
    words, known = catalog(language(tag)), backs(tag)
    lacking = [
        one.english
        for one in weighty()
        for form in said(words, one)
        if (one.message, digest(form)) not in known
    ]
    assert lacking == []


@pytest.mark.parametrize("tag", SIXTEEN)
def test_every_language_has_its_word_lists_and_a_glossary(tag: str) -> None:
    folder = paths.language_folder(tag)
    lists = ("exposed_words", "waiver_words", "value_words", "banned_claims", "selling_words")
    for name in (*lists, "one_in"):
        lines = (folder / f"{name}.txt").read_text("utf-8").splitlines()
        assert sum(bool(line) and not line.startswith("#") for line in lines) >= 3, name
    assert tag == "en" or (folder / "glossary.txt").is_file()


# English is its own source: it has no catalog that could lack a message.
@pytest.mark.parametrize("tag", [tag for tag in SIXTEEN if tag != "en"])
def test_deleting_one_message_stops_exactly_the_papers_that_use_it(
    tag: str, practice: Practice, tmp_path: Path
) -> None:
    own = tmp_path / "locales" / tag.replace("-", "_") / "LC_MESSAGES"
    own.mkdir(parents=True)
    source = paths.language_folder(tag)
    for file in source.glob("*.txt"):
        (own.parent / file.name).write_bytes(file.read_bytes())
    text = (source / "LC_MESSAGES" / "plainleaf.po").read_text("utf-8")
    gone = re.sub(
        r'msgid "Where it is"\nmsgstr (?:"[^\n]*"\n)+', 'msgid "Where it is"\nmsgstr ""\n', text
    )
    assert gone != text
    (own / "plainleaf.po").write_text(gone, "utf-8")
    desk = Desk(practice, WEDNESDAY, tmp_path)
    stopped = set()
    for name, one in CATALOGUE.items():
        try:
            desk.page(name, demo_visit(one, tag), tag)
        except Problem:
            stopped.add(name)
    assert stopped == {"dark-area"}
