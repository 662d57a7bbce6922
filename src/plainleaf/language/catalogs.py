"""Translation catalogs: read in memory, checked message by message, and who reviewed which text.

The message in the source is the English text. A translation that is missing, unfinished, or that
lost a placeholder or a tag stops the paper that asks for it: never an English sentence in the
middle of another language.
"""

import hashlib
import re
import tomllib
import unicodedata
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, field
from functools import cache, lru_cache
from pathlib import Path

from babel.core import get_global
from babel.messages.catalog import Catalog as Messages
from babel.messages.catalog import Message

from plainleaf import paths
from plainleaf.errors import LanguageProblem
from plainleaf.language.locales import Language
from plainleaf.language.own_locale import OwnLanguage
from plainleaf.language.pofile import plural_categories as plural_categories
from plainleaf.language.pofile import read, texts_in

SOURCE = "en"
CATALOG = "LC_MESSAGES/plainleaf.po"
OVERLAY = "overlay.po"
REVIEWS = "reviews.toml"
_PLACEHOLDER = re.compile(r"%\((\w+)\)s")
_TAG = re.compile(r"</?\w+[^>]*>")
_ONE_TAG = re.compile(r"<(/?)(\w+)[^>]*?(/?)>")
_MARKUP = re.compile(r"<|&(?!(?:amp|lt|gt|quot|apos);)")
_VALUE = re.compile(r"%\(\w+\)s|%%")
_HIDDEN = ("Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp")
_JOINED = re.compile("(?<=[\u0600-\u1fff])[\u200c\u200d]")
_WHY = "A paper must be whole in its language: no gap, no lost number, no English in between."
_KEPT = 8192
"""How many findings about texts are kept: papers ask for the same ones again and again."""


Key = tuple[str | None, str, str | None]
"""A message: its context, its English text, and that of its plural."""


def placeholders(text: str) -> list[str]:
    """The names of the values a message takes, sorted, each as often as it stands."""
    return sorted(_PLACEHOLDER.findall(text))


def tags(text: str) -> list[str]:
    """The markup of a message, sorted."""
    return sorted(_TAG.findall(text))


@lru_cache(maxsize=_KEPT)
def typed_digits(text: str) -> str:
    """The digits typed into a message, outside its placeholders and tags."""
    bare = _TAG.sub("", _PLACEHOLDER.sub("", text))
    return "".join(filter(is_digit, bare))


@lru_cache(maxsize=_KEPT)
def has_digit(text: str) -> bool:
    """Whether there is a numeral in a text."""
    # Asked of every piece of every page: most have none, and that is known without a loop of ours.
    return any(map(str.isnumeric, text)) and any(map(is_digit, text))


def is_digit(char: str) -> bool:
    """Whether a character is a numeral; Han signs for numbers are letters of many words."""
    return unicodedata.category(char).startswith("N")


def message_problems(singular: str, forms: Iterable[str], plural: str | None = None) -> list[str]:
    """What is wrong with the translated ``forms`` of one message, a sentence each, best first."""
    return list(_problems(singular, tuple(forms), plural))


@lru_cache(maxsize=_KEPT)
def _problems(singular: str, forms: tuple[str, ...], plural: str | None) -> tuple[str, ...]:
    allowed = [placeholders(singular)]
    if plural is not None:
        allowed.append(placeholders(plural))
    found: list[str] = []
    for form in forms:
        if not form.strip():
            found.append("a form is empty")
            continue
        if placeholders(form) not in allowed:
            found.append(f"its placeholders differ in '{form}'")
        if "%" in _VALUE.sub("", form):
            found.append(f"a '%' that is no placeholder stands in it (write '%%'): '{form}'")
        found += _problems_of_markup(singular, form)
        if typed_digits(form):
            found.append(f"a number is typed into it: '{form}'")
        if hidden := hidden_characters(form):
            found.append(f"it holds characters that nobody sees ({hidden}): {form!a}")
    return tuple(found)


def _problems_of_markup(source: str, form: str) -> list[str]:
    if tags(form) != tags(source):
        return [f"its tags differ in '{form}'"]
    if _MARKUP.search(_TAG.sub("", form)):
        return [f"a bare '<' or '&' stands in it: '{form}'"]
    return [] if _nested(form) else [f"its tags are not closed in their order in '{form}'"]


def _nested(text: str) -> bool:
    """Whether every tag is closed, the one opened last first."""
    opened: list[str] = []
    for closes, name, alone in _ONE_TAG.findall(text):
        if not closes and not alone:
            opened.append(name)
        elif closes and (not opened or opened.pop() != name):
            return False
    return not opened


def hidden_characters(text: str) -> str:
    """The characters in a text that show nothing, or turn what stands beside them, by their codes.

    Joiners are left out behind letters of a script that writes with them, such as Hindi.
    """
    plain = _JOINED.sub("", text).replace("\n", " ")
    hidden = {char for char in plain if unicodedata.category(char) in _HIDDEN}
    return ", ".join(f"U+{ord(char):04X}" for char in sorted(hidden))


@dataclass(frozen=True)
class Catalog:
    """One language's messages; None for the source language, whose messages are its texts.

    ``overlay`` holds the few messages that a country says in other words, and ``place`` is the tag
    of the language as it is written there, such as ``es-ES`` or ``en-001``.
    """

    language: Language
    messages: Messages | None
    file: str = ""
    overlay: Messages | None = None
    place: str = ""
    _sound: dict[Key, tuple[str, ...]] = field(default_factory=dict, compare=False, repr=False)

    def gettext(self, message: str) -> str:
        """The translation of a message."""
        return self._one(None, message, None)[0]

    def pgettext(self, context: str, message: str) -> str:
        """The translation of a message that needs a context to be clear."""
        return self._one(context, message, None)[0]

    def ngettext(self, singular: str, plural: str, count: int) -> str:
        """The translation in the form that the language uses with this count."""
        return self._counted(None, singular, plural, count)

    def npgettext(self, context: str, singular: str, plural: str, count: int) -> str:
        """Like ngettext, with a context."""
        return self._counted(context, singular, plural, count)

    def say(self, key: Key, count: int = 1) -> str:
        """The translation of a message, in the form for this count if it has more than one."""
        context, message, plural = key
        if plural is None:
            return self._one(context, message, None)[0]
        return self._counted(context, message, plural, count)

    def digest(self, messages: Iterable[Key]) -> str:
        """A digest of some messages with their text in this language: what a reviewer signs.

        A language that brings its own dates and numbers has those in it as well.
        """
        own = self.language.own if isinstance(self.language, OwnLanguage) else None
        parts = [own.model_dump_json(exclude={"reviewed"}) if own else ""]
        for context, message, plural in sorted(set(messages), key=repr):
            entry = self.entry(context, message)
            said = (entry.string if entry else None) or ""
            forms = (said,) if isinstance(said, str) else tuple(said)
            parts.append("\x1f".join((context or "", message, plural or "", *forms)))
        return hashlib.sha256("\x1e".join(parts).encode()).hexdigest()[:16]

    def form(self, messages: Iterable[Key]) -> str:
        """The tag that a signature names: with the place if its overlay says one of the messages.

        It is ``es-ES`` for a paper that Spain words otherwise, and ``es`` for all others there.
        """
        return self.place if any(map(self._from_overlay, messages)) else self.language.tag

    def _from_overlay(self, key: Key) -> bool:
        own = self.overlay.get(key[1], key[0]) if self.overlay else None
        return own is not None and any(own.string or ())

    def _counted(self, context: str | None, singular: str, plural: str, count: int) -> str:
        forms = self._one(context, singular, plural)
        if len(forms) == 2 and self.language.tag == SOURCE:
            return forms[0 if self.language.locale.plural_form(count) == "one" else 1]
        return forms[plural_index(self.language, count)]

    def _one(self, context: str | None, message: str, plural: str | None) -> tuple[str, ...]:
        """The forms of a message; a message that was found to be sound is not checked again."""
        asked = context, message, plural
        forms = self._sound.get(asked)
        if forms is None:
            forms = self._sound[asked] = self._checked(*asked)
        return forms

    def _checked(self, context: str | None, message: str, plural: str | None) -> tuple[str, ...]:
        source = (message,) if plural is None else (message, plural)
        if any(typed_digits(text) for text in source):
            raise self._problem(message, "a number is typed into the English text")
        entry = self.entry(context, message)
        if entry is None and self.messages is None:
            return source
        forms = self._forms(entry, message, plural)
        problems = message_problems(message, forms, plural)
        if problems:
            raise self._problem(message, problems[0])
        return forms

    def entry(self, context: str | None, message: str) -> Message | None:
        """What the country says, else what the language says; None where the source speaks."""
        if self.overlay and self._from_overlay((context, message, None)):
            return self.overlay.get(message, context)
        return self.messages.get(message, context) if self.messages else None

    def _forms(self, entry: Message | None, message: str, plural: str | None) -> tuple[str, ...]:
        if entry is None:
            raise self._problem(message, "it is missing")
        if entry.fuzzy:
            raise self._problem(message, "it is marked as unfinished (fuzzy)")
        forms = (entry.string,) if isinstance(entry.string, str) else tuple(entry.string or ())
        wanted = 1 if plural is None else len(plural_categories(self.language))
        if len(forms) != wanted:
            raise self._problem(message, f"it has {len(forms)} forms where {wanted} are needed")
        return forms

    def _problem(self, message: str, what: str) -> LanguageProblem:
        return LanguageProblem(
            f"{self.language.english_name} text '{message[:70]}': {what}.",
            _WHY,
            f"Correct it in {self.file or 'the template'}, then make the paper again.",
        )


def plural_index(language: Language, count: int) -> int:
    """Which of the forms of a message a count takes."""
    return plural_categories(language).index(language.locale.plural_form(count))


@cache
def catalog(language: Language, extra: Path | None = None) -> Catalog:
    """The catalog of a language, with what its country says in other words.

    English is its own source. ``extra`` is the office's own folder of languages, looked at first.
    Raises LanguageProblem when there is no catalog, or when it cannot be read.
    """
    place, overlay = _overlay(language, extra)
    if language.tag == SOURCE:
        return Catalog(language, None, overlay=overlay, place=place)
    file = paths.language_file(language.tag, CATALOG, extra)
    shown = "/".join(file.parts[-4:])
    if not file.is_file():
        raise LanguageProblem(
            f"There is no translation into {language.english_name} ('{language.tag}').",
            "We do not print a paper in another language than the one that was asked for.",
            f"Choose one of {', '.join(available(extra))}, or add {shown}.",
        )
    return Catalog(language, _read(file, language), shown, overlay, place)


def _overlay(language: Language, extra: Path | None) -> tuple[str, Messages | None]:
    """The words of a country in which a word of the language would be wrong, if there are any.

    A country without an overlay of its own has that of the group it belongs to in CLDR, such as
    ``en_001`` for English outside the United States. An office's own overlay adds to ours. Returns
    the tag of that form as well: the country's where the office words it.
    """
    main, country = language.tag.split("-")[0], language.locale.territory
    if not country:
        return "", None
    place = f"{main}_{country}"
    names = (place, get_global("parent_exceptions").get(place, ""))
    form, ours = _first(paths.locales(), names, language)
    own_form, own = _first(extra, names, language) if extra else ("", None)
    if ours is None or own is None:
        return own_form or form, own or ours
    for entry in own:
        if entry.id:
            ours.delete(entry.id, entry.context)
            ours[entry.id] = entry
    return own_form, ours


def written_in(tag: str, extra: Path | None = None) -> list[str]:
    """The countries, or groups of them, for which an overlay words a language in another way."""
    folders = (paths.locales(), *([extra] if extra else []))
    files = (file for one in folders for file in one.glob(f"{tag.split('-')[0]}_*/{OVERLAY}"))
    return sorted({file.parent.name.partition("_")[2] for file in files})


def _first(folder: Path, names: Iterable[str], language: Language) -> tuple[str, Messages | None]:
    files = ((name, folder / name / OVERLAY) for name in names if name)
    found = ((name, file) for name, file in files if file.is_file())
    return next(
        ((name.replace("_", "-"), _read(file, language)) for name, file in found), ("", None)
    )


def _read(file: Path, language: Language) -> Messages:
    try:
        return read(file.read_bytes(), language).messages
    except (OSError, ValueError) as error:
        shown = "/".join(file.parts[-4:])
        raise LanguageProblem(
            f"{shown} cannot be read: {error}.",
            _WHY,
            "Correct it, or take the translator's file again with 'plainleaf catalog'.",
        ) from error


def begun(extra: Path | None = None) -> list[str]:
    """The tags of all languages that have a catalog, also an empty one; the source language first.

    A folder of the source language is none more: it can only hold lists of words and overlays.
    """
    folders = (paths.locales(), *([extra] if extra else []))
    found = {file.parts[-3] for folder in folders for file in folder.glob(f"*/{CATALOG}")}
    return [SOURCE, *sorted({name.replace("_", "-") for name in found} - {SOURCE})]


def available(extra: Path | None = None) -> list[str]:
    """The tags of all languages that papers can be made in, the source language first.

    One that an office has begun is not among them before it has texts: until then, those who read
    it are answered as if it were not there (``es`` for ``es-MX``).
    """
    ours = begun()
    return [tag for tag in begun(extra) if tag in ours or _has_texts(tag, extra)]


def _has_texts(tag: str, extra: Path | None) -> bool:
    try:
        return texts_in(paths.language_file(tag, CATALOG, extra).read_bytes())
    except (OSError, ValueError):
        return True  # What is wrong with it is told when a paper asks for it.


@dataclass(frozen=True)
class Review:
    """A qualified translator's signature under one paper in one language, for that exact text."""

    language: str
    paper: str
    reviewer: str
    qualification: str
    day: str
    digest: str


def reviews(extra: Path | None = None) -> tuple[Review, ...]:
    """All signatures, ours and those in the office's own folder of languages.

    Raises LanguageProblem if a ``reviews.toml`` cannot be read.
    """
    own = extra / REVIEWS if extra else None
    mine = _signatures(own) if own and own.exists() else ()
    return (*_signatures(paths.locales() / REVIEWS), *mine)


def _signatures(file: Path) -> tuple[Review, ...]:
    try:
        entries = tomllib.loads(file.read_text(encoding="utf-8")).get("review", [])
        return tuple(Review(**{**entry, "day": str(entry["day"])}) for entry in entries)
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise LanguageProblem(
            f"reviews.toml cannot be read: {error}.",
            "Without it nobody can tell a draft from a checked translation.",
            "Correct the file; its first lines show the form.",
        ) from error


@dataclass(frozen=True)
class Standing:
    """How a text stands: the signatures under it, and whether it is the source of all others."""

    source: bool
    signatures: tuple[Review, ...]

    @property
    def draft(self) -> bool:
        """Whether it is a translation that nobody has signed."""
        return not self.source and not self.signatures

    @property
    def signed_by(self) -> str:
        """Who signed it, with qualification and day."""
        told = (f"{one.reviewer}, {one.qualification}, {one.day}" for one in self.signatures)
        return "; ".join(told)

    @property
    def state(self) -> str:
        """In a word or two; a source without the signature of a clinician is no draft."""
        if self.signatures:
            return "signed"
        return "source, not reviewed" if self.source else "draft"


def standing(
    words: Catalog,
    paper: str,
    signatures: Iterable[Review],
    messages: Callable[[], Collection[Key]],
) -> Standing:
    """How the text of a paper stands; a changed text loses its signatures.

    A signature names the language, with the place if that has words of its own in this paper, and
    holds for that exact text. ``messages`` gives all messages of the paper; it is asked only when
    somebody has signed the paper in this language.
    """
    source = words.messages is None
    tags = (words.language.tag, words.place)
    mine = [one for one in signatures if one.paper == paper and one.language in tags]
    if not mine:
        return Standing(source, ())
    asked = messages()
    signed = words.form(asked), words.digest(asked)
    return Standing(source, tuple(one for one in mine if (one.language, one.digest) == signed))
