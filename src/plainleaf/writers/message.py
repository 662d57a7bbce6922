"""Short messages: one line of plain words for each page, and what it costs to send.

The alphabet, its extension and the packing into parts are those of 3GPP TS 23.038 and TS 23.040.
No national table is assumed: gateways rarely use them.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from plainleaf.papers.blocks import (
    Fields,
    Inlines,
    Isolate,
    Link,
    Page,
    Paragraph,
    Strong,
    flat,
    plain,
    runs,
    walk,
)

Encoding = Literal["GSM-7", "UCS-2"]

DEFAULT_ALPHABET = (
    "@£$¥èéùìòÇ\nØø\rÅå"
    "Δ_ΦΓΛΩΠΨΣΘΞÆæßÉ"  # Position 0x1B, before Æ, is the escape to the extension: no character.
    " !\"#¤%&'()*+,-./"
    "0123456789:;<=>?"
    "¡ABCDEFGHIJKLMNO"
    "PQRSTUVWXYZÄÖÑÜ§"
    "¿abcdefghijklmno"
    "pqrstuvwxyzäöñüà"
)
"""The GSM 7-bit default alphabet in the order of its codes (TS 23.038, 6.2.1)."""

EXTENSION = "\f^{}\\[~]|€"
"""What is reached by an escape, so that it takes two places (TS 23.038, 6.2.1.1)."""

CAPACITY: dict[Encoding, tuple[int, int]] = {"GSM-7": (160, 153), "UCS-2": (70, 67)}
"""Units in a message that stands alone, and in each part of a longer one.

A message holds 140 octets; in a longer one, 6 of them say which part it is (TS 23.040, 9.2.3.24).
"""

_SINGLE_QUOTES = "\u2018\u2019\u201a\u201b"
_DOUBLE_QUOTES = "\u201c\u201d\u201e\u201f"
_DASHES = "\u2010\u2011\u2012\u2013\u2014\u2015"
_NO_BREAK_SPACES = "\u00a0\u202f"
_BIDI_MARKS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
_UNSPACED = ("Hans", "Hant", "Jpan")
_SPACE_AFTER_STOP = re.compile(r"(?<=[\u3002\uff01\uff1f\uff1a\uff1b\uff0c\u3001]) ")
"""Scripts that set no space after a full stop or a comma."""

_OPEN, _CLOSE = "\u2066", "\u2069"
_PLAIN = str.maketrans(
    dict.fromkeys(_SINGLE_QUOTES, "'")
    | dict.fromkeys(_DOUBLE_QUOTES, '"')
    | dict.fromkeys(_DASHES, "-")
    | dict.fromkeys(_NO_BREAK_SPACES, " ")
    | dict.fromkeys(_BIDI_MARKS, "")
    | {"\u2026": "..."}
)


@dataclass(frozen=True)
class Report:
    """A message as it is sent: its words, how they are encoded, units and parts."""

    text: str
    encoding: Encoding
    units: int
    parts: int


def encoding(text: str) -> Encoding:
    """GSM-7 when every character is in the default alphabet or its extension, else UCS-2."""
    return "GSM-7" if set(text) <= set(DEFAULT_ALPHABET + EXTENSION) else "UCS-2"


def units(text: str) -> int:
    """How many septets (GSM-7) or 16-bit units (UCS-2) a text takes."""
    kind = encoding(text)
    return sum(_width(char, kind) for char in text)


def parts(text: str) -> int:
    """How many messages a text is billed as; an empty text is none."""
    return len(split(text))


def split(text: str) -> tuple[str, ...]:
    """The text part by part: no escape and no surrogate pair is cut in two (TS 23.040)."""
    kind = encoding(text)
    alone, each = CAPACITY[kind]
    if units(text) <= alone:
        return (text,) if text else ()
    packed: list[str] = []
    start = used = 0
    for position, char in enumerate(text):
        width = _width(char, kind)
        if used + width > each:
            packed.append(text[start:position])
            start, used = position, 0
        used += width
    return (*packed, text[start:])


def _width(char: str, kind: Encoding) -> int:
    """One or two units: escaped in GSM-7, a surrogate pair in UCS-2."""
    return 2 if (char in EXTENSION if kind == "GSM-7" else ord(char) > 0xFFFF) else 1


def plain_typography(text: str) -> str:
    """The same words with plain quotes, hyphens, dots and spaces; letters are never changed.

    One curly quote would otherwise make a message of 160 characters cost three.
    """
    return text.translate(_PLAIN)


def write(pages: Sequence[Page]) -> bytes:
    """The message of each page as UTF-8 text, one message a line, in order."""
    return "".join(f"{words(page)}\n" for page in pages).encode()


def report(page: Page) -> Report:
    """The message of a page and what it costs."""
    text = words(page)
    return Report(text, encoding(text), units(text), parts(text))


def fewest_parts(pages: Iterable[Page], fits: Callable[[Page], bool]) -> Page:
    """The first of the pages that costs the fewest parts among those that fit; else the last."""
    found = list(pages)
    return min(filter(fits, found), key=lambda page: report(page).parts, default=found[-1])


def words(page: Page) -> str:
    """The words of a page's paragraphs and fields in reading order, with single spaces between.

    Title, letterhead, headings, sources and foot are left out: a message has no room for them.
    """
    found = (
        _run(run, marked=page.direction == "rtl")
        for block in walk(page.blocks)
        if isinstance(block, Paragraph | Fields)
        for run in runs(block)
    )
    if page.script not in _UNSPACED:
        return " ".join(" ".join(found).split())
    return _SPACE_AFTER_STOP.sub("", " ".join(" ".join(found).split()))


def _run(inlines: Inlines, marked: bool) -> str:
    """A run without typography; ``marked`` keeps left-to-right values in order.

    Without marks the groups of a phone number in Arabic words are shown in reverse (UAX 9, W2 and
    N1): the wrong number. Such a message is UCS-2 anyway, so a value costs two units more.
    """
    kept = []
    for inline in flat(inlines):
        if isinstance(inline, Strong | Link):
            continue  # What they hold follows in the flat run.
        text = plain_typography(plain((inline,)))
        apart = marked and isinstance(inline, Isolate) and inline.direction == "ltr"
        kept.append(f"{_OPEN}{text}{_CLOSE}" if apart else text)
    return "".join(kept)
