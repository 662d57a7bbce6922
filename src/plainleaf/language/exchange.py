"""Translations as they go out to a translator and come back, whatever the file they come in.

``xliff`` and ``pofile`` only read; what is sound in what came back is decided here, message by
message, and everything else is told: nothing of a translator's work is lost in silence.
"""

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

from babel.messages.catalog import Catalog as Messages
from babel.messages.catalog import Message as Entry

from plainleaf.errors import LanguageProblem
from plainleaf.language.catalogs import message_problems, plural_categories
from plainleaf.language.extraction import Wanted
from plainleaf.language.marks import Language
from plainleaf.language.matching import lookup, tag_of
from plainleaf.language.pofile import read

_SENTENCE = 3
"""Fewer words may well be the same in two languages."""

_WHY = "Nobody could tell which translations came back and which did not."


@dataclass(frozen=True)
class Message:
    """One message: its context, its English forms, and the papers that it stands on."""

    context: str | None
    english: tuple[str, ...]
    papers: tuple[str, ...]

    @property
    def key(self) -> tuple[str | None, str]:
        """What a catalog knows it by."""
        return self.context, self.english[0]


Texts = dict[tuple[str | None, str], tuple[str, ...]]
"""Translated forms by message, in the order of the language's plural categories."""


def messages_of(needed: Iterable[Wanted]) -> list[Message]:
    """All messages, each once, with the papers (or parts) that use it."""
    found: dict[tuple[str | None, str], tuple[tuple[str, ...], list[str]]] = {}
    for context, message, where in needed:
        english = (message,) if isinstance(message, str) else message
        found.setdefault((context, english[0]), (english, []))[1].append(where)
    return [
        Message(context, english, tuple(dict.fromkeys(papers)))
        for (context, _), (english, papers) in found.items()
    ]


@dataclass(frozen=True)
class Back:
    """What a translator's file holds: the finished texts, and what else is in it.

    ``unfinished``, ``unknown`` (no message of ours) and ``twice`` (in two ways) name texts that
    are left out, each by the beginning of its English; ``remarks`` are sentences.
    """

    texts: Texts
    unfinished: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    twice: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def from_po(content: bytes, messages: Iterable[Message], language: Language, name: str) -> Back:
    """What a PO file from any editor holds; fuzzy texts count as unfinished.

    Raises LanguageProblem when it cannot be read, or is in another language.
    """
    try:
        found = read(content, language)
    except ValueError as error:
        raise unreadable(name, str(error)) from error
    remarks = spoken_for(found.says, language, name)
    known = {message.key for message in messages}
    texts = texts_of(found.messages)
    twice = {(one.context, _english(one)) for one in found.twice}
    return Back(
        {key: forms for key, forms in texts.items() if key in known and key not in twice},
        tuple(_english(one) for one in found.messages if one.fuzzy and any(one.string or ())),
        tuple(english for context, english in texts if (context, english) not in known),
        tuple(english for _, english in twice),
        remarks,
    )


def _english(entry: Entry) -> str:
    return entry.id if isinstance(entry.id, str) else entry.id[0]


def spoken_for(said: str, language: Language, name: str) -> tuple[str, ...]:
    """What is to be remarked on the language that a file names.

    A form of the same language as in another country is taken. Raises LanguageProblem for another.
    """
    if not said:
        return (f"{name} does not say its language; it was taken as '{language.tag}'",)
    tag = said if said.lower() == language.tag.lower() else tag_of(said) or said
    if tag.lower() == language.tag.lower():
        return ()
    if lookup(tag, [language.tag]) or lookup(language.tag, [tag]):
        return (f"{name} says that it is '{said}'; it was taken as '{language.tag}'",)
    raise LanguageProblem(
        f"{name} is a translation into '{said}', not '{language.tag}'.",
        "The papers of one language would be printed in another.",
        "Give the file of this language, or name the language of the file.",
    )


def texts_of(messages: Messages | None) -> Texts:
    """The finished translations in a catalog, composed as Unicode wants them (NFC)."""
    found: Texts = {}
    for one in messages or ():
        forms = (one.string,) if isinstance(one.string, str) else tuple(one.string or ())
        if one.id and any(forms) and not one.fuzzy:
            found[one.context, _english(one)] = tuple(map(composed, forms))
    return found


def composed(text: str) -> str:
    """A text without spaces around it, each letter with its accent as one character."""
    return unicodedata.normalize("NFC", text).strip()


def unreadable(name: str, what: str) -> LanguageProblem:
    """The problem with a file of which nothing can be taken."""
    return LanguageProblem(
        f"{name} cannot be read: {what}.",
        _WHY,
        "Save it as PO in UTF-8, or as XLIFF 2.1, as 'plainleaf catalog' wrote it.",
    )


# ---- what came back --------------------------------------------------------------------------


@dataclass(frozen=True)
class Fault:
    """What is wrong with the translation of one message, and on which papers it stands."""

    message: Message
    what: str

    def __str__(self) -> str:
        where = ", ".join(self.message.papers)
        return f"{where}: '{self.message.english[0][:60]}': {self.what}."


def returned(
    messages: Iterable[Message], texts: Texts, language: Language
) -> tuple[Texts, list[Fault]]:
    """The sound translations, and what is wrong with the others; an empty one is neither."""
    sound: Texts = {}
    faults: list[Fault] = []
    for message in messages:
        forms = texts.get(message.key)
        if forms is None:
            continue
        found = faults_of(message, forms, language)
        faults += [Fault(message, what) for what in found]
        if not found:
            sound[message.key] = forms
    return sound, faults


def faults_of(message: Message, forms: tuple[str, ...], language: Language) -> list[str]:
    """What is wrong with the forms of a message, a sentence each."""
    counted = len(message.english) > 1
    wanted = len(plural_categories(language)) if counted else 1
    if len(forms) != wanted:
        return [f"it has {len(forms)} forms where {wanted} are needed"]
    return message_problems(message.english[0], forms, message.english[-1] if counted else None)


def still_english(message: Message, forms: tuple[str, ...]) -> bool:
    """Whether a translation of three words or more is its English."""
    words = re.sub(r"%\(\w+\)s|<[^>]*>", " ", message.english[0]).split()
    named = [word for word in words if word.strip(".,;:?").isalpha()]
    return len(named) >= _SENTENCE and bool(set(forms) & set(message.english))
