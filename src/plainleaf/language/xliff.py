"""Translations in XLIFF 2.1 (OASIS, 2018): written for an editor, and read as an editor leaves it.

Each message is a unit, each plural form a unit of its own with its CLDR category in the name, and
what must not change (a value, a tag) is a ``<ph>`` that an editor keeps whole.
"""

import hashlib
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from xml.etree import ElementTree

from plainleaf.language.catalogs import plural_categories
from plainleaf.language.exchange import Back, Message, Texts, composed, spoken_for, unreadable
from plainleaf.language.marks import Language

_NAMESPACE = "urn:oasis:names:tc:xliff:document:2.0"
_KEPT = re.compile(r"%\(\w+\)s|</?\w+[^>]*>")
_DONE = ("translated", "reviewed", "final")


def to_xliff(messages: Iterable[Message], texts: Texts, language: Language) -> bytes:
    """The messages with their translations as XLIFF 2.1; what has none is ``initial``."""
    ElementTree.register_namespace("", _NAMESPACE)
    root = _element(None, "xliff", version="2.1", srcLang="en", trgLang=language.tag)
    file = _element(root, "file", id="plainleaf")
    for message, units in _wanted(messages, language):
        forms = texts.get(message.key, ())
        for place, (name, english) in enumerate(units):
            _unit(file, message, name, english, forms[place] if place < len(forms) else "")
    # No indentation: inside a source or a target every space counts.
    for one in (file, *file):
        one.tail = "\n"
    root.text = file.text = "\n"
    return b'<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root) + b"\n"


def _unit(
    parent: ElementTree.Element, message: Message, name: str, english: str, text: str
) -> None:
    unit = _element(parent, "unit", id=name, canResegment="no")
    if len(message.english) > 1:
        unit.set("name", f"plural form: {name.rpartition('-')[2]}")
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


@dataclass(frozen=True)
class _Unit:
    """One unit that came back: its whole target, and whether all of it is finished."""

    text: str
    finished: bool


def from_xliff(content: bytes, messages: Iterable[Message], language: Language, name: str) -> Back:
    """What an XLIFF 2 file holds; a unit of which a part is unfinished is unfinished.

    Raises LanguageProblem when it is none of ours, or in another language.
    """
    root = _root(content, name)
    remarks = spoken_for(root.get("trgLang", ""), language, name)
    wanted = list(_wanted(messages, language))
    sources = {unit: english for _, units in wanted for unit, english in units}
    units: dict[str, _Unit] = {}
    unknown, twice = [], []
    # Without a state a segment is "initial" (XLIFF 2.1, 4.3.1.30), unless the editor keeps none.
    stated = any("state" in one.attrib for one in _all(root, "segment"))
    for element in _all(root, "unit"):
        unit, key = _read(element, sources, stated), element.get("id", "")
        if key not in sources:
            unknown += [_said(element)] * bool(unit.text)
        elif unit != units.setdefault(key, unit):
            twice.append(key)
    if not stated and units:
        remarks += (f"{name} says of no text whether it is finished; all were taken as finished",)
    found, unfinished = _messages(wanted, units, twice)
    doubled = dict.fromkeys(sources[key] for key in twice)
    return Back(found, tuple(unfinished), tuple(unknown), tuple(doubled), remarks)


def _root(content: bytes, name: str) -> ElementTree.Element:
    try:
        root = ElementTree.fromstring(content)
    except (ElementTree.ParseError, LookupError, ValueError) as error:
        raise unreadable(name, str(error)) from error
    if not root.tag.startswith("{urn:oasis:names:tc:xliff:document:2"):
        raise unreadable(name, "it is no XLIFF 2 file")
    return root


def _wanted(
    messages: Iterable[Message], language: Language
) -> Iterator[tuple[Message, list[tuple[str, str]]]]:
    """Each message with its units: the name of each and its English."""
    for message in messages:
        if len(message.english) == 1:
            yield message, [(_id(message, ""), message.english[0])]
        else:
            yield (
                message,
                [
                    (_id(message, one), message.english[0 if one == "one" else -1])
                    for one in plural_categories(language)
                ],
            )


def _messages(
    wanted: Iterable[tuple[Message, list[tuple[str, str]]]],
    units: dict[str, _Unit],
    twice: list[str],
) -> tuple[Texts, list[str]]:
    """The texts that are finished in all their forms, and the English of those that are begun."""
    found: Texts = {}
    unfinished = []
    for message, names in wanted:
        forms = [units.get(name, _Unit("", False)) for name, _ in names]
        if {name for name, _ in names} & set(twice) or not any(form.text for form in forms):
            continue
        if any(form.text and not form.finished for form in forms):
            unfinished.append(message.english[0])
        else:
            found[message.key] = tuple(composed(form.text) for form in forms)
    return found, unfinished


def _read(unit: ElementTree.Element, sources: dict[str, str], stated: bool) -> _Unit:
    kept = _KEPT.findall(sources.get(unit.get("id", ""), ""))
    parts: list[tuple[int, str]] = []
    finished = True
    told = [one for one in unit if _name(one) in ("segment", "ignorable")]
    for place, part in enumerate(told, 1):
        target = next((one for one in part if _name(one) == "target"), None)
        if _name(part) == "segment":
            done = part.get("state", "initial" if stated else "final") in _DONE
            finished = finished and done and target is not None
        elif target is None:
            target = next((one for one in part if _name(one) == "source"), None)
        if target is not None:
            order = target.get("order", "")
            parts.append((int(order) if order.isdecimal() else place, _text(target, kept)))
    # A line break in a text is an editor's: the messages have none.
    text = re.sub(r"\s*\n\s*", " ", "".join(text for _, text in sorted(parts)))
    return _Unit(text.strip(), finished)


def _said(unit: ElementTree.Element) -> str:
    return " ".join("".join(_text(one, []) for one in _all(unit, "source")).split())


def _text(element: ElementTree.Element, kept: list[str]) -> str:
    """The words of a target with each ``ph`` written out again: by its number, else as it says."""
    parts = [element.text or ""]
    for child in element:
        number = child.get("id", "")
        if _name(child) != "ph":
            parts.append(_text(child, kept))
        elif number.isdecimal() and 0 < int(number) <= len(kept):
            parts.append(kept[int(number) - 1])
        else:
            parts.append(child.get("equiv", ""))
        parts.append(child.tail or "")
    return "".join(parts)


def _all(element: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    return (one for one in element.iter() if _name(one) == name)


def _name(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]
