"""Blocks in, bytes out: PDF, DOCX, HTML, text and QR, looked at with other people's libraries."""

import re
import zipfile
from io import BytesIO
from itertools import pairwise
from xml.etree import ElementTree

import pypdfium2
import pytest
import typst
import zxingcpp
from docx import Document
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from conftest import HOSTILE, LANGUAGES, PAPERS, ROOT, WEDNESDAY, printed_elsewhere, renamed, suited
from plainleaf.desk import FORMATS, Desk, write
from plainleaf.errors import OutputProblem, Problem
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Page
from plainleaf.writers import html, pdf, qr
from plainleaf.writers.text import WIDTH, width, wrapped

W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"


def page(desk: Desk, visits: dict[str, Visit], name: str, tag: str, large: bool = False) -> Page:
    return desk.page(name, suited(visits[tag], name), tag, large)


def document_xml(content: bytes, member: str = "word/document.xml") -> ElementTree.Element:
    with zipfile.ZipFile(BytesIO(content)) as archive:
        return ElementTree.fromstring(archive.read(member))


def pdf_text(content: bytes) -> str:
    document = pypdfium2.PdfDocument(content)
    return "\n".join(one.get_textpage().get_text_bounded() for one in document)


def docx_text(content: bytes) -> str:
    return "".join(node.text or "" for node in document_xml(content).iter(f"{W}t"))


def pixels(content: bytes, dots_per_inch: int, number: int = 0) -> Image.Image:
    document = pypdfium2.PdfDocument(content)
    return document[number].render(scale=dots_per_inch / 72).to_pil()


# ---- the same bytes --------------------------------------------------------------------------

REPEAT = """
import hashlib, sys
from datetime import date
from plainleaf import paths
from plainleaf.desk import Desk, read_practice, write
from plainleaf.office.people import read_list
folder = paths.templates() / "demo"
visit = read_list(folder / "day.csv")[2].visit
desk = Desk(read_practice(folder / "practice.toml"), date(2026, 11, 25))
for name in ("dark-area", "reminder-card"):
    for kind in ("pdf", "docx", "html", "txt"):
        content = write([desk.page(name, visit)] * 2, kind)
        print(name, kind, hashlib.sha256(content).hexdigest())
"""


def test_the_same_input_makes_the_same_bytes_in_other_processes() -> None:
    found = printed_elsewhere(REPEAT)
    assert len(found) == 1
    assert len(found.pop().splitlines()) == 8


# ---- names -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "person", [HOSTILE, "نورة السالمي", "Łukasz Ğündüz-Nguyễn Thị", "{{x}} $y$ @z \\u{41} %s"]
)
@pytest.mark.parametrize("name", ["consent", "dark-area", "reminder-card"])
def test_names_come_through_literally_in_every_format(
    name: str, person: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    made = desk.page(name, renamed(visits["en"], person), "en")
    folded = " ".join(person.split())
    assert folded in write([made], "txt").decode().replace("\n", " ")
    web = ElementTree.fromstring(
        re.sub(r"<(meta|br)([^>]*)>", r"<\1\2/>", write([made], "html").decode().split(">", 1)[1])
    )
    assert folded in " ".join("".join(web.itertext()).split())
    assert folded in docx_text(write([made], "docx"))
    if person.isascii() or "Ł" in person:
        # Right-to-left text is in visual order in the text layer of a PDF: not compared here.
        flat = re.sub(r"[\u2066-\u2069\s]+", " ", pdf_text(write([made], "pdf")))
        assert folded in flat


def test_a_letter_that_no_font_has_stops_the_pdf(desk: Desk, visits: dict[str, Visit]) -> None:
    made = desk.page("reminder-card", renamed(visits["en"], "Ana \U00013080"), "en")
    with pytest.raises(Problem, match="none of the fonts"):
        write([made], "pdf")


def test_a_fault_of_a_layout_is_not_told_as_a_letter_that_no_font_has(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = desk.page("reminder-card", visits["en"], "en")
    with pytest.raises(typst.TypstError) as stopped:
        pdf._compiler().compile(b'#panic("no such font size")')
    problem = pdf._explained(stopped.value, [made])
    assert isinstance(problem, OutputProblem)
    assert "none of the fonts" not in str(problem)


# ---- PDF -------------------------------------------------------------------------------------


def test_letters_are_never_smaller_than_12_point_and_18_in_large_print(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    for large, least in ((False, 12), (True, 18)):
        content = write([page(desk, visits, "introduction", "es", large)], "pdf")
        sizes = set()
        for one in pypdfium2.PdfDocument(content):
            for thing in one.get_objects(filter=[1]):
                matrix = thing.get_matrix()
                size = pypdfium2.raw.c_float()
                pypdfium2.raw.FPDFTextObj_GetFontSize(thing, size)
                sizes.add(round(size.value * abs(matrix.d), 1))
        assert min(sizes) >= least, sizes


@pytest.mark.parametrize(("size", "width", "height"), [("letter", 612, 792), ("a4", 595.3, 841.9)])
def test_sheets_have_the_size_that_the_practice_set(
    size: str, width: float, height: float, desk: Desk, visits: dict[str, Visit]
) -> None:
    other = Desk(desk.practice.model_copy(update={"paper_size": size}), WEDNESDAY)
    sheet = pypdfium2.PdfDocument(write([other.page("introduction", None, "en")], "pdf"))[0]
    assert (sheet.get_width(), sheet.get_height()) == pytest.approx((width, height), abs=0.1)
    cards = pypdfium2.PdfDocument(write([other.page("reminder-card", visits["en"])] * 5, "pdf"))
    assert len(cards) == 2
    assert (cards[0].get_width(), cards[0].get_height()) == pytest.approx((height, width), abs=0.1)


def ink_per_quarter(image: Image.Image) -> list[int]:
    grey = image.convert("L")
    width, height = grey.size
    boxes = [
        (
            x * width // 2 + 20,
            y * height // 2 + 20,
            (x + 1) * width // 2 - 20,
            (y + 1) * height // 2 - 20,
        )
        for y in (0, 1)
        for x in (0, 1)
    ]
    return [sum(1 for value in grey.crop(box).tobytes() if value < 128) for box in boxes]


def test_four_cards_stand_on_a_sheet_each_in_its_quarter(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = page(desk, visits, "reminder-card", "en")
    full = ink_per_quarter(pixels(write([made] * 4, "pdf"), 100))
    assert min(full) > 1000
    assert max(full) - min(full) < 0.02 * max(full)
    three = ink_per_quarter(pixels(write([made] * 3, "pdf"), 100))
    assert three[3] == 0


def marks(image: Image.Image, along: str) -> list[float]:
    """Where the marks to cut along stand at one edge of a sheet, in millimetres from its start."""
    grey = image.convert("L")
    if along == "x":
        grey = grey.transpose(Image.Transpose.TRANSPOSE)
    strip = grey.crop((2, 0, 12, grey.height)).tobytes()
    rows = [y for y in range(grey.height) if min(strip[y * 10 : y * 10 + 10]) < 230]
    groups = [y for n, y in enumerate(rows) if n == 0 or y - rows[n - 1] > 5]
    return [y * 25.4 / 300 for y in groups]


@pytest.mark.parametrize(
    ("size", "width", "height"), [("letter", 139.7, 106.68), ("a4", 148.5, 105.0)]
)
def test_the_cut_cards_fit_the_post(
    size: str, width: float, height: float, desk: Desk, visits: dict[str, Visit]
) -> None:
    other = Desk(desk.practice.model_copy(update={"paper_size": size}), WEDNESDAY)
    sheet = pixels(write([other.page("reminder-card", visits["en"])] * 4, "pdf"), 300)
    first, *rest = marks(sheet, "y")
    tall = [below - above for above, below in pairwise([first, *rest])]
    if size == "letter":
        assert tall == pytest.approx([height, height], abs=0.3)
        measured = (marks(sheet, "x")[0], tall[0])
        # USPS Quick Service Guide 201 (2015): a card is 5 to 6 by 3.5 to 4.25 inches, and its
        # length is 1.3 to 2.5 times its height. A whole quarter of Letter is 1.294.
        assert 1.3 <= measured[0] / measured[1] <= 2.5
        assert 127 <= measured[0] <= 152.4
        assert 88.9 <= measured[1] <= 107.95
    assert marks(sheet, "x")[0] == pytest.approx(width, abs=0.3)


def test_page_numbers_start_again_for_each_person(desk: Desk, visits: dict[str, Visit]) -> None:
    pages = [page(desk, visits, "introduction", tag) for tag in ("en", "es")]
    text = pdf_text(write(pages, "pdf"))
    assert "page 1 of 2" in text
    assert "página 2 de 2" in text


def test_pictures_of_pages_can_be_made(desk: Desk, visits: dict[str, Visit]) -> None:
    made = pdf.picture([page(desk, visits, "dark-area", "ar")], 40)
    assert len(made) == 2
    assert all(one.startswith(b"\x89PNG") for one in made)


# ---- QR --------------------------------------------------------------------------------------


@pytest.mark.parametrize("dots_per_inch", [150, 200, 300])
@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", ["introduction", "dark-area", "reminder-card"])
def test_the_code_on_a_printed_page_is_read_again(
    name: str, tag: str, dots_per_inch: int, desk: Desk, visits: dict[str, Visit]
) -> None:
    content = write([page(desk, visits, name, tag)], "pdf")
    document = pypdfium2.PdfDocument(content)
    read = [
        code.text
        for number in range(len(document))
        for code in zxingcpp.read_barcodes(
            # A reader of every kind finds one in the marks of a chart.
            pixels(content, dots_per_inch, number),
            zxingcpp.BarcodeFormat.QRCode,
        )
    ]
    assert read == [desk.practice.links.website]


@given(st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=62))
def test_any_address_that_fits_is_read_again(payload: str) -> None:
    image = Image.open(BytesIO(qr.png_picture(payload, 4))).convert("L")
    assert [code.text for code in zxingcpp.read_barcodes(image)] == [payload]


def test_the_size_of_a_code_and_of_its_squares() -> None:
    # ISO/IEC 18004: 62 bytes are the most for version 4 at level M, which has 33 modules a side.
    square = qr.modules("x" * 62)
    assert len(square) == 33 + 2 * 4
    assert 22 / len(square) >= 0.5, "a module is half a millimetre or more at 22 mm"
    with pytest.raises(OutputProblem, match="too long"):
        qr.modules("x" * 63)


# ---- DOCX ------------------------------------------------------------------------------------

ORDERS = {
    f"{W}pPr": "pStyle keepNext keepLines numPr pBdr shd tabs bidi spacing ind jc outlineLvl rPr",
    f"{W}rPr": "rStyle rFonts b bCs color position sz szCs u rtl lang",
    f"{W}sectPr": "headerReference footerReference type pgSz pgMar pgNumType bidi",
    f"{W}tblPr": "tblStyle bidiVisual tblW jc tblInd tblLayout tblLook",
}


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_word_elements_stand_in_the_order_of_the_schema(
    name: str, tag: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    # The sequences of CT_PPr, CT_RPr, CT_SectPr and CT_TblPr in ISO/IEC 29500-1 (those we use).
    root = document_xml(write([page(desk, visits, name, tag)], "docx"))
    for parent, names in ORDERS.items():
        order = names.split()
        for element in root.iter(parent):
            places = [order.index(child.tag.removeprefix(W)) for child in element]
            assert all(first <= second for first, second in pairwise(places)), element


def test_word_files_say_direction_language_headers_and_descriptions(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    root = document_xml(write([page(desk, visits, "introduction", "ar")], "docx"))
    own = [p for p in root.iter(f"{W}p") if any(e.text for e in p.iter(f"{W}t"))]
    without = [p for p in own if p.find(f"{W}pPr/{W}bidi") is None]
    assert ["".join(t.text or "" for t in p.iter(f"{W}t"))[:30] for p in without] == [
        "A machine drafted this transla"
    ]
    assert root.find(f".//{W}sectPr/{W}bidi") is not None
    assert root.find(f".//{W}tblPr/{W}bidiVisual") is not None
    assert root.find(f".//{W}trPr/{W}tblHeader") is not None
    runs = [
        run
        for run in root.iter(f"{W}r")
        if run.find(f"{W}t") is not None and run.find(f"{W}rPr") is not None
    ]
    assert all(
        run.find(f"{W}rPr/{W}lang") is not None
        for run in runs
        if "MS Gothic" not in str(ElementTree.tostring(run))
    )
    pictures = [e.attrib["descr"] for e in root.iter() if e.tag.endswith("}docPr")]
    # Two pictures say something; the four icons of the legend stand before their words.
    assert len(pictures) == 6
    assert sum(map(bool, pictures)) == 2


def test_word_files_open_with_headings_lists_and_title(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    document = Document(BytesIO(write([page(desk, visits, "consent", "en")], "docx")))
    styles = [paragraph.style.name for paragraph in document.paragraphs]
    assert styles.count("Heading 1") == 1
    assert styles.count("Heading 2") == 22
    assert document.core_properties.title == "Your decision about the light look"
    assert document.core_properties.language == "en"
    controls = document.element.findall(f".//{W}sdt")
    assert len(controls) == 3 + 4 + 1
    assert not [c for c in controls if 'checked w14:val="1"' in str(ElementTree.tostring(c))]


# ---- HTML and text ---------------------------------------------------------------------------


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_web_pages_hold_everything_themselves(
    name: str, tag: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    text = html.write([page(desk, visits, name, tag)]).decode()
    assert not re.search(r"<(script|link|img|iframe)|src=|@import|url\(", text)
    assert f'<html lang="{tag}" dir="{"rtl" if tag == "ar" else "ltr"}">' in text
    assert len(re.findall(r"<h1>", text)) == 1
    ids = re.findall(r'id="([^"]+)"', text)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r'href="#([^"]+)"', text)) <= set(ids)


def luminance(color: str) -> float:
    parts = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_the_colors_are_strong_enough() -> None:
    # WCAG 2.2, 1.4.3: 4.5 to 1 for text; 1.4.11: 3 to 1 for boxes to tick and lines to write on.
    print_look = (ROOT / "templates" / "print" / "look.typ").read_text("utf-8")
    screen_look = (ROOT / "templates" / "print" / "page.css").read_text("utf-8")
    for name, least in (("ink", 7), ("leaf", 4.5), ("soft", 4.5)):
        found = re.search(rf'#let {name} = rgb\("(#\w+)"\)', print_look)
        assert found is not None
        assert f"--{name}: {found[1]}" in screen_look
        for ground in ("#ffffff", "#edf3ef"):
            ratio = (luminance(ground) + 0.05) / (luminance(found[1]) + 0.05)
            assert ratio >= least, (name, ground, ratio)


def test_arabic_text_keeps_phones_and_latin_sources_together(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    made = page(desk, visits, "introduction", "ar")
    text = write([made], "txt").decode()
    assert "\u2066(303)\u00a0555-0142\u2069" in text
    assert "\u2066American Dental Association. Clinical practice guideline" in text
    assert text.count("\u2066") + text.count("\u2068") == text.count("\u2069")
    web = write([made], "html").decode()
    assert '<bdi dir="ltr">(303) 555-0142</bdi>' in web
    assert 'lang="en" dir="ltr">American Dental Association.' in web


def test_the_text_twin_says_the_same_as_the_page(desk: Desk, visits: dict[str, Visit]) -> None:
    text = write([page(desk, visits, "consent", "en")], "txt").decode()
    assert text.count("[ ] ") == 8
    assert "A dark area is not a diagnosis." in text
    # A web address is never broken; every other line is short enough to be read.
    assert max(len(line) for line in text.splitlines() if "https://" not in line) <= 110


def test_all_formats_have_a_writer() -> None:
    assert set(FORMATS) == {"pdf", "docx", "html", "txt"}


def test_a_card_with_too_many_words_stops_instead_of_running_over(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    for words in (3, 6):
        write([desk.page("reminder-card", renamed(visits["es"], "Maravillas " * words))], "pdf")
    with pytest.raises(Problem, match="more words than its card has room for"):
        write([desk.page("reminder-card", renamed(visits["es"], "Maravillas " * 60))], "pdf")


def test_a_large_print_card_takes_the_room_of_two(desk: Desk, visits: dict[str, Visit]) -> None:
    large = page(desk, visits, "reminder-card", "es", True)
    small = page(desk, visits, "reminder-card", "es")
    sheets = {
        count: len(pypdfium2.PdfDocument(write(cards, "pdf")))
        for count, cards in {
            "four small": [small] * 4,
            "two large": [large] * 2,
            "three large": [large] * 3,
            "large and two small": [small, large, small],
        }.items()
    }
    assert sheets == {"four small": 1, "two large": 1, "three large": 2, "large and two small": 1}


def test_each_person_on_a_list_is_set_as_roomily_as_their_own_paper_allows(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    pages = [page(desk, visits, "dark-area", tag) for tag in LANGUAGES]
    alone = [len(pypdfium2.PdfDocument(write([one], "pdf"))) for one in pages]
    assert len(pypdfium2.PdfDocument(write(pages, "pdf"))) == sum(alone)
    first = pixels(write(pages, "pdf"), 50).convert("L").tobytes()
    assert first == pixels(write(pages[:1], "pdf"), 50).convert("L").tobytes()


# ---- text ------------------------------------------------------------------------------------


def test_wide_letters_count_twice_and_no_line_starts_with_a_full_stop() -> None:
    assert width("がん 1") == 6
    assert width("e\u0301\u2068") == 1
    told = "光を使ってお口を見る。" * 5
    lines = list(wrapped(told, 23))
    assert "".join(lines) == told
    assert all(width(line) <= 23 for line in lines)
    assert not any(line.startswith("。") for line in lines)
    # Korean lines end between words, and so do those of Latin letters.
    assert list(wrapped("다시 봅니다 우리는", 11)) == ["다시 봅니다", "우리는"]
    assert list(wrapped("a long-winded sentence", 12)) == ["a", "long-winded", "sentence"]


@pytest.mark.parametrize("tag", ["en", "ja", "zh-Hans", "ko"])
def test_lines_and_rules_of_text_fit_their_letters(tag: str, desk: Desk) -> None:
    lines = write([desk.page("introduction", None, tag)], "txt").decode().splitlines()
    links = [line for line in lines if "https://" in line]
    assert all(width(line) <= WIDTH for line in lines if line not in links)
    rules = [at for at, line in enumerate(lines) if line and not line.strip("=-")]
    assert len(rules) > 10
    assert all(width(lines[at]) == width(lines[at - 1]) for at in rules)


def test_text_says_what_the_address_of_a_code_opens(desk: Desk) -> None:
    page = desk.page("introduction", None, "en")
    assert "\nOur web page\nhttps://www.example.org/juniper\n" in write([page], "txt").decode()
