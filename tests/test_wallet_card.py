"""The card for a wallet: what it says, what it keeps clear of, and how many fill a sheet."""

from itertools import pairwise, product
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp

from conftest import LANGUAGES, renamed
from measuring import DPI, INCH, crop, ink, sheets, wallet
from plainleaf.desk import Desk, write
from plainleaf.desk.acts import demo_visit
from plainleaf.office.visits import Visit
from plainleaf.papers.catalogue import PAPERS
from test_cards import joined, letter_sizes


@pytest.mark.parametrize(("tag", "large"), list(product(LANGUAGES, (False, True))))
def test_a_wallet_card_says_when_and_whom_to_call_and_no_more(
    tag: str, large: bool, desk: Desk, visits: dict[str, Visit]
) -> None:
    made = desk.page("appointment-card", visits[tag], tag, large)
    content = write([made], "pdf")
    page = pypdfium2.PdfDocument(content)[0]
    assert min(letter_sizes(page)) >= (14 if large else 10)
    shown = page.get_textpage().get_text_range()
    assert "555-0142" in shown
    assert "example.org" not in shown
    assert "Suite" not in shown
    assert not zxingcpp.read_barcodes(sheets(content)[0])
    person = visits[tag].person
    assert person.called and (tag == "ar" or person.called in shown)
    assert person.name not in shown


LONG_NAMES = {
    "de": "Wilhelmina Featherstone",
    "ar": "عبد الرحمن بن عبد العزيز الفيلالي",
    "ja": "マキシミリアン・アレクサンダー",
    "ko": "막시밀리안 알렉산더 폰베르크슈타인",
    "hi": "विल्हेल्मिना फ़ेदरस्टोन",
}


@pytest.mark.parametrize(("tag", "large"), list(product(LONG_NAMES, (False, True))))
def test_the_time_on_a_wallet_card_keeps_clear_of_the_sentence_below_it(
    tag: str, large: bool, desk: Desk
) -> None:
    visit = demo_visit(PAPERS["appointment-card"], tag)
    page = pypdfium2.PdfDocument(
        write([desk.page("appointment-card", renamed(visit, LONG_NAMES[tag]), tag, large)], "pdf")
    )[0]
    text = page.get_textpage()
    time = next(found for at in ("10:30", "9:15") if (found := text.search(at).get_next()))
    _, bottom, _, top = text.get_charbox(time[0])
    boxes = [text.get_charbox(place) for place in range(text.count_chars())]
    next_line = (bottom + top) / 2 - 1.2 * (top - bottom)
    lower = [box[3] for box in boxes if box[2] > box[0] and (box[1] + box[3]) / 2 < next_line]
    assert bottom - max(lower) > 0.5 * 72 / INCH


@pytest.mark.parametrize(("tag", "large"), list(product(LANGUAGES, (False, True))))
def test_a_wallet_card_for_nobody_has_three_lines_to_write_on(
    tag: str, large: bool, desk: Desk
) -> None:
    sheet = sheets(write([desk.page("appointment-card", None, tag, large)], "pdf"))[0]
    cells = wallet(sheets(write([desk.page("appointment-card", None, tag)] * 8, "pdf"))[0])
    card = crop(sheet, joined(cells, 4)[0] if large else cells[0])
    wide, pixels = card.width, card.point(lambda value: 0 if value < 100 else 255).tobytes()
    rows = [pixels[y * wide : (y + 1) * wide] for y in range(card.height)]
    runs = [max(map(len, row.split(b"\xff"))) * INCH / DPI for row in rows]
    long = [y for y, length in enumerate(runs) if length > 25]
    starts = [y for y in long if y - 1 not in long]
    # In small print the day and the time share a row.
    assert len(starts) == (3 if large else 2)
    between = min(second - first for first, second in pairwise(starts)) * INCH / DPI
    assert between >= 6, "a hand needs some height to write"


def test_a_sheet_for_nobody_is_full(desk: Desk, tmp_path: Path) -> None:
    file = desk.hand_out("appointment-card", tmp_path / "cards.pdf")
    sheet = sheets(file.read_bytes())[0]
    assert all(ink(crop(sheet, card)) for card in wallet(sheet))
