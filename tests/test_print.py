"""What stands where on a printed sheet, measured in the pixels and strokes of the finished PDF."""

import ctypes
import re
from collections.abc import Iterator
from itertools import pairwise, product

import pypdfium2
import pypdfium2.raw as raw
import pytest
from PIL import Image

from conftest import LANGUAGES, SIXTEEN, WEDNESDAY
from measuring import INCH
from plainleaf.desk import Desk, write
from plainleaf.desk.acts import demo_visit
from plainleaf.office.practice import LanguageHelp, Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    Choices,
    Fields,
    Page,
    PeopleChart,
    Section,
    Table,
    plain,
    walk,
    words_of,
)
from plainleaf.papers.catalogue import PAPERS

SHEETS = [one.id for one in PAPERS.values() if one.shape in ("sheet", "form")]
FORMS = [one.id for one in PAPERS.values() if one.shape == "form"]
SIZES = ("letter", "a4")
MILLIMETRE = 72 / INCH


def made(
    practice: Practice, name: str, tag: str, size: str = "letter", large: bool = False
) -> Page:
    """A paper of the demo's person, on sheets of a size."""
    office = Desk(practice.model_copy(update={"paper_size": size}), WEDNESDAY)
    return office.page(name, demo_visit(PAPERS[name], tag), tag, large)


def opened(page: Page) -> pypdfium2.PdfDocument:
    return pypdfium2.PdfDocument(write([page], "pdf"))


# ---- the foot -----------------------------------------------------------------------------------

NEAR = 4.0
"""Millimetres that stay white above the foot."""


def inked_rows(picture: Image.Image) -> list[int]:
    wide, pixels = picture.width, picture.tobytes()
    return [y for y in range(picture.height) if min(pixels[y * wide : (y + 1) * wide]) < 200]


def foots(document: pypdfium2.PdfDocument, scale: int = 2) -> list[tuple[float, float]]:
    """On each sheet the top of its foot, and how much is white above it, in millimetres.

    The foot is the lowest ink, up to the first gap that is wider than one between its lines.
    """
    found = []
    for sheet in document:
        rows = inked_rows(sheet.render(scale=scale).to_pil().convert("L"))[::-1]
        gaps = ((low, low - high) for low, high in pairwise(rows))
        least = (NEAR - 0.2) * MILLIMETRE * scale
        found.append(next(((low, gap) for low, gap in gaps if gap > least), (rows[-1], 0)))
    return [(top / scale / MILLIMETRE, gap / scale / MILLIMETRE) for top, gap in found]


@pytest.mark.parametrize(
    ("name", "tag", "size", "large"), list(product(FORMS, LANGUAGES, SIZES, (False, True)))
)
def test_the_foot_of_a_form_keeps_clear_of_what_is_written_above_it(
    name: str, tag: str, size: str, large: bool, practice: Practice
) -> None:
    tops, gaps = zip(*foots(opened(made(practice, name, tag, size, large))), strict=True)
    assert min(gaps) >= NEAR
    # Ink of the page that reached the foot would be taken for a part of it, on some sheet.
    assert max(tops) - min(tops) < 0.5


@pytest.mark.parametrize("name", ["language-help", "consent", "decline"])
@pytest.mark.parametrize("large", [False, True])
def test_help_in_sixteen_languages_goes_on_to_another_sheet(
    name: str, large: bool, practice: Practice
) -> None:
    offered = LanguageHelp(languages=SIXTEEN, confirmed=WEDNESDAY)
    helping = practice.model_copy(update={"language_help": offered})
    tops, gaps = zip(*foots(opened(made(helping, name, "en", "letter", large))), strict=True)
    assert min(gaps) >= NEAR
    assert max(tops) - min(tops) < 0.5


def test_help_in_a_few_languages_is_read_from_the_wall(practice: Practice) -> None:
    few, many = (
        practice.model_copy(
            update={"language_help": LanguageHelp(languages=tags, confirmed=WEDNESDAY)}
        )
        for tags in (LANGUAGES, SIXTEEN)
    )
    sizes = []
    # With the mark of a draft in each of them, sixteen languages take a second sheet.
    for helping, sheets in ((few, 1), (many, 2)):
        document = opened(made(helping, "language-help", "en"))
        assert len(document) == sheets
        text = document[0].get_textpage()
        place = text.search("La ayuda").get_next()
        assert place
        sizes.append(raw.FPDFText_GetFontSize(text.raw, place[0]))
    assert sizes[0] >= 20
    assert sizes[1] >= 12


# ---- what is signed stays together ----------------------------------------------------------


def signed(page: Page) -> Iterator[Section]:
    """The sections with boxes to tick or a few lines to write on."""
    for block in walk(page.blocks):
        if isinstance(block, Section) and block.heading:
            lines = sum(len(one.fields) for one in block.blocks if isinstance(one, Fields))
            boxes = any(isinstance(one, Choices) for one in block.blocks)
            if 0 < lines < 7 or (boxes and lines < 7):
                yield block


def squeezed(text: str) -> str:
    return "".join(text.replace("\u2011", "-").split())


@pytest.mark.parametrize(
    ("name", "tag", "size", "large"), list(product(FORMS, ("en", "es"), SIZES, (False, True)))
)
def test_what_is_signed_stands_on_one_sheet_with_its_heading(
    name: str, tag: str, size: str, large: bool, practice: Practice
) -> None:
    page = made(practice, name, tag, size, large)
    sheets = [squeezed(one.get_textpage().get_text_bounded()) for one in opened(page)]
    for section in signed(page):
        assert section.heading
        number = str(section.heading.number) if section.heading.number else ""
        heading = number + squeezed(plain(section.heading.inlines))
        below = [text.split(heading, 1)[1] for text in sheets if heading in text]
        fields = [one for part in section.blocks if isinstance(part, Fields) for one in part.fields]
        for field in fields:
            assert any(squeezed(plain(field.label)) in text for text in below), plain(field.label)


# ---- sheets ----------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
def test_an_empty_back_has_the_size_of_its_sheet(
    size: str, practice: Practice, visits: dict[str, Visit]
) -> None:
    office = Desk(practice.model_copy(update={"paper_size": size}), WEDNESDAY)
    pages = [office.page("home-care", visits[tag], tag) for tag in LANGUAGES]
    document = pypdfium2.PdfDocument(write(pages, "pdf"))
    empty = [sheet for sheet in document if not sheet.get_textpage().count_chars()]
    assert empty
    assert len({sheet.get_size() for sheet in document}) == 1


@pytest.mark.parametrize(("name", "tag", "size"), list(product(SHEETS, LANGUAGES, SIZES)))
def test_no_last_sheet_is_nearly_empty(name: str, tag: str, size: str, practice: Practice) -> None:
    document = opened(made(practice, name, tag, size))
    top, gap = foots(document)[-1]
    assert len(document) == 1 or top - gap > 0.37 * document[0].get_height() / MILLIMETRE


# ---- dates, sources and charts ------------------------------------------------------------


def lines_of(document: pypdfium2.PdfDocument) -> list[str]:
    lines = [
        line for sheet in document for line in sheet.get_textpage().get_text_bounded().split("\r\n")
    ]
    return [" ".join(line.split()) for line in lines]


@pytest.mark.parametrize(
    ("name", "large"), list(product(("dark-area", "missed-visit", "consent"), (False, True)))
)
def test_no_day_is_parted_from_its_month_or_year(
    name: str, large: bool, practice: Practice
) -> None:
    lines = lines_of(opened(made(practice, name, "en", large=large)))
    parted = re.compile(r"\b(January|November|December|Nov|Dec)$|\b\d{1,2},$")
    assert [line for line in lines if parted.search(line)] == []
    assert [line for line in lines if re.match(r"(AM|PM)\b", line)] == []


def test_sources_are_read_from_the_left_on_an_arabic_page(practice: Practice) -> None:
    page = made(practice, "dark-area", "ar")
    document = opened(page)
    sheet = document[len(document) - 1]
    text = sheet.get_textpage()
    for word in {"[", *(source.text.split()[0] for source in page.sources)}:
        search, lefts = text.search(word), []
        while place := search.get_next():
            lefts.append(text.get_charbox(place[0])[0])
        assert min(lefts) < sheet.get_width() / 5, word


@pytest.mark.parametrize(("tag", "size"), list(product(("en", "es"), SIZES)))
def test_a_chart_in_large_print_stands_below_its_sentence(
    tag: str, size: str, practice: Practice
) -> None:
    page = made(practice, "introduction", tag, size, large=True)
    before, chart = next(
        (before, chart)
        for part in walk(page.blocks)
        if isinstance(part, Section)
        for before, chart in pairwise(part.blocks)
        if isinstance(chart, PeopleChart)
    )
    sentence = squeezed(words_of((before,)))[:40]
    legend = squeezed(plain(chart.parts[0].label))[:30]
    texts = [squeezed(one.get_textpage().get_text_bounded()) for one in opened(page)]
    assert any(sentence in text and legend in text for text in texts)


def test_only_a_form_says_on_each_sheet_of_large_print_what_it_is(practice: Practice) -> None:
    for name, every in (("introduction", False), ("consent", True)):
        page = made(practice, name, "en", large=True)
        texts = [one.get_textpage().get_text_bounded() for one in opened(page)]
        told = [" ".join(text.split()).count("made on Nov 25, 2026") for text in texts]
        assert told == [1 if every or text is texts[-1] else 0 for text in texts]
        assert all(page.code in text for text in texts)


# ---- boxes and rules -----------------------------------------------------------------------------


def paths(sheet: pypdfium2.PdfPage, stroke: float) -> list[tuple[float, float, float, float]]:
    """Where the lines of a thickness are drawn: left, bottom, right, top in points."""
    found = []
    for drawn in sheet.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH], max_depth=9):
        width = ctypes.c_float()
        raw.FPDFPageObj_GetStrokeWidth(drawn, width)
        if round(width.value, 1) == stroke:
            found.append(drawn.get_bounds())
    return found


@pytest.mark.parametrize(("name", "large"), list(product(("consent", "decline"), (False, True))))
def test_a_box_to_tick_stands_level_with_its_words(
    name: str, large: bool, practice: Practice
) -> None:
    page = made(practice, name, "en", large=large)
    found = 0
    choices = [
        c for block in walk(page.blocks) if isinstance(block, Choices) for c in block.choices
    ]
    for sheet in opened(page):
        text = sheet.get_textpage()
        boxes = paths(sheet, 1.1)
        for choice in choices:
            place = text.search(plain(choice)[:16]).get_next()
            if not place:
                continue
            left, bottom, _, top = text.get_charbox(place[0])
            middles = [(b + t) / 2 for _, b, right, t in boxes if 0 < left - right < 20]
            assert min(abs((bottom + top) / 2 - middle) for middle in middles) < 1.5
            found += 1
    assert found >= len(choices)


@pytest.mark.parametrize("large", [False, True])
def test_the_words_of_a_table_stand_in_line_with_its_rules(large: bool, practice: Practice) -> None:
    page = made(practice, "introduction", "en", large=large)
    tables = [block for block in walk(page.blocks) if isinstance(block, Table)]
    heads = [plain(table.header[0]) for table in tables if len(table.header) == 2]
    found = 0
    for sheet in opened(page):
        text = sheet.get_textpage()
        for head in heads:
            for left, _, right, _ in paths(sheet, 1.2):
                if right - left < 100:
                    continue
                place = text.search(head, match_case=True).get_next()
                assert place
                assert abs(text.get_charbox(place[0])[0] - left) < 2
                found += 1
    assert found
