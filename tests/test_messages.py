"""Short messages, mail and appointments, held against their standards and other people's readers.

Rule ids (SM, IC, EM, PR) are those of the collected rules.
"""

import uuid
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from email.header import decode_header, make_header
from email.message import EmailMessage
from email.utils import parseaddr
from html.parser import HTMLParser
from io import StringIO
from typing import Any
from zoneinfo import ZoneInfo

import gsm0338
import pytest
from dateutil.tz import tzical
from hypothesis import example, given
from hypothesis import strategies as st
from icalendar import Calendar, Component

from conftest import LANGUAGES, printed_elsewhere
from plainleaf.desk import Desk
from plainleaf.errors import FactsProblem, Problem, SettingsProblem
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
from plainleaf.writers import appointment, mail, message, text

PHONE = Isolate("+1 303 555 0142", "ltr", "", "practice")
TITLES = {
    "en": "Your appointment",
    "es": "Su cita: mañana a las 10",
    "ar": "موعدك في العيادة",
    "vi": "Lịch hẹn của quý vị với phòng khám nha khoa vào thứ Tư tuần tới lúc mười giờ",
}
BODIES = {
    "en": "Please call us if you cannot come. " * 30,
    "es": "Llámenos si no puede venir. ¿Alguna pregunta? " * 30,
    "ar": "يرجى الاتصال بنا إذا لم تتمكن من الحضور. " * 30,
    "vi": "Xin gọi cho chúng tôi nếu quý vị không thể đến. " * 30,
}


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


def paragraph(words: str) -> Paragraph:
    return Paragraph((Text(words),))


# ---- short messages (3GPP TS 23.038) ---------------------------------------------------------


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


# ---- mail (RFC 5322, RFC 2046) ---------------------------------------------------------------

SENDER = "Juniper Lane Dental <desk@example.org>"
READER = "Łukasz نورة <reader@example.net>"


def letter(language: str) -> Page:
    return page(
        Heading((Text(TITLES[language]),), 1),
        Paragraph((Text(BODIES[language]), PHONE)),
        paragraph("a" * 1500),
        language=language,
        title=TITLES[language],
    )


def invitation(**changes: Any) -> bytes:
    return appointment.event(**(VISIT | changes))


def read(content: bytes) -> EmailMessage:
    found = message_from_bytes(content, policy=policy.default)
    assert isinstance(found, EmailMessage)
    assert not any(part.defects for part in found.walk())
    return found


def body(found: EmailMessage, kind: str) -> str:
    part = found.get_body((kind,))
    assert isinstance(part, EmailMessage)
    return str(part.get_content()).replace("\r\n", "\n")


class Words(HTMLParser):
    """The words of an HTML body, without its head, and every address that it would load."""

    def __init__(self, content: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self.loads: list[str] = []
        self.feed(content.partition("</head>")[2])

    def handle_data(self, data: str) -> None:
        self.found += data.split()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.loads += [tag for name, _ in attrs if name in ("src", "srcset", "background")]
        self.loads += [tag] if tag in ("img", "script", "iframe", "link", "object") else []


@pytest.mark.parametrize("language", TITLES)
def test_a_mail_reads_back_to_the_same_words(language: str) -> None:
    """EM-01: plain text first, HTML last, the same content."""
    ours = letter(language)
    found = read(mail.write(ours, SENDER, READER))
    assert found.get_content_type() == "multipart/alternative"
    kinds = [part.get_content_type() for part in found.iter_parts()]
    assert kinds == ["text/plain", "text/html"]
    plain = body(found, "plain")
    assert plain == text.write([ours]).decode()
    marks = dict.fromkeys(map(ord, "\u2066\u2067\u2068\u2069"))
    words = {word for word in plain.translate(marks).split() if word.strip("=-")}
    assert words - {"Foot"} <= set(Words(body(found, "html")).found)


@pytest.mark.parametrize("language", TITLES)
def test_the_headers_of_a_mail(language: str) -> None:
    """EM-02, EM-04; RFC 5322 2.1.1, RFC 2047, RFC 3282."""
    content = mail.write(letter(language), SENDER, READER, invitation())
    found = read(content)
    assert found["Subject"] == TITLES[language]
    assert found["From"] == SENDER
    assert found["To"].addresses[0].display_name == "Łukasz نورة"
    assert found["To"].addresses[0].addr_spec == "reader@example.net"
    assert found["Content-Language"] == language
    assert found["Date"].datetime == datetime(2026, 11, 25, 12, tzinfo=UTC)
    assert found["Message-ID"].endswith("@example.org>")
    assert found["MIME-Version"] == "1.0"
    assert "List-Unsubscribe" not in found  # EM-03: one letter to one person.
    content.decode("ascii")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert b"\r" not in content.replace(b"\r\n", b"")
    assert max(map(len, content.split(b"\r\n"))) <= 78


def test_the_appointment_travels_byte_for_byte_with_its_method() -> None:
    """IC-05: the MIME method is that of the file."""
    for calendar, method in (
        (invitation(), "PUBLISH"),
        (invitation(withdrawn=True), "CANCEL"),
    ):
        found = read(mail.write(letter("en"), SENDER, READER, calendar))
        assert found.get_content_type() == "multipart/mixed"
        first, second = found.iter_parts()
        assert first.get_content_type() == "multipart/alternative"
        assert second.get_content_type() == "text/calendar"
        assert second["Content-Type"].params["method"] == method
        assert second["Content-Type"].params["charset"] == "utf-8"
        assert second.get_filename() == "appointment.ics"
        assert second.get_payload(decode=True) == calendar
    bare = invitation().replace(b"METHOD:PUBLISH\r\n", b"")
    found = read(mail.write(letter("en"), SENDER, READER, bare))
    assert "method" not in list(found.iter_parts())[1]["Content-Type"].params


def test_a_mail_loads_nothing_and_says_its_right_to_left_direction() -> None:
    rich = body(read(mail.write(letter("ar"), SENDER, READER)), "html")
    assert Words(rich).loads == []
    assert "url(http" not in rich
    assert '<html lang="ar" dir="rtl">' in rich


def test_another_mail_has_another_id() -> None:
    ours = letter("en")
    contents = [
        mail.write(ours, SENDER, READER),
        mail.write(ours, SENDER, READER, invitation()),
        mail.write(ours, SENDER, "other@example.net"),
        mail.write(letter("es"), SENDER, READER),
    ]
    assert len({read(one)["Message-ID"] for one in contents}) == 4
    for one in contents:
        name = read(one)["Message-ID"].partition("@")[0]
        assert name.strip("<").isalnum()


@pytest.mark.parametrize(
    "bad",
    [
        "",
        "desk",
        "desk@",
        "@example.org",
        "a..b@example.org",
        "a@example.org, b@example.org",
        "Doe, Ann <a@example.org>",
        "friends: a@example.org;",
        "a@example.org\r\nBcc: b@example.org",
        "ann@exämple.org",
        "a b@example.org",
        "a@example.org>",
        "Ann <a@example.org",
    ],
)
def test_an_address_that_is_not_one_address_is_refused(bad: str) -> None:
    for sender, to in ((bad, READER), (SENDER, bad)):
        with pytest.raises(FactsProblem) as caught:
            mail.write(letter("en"), sender, to)
        assert "cannot be used" in caught.value.found


@pytest.mark.parametrize(
    ("given", "name"),
    [
        ("desk@example.org", ""),
        ("Dr. Roe Dental <desk@example.org>", "Dr. Roe Dental"),
        ('"Roe, Smith & Co." <desk@example.org>', "Roe, Smith & Co."),
        ("Zahnärzte am Bahnhof " * 8 + "<desk@example.org>", ("Zahnärzte am Bahnhof " * 8)[:-1]),
    ],
)
def test_the_names_that_practices_have(given: str, name: str) -> None:
    """RFC 2047, 6.2, by the older reader: the newer one puts a space where a long name folds."""
    raw = message_from_bytes(mail.write(letter("en"), given, READER))["From"]
    shown, address = parseaddr(str(make_header(decode_header(raw))))
    assert (shown, address) == (name, "desk@example.org")


WORDS = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), max_size=200)


@given(WORDS, WORDS)
@example("Cita " + "é" * 200, "x" * 1200)
@example("=?utf-8?q?no?=", ".\n.\nFrom here")
def test_any_words_survive_the_mail(title: str, words: str) -> None:
    """RFC 2047 and RFC 2045: what was put in comes out."""
    ours = page(paragraph(words), title=title)
    content = mail.write(ours, SENDER, READER)
    assert max(map(len, content.split(b"\r\n"))) <= 998
    found = read(content)
    assert body(found, "plain").split() == text.write([ours]).decode().split()
    if "=?" not in title:
        assert str(found["Subject"] or "").split() == title.split()


# ---- appointments (RFC 5545) -----------------------------------------------------------------

VISIT: dict[str, Any] = {
    "start": datetime(2026, 12, 2, 10, 30),
    "minutes": 45,
    "time_zone": "America/Denver",
    "title": "Juniper Lane Dental: appointment",
    "phone_line": "Questions? Call +1 303 555 0142",
    "uid_seed": "Ann Example 2026-12-02",
    "day": "2026-11-25",
    "language": "en",
}


def entry(content: bytes) -> Component:
    (found,) = Calendar.from_ical(content).walk("VEVENT")
    return found


def unfolded(content: bytes) -> list[str]:
    """RFC 5545, 3.1: CRLF and a single space go, and what is left is UTF-8."""
    return content.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")


def test_what_an_entry_holds() -> None:
    """IC-02, IC-03, IC-05, IC-06, IC-08, IC-09."""
    lines = unfolded(invitation())
    for line in (
        "VERSION:2.0",
        "METHOD:PUBLISH",
        "DTSTAMP:20261125T120000Z",
        "DTSTART;TZID=America/Denver:20261202T103000",
        "DURATION:PT45M",
        "SEQUENCE:0",
        "STATUS:CONFIRMED",
        "CLASS:PRIVATE",
        "TRANSP:OPAQUE",
        "SUMMARY;LANGUAGE=en:Juniper Lane Dental: appointment",
        "DESCRIPTION;LANGUAGE=en:Questions? Call +1 303 555 0142",
        "ACTION:DISPLAY",
        "TRIGGER:-P1D",
        "DESCRIPTION;LANGUAGE=en:Juniper Lane Dental: appointment",
    ):
        assert lines.count(line) == 1, line
    assert any(line.startswith("PRODID:-//Plainleaf//") for line in lines)
    told = invitation()
    assert not any(name in told for name in (b"ATTENDEE", b"DTEND", b"ORGANIZER", b"RRULE"))


def test_the_uid_tells_nobody_who_it_is() -> None:
    """IC-06, PR-15; RFC 7986, 5.3."""
    content = invitation()
    assert b"Ann" not in content
    assert uuid.UUID(str(entry(content)["UID"])).version == 5
    assert entry(content)["UID"] == entry(invitation(minutes=60, day="2026-11-26"))["UID"]
    assert entry(content)["UID"] != entry(invitation(uid_seed="another"))["UID"]


def test_what_withdraws_an_entry_rings_no_more() -> None:
    """IC-06; RFC 5546, 3.2.5: the same UID, a method and a status of their own, and no alarm."""
    content = invitation(sequence=1, withdrawn=True)
    before, after = entry(invitation()), entry(content)
    assert "METHOD:CANCEL" in unfolded(content)
    assert after["STATUS"] == "CANCELLED"
    assert before["UID"] == after["UID"]
    assert before["DTSTART"].dt == after["DTSTART"].dt
    assert not after.walk("VALARM")


def test_a_later_version_of_an_entry_says_so() -> None:
    """IC-06; RFC 5545, 3.8.7.4: the same UID with a higher sequence replaces the entry."""
    before, after = entry(invitation()), entry(invitation(sequence=3))
    assert (before["SEQUENCE"], after["SEQUENCE"]) == (0, 3)
    assert before["UID"] == after["UID"]


ZONES = (
    "America/Denver",
    "America/Phoenix",
    "America/St_Johns",
    "Europe/Berlin",
    "Europe/Dublin",
    "Africa/Casablanca",
    "Asia/Kolkata",
    "Asia/Riyadh",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
)
CHANGE_DAYS = (
    datetime(2026, 3, 8, 10, 30),
    datetime(2026, 11, 1, 10, 30),
    datetime(2026, 3, 29, 10, 30),
    datetime(2026, 10, 25, 10, 30),
    datetime(2026, 1, 1, 0, 0),
    datetime(2026, 12, 31, 23, 30),
)


@pytest.mark.parametrize("zone", ZONES)
def test_a_file_reads_back_to_the_same_time(zone: str) -> None:
    """IC-04: each TZID has its VTIMEZONE; on the days of the change too."""
    for start in CHANGE_DAYS:
        content = invitation(start=start, time_zone=zone)
        found = entry(content)["DTSTART"]
        assert found.dt.replace(tzinfo=None) == start
        assert found.dt.utcoffset() == start.replace(tzinfo=ZoneInfo(zone)).utcoffset()
        defined = {str(one["TZID"]) for one in Calendar.from_ical(content).walk("VTIMEZONE")}
        assert defined == {found.params["TZID"]} == {zone}


@pytest.mark.parametrize("zone", ZONES)
def test_the_definition_gives_every_hour_its_offset(zone: str) -> None:
    """RFC 5545, 3.6.5, by two readers that know the zone from the file alone."""
    content = invitation(time_zone=zone)
    (definition,) = Calendar.from_ical(content).walk("VTIMEZONE")
    lines = [line for line in unfolded(content) if line]
    block = lines[lines.index("BEGIN:VTIMEZONE") : lines.index("END:VTIMEZONE") + 1]
    outside = tzical(StringIO("\r\n".join(block))).get()
    ours: Any = definition
    inside = ours.to_tz(lookup_tzid=False)
    moment = datetime(2026, 1, 1, 0, 30, tzinfo=UTC)
    for hour in range(24 * 365):
        then = moment + timedelta(hours=hour)
        local = then.astimezone(ZoneInfo(zone))
        naive = local.replace(tzinfo=None)
        if local.fold or naive.replace(tzinfo=ZoneInfo(zone), fold=1) - local != timedelta(0):
            continue
        for reader in (outside, inside):
            assert naive.replace(tzinfo=reader).utcoffset() == local.utcoffset(), naive


@pytest.mark.parametrize(
    ("zone", "onsets"),
    [
        ("America/Denver", {"20260308T020000", "20261101T020000"}),
        ("Europe/Berlin", {"20260329T020000", "20261025T030000"}),
        ("Australia/Lord_Howe", {"20260405T020000", "20261004T020000"}),
    ],
)
def test_an_onset_is_counted_in_the_offset_before(zone: str, onsets: set[str]) -> None:
    """RFC 5545, 3.6.5: the local times that the law of each place names."""
    lines = unfolded(invitation(time_zone=zone))
    assert {
        line.removeprefix("DTSTART:") for line in lines if line[:12] == "DTSTART:2026"
    } == onsets


def test_a_skipped_hour_is_refused_and_a_double_one_is_the_first() -> None:
    """RFC 5545, 3.3.5."""
    with pytest.raises(FactsProblem, match=r"There is no 02:30 on 2026-03-08"):
        invitation(start=datetime(2026, 3, 8, 2, 30))
    twice = entry(invitation(start=datetime(2026, 11, 1, 1, 30, fold=1)))["DTSTART"].dt
    assert twice.utcoffset() == timedelta(hours=-6)


@pytest.mark.parametrize("zone", ["UTC", "Etc/UTC"])
def test_a_time_in_utc_needs_no_definition(zone: str) -> None:
    """IC-04."""
    content = invitation(time_zone=zone)
    assert "DTSTART:20261202T103000Z" in unfolded(content)
    assert b"TZID" not in content


@pytest.mark.parametrize(
    ("changes", "kind"),
    [
        ({"time_zone": "Denver"}, SettingsProblem),
        ({"time_zone": ""}, SettingsProblem),
        ({"time_zone": "America"}, SettingsProblem),
        ({"time_zone": "../Denver"}, SettingsProblem),
        ({"minutes": 0}, FactsProblem),
        ({"minutes": -5}, FactsProblem),
    ],
)
def test_what_cannot_stand_in_a_calendar(changes: dict[str, Any], kind: type[Problem]) -> None:
    with pytest.raises(kind):
        invitation(**changes)


# Without line ends and control characters, and without a backslash before N, which readers may
# take for a line end.
LINES = st.text(st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"])).filter(
    lambda line: "\\N" not in line
)


@given(LINES, LINES)
@example("موعد في العيادة " * 20, "予約のお知らせ" * 30)
@example("a,b;c\\d:e" * 20, "😀" * 60)
def test_folding_is_undone_by_every_reader(title: str, phone: str) -> None:
    """IC-01, IC-07: at most 75 octets a line, no UTF-8 sequence split, CRLF throughout."""
    content = invitation(title=title, phone_line=phone)
    assert content.endswith(b"\r\n")
    assert content.count(b"\n") == content.count(b"\r\n") == content.count(b"\r")
    for line in content.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")
    escaped = title.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    assert unfolded(content).count(f"SUMMARY;LANGUAGE=en:{escaped}") == 1
    found = entry(content)
    assert (str(found["SUMMARY"]), str(found["DESCRIPTION"])) == (title, phone)


# ---- the same bytes --------------------------------------------------------------------------

REPEAT = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
import test_messages as t
print(hashlib.sha256(t.invitation()).hexdigest())
for tag in t.TITLES:
    content = t.mail.write(t.letter(tag), t.SENDER, t.READER, t.invitation())
    print(hashlib.sha256(content + t.message.write([t.letter(tag)])).hexdigest())
"""


def test_the_same_input_makes_the_same_bytes_in_other_processes() -> None:
    found = printed_elsewhere(REPEAT, __file__.rpartition("/")[0])
    assert len(found) == 1
    assert len(found.pop().splitlines()) == 1 + len(TITLES)
