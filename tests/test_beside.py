"""Forms in two languages (rule LA-13): the same numbers on both sides, every box and line once."""

import ctypes
import re
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from io import BytesIO
from itertools import product
from pathlib import Path
from xml.etree import ElementTree

import page as page_validation
import pypdfium2
import pytest

from conftest import ROOT, WEDNESDAY
from plainleaf.desk import Desk, write
from plainleaf.errors import ExitCode, LanguageProblem, PaperProblem, Problem
from plainleaf.office.visits import Visit
from plainleaf.papers.beside import joined
from plainleaf.papers.blocks import (
    Beside,
    Block,
    Blocks,
    Choices,
    Fields,
    Heading,
    InLanguage,
    Page,
    Paragraph,
    Section,
    Table,
    Text,
    flat,
    inner_blocks,
    is_rtl,
    plain,
    runs,
    walk,
    words_of,
)
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.checks import check, trace
from plainleaf.papers.subject import parts
from plainleaf.writers import pdf
from test_cli import run

FORMS = [paper.id for paper in PAPERS.values() if paper.shape == "form"]
PAIRS = [("es", "en"), ("en", "es"), ("ar", "en")]
EVERY = list(product(FORMS, PAIRS))
W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
CHECKBOX = "{http://schemas.microsoft.com/office/word/2010/wordml}checkbox"
RAW = pypdfium2.raw


def both(
    desk: Desk, visits: dict[str, Visit], name: str, pair: tuple[str, str], large: bool = False
) -> Page:
    return desk.page_beside(name, pair[1], visits[pair[0]], pair[0], large)


def one(desk: Desk, visits: dict[str, Visit], name: str, tag: str, reader: str) -> Page:
    return desk.page(name, visits[reader], tag)


def boxes_and_lines(page: Page) -> tuple[int, int]:
    """How many boxes there are to tick, and how many lines to write on."""
    blocks = list(walk(page.blocks))
    boxes = sum(len(block.choices) for block in blocks if isinstance(block, Choices))
    fields = [one for block in blocks if isinstance(block, Fields) for one in block.fields]
    return boxes, sum(not one.value for one in fields)


def columns(page: Page) -> Iterator[Beside]:
    return (block for block in walk(page.blocks) if isinstance(block, Beside))


# ---- one page out of two ---------------------------------------------------------------------


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_both_sides_have_the_same_numbers_and_the_words_of_their_own_page(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, name, pair)
    sides: tuple[list[Heading], list[Heading]] = ([], [])
    for block in columns(made):
        assert block.language == pair[1]
        for side, blocks in zip(sides, (block.first, block.second), strict=True):
            side += [one for one in blocks if isinstance(one, Heading)]
    numbers = [[heading.number for heading in side] for side in sides]
    assert numbers[0] == numbers[1] == [0, *range(1, len(numbers[0]))]
    assert len(numbers[0]) > 4
    for tag, side in zip(pair, sides, strict=True):
        alone = one(desk, visits, name, tag, pair[0])
        assert side == [block for block in walk(alone.blocks) if isinstance(block, Heading)]


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_no_word_of_either_language_is_lost(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = words_of(both(desk, visits, name, pair).blocks)
    for tag in pair:
        for block in walk(one(desk, visits, name, tag, pair[0]).blocks):
            for words in map(plain, runs(block)):
                assert words in made


@pytest.mark.parametrize(("name", "pair"), EVERY)
def test_every_box_and_line_stands_once_with_a_label_in_both_languages(
    name: str, pair: tuple[str, str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, name, pair)
    assert boxes_and_lines(made) == boxes_and_lines(one(desk, visits, name, pair[0], pair[0]))
    for block in columns(made):
        inside = [*walk(block.first), *walk(block.second)]
        assert not any(isinstance(one, Fields | Choices) for one in inside)
    for block in walk(made.blocks):
        if isinstance(block, Fields | Choices):
            labels = runs(block) if isinstance(block, Choices) else runs(block)[::2]
            for label in labels:
                tags = [one.language for one in flat(label) if isinstance(one, InLanguage)]
                assert tags == [pair[1]]


def test_required_parts_numbers_and_trace_hold_on_the_joined_page(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", ("es", "en"))
    for tag in ("es", "en"):
        alone, found = parts(one(desk, visits, "consent", tag, "es")), parts(made)
        for element in PAPERS["consent"].elements:
            for line in words_of(alone[element.name]).splitlines():
                assert line in words_of(found[element.name])
    figures = Counter(row[2] for row in trace(made) if row[1] == "figure")
    alone = Counter(
        row[2] for row in trace(one(desk, visits, "consent", "es", "es")) if row[1] == "figure"
    )
    assert figures == {figure: 2 * count for figure, count in alone.items()}


def test_a_typed_number_or_a_missing_part_in_the_second_language_is_found(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "decline", ("es", "en"))
    bad = replace(next(columns(made)), second=(Paragraph((Text("call 7 times"),)),))
    with pytest.raises(PaperProblem, match="typed number"):
        check(replace(made, blocks=(*made.blocks, bad)), PAPERS["decline"], desk.figure_ids)
    silent = tuple(
        replace(block, blocks=())
        if isinstance(block, Section) and block.element == "rights"
        else block
        for block in made.blocks
    )
    with pytest.raises(PaperProblem, match="rights"):
        check(replace(made, blocks=silent), PAPERS["decline"], desk.figure_ids)


def test_tables_keep_their_rows_and_say_each_cell_in_both_languages(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    def table(page: Page) -> Table:
        return next(block for block in walk(page.blocks) if isinstance(block, Table))

    made = table(both(desk, visits, "consent", ("ar", "en")))
    first, second = (table(one(desk, visits, "consent", tag, "ar")) for tag in ("ar", "en"))
    assert len(made.rows) == len(first.rows) == 4
    for row, its, other in zip(made.rows, first.rows, second.rows, strict=True):
        for cell, mine, yours in zip(row, its, other, strict=True):
            pair = cell.blocks[0]
            assert isinstance(pair, Beside)
            assert (pair.first, pair.second) == (mine.blocks, yours.blocks)
            assert cell.element == mine.element == yours.element


@pytest.mark.parametrize(
    ("pair", "tags"),
    [(("es", "en"), ["", "en"]), (("en", "es"), ["en", "es"]), (("ar", "es"), ["", "es", "en"])],
)
def test_the_notice_on_a_draft_stands_once_in_each_language(
    pair: tuple[str, str], tags: list[str], desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", pair)
    notices = [
        block
        for block in made.blocks
        if isinstance(block, Section) and block.element == "draft-notice"
    ]
    assert made.blocks.index(notices[0]) == 1
    assert len(notices) == 1
    lines = [block for block in notices[0].blocks if isinstance(block, Paragraph)]
    assert [line.language for line in lines] == tags


def test_the_foot_names_the_version_with_both_languages(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", ("ar", "en"))
    assert f"{PAPERS['consent'].version} (ar, en)" in plain(made.foot)
    assert plain(made.foot).count("(ar") == 1


def test_what_is_the_same_in_both_languages_is_written_once(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = both(desk, visits, "consent", ("es", "en"))
    values = [
        plain(field.value)
        for block in walk(made.blocks)
        if isinstance(block, Fields)
        for field in block.fields
        if field.value
    ]
    assert values[0] == visits["es"].person.name
    assert "septiembre" in values[1]
    assert "September" in values[1]


# ---- pages that do not match -----------------------------------------------------------------


def changed(page: Page, element: str, blocks: Blocks) -> Page:
    """The page with what is in one section replaced."""
    return replace(
        page,
        blocks=tuple(
            replace(block, blocks=blocks)
            if isinstance(block, Section) and block.element == element
            else block
            for block in page.blocks
        ),
    )


def without(page: Page, element: str) -> Page:
    return replace(
        page,
        blocks=tuple(
            block
            for block in page.blocks
            if not (isinstance(block, Section) and block.element == element)
        ),
    )


def swapped(page: Page) -> Page:
    *before, last, end = page.blocks
    return replace(page, blocks=(*before, end, last))


def section(page: Page, element: str) -> tuple[Block, ...]:
    found = next(one for one in page.blocks if getattr(one, "element", "") == element)
    return inner_blocks(found)[1:]


def test_two_pages_that_do_not_have_the_same_parts_are_not_joined(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    first, second = (one(desk, visits, "consent", tag, "es") for tag in ("es", "en"))
    choices = section(second, "decision")[0]
    assert isinstance(choices, Choices)
    fewer = Choices(choices.choices[:-1])
    for other, named in (
        (without(second, "privacy"), "privacy"),
        (without(second, "withdrawal"), "withdrawal"),
        (swapped(second), "copy"),
        (changed(second, "decision", (fewer,)), "Choices"),
        (changed(second, "decision", (choices, choices)), "Choices"),
        (replace(second, sources=second.sources[1:]), "sources"),
    ):
        for pages in ((first, other), (other, first)):
            with pytest.raises(PaperProblem, match=named):
                joined(*pages)
    joined(first, second)


@pytest.mark.parametrize(
    ("name", "pair", "problem", "says"),
    [
        ("consent", ("es", "es"), LanguageProblem, "already"),
        ("introduction", ("es", "en"), PaperProblem, "not a form.*consent"),
        ("consent", ("es", "tlh"), LanguageProblem, "'tlh'"),
        ("consent", ("tlh", "en"), LanguageProblem, "'tlh'"),
    ],
)
def test_what_cannot_stand_beside_is_a_known_problem(
    name: str,
    pair: tuple[str, str],
    problem: type[Problem],
    says: str,
    desk: Desk,
    visits: dict[str, Visit],
    tmp_path: Path,
) -> None:
    out = tmp_path / "form.pdf"
    with pytest.raises(problem, match=says):
        desk.hand_out(name, out, visits["es"], pair[0], beside=pair[1])
    assert not list(tmp_path.iterdir())


def test_a_draft_beside_is_refused_as_a_draft_alone_is(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    forms = desk.practice.forms.model_copy(update={"allow_draft_translations": False})
    strict = Desk(desk.practice.model_copy(update={"forms": forms}), WEDNESDAY)
    with pytest.raises(LanguageProblem, match="draft"):
        strict.page_beside("consent", "es", visits["en"], "en")


def test_the_command_makes_a_form_in_two_languages(tmp_path: Path) -> None:
    demo = ROOT / "templates" / "demo" / "practice.toml"
    (tmp_path / "practice.toml").write_bytes(demo.read_bytes())
    words = ("make", "consent", "--language", "es", "--out", "form.html", "--beside")
    done = run(*words, "en", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    page = (tmp_path / "form.html").read_text("utf-8")
    assert "Your decision about the light look" in page
    assert '<html lang="es"' in page
    again = run(*words, "es", folder=tmp_path)
    assert again.returncode == ExitCode.LANGUAGE
    assert "Traceback" not in again.stderr


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
    drawn = strokes(write([both(desk, visits, name, pair)], "pdf"))
    alone = one(desk, visits, name, pair[0], pair[0])
    assert (drawn["box"], drawn["line"]) == boxes_and_lines(alone)
    assert drawn == strokes(write([alone], "pdf"))


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
    alone = parts_of(write([one(desk, visits, "photo-permission", pair[0], pair[0])], "pdf"))
    assert parts["Span", pair[1]] - alone["Span", pair[1]] >= boxes == 8
    assert marked_words(content)[pair[1]] >= fields > 12


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
