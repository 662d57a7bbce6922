"""PO files as editors leave them: any encoding that can be told, any header, one by one.

Of a header only the language is looked at. How many forms a message has follows from the language
(CLDR), so a header that an editor changed, emptied or lost harms nothing.
"""

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass
from io import StringIO

from babel.messages.catalog import Catalog as Messages
from babel.messages.catalog import Message
from babel.messages.pofile import PoFileError, PoFileParser

from plainleaf.language.marks import Language

_HEADER = re.compile(
    r'^(?:#[^\n]*\n)*msgid ""[ \t]*\n(?:""[ \t]*\n)*msgstr "[^\n]*\n(?:"[^\n]*\n)*', re.MULTILINE
)
_LANGUAGE = re.compile(r'"Language:\s*([\w@-]*)')
_CHARSET = re.compile(rb"charset=([\w.:-]+)")
_NO_LINE = re.compile(
    r"^(?![ \t]*(?:(?:msgctxt|msgid|msgid_plural|msgstr(?:\[\d\])?)[ \t]+)?"
    r'"(?:[^"\\\n]|\\.)*"[ \t]*$'
    r"|[ \t]*#|[ \t]*$).*",
    re.MULTILINE,
)
_TEXT = re.compile(r'^msgstr(?:\[\d\])? (?:"[^"\n]|""\n"[^"\n])', re.MULTILINE)
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_MOST_FORMS = 9
"""More forms than any language has, so that a message with too many is read and told."""

_CATEGORIES = ("zero", "one", "two", "few", "many", "other")


def plural_categories(language: Language) -> list[str]:
    """The plural forms of a language in the order of the catalogs (CLDR names)."""
    known = language.locale.plural_form.tags | {"other"}
    return [category for category in _CATEGORIES if category in known]


@dataclass(frozen=True)
class PoFile:
    """What stands in a PO file: its messages, the language it names, the messages it has twice."""

    messages: Messages
    says: str
    twice: tuple[Message, ...]


class _Apart(Messages):
    """Messages of a file; one that comes again in other words is kept apart, not joined."""

    def __init__(self) -> None:
        super().__init__(fuzzy=False)
        self.twice: list[Message] = []
        self.forms = _MOST_FORMS

    @property
    def num_plurals(self) -> int:
        """How many forms a counted message has at the most while it is read, and needs later."""
        return self.forms

    def __setitem__(self, id: str | tuple[str, ...] | list[str], message: Message) -> None:
        known = self.get(id, message.context)
        if known is not None and any(message.string or ()) and known.string != message.string:
            self.twice.append(message)
        elif id and known is None:
            super().__setitem__(id, message)


def read(content: bytes, language: Language) -> PoFile:
    """The messages in the bytes of a PO file. Raises ValueError, in words, if they cannot be read.

    A counted message has as many forms as it came with, and empty ones up to those it needs.
    """
    text = _decoded(content)
    header = _HEADER.search(text)
    said = _LANGUAGE.search(header[0]) if header else None
    found = _Apart()
    body = text.replace(header[0], "\n" * header[0].count("\n"), 1) if header else text
    if wrong := _NO_LINE.search(body):
        number = body.count("\n", 0, wrong.start()) + 1
        raise ValueError(f"line {number} is no line of a PO file: '{wrong[0][:40]}'")
    try:
        PoFileParser(found, ignore_obsolete=True, abort_invalid=True).parse(StringIO(body))
    except PoFileError as error:
        raise ValueError(f"line {error.lineno + 1} does not belong to a message") from error
    except (IndexError, AttributeError) as error:
        raise ValueError("its lines are in no order of a PO file") from error
    needed = found.forms = len(plural_categories(language))
    for message in (*found, *found.twice):
        if message.id and not isinstance(message.id, str):
            message.string = _trimmed(tuple(message.string or ()), needed)
    return PoFile(found, said[1] if said else "", tuple(found.twice))


def _trimmed(forms: tuple[str, ...], needed: int) -> tuple[str, ...]:
    while len(forms) > needed and not forms[-1]:
        forms = forms[:-1]
    return forms


def texts_in(content: bytes) -> bool:
    """Whether a catalog has any translation. It is only looked through: asked of every office."""
    return bool(_TEXT.search(_HEADER.sub("", _decoded(content), count=1)))


def _decoded(content: bytes) -> str:
    """The text of a file in the encoding that it shows or names; lines end as on Unix."""
    text = next((text for text in _readings(content) if text is not None), None)
    if text is None:
        raise ValueError("its letters are in no encoding that it names")
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _readings(content: bytes) -> Iterator[str | None]:
    marked = next((name for mark, name in _MARKS if content.startswith(mark)), "")
    named = _CHARSET.search(content)
    for name in (marked, "utf-8", named[1].decode("ascii") if named else ""):
        yield _tried(content, name)


def _tried(content: bytes, encoding: str) -> str | None:
    try:
        return content.decode(encoding).removeprefix("\ufeff") if encoding else None
    except (UnicodeError, LookupError):
        return None
