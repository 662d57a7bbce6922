"""Phrases that may not stand in a text, kept by translators as plain lists, and how they are found.

A list is ``locales/LANG/NAME.txt``, ours and the office's own together: a phrase a line, ``#``
before a remark. ``*`` stands for any letters, and alone for any one word or number; ``...`` for up
to three words of the same sentence.
After ``!`` stand wordings that are right, parted by ``|``: the phrase is not looked for in them.
In Chinese and Japanese, which part no words by spaces, a phrase is found inside the running text,
and ``...`` stands for up to eight characters.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from pathlib import Path

from plainleaf import paths
from plainleaf.characters import bare
from plainleaf.errors import PaperProblem
from plainleaf.language.catalogs import available
from plainleaf.language.matching import lookup

LETTER = r"[\w\u0900-\u0903\u093a-\u094f\u0951-\u0957\u0962\u0963]"
"""A letter, or a sign that belongs to one: the vowel signs of Hindi are no letters in Unicode."""

_BETWEEN = rf"[^{LETTER[1:-1]}\n.!?\u061f\u06d4\u0964\u3002]+"
_SOME_WORDS = rf"(?:{LETTER}+{_BETWEEN}){{0,3}}"
_ONE_WORD = rf"[{LETTER[1:-1]}.,\u066b\u066c]*{LETTER}"
_NO_SPACES = re.compile(r"[\u3040-\u30ff\u3400-\u9fff]")
_SOME_CHARACTERS = r"[^\n.!?\u3002\uff01\uff1f]{0,8}"
_MARKS_MATTER = ("vi",)
"""Languages in which a word without its marks is another word."""

_KEPT = 8192
"""How many lines are remembered: the papers of a day say mostly the same."""


@lru_cache(maxsize=_KEPT)
def folded(text: str, language: str = "") -> str:
    """A text for looking up: small letters, no accents or vowel marks, straight apostrophes."""
    if text.isascii():
        return text.casefold()
    if language in _MARKS_MATTER:
        return unicodedata.normalize("NFC", text.casefold()).replace("\u2019", "'")
    return bare(text).replace("\u2019", "'")


@dataclass(frozen=True)
class Phrase:
    """One line of a list: what may not be said, and wordings around it that are right."""

    text: str
    right: tuple[str, ...] = ()

    @cached_property
    def pieces(self) -> tuple[str, ...]:
        """The letters between the wildcards, in order: a line that says it has them all."""
        return tuple(self.text.replace("...", "*").replace("*", " ").split())

    def found(self, words: str) -> list[str]:
        """Where a folded text says it, as it is said there; it never runs on into another line."""
        # Hardly any line has all the pieces, so that hardly any pattern is ever built.
        return [
            said for line in words.split("\n") if self._possible(line) for said in self._said(line)
        ]

    def _possible(self, words: str) -> bool:
        place = 0
        for piece in self.pieces:
            place = words.find(piece, place)
            if place < 0:
                return False
            place += len(piece)
        return True

    def _said(self, line: str) -> list[str]:
        if not _pattern(self.text).search(line):
            return []
        for wording in self.right:
            line = _pattern(wording).sub("\n", line)
        return [found.group() for found in _pattern(self.text).finditer(line)]


@lru_cache(maxsize=_KEPT)
def said(folder: Path, language: str, name: str, line: str) -> tuple[tuple[Phrase, str], ...]:
    """What one folded line says of a language's list: each phrase with the words there."""
    return tuple(
        (phrase, words)
        for phrase in phrases(folder, language, name)
        for words in phrase.found(line)
    )


@cache
def _pattern(phrase: str) -> re.Pattern[str]:
    if _NO_SPACES.search(phrase):
        return _unspaced(phrase)
    built = ""
    for word in phrase.split():
        if word == "...":
            built += _SOME_WORDS
        else:
            letters = f"{LETTER}*".join(map(re.escape, word.split("*")))
            built += (_ONE_WORD if word == "*" else letters) + _BETWEEN
    return re.compile(rf"(?<!{LETTER}){built.removesuffix(_BETWEEN)}(?!{LETTER})")


def _unspaced(phrase: str) -> re.Pattern[str]:
    pieces = (re.escape(piece).replace(r"\*", r"\w*") for piece in phrase.split())
    return re.compile("".join(pieces).replace(r"\.\.\.", _SOME_CHARACTERS))


def lines(folder: Path, language: str, name: str, why: str) -> tuple[str, ...]:
    """The lines of a language's list without remarks: ours, then those of the office in ``folder``.

    A form of one of our languages that an office brings (``es-MX``) has the list of that language
    as well. ``why`` is what could happen without it. Raises PaperProblem when nothing is listed:
    a list that protects nobody must not look like one that does.
    """
    places = [root / tag for tag in _answering(language) for root in (paths.locales(), folder)]
    files = [place / f"{name}.txt" for place in dict.fromkeys(places)]
    found = tuple(dict.fromkeys(line for file in files for line in _listed(file)))
    if found:
        return found
    there = next((file for file in files if file.is_file()), None)
    place = language.replace("-", "_")
    raise PaperProblem(
        f"The list '{name}' of '{language}' is empty."
        if there
        else f"'{language}' has no list '{name}'.",
        why,
        f"{'Write' if there else 'Add'} locales/{place}/{name}.txt; that of 'en' shows how.",
    )


def _answering(language: str) -> list[str]:
    """The folders of a language: its own, and that of ours which answers to it."""
    ours = lookup(language, available())
    return [tag.replace("-", "_") for tag in dict.fromkeys(filter(None, (ours, language)))]


def _listed(file: Path) -> list[str]:
    if not file.is_file():
        return []
    try:
        text = file.read_text("utf-8-sig")
    except (OSError, UnicodeError) as error:
        raise PaperProblem(
            f"locales/{file.parent.name}/{file.name} cannot be read as UTF-8.",
            "Nobody would notice words that must not reach a reader.",
            "Save it as plain text in UTF-8.",
        ) from error
    plain = unicodedata.normalize("NFC", text)
    found = (line.partition("#")[0].strip() for line in plain.splitlines())
    return [line for line in found if line]


@cache
def phrases(folder: Path, language: str, name: str) -> tuple[Phrase, ...]:
    """A language's list of phrases, read once. Raises PaperProblem when there is none."""
    why = "Without it nobody would notice words that must not reach a reader."
    return tuple(_phrase(line, language) for line in lines(folder, language, name, why))


def _phrase(line: str, language: str) -> Phrase:
    text, _, right = folded(line, language).partition("!")
    return Phrase(text.strip(), tuple(one.strip() for one in right.split("|") if one.strip()))
