"""Every code on every printed paper is read again from its pixels; greys keep their contrast."""

import re
from functools import partial
from itertools import product

import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from conftest import LANGUAGES, PAPERS, ROOT, WEDNESDAY, suited
from plainleaf.desk import Desk, write
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Code, Page, walk

INCH = 25.4
LONGEST = "https://www.example.org/" + "juniper/" * 4 + "desk"
"""60 characters, the most that the settings take: the smallest squares that a code may have."""

FOLDER = ROOT / "templates" / "papers"


def coded(template: str) -> bool:
    """Whether a template, or a part of it, holds a code."""
    text = (FOLDER / template).read_text("utf-8")
    parts = re.findall(r'(?:include|import|from) "([\w./-]+)"', text)
    return "<code" in text or any(map(coded, parts))


CODED = [name for name in PAPERS if coded(f"{name}.xml")]


def with_website(desk: Desk, website: str, size: str) -> Desk:
    links = desk.practice.links.model_copy(update={"website": website})
    changes = {"links": links, "paper_size": size}
    return Desk(desk.practice.model_copy(update=changes), WEDNESDAY)


def codes(page: Page) -> list[str]:
    return [block.payload for block in walk(page.blocks) if isinstance(block, Code)]


read = partial(
    zxingcpp.read_barcodes,
    formats=zxingcpp.BarcodeFormat.QRCode,
    try_rotate=False,
    try_invert=False,
)


def rendered(page: pypdfium2.PdfPage, dots_per_inch: int) -> Image.Image:
    return page.render(scale=dots_per_inch / 72, grayscale=True).to_pil()


def test_no_other_paper_holds_a_code(desk: Desk, visits: dict[str, Visit]) -> None:
    assert [
        name for name in PAPERS if codes(desk.page(name, suited(visits["en"], name), "en"))
    ] == CODED


@pytest.mark.parametrize(
    ("name", "tag", "size", "large"),
    list(product(CODED, LANGUAGES, ("letter", "a4"), (False, True))),
)
def test_every_code_on_every_paper_is_read_again_from_its_pixels(
    name: str, tag: str, size: str, large: bool, desk: Desk, visits: dict[str, Visit]
) -> None:
    made = with_website(desk, LONGEST, size).page(name, suited(visits[tag], name), tag, large)
    sheets = list(pypdfium2.PdfDocument(write([made], "pdf")))
    holding = [sheet for sheet in sheets for _ in read(rendered(sheet, 150))]
    assert len(holding) == len(codes(made)) > 0
    for dots in (150, 200, 300):
        for sheet in holding:
            (found,) = read(rendered(sheet, dots))
            assert found.text == LONGEST
            corner, other = found.position.top_left, found.position.top_right
            side = (other.x - corner.x + 1) * INCH / dots
            # ISO/IEC 18004: up to 62 bytes at level M are version 4, 33 modules a side. Half a
            # millimetre each, less what one pixel of the measurement may hide.
            assert side / 33 >= 0.5 - INCH / dots / 33


def luminance(grey: float) -> float:
    """Relative luminance of a grey from 0 to 1 (WCAG 2.2)."""
    return grey / 12.92 if grey <= 0.04045 else ((grey + 0.055) / 1.055) ** 2.4


def contrast(one: float, other: float) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_of_contrast_is_the_published_one() -> None:
    # WCAG 2.2: black on white is 21 to 1; #767676 is the lightest grey that keeps 4.5 to 1.
    assert contrast(0, 1) == pytest.approx(21)
    assert contrast(0x76 / 255, 1) >= 4.5 > contrast(0x77 / 255, 1)


def greys(page: pypdfium2.PdfPage, kind: int) -> set[float]:
    """The colours of the texts or of the areas on a page as a grey printer prints them."""
    found = set()
    for thing in page.get_objects(filter=[kind]):
        parts = [pypdfium2.raw.c_uint() for _ in range(4)]
        if pypdfium2.raw.FPDFPageObj_GetFillColor(thing, *parts):
            red, green, blue, _ = (part.value / 255 for part in parts)
            # Luma as in ITU-R BT.601, which printers and viewers take for grey.
            found.add(0.299 * red + 0.587 * green + 0.114 * blue)
    return found


@pytest.mark.parametrize("name", PAPERS)
def test_words_keep_their_contrast_when_a_printer_has_only_black(
    name: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    for sheet in pypdfium2.PdfDocument(
        write([desk.page(name, suited(visits["es"], name), "es")], "pdf")
    ):
        texts = greys(sheet, pypdfium2.raw.FPDF_PAGEOBJ_TEXT)
        # The palest ground that letters stand on is that of boxes, never darker than nine tenths.
        assert texts
        for grey in texts:
            assert contrast(grey, 1) >= 4.5
            assert contrast(grey, 0.9) >= 4.5
