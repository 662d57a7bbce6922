"""Nothing is hard-coded, nothing clipped: two invented languages on every paper and format."""

import re
import zipfile
from html import unescape
from io import BytesIO
from xml.etree import ElementTree

import pypdfium2
import pytest
import typst

from conftest import PAPERS, WEDNESDAY
from overlapping import overlaps
from plainleaf.desk import Desk, write
from plainleaf.desk.acts import demo_visit
from plainleaf.office.practice import Practice
from plainleaf.papers.blocks import Code, Page, PeopleChart, Text, flat, is_rtl, plain, runs, walk
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from pseudo import PSEUDO, write_pseudo

ONE_LANGUAGE = [name for name in PAPERS if name != "language-help"]


@pytest.fixture(scope="session")
def office(tmp_path_factory: pytest.TempPathFactory, practice: Practice) -> Desk:
    folder = tmp_path_factory.mktemp("office")
    write_pseudo(folder / "locales")
    # A short name, so that a longer text message still is one message.
    return Desk(practice.model_copy(update={"name": "Ju"}), WEDNESDAY, folder)


def page_of(office: Desk, name: str, tag: str, large: bool = False) -> Page:
    return office.page(name, demo_visit(CATALOGUE[name], "en"), tag, large)


def own_words(page: Page) -> list[str]:
    """All that we ourselves say on a page, letterhead and descriptions of pictures included."""
    said = [page.title, page.labels.page_of, page.labels.cited, page.labels.sources]
    blocks = list(walk(page.blocks))
    notice = [one for one in blocks if getattr(one, "element", "") == "draft-notice"]
    theirs = {id(run) for one in notice for inner in walk((one,)) for run in runs(inner)}
    for block in blocks:
        said += [block.alt] if isinstance(block, Code | PeopleChart) else []
        for run in runs(block):
            if id(run) not in theirs:
                said += [one.text for one in flat(run) if isinstance(one, Text)]
    return said + [one.text for one in flat(page.foot) if isinstance(one, Text)]


@pytest.mark.parametrize("tag", PSEUDO)
@pytest.mark.parametrize("name", ONE_LANGUAGE)
def test_no_word_is_hard_coded(name: str, tag: str, office: Desk) -> None:
    # Five letters have no accent here; a word of those alone, such as "mm", tells nothing.
    plain_words = re.compile(r"(?<![{\w])(?![mfvqx]+\b)[A-Za-z]{2,}(?![\w}])")
    for text in own_words(page_of(office, name, tag)):
        assert plain_words.findall(text) == [], text


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("tag", PSEUDO)
@pytest.mark.parametrize("name", PAPERS)
def test_nothing_on_paper_is_clipped_or_runs_over_another_text(
    name: str, tag: str, large: bool, office: Desk
) -> None:
    page = page_of(office, name, tag, large)
    document = pypdfium2.PdfDocument(write([page], "pdf"))
    assert overlaps(document, joined=tag == "ar-XB" or name == "language-help") == []
    for sheet in document:
        width, height = sheet.get_size()
        text = sheet.get_textpage()
        for place in range(text.count_chars()):
            left, bottom, right, top = text.get_charbox(place)
            if right > left:
                assert left >= 10, "runs out of the sheet"
                assert right <= width - 10, "runs out of the sheet"
                assert bottom >= 12, "closer to the edge than a printer reaches"
                assert top <= height - 10
    if tag == "en-XA":
        # Letters in reading order; a hyphen at the end of a line may be added by the typesetter.
        told = _letters("".join(one.get_textpage().get_text_bounded() for one in document))
        for word in shown_words(page):
            assert _letters(word) in told, word


@pytest.mark.parametrize("file_format", ["docx", "html", "txt"])
@pytest.mark.parametrize("tag", PSEUDO)
@pytest.mark.parametrize("name", PAPERS)
def test_every_word_is_in_every_format_and_its_direction_is_told(
    name: str, tag: str, file_format: str, office: Desk
) -> None:
    page = page_of(office, name, tag)
    content = write([page], file_format)
    if file_format == "docx":
        with zipfile.ZipFile(BytesIO(content)) as archive:
            body = archive.read("word/document.xml").decode()
        told = _letters("".join(ElementTree.fromstring(body).itertext()))
        assert ("<w:bidi/>" in body) == (tag == "ar-XB" or name == "language-help")
    else:
        told = _letters(unescape(re.sub(r"<[^>]+>", "", content.decode())))
    if file_format == "html":
        assert f'dir="{page.direction}"' in content.decode()
    for word in shown_words(page):
        assert _letters(word) in told, word


def shown_words(page: Page) -> list[str]:
    """Every word of a page; a card has no room for the address beside its code."""
    return [
        word
        for block in walk(page.blocks)
        if not (isinstance(block, Code) and page.shape == "card")
        for run in runs(block)
        for word in plain(run).split()
    ]


def _letters(text: str) -> str:
    return "".join(char for char in text if char.isalpha())


@pytest.mark.parametrize("name", ONE_LANGUAGE)
def test_the_mirrored_language_is_mirrored(name: str, office: Desk) -> None:
    page = page_of(office, name, "ar-XB")
    assert page.direction == "rtl"
    # A time in figures has no direction of its own.
    words = [one for one in " ".join(own_words(page)).split() if any(map(str.isalpha, one))]
    share = sum(map(is_rtl, words)) / len(words)
    assert share >= 0.8


def test_the_check_for_overlaps_sees_one() -> None:
    program = "#set page(width: 100pt, height: 50pt)\n#place[over]\n#place(dx: 2pt)[lap]"
    made = typst.compile(program.encode(), format="pdf")
    assert overlaps(pypdfium2.PdfDocument(made))
