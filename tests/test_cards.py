"""Cards as they leave the printer: measured on pixels, cut along their marks, turned over, read."""

from collections.abc import Iterable
from itertools import product
from pathlib import Path
from typing import Any

import page as page_validation
import pypdfium2
import pytest
from PIL import Image, ImageChops, ImageOps

from conftest import LANGUAGES, WEDNESDAY
from measuring import DPI, INCH, Box, crop, ink, marks, post, sheets, wallet
from plainleaf.desk import Desk, write
from plainleaf.desk.days import day
from plainleaf.desk.reminders import remind
from plainleaf.errors import FactsProblem, PaperProblem
from plainleaf.office.visits import Visit
from plainleaf.papers.backs import with_back
from plainleaf.papers.blocks import Page

SIZES = ("letter", "a4")
TURNS = ("short edge", "long edge")
ALDER = ("120 Alder Street", "Cedar Hollow, CO 80000")


def every(*values: Iterable[Any]) -> list[tuple[Any, ...]]:
    return list(product(*values))


def at_work(desk: Desk, size: str = "letter", backs: str = "none") -> Desk:
    practice = desk.practice
    assert practice.reminders is not None
    changes: dict[str, Any] = {
        "paper_size": size,
        "reminders": practice.reminders.model_copy(update={"backs": backs}),
    }
    return Desk(practice.model_copy(update=changes), WEDNESDAY)


def somebody(visit: Visit, **facts: Any) -> Visit:
    facts = {"address": ALDER, **facts}
    return visit.model_copy(update={"person": visit.person.model_copy(update=facts)})


def backed(desk: Desk, visit: Visit, large: bool = False) -> Page:
    page = desk.page("reminder-card", visit, large=large)
    return with_back(page, desk.practice, visit)


# ---- sizes -----------------------------------------------------------------------------------


def usps_card(length: float, height: float) -> bool:
    """USPS Quick Service Guide 201 (2015): 5 to 6 by 3.5 to 4.25 inches, 1.3 to 2.5 times as long.

    The sides are in millimetres, and the ratio is that for letters, which cards share.
    """
    sides = 5 * INCH <= length <= 6 * INCH and 3.5 * INCH <= height <= 4.25 * INCH
    return sides and 1.3 <= length / height <= 2.5


def test_a_whole_quarter_of_a_letter_sheet_would_be_too_square() -> None:
    assert not usps_card(279.4 / 2, 215.9 / 2)


@pytest.mark.parametrize("size", SIZES)
def test_all_four_cut_cards_fit_the_post(size: str, desk: Desk, visits: dict[str, Visit]) -> None:
    page = at_work(desk, size).page("reminder-card", visits["en"])
    cards = post(sheets(write([page] * 4, "pdf"))[0])
    assert len(cards) == 4
    for card in cards:
        assert usps_card(card.width, card.height), card
        if size == "a4":
            # ISO 216: A6 is 105 by 148 mm; half of A4's 297 is half a millimetre more.
            assert (card.width, card.height) == pytest.approx((148, 105), abs=0.7)


@pytest.mark.parametrize("size", SIZES)
def test_a_large_print_card_is_a_card_along_its_long_side(
    size: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    page = at_work(desk, size).page("reminder-card", visits["en"], large=True)
    sheet = sheets(write([page] * 2, "pdf"))[0]
    lines = marks(sheet, 8.4)
    tall = lines[-1] - lines[0] if len(lines) > 1 else sheet.height * INCH / DPI
    wide = marks(sheet.transpose(Image.Transpose.TRANSPOSE), 8.4)[0]
    # USPS (2021): larger cards to 6 by 9 inches; the length is that beside the address.
    assert tall <= 9 * INCH
    assert wide <= 6 * INCH
    assert 1.3 <= tall / wide <= 2.5
    assert tall / 2 not in [pytest.approx(line, abs=2) for line in lines], "no mark inside a card"


@pytest.mark.parametrize(("size", "large"), every(SIZES, (False, True)))
def test_a_card_for_a_wallet_has_the_size_of_the_standard(
    size: str, large: bool, desk: Desk, visits: dict[str, Visit]
) -> None:
    page = at_work(desk, size).page("appointment-card", visits["es"], large=large)
    cards = wallet(sheets(write([page] * (4 if large else 8), "pdf"))[0])
    assert len(cards) == (4 if large else 8)
    for card in cards:
        # ISO/IEC 7810, ID-1: 85.60 by 53.98 mm; a large-print card is folded once to that.
        assert card.width == pytest.approx(85.60, abs=0.2)
        assert card.height == pytest.approx(53.98 * (2 if large else 1), abs=0.2)


# ---- marks and the zone beside the cut --------------------------------------------------------


def frame_is_free(sheet: Image.Image, card: Box) -> bool:
    """Whether five millimetres inside a cut are blank; what lies on the cut itself is left out."""
    outer = crop(sheet, card.inside(0.3))
    inner = ink(outer)
    return inner is None or Box(0, 0, card.width - 0.6, card.height - 0.6).inside(4.7).holds(inner)


def joined(cards: list[Box], rows: int) -> list[Box]:
    """The large cards that a column of cells makes, two cells each."""
    columns = [cards[start : start + rows] for start in range(0, len(cards), rows)]
    return [
        Box(upper.left, upper.top, lower.right, lower.bottom)
        for column in columns
        for upper, lower in zip(column[::2], column[1::2], strict=True)
    ]


@pytest.mark.parametrize(("size", "tag", "large"), every(SIZES, LANGUAGES, (False, True)))
def test_nothing_is_printed_close_to_a_cut(
    size: str, tag: str, large: bool, desk: Desk, visits: dict[str, Visit]
) -> None:
    other = at_work(desk, size, "short edge")
    visit = somebody(visits[tag])
    front, back = sheets(write([backed(other, visit, large)] * (2 if large else 4), "pdf"))
    cells = post(sheets(write([backed(other, visit)] * 4, "pdf"))[0])
    for card in joined(cells, 2) if large else cells:
        assert frame_is_free(front, card)
        assert frame_is_free(back, card)
    small = other.page("appointment-card", visit, large=large)
    sheet = sheets(write([small] * (4 if large else 8), "pdf"))[0]
    assert all(frame_is_free(sheet, card) for card in wallet(sheet))


def test_the_check_of_the_zone_can_fail() -> None:
    sheet = Image.new("L", (800, 800), 255)
    sheet.putpixel((400, 30), 0)
    assert not frame_is_free(sheet, Box(0, 0, 100, 100))


@pytest.mark.parametrize("size", SIZES)
def test_marks_for_wallet_cards_stand_outside_of_them(
    size: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    page = at_work(desk, size).page("appointment-card", visits["en"])
    sheet = sheets(write([page] * 8, "pdf"))[0]
    cards = wallet(sheet)
    whole = Box(cards[0].left, cards[0].top, cards[-1].right, cards[-1].bottom)
    blank = sheet.copy()
    for card in cards:
        found = ink(crop(sheet, card))
        assert found is not None
        assert Box(0, 0, card.width, card.height).inside(4.7).holds(found)
    blank.paste(255, tuple(round(edge * DPI / INCH) for edge in whole.inside(-1.5)))
    assert wallet(blank) == cards, "all marks are left"


# ---- backs -----------------------------------------------------------------------------------


def turned(back: Image.Image, turn: str) -> Image.Image:
    """The back as it would shine through the front once the printer has turned the sheet.

    The sheet lies on its side: over its short edge left and right change places, over its long
    edge top and bottom.
    """
    way = (
        Image.Transpose.FLIP_LEFT_RIGHT if turn == "short edge" else Image.Transpose.FLIP_TOP_BOTTOM
    )
    return back.transpose(way)


def changed(one: Image.Image, other: Image.Image) -> Box:
    found = ink(ImageOps.invert(ImageChops.difference(one, other)))
    assert found is not None
    return found


def named(visit: Visit, numbers: Iterable[str]) -> list[Visit]:
    """One person for each word, who is called by it on the front and lives in its street."""
    return [
        somebody(visit, name=one, called=one, address=(f"1 {one} Street", ALDER[1]))
        for one in numbers
    ]


@pytest.mark.parametrize(("size", "turn"), every(SIZES, TURNS))
def test_what_changes_on_a_back_changes_behind_its_own_front(
    size: str, turn: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    other = at_work(desk, size, turn)
    people = named(visits["en"], ("Alder", "Birch", "Cedar", "Doum"))

    def printed(group: list[Visit]) -> tuple[Image.Image, Image.Image]:
        front, back = sheets(write([backed(other, one) for one in group], "pdf"))
        return front, turned(back, turn)

    front, back = printed(people)
    cards = post(front)
    used = set()
    for place, stranger in enumerate(named(visits["en"], ("Elm",) * 4)):
        other_front, other_back = printed([*people[:place], stranger, *people[place + 1 :]])
        card = next(one for one in cards if one.holds(changed(front, other_front)))
        assert card.holds(changed(back, other_back))
        used.add(card)
    assert len(used) == 4


def where(page: Any, words: str) -> Box:
    """Where some words stand on a page of a PDF, found by another library's text search."""
    text = page.get_textpage()
    start, count = text.search(words).get_next()
    shown = text.get_text_range(start, count)
    boxes = [text.get_charbox(start + n) for n, char in enumerate(shown) if not char.isspace()]
    tall = page.get_height()
    left, bottom, right, top = zip(*boxes, strict=True)
    return Box(
        *(
            points * INCH / 72
            for points in (min(left), tall - max(top), max(right), tall - min(bottom))
        )
    )


@pytest.mark.parametrize(("size", "turn"), every(SIZES, TURNS))
def test_each_address_is_behind_its_person_on_sheets_with_large_cards(
    size: str, turn: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    other = at_work(desk, size, turn)
    words = ("Alder", "Birch", "Cedar", "Doum", "Elm", "Fir")
    pages = [
        backed(other, one, large=place == 1) for place, one in enumerate(named(visits["en"], words))
    ]
    content = write(pages, "pdf")
    document = pypdfium2.PdfDocument(content)
    # One and a half columns are filled first: Alder above, Birch in the second, Cedar below Alder.
    assert len(document) == 4
    wide, tall = (document[0].get_width() * INCH / 72, document[0].get_height() * INCH / 72)
    seen = []
    for place, word in enumerate(words):
        sheet = 0 if place < 3 else 2
        front = where(document[sheet], word)
        back = where(document[sheet + 1], f"1 {word} Street")
        if turn == "short edge":
            back = Box(wide - back.right, back.top, wide - back.left, back.bottom)
        else:
            back = Box(back.left, tall - back.bottom, back.right, tall - back.top)
        assert (front.left < wide / 2) == (back.left < wide / 2) == (back.right < wide / 2)
        if place != 1:
            assert (front.top < tall / 2) == (back.top < tall / 2) == (back.bottom < tall / 2)
        seen.append((sheet, front.left < wide / 2, front.top < tall / 2))
    assert len(set(seen)) == 6


LONG = (
    "In care of Wilhelmina Featherstonehaugh-Castellan",
    "Alder Court Residences, Building Fourteen",
    "120 Alder Street, Apartment 4 B",
    "Third floor, door on the right",
    "Cedar Hollow, CO 80000",
    "United States of America",
)


@pytest.mark.parametrize(
    ("size", "tag", "large", "address"),
    every(SIZES, LANGUAGES, (False, True), (ALDER, LONG)),
)
def test_the_address_side_keeps_the_zones_of_the_post(
    size: str,
    tag: str,
    large: bool,
    address: tuple[str, ...],
    desk: Desk,
    visits: dict[str, Visit],
) -> None:
    other = at_work(desk, size, "short edge")
    cells = post(sheets(write([backed(other, somebody(visits["en"]))] * 4, "pdf"))[0])
    made = backed(other, somebody(visits[tag], address=address), large)
    back = sheets(write([made], "pdf"))[1]
    card = joined(cells, 2)[-1] if large else cells[2]
    side = crop(back, card)
    if large:
        side = side.transpose(Image.Transpose.ROTATE_270)
    wide, tall = (pixels * INCH / DPI for pixels in side.size)
    # USPS: the barcode has the lower right 4.75 by 0.625 inches for itself.
    assert ink(crop(side, Box(wide - 4.75 * INCH, tall - 0.625 * INCH, wide, tall))) is None
    # The area that is read: half an inch from the sides, 0.625 to 2.75 inches from the bottom.
    read = Box(0, tall - 2.75 * INCH, wide, tall - 0.625 * INCH)
    found = ink(crop(side, read))
    assert found is not None
    assert found.left >= 0.5 * INCH
    assert found.right <= wide - 0.5 * INCH
    assert found.top > 0.2, "an address that goes beyond the area would touch its edge"
    assert found.bottom < read.height - 0.2
    # Our own: room for the postage, and only the sender above the address.
    assert ink(crop(side, Box(wide - 45, 0, wide, 30))) is None
    assert ink(crop(side, Box(0, 0, wide, read.top))) is not None
    assert ink(crop(side, Box(0, read.bottom, wide, tall))) is None


def letter_sizes(page: Any) -> list[float]:
    """The size of each run of text on a page of a PDF in points."""
    found = []
    for thing in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_TEXT]):
        size = pypdfium2.raw.c_float()
        pypdfium2.raw.FPDFTextObj_GetFontSize(thing, size)
        matrix = thing.get_matrix()
        found.append(size.value * max(abs(matrix.d), abs(matrix.b)))
    return found


def test_an_address_is_at_least_8_points_and_stands_on_one_left_edge(
    desk: Desk, visits: dict[str, Visit]
) -> None:
    # USPS: 8 points at the least, all lines from the same left edge.
    other = at_work(desk, "letter", "short edge")
    for tag in LANGUAGES:
        visit = somebody(visits[tag], address=LONG)
        back = pypdfium2.PdfDocument(write([backed(other, visit)], "pdf"))[1]
        assert min(letter_sizes(back)) >= 8
        if tag == "ar":
            continue  # the search finds no words beside right-to-left ones: they come turned
        assert min(where(back, line).height for line in LONG) > 2
        edges = [where(back, line).left for line in LONG]
        assert max(edges) - min(edges) < 1, "letters have a little room of their own"


@pytest.mark.parametrize("size", SIZES)
def test_a_line_of_an_address_stands_on_one_line(
    size: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    visit = somebody(visits["en"], address=LONG)
    back = pypdfium2.PdfDocument(write([backed(at_work(desk, size, "short edge"), visit)], "pdf"))
    shown = back[1].get_textpage().get_text_bounded().splitlines()
    assert [line for line in shown if line in LONG] == list(LONG)


@pytest.mark.parametrize(
    "address", [("Alder " * 120,), ("A" * 90, "Cedar Hollow"), tuple(["Alder " * 12] * 6)]
)
def test_an_address_that_does_not_fit_stops(
    address: tuple[str, ...], desk: Desk, visits: dict[str, Visit]
) -> None:
    other = at_work(desk, "letter", "short edge")
    with pytest.raises(PaperProblem, match="address has more words"):
        write([backed(other, somebody(visits["en"], address=address))], "pdf")


def test_a_health_word_on_the_address_side_stops(desk: Desk, visits: dict[str, Visit]) -> None:
    other = at_work(desk, "letter", "long edge")
    with pytest.raises(PaperProblem, match="health word 'oncolog'"):
        backed(other, somebody(visits["en"], address=("Oncology ward 3", ALDER[1])))


@pytest.mark.parametrize(("size", "turn", "tag"), every(SIZES, TURNS, LANGUAGES))
def test_sheets_with_backs_meet_pdf_ua_1(
    size: str, turn: str, tag: str, desk: Desk, visits: dict[str, Visit], tmp_path: Path
) -> None:
    other = at_work(desk, size, turn)
    file = tmp_path / "cards.pdf"
    visit = somebody(visits[tag])
    file.write_bytes(write([backed(other, visit), backed(other, visit, large=True)], "pdf"))
    report = page_validation.validate_pdf(str(file), profile="ua1")
    assert [failure.message for failure in report.failures] == []
    assert report.is_compliant


# ---- who gets a back --------------------------------------------------------------------------


def listed(folder: Path, *lines: str) -> Path:
    file = folder / "list.csv"
    file.write_text("\n".join(("name,language,next visit,address", *lines)), "utf-8")
    return file


MIXED = (
    "Ana Alder,en,2026-12-09T10:30,120 Alder Street|Cedar Hollow",
    "Bo Birch,es,2026-12-09T11:30,",
    "Cy Cedar,ar,2026-12-09T12:30,7 Cedar Street|Cedar Hollow",
    f"Di Doum,en,2026-12-09T13:30,{'A' * 90}",
)


@pytest.mark.parametrize("turn", TURNS)
def test_who_has_no_address_is_left_out_with_the_reason_when_backs_are_printed(
    turn: str, desk: Desk, tmp_path: Path
) -> None:
    other, people = at_work(desk, backs=turn), listed(tmp_path, *MIXED)
    left = [
        day(other, people, ["reminder-card"], tmp_path / "day.pdf").left_out,
        remind(other, people, tmp_path).left_out,
    ]
    for found in left:
        assert [(one.name, one.problem.found) for one in found] == [
            ("Bo Birch", "There is no postal address."),
            ("Di Doum", "An address has more words than the back of a card has room for."),
        ]
    for name in ("day.pdf", "cards.pdf"):
        document = pypdfium2.PdfDocument(str(tmp_path / name))
        front, back = (one.get_textpage().get_text_range() for one in document)
        assert "7 Cedar Street" in back
        assert "7 Cedar Street" not in front


def test_without_backs_nobody_needs_an_address(desk: Desk, tmp_path: Path) -> None:
    people = listed(tmp_path, *MIXED)
    assert not day(at_work(desk), people, ["reminder-card"], tmp_path / "day.pdf").left_out
    assert len(pypdfium2.PdfDocument(str(tmp_path / "day.pdf"))) == 1


def test_other_papers_and_formats_have_no_backs(
    desk: Desk, visits: dict[str, Visit], tmp_path: Path
) -> None:
    other, people = at_work(desk, backs="long edge"), listed(tmp_path, *MIXED)
    assert not day(other, people, ["reminder-card"], tmp_path / "day.html").left_out
    assert not day(other, people, ["appointment-card"], tmp_path / "day.pdf").left_out
    with pytest.raises(FactsProblem, match="no postal address"):
        backed(other, visits["en"])
