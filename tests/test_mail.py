"""Mail, held against its standards and read back with Python's own reader (rules EM)."""

from datetime import UTC, datetime
from email import message_from_bytes, policy
from email.header import decode_header, make_header
from email.message import EmailMessage
from email.utils import parseaddr
from html.parser import HTMLParser

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from conftest import printed_elsewhere
from plainleaf.errors import FactsProblem
from plainleaf.papers.blocks import Heading, Page, Paragraph, Text
from plainleaf.writers import mail, text
from test_appointments import invitation
from test_messages import PHONE, page

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


def paragraph(words: str) -> Paragraph:
    return Paragraph((Text(words),))


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


# ---- the same bytes --------------------------------------------------------------------------

REPEAT = """
import hashlib, sys
sys.path.insert(0, sys.argv[1])
import test_mail as t
from plainleaf.writers import message
print(hashlib.sha256(t.invitation()).hexdigest())
for tag in t.TITLES:
    content = t.mail.write(t.letter(tag), t.SENDER, t.READER, t.invitation())
    print(hashlib.sha256(content + message.write([t.letter(tag)])).hexdigest())
"""


def test_the_same_input_makes_the_same_bytes_in_other_processes() -> None:
    found = printed_elsewhere(REPEAT, __file__.rpartition("/")[0])
    assert len(found) == 1
    assert len(found.pop().splitlines()) == 1 + len(TITLES)
