"""Translations as they go out to a translator and come back: PO, and XLIFF 2.1 (OASIS, 2018).

In XLIFF each message is a unit, each plural form a unit of its own with its CLDR category in the
name, and what must not change (a value, a tag) is a ``<ph>`` that an editor keeps whole. Whatever
comes back is only read here; what is sound in it is decided by ``returned``.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from io import BytesIO
from xml.etree import ElementTree

from babel.messages.catalog import Catalog as Messages
from babel.messages.pofile import PoFileError, read_po

from plainleaf.errors import LanguageProblem
from plainleaf.language.catalogs import message_problems, plural_categories
from plainleaf.language.extraction import Wanted
from plainleaf.language.marks import Language

_NAMESPACE = "urn:oasis:names:tc:xliff:document:2.0"
_KEPT = re.compile(r"%\(\w+\)s|</?\w+[^>]*>")
_UNDONE = ("initial",)
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


# ---- XLIFF -----------------------------------------------------------------------------------


def to_xliff(messages: Iterable[Message], texts: Texts, language: Language) -> bytes:
    """The messages with their translations as XLIFF 2.1; what has none is ``initial``."""
    ElementTree.register_namespace("", _NAMESPACE)
    root = _element(None, "xliff", version="2.1", srcLang="en", trgLang=language.tag)
    file = _element(root, "file", id="plainleaf")
    for message in messages:
        counted = len(message.english) > 1
        forms = texts.get(message.key, ())
        for place, category in enumerate(plural_categories(language) if counted else ("",)):
            one = counted and category == "one"
            english = message.english[0] if one or not counted else message.english[-1]
            text = forms[place] if place < len(forms) else ""
            _unit(file, message, category, english, text)
    # No indentation: inside a source or a target every space counts.
    for one in (file, *file):
        one.tail = "\n"
    root.text = file.text = "\n"
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root) + b"\n"


def _unit(
    parent: ElementTree.Element, message: Message, form: str, english: str, text: str
) -> None:
    unit = _element(parent, "unit", id=_id(message, form), canResegment="no")
    if form:
        unit.set("name", f"plural form: {form}")
    notes = _element(unit, "notes")
    _element(notes, "note", category="papers").text = ", ".join(message.papers)
    if message.context:
        _element(notes, "note", category="context").text = message.context
    segment = _element(unit, "segment", state="translated" if text else "initial")
    kept: dict[str, list[str]] = {}
    _filled(_element(segment, "source"), english, kept)
    if text:
        _filled(_element(segment, "target"), text, {name: list(ids) for name, ids in kept.items()})


def _filled(parent: ElementTree.Element, text: str, ids: dict[str, list[str]]) -> None:
    """Text with each value and tag as a ``ph``; the target names those of the source again."""
    source = parent.tag.endswith("source")
    last: ElementTree.Element | None = None
    place = 0
    for number, found in enumerate(_KEPT.finditer(text), 1):
        _append(parent, last, text[place : found.start()])
        if source:
            ids.setdefault(found.group(), []).append(str(number))
        known = ids.get(found.group(), [])
        name = str(number) if source else (known.pop(0) if known else f"t{number}")
        last = _element(parent, "ph", id=name, equiv=found.group(), disp=found.group())
        place = found.end()
    _append(parent, last, text[place:])


def _append(parent: ElementTree.Element, last: ElementTree.Element | None, text: str) -> None:
    if last is None:
        parent.text = (parent.text or "") + text
    else:
        last.tail = (last.tail or "") + text


def _element(
    parent: ElementTree.Element | None, tag: str, **attributes: str
) -> ElementTree.Element:
    name = f"{{{_NAMESPACE}}}{tag}"
    if parent is None:
        return ElementTree.Element(name, attributes)
    return ElementTree.SubElement(parent, name, attributes)


def _id(message: Message, form: str) -> str:
    """A name for a unit that stays the same while its English does (an NMTOKEN)."""
    mark = hashlib.sha256(f"{message.context or ''}\x1f{message.english[0]}".encode())
    return "-".join(filter(None, (f"m{mark.hexdigest()[:16]}", form)))


def from_xliff(content: bytes, messages: Iterable[Message], language: Language, name: str) -> Texts:
    """The translations in an XLIFF 2 file. Raises LanguageProblem when it is none of ours."""
    try:
        root = ElementTree.fromstring(content)
    except ElementTree.ParseError as error:
        raise _unreadable(name, str(error)) from error
    space = root.tag.partition("}")[0].lstrip("{")
    if not space.startswith("urn:oasis:names:tc:xliff:document:2"):
        raise _unreadable(name, "it is no XLIFF 2 file")
    said = (root.get("trgLang") or language.tag).lower()
    if said != language.tag.lower():
        raise _unreadable(name, f"it is a translation into '{said}', not '{language.tag}'")
    targets = dict(_targets(root, space))
    found: Texts = {}
    for message in messages:
        counted = len(message.english) > 1
        categories = plural_categories(language) if counted else [""]
        forms = tuple(targets.get(_id(message, one), "") for one in categories)
        if any(forms):
            found[message.key] = forms
    return found


def _targets(root: ElementTree.Element, space: str) -> Iterator[tuple[str, str]]:
    for unit in root.iter(f"{{{space}}}unit"):
        segments = list(unit.iter(f"{{{space}}}segment"))
        done = [one for one in segments if one.get("state", "initial") not in _UNDONE]
        parts = [one.find(f"{{{space}}}target") for one in (done or segments)]
        text = "".join(_text(one) for one in parts if one is not None)
        yield unit.get("id", ""), re.sub(r"\s*\n\s*", " ", text).strip()


def _text(element: ElementTree.Element) -> str:
    """The words of a target with its ``ph`` written out again."""
    parts = [element.text or ""]
    for child in element:
        kept = child.tag.rpartition("}")[2] == "ph"
        parts += [child.get("equiv", "") if kept else _text(child), child.tail or ""]
    return "".join(parts)


# ---- PO --------------------------------------------------------------------------------------


def from_po(content: bytes, language: Language, name: str) -> Texts:
    """The finished translations in a PO file from any editor; fuzzy ones count as unfinished."""
    plain = content.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    try:
        found = read_po(BytesIO(plain), locale=str(language.locale), abort_invalid=True)
    except (PoFileError, ValueError, UnicodeError) as error:
        raise _unreadable(name, str(error)) from error
    return texts_of(found)


def texts_of(messages: Messages | None) -> Texts:
    """The finished translations in a catalog."""
    found: Texts = {}
    for one in messages or ():
        forms = (one.string,) if isinstance(one.string, str) else tuple(one.string or ())
        if one.id and any(forms) and not one.fuzzy:
            english = one.id if isinstance(one.id, str) else one.id[0]
            found[one.context, english] = tuple(form.strip() for form in forms)
    return found


def _unreadable(name: str, what: str) -> LanguageProblem:
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
