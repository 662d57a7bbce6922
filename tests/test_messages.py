"""Short messages, held against their standard and another library (rules SM)."""

from typing import Any

import gsm0338
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from conftest import LANGUAGES
from plainleaf.desk import Desk
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    Block,
    Box,
    Break,
    Bullets,
    Field,
    Fields,
    Heading,
    Isolate,
    Labels,
    Link,
    Moment,
    Page,
    Paragraph,
    Strong,
    Text,
)
from plainleaf.writers import message

PHONE = Isolate("+1 303 555 0142", "ltr", "", "practice")


def page(*blocks: Block, language: str = "en", title: str = "Your appointment") -> Page:
    rtl = language == "ar"
    return Page(
        paper="reminder-card",
        title=title,
        language=language,
        direction="rtl" if rtl else "ltr",
        script="Arab" if rtl else "Latn",
        shape="sheet",
        paper_size="letter",
        large_print=False,
        letterhead=((Text("Juniper Lane Dental"),),),
        blocks=blocks,
        sources=(),
        foot=(Text("Foot"),),
        labels=Labels("Sources", "of", "Source", "empty", "box"),
        day="2026-11-25",
    )


def test_the_alphabet_is_the_published_one() -> None:
    """SM-01 and SM-02, code by code against another implementation of TS 23.038."""
    codec: Any = gsm0338.Codec()
    codes = [code for code in range(128) if code != 0x1B]
    assert codec.decode(bytes(codes))[0] == message.DEFAULT_ALPHABET
    assert len(set(message.DEFAULT_ALPHABET)) == 127
    for char in message.EXTENSION:
        assert codec.encode(char)[0][0] == 0x1B
    for char in map(chr, range(0x2_0000)):
        if char != "\x1b" and not 0xD800 <= ord(char) < 0xE000:
            fits = message.encoding(char) == "GSM-7"
            try:
                assert (len(codec.encode(char)[0]), True) == (message.units(char), fits)
            except UnicodeEncodeError:
                assert not fits


@pytest.mark.parametrize(
    ("words", "encoding", "units", "parts"),
    [
        ("", "GSM-7", 0, 0),
        ("a" * 160, "GSM-7", 160, 1),
        ("a" * 161, "GSM-7", 161, 2),
        ("a" * 306, "GSM-7", 306, 2),
        ("a" * 307, "GSM-7", 307, 3),
        ("я" * 70, "UCS-2", 70, 1),
        ("я" * 71, "UCS-2", 71, 2),
        ("я" * 134, "UCS-2", 134, 2),
        ("я" * 135, "UCS-2", 135, 3),
        ("€" * 80, "GSM-7", 160, 1),
        ("€" * 81, "GSM-7", 162, 2),
        # 153 is odd: each part has room for 76 pairs, and the last septet stays empty.
        ("€" * 152, "GSM-7", 304, 2),
        ("€" * 153, "GSM-7", 306, 3),
        ("a" * 152 + "€" + "a" * 152, "GSM-7", 306, 3),
        ("😀" * 35, "UCS-2", 70, 1),
        ("😀" * 66, "UCS-2", 132, 2),
        ("😀" * 67, "UCS-2", 134, 3),
        # SM-04: the legal cap counts characters, the bill counts parts.
        ("a" * 159 + "á", "UCS-2", 160, 3),
    ],
)
def test_counts_at_the_edges(words: str, encoding: str, units: int, parts: int) -> None:
    """SM-01, SM-02, SM-04, SM-06."""
    got = message.encoding(words), message.units(words), message.parts(words)
    assert got == (encoding, units, parts)


@pytest.mark.parametrize("char", message.EXTENSION)
def test_an_extension_character_counts_two(char: str) -> None:
    """SM-02."""
    assert (message.encoding(char), message.units(char)) == ("GSM-7", 2)


@pytest.mark.parametrize("char", "áíóúçâêîôûëïœãõąćęłńśźżđơưЖعا中’“”–—…•\u00a0°½`\x1b")
def test_what_forces_ucs_2(char: str) -> None:
    """SM-03."""
    assert message.encoding(f"abc{char}") == "UCS-2"


@pytest.mark.parametrize(
    "words", ["éèàùìòñüöäåßøæ¿¡ÇÉÑ", "Größe für Sie?", "Tumawag po sa amin", "Rele nou tanpri"]
)
def test_what_fits_the_default_alphabet(words: str) -> None:
    """SM-03."""
    assert message.encoding(words) == "GSM-7"


CHARS = st.sampled_from("aé\n€^[~áя中😀’\u00a0") | st.characters(exclude_categories=["Cs"])
LONG_TEXT = st.text(CHARS, max_size=50).flatmap(
    lambda some: st.integers(1, 30).map(lambda times: some * times)
)
GSM_TEXT = st.text(message.DEFAULT_ALPHABET + message.EXTENSION, max_size=700)


@given(LONG_TEXT | GSM_TEXT)
@example("€" * 153)
@example("😀" * 67)
def test_parts_hold_what_they_can_and_join_to_the_text(words: str) -> None:
    """SM-01: never above capacity, nothing lost, and no part with room for the next character."""
    kind = message.encoding(words)
    pieces = message.split(words)
    assert "".join(pieces) == words
    alone, each = message.CAPACITY[kind]

    def size(piece: str) -> int:
        if kind == "UCS-2":
            return len(piece.encode("utf-16-le")) // 2
        return len(gsm0338.Codec().encode(piece)[0])

    assert all(0 < size(piece) <= (alone if len(pieces) == 1 else each) for piece in pieces)
    assert size(words) == message.units(words)
    for index in range(len(pieces) - 1):
        assert size(pieces[index] + pieces[index + 1][0]) > each


def test_typography_becomes_plain() -> None:
    """SM-03."""
    ours = "“We’re open” ‘8–5’ — call…\u00a0now\u202fplease\u200e\u2068x\u2069"
    assert message.plain_typography(ours) == "\"We're open\" '8-5' - call... now please" + "x"


LETTERS = st.characters(categories=["L", "M", "N"])


@given(st.text(LETTERS | st.sampled_from("ʼʻ\u200c\u200d«»·•°")))
def test_no_letter_is_ever_changed(words: str) -> None:
    """SM-03: letters, marks, numbers, joiners and letter apostrophes stay."""
    assert message.plain_typography(words) == words


def mixed(language: str = "en") -> Page:
    return page(
        Heading((Text("Title"),), 1),
        Paragraph((Text("Dear "), Strong((Isolate("Ann"),)), Text(","), Break(), Text("see you"))),
        Bullets(((Text("left out"),),)),
        Box(
            "when",
            (Fields((Field((Text("Time"),), (Moment("10:30\u202fAM", "2026-11-25T10:30"),)),)),),
        ),
        Paragraph((Text("Can’t come?\nCall "), Link((PHONE,), "tel:+13035550142"), Text("."))),
        language=language,
    )


def test_a_message_is_the_paragraphs_and_fields_of_a_page() -> None:
    words = "Dear Ann, see you Time 10:30 AM Can't come? Call +1 303 555 0142."
    assert message.write([mixed()]) == f"{words}\n".encode()
    assert message.write([mixed(), mixed()]) == f"{words}\n{words}\n".encode()
    assert message.report(mixed()) == message.Report(words, "GSM-7", len(words), 1)
    assert message.write([]) == b""


def test_a_phone_number_keeps_its_order_among_right_to_left_words() -> None:
    """UAX 9: its groups would be shown in reverse; names and times need no mark."""
    told = message.report(mixed("ar"))
    assert "Call \u2066+1 303 555 0142\u2069." in told.text
    assert told.text.count("\u2066") == told.text.count("\u2069") == 1
    assert told.encoding == "UCS-2"


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_reminder_as_a_message(desk: Desk, visits: dict[str, Visit], tag: str) -> None:
    told = message.report(desk.page("reminder-card", visits[tag], tag))
    assert told.parts >= 1
    assert told.parts == message.parts(told.text)
    assert "\n" not in told.text
    assert "  " not in told.text
