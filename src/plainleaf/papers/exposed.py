"""Health words on what anybody may see: in our words, in names, and hidden in addresses.

A list is ``locales/LANG/exposed_words.txt``: a word a line, ``#`` before a remark. A word is found
at the beginning of a longer one too; ``*`` before it finds it inside of one as well (``*cancer``
finds Oralcancer). After ``!`` stand beginnings of words that are right, parted by ``|``: a family
name, a street. In Chinese and Japanese, which part no words by spaces, a word is found anywhere.

Our own words are compared with the list of their language and with the English one, and so is a
person's name; what the practice calls itself, and its addresses, with the lists of all its
languages, since any of its readers may understand them. A name may be in any language, so that a
short word of ours has to stand alone in it: ``afte`` is a sore in Italian and begins "After Hours".
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

from plainleaf import paths
from plainleaf.errors import PaperProblem
from plainleaf.language.catalogs import SOURCE
from plainleaf.papers.blocks import (
    Code,
    Inline,
    Inlines,
    Isolate,
    Link,
    Page,
    PeopleChart,
    flat,
    runs,
    spelled,
    walk,
)
from plainleaf.papers.phrasing import LETTER, folded, lines, unspaced

NAME = "exposed_words"

_NAMED = ("practice", "visit")

_KEPT = 4096
_LATIN_ENDS = "\u0370"
_FEWEST_INSIDE = 5
"""The fewest letters of a word that is looked for inside the parts of an address."""

_FEWEST_FOREIGN = 6
"""The same for words of other languages than English, and for their beginning a longer name."""

_ADDRESS = re.compile(r"(https?://|mailto:)?[^\s@]+(@[^\s@]+)?\.[^\s.]{2,}\S*")
_APART = re.compile(r"[\W\d_]+")
_PARTS = re.compile(r"[./@:?#&=]+")


@dataclass(frozen=True)
class Word:
    """One line of a list, folded; ``told`` is the word as it stands there.

    ``inside`` words count within longer ones; ``right`` never do.
    """

    text: str
    told: str
    inside: bool = False
    right: tuple[str, ...] = ()

    def stands_in(self, text: str, foreign: bool) -> bool:
        """Whether a folded text says it."""
        if self.text not in text:
            return False
        for one in self.right:
            text = _begins(one).sub("\n", text)
        return bool(_pattern(self, foreign).search(text))

    def hides_in(self, part: str, foreign: bool) -> bool:
        """Whether the letters of a part of an address hold it."""
        letters = _APART.sub("", self.text)
        fewest = _FEWEST_FOREIGN if foreign and not self.inside else _FEWEST_INSIDE
        if len(letters) < fewest or letters not in part:
            return False
        return not any(_APART.sub("", one) in part for one in self.right)


@cache
def _begins(right: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!{LETTER}){re.escape(right)}{LETTER}*")


@cache
def _pattern(word: Word, foreign: bool) -> re.Pattern[str]:
    if word.inside or unspaced(word.text):
        return re.compile(re.escape(word.text))
    short = foreign and len(_APART.sub("", word.text)) < _FEWEST_FOREIGN and _latin(word.text)
    return re.compile(rf"(?<!{LETTER}){re.escape(word.text)}" + (rf"(?!{LETTER})" if short else ""))


def _latin(text: str) -> bool:
    return all(char < _LATIN_ENDS for char in folded(text))


@cache
def listed(folder: Path, language: str) -> tuple[Word, ...]:
    """A language's list, read once. Raises PaperProblem when the language has none."""
    found = lines(folder, language, NAME, "A card could betray why somebody comes.")
    return tuple(_word(line, language) for line in found)


def _word(line: str, language: str) -> Word:
    text, _, right = folded(line, language).partition("!")
    told = line.partition("!")[0].strip().removeprefix("*")
    names = tuple(one.strip() for one in right.split("|") if one.strip())
    return Word(text.strip().removeprefix("*"), told, text.startswith("*"), names)


def exposed_words(folder: Path, language: str) -> tuple[str, ...]:
    """The words that no exposed surface may carry in a language, folded."""
    return tuple(word.text for word in listed(folder, language))


@dataclass(frozen=True)
class Watch:
    """The lists for one surface: the reader's language, the practice's others, and English."""

    folder: Path
    language: str
    others: tuple[str, ...] = ()

    def check_words(self, text: str, where: str) -> None:
        """Raises PaperProblem for a health word in our own words."""
        self._stop(where, iter((health_word(text, self.language, self.folder),)))

    def check_name(self, text: str, where: str, ours: bool = True) -> None:
        """Raises PaperProblem for a health word in a name, or a line of an address by post.

        One that is not ``ours`` is compared with the reader's list and the English one alone: the
        practice can change its own name, and not that of a person.
        """
        tags = self._all() if ours else self._near()
        self._stop(where, (_said(text, self.folder, tag, tag != SOURCE) for tag in tags))

    def check_address(self, text: str, where: str) -> None:
        """Raises PaperProblem for a health word anywhere in a web or mail address."""
        self.check_name(_APART.sub(" ", text), where)
        self._stop(where, (_hidden(text, self.folder, tag, tag != SOURCE) for tag in self._all()))

    def _near(self) -> tuple[str, ...]:
        return _near(self.language)

    def _all(self) -> Iterator[str]:
        """The languages with a list; the reader's has to have one."""
        yield from self._near()
        for tag in self.others:
            if tag not in self._near() and _is_listed(self.folder, tag):
                yield tag

    def _stop(self, where: str, found: Iterator[str]) -> None:
        for word in filter(None, found):
            raise PaperProblem(
                f"{where} carries the health word '{word}'.",
                "Anybody may see this surface, and it must not betray the reason for the visit.",
                "Take the word out of the text, of the name or address in practice.toml, or of the"
                " person's address; a family name or a street can stand after '!' in that line of"
                f" {NAME}.txt.",
            )


def _near(language: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys((language, SOURCE)))


@cache
def _is_listed(folder: Path, language: str) -> bool:
    """Whether a language has a list: papers in one that has none stop for themselves."""
    try:
        return bool(listed(folder, language))
    except PaperProblem:
        return False


def health_word(text: str, language: str, folder: Path) -> str:
    """The first health word in our own words, by their language's list or the English one.

    Empty when there is none. Raises PaperProblem when the language has no list.
    """
    found = (_said(text, folder, tag, False) for tag in _near(language))
    return next(filter(None, found), "")


@lru_cache(maxsize=_KEPT)
def _said(text: str, folder: Path, language: str, foreign: bool) -> str:
    there = folded(text, language)
    words = listed(folder, language)
    return next((one.told for one in words if one.stands_in(there, foreign)), "")


@lru_cache(maxsize=_KEPT)
def _hidden(text: str, folder: Path, language: str, foreign: bool) -> str:
    parts = [_APART.sub("", part) for part in _PARTS.split(folded(text, language))]
    words = listed(folder, language)
    return next((one.told for one in words for part in parts if one.hides_in(part, foreign)), "")


def check_exposed(page: Page, locales: Path | None = None, languages: tuple[str, ...] = ()) -> None:
    """Raises PaperProblem for the first health word on a page, its address side included.

    ``locales`` is the folder of languages, ``languages`` are those of the practice.
    """
    watch = Watch(locales or paths.locales(), page.language, languages)
    where = f"'{page.paper}' in '{page.language}'"
    watch.check_words(_surface(page), where)
    for text, ours in dict.fromkeys(_names(page)):
        watch.check_name(text, where, ours)
        if ours and _ADDRESS.fullmatch(text):
            watch.check_address(text, where)
    for text in dict.fromkeys(_leads_to(page)):
        watch.check_address(text, where)


def _surface(page: Page) -> str:
    """Our own words, also those read out, a run or a line a line; names are left out."""
    alts = [block.alt for block in walk(page.blocks) if isinstance(block, Code | PeopleChart)]
    return "\n".join([page.title, *alts, *map(_own, _runs(page))])


def _own(run: Inlines) -> str:
    return "".join(
        "\n" if isinstance(one, Isolate) and one.origin in _NAMED else spelled((one,))
        for one in flat(run)
    )


def _around(page: Page) -> Iterator[Inlines]:
    yield from (*page.letterhead, *page.address, page.foot)
    if page.back:
        yield from (*page.back.sender, *page.back.receiver)


def _runs(page: Page) -> Iterator[Inlines]:
    yield from (run for block in walk(page.blocks) for run in runs(block))
    yield from _around(page)


def _inlines(page: Page) -> Iterator[Inline]:
    for run in _runs(page):
        yield from flat(run)


def _names(page: Page) -> Iterator[tuple[str, bool]]:
    """The names and lines of addresses on a page, each with whether it is the practice's own."""
    for inline in _inlines(page):
        if isinstance(inline, Isolate) and inline.origin in _NAMED:
            yield inline.text, inline.origin == "practice"


def _leads_to(page: Page) -> Iterator[str]:
    """Web and mail addresses behind links and in codes."""
    for block in walk(page.blocks):
        if isinstance(block, Code):
            yield block.payload
    for inline in _inlines(page):
        if isinstance(inline, Link) and not inline.href.startswith("tel:"):
            yield inline.href
