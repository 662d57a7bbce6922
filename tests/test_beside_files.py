"""Files of forms in two languages (rule LA-13): every box and line once, in every format."""

import ctypes
import re
import zipfile
import zlib
from collections import Counter
from contextlib import suppress
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import page as page_validation
import pypdfium2
import pytest

from plainleaf.desk import Desk, write
from plainleaf.errors import LanguageProblem
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    Beside,
    Choices,
    Fields,
    Heading,
    InLanguage,
    Page,
    Section,
    Table,
    flat,
    inner_blocks,
    is_rtl,
    plain,
    runs,
    walk,
    words_of,
)
from plainleaf.papers.catalogue import PAPERS
from plainleaf.writers import pdf
from test_beside import EVERY, PAIRS, both, boxes_and_lines, columns, one, without

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
CHECKBOX = "{http://schemas.microsoft.com/office/word/2010/wordml}checkbox"
RAW = pypdfium2.raw


def lines_to_tell_on(page: Page) -> int:
    """How many of the lines are for what somebody tells in their own words."""
    parts = [block for block in walk(page.blocks) if isinstance(block, Section)]
    told = [one for one in parts if one.element in ("understanding", "ordinary-result", "reason")]
    fields = [one for part in told for one in part.blocks if isinstance(one, Fields)]
    return sum(not field.value for one in fields for field in one.fields)


# ---- PDF -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "pair", "large"), [(*one, big) for one in EVERY for big in (0, 1)]
)
def test_every_form_in_two_languages_meets_every_rule_of_pdf_ua_1(
    name: str,
    pair: tuple[str, str],
    large: int,
    desk: Desk,
    visits: dict[str, Visit],
    tmp_path: Path,
) -> None:
    # ISO 14289-1:2014 as the Matterhorn Protocol's rules in page-validation (104 rules).
    made = both(desk, visits, name, pair, bool(large))
    file = tmp_path / "form.pdf"
    file.write_bytes(write([made], "pdf"))
    report = page_validation.validate_pdf(
        str(file), profile="ua1", limits=page_validation.SafetyLimits.unlimited()
    )
    assert [failure.message for failure in report.failures] == []
    assert report.is_compliant
    if not large:
        assert len(pypdfium2.PdfDocument(str(file))) <= 2 * PAPERS[name].most_pages


def strokes(content: bytes) -> Counter[str]:
    """Boxes and lines as they are drawn, told apart by their stroke and size in points."""
    found: Counter[str] = Counter()
    for sheet in pypdfium2.PdfDocument(content):
        for drawn in sheet.get_objects(filter=[RAW.FPDF_PAGEOBJ_PATH]):
            width = ctypes.c_float()
            RAW.FPDFPageObj_GetStrokeWidth(drawn, width)
            left, bottom, right, top = drawn.get_bounds()
            if round(width.value, 1) == 1.1 and right - left < 20:
                found["box"] += 1
            elif round(width.value, 1) == 0.8 and top - bottom < 3:
                found["line"] += 1
    return found


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_the_pdf_draws_every_box_and_line_once(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    alone = one(desk, visits, name, pair[0], pair[0])
    boxes, lines = boxes_and_lines(alone)
    told = lines_to_tell_on(alone)
    for page in (both(desk, visits, name, pair), alone):
        drawn = strokes(write([page], "pdf"))
        assert drawn["box"] == boxes
        # What somebody tells in their own words has two lines, or three where there is room.
        assert drawn["line"] - lines in (told, 2 * told)


def letter_boxes(content: bytes, words: str) -> tuple[int, tuple[float, ...]]:
    """The sheet on which some words stand, and the box of their first letter in points."""
    for number, sheet in enumerate(pypdfium2.PdfDocument(content)):
        text = sheet.get_textpage()
        found = text.search(words).get_next()
        if found:
            return number, text.get_charbox(found[0])
    raise AssertionError(words)


MIDDLE = 612 / 2


@pytest.mark.parametrize(
    ("pair", "english_on_the_left"),
    [(("es", "en"), False), (("en", "es"), True), (("ar", "en"), True), (("en", "ar"), True)],
)
def test_the_reader_has_the_column_on_the_reading_side(
    pair: tuple[str, str], english_on_the_left: bool, desk: Desk, visits: dict[str, Visit]
) -> None:
    content = write([both(desk, visits, "decline", pair)], "pdf")
    number, box = letter_boxes(content, "explained")
    assert (box[0] < MIDDLE) == english_on_the_left
    if "ar" in pair:
        text = pypdfium2.PdfDocument(content)[number].get_textpage()
        letters = text.get_text_range()
        lefts = [text.get_charbox(place)[0] for place, char in enumerate(letters) if is_rtl(char)]
        assert sum(left > MIDDLE for left in lefts) > 0.8 * len(lefts) > 100


def test_both_headings_of_a_section_stand_on_one_line_and_in_large_print_below_each_other(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    for large in (False, True):
        content = write([both(desk, visits, "decline", ("es", "en"), large)], "pdf")
        (sheet, first), (other, second) = (
            letter_boxes(content, words) for words in ("explicamos", "explained")
        )
        if large:
            assert max(first[0], second[0]) < MIDDLE
            assert (sheet, -first[1]) < (other, -second[1])
        else:
            assert sheet == other
            assert first[1] == pytest.approx(second[1], abs=3)


@pytest.mark.parametrize(("large", "least"), [(False, 12), (True, 18)])
@pytest.mark.parametrize("pair", PAIRS)
def test_letters_are_as_large_in_two_languages_as_in_one(
    pair: tuple[str, str], large: bool, least: int, desk: Desk, visits: dict[str, Visit]
) -> None:
    sizes = set()
    for sheet in pypdfium2.PdfDocument(write([both(desk, visits, "consent", pair, large)], "pdf")):
        for thing in sheet.get_objects(filter=[RAW.FPDF_PAGEOBJ_TEXT]):
            size = ctypes.c_float()
            RAW.FPDFTextObj_GetFontSize(thing, size)
            sizes.add(round(size.value * abs(thing.get_matrix().d), 1))
    assert min(sizes) >= least, sizes


def told(ask: object, element: object) -> str:
    buffer = ctypes.create_string_buffer(64)
    length = ask(element, buffer, 64)  # type: ignore[operator]
    return buffer.raw[: max(length - 2, 0)].decode("utf-16-le")


def parts_of(content: bytes) -> Counter[tuple[str, str]]:
    """The parts of the structure tree: what each is, and the language that it is in."""
    parts: Counter[tuple[str, str]] = Counter()

    def read(element: object, language: str) -> None:
        language = told(RAW.FPDF_StructElement_GetLang, element) or language
        parts[told(RAW.FPDF_StructElement_GetType, element), language] += 1
        for number in range(RAW.FPDF_StructElement_CountChildren(element)):
            if child := RAW.FPDF_StructElement_GetChildAtIndex(element, number):
                read(child, language)

    for sheet in pypdfium2.PdfDocument(content):
        tree = RAW.FPDF_StructTree_GetForPage(sheet)
        for number in range(RAW.FPDF_StructTree_CountChildren(tree)):
            read(RAW.FPDF_StructTree_GetChildAtIndex(tree, number), "")
        RAW.FPDF_StructTree_Close(tree)
    return parts


def marked_words(content: bytes) -> Counter[str]:
    """How many runs inside a line are marked as being in a language, as ISO 32000 14.9.2 says."""
    found: Counter[str] = Counter()
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL):
        with suppress(zlib.error):
            text = zlib.decompress(stream)
            found.update(tag.decode() for tag in re.findall(rb"/Lang\s*\((\w+)\)>>BDC", text))
    return found


@pytest.mark.parametrize("pair", PAIRS)
def test_the_pdf_says_which_words_are_in_the_second_language(
    pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "photo-permission", pair)
    content = write([made], "pdf")
    assert re.search(rf"/Lang ?\({pair[0]}\)".encode(), content)
    parts = parts_of(content)
    heads = [one for pair_ in columns(made) for one in pair_.second if isinstance(one, Heading)]
    for language in ("", pair[1]):
        assert parts["H1", language] == 1
        assert parts["H2", language] == len(heads) - 1
    boxes = sum(len(one.choices) for one in walk(made.blocks) if isinstance(one, Choices))
    fields = sum(len(one.fields) for one in walk(made.blocks) if isinstance(one, Fields))
    # Boxes that stand in a row have both languages in one line, as labels do.
    assert boxes == 8
    assert marked_words(content)[pair[1]] >= fields + boxes > 20


def test_the_fonts_of_the_second_language_must_be_there(
    desk: Desk, visits: dict[str, Visit], monkeypatch: pytest.MonkeyPatch
) -> None:
    made = both(desk, visits, "decline", ("es", "en"))
    title, *rest = made.blocks
    assert isinstance(title, Beside)
    japanese = replace(title, language="ja", script="Jpan")
    monkeypatch.setattr(pdf, "_families", lambda: ("Noto Sans",))
    with pytest.raises(LanguageProblem, match="fonts for 'ja'"):
        write([replace(made, blocks=(japanese, *rest))], "pdf")


# ---- Word, the web, text -------------------------------------------------------------------------


def document_xml(content: bytes) -> ElementTree.Element:
    with zipfile.ZipFile(BytesIO(content)) as archive:
        return ElementTree.fromstring(archive.read("word/document.xml"))


def tagged_runs(root: ElementTree.Element) -> list[tuple[str, str]]:
    """Each run of words in a Word file with the tag of its language."""
    found = []
    for node in root.iter(f"{W}r"):
        text = "".join(one.text or "" for one in node.iter(f"{W}t"))
        tag = node.find(f"{W}rPr/{W}lang")
        if text.strip("\u200e\u200f \u00a0"):
            found.append((text, "" if tag is None else tag.get(f"{W}val", "")))
    return found


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_the_word_file_has_every_box_and_line_once_and_two_columns(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, name, pair)
    root = document_xml(write([made], "docx"))
    lines = [tab for tab in root.iter(f"{W}tab") if tab.get(f"{W}leader") == "underscore"]
    found = (len(list(root.iter(CHECKBOX))), len(lines))
    assert found == boxes_and_lines(one(desk, visits, name, pair[0], pair[0]))
    tables = list(root.iter(f"{W}tbl"))
    outer = [block for block in columns(made) if not in_a_table(made, block)]
    assert len(tables) == len(outer) + sum(isinstance(b, Table) for b in walk(made.blocks))
    for table in tables:
        turned = table.find(f"{W}tblPr/{W}bidiVisual") is not None
        assert turned == (pair[0] == "ar")


def in_a_table(page: Page, pair: Beside) -> bool:
    tables = [block for block in walk(page.blocks) if isinstance(block, Table)]
    return any(pair is one for table in tables for one in inner_blocks(table))


@pytest.mark.parametrize("pair", PAIRS)
def test_the_word_file_says_the_language_of_every_run(
    pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "decline", pair)
    told = tagged_runs(document_xml(write([made], "docx")))
    for tag, other in (pair, pair[::-1]):
        mine = {text for text, its in told if its == tag}
        alone, foreign = (
            words_of(without(one(desk, visits, "decline", tag_of, pair[0]), "draft-notice").blocks)
            for tag_of in (tag, other)
        )
        said = [text for text in mine if re.search(r"\w{4}", text) and text in foreign]
        assert not [text for text in said if text not in alone]
        assert len([text for text in mine if text in alone]) > 20


class Elements:
    """The HTML as a tree, every element with the language and direction that it is in."""

    def __init__(self, content: bytes) -> None:
        text = content.decode().split(">", 1)[1]
        self.root = ElementTree.fromstring(re.sub(r"<(meta|br)([^>]*)>", r"<\1\2/>", text))
        self.parent = {child: parent for parent in self.root.iter() for child in parent}

    def state(self, element: ElementTree.Element, name: str) -> str:
        while name not in element.attrib:
            element = self.parent[element]
        return element.attrib[name]

    def of(self, kind: str) -> list[ElementTree.Element]:
        return [node for node in self.root.iter() if node.get("class") == kind]


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_the_web_page_has_every_box_and_line_once_and_says_each_language(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, name, pair)
    page = Elements(write([made], "html"))
    found = (len(page.of("tick")), len(page.of("line")))
    assert found == boxes_and_lines(one(desk, visits, name, pair[0], pair[0]))
    ways = {"ar": "rtl", "en": "ltr", "es": "ltr"}
    headings: dict[str, list[str]] = {tag: [] for tag in pair}
    for node in page.root.iter():
        if node.tag in ("h1", "h2") and page.parent[node].get("class") != "sources":
            tag = page.state(node, "lang")
            assert page.state(node, "dir") == ways[tag]
            headings[tag].append("".join(node.itertext()))
    for tag in pair:
        alone = one(desk, visits, name, tag, pair[0])
        mine = [block for block in walk(alone.blocks) if isinstance(block, Heading)]
        assert [words.split(" ", 1)[-1] for words in headings[tag][1:]] == [
            plain(heading.inlines) for heading in mine[1:]
        ]
    labels = [node for node in page.root.iter("span") if node.get("lang") == pair[1]]
    tagged = [one for block in walk(made.blocks) for run in runs(block) for one in flat(run)]
    assert len(labels) == sum(isinstance(one, InLanguage) for one in tagged)


@pytest.mark.parametrize("pair", PAIRS)
def test_the_text_twin_has_one_language_after_the_other_and_every_box_and_line_once(
    pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "photo-permission", pair)
    text = write([made], "txt").decode()
    assert (text.count("[ ]"), text.count("_" * 40)) == boxes_and_lines(made)
    first, second = (
        next(block for block in columns(made) if len(block.first) > 1).first,
        "What is photographed",
    )
    heading = first[0]
    assert isinstance(heading, Heading)
    if pair[1] == "en":
        assert text.index(f"{heading.number} {plain(heading.inlines)}") < text.index(second)
